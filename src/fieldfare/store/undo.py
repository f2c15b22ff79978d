"""Undo over revisions of which none is ever taken away: going back makes one more, saying what an earlier one said.

What undo and redo lead to is told from the digests alone, so that it is the same after a restart and on every device.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fieldfare.store.revisions import Revision


@dataclass(frozen=True, slots=True)
class Steps:
    """Where undo and redo lead; None where there is nowhere to go."""

    back: Revision | None
    forward: Revision | None


def steps(history: Iterable[Revision]) -> Steps:
    """Tell where undo and redo lead, from all revisions in order.

    A revision that says what the last but one said undid it; one that then says what was undone did it again.
    """
    done: list[Revision] = []
    undone: list[Revision] = []
    for one in history:
        if len(done) > 1 and one.digest == done[-2].digest:
            undone.append(done.pop())
        elif undone and one.digest == undone[-1].digest:
            done.append(undone.pop())
        else:
            done.append(one)
            undone.clear()
    return Steps(done[-2] if len(done) > 1 else None, undone[-1] if undone else None)
