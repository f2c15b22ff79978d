"""What was measured of a show's takes is kept, a take measured again takes its place, and a broken file is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldfare.show.alignment import Alignment, Shift, TakeAlignment
from fieldfare.takes.alignment.kept import keep_alignment, kept_alignment
from fieldfare.units.faults import Fault, NotDone


def _measured(*takes: str, apply: bool = False) -> Alignment:
    shift = (Shift(track="Kick", apply=apply, samples=12.5),)
    return Alignment(
        show="A night", take=tuple(TakeAlignment(take=one, rate_hz=48_000, frames=9, shift=shift) for one in takes)
    )


def test_what_was_kept_is_read_again_and_replaced(tmp_path: Path) -> None:
    assert kept_alignment(tmp_path) is None
    keep_alignment(tmp_path, _measured("one", "two"))
    assert kept_alignment(tmp_path) == _measured("one", "two")
    keep_alignment(tmp_path, _measured("three"))
    assert kept_alignment(tmp_path) == _measured("three")


def test_a_take_measured_again_stands_where_it_stood_and_others_stay(tmp_path: Path) -> None:
    keep_alignment(tmp_path, _measured("one", "two"))
    keep_alignment(tmp_path, _measured("one", "three", apply=True), beside=True)
    kept = kept_alignment(tmp_path)
    assert kept is not None
    assert [(take.take, take.shift[0].apply) for take in kept.take] == [("one", True), ("two", False), ("three", True)]


def test_a_file_that_is_none_is_told(tmp_path: Path) -> None:
    file = keep_alignment(tmp_path, _measured("one"))
    file.write_text('{"take": 3}', "utf-8")
    with pytest.raises(Fault, match="no measured delays"):
        kept_alignment(tmp_path)


def test_a_file_in_the_way_is_told(tmp_path: Path) -> None:
    (tmp_path / "takes").write_text("")
    with pytest.raises(NotDone, match="cannot be written"):
        keep_alignment(tmp_path, _measured("one"))
