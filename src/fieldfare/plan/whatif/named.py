"""What has died, in the fewest words: a bank is named by its first and last channel, what is alike is counted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from fieldfare.plan.choice.stock import natural
from fieldfare.show.whatif import Lost, Outcome


def dead_words(dead: Sequence[str]) -> str:
    """Name all that is dead at once.

    >>> dead_words(("channel 5", "channel 6", "channel 7", "channel 8"))
    'channels 5 to 8'
    >>> dead_words(("M-07", "line 5"))
    'M-07, line 5'
    """
    return ", ".join(_together(dead))


def alike_words(outcomes: Iterable[Outcome]) -> str:
    """Name all that is cured alike.

    >>> alike_words(Outcome(dead=(f"line {number}",)) for number in (1, 2, 3, 7, 8))
    'lines 1 to 3, 7, 8'
    """
    return ", ".join(_together([dead_words(one.dead) for one in outcomes]))


def losses(outcomes: Iterable[Outcome]) -> tuple[tuple[str, tuple[Lost, ...]], ...]:
    """Put together what loses the same inputs, in the order in which they come: what dies, what is lost."""
    found: dict[tuple[Lost, ...], list[Outcome]] = {}
    for one in outcomes:
        found.setdefault(one.lost, []).append(one)
    return tuple(
        (alike_words(sorted(ones, key=lambda one: natural(one.dead[0]))), lost) for lost, ones in found.items()
    )


def _together(words: Sequence[str]) -> Iterator[str]:
    """Write numbers of one thing as spans behind its plural, at the place of the first; leave tags alone."""
    numbers: dict[str, list[int]] = {}
    for word in words:
        head, _, number = word.rpartition(" ")
        if head and number.isdecimal():
            numbers.setdefault(head, []).append(int(number))
    told: set[str] = set()
    for word in words:
        head, _, number = word.rpartition(" ")
        if head not in numbers or len(numbers[head]) == 1 or not number.isdecimal():
            yield word
        elif head not in told:
            told.add(head)
            yield f"{head}s {_spans(numbers[head])}"


def _spans(numbers: Iterable[int]) -> str:
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a} to {b}" if b > a + 1 else f"{a}, {b}" for a, b in runs)
