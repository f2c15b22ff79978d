"""Faults of single tracks: each is found where it is, and what only looks like one is left alone."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from takes.checks.material import (
    brushes,
    coupled,
    distorted_amp,
    drums,
    feedback,
    gated,
    limited,
    organ,
    plucked,
    speech,
    square_synth,
    told,
    track,
)
from takes.measure.signals import RATE_HZ, Floats, codes, noise, seconds, tone
from takes.render.small import planned

from fieldfare.show.findings import Finding
from fieldfare.takes.checks.levels import very_low

Make = Callable[[], Floats]


def _kinds(found: tuple[Finding, ...]) -> set[str]:
    return {one.kind for one in found}


def _one(found: tuple[Finding, ...], kind: str) -> Finding:
    (finding,) = (one for one in found if one.kind == kind)
    return finding


# Clean playing of every sort that has fooled a detector. Nothing at all may be found on it.
CLEAN: dict[str, Make] = {
    "speech with pauses": speech,
    "plucked string with rests": plucked,
    "drums from close by": drums,
    "square wave from a synthesiser": square_synth,
    "distorted amplifier": distorted_amp,
    "organ chord that never changes": organ,
    "brushes": brushes,
    "feedback": feedback,
    "gated wireless": lambda: gated(speech(-12, floor_dbfs=-60)),
    "gated drums": lambda: gated(drums(), attack_s=0.0002, threshold_dbfs=-30),
    "one song out of many": lambda: np.concatenate([noise(-85, 60), plucked(20), noise(-85, 40, 2)]),
    "digital black before and after": lambda: np.concatenate([np.zeros(90_000), plucked(15), np.zeros(200_000)]),
    "playback with digital black between songs": lambda: np.concatenate(
        [
            song * np.minimum(1, np.arange(len(song))[::-1] / 9600)
            for song in (plucked(12), np.zeros(300_000), drums(12))
        ]
    ),
    "just under full scale": lambda: tone(61.7, -0.001, 20) * (0.9 + 0.1 * np.sin(2 * np.pi * 0.3 * seconds(20))),
    "bass that lives on low G": lambda: (
        np.asarray(sum(tone(49 * h, -14 - 5 * h, 20) for h in (1, 2, 3, 4))) + noise(-85, 20)
    ),
    "a drone on B flat": lambda: (
        np.asarray(sum(tone(116.54 * h, -20 - 3 * h, 20) for h in range(1, 9))) + noise(-85, 20)
    ),
    "rumble of a stage": lambda: plucked(20) + 0.02 * np.sin(2 * np.pi * 0.7 * seconds(20)),
}


@pytest.mark.parametrize("make", CLEAN.values(), ids=CLEAN)
def test_nothing_is_found_on_clean_playing(make: Make) -> None:
    assert [str(one) for one in told({"Track": make()})] == []


@pytest.mark.parametrize("make", [speech, plucked, drums, brushes, feedback], ids=lambda make: make.__name__)
def test_nothing_is_found_on_16_bits_and_very_quiet(make: Make) -> None:
    quiet = codes(make() * 10 ** (-27 / 20), 16)
    assert _kinds(told({"Track": quiet}, 16)) <= {"very low"}


class TestDead:
    """Nothing but silence, noise or hum."""

    @pytest.mark.parametrize(
        ("sound", "words"),
        [
            (np.zeros(480_000), "digital silence"),
            (noise(-95, 20), "steady noise at −95"),
            (noise(-72, 20), "steady noise at −72"),
            (np.asarray(sum(tone(50 * h, -50 - 4 * h, 20) for h in (1, 2, 3))) + noise(-90, 20), "nothing but hum"),
        ],
    )
    def test_found(self, sound: Floats, words: str) -> None:
        finding = _one(told({"Lead vocal": sound, "Kick": drums()}), "dead")
        assert (finding.track, finding.severity, finding.start, finding.end) == ("Lead vocal", "stop", 0, len(sound))
        assert words in finding.says.casefold() or words in finding.says

    def test_a_thump_of_the_plug_does_not_make_a_line_live(self) -> None:
        sound = noise(-95, 20)
        sound[200_000:203_000] += 0.5 * np.exp(-np.arange(3000) / 400)
        assert "dead" in _kinds(told({"DI": sound}))

    def test_a_dead_line_has_no_other_fault(self) -> None:
        assert _kinds(told({"DI": noise(-95, 20) + 10 ** (-70 / 20)})) == {"dead"}

    def test_a_microphone_that_hears_only_the_room_is_live(self) -> None:
        assert "dead" not in _kinds(told({"Spare": 10 ** (-52 / 20) * speech(0, floor_dbfs=-30)}))


class TestVeryLow:
    """Far below what is usual or expected."""

    def test_found_without_a_plan(self) -> None:
        finding = _one(told({"Fiddle": plucked(20, -47)}), "very low")
        assert finding.figures["peak_dbfs"] == pytest.approx(-47, abs=0.2)

    def test_measured_against_the_plan(self) -> None:
        row = planned(1, "Fiddle", "Fiddle", "fiddle", "mic", (0, 0, 1), (0, 0, 1))  # 6 dB are left: it peaks at -6
        (hit,) = very_low(track("Fiddle", plucked(20, -33), planned=row))
        assert hit.figures["under_plan_db"] == pytest.approx(27, abs=0.2)
        assert not list(very_low(track("Fiddle", plucked(20, -20), planned=row)))

    def test_low_by_design(self) -> None:
        row = planned(1, "Room", "Room", "room", "room", (0, 0, 1), (0, 0, 1))
        low = row.model_copy(update={"reserve": row.reserve.model_copy(update={"value": 40.0})})
        assert not list(very_low(track("Room", plucked(20, -44), planned=low)))
        assert list(very_low(track("Room", plucked(20, -44))))


class TestClipped:
    """Peaks that run into full scale."""

    def test_found_to_the_sample(self) -> None:
        sound = 0.5 * speech(0)
        sound[300_000:300_400] = 1.3 * np.sin(2 * np.pi * 120 * np.arange(400) / RATE_HZ)
        finding = _one(told({"Voice": sound}), "clipped")
        at = 300_000 + np.flatnonzero(np.abs(1.3 * np.sin(2 * np.pi * 120 * np.arange(400) / RATE_HZ)) >= 1)
        assert finding.places == ((at[0], at[-1] + 1),)
        assert (finding.severity, finding.figures["samples"]) == ("warn", len(at))

    def test_drums_6_db_too_hot(self) -> None:
        finding = _one(told({"Snare": np.clip(2 * drums(20, 0), -1, 1)}), "clipped")
        assert finding.confidence == 0.85

    def test_a_short_run_is_a_note(self) -> None:
        sound = 0.5 * drums()
        sound[100_000:100_004] = (0.7, 1, 1, 1)
        assert _one(told({"Snare": sound}), "clipped").severity == "note"

    def test_hiss_that_stays_for_a_sample_or_two(self) -> None:
        hot = brushes() * 10 ** (2 / 20) / np.sort(np.abs(brushes()))[-200]
        rng = np.random.default_rng(5)
        short = np.where(np.abs(hot) > 1, 1 - 1e-3 * rng.random(len(hot)), 1) * np.clip(hot, -1, 1)
        finding = _one(told({"Brushes": short}), "clipped")
        assert finding.figures["tops"] > 20

    @pytest.mark.parametrize("bits", [16, 24])
    def test_clean_peaks_that_touch_full_scale(self, bits: int) -> None:
        """A sine that just reaches it stays there for a sample or two; a low one of 16 bits for a few, but gently."""
        for hz in (20, 50, 97, 997):
            assert "clipped" not in _kinds(told({"Tone": tone(hz, 0, 10)}, bits)), hz
        once = 0.5 * plucked()
        once[70_000:70_002] = 1
        assert "clipped" not in _kinds(told({"Once": once}, bits))


class TestClippedBeforeTheConverter:
    """Flat tops below full scale."""

    @pytest.mark.parametrize("ceiling_dbfs", [-3.0, -9.0, -18.0])
    @pytest.mark.parametrize("make", [speech, plucked, drums], ids=lambda make: make.__name__)
    def test_found(self, make: Make, ceiling_dbfs: float) -> None:
        top = 10 ** (ceiling_dbfs / 20)
        sound = make()
        loud = np.clip(sound * (2.2 * top / np.abs(sound).max()), -top, top) + noise(-95, len(sound) / RATE_HZ, 3)
        finding = _one(told({"Voice": loud}), "clipped before the converter")
        assert finding.figures["ceiling_dbfs"] == pytest.approx(ceiling_dbfs, abs=0.15)
        assert "clipped" not in _kinds(told({"Voice": loud}))

    def test_found_after_the_coupling_of_a_converter(self) -> None:
        """A high-pass tilts flat tops: at 2 Hz those of a low note slope by a few per cent."""
        flat = np.clip(2 * plucked(20, -10), -0.3, 0.3)
        assert "clipped before the converter" in _kinds(told({"DI": coupled(flat, 2.0) + noise(-90, 20, 5)}))

    def test_a_low_note_whose_flat_tops_sag_is_found(self) -> None:
        """At 35 Hz each top leans so far behind a coupling capacitor that it is left steeply on one side only."""
        time = np.arange(20 * RATE_HZ) % 30_000 / RATE_HZ
        flat = np.clip(0.9 * np.sin(2 * np.pi * 35 * time) * np.exp(-time * 4), -0.3, 0.3)
        assert "clipped before the converter" in _kinds(told({"Sub": coupled(flat, 1.5) + noise(-90, 20, 5)}))

    def test_a_leaning_wave_that_is_round_is_not(self) -> None:
        time = np.arange(20 * RATE_HZ) % 30_000 / RATE_HZ
        lean = sum(np.sin(2 * np.pi * 110 * h * time) / h**1.3 for h in range(1, 30))
        sound = 0.1 * np.asarray(lean) * np.exp(-time * 3) + noise(-90, 20, 5)
        assert "clipped before the converter" not in _kinds(told({"Reed": sound}))

    @pytest.mark.parametrize("over_db", [2, 6, 12])
    def test_hiss_whose_peaks_are_too_short_to_be_flat(self, over_db: float) -> None:
        """Cymbals, brushes and shakers swing from sample to sample: many of their peaks at one height say the same."""
        hot = brushes() * 10 ** (over_db / 20)
        top = float(np.sort(np.abs(brushes()))[-200])
        finding = _one(told({"Brushes": np.clip(hot, -top, top) + noise(-100, 20, 3)}), "clipped before the converter")
        assert finding.figures["ceiling_dbfs"] == pytest.approx(20 * np.log10(top), abs=0.15)

    def test_what_is_at_its_ceiling_all_the_time(self) -> None:
        """Nothing is lower, to show that it is round by itself; but square waves have no short peaks among theirs."""
        roar = noise(-20, 20, 6) * (1 + 0.2 * np.sin(2 * np.pi * seconds(20)))
        top = 1.5 * float(roar.std())
        assert "clipped before the converter" not in _kinds(told({"Wind": roar}))
        assert "clipped before the converter" in _kinds(told({"Wind": np.clip(roar, -top, top) + noise(-100, 20, 3)}))
        assert "clipped before the converter" not in _kinds(told({"Synthesiser": np.sign(roar) * top}))

    @pytest.mark.parametrize("over_db", [3, 12])
    def test_a_limiter_is_none(self, over_db: float) -> None:
        """It sees 1.5 ms ahead, and lets one peak alone reach its ceiling before it opens again within 50 ms."""
        hot = brushes() * 10 ** (over_db / 20)
        top = float(np.sort(np.abs(brushes()))[-200])
        assert "clipped before the converter" not in _kinds(told({"Brushes": limited(hot, top) + noise(-100, 20, 3)}))

    @pytest.mark.parametrize("hz", [480.0, 3000.0, 5000.0])
    @pytest.mark.parametrize("saw", [False, True])
    def test_notes_as_loud_as_the_last_are_none(self, hz: float, saw: bool) -> None:
        """A synthesiser's, straight from its output: every peak is as high as the last, and falls as steeply."""
        turn = hz * seconds(20)
        wave = 2 * (turn % 1) - 1 if saw else np.sin(2 * np.pi * turn)
        notes = 0.2 * wave * (seconds(20) % 0.5 < 0.4) + noise(-60, 20, 4)
        assert "clipped before the converter" not in _kinds(told({"Synthesiser": notes}))

    def test_one_hit_again_and_again_is_none(self) -> None:
        """A drum machine's peaks are all of one height, to the sample; they are round."""
        hit = noise(-12, 0.3, 9) * np.exp(-np.arange(14_400) / 1500)
        assert "clipped before the converter" not in _kinds(told({"Machine": np.tile(hit, 60) + noise(-90, 18, 2)}))

    def test_what_the_converter_clips_is_told_once(self) -> None:
        assert _kinds(told({"Snare": np.clip(2 * drums(20, 0), -1, 1)})) == {"clipped"}


