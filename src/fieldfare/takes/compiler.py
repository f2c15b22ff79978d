"""The compiler library for inner loops: whether it is there, and how loops are compiled by it."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from functools import cache
from typing import TypeVar, cast

Loop = TypeVar("Loop", bound=Callable[..., object])


@cache
def has_compiler() -> bool:
    """Tell whether the library is there; some systems have none, and loops are done with arrays."""
    return importlib.util.find_spec("numba") is not None


def compiled(loop: Loop) -> Loop:
    """Compile a loop, once for all processes on this kind of processor, to run beside other threads."""
    from numba import njit

    return cast(Loop, njit(cache=True, nogil=True, error_model="numpy")(loop))
