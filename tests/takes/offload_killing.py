"""Kills offloads and looks at what they leave. A program of its own, as only one without threads can be doubled safely.

`random N FOLDER` kills N of them at moments of chance; `every FOLDER` kills one before and one after each call that it
makes to the system. After each kill: every file under its final name is whole, every claim on the discs is true, the
card is as it was; and when it is let run, the offload comes to its end.
"""

from __future__ import annotations

import functools
import json
import os
import random
import shutil
import signal
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from takes.offload_kit import FarDisk, claims, discs, files_of, make_card

from fieldfare.takes.offload import offload

_CALLS = ("open_source", "create", "write", "settle", "settle_folder", "place", "open_back")
_KILLED = 9


class Crashing(FarDisk):
    """The system's files, with death at a chosen call: just before it, or just after."""

    def __init__(self, at: int) -> None:
        super().__init__("CARD", "LEFT", "RIGHT")
        self.at, self.count = at, 0
        for name in _CALLS:
            setattr(self, name, self._counting(getattr(self, name)))

    def _counting(self, call: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(call)
        def counted(*given: Any, **named: Any) -> Any:
            self._die_if_due()
            result = call(*given, **named)
            self._die_if_due()
            return result

        return counted

    def _die_if_due(self) -> None:
        self.count += 1
        if self.count == self.at:
            os._exit(_KILLED)


def check(card: Path, roots: list[Path], whole: dict[str, str]) -> None:
    """Hold what is on the discs against the truth."""
    assert files_of(card) == whole, "the card changed"
    there = [files_of(root / "CARD") for root in roots]
    for root, found in zip(roots, there, strict=True):
        for name, sha256 in found.items():
            assert whole.get(name) == sha256, f"{root}: {name} is not the card's file"
        journal = root / ".CARD.offload" / "journal.jsonl"
        for text in journal.read_text().splitlines() if journal.exists() else ():
            line = json.loads(text) if text.endswith("}") else {"state": "torn"}
            if line["state"] == "equal":
                assert found.get(line["file"]) == line["sha256"] == whole[line["file"]], f"{root}: {line} is not so"
        report = claims(root)
        if report is not None and report.complete:
            assert there == [whole] * len(roots), f"{root}: called safe too early"


def in_a_double(work: Callable[[], None]) -> int:
    """Start a double of this process that does the work, and return its number."""
    number = os.fork()
    if number == 0:
        try:
            work()
        except BaseException:
            traceback.print_exc()
            os._exit(1)
        os._exit(0)
    return number


def ended_by_itself(number: int) -> bool:
    """Wait for a double; return whether it came to its end, and not to the one that was meant for it."""
    code = os.waitstatus_to_exitcode(os.waitpid(number, 0)[1])
    assert code in (0, _KILLED, -signal.SIGKILL), "a double fell over"
    return code == 0


def finish(card: Path, roots: list[Path], whole: dict[str, str]) -> None:
    """Let an offload run to its end."""
    assert offload(card, roots, disk=Crashing(0)).complete
    check(card, roots, whole)
    assert [files_of(root / "CARD") for root in roots] == [whole] * len(roots)


def kill_at_random(folder: Path, wanted: int) -> int:
    """Kill offloads at moments of chance, each going on where the last was killed, until so many were killed."""
    chance = random.Random(7)
    card = make_card(folder, tracks=4, frames=60_000)
    whole, roots = files_of(card), discs(folder)
    start = time.perf_counter()
    assert ended_by_itself(in_a_double(lambda: finish(card, roots, whole)))
    usual_s = time.perf_counter() - start
    killed = 0
    while killed < wanted:
        for root in roots:
            shutil.rmtree(root)
            root.mkdir()
        for _ in range(chance.randrange(1, 6)):
            number = in_a_double(lambda: void(offload(card, roots, disk=Crashing(0))))
            time.sleep(chance.uniform(0, usual_s))
            os.kill(number, signal.SIGKILL)
            killed += not ended_by_itself(number)
            check(card, roots, whole)
        assert ended_by_itself(in_a_double(lambda: finish(card, roots, whole)))
        check(card, roots, whole)
        assert (roots[0] / "CARD.offload.json").exists(), "it did not come to its end"
    return killed


def void(_: object) -> None:
    """Return nothing."""


def kill_at_every_call(folder: Path) -> int:
    """Kill an offload around each call in turn, and let the next go on; return how many were killed."""
    card = make_card(folder, tracks=2, frames=500)
    whole, roots = files_of(card), discs(folder)
    for at in range(1, 10_000):
        for root in roots:
            shutil.rmtree(root)
            root.mkdir()
        ended = ended_by_itself(in_a_double(lambda at=at: void(offload(card, roots, disk=Crashing(at)))))  # type: ignore[misc]
        check(card, roots, whole)
        if ended:
            return at - 1
        assert ended_by_itself(in_a_double(lambda: finish(card, roots, whole)))
        check(card, roots, whole)
        assert (roots[1] / "CARD.offload.json").exists(), "it did not come to its end"
    raise AssertionError("it never came to its end")


if __name__ == "__main__":
    if sys.argv[1] == "random":
        sys.stdout.write(str(kill_at_random(Path(sys.argv[3]), int(sys.argv[2]))))
    else:
        sys.stdout.write(str(kill_at_every_call(Path(sys.argv[2]))))
