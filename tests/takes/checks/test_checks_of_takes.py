"""Faults that show when tracks and files are laid side by side, and gaps, which may be on one track or on all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from takes.checks.material import (
    brushes,
    drums,
    plucked,
    speech,
    square_synth,
    take,
    told,
    track,
)
from takes.measure.signals import RATE_HZ, Codes, Floats, codes, noise, seconds, tone
from takes.render.small import planned, small_plan

from fieldfare.show.findings import FileState, Finding
from fieldfare.show.plan import PlannedInput
from fieldfare.takes.checks.check import Take
from fieldfare.takes.checks.table import findings

Make = Callable[[], Floats]


def _of(found: tuple[Finding, ...], kind: str) -> list[Finding]:
    return [one for one in found if one.kind == kind]


def _cut(sound: Floats, *places: tuple[int, int], value: int = 0) -> Codes:
    """Take samples out, as a converter's codes."""
    samples = codes(sound)
    for begin, end in places:
        samples[begin:end] = value
    return samples


def _loud_places(sound: Floats, count: int, length: int, seed: int) -> list[tuple[int, int]]:
    """Places in signal, at random: where the 3 ms on both sides reach −45 dBFS."""
    rng, places = np.random.default_rng(seed), list[tuple[int, int]]()
    while len(places) < count:
        at = int(rng.integers(5000, len(sound) - length - 5000))
        beside = (np.abs(sound[at - 128 : at]).max(), np.abs(sound[at + length : at + length + 128]).max())
        if min(beside) > 10 ** (-45 / 20) and all(abs(at - other) > length + 4000 for other, _ in places):
            places.append((at, at + length))
    return sorted(places)


class TestDropout:
    """Zeros or held samples inside signal."""

    @pytest.mark.parametrize("make", [speech, plucked, drums, brushes], ids=lambda make: make.__name__)
    def test_runs_of_zeros_are_found_to_the_sample(self, make: Make) -> None:
        """A gap that begins or ends at a zero of the signal looks like a rest: one in a hundred may be missed."""
        sound, planted, found = make(), 0, 0
        for length in (16, 32, 64, 128, 256, 512, 2400, 12_000):
            places = _loud_places(sound, 8 if length < 1000 else 3, length, seed=length)
            told_places = {
                place for one in _of(told({"Track": _cut(sound, *places)}), "dropout") for place in one.places
            }
            grown = {(begin - 1, end) for begin, end in places} | {(begin, end + 1) for begin, end in places}
            assert told_places <= set(places) | grown, length  # a sample beside it may be zero by itself
            planted, found = planted + len(places), found + len(told_places)
        assert found >= 0.98 * planted

    def test_a_held_sample(self) -> None:
        sound = plucked()
        begin = _loud_places(sound, 1, 480, seed=2)[0][0]
        samples = codes(sound)
        samples[begin : begin + 480] = samples[begin - 1]
        (finding,) = _of(told({"Track": samples}), "dropout")
        assert finding.places == ((begin - 1, begin + 480),)

    def test_a_sample_held_near_the_top_of_a_slow_swing(self) -> None:
        samples = codes(tone(40, -12, 10) + noise(-80, 10))
        samples[240_300:240_700] = samples[240_299]  # a quarter of a period after a zero: the top
        (finding,) = _of(told({"Sub": samples}), "dropout")
        assert finding.places == ((240_299, 240_700),)

    def test_flat_tops_are_no_held_samples(self) -> None:
        assert not _of(told({"Sub": np.clip(tone(40, -6, 10), -0.3, 0.3)}), "dropout")

    def test_a_long_silence_that_is_cut_at_both_ends_is_told_as_unsure(self) -> None:
        sound = brushes()
        (finding,) = _of(told({"Track": _cut(sound, (200_000, 500_000))}), "dropout")
        assert (finding.places, finding.confidence) == (((200_000, 500_000),), 0.6)

    def test_signal_that_is_cut_off_for_good(self) -> None:
        sound = brushes()
        (finding,) = _of(told({"Track": _cut(sound, (700_000, len(sound)))}), "dropout")
        assert finding.places == ((700_000, len(sound)),)

    def test_silence_before_the_first_sound_is_none(self) -> None:
        assert not _of(told({"Track": _cut(brushes(), (0, 100_000))}), "dropout")

    def test_a_pulse_wave_rests_at_zero_and_is_none(self) -> None:
        pulse = np.where((110 * seconds(10)) % 1 < 0.25, 0.3, 0.0)
        assert not _of(told({"Synthesiser": pulse}), "dropout")

    def test_many_irregular_gaps_are_all_told(self) -> None:
        sound = brushes()
        places = _loud_places(sound, 60, 100, seed=9)
        (finding,) = _of(told({"Track": _cut(sound, *places)}), "dropout")
        assert finding.count == 60

    def test_all_tracks_at_once_are_told_once(self) -> None:
        place = (300_000, 300_512)
        sounds = {str(n): _cut(noise(-25, 12, n), place) for n in range(6)}
        (finding,) = _of(told(sounds), "dropout")
        assert (finding.track, finding.severity, finding.places) == ("", "stop", (place,))
        assert "all tracks" in finding.says.casefold()

    def test_what_one_of_them_lost_besides_is_told_for_it(self) -> None:
        sounds = {str(n): _cut(noise(-25, 12, n), (300_000, 300_512)) for n in range(6)}
        sounds["3"][100_000:100_064] = 0
        assert {(one.track, one.places) for one in _of(told(sounds), "dropout")} == {
            ("", ((300_000, 300_512),)),
            ("3", ((100_000, 100_064),)),
        }


