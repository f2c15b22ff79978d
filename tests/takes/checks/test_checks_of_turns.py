"""Thumps, lost carriers and gains that were changed; and playing that is none of these."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from takes.checks.material import (
    brushes,
    coupled,
    distorted_amp,
    drums,
    gated,
    organ,
    plucked,
    speech,
    square_synth,
    told,
    track,
)
from takes.measure.signals import RATE_HZ, Floats, codes, equal, measured, noise, seconds, tone

from fieldfare.show.findings import Finding


def _of(found: tuple[Finding, ...], kind: str) -> list[Finding]:
    return [one for one in found if one.kind == kind]


def _one(found: tuple[Finding, ...], kind: str) -> Finding:
    (finding,) = _of(found, kind)
    return finding


def _charging(sound: Floats, at: int, fall_s: float, height: float) -> Floats:
    """Add what capacitors let through while they charge: 1 ms up, then an exponential."""
    time = np.arange(len(sound) - at) / RATE_HZ
    thumped = sound.copy()
    thumped[at:] += height * (np.exp(-time / fall_s) - np.exp(-time / 0.001))
    return thumped


class TestThump:
    """Phantom power is switched."""

    @pytest.mark.parametrize("fall_s", [0.05, 0.15, 0.4])
    @pytest.mark.parametrize("height", [0.6, -0.3])
    def test_found(self, fall_s: float, height: float) -> None:
        finding = _one(told({"Voice": _charging(speech(-20), 250_000, fall_s, height)}), "thump")
        assert abs(finding.places[0][0] - 250_000) < 1100
        assert finding.severity == "warn"
        assert finding.figures["peak_dbfs"] == pytest.approx(20 * np.log10(abs(height)), abs=2.5)

    @pytest.mark.parametrize("hz", [20.0, 28.0, 41.2])
    def test_a_low_note_that_dies_away_is_none(self, hz: float) -> None:
        time = seconds(12)
        notes = np.sin(2 * np.pi * hz * time) * np.exp(-(time % 1.5) / 0.3) * np.minimum(1, (time % 1.5) / 0.002)
        assert not _of(told({"Sub": 0.5 * notes + noise(-85, 12)}), "thump")

    def test_a_short_one_that_leaves_a_dip_is_found(self) -> None:
        """The preamp's own coupling takes it to the other side of zero, where it stays a while."""
        sound = coupled(_charging(0.1 * organ(), 250_000, 0.035, 0.5), 1.5)
        finding = _one(told({"Organ": sound}), "thump")
        assert abs(finding.places[0][0] - 250_000) < 1100

    @pytest.mark.parametrize("hz", [14.0, 16.0])
    def test_a_wave_that_comes_back_is_none(self, hz: float) -> None:
        time = seconds(12)
        waves = np.sin(2 * np.pi * hz * time) * np.exp(-(time % 6) / 0.05)
        assert not _of(told({"Sub": 0.5 * waves + noise(-85, 12)}), "thump")

    def test_what_comes_with_every_note_is_the_instrument(self) -> None:
        sound = noise(-85, 20)
        for at in range(20_000, 900_000, 40_000):
            sound = _charging(sound, at, 0.05, 0.2)
        assert not _of(told({"Synthesiser": sound}), "thump")

    def test_one_far_taller_than_what_comes_with_every_note_is_found(self) -> None:
        sound = noise(-85, 20)
        for at in range(20_000, 900_000, 40_000):
            sound = _charging(sound, at, 0.05, 0.15)
        finding = _one(told({"Synthesiser": _charging(sound, 515_000, 0.2, 0.6)}), "thump")
        assert finding.count == 1
        assert abs(finding.places[0][0] - 515_000) < 1100

    @pytest.mark.parametrize("hz", [41.2, 48.0, 57.0])
    @pytest.mark.parametrize("fall_s", [0.12, 0.4])
    def test_found_while_a_low_tone_swings_half_as_far(self, hz: float, fall_s: float) -> None:
        sound = _charging(tone(hz, -10, 12) + noise(-85, 12), 250_000, fall_s, 0.6)
        finding = _one(told({"Sub": sound}), "thump")
        assert abs(finding.places[0][0] - 250_000) < 2600

    @pytest.mark.parametrize("duty", [0.12, 0.25])
    def test_pulses_of_a_synthesiser_that_go_down_in_steps_are_none(self, duty: float) -> None:
        """Their mean is not zero, so it falls with their height."""
        time = np.arange(20 * RATE_HZ) / RATE_HZ
        pulses = np.where((220 * time) % 1 < duty, 0.4, -0.4) * (1 - np.floor(time % 2.5 * 10) / 4).clip(0)
        assert not _of(told({"Synthesiser": pulses}), "thump")

    def test_a_breath_at_the_start_of_a_note_is_none(self) -> None:
        """What is far louder right after goes on through its fall: nobody hears the breath by itself."""
        sound = _charging(noise(-75, 12), 250_000, 0.05, 0.05)
        assert _of(told({"Flute": sound}), "thump")  # alone it is one
        note = tone(3000, -10, 12)
        note[:251_400] = 0
        assert not _of(told({"Flute": sound + note}), "thump")

    def test_drums_and_speech_are_none(self) -> None:
        assert not _of(told({"Kick": drums(), "Voice": speech()}), "thump")


