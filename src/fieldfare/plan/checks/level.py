"""Levels: nothing clips within the reserve, nothing drowns in noise, every level meets an input made for it."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.show.kit import Mic, Preamp, Recorder
from fieldfare.units.text import figure

SHORT_OF_GAIN_DB = 3.0  # below the target before it is worth a word
NOISE_BELOW_PEAK_DB = 55.0  # between the peak target and the noise, at least
LOUD_DB = 130.0  # where it matters that a condenser does not state what it takes


def clips(context: Context) -> Iterator[Fired]:
    """The loudest moment expected at the soundcheck clips already."""
    for row in context.inputs:
        if row.reserve.value is not None and row.reserve.value < 0:
            yield Fired(_stage(row.label, row.clips_first), _cure(row.clips_first), row.id, figure(-row.reserve.value))


def short_of_reserve(context: Context) -> Iterator[Fired]:
    """It does not clip at the soundcheck, but may when the band gets louder."""
    wanted_db = context.show.recording.reserve_db
    for row in context.inputs:
        if row.reserve.value is not None and 0 <= row.reserve.value < wanted_db:
            yield Fired(_stage(row.label, row.clips_first), _cure(row.clips_first), row.id, figure(row.reserve.value))


def mic_level_into_line_input(context: Context) -> Iterator[Fired]:
    """A microphone or DI goes into an input that has no gain."""
    for path in context.paths:
        for _, gives, taking, takes in path.joints:
            if gives.level == "mic" and takes.level == "line":
                yield Fired(taking.name, "put a preamp before it, or give it a channel with a preamp", path.input.id)


def line_level_into_preamp(context: Context) -> Iterator[Fired]:
    """A line output goes into a microphone preamp without a DI."""
    for path in context.paths:
        for _, gives, taking, takes in path.joints:
            if gives.level == "line" and takes.level == "mic":
                remedy = "take it through a passive DI or a line input, or ask for microphone level"
                yield Fired(taking.name, remedy, path.input.id)


def short_of_gain(context: Context) -> Iterator[Fired]:
    """The preamp turned up all the way does not reach the peak target."""
    for row in context.inputs:
        preamp = context.things[row.preamp]
        if row.gain.value is None or row.level.value is None or not isinstance(preamp, Preamp | Recorder):
            continue
        full_scale = context.show.recording.full_scale_dbu
        if isinstance(preamp, Preamp) and context.recorder is not None:
            full_scale = context.recorder.line_max_dbu
        missing = full_scale + context.show.recording.peak_target_dbfs - row.level.value - preamp.gain_max_db
        if missing > SHORT_OF_GAIN_DB:
            remedy = "use a more sensitive mic or go closer, and lift the track afterwards"
            yield Fired(f"{row.preamp} channel {row.preamp_channel}", remedy, row.id, figure(missing))


def pad_needed(context: Context) -> Iterator[Fired]:
    """The preamp takes the level only behind a pad."""
    for row in context.inputs:
        if row.pad_db:
            remedy = "on the mic, in line or on the preamp, and written on the tape so that it is taken out again"
            yield Fired(f"{row.preamp} channel {row.preamp_channel}", remedy, row.id, figure(row.pad_db))


def level_unknown(context: Context) -> Iterator[Fired]:
    """Nobody knows how strong the signal is."""
    for row in context.inputs:
        if row.level.value is None:
            yield Fired(row.label, "start with the gain down and set it at the soundcheck", row.id)


def noisy(context: Context) -> Iterator[Fired]:
    """Noise of mic and preamp stands close below what is recorded."""
    for row in context.inputs:
        if row.noise is not None and row.noise.value is not None:
            below = context.show.recording.peak_target_dbfs - row.noise.value
            if below < NOISE_BELOW_PEAK_DB:
                yield Fired(row.label, "use a mic with less noise or more output, or go closer", row.id, figure(below))


def takes_unknown(context: Context) -> Iterator[Fired]:
    """A condenser stands before something loud and does not state what it takes."""
    for row in context.inputs:
        mic = context.things.get(row.unit.tag) if row.unit else None
        if isinstance(mic, Mic) and mic.max_spl_db is None and "condenser" in mic.kind:
            loudest = (row.spl.value or 0) + (row.spl.plus_minus or 0)
            if loudest >= LOUD_DB:
                tag = row.unit.tag if row.unit else ""
                remedy = "look its maximum SPL up and write it into the kit, or use a dynamic"
                yield Fired(f"{tag} {mic.item}", remedy, row.id, figure(loudest))


def _stage(label: str, first: str) -> str:
    return f"the {first} of {label}" if first else label


def _cure(first: str) -> str:
    if first == "mic":
        return "use a mic that takes more, or move it back; no pad and no gain cures it"
    if first == "DI":
        return "switch its pad in, or use a DI that takes more"
    return "put a pad before it, or turn it down"
