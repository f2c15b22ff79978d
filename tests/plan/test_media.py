"""Bytes, files, cards and copies, against the trade's numbers and arithmetic done by hand."""

from __future__ import annotations

import datetime as dt

import pytest

from fieldfare.plan.media import media_plan, recording_minutes
from fieldfare.show.kit import Kit, Media, Recorder
from fieldfare.show.show import Set, Show, Times

NIGHT = Times(doors=dt.time(19), curfew=dt.time(22, 30))


def _show(**more: object) -> Show:
    return Show.model_validate(
        {"title": "Show", "date": dt.date(2026, 12, 4), "venue": "v.toml", "kit": ("k.toml",), "times": NIGHT, **more}
    )


def _recorder(kind: str = "mono files") -> Recorder:
    return Recorder.model_validate(
        {"item": "recorder", "tags": ["R-01"], "preamps": 32, "max_input_dbu": 10, "file_kind": kind}
    )


def _card(**more: object) -> Media:
    card: dict[str, object] = {
        "item": "card",
        "tags": "K-01..K-03",
        "kind": "card",
        "capacity_gb": 128,
        "write_mb_s": 30,
        "read_mb_s": 90,
    }
    return Media.model_validate({**card, **more})


@pytest.mark.parametrize(
    ("channels", "gb_an_hour", "mb_s"), [(18, 9.3312, 2.592), (24, 12.4416, 3.456), (32, 16.5888, 4.608)]
)
def test_bytes_of_an_hour_are_the_trades(channels: int, gb_an_hour: float, mb_s: float) -> None:
    plan = media_plan(_show(), Kit(), _recorder(), channels)
    assert plan.per_hour.value == pytest.approx(gb_an_hour, abs=5e-5)
    assert plan.rate.value == pytest.approx(mb_s, abs=5e-4)


def test_the_night_runs_from_doors_to_curfew() -> None:
    plan = media_plan(_show(), Kit(), _recorder(), 20)
    assert plan.whole.value == pytest.approx(20 * 48_000 * 3 * 3.5 * 3600 / 1e9, rel=1e-4)


@pytest.mark.parametrize(
    ("times", "sets", "minutes"),
    [
        (NIGHT, (), 210),
        (Times(doors=dt.time(22), curfew=dt.time(2)), (), 240),  # past midnight
        (Times(doors=dt.time(19)), (Set(start=dt.time(20), minutes=50),), 170),
        (Times(), (Set(start=dt.time(23, 30), minutes=60),), 120),
        (Times(), (), None),
        (Times(doors=dt.time(19)), (), None),
    ],
)
def test_minutes_recorded(times: Times, sets: tuple[Set, ...], minutes: float | None) -> None:
    assert recording_minutes(_show(times=times, set=sets)) == minutes


def test_one_interleaved_file_of_18_channels_ends_after_27_6_minutes() -> None:
    """RIFF's 32-bit size field, EBU Tech 3306; the figure by arithmetic from it."""
    mono = media_plan(_show(), Kit(), _recorder(), 18).file_limit
    whole = media_plan(_show(), Kit(), _recorder("one interleaved file"), 18).file_limit
    assert whole is not None
    assert whole.value == pytest.approx(27.6, abs=0.05)
    assert mono is not None
    assert mono.value == pytest.approx(497.1, abs=0.05)


def test_unknown_times_leave_the_night_unknown_and_say_so() -> None:
    plan = media_plan(_show(times=Times()), Kit(media=(_card(),)), _recorder(), 20)
    assert plan.whole.value is None
    assert plan.copying == ()
    assert any("not known" in note for note in plan.notes)


def test_too_few_too_small_and_too_slow_media_are_named() -> None:
    small = _card(tags=["K-09"], capacity_gb=16, item="small card", write_mb_s=4)
    notes = " ".join(media_plan(_show(), Kit(media=(small,)), _recorder(), 20).notes)
    assert "small card K-09 is smaller than" in notes
    assert "The take and 2 copies need 3 media" in notes
    assert "small card K-09 writes 4 MB/s" in notes


def test_fat32_is_warned_of_only_where_a_file_would_reach_its_end() -> None:
    card = _card(file_system="FAT32")
    assert not any("FAT32" in note for note in media_plan(_show(), Kit(media=(card,)), _recorder(), 20).notes)
    whole = media_plan(_show(), Kit(media=(card,)), _recorder("one interleaved file"), 20).notes
    assert any("FAT32" in note and "4 GiB" in note for note in whole)


def test_enough_media_give_no_note() -> None:
    assert media_plan(_show(), Kit(media=(_card(),)), _recorder(), 20).notes == ()


def test_copying_counts_writing_and_reading_back() -> None:
    """28 GB at 30 MB/s take about 16 minutes, and as long again to verify: arithmetic."""
    disc = _card(item="disc", tags=["D-01"], kind="disc", write_mb_s=30, read_mb_s=30)
    (copying,) = media_plan(
        _show(times=Times(doors=dt.time(19), curfew=dt.time(22))), Kit(media=(disc,)), _recorder(), 18
    ).copying
    assert copying.value == pytest.approx(2 * 27.9936e9 / 30e6 / 60, rel=1e-3)
