"""Faults put into tracks as physics makes them, without regard to how anybody looks for them.

Each function takes a generator and a track as it reaches its converter, re full scale, and returns the damaged track
and its places, or nothing where the track has no fit place: what falls into silence is not heard. What is heard is
judged by ear's measure: a hole or a jump has to stand out by 6 dB from the sound above 1 kHz around it, in 3 ms against
60 ms, or take away sound of at least −45 dBFS; hum has to lie less than 60 dB under the loud parts and above the noise
in the pauses; a step of level has to be 3 dB in what sounds before and after it; tops that are cut have to add treble
that what is there does not mask. A knob and phantom power stand on a preamp: what is quieter at times than any
converter's noise comes from a digital source, and has neither.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

RATE_HZ = 48_000
Sound = NDArray[np.float32]
Rng = np.random.Generator


class Damage(NamedTuple):
    """A damaged track, and where: first sample and the one after the last; none for all of it."""

    sound: Sound
    places: tuple[tuple[int, int], ...] = ()
    amount: str = ""


Injector = Callable[[Rng, Sound], Damage | None]


def rms_db(part: Sound) -> float:
    """Level so that a full-scale sine reads 0."""
    return 10 * float(np.log10(2 * np.mean(np.square(part, dtype=np.float64)) + 1e-20))


def lively(rng: Rng, sound: Sound, size: int, least_dbfs: float = -40.0) -> int | None:
    """Return a place with sound all through: in the middle, and 20 ms before and after."""
    for _ in range(200):
        at = int(rng.integers(RATE_HZ, len(sound) - size - RATE_HZ))
        around = (sound[at - 960 : at], sound[at : at + 960], sound[at + size : at + size + 960])
        if all(rms_db(part) > least_dbfs for part in around):
            return at
    return None


def _bright(part: Sound) -> Sound:
    """What lies above about 1 kHz."""
    low = lfilter([0.12], [1, -0.88], part)
    return (part - low).astype(np.float32)


def stands_out(sound: Sound, damaged: Sound, at: int, end: int) -> bool:
    """Whether what was added is heard over what is around it."""
    new = _bright((damaged - sound)[max(0, at - 480) : end + 480])
    around = _bright(sound[max(0, at - 1440) : end + 1440])
    strongest = max(rms_db(new[first : first + 144]) for first in range(0, len(new), 72))
    return strongest > rms_db(around) + 6 and strongest > -70


def zeros(rng: Rng, sound: Sound) -> Damage | None:
    """A transfer from the converter comes too late, and its block stays zero. Any length from 0.3 to 300 ms."""
    size = int(np.exp(rng.uniform(np.log(16), np.log(14_400))))
    at = lively(rng, sound, size)
    if at is None:
        return None
    out = sound.copy()
    out[at : at + size] = 0
    return Damage(out, ((at, at + size),), f"{size}") if stands_out(sound, out, at, at + size) else None


def held(rng: Rng, sound: Sound) -> Damage | None:
    """The same, but the converter's last sample is held."""
    size = int(np.exp(rng.uniform(np.log(32), np.log(4800))))
    at = lively(rng, sound, size)
    if at is None:
        return None
    out = sound.copy()
    out[at : at + size] = out[at - 1]
    return Damage(out, ((at, at + size),), f"{size}") if stands_out(sound, out, at, at + size) else None


def again(rng: Rng, sound: Sound) -> Damage | None:
    """A ring of buffers is read before it was filled anew: a block comes twice, or three times."""
    size = int(rng.choice([48, 64, 96, 128, 192, 256, 441, 480, 512, 1024, 2048]))
    times = int(rng.choice([1, 1, 1, 2]))
    at = lively(rng, sound, size * times)
    if at is None:
        return None
    out = sound.copy()
    for turn in range(times):
        out[at + turn * size : at + (turn + 1) * size] = sound[at - size : at]
    place = (at, at + times * size)
    return Damage(out, (place,), f"{size}") if stands_out(sound, out, *place) else None


def ticks(rng: Rng, sound: Sound) -> Damage | None:
    """A tick: a wrong bit for one sample, or a spark that rings out within a millisecond."""
    out = sound.copy()
    at = int(rng.integers(RATE_HZ, len(sound) - RATE_HZ))
    height = 10 ** (rng.uniform(-35, -3) / 20) * rng.choice([-1, 1])
    if rng.random() < 0.5:
        out[at] = np.clip(out[at] + height, -1, 1)
        end = at + 1
    else:
        time = np.arange(96) / RATE_HZ
        ring = np.exp(-time / rng.uniform(0.00004, 0.0003)) * np.cos(2 * np.pi * rng.uniform(500, 8000) * time)
        out[at : at + 96] += (height * ring).astype(np.float32)
        end = at + 96
    return Damage(np.clip(out, -1, 1), ((at, end),)) if stands_out(sound, out, at, end) else None


