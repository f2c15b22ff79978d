"""A gain that is turned in a band that plays, and what of such a night is none."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.signal import lfilter
from takes.checks.material import drums, plucked, speech, take, track
from takes.measure.signals import RATE_HZ, Floats, noise, seconds

from fieldfare.takes.checks import jumps
from fieldfare.takes.checks.check import Hit, Track
from fieldfare.takes.checks.floors import fit
from fieldfare.takes.checks.gains import gain_steps
from fieldfare.takes.measure.grain import BUCKET

LENGTH_S = 64.0
SONGS_S = ((6.0, 26.0), (36.0, 58.0))  # when the band plays; between them nobody does
MICS = ("Drums", "Guitar", "Voice", "Strings")
SPILL_DB = -24.0
Band = dict[str, Floats]


def _inside(*spans_s: tuple[float, float]) -> Floats:
    time = seconds(LENGTH_S)
    return np.asarray(sum(((time >= a) & (time < b)).astype(np.float64) for a, b in spans_s), np.float64)


@cache
def _sources() -> Band:
    """What each of four plays in both songs."""
    every = (
        drums(LENGTH_S),
        plucked(LENGTH_S, -12.0, 21, 0.1),
        np.resize(speech(-14.0, floor_dbfs=-140), round(LENGTH_S * RATE_HZ)),
        plucked(LENGTH_S, -16.0, 33, 0.2),
    )
    return {name: sound * _inside(*SONGS_S) for name, sound in zip(MICS, every, strict=True)}


def _heard(sources: Band, extra: Band | None = None) -> Band:
    """What each microphone hears: its own, the others by spill, what else there is, and its preamp's noise."""
    heard = {}
    for place, name in enumerate(MICS):
        sound = sources[name].copy()
        for other, spill in sources.items():
            if other != name:
                late = 200 + 90 * place
                sound[late:] += 10 ** (SPILL_DB / 20) * spill[:-late]
        sound += (extra or {}).get(name, 0.0)
        heard[name] = sound + noise(-84, LENGTH_S, 40 + place)
    return heard


@cache
def _clean() -> dict[str, Track]:
    return {name: track(name, sound) for name, sound in _heard(_sources()).items()}


def _steps(changed: Band) -> list[Hit]:
    """What is told of the band, where some tracks are others."""
    tracks = {**_clean(), **{name: track(name, sound) for name, sound in changed.items()}}
    return list(gain_steps(take(*tracks.values())))


def _clapping(from_s: float, to_s: float) -> Band:
    """Applause, in every microphone by another amount."""
    claps = lfilter([1, -0.7], [1, -0.4], noise(-50, LENGTH_S, 77)) * _inside((from_s, to_s))
    return {name: claps * 10 ** (db / 20) for name, db in zip(MICS, (0.0, -9.0, -14.0, -5.0), strict=True)}


@cache
def _wash() -> Floats:
    """Cymbals that are hit before they have died away, their treble first: they never fall to the preamp's noise."""
    rng, out = np.random.default_rng(8), np.zeros(round(LENGTH_S * RATE_HZ))
    grain = noise(-12, LENGTH_S, 23)
    bands = lfilter([1, -1.6, 0.64], [1], grain), lfilter([1, -0.9], [1, -0.3], grain), lfilter([1], [1, -0.6], grain)
    for at in np.cumsum(rng.uniform(0.35, 0.9, 100)):
        start, loud = round(at * RATE_HZ), rng.uniform(0.3, 1)
        time = np.arange(min(6 * RATE_HZ, max(0, len(out) - start))) / RATE_HZ
        for band, fall_s in zip(bands, rng.uniform((0.2, 0.5, 1.0), (0.5, 1.0, 2.0)), strict=True):
            out[start : start + len(time)] += loud * np.exp(-time / fall_s) * band[start : start + len(time)]
    return np.asarray(out * 0.5 / np.abs(out).max(), np.float64)


class TestTold:
    """Everything on one track is multiplied, its spill and its noise too."""

    @pytest.mark.parametrize(("name", "step_db"), [("Guitar", -15.0), ("Voice", -6.0), ("Strings", 9.0)])
    def test_a_knob_turned_in_a_song(self, name: str, step_db: float) -> None:
        """No pause is near: the noise is bare before the song and after it, and the jump tells where in between."""
        sound, at = _heard(_sources())[name], 16 * RATE_HZ
        sound[at:] *= 10 ** (step_db / 20)
        (hit,) = _steps({name: sound})
        assert hit.track == name
        ((start, end),) = hit.places
        assert start - 3000 <= at <= end + 3000
        assert hit.figures["step_db"] == pytest.approx(step_db, abs=1.5)

    def test_a_knob_turned_by_hand_for_half_a_second(self) -> None:
        sound, at, size = _heard(_sources())["Guitar"], 16 * RATE_HZ, RATE_HZ // 2
        course = np.clip((np.arange(len(sound)) - at) / size, 0, 1)
        (hit,) = _steps({"Guitar": sound * 10 ** (-10 * course / 20)})
        ((start, end),) = hit.places
        assert start - 3000 <= at + size
        assert at <= end + 3000

    def test_a_knob_that_is_taken_back_by_half(self) -> None:
        sound = _heard(_sources())["Voice"]
        sound[round(16.2 * RATE_HZ) :] *= 10 ** (12 / 20)
        sound[46 * RATE_HZ :] *= 10 ** (-6 / 20)
        sound *= 0.3
        (hit,) = _steps({"Voice": sound})
        assert len(hit.places) == 2
        for (start, end), at_s in zip(hit.places, (16.2, 46.0), strict=True):
            assert start - 3000 <= at_s * RATE_HZ <= end + 3000

    @pytest.mark.parametrize("step_db", [-5.0, -8.0])
    def test_a_knob_on_what_never_rests(self, step_db: float) -> None:
        """No noise is bare: how far level and treble jump at once has to say it."""
        sound, at = _wash().copy(), 30 * RATE_HZ
        sound[at:] *= 10 ** (step_db / 20)
        (hit,) = _steps({"Drums": sound + noise(-84, LENGTH_S, 40)})
        ((start, end),) = hit.places
        assert start - 3000 <= at <= end + 3000
        assert end - start < RATE_HZ
        assert hit.figures["step_db"] == pytest.approx(step_db, abs=2.0)

    def test_applause_beside_it_hides_nothing(self) -> None:
        heard = _heard(_sources(), _clapping(26.0, 33.0))
        heard["Guitar"][16 * RATE_HZ :] *= 10 ** (-9 / 20)
        (hit,) = _steps(heard)
        assert hit.track == "Guitar"


