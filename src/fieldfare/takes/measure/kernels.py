"""The inner loops to measure with: compiled where the compiler library is there, with arrays where it is not."""

from __future__ import annotations

from typing import Protocol

from fieldfare.takes.compiler import has_compiler
from fieldfare.takes.measure.grain import F32, F64, I32, I64, U8


class Kernels(Protocol):
    """What `loops` and `arrays` both hold; more about each is said there."""

    def take_24(
        self, packed: U8, channels: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32
    ) -> None:
        """Lay packed 24-bit frames out by channel and measure them."""

    def take(
        self, packed: I32, bits: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32
    ) -> None:
        """Lay whole numbers of other widths out by channel and measure them."""

    def take_float(
        self, packed: F32, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32
    ) -> int:
        """Lay floats out by channel and measure them."""

    def rail_runs(self, x: I32, spans: I64, rail: int, low: int, high: int, out: I64) -> int:
        """Find runs of samples at full scale."""

    def flat_runs(self, x: I32, spans: I64, low: int, high: int, out: I64) -> int:
        """Find runs of equal samples."""

    def repeats(
        self, x: I32, cells: I32, begin: int, end: int, first: int, low: int, high: int, gate: int, out: I64
    ) -> int:
        """Find blocks that stand twice."""

    def tops(
        self,
        x: I32,
        peaks: I32,
        begin: int,
        end: int,
        first: int,
        steps: F64,
        low: int,
        high: int,
        counts: I32,
        out: I64,
    ) -> int:
        """Look at the highest and the lowest peak of every top window."""

    def glimpses(self, x: I32, bends: I64, begin: int, first: int, window: F32, out: F32, at: I64) -> None:
        """Take the start of the bucket that bends least of every so many through a window."""

    def fold(self, cells: I32, first: int, per: int, scale: float, out: F32, at: int, count: int) -> None:
        """Sum cells to samples of the low band."""

    def totals(self, peaks: I32, sums: I64, begin: int, end: int, highest: I64, total: I64) -> None:
        """Add up each channel's buckets, and tell its highest magnitude."""

    def turns(self, sums: I64, begin: int, end: int, scale: float, out: F32, at: int) -> None:
        """Tell mean, power about it and mean bend of buckets."""

    def hisses(
        self, sums: I64, buckets: int, ahead: int, least: float, bright: float, later: int, fall: float, out: I64
    ) -> int:
        """Find buckets that are loud and bright, and soon followed by duller ones."""

    def lines(self, spectra: F32, places: I64, at: I64, near: F32, beside: F32) -> None:
        """Find the highest bin of every line in every spectrum, and what is around it."""

    def bend_sums(self, row: I32, first: int, block: int, out: I64) -> None:
        """Sum the bends of one block after another."""

    def clicks(self, x: I32, spans: I64, low: int, high: int, out: I64) -> int:
        """Find the sharpest bend of each span."""


def kernels(compiled: bool | None = None) -> Kernels:
    """Return the inner loops; the compiled ones where they can be had, unless told otherwise."""
    if has_compiler() if compiled is None else compiled:
        from fieldfare.takes.measure import loops

        return loops
    from fieldfare.takes.measure import arrays

    return arrays
