"""Remembering what a pure function found last, so that a plan made again after a small change is there at once."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from functools import lru_cache, wraps
from threading import Lock
from typing import ParamSpec, TypeVar, cast

Asked = ParamSpec("Asked")
Found = TypeVar("Found")


def remembered(most: int) -> Callable[[Callable[Asked, Found]], Callable[Asked, Found]]:
    """Let a pure function remember what it was asked last, told by equality, and what it found.

    Parameters
    ----------
    most
        How many answers it remembers; asked for more, it forgets the oldest. [1]

    Examples
    --------
    >>> @remembered(2)
    ... def doubled(number):
    ...     print("found anew")
    ...     return 2 * number
    >>> doubled(3) + doubled(3)
    found anew
    12
    """

    def remembering(function: Callable[Asked, Found]) -> Callable[Asked, Found]:
        kept: deque[tuple[object, Found]] = deque(maxlen=most)
        lock = Lock()

        @wraps(function)
        def asked(*args: Asked.args, **kwargs: Asked.kwargs) -> Found:
            question = (args, kwargs)
            with lock:
                before = list(kept)
            for one, answer in reversed(before):
                if one == question:
                    return answer
            found = function(*args, **kwargs)
            with lock:
                kept.append((question, found))
            return found

        asked.cache_clear = kept.clear  # type: ignore[attr-defined]  # as functools calls it, whom `noted` asks
        return asked

    return remembering


def noted(most: int) -> Callable[[Callable[Asked, Found]], Callable[Asked, Found]]:
    """Let a pure function of small things that can be hashed remember many answers.

    Parameters
    ----------
    most
        How many answers it remembers; asked for more, it forgets what it was not asked for longest. [1]

    Examples
    --------
    >>> @noted(2)
    ... def doubled(number):
    ...     print("found anew")
    ...     return 2 * number
    >>> doubled(3) + doubled(3)
    found anew
    12
    """

    def noting(function: Callable[Asked, Found]) -> Callable[Asked, Found]:
        return cast("Callable[Asked, Found]", lru_cache(most)(function))

    return noting
