"""Real sampled instruments for rendered shows, from a sound font, and real speech for what is said between songs.

Needs the package tinysoundfont and a font (a Debian package such as timgm6mb-soundfont brings one), and for speech the
program espeak-ng. None of them is needed by anything but the benches.
"""

from __future__ import annotations

import io
import shutil
import subprocess
import threading
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.render.score import Note, Play

Sound = NDArray[np.float32]
PROGRAMS = {  # of General MIDI, from 0
    "bass": 32,
    "guitar": 25,
    "bouzouki": 105,
    "fiddle": 40,
    "accordion, left": 21,
    "accordion, right": 21,
    "reeds": 20,
    "clarinet": 71,
    "saxophone": 65,
    "trumpet": 56,
    "lead vocal": 53,
    "backing vocal": 53,
}
DRUMS = {"kick": 36, "snare": 38, "hat": 42, "ride": 51, "crash": 49, "stick": 37, "shake": 70, "tom": 50}
TEXT = (
    "Thank you very much. It is good to see so many of you here tonight, in spite of the weather. "
    "The next one is a tune that we learned from an old recording, so take your partners, form a circle, "
    "and we will walk it through once before the music starts. Has everybody got somebody? Right then."
)


def sampled(font: Path) -> Play:
    """Return what plays notes from a sound font."""
    import tinysoundfont

    own = threading.local()  # shows are rendered by several threads, and a synthesiser plays one family at a time

    def play(family: str, notes: list[Note], samples: int, rate_hz: int) -> Sound | None:
        if any("spoken" in note.how for note in notes):
            return _spoken(notes, samples, rate_hz) if shutil.which("espeak-ng") else None
        if family not in PROGRAMS and not any(note.how in DRUMS for note in notes):
            return None
        if getattr(own, "rate_hz", None) != rate_hz:
            own.rate_hz, own.synth = rate_hz, tinysoundfont.Synth(gain=-6, samplerate=rate_hz)
            own.number = own.synth.sfload(str(font))
        return _played(own.synth, own.number, family, notes, samples, rate_hz)

    return play


def _played(synth: Any, number: int, family: str, notes: list[Note], samples: int, rate_hz: int) -> Sound:
    drums = family not in PROGRAMS
    synth.program_select(0, number, 128 if drums else 0, 0 if drums else PROGRAMS[family], drums)
    events = sorted(event for note in notes for event in _events(note, drums, rate_hz))
    out, at = np.zeros(samples, np.float32), 0
    for when, on, key, velocity in [*events, (samples, 0, 0, 0)]:
        upto = min(samples, max(at, when))
        if upto > at:
            stereo = np.frombuffer(synth.generate(upto - at), np.float32)
            out[at:upto] = stereo[::2]
            at = upto
        if key:
            synth.noteon(0, key, velocity) if on else synth.noteoff(0, key)
    synth.sounds_off()
    return out


def _events(note: Note, drums: bool, rate_hz: int) -> list[tuple[int, int, int, int]]:
    key = DRUMS.get(note.how, 38) - (5 * int(note.pitch) if note.how == "tom" else 0) if drums else round(note.pitch)
    first, velocity = round(note.at_s * rate_hz), max(1, min(127, round(127 * note.velocity)))
    last = first + round(max(note.length_s, 0.4 if drums else 0.05) * rate_hz)
    return [(first, 1, key, velocity), (last, 0, key, 0)]


def _spoken(notes: list[Note], samples: int, rate_hz: int) -> Sound:
    """Speech where a voice speaks: from the first syllable of each stretch to its last."""
    out = np.zeros(samples, np.float32)
    speech = _speech(rate_hz)
    begin = notes[0].at_s
    for one, other in zip(notes, [*notes[1:], None], strict=True):
        if other is None or other.at_s - one.at_s - one.length_s > 1.0:
            first, last = round(begin * rate_hz), min(samples, round((one.at_s + one.length_s) * rate_hz))
            part = np.resize(np.roll(speech, -(first % len(speech))), last - first)
            out[first:last] += part
            begin = other.at_s if other else 0.0
    return out


@lru_cache(maxsize=4)
def _speech(rate_hz: int) -> Sound:
    import soundfile
    import soxr

    done = subprocess.run(["espeak-ng", "--stdout", "-s", "150", TEXT], capture_output=True, check=True)
    sound, of_file = soundfile.read(io.BytesIO(done.stdout), dtype="float32")
    heard: Sound = soxr.resample(sound, of_file, rate_hz)
    return heard
