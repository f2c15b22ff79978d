"""Every number that the watch decides by, with its source."""

from __future__ import annotations

from fieldfare.takes.checks.thresholds import CLIP_SURE_RUN, DEAD_DBFS, Threshold

NOT_ROLLING_S = Threshold(10, "s", "without any file growing, from the start of the watch")
STALL_S = Threshold(10, "s", "at least, that a file stands still before it is told")
STALL_TIMES = Threshold(3, "times", "the longest pause between its writes so far: recorders write in bursts")
RATE_OFF = Threshold(0.03, "", "of the rate that growth may be off, beyond what looking now and then leaves unsure")
DISC_MINUTES = (
    Threshold(60, "min", "left on the disc: time to find another"),
    Threshold(30, "min", "left on the disc"),
    Threshold(10, "min", "left on the disc: change at the next break"),
)
LIMIT_MINUTES = (
    Threshold(20, "min", "to the largest file there can be: a song or two"),
    Threshold(5, "min", "to the largest file there can be"),
)
SILENT_DBFS = Threshold(DEAD_DBFS.value, "dBFS rms", "as in the track check: preamp noise alone lies near −90")
SILENT_S = Threshold(15, "s", "below that before it is told: players rest")
HELD_S = Threshold(0.25, "s", "of one value, not zero: no sound holds still so long")
CLIP_RUN = Threshold(3, "samples", "at full scale in a row: one or two happen in clean peaks", CLIP_SURE_RUN.source)
CLIP_AGAIN_S = Threshold(30, "s", "between two words on clipping of one track")
LOWER_DB = Threshold(20, "dB", "under its level at line check: a pad, a gain turned down, a microphone turned away")
LOWER_S = Threshold(60, "s", "for which it stays that low; a verse without a voice is shorter")
