"""A desk over a copy of the demo show, and a browser that looks at it."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib.resources import as_file, files
from pathlib import Path
from shutil import copytree, ignore_patterns, which
from typing import TypeAlias

import httpx
import pytest
import uvicorn
from desk.recorded import offloaded
from playwright.sync_api import Browser, Page, expect, sync_playwright

from fieldfare.desk.app import make_app
from fieldfare.desk.settings import Settings

SHOW = "midwinter-dance"
BASE = f"/shows/{SHOW}"
ONLY_DOCUMENTS = ignore_patterns("*.sqlite*", "__pycache__")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE_MS = 30_000  # for a busy machine; what is there sooner is seen sooner
OpenPage: TypeAlias = Callable[..., Page]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder of shows with the demo in it."""
    with as_file(files("fieldfare.show") / "demo") as demo:
        copytree(demo, tmp_path / SHOW, ignore=ONLY_DOCUMENTS)
    return tmp_path


@pytest.fixture(scope="session")
def recorded_night(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo show after a night of two takes that were offloaded; it is copied, not changed."""
    scratch = tmp_path_factory.mktemp("night")
    show = scratch / "shows" / SHOW
    with as_file(files("fieldfare.show") / "demo") as demo:
        copytree(demo, show, ignore=ONLY_DOCUMENTS)
    offloaded(show, scratch, takes=2).close()
    return show


@pytest.fixture
def after(folder: Path, recorded_night: Path) -> Path:
    """The demo show on the day after, in the desk's folder."""
    copytree(recorded_night, folder / SHOW, dirs_exist_ok=True)
    return folder / SHOW


@contextmanager
def _answering(folder: Path) -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    app = make_app(Settings(root=folder, port=port, explain=False))
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)


@pytest.fixture
def desk_at(folder: Path) -> Iterator[str]:
    """A desk of its own, by its address."""
    with _answering(folder) as address:
        yield address


@pytest.fixture(scope="session")
def reader(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    """A browser without eyes at a desk that all tests share that change nothing."""
    folder = tmp_path_factory.mktemp("shows")
    with as_file(files("fieldfare.show") / "demo") as demo:
        copytree(demo, folder / SHOW, ignore=ONLY_DOCUMENTS)
    with (
        _answering(folder) as address,
        httpx.Client(base_url=address, headers={"accept": "text/html"}, follow_redirects=True, timeout=60) as client,
    ):
        yield client


@pytest.fixture
def client(desk_at: str) -> Iterator[httpx.Client]:
    """A browser without eyes, at the laptop itself."""
    with httpx.Client(base_url=desk_at, headers={"accept": "text/html"}, follow_redirects=True, timeout=60) as client:
        yield client


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """The system's Chromium; of one module only, as its driver keeps the thread's event loop for itself."""
    found = which("chromium") or which("chromium-browser") or which("google-chrome")
    if found is None:
        pytest.skip("there is no Chromium on this machine")
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(browser: Browser, desk_at: str) -> Iterator[OpenPage]:
    """Open pages of the desk; what any of them says on its console is a fault."""
    contexts = []
    said: list[str] = []

    def opened(path: str, *, wide: int = 1440, high: int = 900, light: str = "paper", offline: bool = False) -> Page:
        context = browser.new_context(viewport={"width": wide, "height": high}, has_touch=wide < 800)
        context.add_cookies([{"name": "light", "value": light, "url": desk_at}])
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: said.append(str(error)))
        page.goto(desk_at + path)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert [one for one in said if "ERR_INTERNET_DISCONNECTED" not in one and "status of 4" not in one] == []
