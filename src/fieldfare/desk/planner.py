"""Plans in two steps: the plan itself at once, its reasons and cures a little later, from a second process."""

from __future__ import annotations

import multiprocessing
import os
from collections import OrderedDict
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.process import BaseProcess
from pathlib import Path
from threading import Lock, RLock, Thread, Timer

from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import show_recipes
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.toml import ShowFolder
from fieldfare.show.venue import Venue

KEPT = 24  # plans, by the digest of their documents
QUIET_S = 1.0  # nobody has asked for another plan for so long: then the reasons of the last one are found


class Planner:
    """Makes plans and keeps the latest ones."""

    def __init__(self, *, explain: bool = True) -> None:
        self._explains = explain
        self._quick: OrderedDict[str, Plan] = OrderedDict()
        self._full: OrderedDict[str, Plan] = OrderedDict()
        self._making: dict[str, Lock] = {}
        self._asked: dict[str, Future[str]] = {}
        self._quiet: Timer | None = None
        self._pool: ProcessPoolExecutor | None = None
        self._beside: list[BaseProcess] = []
        self._lock = RLock()  # a question that is cancelled is taken off the list by the thread that cancels it

    def plan(self, read: ShowFolder) -> Plan:
        """Return the plan of some documents, with its reasons where they have been found."""
        known = self.look(read)
        if self._explains and not self.explained(read.digest):
            self._ask_when_quiet(read)
        return known

    def look(self, read: ShowFolder) -> Plan:
        """Return the plan of documents that are perhaps only being tried; nobody looks for its reasons yet.

        Two who ask for the same plan at once wait for one making of it.
        """
        with self._lock:
            making = self._making.setdefault(read.digest, Lock())
        with making:
            known = self.made(read.digest)
            if known is None:
                known = _make(read, explain=False)
                with self._lock:
                    _keep(self._quick, read.digest, known)
        with self._lock:
            self._making.pop(read.digest, None)
        return known

    def made(self, digest: str) -> Plan | None:
        """Return a plan that was made before; None where it was not, or is forgotten."""
        with self._lock:
            return self._full.get(digest) or self._quick.get(digest)

    def forget(self) -> None:
        """Forget all plans: something has changed that their documents do not say."""
        with self._lock:
            self._quick.clear()
            self._full.clear()

    def explained(self, digest: str) -> bool:
        """Tell whether the reasons of a plan are known."""
        with self._lock:
            return digest in self._full or not self._explains

    def _ask_when_quiet(self, read: ShowFolder) -> None:
        with self._lock:
            if read.digest in self._asked or (self._quiet and self._quiet.name == read.digest):
                return
            if self._quiet:
                self._quiet.cancel()
            self._quiet = Timer(QUIET_S, self._ask, (read,))
            self._quiet.name, self._quiet.daemon = read.digest, True
            self._quiet.start()

    def _ask(self, read: ShowFolder) -> None:
        with self._lock:
            self._quiet = None
            if read.digest in self._full or read.digest in self._asked:
                return
            for digest, waiting in list(self._asked.items()):
                if waiting.cancel():  # nobody waits for the reasons of a plan that has changed since
                    self._asked.pop(digest, None)
            try:
                if self._pool is None:
                    self._pool = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"), beside_the_desk)
                before = multiprocessing.active_children()
                asked = self._pool.submit(_explained, str(read.folder), _written(read), read.digest)
            except (BrokenProcessPool, RuntimeError):
                self._pool = None
                return
            self._beside += [one for one in multiprocessing.active_children() if one not in before]
            self._asked[read.digest] = asked
        asked.add_done_callback(lambda done: self._take(read.digest, done))

    def _take(self, digest: str, done: Future[str]) -> None:
        with self._lock:
            self._asked.pop(digest, None)
            if not done.cancelled() and done.exception() is None:
                _keep(self._full, digest, Plan.model_validate_json(done.result()))

    def close(self) -> None:
        """End the second process, whatever it is at."""
        with self._lock:
            if self._quiet is not None:
                self._quiet.cancel()
            pool, self._pool = self._pool, None
        if pool is not None:
            for one in self._beside:
                one.terminate()
            pool.shutdown(cancel_futures=True)


def beside_the_desk() -> None:
    """Begin a second process: who waits for a page goes first, and it ends with the desk, even where that is killed."""
    if hasattr(os, "nice"):
        os.nice(10)
    desk = multiprocessing.parent_process()
    if desk is not None:
        Thread(target=_end_with, args=(desk,), daemon=True).start()


def _end_with(desk: BaseProcess) -> None:
    desk.join()
    os._exit(0)


def _written(read: ShowFolder) -> tuple[str, str, str]:
    """Write documents for the second process; as they are they do not travel between processes."""
    return read.show.model_dump_json(), read.venue.model_dump_json(), read.kit.model_dump_json()


def _explained(folder: str, written: tuple[str, str, str], digest: str) -> str:
    """Make a plan with its reasons, in the second process."""
    show, venue, kit = written
    read = ShowFolder(
        Show.model_validate_json(show),
        Venue.model_validate_json(venue),
        Kit.model_validate_json(kit),
        Path(folder),
        digest,
    )
    return _make(read, explain=True).model_dump_json()


def _make(read: ShowFolder, *, explain: bool) -> Plan:
    return make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(Path(read.folder)), explain=explain)


def _keep(plans: OrderedDict[str, Plan], digest: str, plan: Plan) -> None:
    plans[digest] = plan
    plans.move_to_end(digest)
    while len(plans) > KEPT:
        plans.popitem(last=False)
