"""Sound that no fault was put into by the renderer's hand: speech from a synthesiser, and players made in a few lines.

Whoever writes the detector must not be whoever writes the fault, so nothing here comes from `takes.render`.
"""

from __future__ import annotations

import subprocess
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import soundfile
import soxr
from scipy.ndimage import maximum_filter1d, uniform_filter1d
from takes.measure.signals import RATE_HZ, Codes, Floats, codes, noise, seconds

from fieldfare.show.findings import FileState, Finding
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.takes.checks.check import Take, Track
from fieldfare.takes.checks.table import findings
from fieldfare.takes.measure import Gauge
from fieldfare.takes.wave import make_form, pack

_TEXT = (
    "Good evening, and welcome to the shed. The first dance is a reel: take your partners, form two lines, and mind "
    "the cables. Forward and back, turn by the right, and down the middle. Thank you. Is this thing on? One, two. "
)


@cache
def speech(peak_dbfs: float = -12.0, voice: str = "en", floor_dbfs: float = -75.0) -> Floats:
    """Return about 14 s of somebody talking, with the noise of a preamp under it."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "talk.wav"
        subprocess.run(["espeak-ng", "-v", voice, "-s", "150", "-w", str(path), _TEXT], check=True, capture_output=True)
        sound, rate_hz = soundfile.read(path)
    talk = soxr.resample(sound, rate_hz, RATE_HZ)
    talk = talk * 10 ** (peak_dbfs / 20) / np.abs(talk).max()
    return np.asarray(talk + noise(floor_dbfs, len(talk) / RATE_HZ, 7)[: len(talk)], np.float64)


def coupled(sound: Floats, corner_hz: float = 5.0) -> Floats:
    """Return sound as it comes through a coupling capacitor: a high-pass of first order."""
    spectrum, hz = np.fft.rfft(sound), np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    return np.asarray(np.fft.irfft(spectrum * (1j * hz / (corner_hz + 1j * hz)), len(sound)), np.float64)


@cache
def plucked(length_s: float = 20.0, peak_dbfs: float = -10.0, seed: int = 5, rest: float = 0.3) -> Floats:
    """Return a plucked string, note after note with rests: noise in a loop that loses its treble."""
    rng = np.random.default_rng(seed)
    out = np.zeros(round(length_s * RATE_HZ))
    at = 0
    while at < len(out) - RATE_HZ:
        period = int(rng.choice([436, 364, 327, 290, 245, 218]))
        count = int(rng.choice([9000, 18_000, 24_000]))
        if rng.random() > rest:
            loop = rng.uniform(-1, 1, period) * rng.uniform(0.3, 1)
            note = []
            for _ in range(count // period + 1):
                note.append(loop)
                loop = 0.994 * 0.5 * (loop + np.roll(loop, 1))
            out[at : at + count] += np.concatenate(note)[:count] * np.minimum(1, np.arange(count)[::-1] / 2400)
        at += count
    out = coupled(out)
    out *= 10 ** (peak_dbfs / 20) / np.abs(out).max()
    return out + noise(-85, length_s, seed + 1)


@cache
def drums(length_s: float = 20.0, peak_dbfs: float = -6.0, seed: int = 3) -> Floats:
    """Return a drum kit from close by: low thumps and noisy cracks with hard onsets."""
    rng = np.random.default_rng(seed)
    out = np.zeros(round(length_s * RATE_HZ))
    for beat, at in enumerate(range(2000, len(out) - 24_000, 12_000)):
        time = np.arange(20_000) / RATE_HZ
        if beat % 2:
            hit = rng.normal(0, 0.35, 20_000) * np.exp(-time * 25) + np.sin(2 * np.pi * 190 * time) * np.exp(-time * 30)
        else:
            hit = np.sin(2 * np.pi * (55 * time + 3 * (1 - np.exp(-time * 40)))) * np.exp(-time * 9)
        out[at : at + 20_000] += hit * rng.uniform(0.5, 1) * np.minimum(1, (time[-1] - time) / 0.05)
    out = coupled(out)
    out *= 10 ** (peak_dbfs / 20) / np.abs(out).max()
    return out + noise(-80, length_s, seed + 1)


@cache
def square_synth(length_s: float = 20.0, peak_dbfs: float = -9.0) -> Floats:
    """Return a synthesiser's square wave, straight from its digital output: notes of different loudness, with rests."""
    rng = np.random.default_rng(8)
    out = np.zeros(round(length_s * RATE_HZ))
    for at in range(0, len(out) - 20_000, 12_000):
        hz, loud = rng.choice([55.0, 82.4, 110.0, 146.8]), rng.uniform(0.25, 1)
        time = np.arange(10_000) / RATE_HZ
        out[at : at + 10_000] = loud * np.where((hz * time) % 1 < 0.5, 1.0, -1.0)
    return np.asarray(out * 10 ** (peak_dbfs / 20), np.float64)


