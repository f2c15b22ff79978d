"""The inner loops of a mix: compiled where the compiler library is there, with arrays where it is not."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.compiler import has_compiler
from fieldfare.takes.wave.samples import Samples

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


class Kernels(Protocol):
    """What `loops` and `arrays` both hold; more about each is said there."""

    def strip(self, x: Samples, section: F64, state: F64, course: F64, hop: int, sides: F64, out: F32) -> None:
        """Filter one track and add it to the mix."""

    def strip_pair(
        self, x: Samples, z: Samples, sections: F64, states: F64, courses: F64, hop: int, sides: F64, out: F32
    ) -> None:
        """Filter two tracks and add them to the mix."""

    def limit(self, x: F32, first: int, course: F32, hop: int, gain: float, out: F32) -> None:
        """Send samples through the limiter."""


def kernels(compiled: bool | None = None) -> Kernels:
    """Return the inner loops; the compiled ones where they can be had, unless told otherwise."""
    if has_compiler() if compiled is None else compiled:
        from fieldfare.takes.rough import loops

        return loops
    from fieldfare.takes.rough import arrays

    return arrays
