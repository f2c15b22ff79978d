"""What the bytes of a recording without a head tell of how they are laid out. Offers for a person to choose from.

The top byte of a sample is calm and its lowest is noise, so the size of a sample shows in how the bytes repeat. A
sample is much like the next of its own channel and little like its neighbours', so the number of channels shows in the
distance at which samples resemble one another. The rate shows nowhere and has to be known; and which end of a sample
stands first shows too little to be offered unless files beside it have it so.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.mend.kinds import other_kind
from fieldfare.takes.wave import Form, Head, make_form, unpack
from fieldfare.takes.wave.source import View, open_readonly
from fieldfare.units.faults import Fault

_WINDOWS = 24  # places looked at
_LIVELIEST = 8  # of them that count
_WINDOW_BYTES = 12 << 15  # a multiple of every sample size
_AHEAD_BYTES = 12 << 12  # where a head may be, which is no audio
_MOST_CHANNELS = 64
_STARTS = (0, 12, 44, 48, 68, 80, *(1 << power for power in range(9, 21)))
_SEARCH_BYTES = 1 << 20
_FALLING = 0.5  # from its lowest byte to its top a sample only gets calmer, give or take this [bit]
_AS_GOOD, _WORSE = 0.02, 0.1  # likenesses that count as the same; and as out of the question
_ALIKE, _MARGIN, _CALM_BITS = 0.5, 0.15, 2.0  # from which on each kind of evidence counts in full
_CHANCE_BITS = 0.25  # text and what is packed seem so much calmer at times: it counts for nothing
_NEVER_SURE = 0.9  # the most that bytes alone are believed
_FITTING, _NOT_FITTING = 0.95, 0.3
_OFFERED, _WORTH = 3, 0.05


@dataclass(frozen=True, slots=True)
class Offer:
    """One way that the bytes may be laid out, and what speaks for it."""

    data_start: int
    channels: int
    bits: int
    is_float: bool
    rate_hz: int | None  # known only where other files tell it
    confidence: float  # 0 to 1
    why: str
    big_endian: bool = False  # known only where other files tell it


def offers(path: Path, beside: Sequence[Head] = ()) -> tuple[Offer, ...]:
    """Return ways that a recording without a head may be laid out, the best founded first.

    Parameters
    ----------
    path
        The recording.
    beside
        Heads of other files of the same recorder, which may tell what this one no longer does.

    Returns
    -------
    None, where the bytes tell nothing: silence, or what is no plain audio.

    Raises
    ------
    Fault
        The file cannot be read, or holds something else than audio.
    """
    with open_readonly(path) as file:
        view = View(file)
        if what := other_kind(view):
            raise Fault(f"holds {what}, not samples", str(path), "name the recording, or another copy of it")
        windows = _windows(view)
        if not windows:
            return ()
        size, phase, calm = _sample_size(windows)
        found = _start(view, size, phase)
    form = make_form(1, 1, 8 * size, is_float=size == 4 and _is_float(windows, phase))
    seen = _Seen(found, form, calm, _likeness(windows, form, phase))
    made = [*_by_neighbours(seen, beside), *_by_bytes(seen)]
    worth = [offer for offer in made if offer.confidence >= _WORTH]
    return tuple(sorted(worth, key=lambda offer: -offer.confidence))


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was made out from the bytes."""

    start: int
    form: Form  # of one channel; its rate means nothing
    calm: float  # how much calmer the top byte is than the lowest [bit]
    like: NDArray[np.float64]  # by number of channels

    @property
    def spoken(self) -> float:
        """How clearly the bytes are those of samples, from 0 to 1: of what is coded, packed or written none is calm."""
        return min(max(self.calm - _CHANCE_BITS, 0) / (_CALM_BITS - _CHANCE_BITS), 1)

    def rival(self, channels: int) -> float:
        """The most that samples resemble each other at a distance that does not fit the channels."""
        return max((float(one) for place, one in enumerate(self.like) if place and place % channels), default=0.0)


def _start(view: View, size: int, phase: int) -> int:
    """Where audio starts: at its chunk if found, else at the last usual place before the first byte that is not 0."""
    ahead = view.at(0, _SEARCH_BYTES)
    place = ahead.find(b"data")
    if place >= 0 and (place + 8) % size == phase:
        return place + 8
    usual = [one for one in _STARTS if one % size == phase]
    if ahead[:4] in (b"RIFF", b"RF64", b"BW64"):
        return next((one for one in usual if one >= 44), phase)
    silent = len(ahead) - len(ahead.lstrip(b"\0"))
    return max((one for one in usual if one <= silent), default=phase)


