"""fieldfare desk: the whole program on a screen, served from this machine."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Annotated

import typer

from fieldfare.cli.say import say
from fieldfare.show.files import absent
from fieldfare.units.faults import Fault, NotDone


def desk(
    folder: Annotated[Path, typer.Argument(help="A folder of shows, or the folder of one.")] = Path(),
    port: Annotated[int, typer.Option(min=1, max=65535, help="Where it listens.")] = 8470,
    lan: Annotated[
        bool, typer.Option("--lan", help="Share it on the local network, with devices paired by a one-time code.")
    ] = False,
    show: Annotated[bool, typer.Option("--browser/--no-browser", help="Open it in the browser.")] = True,
) -> None:
    """Open the desk: plan at a table, tick and mark on a phone, look at what was recorded. Ends with Ctrl+C."""
    import os
    import webbrowser

    import uvicorn

    from fieldfare.cli.planned import STORE_VARIABLE
    from fieldfare.desk.addresses import free_port, own_addresses
    from fieldfare.desk.app import make_app
    from fieldfare.desk.settings import Settings

    if not folder.is_dir():
        raise Fault(absent(folder, "folder"), str(folder), "name the folder that holds your shows")
    host = "0.0.0.0" if lan else "127.0.0.1"
    if not free_port(host, port):
        raise NotDone(f"port {port} is taken", "fieldfare desk", "close the other desk, or give another --port")
    settings = Settings(
        root=folder.resolve(),
        port=port,
        lan=lan,
        addresses=own_addresses() if lan else (),
        store_url=os.environ.get(STORE_VARIABLE, ""),
    )
    url = f"http://127.0.0.1:{port}"
    say(f"The desk is at {url}; Ctrl+C ends it.")
    if lan:
        for address in settings.addresses:
            say(f"On this network it is at http://{address}:{port}; pair devices under Share with a phone.")
    if show:
        webbrowser.open(url)
    with contextlib.suppress(KeyboardInterrupt):  # as it is ended
        uvicorn.run(
            make_app(settings), host=host, port=port, log_level="warning", proxy_headers=False, server_header=False
        )
