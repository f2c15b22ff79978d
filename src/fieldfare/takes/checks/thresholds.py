"""Every threshold of the track check, with its source: first what measuring keeps, then what the checks decide by.

Levels of rms are such that a full-scale sine reads 0 dBFS; peaks are re full scale.
"""

from __future__ import annotations

from typing import NamedTuple

from fieldfare.takes.measure.events import CLICK_DBFS, EDGE_STEEP, KEPT_DBFS
from fieldfare.takes.measure.grain import FLAT_LEAST, RAIL_LEAST, TOP_FLAT, TOP_LEAST, TOP_SEVERAL
from fieldfare.takes.measure.hiss import (
    HISS_BRIGHT,
    HISS_DBFS,
    HISS_EVEN_DB,
    HISS_FALL_DB,
    HISS_LEAST,
    HISS_MOST,
    HISS_SLOPE_DB,
)
from fieldfare.takes.measure.hum import (
    ABOVE_FLOOR,
    PAUSE_HUM,
    PAUSE_S,
    PAUSE_SHARE,
    PRESENT_SHARE,
    QUIET_SHARE,
    STEADY_HZ,
    STEADY_RATIO,
)
from fieldfare.takes.measure.lowband import MAINS_TOLERANCE
from fieldfare.takes.measure.residual import ONE_SIDED, OTHERS
from fieldfare.takes.measure.turns import (
    HOLE_FALL_DB,
    HOLE_RISE_DB,
    THUMP_BARE,
    THUMP_DBFS,
    THUMP_JUMP,
    THUMP_LEAST,
    THUMP_RISE,
    THUMP_SHORT,
    THUMP_SLOW_BARE,
    THUMP_SLOW_DBFS,
    THUMP_SLOW_LEAST,
    THUMP_SWAY,
)
from fieldfare.units.sources import PRACTICE


class Threshold(NamedTuple):
    """One number that decides, and why it is that number."""

    value: float
    unit: str
    means: str
    source: str = PRACTICE


KEPT_RUN = Threshold(RAIL_LEAST, "samples", "at full scale in a row: one or two happen in clean peaks", "ClipRuns")
KEPT_RUN_STEEP = Threshold(EDGE_STEEP, "", "times as steeply entered or left as a rounded peak would be")
KEPT_FLAT = Threshold(FLAT_LEAST, "samples", "equal in a row; noise of the smallest preamp keeps shorter")
KEPT_QUIET_DBFS = Threshold(KEPT_DBFS, "dBFS peak", "flat runs and repeats in what is quieter are not kept")
KEPT_REPEAT = Threshold(
    48, "samples", "the shortest block that is never missed when it stands twice; the longest is 2048"
)
KEPT_TOP = Threshold(TOP_LEAST, "samples", "within 0.07 dB of a peak, to be looked at as a flat top")
KEPT_TOP_SEVERAL = Threshold(
    TOP_SEVERAL,
    "peaks",
    "shorter than that and as high within 11 ms, to be looked at as cut: noise has one more by chance",
)
KEPT_TOP_FALL = Threshold(TOP_FLAT, "", "times as far as a parabola's the signal falls on one side of a flat top")
KEPT_CLICK_DBFS = Threshold(CLICK_DBFS, "dBFS", "bends smaller than this are no clicks")
MAINS_OFF = Threshold(
    100 * MAINS_TOLERANCE, "%", "off nominal for 99.5 % of a year; the low G of a bass is 2 % off", "EN50160"
)
HUM_QUIET = Threshold(QUIET_SHARE, "", "of the stretches, the quietest, are searched for hum: music covers least there")
HUM_ABOVE_FLOOR = Threshold(ABOVE_FLOOR, "", "times the floor beside it a line stands: 12 dB")
HUM_PRESENT = Threshold(PRESENT_SHARE, "", "of the quiet stretches hold a line that is hum")
HUM_STEADY = Threshold(STEADY_RATIO, "", "at most between a line's strong and weak stretches: 6 dB")
HUM_STEADY_HZ = Threshold(STEADY_HZ, "Hz", "at most does it wander, and do its multiples disagree")
HUM_PAUSE_S = Threshold(PAUSE_S, "s", "is how short a pause may be that shows hum")
HUM_PAUSE_SHARE = Threshold(PAUSE_SHARE, "", "of such pieces, the quietest, are searched where no stretch shows any")
HUM_PAUSE_MOST = Threshold(
    PAUSE_HUM, "", "of what sounds in them has to lie in the lines; they may wander twice as far"
)

