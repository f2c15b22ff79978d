"""Delays, polarity, moved mics and swapped labels on a stage whose every path is known."""

from __future__ import annotations

from pathlib import Path

import pytest
from takes.alignment.hall import MICS, WARM_C, axis_of_hall, record, rows, true_delay

from fieldfare.show.alignment import TakeAlignment
from fieldfare.takes.alignment.align import align


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> TakeAlignment:
    folder = tmp_path_factory.mktemp("hall") / "take"
    record(folder, turned=("Trumpet",))
    return align(axis_of_hall(folder), WARM_C)


def test_every_sure_delay_is_right_to_a_part_of_a_sample(told: TakeAlignment) -> None:
    """Truth is the geometry itself, at 343.2 m/s by [ISO9613-1]: no line is shared with what measures."""
    sure = [pair for pair in told.pair if pair.confidence > 0.9]
    assert len(sure) >= 15
    for pair in sure:
        assert pair.delay == pytest.approx(true_delay(pair.a, pair.b), abs=0.25), (pair.a, pair.b)
        assert pair.drawn == pytest.approx(true_delay(pair.a, pair.b), abs=0.06)
        assert pair.polarity == (-1 if "Trumpet" in (pair.a, pair.b) else 1)


def test_a_di_comes_before_its_mic_and_is_offered_to_wait(told: TakeAlignment) -> None:
    (pair,) = (pair for pair in told.pair if pair.kind == "DI and mic")
    assert (pair.a, pair.b) == ("Fiddle DI", "Fiddle mic")
    assert pair.delay == pytest.approx(true_delay("Fiddle DI", "Fiddle mic"), abs=0.1)
    shift, over = (shift for shift in told.shift if shift.group == "source")
    assert (over.track, over.flip, over.samples) == ("Trumpet", True, 0)
    assert (shift.track, shift.apply, shift.flip) == ("Fiddle DI", True, False)
    assert shift.samples == pytest.approx(pair.delay, abs=0.01)


def test_only_the_track_that_is_upside_down_is_told(told: TakeAlignment) -> None:
    assert [(one.kind, one.track) for one in told.finding] == [("polarity", ("Trumpet",))]
    assert told.row == ()


def test_a_drum_is_offered_to_wait_for_its_overhead_and_the_room_to_come_forward(told: TakeAlignment) -> None:
    by_group = {shift.group: shift for shift in told.shift}
    assert (by_group["overheads"].track, by_group["overheads"].against) == ("Drum", "Overhead")
    assert by_group["overheads"].samples == pytest.approx(true_delay("Drum", "Overhead"), abs=1)
    assert by_group["rooms"].samples < 0
    assert not by_group["rooms"].apply


def test_without_a_drawing_delays_are_the_same_and_nothing_is_compared(tmp_path: Path) -> None:
    record(tmp_path / "take")
    bare = align(axis_of_hall(tmp_path / "take", drawn=False))
    (pair,) = (pair for pair in bare.pair if pair.kind == "DI and mic")
    assert pair.delay == pytest.approx(true_delay("Fiddle DI", "Fiddle mic"), abs=0.1)
    assert pair.drawn is None
    assert bare.fitted is None
    assert "no places were drawn" in " ".join(bare.not_known)


@pytest.mark.parametrize(("one", "other"), [("Voice", "Trumpet"), ("Drum", "Fiddle mic"), ("Fiddle mic", "Fiddle DI")])
def test_swapped_labels_are_found_and_their_rows_offered(tmp_path: Path, one: str, other: str) -> None:
    record(tmp_path / "take", named={one: other, other: one})
    found = align(axis_of_hall(tmp_path / "take"), WARM_C)
    by_label = {row.label: row.id for row in rows()}
    assert {(row.track, row.as_heard) for row in found.row} == {(one, by_label[other]), (other, by_label[one])}
    assert {"labels swapped"} == {finding.kind for finding in found.finding}


def test_a_mic_that_was_moved_is_found_and_only_that(tmp_path: Path) -> None:
    moved = {"Room": (2.5, -3.0, 2.5)}
    record(tmp_path / "take", moved=moved)
    found = align(axis_of_hall(tmp_path / "take"), WARM_C)
    assert found.fitted is not None
    assert [mic.track for mic in found.fitted.moved] == ["Room"]
    assert {finding.kind for finding in found.finding} <= {"mic moved", "distance"}
    for pair in found.pair:
        if pair.confidence > 0.9:
            assert pair.delay == pytest.approx(true_delay(pair.a, pair.b, moved), abs=0.25)


def test_the_hall_has_as_many_mics_as_rows() -> None:
    assert len(rows()) == len(MICS)
