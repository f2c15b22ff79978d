"""Tells the truth about a rendered take: from what was planned for it, and from the samples where only they know."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import log10

from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.physics.microphones import random_efficiency
from fieldfare.show.findings import Trouble
from fieldfare.takes.render.faults import Kind, Planted
from fieldfare.takes.render.paths import Path, diffuse_amplitude
from fieldfare.takes.render.sound import decibels
from fieldfare.takes.render.stage import Stage
from fieldfare.takes.render.tracks import Track, long_runs
from fieldfare.takes.render.truth import TrueFault, TruePath, TrueSong, TrueSound, TrueStretch, TrueTrack, Truth

_MOST_PLACES = 100
_AMOUNTS: dict[Kind, str] = {
    "very low": "too_low_db",
    "clipped": "too_hot_db",
    "clipped before the converter": "flat_top_dbfs",
    "hum": "fundamental_dbfs",
    "dc": "dc_dbfs",
    "truncated": "bytes_missing",
    "wrong rate": "stated_rate_hz",
}
_SAYS: dict[Kind, str] = {
    "dead": "The line is dead: nothing but the preamp's noise",
    "very low": "Far too low: a pad was forgotten",
    "clipped": "Clipped at the converter: the gain was set too high",
    "clipped before the converter": "Clipped ahead of the converter: flat tops below full scale",
    "dropout": "Runs of zeros where there was signal",
    "repeated block": "A block was written twice",
    "hum": "Mains hum with its harmonics",
    "dc": "A constant offset",
    "polarity": "Reversed against the other side of its pair",
    "duplicate": "The same signal as another track: patched twice",
    "unfinished header": "The header was never filled in: its length is 0, the audio is whole",
    "stale header": "The header states half of the audio that is there",
    "truncated": "The file ends inside a frame, before the others",
    "missing": "The file is not there",
    "wrong rate": "The header states another sample rate",
}


def tell_truth(stage: Stage, tracks: Sequence[Track], files: Mapping[str, str]) -> Truth:
    """Write down what is true.

    Parameters
    ----------
    stage
        What was rendered.
    tracks
        The tracks after the last block.
    files
        Id of each input to its file on the card.
    """
    programme, hall = stage.programme, stage.hall
    return Truth(
        title=stage.plan.title,
        seed=stage.seed,
        rate_hz=programme.rate_hz,
        bits=stage.plan.bits,
        frames=programme.frames,
        card="card",
        origin=stage.origin,
        temperature_c=hall.temperature_c,
        speed_m_s=speed_of_sound(hall.temperature_c),
        reverberation_s=hall.reverberation_s,
        volume_m3=hall.volume_m3,
        assumed=hall.assumed,
        song=tuple(
            TrueSong(
                title=song.title, feel=song.tune.feel, tempo_bpm=round(60.0 / song.beat_s, 2),
                count_in=song.count_in, start=song.start, end=song.end, loud_db=song.loud_db,
            )
            for song in programme.songs
        ),
        stretch=tuple(TrueStretch(kind=one.kind, start=one.start, end=one.end) for one in programme.sections),
        track=tuple(_track(track, files) for track in tracks),
        sound=tuple(
            TrueSound(
                sound=one.name, family=one.family, at=one.at, level_db=one.level_db,
                diffuse_at_1m_db=round(decibels(diffuse_amplitude(one, hall)), 3),
            )
            for one in stage.sounders
        ),
        path=tuple(_path(stage, path) for path in stage.paths),
        fault=tuple(
            told for one in stage.planted if (told := _fault(one, tracks, files, programme.frames)) is not None
        ),
    )  # fmt: skip


def _track(track: Track, files: Mapping[str, str]) -> TrueTrack:
    ear = track.ear
    own_db = (ear.row.spl.value or 0.0) if ear.acoustic else 0.0
    reversed_by = any(one.kind == "polarity" for one in track.planted)
    return TrueTrack(
        file=files[ear.row.id],
        input=ear.row.id,
        label=ear.row.label,
        channel=ear.row.channel,
        polarity=-1 if reversed_by else 1,
        planned_peak_dbfs=round(ear.gain_db + own_db, 2),
        peak_dbfs=round(decibels(track.peak / track.top), 2),
        noise_dbfs=round(ear.noise_dbfs, 1),
        diffuse_db=round(10 * log10(random_efficiency(ear.share)), 2) if ear.acoustic else None,
    )


def _path(stage: Stage, path: Path) -> TruePath:
    return TruePath(
        sound=stage.sounders[path.sounder].name,
        input=stage.ears[path.ear].row.id,
        own=path.own,
        distance_m=round(path.distance_m, 4),
        delay=round(path.delay, 3),
        peak_dbfs=round(decibels(abs(path.amplitude)), 2),
        polarity=1 if path.amplitude > 0 else -1,
    )


def _fault(one: Planted, tracks: Sequence[Track], files: Mapping[str, str], frames: int) -> TrueFault | None:
    """Tell a fault as it came out; none where nothing was ever loud enough for it."""
    track = next(track for track in tracks if track.ear.row.id == one.input)
    places = list(one.places)
    figures = {_AMOUNTS[one.kind]: one.amount} if one.kind in _AMOUNTS else {}
    measured: dict[Kind, Callable[[], list[tuple[int, int]]]] = {
        "clipped": lambda: long_runs(track.clipped),
        "clipped before the converter": lambda: long_runs(track.flat),
    }
    if one.kind in measured:
        places = measured[one.kind]()
        if not places:
            return None
        figures |= {"runs": len(places), "samples": sum(last - first for first, last in places)}
    trouble: Trouble = "unfinished header" if one.kind == "stale header" else one.kind
    whole_take = not places and one.kind not in (
        "unfinished header",
        "stale header",
        "missing",
        "wrong rate",
        "truncated",
    )
    return TrueFault(
        kind=trouble,
        input=one.input,
        label=track.ear.row.label,
        file=files[one.input],
        start=0 if whole_take else places[0][0] if places else None,
        end=frames if whole_take else places[-1][1] if places else None,
        places=tuple(places[:_MOST_PLACES]),
        figures=figures,
        of=one.of,
        says=_SAYS[one.kind],
    )