class TestRepeatedBlock:
    """A block that was written twice."""

    @pytest.mark.parametrize("lag", [64, 128, 256, 441 // 3 * 3 + 7, 512, 1024])
    def test_found_to_the_sample(self, lag: int) -> None:
        lag -= lag % 16
        samples = codes(speech())
        at = _loud_places(speech(), 1, lag, seed=lag)[0][0]
        samples[at : at + lag] = samples[at - lag : at]
        (finding,) = _of(told({"Voice": samples}), "repeated block")
        assert finding.places == ((at, at + lag),)

    def test_a_stutter_of_three(self) -> None:
        samples = codes(speech())
        at = _loud_places(speech(), 1, 768, seed=3)[0][0]
        for turn in range(3):
            samples[at + 256 * turn : at + 256 * turn + 256] = samples[at - 256 : at]
        (finding,) = _of(told({"Voice": samples}), "repeated block")
        assert finding.places == ((at, at + 768),)

    def test_a_wave_that_repeats_to_the_sample_is_none(self) -> None:
        assert not _of(told({"Synthesiser": np.tile(tone(375, -12, 128 / RATE_HZ), 3000)}), "repeated block")
        assert not _of(told({"Synthesiser": square_synth()}), "repeated block")

    def test_all_tracks_at_once_are_told_once(self) -> None:
        sounds = {}
        for n in range(5):
            samples = codes(noise(-25, 12, n))
            samples[200_000:200_256] = samples[199_744:200_000]
            sounds[str(n)] = samples
        (finding,) = _of(told(sounds), "repeated block")
        assert (finding.track, finding.places) == ("", ((200_000, 200_256),))


def _room(sound: Floats, late: int, gain: float, seed: int) -> Floats:
    """Sound as one of two microphones hears it: late, weaker, with a tail and noise of its own."""
    rng = np.random.default_rng(seed)
    tail = rng.normal(0, 1, 12_000) * np.exp(-np.arange(12_000) / 3000) * 0.02
    tail[0] = 1
    size = 1 << (len(sound) + 12_000).bit_length()
    heard = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)[: len(sound)]
    return np.asarray(gain * np.roll(heard, late) + noise(-80, len(sound) / RATE_HZ, seed), np.float64)


class TestPolarity:
    """One side of a pair upside down."""

    @pytest.mark.parametrize("make", [speech, plucked, drums], ids=lambda make: make.__name__)
    @pytest.mark.parametrize("sign", [1, -1])
    @pytest.mark.parametrize("late", [0, 60])
    def test_named_left_and_right(self, make: Make, sign: int, late: int) -> None:
        sound = make()
        sounds = {"OH L": _room(sound, 100, 0.7, 1), "OH R": sign * _room(sound, 100 + late, 0.5, 2)}
        found = _of(told(sounds), "polarity")
        assert len(found) == (sign < 0)

    def test_the_others_say_which_side(self) -> None:
        sound = drums()
        sounds = {"OH L": _room(sound, 100, 0.7, 1), "OH R": -_room(sound, 120, 0.5, 2), "Snare": _room(sound, 4, 1, 3)}
        (finding,) = _of(told(sounds), "polarity")
        assert finding.track == "OH R"
        sounds = {"OH L": -sounds["OH L"], "OH R": -sounds["OH R"], "Snare": sounds["Snare"]}
        (finding,) = _of(told(sounds), "polarity")
        assert finding.track == "OH L"

    def test_a_pair_that_hears_different_things_is_left_alone(self) -> None:
        assert not _of(told({"Keys L": plucked(20, -10, 1), "Keys R": plucked(20, -10, 2)}), "polarity")

    @pytest.mark.parametrize(("flip", "sign", "found"), [(True, -1, 0), (True, 1, 1), (False, 1, 0), (False, -1, 1)])
    def test_what_the_plan_expects(self, flip: bool, sign: int, found: int) -> None:
        """The bottom of a snare hears it the other way up."""
        first = planned(1, "Snare top", "Kit", "drum kit", "snare", (0, 0, 0.7), (0, 0, -1), pair="snare-bottom")
        second = planned(
            2, "Snare bottom", "Kit", "drum kit", "snare", (0, 0, 0.4), (0, 0, 1), flip=flip, pair="snare-top"
        )
        one = track("Snare top", _room(drums(), 10, 1, 1), planned=first)
        other = track("Snare bottom", sign * _room(drums(), 12, 0.5, 2), planned=second)
        assert len(_of(findings(take(one, other)), "polarity")) == found


class TestSameSignal:
    """One signal on two tracks."""

    def test_sample_for_sample(self) -> None:
        sound = speech()
        (finding,) = _of(told({"Vox 1": sound, "Vox 2": sound, "Kick": drums()[: len(sound)]}), "duplicate")
        assert (finding.track, finding.severity) == ("Vox 2", "warn")
        assert "sample for sample" in finding.says

    def test_through_two_preamps_and_upside_down(self) -> None:
        sound = speech(floor_dbfs=-120)
        sounds = {"A": sound + noise(-85, len(sound) / RATE_HZ, 1)[: len(sound)], "B": -0.6 * sound}
        sounds["B"] = sounds["B"] + noise(-85, len(sound) / RATE_HZ, 2)[: len(sound)]
        (finding,) = _of(told(sounds), "duplicate")
        assert "upside down" in finding.says

    def test_two_microphones_on_one_source_are_two(self) -> None:
        sounds = {"Kick in": _room(drums(), 2, 1, 1), "Kick out": _room(drums(), 20, 0.7, 2)}
        assert not _of(told(sounds), "duplicate")

    def test_a_pair_that_carries_mono_is_a_note(self) -> None:
        first = planned(1, "Keys left", "Keys", "keys", "di", (0, 0, 0), (0, 0, 1), pair="keys-right")
        second = planned(2, "Keys right", "Keys", "keys", "di", (0, 0, 0), (0, 0, 1), pair="keys-left")
        sound = plucked()
        found = findings(take(track("Keys left", sound, planned=first), track("Keys right", sound, planned=second)))
        assert [(one.kind, one.severity) for one in found] == [("duplicate", "note")]

    def test_two_dead_lines_are_not_alike(self) -> None:
        assert not _of(told({"A": np.zeros(480_000), "B": np.zeros(480_000)}), "duplicate")


def _with_state(whole: Take, place: int, **changes: object) -> Take:
    """The same take with another state of one file."""
    state = whole.states[place].model_copy(update=changes)
    states = (*whole.states[:place], state, *whole.states[place + 1 :])
    tracks = tuple(replace(one, state=state) if at == place else one for at, one in enumerate(whole.tracks))
    return replace(whole, states=states, tracks=tracks)


@pytest.fixture(scope="module")
def whole() -> Take:
    """Three sound tracks."""
    return take(
        track("Voice", speech()),
        track("Voice 2", speech(-14, "en-us")[: len(speech())]),
        track("Voice 3", speech()[::-1]),
    )


class TestFiles:
    """The files as files."""

    def test_whole_files_have_no_fault(self, whole: Take) -> None:
        assert not {one.kind for one in findings(whole)} - {"wrong length"}

    @pytest.mark.parametrize("rate_hz", [44_100, 96_000])
    def test_another_rate(self, whole: Take, rate_hz: int) -> None:
        (finding,) = _of(findings(_with_state(whole, 1, rate_hz=rate_hz)), "wrong rate")
        assert (finding.track, finding.severity, finding.figures["rate_hz"]) == ("Voice 2", "stop", rate_hz)

    def test_44_1_for_48_is_a_tone_and_a_half_off(self, whole: Take) -> None:
        """[1.47 semitones, 8.8 %] as TRADE has it: the arithmetic of 44 100 against 48 000 Hz."""
        (finding,) = _of(findings(_with_state(whole, 1, rate_hz=44_100)), "wrong rate")
        assert "−1.47 semitones" in finding.says + finding.remedy

    @pytest.mark.parametrize(("off", "words"), [(4800, "longer"), (-4800, "shorter")])
    def test_another_length(self, off: int, words: str) -> None:
        sound = brushes()
        other = np.resize(sound, len(sound) + off)
        found = findings(take(track("A", sound), track("B", sound * 0.9 + noise(-60, 20, 3)), track("C", other[::-1])))
        (finding,) = _of(found, "wrong length")
        assert (finding.track, finding.figures["samples"], words in finding.says) == ("C", off, True)
        assert "0:00:00.100" in finding.says

    def test_armed_late(self) -> None:
        found = findings(take(track("A", brushes()), track("B", drums(), late=96_000)))
        (finding,) = _of(found, "wrong length")
        assert (finding.track, "starts 96000 samples later" in finding.says) == ("B", True)

    def test_16_bits_in_a_24_bit_file(self) -> None:
        (finding,) = _of(told({"Playback": codes(plucked(), 16) << 8}), "wrong depth")
        assert (finding.severity, finding.figures) == ("note", {"used_bits": 16})

    def test_another_depth_than_the_rest(self, whole: Take) -> None:
        (finding,) = _of(findings(_with_state(whole, 1, bits=16)), "wrong depth")
        assert (finding.severity, finding.track) == ("warn", "Voice 2")

    @pytest.mark.parametrize("header", ["unfinished", "stale", "wrapped"])
    def test_a_header_that_was_not_finished(self, whole: Take, header: str) -> None:
        (finding,) = _of(
            findings(_with_state(whole, 0, header=header, says="so it is", stated_frames=0)), "unfinished header"
        )
        assert str(whole.states[0].frames) in finding.says
        assert "keep the original" in finding.remedy

    def test_cut(self, whole: Take) -> None:
        frames = whole.frames - 96_000
        found = findings(_with_state(whole, 1, header="cut", says="it ends early", frames=frames))
        (finding,) = _of(found, "truncated")
        assert (finding.severity, finding.start, finding.end) == ("stop", frames, whole.frames)

    def test_unreadable(self, whole: Take) -> None:
        lost = FileState(
            path="x.wav", bytes=99, container="unknown", channels=0, rate_hz=0, bits=0, frames=0, stated_frames=None,
            header="unreadable", says="it starts with zeros",
        )  # fmt: skip
        (finding,) = _of(findings(replace(whole, states=(*whole.states, lost))), "unreadable")
        assert (finding.file, finding.severity, "starts with zeros" in finding.says) == ("x.wav", "stop", True)

    def test_samples_missing_between_files(self) -> None:
        sound = noise(-25, 12)
        hole = (200_000, 210_000)
        one = replace(track("Voice", _cut(sound, hole)), holes=(hole,))
        (finding,) = _of(findings(take(one)), "dropout")
        assert (finding.places, finding.figures["samples"]) == ((hole,), 10_000)


class TestPlan:
    """Tracks against the plan."""

    def _rows(self) -> tuple[PlannedInput, ...]:
        return small_plan().input

    def test_missing_and_unexpected(self) -> None:
        plan = small_plan()
        tracks = [track("Kick", drums(), planned=plan.input[0]), track("Mystery", plucked())]
        found = findings(take(*tracks, plan=plan, missing=plan.input[1:2]))
        assert [(one.kind, one.track) for one in found if one.kind in ("missing", "unexpected")] == [
            ("missing", "Snare top"),
            ("unexpected", "Mystery"),
        ]

    def test_spare_channels_without_signal_are_no_news(self) -> None:
        plan = small_plan()
        tracks = [
            track("Kick", drums(), planned=plan.input[0]),
            replace(track("Track 12", noise(-95, 20)), named=False),
        ]
        assert [one.severity for one in findings(take(*tracks, plan=plan))] == ["note"]

    def test_a_name_and_a_number_that_disagree(self) -> None:
        plan = small_plan()
        one = replace(track("Kick", drums(), planned=plan.input[0]), doubt="its number is that of Snare top")
        (finding,) = findings(take(one, plan=plan))
        assert (finding.kind, "number is that of Snare top" in finding.says) == ("unexpected", True)
