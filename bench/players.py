"""Takes that no fault was put into, of eight tracks each, played by sampled instruments, kits, voices and an audience.

Nothing here comes from the renderer or knows of a detector. Instruments are those of two sound fonts, drums single hits
and loops of sample packages, voices a speech synthesiser's, the audience a recording of applause cut into grains
(Debian: timgm6mb-soundfont, fluid-soundfont-gm, hydrogen-drumkits, hydrogen-data, sonic-pi-samples, frozen-bubble-data,
espeak-ng; PyPI: tinysoundfont). One half of everything, a font, kits and voices, is to set thresholds on; the other
half is to report on. What is known to fool detectors is among it: square waves with hard rests, sub-bass, long
drum-machine tones, distorted guitars, feedback, brushes, tambourines, bowed strings, gates, plosives, stands that are
kicked, and playing that stops and starts.
"""

from __future__ import annotations

import io
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray
from scipy.signal import lfilter

RATE_HZ = 48_000
Sound = NDArray[np.float32]
WORDS = {
    "kick": ("kick", "bassdrum", "bd_", "bd1"),
    "snare": ("snare", "sd_", "sn_"),
    "hat": ("hat", "hh_", "hhclosed"),
    "cymbal": ("crash", "ride", "cymbal", "cc_", "rc_"),
    "tom": ("tom", "t1_", "t2_", "ft_", "conga", "tabla"),
}
LINES = (
    "Put the boxes by the pillar, please, and bring pliers to the piano. Peter plays bass, Polly plays pipes.",
    "Before we begin: the bar is open, the back door is not. Put both feet down, pick a partner, and bow politely.",
    "Two sixes, three sevens. Hiss, whistle, scissors, tissue. This next song is about a ship that missed the tide.",
)
VOICES = (("en", "en-us+f3", "de"), ("en-gb-x-rp", "fr", "en-us+m7"))
SCALE = (0, 2, 3, 5, 7, 8, 10)


@dataclass(frozen=True, slots=True)
class Music:
    """Where the sounds of one half lie."""

    font: Path
    samples: Path
    half: int  # 0 to set thresholds on, 1 to report on


@dataclass(frozen=True, slots=True)
class Part:
    """One track: its label, what is played, and how it is heard."""

    label: str
    sound: Sound
    mic: bool = True  # hears the others too
    peak_dbfs: float = -10.0
    noise_dbfs: float = -88.0


@cache
def _files(samples: Path, word: str, half: int) -> tuple[Path, ...]:
    every = [one for ending in ("*.flac", "*.wav") for one in sorted(samples.rglob(ending))]
    fitting = [one for one in every if any(start in one.name.casefold() for start in WORDS.get(word, (word,)))]
    folders = sorted({one.parent for one in fitting})
    own = set(folders[half::2]) if len(folders) > 1 else set(folders)
    chosen = [one for one in fitting if one.parent in own]
    return tuple(chosen if len(folders) > 1 else chosen[half::2] or chosen)


@cache
def _sample(path: Path) -> Sound:
    sound, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    heard = soxr.resample(sound.mean(axis=1), rate_hz, RATE_HZ) if len(sound) > 64 else sound.mean(axis=1)
    heard = heard / max(1e-6, float(np.abs(heard).max()))
    heard[:48] *= np.linspace(0, 1, 48)[: len(heard)]  # some samples begin in the middle of a swing
    heard[-480:] *= np.linspace(1, 0, min(480, len(heard)))[-len(heard[-480:]) :]
    return heard.astype(np.float32)