def distorted_amp(length_s: float = 20.0) -> Floats:
    """Return a guitar amplifier driven hard, as a microphone hears it: clipped, then filtered by its loudspeaker."""
    driven = np.tanh(40 * plucked(length_s, -8, 11, 0.1))
    spectrum = np.fft.rfft(driven)
    hz = np.fft.rfftfreq(len(driven), 1 / RATE_HZ)
    speaker = 1 / np.sqrt((1 + (hz / 3500) ** 6) * (1 + (90 / np.maximum(hz, 1)) ** 4))
    heard = np.fft.irfft(spectrum * speaker * np.exp(-1j * np.arctan(hz / 1800)), len(driven))
    return np.asarray(0.3 * heard / np.abs(heard).max() + noise(-80, length_s, 2), np.float64)


def organ(length_s: float = 20.0) -> Floats:
    """Return an organ whose chord never changes: every peak as high as the last."""
    chord = sum(np.sin(2 * np.pi * hz * seconds(length_s)) for hz in (130.8, 164.8, 196.0, 261.6))
    return np.asarray(0.08 * chord + noise(-85, length_s, 4), np.float64)


def brushes(length_s: float = 20.0) -> Floats:
    """Return brushes on a drum: noise that swells and dies, steadily."""
    swell = 0.5 + 0.5 * np.sin(2 * np.pi * 2 * seconds(length_s))
    return np.asarray(noise(-30, length_s, 12) * swell + noise(-80, length_s, 13), np.float64)


def feedback(length_s: float = 20.0) -> Floats:
    """Return a microphone that begins to ring: a tone that grows until somebody turns it down, over speech."""
    time = seconds(length_s)
    ring = 0.4 * np.exp(-np.abs(time - 9) * 1.2) * np.sin(2 * np.pi * 1240 * time)
    return ring + np.resize(speech(-15), len(time))


def limited(sound: Floats, ceiling: float, ahead: int = 72, opens_s: float = 0.05) -> Floats:
    """Return sound behind a limiter that sees peaks coming, and opens again by 9 dB within some time."""
    need = np.log(np.maximum(1, maximum_filter1d(np.abs(sound), 2 * ahead + 1) / ceiling))
    opening = np.arange(len(sound)) * (9 / 8.686 / (opens_s * RATE_HZ))
    gain = uniform_filter1d(np.maximum.accumulate(need + opening) - opening, ahead)
    return np.asarray(np.clip(sound * np.exp(-gain), -ceiling, ceiling), np.float64)


def gated(sound: Floats, release_s: float = 0.003, attack_s: float = 0.0005, threshold_dbfs: float = -35) -> Floats:
    """Return sound as a wireless system's gate leaves it: digital silence between phrases, opened fast, shut softly."""
    hold = 4800
    loud = np.abs(sound) > 10 ** (threshold_dbfs / 20)
    last = np.maximum.accumulate(np.where(loud, np.arange(len(sound)), -hold - 1))
    is_open = np.arange(len(sound)) - last <= hold
    gain = np.zeros(len(sound))
    edges = np.flatnonzero(np.diff(is_open.astype(np.int8), prepend=0, append=0))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        gain[begin:end] = 1
        attack, release = min(round(attack_s * RATE_HZ), end - begin), min(round(release_s * RATE_HZ), end - begin)
        gain[begin : begin + attack] = np.linspace(0, 1, attack, endpoint=False)
        gain[end - release : end] = np.minimum(gain[end - release : end], np.linspace(1, 0, release))
    return sound * gain


def track(
    label: str, sound: Floats | Codes, bits: int = 24, planned: PlannedInput | None = None, late: int = 0
) -> Track:
    """Return a track measured from sound; whole numbers are taken as codes."""
    whole = np.issubdtype(sound.dtype, np.integer)
    samples = sound.astype(np.int32) if whole else codes(sound.astype(np.float64), bits)
    form = make_form(1, RATE_HZ, bits)
    gauge = Gauge(form)
    gauge.feed(pack(samples, form))
    state = FileState(
        path=f"{label.lower().replace(' ', '_')}.wav", bytes=44 + 3 * len(samples), container="WAV", channels=1,
        rate_hz=RATE_HZ, bits=bits, frames=len(samples), stated_frames=len(samples), header="good",
    )  # fmt: skip
    return Track(label, True, state, 1, gauge.result(), planned=planned, late=late)


def take(*tracks: Track, plan: Plan | None = None, missing: tuple[PlannedInput, ...] = ()) -> Take:
    """Return a take of tracks; the first one's length is the take's."""
    states = tuple(one.state for one in tracks)
    return Take("take 1", states, tracks, plan, RATE_HZ, tracks[0].channel.frames, tracks[0].state.bits, missing)


def told(sounds: Mapping[str, Floats | Codes], bits: int = 24) -> tuple[Finding, ...]:
    """Return what is found on tracks of these sounds, without a plan."""
    return findings(take(*(track(label, sound, bits) for label, sound in sounds.items())))
