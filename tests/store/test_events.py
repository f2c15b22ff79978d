"""Events: from any device, in any order, late or twice, and each of them once."""

from __future__ import annotations

import datetime as dt
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldfare.store.events import Event, add_events, events
from fieldfare.store.store import Store, open_store, url_of

NIGHT = dt.datetime(2026, 12, 4, 20, 0, tzinfo=dt.UTC)


def _event(number: int, device: str = "phone", show: str = "dance", text: str = "") -> Event:
    return Event(
        id=f"{device}-{number}",
        device=device,
        show=show,
        kind="packed",
        about=f"M-{number:02d}",
        text=text,
        at=NIGHT + dt.timedelta(seconds=number),
    )


@pytest.fixture(scope="module")
def folder_store() -> Iterator[Store]:
    """One SQLite store for all examples of a property; each takes a show of its own."""
    with tempfile.TemporaryDirectory() as folder, open_store(url_of(Path(folder))) as opened:
        yield opened


def test_a_phone_that_was_out_of_reach_adds_what_is_missing(store: Store) -> None:
    assert add_events(store, [_event(1), _event(2)]).added == ("phone-1", "phone-2")
    assert add_events(store, [_event(5, "tablet")]).added == ("tablet-5",)
    late = add_events(store, [_event(2), _event(3), _event(4)])
    assert (late.added, late.known, late.refused) == (("phone-3", "phone-4"), ("phone-2",), ())
    assert [kept.event for kept in events(store, "dance")] == [*map(_event, (1, 2, 3, 4)), _event(5, "tablet")]


def test_what_came_after_can_be_asked_for(store: Store) -> None:
    add_events(store, [_event(3), _event(1)])
    seen = max(kept.number for kept in events(store, "dance"))
    add_events(store, [_event(2), _event(1, show="fair", device="desk")])
    assert [kept.event.id for kept in events(store, "dance", after=seen)] == ["phone-2"]
    assert [kept.event.id for kept in events(store, "dance")] == ["phone-1", "phone-2", "phone-3"]


def test_an_id_that_stands_for_something_else_never_takes_its_place(store: Store) -> None:
    add_events(store, [_event(1, text="first")])
    said = add_events(store, [_event(1, text="second"), _event(2)])
    assert (said.added, said.known, said.refused) == (("phone-2",), (), ("phone-1",))
    assert [kept.event.text for kept in events(store, "dance")] == ["first", ""]


def test_a_clock_of_another_zone_is_the_same_moment(store: Store) -> None:
    there = _event(1).model_copy(
        update={"at": (NIGHT + dt.timedelta(seconds=1)).astimezone(dt.timezone(dt.timedelta(hours=5)))}
    )
    add_events(store, [_event(1)])
    assert add_events(store, [there]).known == ("phone-1",)
    (kept,) = events(store, "dance")
    assert kept.event.at.utcoffset() == dt.timedelta(0)
    assert kept.received_at > NIGHT - dt.timedelta(days=3650)


def test_a_time_without_a_zone_is_not_an_event() -> None:
    with pytest.raises(ValueError, match="timezone"):
        Event(id="1", device="phone", show="dance", kind="note", at=dt.datetime(2026, 12, 4, 20))


BATCHES = st.lists(st.lists(st.integers(0, 9), max_size=5), max_size=8)
_COUNT = iter(range(10**9))


@given(BATCHES, BATCHES, st.randoms())
@settings(max_examples=40, deadline=None)
def test_any_mixture_of_batches_ends_in_the_same_events(
    folder_store: Store, phone: list[list[int]], tablet: list[list[int]], order: object
) -> None:
    """Whatever is sent twice, late or by turns: each event is there once, in the order in which it happened."""
    show = f"dance {next(_COUNT)}"
    batches = [
        [_event(n, f"{device} {show}", show) for n in batch]
        for device, sent in (("a", phone), ("b", tablet))
        for batch in sent
    ]
    order.shuffle(batches)  # type: ignore[attr-defined]
    added = [one for batch in batches for one in add_events(folder_store, batch).added]
    sent = {event.id: event for batch in batches for event in batch}
    kept = [one.event for one in events(folder_store, show)]
    assert sorted(added) == sorted(sent)
    assert {event.id: event for event in kept} == sent
    assert [event.at for event in kept] == sorted(event.at for event in kept)