DEAD_DBFS = Threshold(-70, "dBFS rms", "a dead line stays below this: preamp noise alone lies near −90")
DEAD_STEADY_DB = Threshold(3, "dB", "noise alone keeps within this from stretch to stretch; anything played does not")
DEAD_HUM_DBFS = Threshold(-35, "dBFS rms", "a line that only hums, open or unplugged, stays below this")
DEAD_LEAST_S = Threshold(4, "s", "less than this is too short to tell a rest from a dead line")

LOW_PEAK_DBFS = Threshold(-40, "dBFS peak", "28 dB under the usual aim of −12: a pad left in, or no gain set")
LOW_UNDER_PLAN_DB = Threshold(18, "dB", "under the peak the plan expects: twice a 9 dB error of level and player")
LOW_PLAN_PEAK_DBFS = Threshold(-30, "dBFS peak", "above this a track is usable, whatever the plan expected")

CLIP_SURE_RUN = Threshold(7, "samples", "at full scale in a row: beyond what anyone allows a clean peak", "ClipRuns")
CLIP_NOTE_SAMPLES = Threshold(24, "samples", "in all: half a millisecond, hardly heard")

TOP_CEILING_DB = Threshold(
    1, "dB", "the tops of one ceiling lie within: a coupling capacitor lets it sag and lean while it is stayed at"
)
TOP_WINDOWS = Threshold(
    4, "windows", "with a cut top at the ceiling: fewer may be chance; with short ones twice as many"
)
TOP_FLAT_SHARE = Threshold(0.2, "", "of the peaks at a ceiling are flat where it is one; treble frays the rest")
TOP_FLAT_TIMES = Threshold(4, "", "times as often flat at the ceiling as further down")
TOP_SHORT_SHARE = Threshold(
    0.1, "", "of the peaks at a ceiling are one of several short ones: noise has one in a thousand, limited noise 0.05"
)
TOP_ROUND = Threshold(4, "windows", "have to be lower, to show that the sound is round by itself")
TOP_BELOW_DB = Threshold(2, "dB", "this far under the ceiling peaks are round again, unless the sound itself is square")
TOP_RAIL_DB = Threshold(0.2, "dB", "under full scale a ceiling counts as the converter's own")

GAP_GATE_DBFS = Threshold(-60, "dBFS peak", "signal on both sides of a gap has to be above this to be missed")
GAP_JUMP = Threshold(0.015, "", "of the peak beside it: a gap cuts in mid-swing, a gate or a fade comes to rest first")
GAP_EDGE = Threshold(0.24, "", "of that peak in the last quarter of a millisecond: the same, where it cuts at a zero")
GAP_END_JUMP = Threshold(0.1, "", "the jump into silence that lasts to the end of the file")
GAP_UNSURE_S = Threshold(2, "s", "a longer gap may as well be a mute or a stopped player; it is told as unsure")
GAP_STEPS = Threshold(
    4, "steps", "of the track's depth that a jump has to be, so that a slow turn in few bits is no gap"
)
GAP_HELD = Threshold(24, "samples", "equal but not zero, to count as held")
GAP_HELD_JUMP = Threshold(0.05, "", "of the peak beside it: how far sound has gone on while its sample was held")
GAP_HELD_INSIDE = Threshold(0.9, "", "of the peak beside it: a held sample stands mid-swing, a flat top does not")
GAP_HELD_OUT = Threshold(
    8, "times", "as far out of a held sample as into it, where it stands at the top of a slow swing"
)
GAP_HELD_ALIKE = Threshold(3, "runs", "at most stand as high as a held sample; more are flat tops at their ceiling")
GAP_HELD_APART = Threshold(0.01, "", "of their height is as high")
GAP_HELD_LONG = Threshold(480, "samples", "equal in what is lively just before and after: no converter gives that")
GAP_RESTS = Threshold(8, "1/min", "gaps more often than this are rests of a synthesiser, if most of them are long")
GAP_REST_S = Threshold(0.05, "s", "or longer; what a recorder loses is shorter")
GAP_RATE = Threshold(20, "1/s", "flat runs as often as this and evenly spaced are a pulse wave, no fault")
GAP_SPREAD = Threshold(0.2, "", "spacing over its mean; evenly spaced is less")
REPEAT_SPARE = Threshold(3, "samples", "by which a block's length may miss whole multiples: equal neighbours by chance")
REPEAT_MOST = Threshold(
    8, "times", "a block in a row; more is a wave that is periodic to the sample, from a synthesiser"
)

