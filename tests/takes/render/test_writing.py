"""The card is as a recorder writes it, the truth lies beside it, the same seed gives the same bytes."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile
from takes.render.small import INPUTS, RATE_HZ, SOUNDS, Heard, planned, small_kit, small_plan, small_show, small_venue

from fieldfare.show.plan import LeftOut, PlannedInput
from fieldfare.show.record import Fact
from fieldfare.takes.render import write
from fieldfare.takes.render.faults import Planted
from fieldfare.takes.render.truth import Truth
from fieldfare.takes.render.write import render_show
from fieldfare.takes.wave import read_head
from fieldfare.units.faults import NotDone, OutOfRange


def _render(folder: Path, inputs: tuple[PlannedInput, ...] = INPUTS, seconds: float = 5.0, seed: int = 1) -> Truth:
    return render_show(
        small_plan(inputs), small_show(), small_venue(), small_kit(), SOUNDS, folder, duration_s=seconds, seed=seed,
        planted=(),
    )  # fmt: skip


def _bytes(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Truth]:
    folder = tmp_path_factory.mktemp("card")
    return folder, _render(folder, seconds=8.0)


def test_the_same_seed_gives_the_same_bytes_and_another_seed_another_take(tmp_path: Path) -> None:
    few = INPUTS[:3]
    for name, seed in (("a", 1), ("b", 1), ("c", 2)):
        _render(tmp_path / name, few, 4.0, seed)
    first, again, other = (_bytes(tmp_path / name) for name in "abc")
    assert first == again
    assert {name for name in first if first[name] != other[name]} == set(first)


def test_the_card_holds_one_file_a_track_and_the_truth_lies_beside_it(card: tuple[Path, Truth]) -> None:
    folder, truth = card
    assert sorted(path.name for path in folder.iterdir()) == ["card", "truth.json"]
    take = folder / "card" / "2026-12-04_take-1"
    assert sorted(path.name for path in take.iterdir()) == [
        "01_kick.wav", "02_snare_top.wav", "03_snare_bottom.wav", "04_overhead_left.wav", "05_overhead_right.wav",
        "06_fiddle_di.wav", "07_fiddle_mic.wav", "08_trumpet.wav", "09_room_left.wav", "10_room_right.wav",
    ]  # fmt: skip
    assert Truth.model_validate_json((folder / "truth.json").read_text("utf-8")) == truth
    assert json.loads((folder / "truth.json").read_text("utf-8"))["frames"] == 8 * RATE_HZ


def test_another_library_reads_the_files(card: tuple[Path, Truth]) -> None:
    folder, truth = card
    for track in truth.track:
        info = soundfile.info(str(folder / truth.card / track.file))
        assert (info.frames, info.samplerate, info.channels, info.subtype) == (8 * RATE_HZ, RATE_HZ, 1, "PCM_24")


def test_heads_carry_label_channel_and_clock_from_the_plan(card: tuple[Path, Truth]) -> None:
    """The first song's count-in falls into the second in which the set starts, 20:00."""
    folder, truth = card
    heads = [read_head(folder / truth.card / track.file) for track in truth.track]
    assert [head.ixml.track[0].name for head in heads if head.ixml] == [row.label for row in INPUTS]
    assert [head.ixml.track[0].channel for head in heads if head.ixml] == [row.channel for row in INPUTS]
    assert len({head.ixml.family_uid for head in heads if head.ixml}) == 1
    bext = heads[0].bext
    assert bext is not None
    assert bext.time_reference == truth.origin
    assert bext.date == "2026-12-04"
    at_set = 20 * 3600 * RATE_HZ
    assert at_set - RATE_HZ < truth.origin + truth.song[0].count_in - RATE_HZ < at_set + RATE_HZ
    assert bext.time == "20:00:00" if truth.origin == at_set else bext.time.startswith("19:59:")


