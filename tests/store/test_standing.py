"""How things stand is the same on every device, whatever order the events came in."""

from __future__ import annotations

import datetime as dt
from random import Random
from typing import get_args

from hypothesis import given
from hypothesis import strategies as st

from fieldfare.store.events import Event, EventKind
from fieldfare.store.standing import Standing, standing

START = dt.datetime(2026, 12, 4, 17, tzinfo=dt.UTC)


def _event(number: int, kind: EventKind, text: str = "", about: str = "kick") -> Event:
    at = START + dt.timedelta(minutes=number)
    return Event(id=f"e{number}", device="phone", show="x", kind=kind, about=about, text=text, at=at)


def test_the_latest_word_holds_and_notes_stay() -> None:
    said = standing([_event(1, "checked"), _event(2, "note", "rattles"), _event(3, "faulty", "hum")])["kick"]
    assert (said.state, said.text, said.notes) == ("faulty", "hum", ("rattles",))
    assert standing([_event(1, "packed"), _event(2, "open")])["kick"].state == "open"
    assert standing([_event(1, "marked", "song: Nine Oars", about="")]) == {}


EVENTS = st.lists(
    st.builds(
        _event,
        st.integers(0, 50),
        st.sampled_from(get_args(EventKind)),
        st.text(max_size=5),
        st.sampled_from(["kick", "M-01"]),
    ),
    max_size=12,
    unique_by=lambda one: one.id,
)


@given(EVENTS, st.randoms())
def test_the_order_of_arrival_changes_nothing(events: list[Event], random: Random) -> None:
    shuffled = list(events)
    random.shuffle(shuffled)
    assert standing(shuffled) == standing(events)


def test_a_thing_that_nobody_spoke_of_is_open() -> None:
    assert Standing().state == "open"