KEPT_CLICK_OTHERS = Threshold(OTHERS, "", "of its bend, reached within 21 ms of a jump: the edge of a wave, no tick")
KEPT_CLICK_ONE_SIDED = Threshold(ONE_SIDED, "", "times the bends on one side, on the other: a start or an end, no tick")
CLICK_OVER = Threshold(
    12,
    "",
    "times the most that prediction leaves of the 21 ms on either side, to be a tick: a trumpet's tongue gives 10",
)
CLICK_OVER_STEADY = Threshold(6, "", "times are enough in what goes on as it was, cymbals and brushes")
CLICK_STEADY = Threshold(
    0.4, "nats", "between the spectra before and after is as it was; more is a note that begins or ends", "Itakura1975"
)
CLICK_TALL = Threshold(
    1, "", "its bend over the peak beside it: a note that is broken off, or begins at once, bends no further than that"
)
CLICK_OVER_LOW = Threshold(
    200, "", "times, for one sample alone that is less tall, in a low tone that goes on as it was"
)
CLICK_STANDS = Threshold(3, "", "times what prediction leaves before it, to be an onset that another track hears too")
CLICK_STANDS_TALL = Threshold(0.1, "", "its bend over the peak beside it, then")
CRACKLE_RATIO = Threshold(
    45, "", "times the mean bend on its livelier side, to be one of many that crackle: a plectrum gives 30"
)
CRACKLE_BALANCE = Threshold(4, "", "of bends after it to bends before: more follows where a note begins")
CRACKLE_STEP_RATIO = Threshold(70, "", "the same for a step that stays: an organ's key does that, but smaller")
CRACKLE_TALL = Threshold(
    0.02, "", "its bend over the track's peak, to be heard: the corners of a plucked string's wave bend less"
)
CLICK_WAVE = Threshold(7, "jumps", "half as high or higher close by are the edges of a wave")
CLICK_WAVE_S = Threshold(0.085, "s", "before it and after")
CLICK_HEARD_S = Threshold(0.035, "s", "within which another track hears the same sound: 12 m across a stage")
CLICK_TOGETHER = Threshold(1 / 3, "", "of the tracks at the very same sample is a lost block; sound never comes so")
CLICK_FAINT = Threshold(
    1.5, "", "times the most that prediction leaves beside it is a jump, at a sample where another track is broken off"
)
CLICK_WARN = Threshold(3, "clicks", "in all are worth a look")
CRACKLE_CLICKS = Threshold(10, "clicks", "close together are crackle")
CRACKLE_S = Threshold(10, "s", "within which they come")