def test_songs_are_louder_than_what_lies_between(card: tuple[Path, Truth]) -> None:
    folder, truth = card
    sound, _ = soundfile.read(str(folder / truth.card / truth.track[3].file))
    song = truth.song[0]
    before, inside = sound[: song.count_in - RATE_HZ // 4], sound[song.start : song.end]
    assert np.std(inside) > 10 * np.std(before)


def test_truth_covers_the_take(card: tuple[Path, Truth]) -> None:
    _, truth = card
    assert truth.stretch[0].start == 0
    assert truth.stretch[-1].end == truth.frames
    assert all(one.end == after.start for one, after in pairwise(truth.stretch))
    own = {path.input for path in truth.path if path.own}
    assert own == {row.id for row in INPUTS if row.source != "Room"}
    assert {path.delay for path in truth.path if path.input == "fiddle-di"} == {0.0}
    kick = next(path for path in truth.path if (path.sound, path.input) == ("Kit: kick", "kick"))
    assert kick.peak_dbfs == pytest.approx(-12.0, abs=0.01)
    assert truth.speed_m_s == pytest.approx(343.2, abs=0.05)


def test_what_nobody_has_said_is_assumed_and_told(tmp_path: Path) -> None:
    venue = small_venue()
    room = venue.room.model_copy(update={"reverberation_s": Fact[float]()})
    unsaid = venue.model_copy(update={"room": room, "temperature_c": Fact[float]()})
    truth = render_show(
        small_plan(INPUTS[:1]), small_show(), unsaid, small_kit(), SOUNDS, tmp_path, duration_s=4.0, planted=()
    )
    assert truth.assumed == ("air of 20 °C", "reverberation time of 1.2 s")


def test_a_house_mix_has_everybody_in_it_and_comes_through_the_house(tmp_path: Path) -> None:
    mix = planned(11, "House mix left", "House", "house mix", "mix", (3, 0, 0), (0, 0, 0), taking="line")
    truth = _render(tmp_path, (mix,), 4.0)
    assert {path.sound for path in truth.path} == {
        "Kit: kick",
        "Kit: snare",
        "Kit: cymbals",
        "Fiddle: fiddle",
        "Trumpet: bell",
    }
    assert {path.delay for path in truth.path} == {0.0021 * RATE_HZ}
    assert -30 < truth.track[0].peak_dbfs < -6


def test_a_talkback_is_slated_before_the_first_song(tmp_path: Path) -> None:
    row = planned(1, "Talkback", "Talkback", "talkback", "talkback", (-3, 0.5, 1.2), (1, 0, 0), spl_db=102)
    show = small_show()
    act = show.act[0]
    talkback = act.source[3].model_copy(update={"name": "Talkback", "recipe": "talkback"})
    with_talkback = show.model_copy(update={"act": (act.model_copy(update={"source": (*act.source, talkback)}),)})
    truth = render_show(
        small_plan((row,)), with_talkback, small_venue(), small_kit(), SOUNDS, tmp_path, duration_s=20.0, planted=()
    )
    sound, _ = soundfile.read(str(tmp_path / truth.card / truth.track[0].file))
    slate = sound[RATE_HZ // 5 : RATE_HZ]
    assert 20 * np.log10(np.max(np.abs(slate))) == pytest.approx(-15.0, abs=3.0)


def test_a_second_instrument_that_shares_the_row_is_plugged_into_the_same_di(tmp_path: Path) -> None:
    show = small_show()
    fiddle = show.act[0].source[1]
    viola = fiddle.model_copy(update={"name": "Viola", "doubles_with": "Fiddle"})
    act = show.act[0].model_copy(update={"source": (*show.act[0].source, viola)})
    sounds = (*SOUNDS, Heard("Viola", "viola", (-1, 1, 1.5), 90))
    plan = small_plan((INPUTS[5].model_copy(update={"shared_by": ("viola-di",)}),))
    left = LeftOut(
        id="viola-di", label="Viola DI", source="Viola", importance="want", status="confirmed", blocks="", cure="",
        shares="fiddle-di",
    )  # fmt: skip
    truth = render_show(
        plan.model_copy(update={"left_out": (left,)}), show.model_copy(update={"act": (act,)}), small_venue(),
        small_kit(), sounds, tmp_path, duration_s=4.0, planted=(),
    )  # fmt: skip
    assert [path.sound for path in truth.path] == ["Fiddle: fiddle", "Viola: viola"]
    assert len({path.peak_dbfs for path in truth.path}) == 1


def test_a_card_that_is_there_is_left_alone(card: tuple[Path, Truth]) -> None:
    folder, _ = card
    before = _bytes(folder)
    with pytest.raises(NotDone, match="there is a card already"):
        _render(folder)
    assert _bytes(folder) == before


def test_a_plan_without_inputs_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutOfRange, match="the plan has no inputs"):
        _render(tmp_path / "new", ())
    assert not (tmp_path / "new").exists()


def test_what_was_begun_is_taken_away_when_it_cannot_be_finished(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disc that fails in the middle: the card's folder goes, and one sentence says why."""

    def _full(path: Path, planted: Planted) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write, "break_file", _full)
    with pytest.raises(NotDone, match=r"cannot be written \(No space left on device\)"):
        render_show(
            small_plan(INPUTS[:1]), small_show(), small_venue(), small_kit(), SOUNDS, tmp_path / "x", duration_s=4.0,
            planted=(Planted("missing", "kick"),),
        )  # fmt: skip
    assert list((tmp_path / "x").iterdir()) == []


def test_progress_rises_to_the_end(tmp_path: Path) -> None:
    told: list[float] = []
    render_show(
        small_plan(INPUTS[:1]), small_show(), small_venue(), small_kit(), SOUNDS, tmp_path, duration_s=4.0, planted=(),
        progress=told.append,
    )  # fmt: skip
    assert told == sorted(told)
    assert told[-1] == 1.0
