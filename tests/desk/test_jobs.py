"""Long work outlives its server: killed in the middle, started again, gone on with, stopped by hand."""

from __future__ import annotations

import json
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
from desk.recorded import with_songs

from fieldfare.desk.jobs import Job, Jobs, Tell
from fieldfare.show.findings import OffloadReport
from fieldfare.show.mix import MixReport
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import Fault, NotDone

BASE = "/shows/midwinter-dance"
PATIENCE_S = 120.0
RATE = 48_000


@contextmanager
def _server(folder: Path) -> Iterator[tuple[httpx.Client, subprocess.Popen[bytes]]]:
    """The desk as its own process, as a person starts it."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    command = [sys.executable, "-m", "fieldfare", "desk", str(folder), "--port", str(port), "--no-browser"]
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    try:
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", headers={"accept": "text/html"}, timeout=60) as client:
            client.follow_redirects = True
            _until(lambda: _answers(client))
            yield client, server
    finally:
        server.kill()
        server.wait()


def _answers(client: httpx.Client) -> bool:
    try:
        return client.get("/").status_code == 200
    except httpx.TransportError:
        return False


def _until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


def _send(client: httpx.Client, path: str, **fields: str) -> str:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None
    return client.post(path, data={"csrf": found[1], **fields}).text


def test_an_offload_whose_server_is_killed_goes_on_where_it_was(folder: Path, tmp_path: Path) -> None:
    card, copies = tmp_path / "card", [tmp_path / "a", tmp_path / "b"]
    for place in (card, *copies):
        place.mkdir()
    noise = np.random.default_rng(1).integers(-(2**20), 2**20, 25 * RATE, dtype=np.int32)
    for number in range(1, 9):
        write_whole(card / f"{number:02d}_track.wav", RATE, 24, noise)
    job = folder / "midwinter-dance" / "takes" / "offload-job.json"
    fields = {"card": str(card), "first": str(copies[0]), "second": str(copies[1]), "same_device": "yes"}

    def begun() -> bool:
        return any(file.stat().st_size for place in copies for file in place.rglob("*") if file.is_file())

    with _server(folder) as (client, server):
        assert "Copying" in _send(client, f"{BASE}/offload", **fields)
        _until(begun)
        server.kill()
        server.wait()
    assert json.loads(job.read_bytes())["state"] == "running"  # nobody had time to say otherwise
    with _server(folder) as (client, _):
        assert "It was cut off" in client.get(f"{BASE}/offload").text
        _send(client, f"{BASE}/jobs/offload/again")
        _until(lambda: json.loads(job.read_bytes())["state"] != "running")
        assert "Not safe to wipe the card" in client.get(f"{BASE}/offload").text
    report = OffloadReport.model_validate_json((job.parent / "offload.json").read_bytes())
    assert [len(file.read_back) for file in report.file] == [2] * 8
    for original in card.iterdir():
        for place in copies:
            assert [found.read_bytes() for found in place.rglob(original.name)] == [original.read_bytes()]


def test_a_song_that_was_mixed_before_the_server_was_killed_is_not_mixed_again(folder: Path, after: Path) -> None:
    show, count = after, 3
    with_songs(show, "take-1", count)
    job, parts = show / "takes" / "rough-job.json", show / "takes" / "parts" / "rough"

    def mixed() -> list[dict[str, Any]]:
        return [piece for file in parts.glob("take-1-songs-*") for piece in json.loads(file.read_bytes())]

    with _server(folder) as (client, server):
        assert "Mixing" in _send(client, f"{BASE}/rough/mix")
        _until(lambda: bool(mixed()))
        server.kill()
        server.wait()
    assert json.loads(job.read_bytes())["state"] == "running"
    before = [show / "roughs" / "take-1" / file["file"] for piece in mixed() for file in piece["file"]]
    stamps = [file.stat().st_mtime_ns for file in before]
    assert 2 <= len(before) < 2 * count
    with _server(folder) as (client, _):
        assert "It was cut off" in client.get(f"{BASE}/rough").text
        _send(client, f"{BASE}/jobs/rough/again")
        _until(lambda: json.loads(job.read_bytes())["state"] != "running")
        assert json.loads(job.read_bytes())["state"] == "done"
    report = MixReport.model_validate_json((show / "roughs" / "take-1" / "mix.json").read_bytes())
    assert len(report.file) == 2 * count
    assert [file.stat().st_mtime_ns for file in before] == stamps  # written once
    assert not parts.exists()


def test_work_is_told_stopped_gone_on_with_and_never_done_twice_at_once(tmp_path: Path) -> None:
    jobs, file = Jobs(), tmp_path / "takes" / "job.json"
    asked = Job(kind="songs", asks={}, state="running", stage="listening")

    def forever(tell: Tell) -> str:
        while True:
            tell("listening", 0.25)
            time.sleep(0.005)

    jobs.begin(file, asked, forever)
    _until(lambda: (now := jobs.look(file)) is not None and now.percent == 25)
    with pytest.raises(Fault, match="being done already"):
        jobs.begin(file, asked, forever)
    jobs.stop(file)
    jobs.wait(file, PATIENCE_S)
    stopped = Jobs().look(file)
    assert stopped is not None
    assert stopped.state == "stopped"
    jobs.begin(file, asked, lambda tell: "2 songs found.")
    jobs.wait(file, PATIENCE_S)
    done = Jobs().look(file)
    assert done is not None
    assert (done.state, done.says) == ("done", "2 songs found.")


def test_work_that_fails_says_why_in_one_sentence(tmp_path: Path) -> None:
    jobs, file = Jobs(), tmp_path / "takes" / "job.json"

    def failing(tell: Tell) -> str:
        raise Fault("the disc is full", "disc-a", "make room")

    jobs.begin(file, Job(kind="cut", asks={}, state="running"), failing)
    jobs.wait(file, PATIENCE_S)
    failed = jobs.look(file)
    assert failed is not None
    assert (failed.state, failed.says) == ("failed", "disc-a: the disc is full; make room")


def test_work_that_cannot_be_written_down_is_not_begun_and_work_that_runs_ends_all_the_same(tmp_path: Path) -> None:
    jobs, file = Jobs(), tmp_path / "takes" / "job.json"
    asked = Job(kind="cut", asks={}, state="running")
    file.parent.write_text("no folder", "utf-8")
    with pytest.raises(NotDone, match="cannot be written"):
        jobs.begin(file, asked, lambda tell: "never")
    assert jobs.look(file) is None

    def losing(tell: Tell) -> str:
        file.unlink()
        file.parent.rmdir()
        file.parent.write_text("no folder", "utf-8")
        tell("cutting", 0.5)
        return "cut"

    file.parent.unlink()
    jobs.begin(file, asked, losing)
    jobs.wait(file, PATIENCE_S)
    ended = jobs.look(file)
    assert ended is not None
    assert (ended.state, ended.says) == ("done", "cut")


def test_work_that_reaches_beyond_the_show_is_begun_with_its_folders_named(client: httpx.Client) -> None:
    assert "no such folder" in _send(client, f"{BASE}/watch", folder="/nowhere").casefold()
    assert "no folder is named" in _send(client, f"{BASE}/songs/cut", folder=" ").casefold()
    assert "no camera is named" in _send(client, f"{BASE}/pictures").casefold()
    assert client.get(f"{BASE}/jobs/nothing").status_code == 400
