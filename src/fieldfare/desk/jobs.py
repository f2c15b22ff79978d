"""Long work that survives a reload and a restart: how far it is stands in a file beside what it makes."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Literal

from pydantic import ValidationError

from fieldfare.show.files import write_whole
from fieldfare.show.record import Record
from fieldfare.units.faults import Fault, NotDone

State = Literal["running", "stopped", "failed", "done"]
Asks = dict[str, str | bool | list[str]]
WRITE_EVERY_S = 1.0


class Job(Record):
    """One piece of long work, as it stands."""

    kind: str
    asks: Asks  # what it was begun with: enough to go on
    state: State
    stage: str = ""
    share: float = 0.0  # from 0 to 1
    says: str = ""

    @property
    def percent(self) -> int:
        """How far it is."""
        return round(100 * self.share)


class Stopped(Exception):
    """The work was stopped by hand."""


Tell = Callable[[str, float], None]
Work = Callable[[Tell], str]


class Jobs:
    """All long work of a desk; one of a file at a time."""

    def __init__(self) -> None:
        self._running: dict[Path, threading.Thread] = {}
        self._now: dict[Path, Job] = {}
        self._stop: dict[Path, threading.Event] = {}
        self._lock = threading.Lock()

    def look(self, file: Path) -> Job | None:
        """Return how far the work of a file is; what a restart cut off has stopped, and can go on."""
        with self._lock:
            if file in self._now:
                return self._now[file]
        try:
            kept = Job.model_validate_json(file.read_bytes())
        except (OSError, ValidationError):
            return None
        if kept.state != "running":
            return kept
        return kept.model_copy(update={"state": "stopped", "says": "It was cut off."})

    def begin(self, file: Path, job: Job, work: Work) -> None:
        """Begin work, or go on with it.

        Raises
        ------
        Fault
            It is being done already.
        NotDone
            It cannot be written down that it runs; it was not begun.
        """
        with self._lock:
            if file in self._running and self._running[file].is_alive():
                raise Fault(f"{job.kind} is being done already", file.parent.name, "wait for it, or stop it first")
            _write(file, job)
            self._stop[file] = threading.Event()
            self._now[file] = job
            thread = threading.Thread(target=self._do, args=(file, job, work), name=job.kind, daemon=True)
            self._running[file] = thread
            thread.start()

    def stop(self, file: Path) -> None:
        """Ask work to stop where it is; what is done stays done."""
        with self._lock:
            if file in self._stop:
                self._stop[file].set()

    def wait(self, file: Path, timeout_s: float) -> None:
        """Wait for work to end."""
        if file in self._running:
            self._running[file].join(timeout_s)

    def close(self) -> None:
        """Stop everything and wait for it."""
        for file in list(self._running):
            self.stop(file)
            self.wait(file, 10)

    def _do(self, file: Path, job: Job, work: Work) -> None:
        written = 0.0

        def tell(stage: str, share: float) -> None:
            nonlocal written
            if self._stop[file].is_set():
                raise Stopped
            now = job.model_copy(update={"stage": stage or self._now[file].stage, "share": min(1.0, max(0.0, share))})
            with self._lock:
                self._now[file] = now
            if time.monotonic() - written > WRITE_EVERY_S:
                written = time.monotonic()
                with suppress(NotDone):  # a full disc here is no reason to stop what is made on another
                    _write(file, now)

        end: dict[str, object]
        try:
            end = {"state": "done", "share": 1.0, "stage": "", "says": work(tell)}
        except Stopped:
            end = {"state": "stopped", "says": "Stopped by hand."}
        except Fault as fault:
            end = {"state": "failed", "says": str(fault)}
        except Exception as broken:
            end = {"state": "failed", "says": f"The program itself went wrong: {type(broken).__name__}, {broken}"}
        with self._lock:
            self._now[file] = self._now[file].model_copy(update=end)
            last = self._now[file]
        with suppress(NotDone):
            _write(file, last)


def _write(file: Path, job: Job) -> None:
    with suppress(OSError):
        file.parent.mkdir(exist_ok=True)
    write_whole(file, job.model_dump_json(indent=1).encode(), replace=True)
