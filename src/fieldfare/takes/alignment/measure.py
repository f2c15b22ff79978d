"""Measuring the delays of a take: from its tracks to a lag for each pair that shares a source."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from fieldfare.takes.alignment.hearing import Lag, lag_of, listen
from fieldfare.takes.alignment.spectra import Spectra, spectra_of
from fieldfare.takes.alignment.stretches import places_of, powers_of, silent, stretches_of
from fieldfare.takes.alignment.subjects import are_fellows, is_close, pairs_of, within_s
from fieldfare.takes.axis import Axis

Tell = Callable[[float], None]
_READ, _HEARD = 0.4, 0.3  # shares of the work


@dataclass(frozen=True)
class Gathered:
    """What a take is measured from: spectra of the stretches that are listened to, and which tracks are silent."""

    spectra: Spectra | None
    silent: tuple[bool, ...]

    @property
    def stretches(self) -> int:
        """How many there are."""
        return self.spectra.lines.shape[2] if self.spectra else 0


def gather(axis: Axis, tell: Tell | None = None) -> Gathered:
    """Choose the stretches of a take and transform them."""
    told = tell or (lambda share: None)
    places = places_of(axis)
    power = powers_of(axis, places)
    quiet = tuple(bool(one) for one in silent(power))
    told(_READ)
    starts = [places[number] for number in stretches_of(power, _sources(axis, quiet))]
    if not starts:
        return Gathered(None, quiet)
    return Gathered(spectra_of(axis, starts, lambda share: told(_READ + _HEARD * share)), quiet)


def _sources(axis: Axis, quiet: Sequence[bool]) -> list[int]:
    return [place for place, track in enumerate(axis.track) if is_close(track) and not quiet[place]]


def lags_of(axis: Axis, gathered: Gathered, tell: Tell | None = None) -> dict[tuple[int, int], Lag]:
    """Measure the lags of a take from what was gathered: of tracks a and b, by their places on the axis."""
    spectra, told = gathered.spectra, tell or (lambda share: None)
    sources, pairs = _sources(axis, gathered.silent), pairs_of(axis.track, gathered.silent)
    if spectra is None or not pairs:
        return {}
    fellows = {
        one: [other for other in sources if other != one and are_fellows(axis.track[one], axis.track[other])]
        for one in sources
    }

    def hear(b: int) -> dict[tuple[int, int], Lag]:
        others = [source for source in sources if source != b]
        hearing = listen(spectra, b, others, own=b in sources)
        of_own = listen(spectra, b, others) if fellows.get(b) else hearing
        found = {}
        for a in (one for one, other in pairs if other == b):
            heard = of_own if a in fellows.get(b, ()) else hearing
            lag = lag_of(heard, a, within_s(axis.track[a], axis.track[b]), fellows[a])
            if lag is not None:
                found[a, b] = lag
        return found

    lags: dict[tuple[int, int], Lag] = {}
    listeners = sorted({b for _, b in pairs})
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        for done, found in enumerate(pool.map(hear, listeners), 1):
            lags |= found
            told(_READ + _HEARD + (1 - _READ - _HEARD) * done / len(listeners))
    return lags