KEPT_THUMP_DBFS = Threshold(THUMP_DBFS, "dBFS", "means of 11 ms below this are no thumps")
KEPT_THUMP_JUMP = Threshold(THUMP_JUMP, "", "times what the mean was just before, a thump begins with")
KEPT_THUMP_BARE = Threshold(THUMP_BARE, "", "times the rms about it: more than anything that sounds meanwhile")
KEPT_THUMP_LEAST = Threshold(THUMP_LEAST, "buckets", "of 11 ms on one side of zero: half the period of 12 Hz")
KEPT_THUMP_RISE = Threshold(
    THUMP_RISE, "", "of its height at most rises what falls like a capacitor's charge, two by two"
)
KEPT_THUMP_SWAY = Threshold(THUMP_SWAY, "", "and from one bucket to the next, with what sounds meanwhile")
KEPT_THUMP_SHORT = Threshold(THUMP_SHORT, "buckets", "are enough where it does not come back to that side within 0.1 s")
KEPT_THUMP_SLOW_DBFS = Threshold(
    THUMP_SLOW_DBFS, "dBFS", "means of 43 ms, in which the lowest tones cancel, below this are no thumps"
)
KEPT_THUMP_SLOW_BARE = Threshold(
    THUMP_SLOW_BARE, "", "times the rms about it, then: the mean of pulses that take an eighth is 1.2 times"
)
KEPT_THUMP_SLOW_LEAST = Threshold(THUMP_SLOW_LEAST, "buckets", "of 11 ms it lasts, then")
THUMP_RATE = Threshold(3, "1/min", "thumps more often than this are how a synthesiser sounds")
THUMP_FEW = Threshold(2, "thumps", "among many are told, where they stand out of an instrument's own")
THUMP_OUT = Threshold(1.8, "", "times as tall as all others they stand out: 5 dB, by which notes differ less")
THUMP_SWING = Threshold(
    0.6, "", "of its height at most, the rms of what sounds through its fall: a tone whose peaks lie 3 dB below its own"
)
THUMP_WARN_DBFS = Threshold(-30, "dBFS", "a thump above this is heard in any mix")

KEPT_HOLE_FALL_DB = Threshold(HOLE_FALL_DB, "dB", "within 21 ms, faster than any room dies")
KEPT_HOLE_RISE_DB = Threshold(HOLE_RISE_DB, "dB", "within 21 ms, where sound comes back")
KEPT_HISS_DBFS = Threshold(HISS_DBFS, "dBFS rms", "of 11 ms below this are no hiss of an open squelch")
KEPT_HISS_BRIGHT = Threshold(HISS_BRIGHT, "", "mean bend over rms of such 11 ms: white noise has 1.95")
KEPT_HISS_FALL_DB = Threshold(
    HISS_FALL_DB, "dB", "that its treble is over what goes before and after, from block to block"
)
KEPT_HISS_LEAST = Threshold(HISS_LEAST, "blocks", "of 1.3 ms it lasts, or longer")
KEPT_HISS_MOST = Threshold(HISS_MOST, "blocks", "or shorter: 64 ms, before and after a short hole together")
KEPT_HISS_SLOPE_DB = Threshold(HISS_SLOPE_DB, "dB", "between its halves at most: a cymbal or a clap dies away")
KEPT_HISS_EVEN_DB = Threshold(HISS_EVEN_DB, "dB", "between its loudest and softest blocks at most")
RADIO_BRIGHT = Threshold(1.05, "", "mean bend over rms at the edge: white noise has 1.95, the brightest voice 0.75")
RADIO_UNDER_DB = Threshold(22, "dB", "that a hole with hiss is under what goes on beside it")
RADIO_SILENT_DBFS = Threshold(-90, "dBFS rms", "a muted receiver gives less; rooms and open microphones seldom do")
RADIO_UNDER_NOISE_DB = Threshold(2, "dB", "under its floor is deep: noise alone keeps within a third of that")
RADIO_FLOOR_SHARE = Threshold(1, "%", "of the track, outside the hole, lies under its floor")
RADIO_FEW = Threshold(2, "1/min", "silent holes are few: an instrument that rests so does it more often")
RADIO_OVER_REST_DB = Threshold(2, "dB", "over most of a track's silent holes is other noise than that of its rests")
RADIO_WHITE = Threshold(1.6, "", "mean bend over rms in a hole: noise alone; white noise has 1.95")
RADIO_BACK_DB = Threshold(30, "dB", "over what was in it sounds soon after a hole; after a tick in a rest less does")
RADIO_REST_S = Threshold(1, "s", "a longer hole that is no deeper than other rests is a rest")
RADIO_RATE = Threshold(12, "1/min", "holes more often than this are a gate or a machine")

