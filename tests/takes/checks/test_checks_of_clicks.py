"""Clicks, crackle and blocks that were left out; and sharp sounds that are none of these."""

from __future__ import annotations

import numpy as np
import pytest
from takes.checks.material import drums, plucked, speech, square_synth, told
from takes.measure.signals import RATE_HZ, Floats, codes, noise, tone

from fieldfare.show.findings import Finding


def _of(found: tuple[Finding, ...], kind: str) -> list[Finding]:
    return [one for one in found if one.kind == kind]


def _spiked(sound: Floats, places: np.ndarray, size: float = 0.2) -> Floats:
    spiked = sound.copy()
    spiked[places] += size
    return spiked


def _places(count: int, begin_s: float, end_s: float, seed: int = 4) -> np.ndarray:
    chosen = np.random.default_rng(seed).choice(
        np.arange(begin_s * RATE_HZ, end_s * RATE_HZ, 1000), count, replace=False
    )
    return np.sort(chosen).astype(np.int64)


def _broken_off(count: int) -> Floats:
    """Notes of a sampler over a held chord, each cut off in mid-swing, as short releases do."""
    rng, sound = np.random.default_rng(3), tone(196.0, -30, 20) + tone(246.9, -30, 20) + noise(-85, 20, 2)
    for at in (60_000 + np.arange(count) * 800_000 // count).tolist():
        size = 9000 + int(rng.integers(0, 400))
        time = np.arange(size) / RATE_HZ
        note = sum(np.sin(2 * np.pi * 131 * k * time) / k for k in range(1, 6))
        sound[at : at + size] += 0.15 * note * np.minimum(1, time / 0.02) * np.exp(-time)
    return sound


class TestClick:
    """A tick on one track alone."""

    @pytest.mark.parametrize("make", [speech, plucked], ids=lambda make: make.__name__)
    def test_found_to_the_sample(self, make: object) -> None:
        """Not within 21 ms of the start of a louder note, which hides it."""
        sound = speech() if make is speech else plucked()
        places = _places(2, 2, 12, 5)
        (finding,) = _of(told({"Fiddle": _spiked(sound, places)}), "click")
        assert [begin for begin, _ in finding.places] == places.tolist()
        assert (finding.severity, finding.figures["clicks"]) == ("note", 2)

    def test_several_are_worth_a_look(self) -> None:
        (finding,) = _of(told({"Fiddle": _spiked(plucked(), _places(5, 2, 18, 5))}), "click")
        assert finding.severity == "warn"

    def test_what_another_microphone_hears_too_is_sound(self) -> None:
        """A stick on a rim, 3 m from the next microphone."""
        places = _places(2, 2, 12)
        sounds = {"Snare": _spiked(speech(), places), "Tom": _spiked(speech(-14, "en-us"), places + 420, 0.1)}
        assert not _of(told(sounds), "click")

    def test_found_beside_a_drum_machine_on_a_lead(self) -> None:
        """Its hits are no sound that a microphone hears, and begin with a kink of little height."""
        time = np.arange(len(plucked())) % 12_000 / RATE_HZ
        machine = 0.4 * np.sin(2 * np.pi * 48 * time) * np.exp(-time * 40)
        places = _places(3, 2, 12, 5)
        (finding,) = _of(told({"Fiddle": _spiked(plucked(), places), "Machine": machine}), "click")
        assert finding.track == "Fiddle"
        assert finding.figures["clicks"] == 3

    def test_found_in_digital_silence(self) -> None:
        samples = codes(plucked())
        samples[200_000:300_000], samples[250_000] = 0, 900_000
        (finding,) = _of(told({"Fiddle": samples}), "click")
        assert finding.places[0][0] == 250_000

    def test_a_pure_tone_that_begins_and_ends_at_once_is_none(self) -> None:
        time = np.arange(10 * RATE_HZ) % 30_000
        notes = np.where(time < 20_000, 0.4 * np.sin(2 * np.pi * 41 * time / RATE_HZ), 0.0)
        notes *= np.minimum(1, np.maximum(0, 20_000 - time) / 480)
        assert not told({"Sub": notes})

    @pytest.mark.parametrize("count", [3, 30])
    def test_notes_that_are_broken_off_are_none(self, count: int) -> None:
        """A jump from a swing to rest bends no further than the swing, however unforeseen it is."""
        assert not {one.kind for one in told({"Keys": _broken_off(count)})} & {"click", "crackle"}

    def test_found_where_notes_are_broken_off(self) -> None:
        (finding,) = _of(told({"Keys": _spiked(_broken_off(30), np.array([251_000, 503_000]), 0.3)}), "click")
        assert [begin for begin, _ in finding.places] == [251_000, 503_000]

    def test_a_small_one_is_found_in_a_low_tone_that_swings_far(self) -> None:
        sound = _spiked(tone(45.0, -8, 20) + noise(-90, 20, 2), np.array([400_123]), 0.06)
        (finding,) = _of(told({"Sub": sound}), "click")
        assert finding.places[0][0] == 400_123

    def test_the_edges_of_a_gap_are_the_gap_s(self) -> None:
        samples = codes(plucked())
        samples[300_000:300_100] = 0
        assert {one.kind for one in told({"Fiddle": samples})} == {"dropout"}

    def test_the_edges_of_a_square_wave_are_the_wave_s(self) -> None:
        assert not told({"Synthesiser": square_synth()})
        assert not told({"Synthesiser": np.where(np.arange(480_000) % 436 < 218, 0.2, -0.2)})


class TestCrackle:
    """Many of them, close together."""

    @pytest.mark.parametrize("count", [12, 120])
    def test_found(self, count: int) -> None:
        found = told({"Bass DI": _spiked(plucked(), _places(count, 6, 12))})
        (finding,) = _of(found, "crackle")
        assert 0.75 * count <= finding.figures["clicks"] <= count  # loud notes drown some
        assert not _of(found, "click")

    @pytest.mark.parametrize("hz", [20.0, 30.0])
    def test_the_corners_of_a_wave_are_none(self, hz: float) -> None:
        """A few at a time, as where a plucked string is heard by its pickup."""
        time = np.arange(20 * RATE_HZ) % 40_000 / RATE_HZ
        corners = np.abs((hz * time + 0.25) % 1 - 0.5) - 0.25
        sound = 0.6 * corners * (time < 0.11) * np.minimum(1, np.maximum(0, 0.11 - time) / 0.02)
        assert not {one.kind for one in told({"Bass DI": sound + noise(-92, 20, 3)})} & {"click", "crackle"}


class TestMissingBlock:
    """Everything jumps at once."""

    def _left_out(self, count: int) -> dict[str, Floats]:
        sounds = {str(n): np.asarray(sum(tone(hz * (n + 2), -20, 13) for hz in (97.0, 131.0, 173.0))) for n in range(6)}
        return {name: np.concatenate([one[:300_000], one[300_000 + count :]]) for name, one in sounds.items()}

    @pytest.mark.parametrize("count", [64, 256, 512])
    def test_found_to_the_sample(self, count: int) -> None:
        found = told(self._left_out(count))
        (finding,) = _of(found, "missing block")
        assert (finding.track, finding.severity) == ("", "stop")
        assert abs(finding.places[0][0] - 300_000) <= 1
        assert not _of(found, "click")

    def _machines(self) -> dict[str, Floats]:
        """Three tracks of one machine, whose notes begin at the very same samples: low tones, kicks, square waves."""
        time = np.arange(20 * RATE_HZ) % 24_000 / RATE_HZ
        rise = np.minimum(1, time / 0.002)
        tones = {
            "Sub": rise * np.sin(2 * np.pi * 43 * time) * np.exp(-time),
            "Kick": np.sin(2 * np.pi * (48 * time + 4 * (1 - np.exp(-60 * time)))) * np.exp(-5 * time),
            "Bass": 0.5 * np.where((30 * time) % 1 < 0.5, 1.0, -1.0),
        }
        return {name: 0.4 * one + noise(-100, 20, seed) for seed, (name, one) in enumerate(tones.items())}

    @pytest.mark.parametrize("count", [850, 1000])
    def test_found_among_machines_one_of_which_jumps_all_the_time(self, count: int) -> None:
        found = told({name: np.delete(one, slice(300_040, 300_040 + count)) for name, one in self._machines().items()})
        (finding,) = _of(found, "missing block")
        assert abs(finding.places[0][0] - 300_040) <= 1
        assert finding.count == 1

    def test_notes_of_machines_that_begin_at_one_sample_are_none(self) -> None:
        assert not _of(told(self._machines()), "missing block")

    def test_drums_heard_all_over_the_stage_are_none(self) -> None:
        hits = drums()
        sounds = {str(n): np.roll(hits, 140 * n) * 0.8**n + noise(-85, 20, n) for n in range(6)}
        assert not {one.kind for one in told(sounds)} & {"missing block", "click", "crackle"}