class TestHum:
    """Steady lines at the mains."""

    @pytest.mark.parametrize(("hum_dbfs", "severity"), [(-40, "warn"), (-70, "note")])
    def test_found_and_weighed_against_the_music(self, hum_dbfs: float, severity: str) -> None:
        lines = np.asarray(sum(tone(50 * h, hum_dbfs - 6 * (h - 1), 40, phase=h) for h in (1, 2, 3)))
        bass = np.concatenate([noise(-85, 6), plucked(14, -10), noise(-85, 6, 2), plucked(14, -10, 6)])
        finding = _one(told({"Bass DI": bass + lines}), "hum")
        assert finding.severity == severity
        assert finding.figures["mains_hz"] == pytest.approx(50, abs=0.02)
        assert finding.figures["hum_dbfs"] == pytest.approx(hum_dbfs + 1.2, abs=0.7)

    def test_hum_that_nobody_hears_is_not_told(self) -> None:
        lines = tone(50, -82, 20) + tone(150, -84, 20)
        assert "hum" not in _kinds(told({"Bass DI": plucked(20, -6) + lines}))

    def test_never_to_lift_an_earth(self) -> None:
        lines = tone(60, -40, 20) + tone(120, -44, 20)
        assert "never lift a protective earth" in _one(told({"Bass DI": plucked() + lines}), "hum").remedy