def _windows(view: View) -> list[NDArray[np.uint8]]:
    """Read stretches spread over the file, each from a place that all sample sizes divide; return the liveliest."""
    step = max(view.size // _WINDOWS // 12 * 12, _WINDOW_BYTES)
    first = _AHEAD_BYTES if view.size > 4 * _AHEAD_BYTES else 0
    windows = [np.frombuffer(view.at(at, _WINDOW_BYTES), np.uint8) for at in range(first, view.size, step)]
    windows = [window[: len(window) // 12 * 12] for window in windows]
    lively = [window for window in windows if 4 * np.count_nonzero(window) > len(window) > 0]
    return sorted(lively, key=lambda window: -_entropy(window) * len(window))[:_LIVELIEST]


def _entropy(values: NDArray[np.uint8]) -> float:
    """Bits of surprise per byte."""
    share = np.bincount(values, minlength=256) / max(len(values), 1)
    share = share[share > 0]
    return float(-(share * np.log2(share)).sum())


def _noise(together: NDArray[np.uint8], size: int) -> list[float]:
    """Bits of surprise of each byte of samples of a size; a byte that is always 0 is a low one that carries nothing."""
    bytes_of = [together[phase::size] for phase in range(size)]
    return [_entropy(one) if one.any() else 8.0 for one in bytes_of]


def _calm(noise: Sequence[float]) -> tuple[float, int]:
    """How much calmer the top byte is than the lowest, and which phase samples start at."""
    contrast = [noise[phase] - noise[phase - 1] for phase in range(len(noise))]
    best = int(np.argmax(contrast))
    return contrast[best], best


def _sample_size(windows: Sequence[NDArray[np.uint8]]) -> tuple[int, int, float]:
    """Return bytes of a sample, the phase they start at, and how clearly that shows."""
    together = np.concatenate(windows)
    noise = {size: _noise(together, size) for size in (2, 3, 4)}
    first = _calm(noise[4])[1]
    if noise[4][(first + 1) % 4] < noise[4][(first + 2) % 4] - _FALLING:  # calm comes twice: two samples of 16 bits
        del noise[4]
    best = max(noise, key=lambda size: _calm(noise[size])[0])
    calm, phase = _calm(noise[best])
    return best, phase, calm


def _is_float(windows: Sequence[NDArray[np.uint8]], phase: int) -> bool:
    """Whether the top bytes of 32-bit samples are exponents below 1 rather than small whole numbers."""
    top = np.concatenate([window[(phase + 3) % 4 :: 4] for window in windows]) & 0x7F
    return bool(np.mean((top >= 0x30) & (top <= 0x40)) > 0.5)


def _likeness(windows: Sequence[NDArray[np.uint8]], form: Form, phase: int) -> NDArray[np.float64]:
    """How much samples resemble the next of their channel, for each number of channels there may be."""
    total = np.zeros(_MOST_CHANNELS + 1)
    for window in windows:
        whole = (len(window) - phase) // form.sample_bytes * form.sample_bytes
        flat = unpack(window[phase : phase + whole].tobytes(), form).ravel().astype(np.float64)
        flat[~np.isfinite(flat)] = 0
        total[1:] += [_along_lanes(flat, channels) for channels in range(1, _MOST_CHANNELS + 1)]
    like: NDArray[np.float64] = total / len(windows)
    return like


def _along_lanes(flat: NDArray[np.float64], channels: int) -> float:
    """Mean correlation of each lane with itself one frame on."""
    lanes = flat[: len(flat) // channels * channels].reshape(-1, channels)
    lanes = lanes - lanes.mean(axis=0)
    power = (lanes * lanes).sum(axis=0)
    live = power > 0
    if not live.any():
        return 0.0
    product = (lanes[1:] * lanes[:-1]).sum(axis=0)
    return float((product[live] / power[live]).mean())


def _by_bytes(seen: _Seen) -> list[Offer]:
    """Offer what the bytes themselves tell: the fewest channels that fit as well as any, then what fits worse."""
    most = float(seen.like.max())
    first = int(np.argmax(seen.like >= most - _AS_GOOD))
    others = [int(one) for one in np.argsort(-seen.like) if one % first and seen.like[one] > 0] if first else []
    made = []
    for channels in [first, *others[: _OFFERED - 1]] if first else []:
        why = (
            f"the bytes repeat every {seen.form.sample_bytes}; samples resemble those {channels} on by "
            f"{seen.like[channels]:.2f}, and by at most {seen.rival(channels):.2f} at distances that do not fit"
        )
        form, sure = seen.form, round(_confidence(seen, channels), 2)
        made.append(Offer(seen.start, channels, form.bits, form.is_float, None, sure, why))
    return made


def _confidence(seen: _Seen, channels: int) -> float:
    """How far to believe in a number of channels: alike enough, nowhere else, the best there is, the size clear."""
    like, best = float(seen.like[channels]), float(seen.like.max())
    return (
        _NEVER_SURE
        * min(like / _ALIKE, 1)
        * min(max((like - seen.rival(channels)) / _MARGIN, 0), 1)
        * max(1 - (best - like) / _WORSE, 0)
        * seen.spoken
    )


def _by_neighbours(seen: _Seen, beside: Sequence[Head]) -> list[Offer]:
    """Offer what most other files of the recorder have, if the bytes do not speak against it."""
    forms = Counter(
        (head.channels, head.rate_hz, head.bits, head.is_float, head.sample_bytes, head.data_start, head.coding)
        for head in beside
        if head.channels and head.in_place
    )
    if not forms:
        return []
    (channels, rate_hz, bits, is_float, sample_bytes, start, coding), count = forms.most_common(1)[0]
    fits = sample_bytes == seen.form.sample_bytes and (is_float == seen.form.is_float or coding == "big end first")
    big_endian = coding == "big end first"
    why = f"{count} of {len(beside)} files beside it are like that{', big end first' if big_endian else ''}"
    why += ", and the bytes fit it" if fits else f", but the bytes look like {seen.form.bits} bits"
    in_step = not big_endian and seen.start % sample_bytes == start % sample_bytes
    placed = seen.start if in_step and seen.start > start else start
    sure = round(seen.spoken * (_FITTING if fits else _NOT_FITTING), 2)
    return [Offer(placed, channels, bits, is_float, rate_hz, sure, why, big_endian)]