def contact(rng: Rng, sound: Sound) -> Damage | None:
    """A plug that makes contact now and then: for some seconds its resistance jumps, and every opening sparks."""
    size = int(RATE_HZ * rng.uniform(2, 8))
    at = lively(rng, sound, size)
    if at is None:
        return None
    gain, spark, place = np.ones(size), np.zeros(size), 0
    while place < size:
        place += int(rng.exponential(RATE_HZ * rng.uniform(0.02, 0.1)))
        hold = max(2, int(rng.exponential(RATE_HZ * 0.002)))
        if place < size:
            gain[place : place + hold] = rng.choice([0.0, rng.uniform(0, 0.7)])
            spark[place : min(size, place + 1)] += rng.uniform(0.02, 0.25) * rng.choice([-1, 1])
            spark[min(size - 1, place + hold)] += rng.uniform(0.02, 0.25) * rng.choice([-1, 1])
    noise = lfilter([1, -1], [1, -0.6], lfilter([1], [1, -0.5], spark))
    out = sound.copy()
    out[at : at + size] = out[at : at + size] * gain + noise
    out = np.clip(out, -1, 1)
    return Damage(out, ((at, at + size),)) if stands_out(sound, out, at, at + size) else None


def ground_loop(rng: Rng, sound: Sound) -> Damage | None:
    """Mains in the shield: 50 or 60 Hz that wanders a little, with its odd multiples strongest, some with a buzz."""
    mains = float(rng.choice([50, 60])) * (1 + rng.uniform(-0.002, 0.002))
    wander = 0.01 * np.sin(2 * np.pi * np.arange(len(sound)) / (RATE_HZ * rng.uniform(20, 90)))
    phase = 2 * np.pi * np.cumsum(mains + wander) / RATE_HZ
    odd, even = rng.uniform(0.2, 0.9, 12), rng.uniform(0.02, 0.4, 12)
    hum = np.sin(phase)
    turn = np.exp(1j * (phase % (2 * np.pi))).astype(np.complex64)
    wave = turn.copy()
    for number in range(2, 12):
        wave *= turn
        strength = (odd if number % 2 else even)[number] / number**0.5
        hum += strength * (wave * np.exp(1j * rng.uniform(0, 6))).imag
    level_db = rng.uniform(-75, -35)
    frames = [rms_db(sound[first : first + 9600]) for first in range(0, len(sound) - 9600, 9600)]
    loud, pause = float(np.percentile(frames, 95)), float(np.percentile(frames, 5))
    if level_db < loud - 60 or level_db < pause + 3 or level_db > loud - 6:
        return None
    hum *= 10 ** (level_db / 20) / np.sqrt(2 * np.mean(hum**2))
    return Damage((sound + hum).astype(np.float32), (), f"{level_db:.0f} dBFS")


def offset(rng: Rng, sound: Sound) -> Damage | None:
    """A leaking capacitor."""
    level_db = rng.uniform(-56, -20)
    return Damage((sound + rng.choice([-1, 1]) * 10 ** (level_db / 20)).astype(np.float32), (), f"{level_db:.0f} dBFS")


def knob(rng: Rng, sound: Sound) -> Damage | None:
    """Somebody presses a pad, turns a knob, or a stepped gain jumps, and it stays so: 3 to 20 dB up or down."""
    at = lively(rng, sound, 4800)
    if at is None or not 11 * RATE_HZ < at < len(sound) - 11 * RATE_HZ:
        return None
    step_db = rng.uniform(3, 20) * rng.choice([-1, 1])
    size = int(rng.choice([1, 48, 480, 4800]))
    course = np.ones(len(sound)) * 10 ** (step_db / 20)
    course[:at] = 1
    course[at : at + size] = 10 ** (np.linspace(0, step_db, size) / 20)
    out = sound * course
    if step_db > 0:  # whoever turns up had it too low before
        out *= 10 ** (-step_db / 20)
    if rng.random() < 0.5:
        out[at : at + 96] += 0.05 * np.exp(-np.arange(96) / 12) * rng.choice([-1, 1])
    if not has_preamp(sound) or not has_preamp(out):
        return None
    return Damage(out.astype(np.float32), ((at, at + size),), f"{step_db:+.0f} dB")


