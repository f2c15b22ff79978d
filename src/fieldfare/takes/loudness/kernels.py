"""The inner loops of loudness: compiled where the compiler library is there, with arrays where it is not."""

from __future__ import annotations

from typing import Protocol

from fieldfare.takes.compiler import has_compiler
from fieldfare.takes.measure.grain import F32, F64, I64
from fieldfare.takes.wave.samples import Samples


class Kernels(Protocol):
    """What `loops` and `arrays` both hold; more about each is said there."""

    def weigh(self, x: Samples, filters: F64, state: F64, cuts: I64, out: F64) -> None:
        """Weigh samples and sum their squares."""

    def hop_peaks(self, x: F32, phases: F32, hop: int, out: F32) -> None:
        """Find the highest value between samples in every hop."""

    def highest(self, x: F32, phases: F32, bend: float, best: float) -> tuple[float, int]:
        """Find the highest value between samples."""


def kernels(compiled: bool | None = None) -> Kernels:
    """Return the inner loops; the compiled ones where they can be had, unless told otherwise."""
    if has_compiler() if compiled is None else compiled:
        from fieldfare.takes.loudness import loops

        return loops
    from fieldfare.takes.loudness import arrays

    return arrays
