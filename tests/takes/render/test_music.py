"""The music is music: bars fill their metre, songs cover the take, who rests is silent, notes are in tune."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from takes.render.small import RATE_HZ

from fieldfare.takes.render.dry import dry, plays
from fieldfare.takes.render.programme import Programme, plan_programme
from fieldfare.takes.render.score import Note, into, under
from fieldfare.takes.render.sound import Sound, frequency
from fieldfare.takes.render.sounders import Family, Sounder, family_of
from fieldfare.takes.render.strings import plucked
from fieldfare.takes.render.tones import HELD, held
from fieldfare.takes.render.tunes import BOOK, Tune, bars, chord_pitches, pitch, tune_for
from fieldfare.takes.render.voices import LEAD, voiced
from fieldfare.units.faults import OutOfRange

SET = ("Slack Water Reel", "The Caulker's Polka", "Nine Oars", "Waltz for the Ferryman", "The Millrace Jig")


def _sounder(recipe: str, part: str, source: str = "", player: str = "") -> Sounder:
    return Sounder(source or recipe, part, recipe, (0.0, 0.0, 0.0), 100.0, player=player)


BAND = (
    _sounder("drum kit", "kick"),
    _sounder("drum kit", "snare"),
    _sounder("drum kit", "tom 1"),
    _sounder("drum kit", "cymbals"),
    _sounder("hand percussion", "percussion"),
    _sounder("upright bass", "body"),
    _sounder("acoustic guitar", "guitar", player="guitarist"),
    _sounder("bouzouki", "bouzouki", player="guitarist"),
    _sounder("fiddle", "fiddle"),
    _sounder("button accordion", "treble"),
    _sounder("button accordion", "bass side"),
    _sounder("harmonium", "reeds"),
    _sounder("clarinet", "clarinet"),
    _sounder("alto saxophone", "saxophone"),
    _sounder("trumpet", "bell"),
    _sounder("lead vocal", "voice"),
    _sounder("backing vocal", "voice"),
)


def _sure(sound: Sound | None) -> Sound:
    assert sound is not None
    return sound


def _whole(sounder: Sounder, programme: Programme, seed: int = 1) -> Sound:
    out = np.zeros(programme.frames + 4 * RATE_HZ, np.float32)
    for section in programme.sections:
        sound = dry(sounder, section, programme, BAND, seed)
        if sound is not None:
            out[section.start : section.start + len(sound)] += sound
    return out


@pytest.mark.parametrize("tune", BOOK.values(), ids=lambda tune: tune.name)
def test_every_bar_fills_its_metre_and_every_part_has_eight(tune: Tune) -> None:
    for part in (tune.a, tune.b):
        assert len(part) == 8
        for bar in part:
            for one, after in pairwise(bar.melody):
                assert one.at + one.length <= after.at
            last = bar.melody[-1]
            rest = tune.eighths - (last.at + last.length)
            assert rest in (0, 2), f"{tune.name}: {rest} eighths are left over"


@pytest.mark.parametrize("tune", BOOK.values(), ids=lambda tune: tune.name)
def test_melody_fits_its_chords_on_most_first_beats(tune: Tune) -> None:
    first = [(bar.melody[0].pitch % 12, bar.chord) for bar in (*tune.a, *tune.b)]
    fits = [tone in {one % 12 for one in chord_pitches(chord)} for tone, chord in first]
    assert sum(fits) >= 12, [first[place] for place, fit in enumerate(fits) if not fit]


def test_a_note_that_is_none_is_refused() -> None:
    with pytest.raises(OutOfRange, match="'H4' is not a note"):
        bars("D", "D5 H4")


@pytest.mark.parametrize(
    ("title", "name"), [("Two Tides Waltz", "waltz"), ("The Net Loft Stomp", "polka"), ("Nine Oars", "air")]
)
def test_a_title_names_its_tune(title: str, name: str) -> None:
    assert tune_for(title).name == name


@given(st.floats(4, 900), st.integers(0, 10_000), st.integers(1, 5))
def test_a_take_is_covered_without_gap_or_overlap_and_its_songs_lie_inside(
    seconds: float, seed: int, songs: int
) -> None:
    programme = plan_programme(SET[:songs], seconds, RATE_HZ, seed)
    assert programme.sections[0].start == 0
    assert programme.sections[-1].end == programme.frames == round(seconds * RATE_HZ)
    for one, after in pairwise(programme.sections):
        assert one.start < one.end == after.start < after.end
    for song in programme.songs:
        assert song.count_in < song.start < song.end < programme.frames
    assert max(song.loud_db for song in programme.songs) == 0


@pytest.mark.parametrize("seconds", [0.0, 3.9, float("nan")])
def test_a_take_too_short_for_a_song_is_refused(seconds: float) -> None:
    with pytest.raises(OutOfRange, match="no room for a song"):
        plan_programme(SET, seconds, RATE_HZ, 1)


@pytest.mark.parametrize(
    ("recipe", "part", "source", "family"),
    [
        ("drum kit", "kick", "Drum kit", "kick"),
        ("drum kit", "tom 2", "Drum kit", "tom"),
        ("drum kit", "", "Drum kit", "cymbals"),
        ("upright bass", "amplifier", "Upright bass", "bass"),
        ("button accordion", "treble", "Box", "accordion, right"),
        ("button accordion", "bass side", "Box", "accordion, left"),
        ("backing vocal", "voice", "Backing vocal, guitar", "backing vocal"),
        ("backing vocal", "voice", "Lead", "backing vocal"),
        ("something of my own", "", "Grandfather's violin", "fiddle"),
        ("something of my own", "", "Thing", "reeds"),
    ],
)
def test_families(recipe: str, part: str, source: str, family: Family) -> None:
    assert family_of(recipe, part, source) == family


@given(st.integers(30, 100), st.sampled_from(["D", "Am", "E7", "F#m", "Bb"]))
def test_harmony_lies_in_the_chord_and_under_the_tune(tone: int, chord: str) -> None:
    lower = under(tone, chord, 0)
    assert tone - 12 < lower <= tone - 3
    assert lower % 12 in {one % 12 for one in chord_pitches(chord)}
    assert 48 <= into(lower, 48, 60) <= 60


@pytest.mark.parametrize("sounder", BAND, ids=lambda one: f"{one.recipe} {one.part}")
def test_everybody_peaks_at_full_strength_in_their_loudest_song_and_rests_between_notes(sounder: Sounder) -> None:
    programme = plan_programme(SET[:3], 60.0, RATE_HZ, 2)
    programme = plan_programme(SET[:3], 75.0, RATE_HZ, 2) if sounder.family == "percussion" else programme
    sound = _whole(sounder, programme)
    played = [song for song in programme.songs if plays(sounder, song, BAND)]
    assert played or sounder.recipe in ("bouzouki", "backing vocal"), "everybody plays"
    if played:
        assert np.max(np.abs(sound)) == pytest.approx(1.0, rel=1e-5)
        assert np.mean(sound[: programme.frames] == 0.0) > 0.1, "rests are digital silence before the room"


# Struck and plucked sounds are far more peaked than a sine (3 dB) or noise (about 12 dB in 10 s, checks of 7.1).
@pytest.mark.parametrize(("part", "least_db"), [("kick", 14.0), ("snare", 17.0), ("tom 1", 12.0), ("cymbals", 14.0)])
def test_drums_have_the_crest_of_drums(part: str, least_db: float) -> None:
    programme = plan_programme(SET[:1], 30.0, RATE_HZ, 3)
    sound = _whole(_sounder("drum kit", part), programme)
    sounding = sound[sound != 0]
    assert 20 * np.log10(np.max(np.abs(sounding)) / np.sqrt(np.mean(sounding**2))) > least_db


@pytest.mark.parametrize("kind", [kind for kind in HELD if "accordion" not in kind])
@pytest.mark.parametrize("tone", ["D4", "A4", "E5"])
def test_held_notes_are_in_tune_and_have_harmonics(kind: str, tone: str) -> None:
    sound = held(kind, [Note(0.0, 1.2, pitch(tone), 0.8)], 2 * RATE_HZ, RATE_HZ, np.random.default_rng(4))
    hz, level = _spectrum(sound[RATE_HZ // 3 : RATE_HZ])
    base = frequency(pitch(tone))
    for number in (1, 3):
        near = (hz > number * base * 0.97) & (hz < number * base * 1.03)
        peak = hz[near][np.argmax(level[near])]
        assert abs(1200 * np.log2(peak / (number * base))) < 25, "within a quarter of a semitone, vibrato and all"
        assert np.max(level[near]) > 30 * np.median(level), "a line stands out of the noise between lines"


@pytest.mark.parametrize(("kind", "tone"), [("bass", "E1"), ("bass", "D2"), ("guitar", "A2"), ("bouzouki", "D4")])
def test_plucked_notes_are_in_tune_and_die_away(kind: str, tone: str) -> None:
    sound = plucked(kind, [Note(0.0, 2.0, pitch(tone), 1.0)], 3 * RATE_HZ, RATE_HZ)
    late = sound[RATE_HZ // 2 : RATE_HZ + RATE_HZ // 2]
    lags = np.arange(int(RATE_HZ / frequency(pitch(tone)) * 0.9), int(RATE_HZ / frequency(pitch(tone)) * 1.1))
    strength = [float(np.dot(late[:-lag], late[lag:])) for lag in lags]
    found_hz = RATE_HZ / lags[int(np.argmax(strength))]
    assert abs(1200 * np.log2(found_hz / frequency(pitch(tone)))) < 25
    assert np.std(sound[RATE_HZ : RATE_HZ + 4800]) < 0.6 * np.std(sound[4800:9600])


def test_a_voice_has_the_formants_of_its_vowels() -> None:
    """From low to high second formant: u, a, i (usual tables of vowels, from memory)."""
    centres = []
    for vowel in ("u", "a", "i"):
        note = [Note(0.0, 1.0, 45.0, 1.0, f"-{vowel}")]
        hz, level = _spectrum(voiced(note, 2 * RATE_HZ, RATE_HZ, LEAD, np.random.default_rng(5))[:RATE_HZ])
        band = (hz > 800) & (hz < 3000)
        centres.append(float(np.sum(hz[band] * level[band] ** 2) / np.sum(level[band] ** 2)))
    assert centres[0] < centres[1] < centres[2]


def test_doubled_instruments_take_turns() -> None:
    programme = plan_programme(SET, 250.0, RATE_HZ, 1)
    guitar, bouzouki = (next(one for one in BAND if one.recipe == name) for name in ("acoustic guitar", "bouzouki"))
    turns = [(plays(guitar, song, BAND), plays(bouzouki, song, BAND)) for song in programme.songs]
    assert turns == [(True, False), (False, True)] * 2 + [(True, False)]


def test_hand_percussion_spells_a_kit_and_plays_on_where_there_is_none() -> None:
    programme = plan_programme(SET[:1], 30.0, RATE_HZ, 1)
    section = programme.sections[1]
    shaker = next(one for one in BAND if one.family == "percussion")
    assert dry(shaker, section, programme, BAND, 1) is None, "the first song begins with the kit"
    assert dry(shaker, section, programme, (shaker,), 1) is not None


def test_an_amplifier_plays_what_its_bass_plays_and_each_part_of_the_audience_claps_for_itself() -> None:
    programme = plan_programme(SET[:1], 30.0, RATE_HZ, 1)
    song, after = programme.sections[1:3]
    body, amplifier = (_sounder("upright bass", part) for part in ("body", "amplifier"))
    left, right = (_sounder("audience", part) for part in ("left", "right"))
    low, same = (_sure(dry(one, song, programme, BAND, 1)) for one in (body, amplifier))
    assert np.array_equal(low, same)
    first, second = (_sure(dry(one, after, programme, BAND, 1)) for one in (left, right))
    assert abs(np.dot(first, second)) < 0.05 * np.linalg.norm(first) * np.linalg.norm(second)


def test_another_seed_plays_it_differently_and_the_same_seed_alike() -> None:
    programme = plan_programme(SET[:1], 12.0, RATE_HZ, 1)
    fiddle = next(one for one in BAND if one.recipe == "fiddle")
    assert np.array_equal(_whole(fiddle, programme, 1), _whole(fiddle, programme, 1))
    assert not np.array_equal(_whole(fiddle, programme, 1), _whole(fiddle, programme, 2))


def _spectrum(sound: Sound) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    level = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 4 * len(sound)))
    return np.asarray(np.fft.rfftfreq(4 * len(sound), 1 / RATE_HZ), np.float64), np.asarray(level, np.float64)
