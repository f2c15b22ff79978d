"""Plans in two steps: the plan itself at once, its reasons and cures a little later, from a second process."""

from __future__ import annotations

import multiprocessing
from collections import OrderedDict
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from threading import Lock

from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import show_recipes
from fieldfare.show.plan import Plan
from fieldfare.show.toml import ShowFolder

KEPT = 12  # plans, by the digest of their documents


class Planner:
    """Makes plans and keeps the latest ones."""

    def __init__(self, *, explain: bool = True) -> None:
        self._explains = explain
        self._quick: OrderedDict[str, Plan] = OrderedDict()
        self._full: OrderedDict[str, Plan] = OrderedDict()
        self._asked: dict[str, Future[Plan]] = {}
        self._pool: ProcessPoolExecutor | None = None
        self._lock = Lock()

    def plan(self, read: ShowFolder) -> Plan:
        """Return the plan of some documents, with its reasons where they have been found."""
        with self._lock:
            known = self._full.get(read.digest) or self._quick.get(read.digest)
        if known is None:
            known = _make(read, explain=False)
            with self._lock:
                _keep(self._quick, read.digest, known)
        if self._explains:
            self._ask(read)
        return known

    def made(self, digest: str) -> Plan | None:
        """Return a plan that was made before; None where it was not, or is forgotten."""
        with self._lock:
            return self._full.get(digest) or self._quick.get(digest)

    def explained(self, digest: str) -> bool:
        """Tell whether the reasons of a plan are known."""
        return digest in self._full or not self._explains

    def look(self, read: ShowFolder) -> Plan:
        """Return the plan of documents that are only being tried, without its reasons."""
        return self.made(read.digest) or _make(read, explain=False)

    def _ask(self, read: ShowFolder) -> None:
        with self._lock:
            if read.digest in self._full or read.digest in self._asked:
                return
            for digest, waiting in list(self._asked.items()):
                if waiting.cancel():  # nobody waits for the reasons of a plan that has changed since
                    self._asked.pop(digest, None)
            try:
                if self._pool is None:
                    self._pool = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"))
                asked = self._pool.submit(_make, read, explain=True)
            except (BrokenProcessPool, RuntimeError):
                self._pool = None
                return
            self._asked[read.digest] = asked
        asked.add_done_callback(lambda done: self._take(read.digest, done))

    def _take(self, digest: str, done: Future[Plan]) -> None:
        with self._lock:
            self._asked.pop(digest, None)
            if not done.cancelled() and done.exception() is None:
                _keep(self._full, digest, done.result())

    def close(self) -> None:
        """Let go of the second process."""
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)


def _make(read: ShowFolder, *, explain: bool) -> Plan:
    return make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(Path(read.folder)), explain=explain)


def _keep(plans: OrderedDict[str, Plan], digest: str, plan: Plan) -> None:
    plans[digest] = plan
    plans.move_to_end(digest)
    while len(plans) > KEPT:
        plans.popitem(last=False)
