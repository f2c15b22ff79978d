"""Level, gain, reserve and noise of each chosen input, each as a figure that can be opened.

Conventions: the expected level is the middle of the range that the recipe gives for the loudest moment, its uncertainty
half that range. The gain brings that moment to the peak target. What is left above it, until the first stage clips, is
the reserve: at the mic or DI, at the preamp's input, at its output, at the converter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import floor, hypot

from fieldfare.physics.levels import (
    A_OF_WHITE_DB,
    gain_db,
    mic_output_dbu,
    preamp_noise_dbfs,
    recorded_dbfs,
    self_noise_dbu,
    sum_incoherent,
)
from fieldfare.physics.lines import loading_loss_db, parallel_ohm
from fieldfare.plan.heads import HOUSE_INPUT_OHM
from fieldfare.plan.wanted import Chosen, Wanted
from fieldfare.show.kit import Di, Kit, Mic, Preamp, Recorder, Splitter, Thing
from fieldfare.show.show import HouseMic, Recording
from fieldfare.units.sources import PRACTICE
from fieldfare.units.working import Given, Working

SENSITIVITY_PLUS_MINUS_DB = 2.0  # of a unit against its data sheet
PICKUP_PLUS_MINUS_DB = 8.0  # pickups and players differ that much
LINE_PLUS_MINUS_DB = 3.0
LINE_INPUT_OHM = 10_000.0
PADS_DB = (10.0, 20.0, 30.0)


@dataclass(frozen=True, slots=True)
class Levels:
    """The figures of one input."""

    spl: Working
    level: Working
    gain: Working
    reserve: Working
    noise: Working
    pad_db: float
    clips_first: str  # the stage with the least left; "" where the level is not known


@dataclass(frozen=True, slots=True)
class _Feed:
    """What arrives at the preamp or line input."""

    level_dbu: float | None
    plus_minus_db: float
    formula: str
    source: str
    given: tuple[Given, ...] = ()
    left_db: Mapping[str, float] = field(default_factory=dict)  # by stage before the preamp
    noise_dbu: float | None = None  # A-weighted, of the mic itself


@dataclass(frozen=True, slots=True)
class _Stage:
    """What takes it from there: a preamp or a line input."""

    input_ohm: float
    full_scale_dbu: float
    gains_db: tuple[float, float] | None  # none for a line input
    max_input_dbu: float
    max_output_dbu: float | None
    ein_dbu: float | None


def levels(chosen: Chosen, kit: Kit, recording: Recording, shares: tuple[Wanted, ...] = ()) -> Levels:
    """Reckon the figures of one input.

    Parameters
    ----------
    chosen
        The input with its pieces.
    kit
        What these pieces are.
    recording
        Full scale, peak target and reserve of the show.
    shares
        Other inputs that use this row as it stands; the loudest of them counts.
    """
    things = kit.by_tag
    stage = _stage(chosen, things, recording)
    spl = _spl(chosen, shares)
    feed = _feed(chosen, things, stage, spl)
    pad, gain = _gain(feed, stage, recording)
    left = _left(feed, stage, pad, gain)
    first = min(left, key=lambda name: left[name], default="")
    return Levels(
        spl=spl,
        level=Working(
            value=None if feed.level_dbu is None else round(feed.level_dbu, 1), unit="dBu", formula=feed.formula,
            given=feed.given, source=feed.source, sure="estimate",
            plus_minus=None if feed.level_dbu is None else round(feed.plus_minus_db, 1),
        ),
        gain=_gain_working(feed, stage, recording, pad, gain),
        reserve=Working(
            value=round(left[first], 1) if first else None, unit="dB", formula="least of what each stage has left",
            given=tuple(Given(name=name, value=round(db, 1), unit="dB") for name, db in left.items()),
            source="definition", sure="estimate", plus_minus=round(feed.plus_minus_db, 1) if first else None,
        ),
        noise=_noise_working(feed, stage, pad, gain),
        pad_db=pad,
        clips_first=first,
    )  # fmt: skip


def _spl(chosen: Chosen, shares: tuple[Wanted, ...]) -> Working:
    if chosen.taking not in ("mic", "split"):
        return Working(value=None, unit="dB SPL", formula="a pickup or a line output hears no air", source="definition")
    if chosen.wanted.room_spl is not None:
        return chosen.wanted.room_spl
    low_db, high_db = max((one.spl_db for one in (chosen.wanted, *shares)), key=lambda range_db: range_db[1])
    return Working(
        value=round((low_db + high_db) / 2, 1),
        unit="dB SPL",
        formula="middle of the range expected at the mic in the loudest moment",
        given=(Given(name="low", value=low_db, unit="dB SPL"), Given(name="high", value=high_db, unit="dB SPL")),
        source=PRACTICE,
        sure="estimate",
        plus_minus=round((high_db - low_db) / 2, 1),
    )


def _stage(chosen: Chosen, things: Mapping[str, Thing], recording: Recording) -> _Stage:
    thing = things[chosen.preamp]
    if isinstance(thing, Preamp):
        recorder = next(one for one in things.values() if isinstance(one, Recorder))
        return _Stage(
            thing.input_ohm, recorder.line_max_dbu, (thing.gain_min_db, thing.gain_max_db), thing.max_input_dbu,
            thing.max_output_dbu, thing.ein_dbu,
        )  # fmt: skip
    assert isinstance(thing, Recorder)
    if not chosen.preamp_channel:
        return _Stage(LINE_INPUT_OHM, thing.line_max_dbu, None, thing.line_max_dbu, None, None)
    return _Stage(
        thing.input_ohm, recording.full_scale_dbu, (thing.gain_min_db, thing.gain_max_db), thing.max_input_dbu, None,
        thing.ein_dbu,
    )  # fmt: skip


def _feed(chosen: Chosen, things: Mapping[str, Thing], stage: _Stage, spl: Working) -> _Feed:
    thing = things.get(chosen.unit)
    if isinstance(thing, Mic):
        return _mic_feed(thing, spl, stage.input_ohm)
    if isinstance(thing, Di):
        return _di_feed(chosen.wanted, thing, stage.input_ohm)
    if chosen.taking == "split" and chosen.wanted.house_mic is not None:
        splitter = things.get(chosen.splitter)
        return _split_feed(chosen.wanted.house_mic, splitter, spl, stage.input_ohm)
    return _line_feed(chosen.wanted, stage.input_ohm)


def _mic_feed(mic: Mic | HouseMic, spl: Working, load_ohm: float) -> _Feed:
    spl_db, swing_db = spl.value or 0.0, spl.plus_minus or 0.0
    out_dbu = mic_output_dbu(mic.sensitivity_mv_pa, spl_db)
    loss_db = loading_loss_db(mic.impedance_ohm, load_ohm)
    quiet = mic.self_noise_dba if isinstance(mic, Mic) else None
    return _Feed(
        level_dbu=out_dbu - loss_db,
        plus_minus_db=hypot(swing_db, SENSITIVITY_PLUS_MINUS_DB),
        formula="sensitivity re 1 V/Pa + SPL − 94 + 2.2 − loading",
        source="TransferFactor",
        given=(
            Given(name="sensitivity", value=mic.sensitivity_mv_pa, unit="mV/Pa"),
            Given(name="SPL", value=round(spl_db, 1), unit="dB SPL"),
            Given(name="mic impedance", value=mic.impedance_ohm, unit="Ω"),
            Given(name="load", value=round(load_ohm), unit="Ω"),
            Given(name="loading", value=round(loss_db, 2), unit="dB"),
        ),
        left_db={} if mic.max_spl_db is None else {"mic": mic.max_spl_db - spl_db},
        noise_dbu=None if quiet is None else self_noise_dbu(mic.sensitivity_mv_pa, quiet) - loss_db,
    )


def _split_feed(mic: HouseMic, splitter: Thing | None, spl: Working, input_ohm: float) -> _Feed:
    if mic.wireless:
        return _Feed(
            None, 0.0, "a wireless receiver puts out what it is set to: ask, and set the gain by ear", PRACTICE
        )
    active = isinstance(splitter, Splitter) and splitter.isolation == "active"
    load_ohm = input_ohm if active else parallel_ohm(input_ohm, HOUSE_INPUT_OHM)
    feed, loss_db = _mic_feed(mic, spl, load_ohm), splitter.loss_db if isinstance(splitter, Splitter) else 0.0
    return replace(
        feed,
        level_dbu=(feed.level_dbu or 0.0) - loss_db,
        formula=f"{feed.formula} − splitter",
        given=(
            *feed.given,
            Given(name="house input taken as", value=HOUSE_INPUT_OHM, unit="Ω"),
            Given(name="splitter", value=loss_db, unit="dB"),
        ),
    )


def _di_feed(wanted: Wanted, di: Di, input_ohm: float) -> _Feed:
    if wanted.signal_dbu is None:
        return _Feed(None, 0.0, "what the pickup puts out is not known: set the gain by ear", PRACTICE)
    pickup_db, out_db = loading_loss_db(wanted.source_ohm, di.input_ohm), loading_loss_db(di.output_ohm, input_ohm)
    at_di_dbu = wanted.signal_dbu - pickup_db
    return _Feed(
        level_dbu=at_di_dbu - di.loss_db - out_db,
        plus_minus_db=PICKUP_PLUS_MINUS_DB,
        formula="pickup − loading of the pickup − DI − loading of the DI",
        source="Bridging",
        given=(
            Given(name="pickup", value=wanted.signal_dbu, unit="dBu"),
            Given(name="loading of the pickup", value=round(pickup_db, 2), unit="dB"),
            Given(name="DI", value=di.loss_db, unit="dB"),
            Given(name="loading of the DI", value=round(out_db, 2), unit="dB"),
        ),
        left_db={} if di.max_input_dbu is None else {"DI": di.max_input_dbu - at_di_dbu},
    )


def _line_feed(wanted: Wanted, input_ohm: float) -> _Feed:
    if wanted.signal_dbu is None:
        return _Feed(None, 0.0, "what the line output puts out is not known: ask", PRACTICE)
    loss_db = loading_loss_db(wanted.source_ohm, input_ohm)
    return _Feed(
        level_dbu=wanted.signal_dbu - loss_db,
        plus_minus_db=LINE_PLUS_MINUS_DB,
        formula="line output − loading",
        source="Bridging",
        given=(
            Given(name="line output", value=wanted.signal_dbu, unit="dBu"),
            Given(name="loading", value=round(loss_db, 2), unit="dB"),
        ),
    )


def _gain(feed: _Feed, stage: _Stage, recording: Recording) -> tuple[float, float | None]:
    """Choose the least pad that leaves the reserve, and the whole decibels of gain that reach the target."""
    if feed.level_dbu is None or stage.gains_db is None:
        return 0.0, None
    low_db, high_db = stage.gains_db
    enough_db = min(recording.reserve_db, -recording.peak_target_dbfs)
    for pad in (0.0, *PADS_DB):
        exact = gain_db(feed.level_dbu - pad, stage.full_scale_dbu, recording.peak_target_dbfs)
        gain = max(low_db, float(floor(min(high_db, exact))))
        if min(_electric(feed.level_dbu - pad, stage, gain).values()) >= enough_db:
            return pad, gain
    return PADS_DB[-1], low_db


def _electric(level_dbu: float, stage: _Stage, gain: float) -> dict[str, float]:
    """What the preamp and the converter have left."""
    left = {"converter": -recorded_dbfs(level_dbu, gain, stage.full_scale_dbu)}
    if stage.gains_db is not None:
        left["preamp input"] = stage.max_input_dbu - level_dbu  # at more gain its output or the converter clips first
    if stage.max_output_dbu is not None:
        left["preamp output"] = stage.max_output_dbu - gain - level_dbu
    return left


def _left(feed: _Feed, stage: _Stage, pad: float, gain: float | None) -> dict[str, float]:
    if feed.level_dbu is None:
        return {}
    return {**feed.left_db, **_electric(feed.level_dbu - pad, stage, gain or 0.0)}


def _gain_working(feed: _Feed, stage: _Stage, recording: Recording, pad: float, gain: float | None) -> Working:
    if stage.gains_db is None:
        return Working(value=None, unit="dB", formula="a line input has no gain", source="definition")
    padded = (Given(name="pad", value=pad, unit="dB"),) if pad else ()
    return Working(
        value=gain,
        unit="dB",
        formula="full scale + peak target − level" + (" + pad" if pad else "") + ", to the next lower decibel it has",
        given=(
            Given(name="full scale", value=stage.full_scale_dbu, unit="dBu"),
            Given(name="peak target", value=recording.peak_target_dbfs, unit="dBFS"),
            Given(name="level", value="not known" if feed.level_dbu is None else round(feed.level_dbu, 1), unit="dBu"),
            *padded,
            Given(name="least gain", value=stage.gains_db[0], unit="dB"),
            Given(name="most gain", value=stage.gains_db[1], unit="dB"),
        ),
        source="EBUR68",
        sure="estimate",
        plus_minus=None if gain is None else round(feed.plus_minus_db, 1),
    )


def _noise_working(feed: _Feed, stage: _Stage, pad: float, gain: float | None) -> Working:
    formula = "sum of energies: mic + gain, EIN − 2.05 + gain, less full scale"
    if gain is None or stage.ein_dbu is None:
        return Working(value=None, unit="dBFS(A)", formula=formula, source="ProAudioList")
    parts = {"EIN": preamp_noise_dbfs(stage.ein_dbu, gain, stage.full_scale_dbu) + A_OF_WHITE_DB}
    if feed.noise_dbu is not None:
        parts["mic"] = recorded_dbfs(feed.noise_dbu - pad, gain, stage.full_scale_dbu)
    return Working(
        value=round(sum_incoherent(list(parts.values())), 1),
        unit="dBFS(A)",
        formula=formula,
        given=tuple(
            Given(name=f"{name} at the converter", value=round(db, 1), unit="dBFS(A)") for name, db in parts.items()
        ),
        source="ProAudioList",
        sure="estimate",
        plus_minus=round(feed.plus_minus_db, 1),
    )