def _lost(sound: Floats, at: int, count: int, hiss: int) -> Floats:
    """Take the carrier away: hiss until the squelch shuts, then the receiver's own silence."""
    cut = sound.copy()
    cut[at : at + count] *= np.concatenate([np.linspace(1, 0, 96), np.zeros(count - 192), np.linspace(0, 1, 96)])
    cut[at : at + hiss] += noise(-12, hiss / RATE_HZ, 9)[:hiss]
    return cut


class TestWirelessDropout:
    """A radio loses its carrier."""

    @pytest.mark.parametrize("hiss", [0, 600, 2000])
    @pytest.mark.parametrize("length", [4000, 30_000])
    def test_found(self, hiss: int, length: int) -> None:
        sound = organ() + 0.02 * brushes()
        finding = _one(told({"Vocal": _lost(sound, 400_000, length, hiss)}), "wireless dropout")
        (place,) = finding.places
        assert 400_000 - 1600 < place[0] < 400_000 + hiss + 1600  # short hiss is seen as part of the hole's edge
        assert abs(place[1] - 400_000 - length) < 1100
        assert ("hiss" in finding.says) == (hiss > 0)

    @pytest.mark.parametrize("make", [organ, plucked, speech, distorted_amp], ids=lambda make: make.__name__)
    def test_hiss_that_fills_its_hole_is_found(self, make: Callable[[], Floats]) -> None:
        sound = make()
        sound = sound.copy()
        sound[300_000:301_700] = noise(-10, 1, 9)[:1700]
        finding = _one(told({"Vocal": sound}), "wireless dropout")
        assert abs(finding.places[0][0] - 300_000) <= 128

    def test_a_mute_just_under_a_quiet_track_s_own_noise_is_found(self) -> None:
        cut = organ() + noise(-90, 20, 8)
        cut[400_000:408_000] = noise(-96, 1, 7)[:8000]
        assert _of(told({"Vocal": cut}), "wireless dropout")

    @pytest.mark.parametrize("make", [organ, distorted_amp], ids=lambda make: make.__name__)
    @pytest.mark.parametrize(("begin", "end"), [(300_860, 300_940), (300_300, 300_410), (300_374, 300_474)])
    def test_two_spits_that_nearly_touch_are_one_hole(self, make: Callable[[], Floats], begin: int, end: int) -> None:
        sound = make().copy()
        sound[300_000:302_035] = noise(-10, 1, 9)[:2035]
        sound[begin:end] = 0
        finding = _one(told({"Guitar": sound}), "wireless dropout")
        assert abs(finding.places[0][0] - 300_000) <= 128

    def test_a_mute_that_hisses_more_than_the_rests_of_its_instrument_is_found(self) -> None:
        """A synthesiser rests in less noise than a muted receiver gives, and may break off as sharply."""
        time = np.arange(30 * RATE_HZ) % 72_000
        sound = tone(220.0, -14, 30) * np.clip(np.minimum(time, 54_000 - time) / 300, 0, 1) + noise(-110, 30, 2)
        assert not _of(told({"Pad": sound}), "wireless dropout")
        mute = noise(-97, 1, 3)
        sound[450_000:456_000] = mute[:6000]
        finding = _one(told({"Pad": sound}), "wireless dropout")
        assert abs(finding.places[0][0] - 450_000) < 1100

    def test_a_rest_in_a_line_s_own_noise_is_none(self) -> None:
        """A bass by DI stops dead and goes on, once; before it began its line was as quiet."""
        played = np.ones(20 * RATE_HZ)
        played[:96_000] = 0
        played[600_000:630_000] = 0
        sound = organ() * played + noise(-95, 20, 5)
        assert track("Bass", sound).channel.holes
        assert not _of(told({"Bass": sound}), "wireless dropout")

    def test_a_tick_in_a_rest_brings_no_sound_back(self) -> None:
        sound = tone(220.0, -14, 20) * np.clip((480_000 - np.arange(20 * RATE_HZ)) / 300, 0, 1) + noise(-97, 20, 2)
        sound[500_000] += 0.4
        assert not _of(told({"Pad": sound}), "wireless dropout")

    def test_a_pause_in_the_noise_of_a_room_is_none(self) -> None:
        """A microphone's own noise is more than what a muted receiver gives."""
        room = noise(-58, 20, 6)
        room[400_000:418_000] *= 10 ** (-24 / 20)
        voice = 0.3 * organ(20.0)
        voice[400_000:418_000] = 0
        assert not _of(told({"Caller": voice + room}), "wireless dropout")

    def test_claps_and_brushes_are_no_hiss(self) -> None:
        time = np.arange(20 * RATE_HZ) % 12_000 / RATE_HZ
        claps = noise(-6, 20, 6) * np.exp(-time * 120) * (time < 0.05)
        own = track("Claps", claps + noise(-80, 20)), track("Snare", brushes())
        assert not [one for one in own if one.channel.hisses]

    def test_a_gate_is_none(self) -> None:
        assert not _of(told({"Vocal": gated(speech(-12, floor_dbfs=-60)), "Toms": gated(drums())}), "wireless dropout")

    def test_a_constant_offset_makes_no_rest_a_hole(self) -> None:
        assert not _of(told({"Guitar": gated(plucked(), attack_s=0.001) + noise(-80, 20) + 0.05}), "wireless dropout")

    def test_rests_of_a_synthesiser_are_none(self) -> None:
        assert not _of(told({"Synthesiser": square_synth()}), "wireless dropout")


