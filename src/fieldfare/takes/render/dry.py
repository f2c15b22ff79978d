"""Dry sounds: what each instrument gives in each section of the take, before any microphone or room."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fieldfare.takes.render.arrangement import drum_notes, song_notes, talk
from fieldfare.takes.render.crowd import applause, feet, murmur
from fieldfare.takes.render.drums import struck
from fieldfare.takes.render.programme import Programme, Section, Song
from fieldfare.takes.render.score import Note, Play, human
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.sound import Sound
from fieldfare.takes.render.sounders import Family, Sounder
from fieldfare.takes.render.strings import PLUCKED, plucked
from fieldfare.takes.render.tones import HELD, held
from fieldfare.takes.render.voices import LEAD, SECOND, TALKER, voiced

RING_S = 3.2  # a section's sounds ring on into the next by this at most
GAP_DB = -16.0  # tuning and noodling, re the loudest moment of the take
TALK_DB = -9.0
MURMUR_DB = -24.0  # re the applause
_STRUCK: frozenset[Family] = frozenset(("kick", "snare", "tom", "hat", "ride", "cymbals", "percussion"))
_TUNING: dict[Family, tuple[float, ...]] = {
    "fiddle": (69, 62, 76, 55, 69),
    "guitar": (40, 45, 50, 55, 59, 64),
    "bouzouki": (55, 62, 69, 74),
    "bass": (28, 33, 38, 43),
    "clarinet": (58, 62, 65, 70),
    "saxophone": (58, 62, 65),
    "trumpet": (60, 67, 72),
    "accordion, right": (69, 69),
    "reeds": (57, 69),
}


def dry(
    sounder: Sounder,
    section: Section,
    programme: Programme,
    band: Sequence[Sounder],
    seed: int,
    play: Play | None = None,
) -> Sound | None:
    """Render what one sounder gives in one section.

    Parameters
    ----------
    sounder
        Who.
    section
        When.
    programme
        The whole take.
    band
        Everybody, so that players who change instruments do.
    seed
        The same seed gives the same sound.
    play
        Other sounds than the program's own.

    Returns
    -------
    The section's samples and `RING_S` more, its peak in the loudest song of this sounder 1; none where it is silent.
    """
    samples = section.end - section.start + round(RING_S * programme.rate_hz)
    apart = sounder.part if sounder.family in ("tom", "audience") else ""  # an amplifier plays what its bass plays
    rng = seeded(seed, sounder.source, sounder.family, apart, section.start)
    if sounder.family == "audience":
        return _crowd(sounder, section, samples, programme.rate_hz, rng)
    if section.kind == "song":
        notes = _of_song(sounder, section, programme.rate_hz, band, rng)
        level_db = _level_db(sounder, section, programme, band)
    else:
        notes, level_db = _of_gap(sounder, section, programme, rng)
    if not notes:
        return None
    sound = play(sounder.family, notes, samples, programme.rate_hz) if play else None
    if sound is None:
        sound = _render(sounder, notes, samples, programme.rate_hz, rng)
    peak = float(np.max(np.abs(sound)))
    return sound * np.float32(10.0 ** (level_db / 20.0) / peak) if peak > 0 else None


def plays(sounder: Sounder, song: Song, band: Sequence[Sounder]) -> bool:
    """Whether a sounder has anything to play in a song.

    Who plays two instruments of the same sort changes from song to song; a kit leaves some passes to the hand
    percussion, which the grooves see to.
    """
    family = sounder.family
    if family in ("audience", "slate") or (family == "backing vocal" and not song.tune.sung):
        return False
    if family in _STRUCK or "vocal" in family:
        return family != "percussion" or song.number % 2 == 1 or not _has_kit(band)
    mine = dict.fromkeys(
        one.source
        for one in band
        if sounder.player and one.player == sounder.player and one.family not in _STRUCK and "vocal" not in one.family
    )
    return not mine or tuple(mine)[song.number % len(mine)] == sounder.source


def _level_db(sounder: Sounder, section: Section, programme: Programme, band: Sequence[Sounder]) -> float:
    """How loud a song's peak is against the loudest one in which the sounder has notes."""
    loud = {one.song.loud_db: one for one in programme.sections if one.kind == "song" and one.song}
    any_chance = seeded(0)
    plays_at = (db for db, one in loud.items() if _of_song(sounder, one, programme.rate_hz, band, any_chance))
    loudest = max(plays_at, default=0.0)
    return section.song.loud_db - loudest if section.song else 0.0


def _of_song(
    sounder: Sounder, section: Section, rate_hz: int, band: Sequence[Sounder], rng: np.random.Generator
) -> list[Note]:
    song = section.song
    if song is None or not plays(sounder, song, band):
        return []
    lead_s = (song.start - section.start) / rate_hz
    if sounder.family in _STRUCK:
        return drum_notes(_strokes(sounder, band), song, lead_s, _tom(sounder), _has_kit(band), rng)
    return song_notes(sounder.family, song, lead_s, rng)