class TestNone:
    """What changes on a track, or on many, that nobody turned a knob for."""

    def test_a_band_that_begins_and_ends(self) -> None:
        assert not _steps({})

    def test_applause_between_songs(self) -> None:
        assert not _steps(_heard(_sources(), _clapping(26.0, 35.0)))

    def test_applause_that_the_recording_ends_in(self) -> None:
        """It never gets quiet again, and each microphone's floor rises by another amount."""
        assert not _steps(_heard(_sources(), _clapping(50.0, LENGTH_S)))

    def test_a_player_who_plays_louder(self) -> None:
        sources = dict(_sources())
        sources["Guitar"] = sources["Guitar"] * (1 + 2 * _inside((16.0, LENGTH_S)))
        assert not _steps(_heard(sources))

    def test_a_player_who_joins_in(self) -> None:
        sources = dict(_sources())
        sources["Strings"] = sources["Strings"] * _inside((16.0, 58.0))
        assert not _steps(_heard(sources))

    def test_a_microphone_moved_nearer(self) -> None:
        """Its own source gets louder and spill does not; the preamp hisses as before."""
        heard, own = _heard(_sources()), _sources()["Guitar"]
        heard["Guitar"] += 1.5 * own * _inside((16.0, LENGTH_S))
        assert not _steps({"Guitar": heard["Guitar"]})

    def test_more_from_the_loudspeakers(self) -> None:
        """The voice is turned up on the house's desk: every microphone hears more of it, and its preamp hisses on."""
        loud = 0.05 * _sources()["Voice"] * _inside((16.0, LENGTH_S))
        assert not _steps(_heard(_sources(), dict.fromkeys(MICS, loud)))

    @pytest.mark.parametrize("span_s", [(40.0, LENGTH_S), (0.0, 16.0), (12.0, 45.0)])
    def test_a_mute(self, span_s: tuple[float, float]) -> None:
        """What a muted channel gives is noise alone, here 16 dB under the preamp's."""
        muted = _inside(span_s)
        sound = _heard(_sources())["Voice"] * (1 - muted) + noise(-100, LENGTH_S, 91) * muted
        assert not _steps({"Voice": sound})

    def test_cymbals_that_never_rest(self) -> None:
        assert not _steps({"Drums": _wash() + noise(-84, LENGTH_S, 40)})

    def test_a_radio_that_loses_its_carrier(self) -> None:
        """What is left is 20 dB less noise than the line's, and tells nothing of its gain."""
        hole, start, end = _inside((12.0, 13.4)), 12 * RATE_HZ, round(13.4 * RATE_HZ)
        sound = _heard(_sources())["Strings"] * (1 - hole) + noise(-104, LENGTH_S, 92) * hole
        sound[start : start + 1500] += noise(-14, 1.0, 93)[:1500]
        floor = fit(track("Strings", sound))
        assert floor is not None
        assert not np.any((floor.at >= start) & (floor.at < end))
        assert not _steps({"Strings": sound})

    def test_a_mute_to_the_bit(self) -> None:
        assert not _steps({"Voice": _heard(_sources())["Voice"] * (1 - _inside((40.0, LENGTH_S)))})


class TestJumps:
    """Where level and treble jump by one factor."""

    def test_the_stretch_in_which_a_knob_is_turned_is_likeliest(self) -> None:
        sound, at = plucked(40.0, -8.0, 21, 0.2), 960_300
        turned = sound.copy()
        turned[at:] *= 10 ** (-8 / 20)
        course = jumps.Course.of(track("Guitar", turned))
        nats = jumps.nats(course, -8.0, 1000, 2700)
        assert abs(1000 + int(nats.argmax()) - at // BUCKET) <= 2
        assert nats.max() > 15

    def test_a_treble_that_does_not_follow_is_less_likely(self) -> None:
        """The level jumps by 8 dB, but the treble by 20: a note."""
        level = np.concatenate([np.full(500, -40.0), np.full(500, -32.0)]) + np.random.default_rng(3).normal(0, 1, 1000)
        best = []
        for by_db in (8.0, 20.0):
            treble = np.concatenate([np.full(500, -60.0), np.full(500, by_db - 60)])
            course = jumps.Course(BUCKET, level, treble + np.random.default_rng(4).normal(0, 1, 1000))
            best.append(jumps.nats(course, 8.0, 490, 510).max())
        assert best[0] > best[1] + 10