class TestGainStep:
    """Somebody turns a knob."""

    @pytest.mark.parametrize("step_db", [-14.0, -8.0, 12.0])
    def test_found(self, step_db: float) -> None:
        sound = 0.1 * plucked(40.0, -8.0, 21, 0.2) + noise(-70, 40)
        sound[960_000:] *= 10 ** (step_db / 20)
        finding = _one(told({"Guitar": sound, "Voice": np.resize(speech(), len(sound))}), "gain step")
        assert finding.figures["step_db"] == pytest.approx(step_db, abs=2)
        assert finding.track == "Guitar"
        (start, end) = finding.places[0]
        assert start - 3000 <= 960_000 <= end + 3000
        assert end - start < 3 * RATE_HZ

    def test_a_knob_on_a_track_without_company_is_a_note(self) -> None:
        sound = organ(40.0) + noise(-70, 40)
        sound[960_000:] *= 10 ** (-8 / 20)
        finding = _one(told({"Organ": sound}), "gain step")
        assert finding.severity == "note"
        assert finding.confidence < 0.7
        assert "no other track to compare it with" in finding.says

    def test_a_digital_source_has_no_gain(self) -> None:
        """A synthesiser's own volume is turned: there is no preamp whose noise would tell."""
        sound = square_synth(40.0)
        sound[960_000:] *= 0.3
        assert not _of(told({"Synthesiser": sound, "Voice": np.resize(speech(), len(sound))}), "gain step")

    def test_a_rattle_that_starts_in_the_room_is_none(self) -> None:
        """Both microphones hear a fan from one moment on."""
        sounds = {str(seed): 0.1 * plucked(40.0, -8.0, seed, 0.2) + noise(-80, 40, seed) for seed in (1, 2)}
        for seed, sound in enumerate(sounds.values()):
            sound[960_000:] += noise(-66, 20, seed + 9)
        assert not _of(told(sounds), "gain step")

    def test_playing_louder_is_none(self) -> None:
        """The player digs in, and the noise stays where it was."""
        sound = plucked(40.0, -16.0, 21, 0.2)
        sound[960_000:] *= 3
        assert not _of(told({"Guitar": sound + noise(-60, 40)}), "gain step")

    def test_what_happens_on_all_tracks_is_music(self) -> None:
        sounds = {str(seed): 0.1 * plucked(40.0, -8.0, seed, 0.2) + noise(-70, 40, seed) for seed in (1, 2, 3)}
        for sound in sounds.values():
            sound[960_000:] *= 4
        assert not _of(told(sounds), "gain step")

    def test_a_swell_is_none(self) -> None:
        sound = 10 ** (np.clip((seconds(60) - 20) * 0.8, 0, 16) / 20) * 0.05 * np.resize(brushes(), 60 * RATE_HZ)
        assert not _of(told({"Audience": sound}), "gain step")


@pytest.mark.parametrize("cuts", [(), (1, 700_000), (100_000, 100_001, 1_500_000)])
def test_turns_do_not_depend_on_how_bytes_are_cut_up(cuts: tuple[int, ...]) -> None:
    sound = _lost(_charging(speech(-20), 150_000, 0.1, 0.5), 300_000, 9000, 900)
    whole, cut = (measured(codes(sound), cuts=some).channel[0] for some in ((), cuts))
    assert whole.thumps
    assert equal((whole.thumps, whole.holes), (cut.thumps, cut.holes))


def test_silence_turns_nowhere() -> None:
    own = track("Spare", tone(0, -200, 3)).channel
    assert (own.thumps, own.holes) == ((), ())
