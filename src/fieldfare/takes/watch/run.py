"""The loop of the watch: look, tell, wait."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable, Iterator
from dataclasses import replace

from fieldfare.takes.watch.events import Event
from fieldfare.takes.watch.look import look, status, summary
from fieldfare.takes.watch.reading import Reader
from fieldfare.takes.watch.state import Watch
from fieldfare.units.faults import Fault

STATUS_S = 60.0


class Watching:
    """A watch that goes on until its time is over. Go through it for its events; `watch` is what is known so far."""

    def __init__(
        self,
        reader: Reader,
        watch: Watch,
        *,
        every_s: float = 2.0,
        for_s: float | None = None,
        wait: Callable[[float], None] = time.sleep,
    ) -> None:
        self.watch = watch
        self._reader, self._every_s, self._for_s, self._wait = reader, every_s, for_s, wait

    def __iter__(self) -> Iterator[Event]:
        """Yield what happens, and at first and once a minute how things stand.

        Raises
        ------
        Fault
            The folder is not there at the first look.
        """
        return map(_stamped, self._events())

    def summary(self) -> Event:
        """Say what the watch saw so far."""
        return _stamped(summary(self.watch))

    def _events(self) -> Iterator[Event]:
        told_s, gone = -STATUS_S, False
        began_s = time.monotonic()
        while True:
            try:
                self.watch, events = look(self.watch, self._reader.look())
                yield from events
                gone = False
            except (Fault, OSError) as fault:
                if self.watch.began_s is None:
                    raise
                if not gone:
                    yield self._lost(str(fault))
                gone = True
            passed = time.monotonic() - began_s
            if passed - told_s >= STATUS_S and not gone:
                told_s = passed
                yield status(self.watch)
            if self._for_s is not None and passed >= self._for_s:
                return
            self._wait(self._every_s)

    def _lost(self, why: str) -> Event:
        count = dict(self.watch.count)
        count["stop"] = count.get("stop", 0) + 1
        self.watch = replace(self.watch, count=count)
        return self.watch.event("vanished", "stop", f"the folder cannot be read: {why}", "look at the card at once")


def _stamped(event: Event) -> Event:
    return event.model_copy(update={"at": dt.datetime.now().astimezone().isoformat(timespec="seconds")})