def has_preamp(sound: Sound) -> bool:
    """Whether it never bends less for 10 ms than the noise of a good converter, −120 dBFS: what does has no gain."""
    bends = np.diff(sound.astype(np.float64), n=2)
    power = np.mean(np.square(bends[: len(bends) // 480 * 480].reshape(-1, 480)), axis=1) / 6  # white noise makes six
    return 10 * float(np.log10(2 * np.min(power) + 1e-20)) > -120


def phantom(rng: Rng, sound: Sound) -> Damage | None:
    """Phantom power is switched, or a plug is pulled under it: coupling capacitors charge through their resistors."""
    at = int(rng.integers(RATE_HZ, len(sound) - 4 * RATE_HZ))
    size = 3 * RATE_HZ
    time = np.arange(size) / RATE_HZ
    fall_s, rise_s = rng.uniform(0.03, 0.5), rng.uniform(0.0002, 0.004)
    thump = np.exp(-time / fall_s) - np.exp(-time / rise_s)
    corner = np.exp(-2 * np.pi * rng.uniform(0.3, 3) / RATE_HZ)
    thump = lfilter([1, -1], [1, -corner], thump)
    thump *= rng.choice([-1, 1]) * 10 ** (rng.uniform(-14, 3) / 20) / np.abs(thump).max()
    around = sound[at - 4800 : at + 9600]
    if np.abs(around).max() > 0.7 * np.abs(thump).max() or not has_preamp(sound):
        return None
    out = sound.copy()
    out[at : at + size] += thump.astype(np.float32)
    return Damage(np.clip(out, -1, 1), ((at, at + int(2 * fall_s * RATE_HZ)),), f"{1000 * fall_s:.0f} ms")


def radio(rng: Rng, sound: Sound) -> Damage | None:
    """A radio loses its carrier: hiss until the squelch closes, silence, and back, with or without a tail of hiss."""
    size = int(RATE_HZ * np.exp(rng.uniform(np.log(0.03), np.log(1.5))))
    at = lively(rng, sound, size, -38.0)
    if at is None:
        return None
    hiss = rng.random() < 0.7
    if not hiss and np.mean(sound == 0) > 0.02:  # a gate's own silence is the same
        return None
    out, fade = sound.copy(), max(1, int(RATE_HZ * rng.uniform(0.0005, 0.003)))
    gain = np.zeros(size)
    gain[:fade], gain[size - fade :] = np.linspace(1, 0, fade), np.linspace(0, 1, fade)
    out[at : at + size] = out[at : at + size] * gain + rng.normal(0, 10 ** (rng.uniform(-110, -96) / 20), size)
    if hiss:
        loud = 10 ** (rng.uniform(-20, -8) / 20)
        for start, most in ((at, 0.04), (at + size, 0.02)):
            burst = int(RATE_HZ * rng.uniform(0.004, most))
            if start == at or rng.random() < 0.5:
                start -= 0 if start == at else burst
                noise = lfilter([0.8], [1, -0.2], rng.normal(0, loud, burst))
                out[start : start + burst] += noise.astype(np.float32)
    return Damage(np.clip(out, -1, 1).astype(np.float32), ((at, at + size),), "hiss" if hiss else "mute")


def too_hot(rng: Rng, sound: Sound) -> Damage | None:
    """The converter is driven 1 to 12 dB over full scale."""
    loudest = np.sort(np.abs(sound))[-200]
    over_db = rng.uniform(1, 12)
    hot = sound / loudest * 10 ** (over_db / 20)
    out = np.clip(hot, -1, 1 - 2**-23).astype(np.float32)
    return Damage(out, (), f"{over_db:.0f} dB") if _is_rougher(hot, out) else None


def _is_rougher(sound: Sound, cut: Sound) -> bool:
    """Whether cutting added treble that is heard: less than 20 dB under what there is.

    Treble that is added where there is treble 20 dB louder is masked by it: a noise masks a tone 6 dB and a tone a
    noise some 18 dB under itself, by the models of audio coders (values from memory). What a change of level and an
    offset explain within 20 ms, less than any note, is not rough: a square wave that is cut only gets softer by note.
    """
    size = RATE_HZ // 50
    whole = len(cut) // size * size
    before, after = (one[:whole].reshape(-1, size).astype(np.float64) for one in (sound, cut))
    before, after = (one - one.mean(axis=1, keepdims=True) for one in (before, after))
    gain = (before * after).sum(axis=1) / ((before**2).sum(axis=1) + 1e-12)
    rest = (after - gain[:, np.newaxis] * before).ravel().astype(np.float32)
    return rms_db(_bright(rest)) >= rms_db(_bright(cut)) - 20


def flat_tops(rng: Rng, sound: Sound) -> Damage | None:
    """A stage before the converter runs out of level: tops are cut at its rails, more or less squarely, 3 to 12 dB."""
    loudest = float(np.sort(np.abs(sound))[-200])
    rail = 10 ** (rng.uniform(-24, -2) / 20)
    hot = sound * (rail / loudest * 10 ** (rng.uniform(3, 12) / 20))
    low = -rail * rng.uniform(0.85, 1.0)
    cut = np.clip(hot, low, rail)
    if rng.random() < 0.5:  # the last per cent is rounded
        cut = np.where(hot > 0.97 * rail, rail * (0.97 + 0.03 * np.tanh((hot / rail - 0.97) / 0.03)), cut)
    if not _is_rougher(hot, cut):
        return None
    corner = np.exp(-2 * np.pi * rng.uniform(0.3, 2) / RATE_HZ)
    out = lfilter([1, -1], [1, -corner], cut) + rng.normal(0, 10 ** (-100 / 20), len(cut))
    return Damage(out.astype(np.float32), (), f"{20 * np.log10(rail):.0f} dBFS")


ON_ONE: dict[str, tuple[str, Injector]] = {  # what it is called here, the kind it is, and how it is done
    "zero block": ("dropout", zeros),
    "held sample": ("dropout", held),
    "block again": ("repeated block", again),
    "ticks": ("click", ticks),
    "bad contact": ("crackle", contact),
    "ground loop": ("hum", ground_loop),
    "offset": ("dc", offset),
    "gain jump": ("gain step", knob),
    "phantom thump": ("thump", phantom),
    "lost carrier": ("wireless dropout", radio),
    "over full scale": ("clipped", too_hot),
    "flat tops": ("clipped before the converter", flat_tops),
}


_STEP_BRIGHT = float(np.sqrt(2 / 144 / (1 - 0.88**2)))  # level of a step of 1 above 1 kHz, as `stands_out` sees it


def lost_block(rng: Rng, sounds: dict[str, Sound]) -> tuple[dict[str, Sound], int] | None:
    """A block of all tracks is never written: everything after it comes early. The jump has to be heard on three."""
    size = int(rng.choice([32, 64, 128, 256, 512, 1024, 2048]))
    at = rng.integers(RATE_HZ, len(next(iter(sounds.values()))) - RATE_HZ - size, 20_000)
    heard = np.zeros(len(at), int)
    for sound in sounds.values():
        power = np.cumsum(np.square(_bright(sound), dtype=np.float64))
        around_db = 10 * np.log10(2 * (power[at + 1536] - power[at - 1440]) / 2976 + 1e-20)
        step = np.abs(sound[at + size] - sound[at - 1]).astype(np.float64)
        new_db = 20 * np.log10(step * _STEP_BRIGHT + 1e-10)
        heard += (new_db > around_db + 6) & (new_db > -70)
    fit = np.flatnonzero(heard >= 3)
    if not len(fit):
        return None
    place = int(at[rng.choice(fit)])
    return {label: np.concatenate([one[:place], one[place + size :]]) for label, one in sounds.items()}, place


def doubled(rng: Rng, sound: Sound) -> Sound:
    """The same signal through another preamp: a little louder or softer, with noise of its own, maybe reversed."""
    gain = 10 ** (rng.uniform(-6, 6) / 20) * rng.choice([1, 1, 1, -1])
    return (sound * gain + rng.normal(0, 10 ** (-96 / 20), len(sound))).astype(np.float32)


def unplugged(rng: Rng, length: int) -> Sound:
    """Nothing but a preamp's noise, or that and what an open lead picks up."""
    out = rng.normal(0, 10 ** (rng.uniform(-100, -78) / 20), length)
    if rng.random() < 0.5:
        time = np.arange(length) / RATE_HZ
        mains = float(rng.choice([50, 60]))
        for number in (1, 2, 3, 5):
            out += 10 ** (rng.uniform(-70, -42) / 20) / number * np.sin(2 * np.pi * mains * number * time + number)
    return out.astype(np.float32)