class TestOffset:
    """A mean that is not zero."""

    @pytest.mark.parametrize(("dc", "severity"), [(0.02, "warn"), (-0.003, "note")])
    def test_found(self, dc: float, severity: str) -> None:
        finding = _one(told({"Keys": plucked() + dc}), "dc")
        assert finding.severity == severity
        assert finding.figures["dc_dbfs"] == pytest.approx(20 * np.log10(abs(dc)), abs=0.3)

    def test_a_converter_s_own_is_not_told(self) -> None:
        assert "dc" not in _kinds(told({"Keys": plucked() + 0.0007}))

    def test_a_short_low_note_has_a_mean_by_chance(self) -> None:
        assert "dc" not in _kinds(told({"Bass": tone(41, -6, 0.52)}))

    def test_hum_in_the_pauses_is_none(self) -> None:
        """With its octave it is lopsided: the middle between its peaks is not zero, its mean is."""
        time = np.arange(20 * RATE_HZ) / RATE_HZ
        notes = 0.4 * np.sin(2 * np.pi * 220 * time) * (time % 2 < 1.5)
        lines = tone(50, -42, 20) + tone(100, -44, 20, phase=np.pi / 2)
        assert "dc" not in _kinds(told({"Guitar": notes + lines + noise(-90, 20)}))

    def test_a_synthesiser_whose_waves_are_lopsided_rests_at_zero(self) -> None:
        time = np.arange(20 * RATE_HZ) / RATE_HZ
        pulses = np.where((110 * time) % 1 < 0.12, 0.2, -0.2) * (time % 1 < 0.8)
        assert "dc" not in _kinds(told({"Synthesiser": pulses}))
        finding = _one(told({"Synthesiser": pulses + 0.01}), "dc")
        assert finding.figures["dc_dbfs"] == pytest.approx(-40, abs=0.3)