def hits(music: Music, rng: np.random.Generator, word: str, length: int, beat: int, odds: float) -> Sound:
    """Single hits of one piece of a kit, on a grid with a hand's spread, now soft and now hard; bars of rest."""
    files = _files(music.samples, word, music.half)
    chosen = [_sample(files[place]) for place in rng.integers(0, len(files), 3)]
    out = np.zeros(length + RATE_HZ * 12, np.float32)
    for at in range(0, length - beat, beat):
        if rng.random() < odds and (at // (16 * beat)) % 5 != 4:
            one = chosen[rng.integers(len(chosen))][: RATE_HZ * 8]
            start = at + int(rng.integers(0, 480))
            out[start : start + len(one)] += one * np.float32(10 ** (rng.uniform(-14, 0) / 20))
    return out[:length]


def loop(music: Music, rng: np.random.Generator, length: int) -> Sound:
    """A loop of a whole kit, again and again with rests between."""
    files = _files(music.samples, "loop_", music.half)
    one = _sample(files[rng.integers(len(files))])
    out = np.tile(one, length // len(one) + 1)[:length]
    return out * _rests(rng, length, 0.15)


def _rests(rng: np.random.Generator, length: int, share: float, fade: int = 2400) -> Sound:
    """Bars in which somebody does not play, entered and left within a twentieth of a second."""
    gain = np.ones(length, np.float32)
    for at in range(0, length, 4 * RATE_HZ):
        if rng.random() < share:
            gain[at : at + 4 * RATE_HZ] = 0
    total = np.concatenate([np.zeros(fade), np.cumsum(gain, dtype=np.float64)])
    return ((total[fade:] - total[:-fade]) / fade).astype(np.float32)


def played(
    music: Music, rng: np.random.Generator, program: int, length: int, low: int, beat: int, busy: float
) -> Sound:
    """A sampled instrument: notes of a scale, single or in chords, loud and soft, with bars of rest."""
    import tinysoundfont

    synth = tinysoundfont.Synth(gain=-6, samplerate=RATE_HZ)
    synth.program_select(0, synth.sfload(str(music.font)), 0, program)
    root, events = low + int(rng.integers(0, 7)), []
    chord, free = bool(rng.random() < 0.4), dict[int, int]()  # when a key has died away; a voice cut short clicks
    for at in range(0, length - beat, beat):
        bar = at // (8 * beat)
        if rng.random() > busy or bar % 6 == 5:
            continue
        hold = int(beat * rng.choice([0.4, 0.9, 1.0, 2.0, 4.0]))
        loud = int(np.clip(rng.normal(85 if bar % 4 < 2 else 105, 14), 20, 127))
        for step in (0, 2, 4) if chord else (0,):
            key = root + SCALE[(int(rng.integers(0, 7)) + step) % 7] + 12 * int(rng.random() < 0.2)
            if free.get(key, 0) <= at:
                events += [(at, 1, key, loud), (at + hold, 0, key, 0)]
                free[key] = at + hold + 3 * RATE_HZ
    out, done = np.zeros(length, np.float32), 0
    for when, on, key, loud in [*sorted(events), (length, 0, 0, 0)]:
        if (upto := min(length, max(done, when))) > done:
            out[done:upto] = np.frombuffer(synth.generate(upto - done), np.float32)[::2]
            done = upto
        if key:
            synth.noteon(0, key, loud) if on else synth.noteoff(0, key)
    return out


@cache
def _speech(voice: str, text: str) -> Sound:
    done = subprocess.run(["espeak-ng", "--stdout", "-v", voice, "-s", "155", text], capture_output=True, check=True)
    sound, rate_hz = soundfile.read(io.BytesIO(done.stdout), dtype="float32")
    return soxr.resample(sound, rate_hz, RATE_HZ).astype(np.float32)


def talk(music: Music, rng: np.random.Generator, length: int, *, share: float = 0.6) -> Sound:
    """Somebody talks with pauses, close to the microphone: every plosive puffs into it."""
    out, at = np.zeros(length, np.float32), int(rng.integers(0, RATE_HZ))
    voices = VOICES[music.half]
    voice = voices[rng.integers(len(voices))]
    while at < length:
        words = _speech(voice, LINES[rng.integers(len(LINES))])[: length - at]
        out[at : at + len(words)] += words
        for start in np.flatnonzero(np.diff((np.abs(words) > 0.05).astype(int)) > 0)[::400]:
            if rng.random() < 0.4:
                puff = np.hanning(2 * int(rng.integers(400, 1400)))
                puff = (puff * np.sin(np.linspace(0, rng.uniform(1.5, 4) * np.pi, len(puff)))).astype(np.float32)
                end = min(length, at + start + len(puff))
                out[at + start : end] += 0.5 * puff[: end - at - start] * np.float32(rng.uniform(0.3, 1))
        at += len(words) + int(RATE_HZ * rng.uniform(0.5, 8 * (1 - share) + 1))
    return out


def applause(music: Music, rng: np.random.Generator, length: int) -> Sound:
    """An audience: grains of a recording of applause, swelling and dying, murmur in between."""
    path = next(iter(sorted(music.samples.rglob("applause.ogg"))))
    clip = _sample(path)
    out = np.zeros(length, np.float32)
    for at in range(0, length - 12_000, 3000):
        start = int(rng.integers(0, len(clip) - 12_000))
        grain = clip[start : start + 12_000] * np.hanning(12_000).astype(np.float32)
        swell = 0.5 - 0.5 * np.cos(2 * np.pi * at / (RATE_HZ * 17.0))
        out[at : at + 12_000] += grain * np.float32(swell**3 + 0.01)
    return out


def square(rng: np.random.Generator, length: int, beat: int, low_hz: float = 55.0) -> Sound:
    """A synthesiser straight from its digital output: pulse waves of changing width, silence to the bit in between."""
    out = np.zeros(length, np.float32)
    for at in range(0, length - beat, beat):
        if rng.random() < 0.7:
            hold = int(beat * rng.choice([0.5, 0.8, 0.97]))
            hz, duty = low_hz * 2 ** (rng.integers(0, 25) / 12), rng.choice([0.5, 0.25, 0.12])
            note = np.where((hz * np.arange(hold) / RATE_HZ) % 1 < duty, 1.0, -1.0) * rng.uniform(0.3, 1)
            out[at : at + hold] = note * np.minimum(1, np.arange(hold)[::-1] / rng.choice([1, 48, 480]))
    return out


def sub(rng: np.random.Generator, length: int, beat: int) -> Sound:
    """Tones at the bottom of hearing, gliding, cut off at will."""
    out = np.zeros(length, np.float32)
    for at in range(0, length - 4 * beat, 4 * beat):
        hold = int(beat * rng.uniform(1, 3.8))
        hz = rng.uniform(28, 60) * np.exp(-np.arange(hold) / RATE_HZ * rng.choice([0, 0.3]))
        fall = np.exp(-np.arange(hold) / RATE_HZ / rng.uniform(0.3, 3))
        out[at : at + hold] = np.sin(2 * np.pi * np.cumsum(hz) / RATE_HZ) * fall * np.minimum(1, np.arange(hold) / 96)
        out[at : at + hold] *= np.minimum(1, np.arange(hold)[::-1] / 480)
    return out


def machine_kick(rng: np.random.Generator, length: int, beat: int) -> Sound:
    """A drum machine's long kick: a decaying tone with a sharp start."""
    out = np.zeros(length + 2 * RATE_HZ, np.float32)
    time = np.arange(2 * RATE_HZ) / RATE_HZ
    for at in range(0, length, 2 * beat):
        tone = np.sin(2 * np.pi * (48 * time + 4 * (1 - np.exp(-time * 60)))) * np.exp(-time / rng.uniform(0.15, 0.7))
        out[at : at + len(tone)] += tone.astype(np.float32) * np.float32(rng.uniform(0.6, 1))
    return out[:length]


def driven(sound: Sound, gain: float) -> Sound:
    """An amplifier driven hard, as a microphone hears it behind its loudspeaker."""
    hot = np.tanh(gain * sound / max(1e-6, float(np.abs(sound).max())))
    hot = lfilter([0.25], [1, -0.75], lfilter([0.35], [1, -0.65], hot))
    return (hot - lfilter([0.01], [1, -0.99], hot)).astype(np.float32)


def feedback(rng: np.random.Generator, length: int) -> Sound:
    """A tone that grows until somebody turns it down."""
    out = np.zeros(length, np.float32)
    for at in range(0, length - 6 * RATE_HZ, 9 * RATE_HZ):
        time = np.arange(6 * RATE_HZ) / RATE_HZ
        swell = np.exp(-np.abs(time - rng.uniform(2, 4)) * rng.uniform(1.5, 4))
        out[at : at + len(time)] += swell * np.sin(2 * np.pi * rng.uniform(200, 4000) * time)
    return out


def brushes(rng: np.random.Generator, length: int, beat: int) -> Sound:
    """Noise that is swept around and tapped."""
    noise = rng.normal(0, 1, length)
    swell = 0.15 + (0.5 + 0.5 * np.cos(2 * np.pi * np.arange(length) / (2 * beat))) ** 2
    tap = np.exp(-(np.arange(length) % (2 * beat)) / 900) * 2
    return (lfilter([1, -0.9], [1, -0.3], noise) * (swell + tap)).astype(np.float32) * np.float32(0.1)


def handling(rng: np.random.Generator, length: int) -> Sound:
    """A stand that is touched and a foot on its base: low bumps and scrapes."""
    out = np.zeros(length, np.float32)
    for _ in range(int(length / RATE_HZ / 6)):
        at, size = int(rng.integers(0, length - RATE_HZ)), int(rng.integers(2000, 20_000))
        time = np.arange(size) / RATE_HZ
        bump = np.sin(2 * np.pi * rng.uniform(12, 70) * time) * np.exp(-time / rng.uniform(0.01, 0.08))
        scrape = lfilter([1], [1, -0.8], rng.normal(0, 0.03, size)) * np.hanning(size)
        out[at : at + size] += ((bump + scrape) * rng.uniform(0.1, 1)).astype(np.float32)
    return out


def gated(sound: Sound) -> Sound:
    """Sound behind a gate: silence to the bit between phrases, opened fast and shut softly."""
    loud = np.abs(sound) > 0.02 * np.abs(sound).max()
    last = np.maximum.accumulate(np.where(loud, np.arange(len(sound)), -9999))
    gain = lfilter([0.01], [1, -0.99], (np.arange(len(sound)) - last < 4800).astype(np.float64))
    return (sound * np.where(gain > 1e-3, gain, 0)).astype(np.float32)


def _band(music: Music, rng: np.random.Generator, n: int, beat: int) -> list[Part]:
    over = hits(music, rng, "cymbal", n, 4 * beat, 0.6) + hits(music, rng, "hat", n, beat // 2, 0.8)
    return [
        Part("Kick", hits(music, rng, "kick", n, beat, 0.6)),
        Part("Snare", hits(music, rng, "snare", n, 2 * beat, 0.9)),
        Part("OH L", over + 0.02 * rng.normal(0, 0.01, n).astype(np.float32), peak_dbfs=-14),
        Part("Bass DI", played(music, rng, int(rng.choice([33, 34, 36])), n, 28, beat // 2, 0.8), mic=False),
        Part("Guitar amp", driven(played(music, rng, int(rng.choice([27, 29, 30])), n, 40, beat // 2, 0.7), 8)),
        Part("Keys L", played(music, rng, int(rng.choice([4, 16, 18])), n, 48, 2 * beat, 0.8), mic=False),
        Part("Lead vocal", played(music, rng, 53, n, 55, beat, 0.5) + 0.5 * talk(music, rng, n, share=0.3)),
        Part("Audience", applause(music, rng, n), peak_dbfs=-18),
    ]


def _acoustic(music: Music, rng: np.random.Generator, n: int, beat: int) -> list[Part]:
    shaker = hits(music, rng, "hat", n, beat // 4, 0.9)
    programs = ((40, 55), (21, 55), (24, 40), (32, 28), (73, 67), (105, 48))
    names = ("Fiddle", "Accordion", "Guitar", "Double bass", "Flute", "Banjo")
    parts = [
        Part(name, played(music, rng, program, n, low, beat // 2, rng.uniform(0.4, 0.95)), peak_dbfs=-12)
        for name, (program, low) in zip(names, programs, strict=True)
    ]
    return [*parts, Part("Tambourine", shaker), Part("Caller", talk(music, rng, n))]


def _electronic(music: Music, rng: np.random.Generator, n: int, beat: int) -> list[Part]:
    vocal = gated(talk(music, rng, n) + played(music, rng, 54, n, 57, beat, 0.4))
    return [
        Part("Synth lead", square(rng, n, beat // 2, 220.0), mic=False, peak_dbfs=-8, noise_dbfs=-200),
        Part("Synth bass", square(rng, n, beat // 2), mic=False, noise_dbfs=-95),
        Part("Sub", sub(rng, n, beat), mic=False, peak_dbfs=-6, noise_dbfs=-110),
        Part("Machine", machine_kick(rng, n, beat), mic=False, peak_dbfs=-6, noise_dbfs=-200),
        Part("Saw pad", played(music, rng, 81, n, 48, 4 * beat, 0.8), mic=False, noise_dbfs=-98),
        Part("Loops", loop(music, rng, n), mic=False, noise_dbfs=-96),
        Part("Wireless vocal", vocal, mic=False, noise_dbfs=-200),
        Part("Claps", hits(music, rng, "clap", n, 2 * beat, 0.7), mic=False),
    ]


def _winds(music: Music, rng: np.random.Generator, n: int, beat: int) -> list[Part]:
    rows = (
        ("Trumpet", 56, 58), ("Saxophone", 65, 53), ("Clarinet", 71, 55), ("Strings", 48, 48),
        ("Contrabass", 43, 28), ("Cello", 42, 40), ("Timpani", 47, 36),
    )  # fmt: skip
    parts = [
        Part(label, played(music, rng, program, n, low, beat, rng.uniform(0.4, 0.9)), peak_dbfs=-13)
        for label, program, low in rows
    ]
    return [*parts, Part("Room", 0.3 * applause(music, rng, n), peak_dbfs=-16)]


def _hard(music: Music, rng: np.random.Generator, n: int, beat: int) -> list[Part]:
    quiet = played(music, rng, 0, n, 48, 8 * beat, 0.25)
    return [
        Part("Guitar amp", driven(played(music, rng, 30, n, 40, beat // 4, 0.9), 60)),
        Part("Fuzz", np.sign(played(music, rng, 29, n, 40, beat, 0.7)) * 0.5 + 0.1 * rng.normal(0, 1, n), peak_dbfs=-7),
        Part("Floor monitor spill", feedback(rng, n) + 0.3 * talk(music, rng, n)),
        Part("Brushes", brushes(rng, n, beat), peak_dbfs=-20),
        Part("Kicked stand", handling(rng, n) + 0.4 * talk(music, rng, n)),
        Part("Toms", hits(music, rng, "tom", n, beat, 0.5)),
        Part("Piano", quiet, peak_dbfs=-15, noise_dbfs=-84),
        Part("Cymbals", hits(music, rng, "cymbal", n, 8 * beat, 0.9)),
    ]


STYLES: tuple[Callable[[Music, np.random.Generator, int, int], list[Part]], ...] = (
    _band, _acoustic, _electronic, _winds, _hard,
)  # fmt: skip


def take(music: Music, number: int, length_s: float) -> dict[str, Sound]:
    """Return a take: every track as it reaches its converter, re full scale, before it is rounded."""
    rng = np.random.default_rng([music.half, number])
    n = round(length_s * RATE_HZ)
    parts = STYLES[number % len(STYLES)](music, rng, n, int(RATE_HZ * 60 / rng.uniform(80, 150)))
    dry = [part.sound / max(1e-6, float(np.abs(part.sound).max())) for part in parts]
    heard: dict[str, Sound] = {}
    for place, part in enumerate(parts):
        own = dry[place].astype(np.float32).copy()
        if part.mic:
            for other, sound in enumerate(dry):
                if other != place and parts[other].mic:
                    late = int(rng.integers(100, 1700))
                    gain = np.float32(10 ** (rng.uniform(-38, -20) / 20))
                    own[late:] += gain * lfilter([0.3], [1, -0.7], sound[: n - late]).astype(np.float32)
        own *= np.float32(10 ** ((part.peak_dbfs + rng.uniform(-4, 4)) / 20) / max(1e-6, float(np.abs(own).max())))
        noise = rng.normal(0, 10 ** (part.noise_dbfs / 20) / np.sqrt(2), n) if part.noise_dbfs > -150 else 0.0
        corner = np.exp(-2 * np.pi * rng.uniform(2, 15) / RATE_HZ)
        coupled = lfilter([1, -1], [1, -corner], own) if part.noise_dbfs > -150 else own
        heard[part.label] = (coupled + noise).astype(np.float32)
    return heard