GAIN_PREAMP_DBFS = Threshold(
    -127, "dBFS rms", "above 8 kHz: no preamp is as quiet; what is comes from a digital source and has no gain to turn"
)
GAIN_PREAMP_SHARE = Threshold(0.02, "", "of the glimpses may be quieter than any preamp")
GAIN_ROUNDING_DB = Threshold(6, "dB", "over the noise of rounding, which no gain moves, a floor has to stand")
GAIN_BESIDE_S = Threshold(20, "s", "on both sides are compared, pauses among them")
GAIN_LEAST_S = Threshold(8, "s", "on both sides a floor has to stay, so that it is no long note and no rest")
GAIN_SEEN = Threshold(6, "glimpses", "of noise alone on each side, one in a sixth of a second")
GAIN_FLOOR_ODDS = Threshold(15, "nats", "better two floors have to explain what is there than one")
GAIN_ODDS = Threshold(45, "nats", "with what a jump of level and treble by as much, at one place, says for it")
GAIN_SUDDEN_JUMP = Threshold(18, "nats", "that a jump of level and treble says by itself, where the floor says little")
GAIN_SUDDEN_FLOOR_ODDS = Threshold(3, "nats", "better, then, two floors have to explain what is there than one")
GAIN_SUDDEN_ODDS = Threshold(30, "nats", "together, then")
GAIN_PLACE = Threshold(9, "nats", "less likely than the best is a place at which a change may lie too")
GAIN_WIDE_PLACE = Threshold(6, "nats", "the same, where that leaves longer than")
GAIN_WIDE_S = Threshold(10, "s", "of which nobody knows where to listen")
GAIN_SWELL = Threshold(10, "nats", "better than a jump a floor that turns bit by bit explains what is there: a swell")
GAIN_STEP_DB = Threshold(2.5, "dB", "of change: 3 dB is heard as a step, and a reading errs by half a dB")
GAIN_MOST_DB = Threshold(24, "dB", "a pad or a turn of the knob; more is a player who begins or rests")
GAIN_SLIGHT_DB = Threshold(1.5, "dB", "changes smaller than this are none, and two that differ by less are alike")
GAIN_STAYS_DB = Threshold(1, "dB", "or, of a large step, a share of it:")
GAIN_STAYS = Threshold(0.25, "", "by which the floors of all before and all after may differ from the step")
GAIN_ALIKE = Threshold(
    0.3, "", "of a step: the floor of another track that moves by as much, more or less, is the room"
)
GAIN_MUTE_DB = Threshold(6, "dB", "more than the floor falls the loud parts, to steady noise alone, where it was muted")
GAIN_NEAR_S = Threshold(0.25, "s", "within which changes on other tracks say that it is no gain but the room")
GAIN_ALONE_S = Threshold(1, "s", "within which a change has to be placed where no other track tells it from a swell")

HUM_DBFS = Threshold(-90, "dBFS rms", "hum below this drowns in any preamp's noise")
HUM_NOTE_DB = Threshold(60, "dB", "under the loud parts: not heard once the music is on and mixed")
HUM_WARN_DB = Threshold(40, "dB", "under the loud parts: heard in every pause")

DC_NOTE_DBFS = Threshold(-60, "dBFS", "an offset below this is any converter's")
DC_WARN_DBFS = Threshold(-40, "dBFS", "an offset above this costs level and clicks at every cut")
DC_SURE = Threshold(
    4,
    "",
    "or, of few stretches, more times the error of the mean, from how much it sways from one quiet stretch to the next",
)
DC_REST = Threshold(1 / 16, "", "of the swing of the loud parts at most: a pause, which shows what a track rests at")
DC_RESTS = Threshold(0.03, "", "of a track at least are pauses, to go by them")

PAIR_LAG_S = Threshold(0.005, "s", "between the sides of a pair where the plan does not say how far they stand apart")
PAIR_REVERSED = Threshold(1.3, "", "how much deeper the trough has to be than the peak is high")
PAIR_LEAST = Threshold(0.15, "", "height, 1 for a copy: below this the two do not hear the same")
SAME_REST_DB = Threshold(-40, "dB", "what a copy leaves of a track: two microphones never come so close")
LOUD_ENOUGH_DBFS = Threshold(-60, "dBFS rms", "loud parts of a track that can be compared with another at all")


def table() -> dict[str, Threshold]:
    """Return all thresholds by name, in the order they stand in."""
    return {name: value for name, value in globals().items() if isinstance(value, Threshold)}
