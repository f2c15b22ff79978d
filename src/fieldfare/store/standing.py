"""How things stand by the events of the night: the latest word on each unit and each line, and what was noted of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal, get_args

from fieldfare.store.events import Event

State = Literal["open", "packed", "back", "checked", "faulty"]
STATES: tuple[State, ...] = get_args(State)


@dataclass(frozen=True, slots=True)
class Standing:
    """How one unit or line stands."""

    state: State = "open"
    text: str = ""  # of the latest word: the symptom of a fault
    at: dt.datetime | None = None
    notes: tuple[str, ...] = ()


def standing(events: Iterable[Event]) -> dict[str, Standing]:
    """Tell how each thing stands that the events are about.

    Parameters
    ----------
    events
        In any order: they are taken in that of their clocks, and of their ids where these agree, so that every device
        comes to the same.
    """
    found: dict[str, Standing] = {}
    for event in sorted(events, key=lambda one: (one.at, one.id)):
        before = found.get(event.about, Standing())
        if event.kind == "note":
            found[event.about] = replace(before, notes=(*before.notes, event.text))
        elif event.kind in STATES:
            found[event.about] = replace(before, state=event.kind, text=event.text, at=event.at)
    return found
