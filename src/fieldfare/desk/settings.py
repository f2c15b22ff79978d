"""How a desk is run: over which folder, for whom, and the limits of what it takes in."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

PORT = 8470
UPLOAD_BYTES = 5_000_000
SESSION_H = 36.0  # a long day and the morning after
PAIR_MIN = 10.0
LOOPBACK = ("127.0.0.1", "::1", "localhost")


@dataclass(frozen=True, slots=True)
class Settings:
    """What a desk is started with."""

    root: Path  # a folder of shows, or the folder of one
    port: int = PORT
    lan: bool = False
    addresses: tuple[str, ...] = ()  # of this machine on the local network, where it is shared
    store_url: str = ""  # a database instead of the file in each show's folder
    explain: bool = True  # whether to find reasons and cures in a second process
    names: tuple[str, ...] = field(default=())  # further host names it answers to

    @property
    def hosts(self) -> frozenset[str]:
        """The host names it answers to: no page elsewhere can pass itself off as this desk."""
        return frozenset((*LOOPBACK, *self.addresses, *self.names))