def _has_kit(band: Sequence[Sounder]) -> bool:
    return any(one.family in _STRUCK and one.family != "percussion" for one in band)


def _strokes(sounder: Sounder, band: Sequence[Sounder]) -> tuple[str, ...]:
    """What a piece of the kit plays; cymbals that stand for the whole kit play what has no place of its own."""
    family = sounder.family
    there = {one.family for one in band if one.source == sounder.source}
    if family == "cymbals":
        missing = tuple(stroke for stroke in ("hat", "ride") if stroke not in there)
        return ("crash", *missing, *(() if "snare" in there else ("stick",)))
    if family == "percussion":
        return ("shake",)
    return (family, "stick") if family == "snare" else (family,)


def _tom(sounder: Sounder) -> int:
    """Number of a tom, the highest 0: by the figure in its name, or low for a floor tom."""
    figures = [int(word) for word in sounder.part.split() if word.isdigit()]
    return figures[0] - 1 if figures else 1 if "floor" in sounder.part.casefold() else 0


def _of_gap(
    sounder: Sounder, section: Section, programme: Programme, rng: np.random.Generator
) -> tuple[list[Note], float]:
    """What is heard before, between and after songs, and its level. [dB re the loudest moment]"""
    length_s = (section.end - section.start) / programme.rate_hz
    if sounder.family == "slate":
        return (talk(0.2, min(1.8, 0.5 * length_s), 46.0, rng) if section.kind == "before" else []), -3.0
    if sounder.family == "lead vocal":
        start, stop = {"before": (0.45, 0.95), "between": (0.5, 0.9), "after": (0.2, 0.5)}.get(section.kind, (0.0, 0.0))
        notes = talk(start * length_s, (stop - start) * length_s, 50.0, rng)
        return notes, TALK_DB
    if section.kind == "after" or length_s < 2.0 or rng.random() < 0.3:
        return [], GAP_DB
    if sounder.family in ("kick", "snare", "tom"):
        stroke = sounder.family
        return [Note(float(at), 0.0, float(_tom(sounder)), float(rng.uniform(0.4, 1.0)), stroke)
                for at in np.sort(rng.uniform(0.4 * length_s, 0.8 * length_s, 4))], GAP_DB  # fmt: skip
    return human(_noodle(_TUNING.get(sounder.family, ()), length_s, rng), rng, 0.02), GAP_DB


def _noodle(pitches: Sequence[float], length_s: float, rng: np.random.Generator) -> list[Note]:
    """Open strings and single notes somewhere in a gap, after the applause and before the count-in."""
    notes, now = list[Note](), float(rng.uniform(0.35, 0.6)) * length_s
    for pitch in pitches[: int(rng.integers(2, 6))]:
        lasts = float(rng.uniform(0.4, 1.0))
        if now + lasts > 0.95 * length_s:
            break
        notes.append(Note(now, lasts, pitch, float(rng.uniform(0.5, 0.9))))
        now += lasts * float(rng.uniform(0.9, 1.4))
    return notes


def _render(sounder: Sounder, notes: list[Note], samples: int, rate_hz: int, rng: np.random.Generator) -> Sound:
    family = sounder.family
    if family in _STRUCK:
        return struck(notes, samples, rate_hz)
    if family in PLUCKED:
        return plucked(family, notes, samples, rate_hz)
    if family in HELD:
        return held(family, notes, samples, rate_hz, rng)
    tract = {"lead vocal": LEAD, "backing vocal": SECOND}.get(family, TALKER)
    return voiced(notes, samples, rate_hz, tract, rng)


def _crowd(sounder: Sounder, section: Section, samples: int, rate_hz: int, rng: np.random.Generator) -> Sound:
    """Murmur all the time, feet in the dances, and applause in the sections that follow a song."""
    inside = section.end - section.start
    sound = np.zeros(samples, dtype=np.float32)
    hum = murmur(inside, rate_hz, rng)
    sound[:inside] += hum * np.float32(10.0 ** (MURMUR_DB / 20.0) / np.max(np.abs(hum)))
    if section.kind in ("between", "after"):
        length_s = min(7.5, 0.65 * inside / rate_hz)
        sound += 0.9 * applause(0.05, length_s, samples, rate_hz, rng) / 2.0
    elif section.kind == "song" and section.song and not section.song.tune.sung:
        song = section.song
        first_s = (song.start - section.start) / rate_hz + 4 * song.beat_s
        beats = list(np.arange(first_s, (song.end - section.start) / rate_hz, song.beat_s))
        sound += 0.12 * feet(beats, samples, rate_hz, rng)
    if section.song and section.song.stops and section.kind == "song":
        song = section.song
        stop_s = (song.start - section.start) / rate_hz + min(song.stops) * song.bar_s
        length_s = len(song.stops) * song.bar_s + 1.0
        sound += 0.25 * applause(stop_s + 0.6, length_s, samples, rate_hz, rng)  # some think that it is over
    return np.clip(sound, -1.0, 1.0)
