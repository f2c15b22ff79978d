"""Plans at once, and their reasons from a second process."""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from threading import Thread

import pytest

from fieldfare.desk import planner as rooms
from fieldfare.desk.planner import Planner
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import show_recipes
from fieldfare.show.toml import ShowFolder, read_show

PATIENCE_S = 180.0
DESK = """
import multiprocessing, os, time
from concurrent.futures import ProcessPoolExecutor
from fieldfare.desk.planner import beside_the_desk
pool = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"), beside_the_desk)
print(pool.submit(os.getpid).result(), flush=True)
time.sleep(600)
"""


@pytest.fixture
def read(folder: Path) -> ShowFolder:
    """The demo show as read."""
    return read_show(folder / "midwinter-dance")


def test_reasons_arrive_and_are_those_of_the_plan_made_whole(read: ShowFolder) -> None:
    planner = Planner()
    try:
        quick = planner.plan(read)
        assert quick.input[0].reason == ""
        end = time.monotonic() + PATIENCE_S
        while not planner.explained(read.digest):
            assert time.monotonic() < end
            time.sleep(0.05)
        whole = make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(read.folder))
        assert planner.plan(read) == whole
        assert whole.input[0].reason != ""
        assert [row.unit for row in quick.input] == [row.unit for row in whole.input]
    finally:
        planner.close()


def test_two_who_ask_for_the_same_plan_wait_for_one_making(read: ShowFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[str] = []
    make = rooms._make

    def counted(one: ShowFolder, *, explain: bool) -> object:
        made.append(one.digest)
        return make(one, explain=explain)

    monkeypatch.setattr(rooms, "_make", counted)
    planner = Planner(explain=False)
    asking = [Thread(target=planner.look, args=(read,)) for _ in range(3)]
    for one in asking:
        one.start()
    for one in asking:
        one.join()
    assert made == [read.digest]
    planner.forget()
    planner.look(read)
    assert made == [read.digest] * 2


def test_a_row_of_quick_edits_lets_go_of_reasons_that_nobody_waits_for(
    read: ShowFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rooms, "QUIET_S", 0.0)
    planner = Planner()

    def edits() -> None:
        for number in range(5):
            planner.plan(replace(read, digest=f"{read.digest[:-1]}{number}"))
            time.sleep(0.3)

    editing = Thread(target=edits, daemon=True)
    try:
        editing.start()
        editing.join(PATIENCE_S)
        assert not editing.is_alive()
    finally:
        planner.close()


@pytest.mark.skipif(not Path("/proc").exists(), reason="the system does not tell of its processes in files")
def test_the_second_process_ends_with_a_desk_that_was_killed() -> None:
    with subprocess.Popen([sys.executable, "-c", DESK], stdout=subprocess.PIPE, text=True) as desk:
        assert desk.stdout is not None
        beside = Path("/proc", desk.stdout.readline().strip(), "stat")
        assert beside.exists()
        desk.kill()
    end = time.monotonic() + PATIENCE_S
    while beside.exists() and ") Z " not in beside.read_text("utf-8"):
        assert time.monotonic() < end
        time.sleep(0.05)
