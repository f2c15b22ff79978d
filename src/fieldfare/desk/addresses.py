"""Where this machine is found on the local network."""

from __future__ import annotations

import socket


def own_addresses() -> tuple[str, ...]:
    """Return the addresses of this machine on the local network; nothing is sent to find them."""
    found: list[str] = []
    for family, far in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET, "10.255.255.255")):
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((far, 9))  # a datagram socket only chooses the way
                found.append(str(probe.getsockname()[0]))
            except OSError:
                continue
    return tuple(dict.fromkeys(one for one in found if not one.startswith("127.")))


def free_port(host: str, port: int) -> bool:
    """Tell whether a port can be listened on."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True
