"""Undo and redo over revisions that only ever grow."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from fieldfare.store.revisions import Revision, letter_of
from fieldfare.store.undo import steps


def _history(says: str) -> list[Revision]:
    now = dt.datetime(2026, 12, 4, tzinfo=dt.UTC)
    return [Revision("show", "x", n, letter_of(n), one, {}, now) for n, one in enumerate(says, start=1)]


def _says(says: str) -> tuple[str, str]:
    found = steps(_history(says))
    return found.back.digest if found.back else "", found.forward.digest if found.forward else ""


def test_back_leads_to_the_one_before_and_on_from_there() -> None:
    assert _says("a") == ("", "")
    assert _says("abc") == ("b", "")
    assert _says("abcb") == ("a", "c")
    assert _says("abcba") == ("", "b")


def test_redo_leads_forward_again_until_something_else_is_done() -> None:
    assert _says("abcbab") == ("a", "c")
    assert _says("abcbabc") == ("b", "")
    assert _says("abcbd") == ("b", "")


@given(st.lists(st.sampled_from("<>"), max_size=30))
def test_any_walk_back_and_forth_stays_on_the_three_that_were_made(walk: list[str]) -> None:
    says, at = "abc", 2
    for step in walk:
        found = steps(_history(says))
        to = found.back if step == "<" else found.forward
        wanted = at + (-1 if step == "<" else 1)
        if 0 <= wanted <= 2:
            assert to is not None
            assert to.digest == "abc"[wanted]
            says, at = says + to.digest, wanted
        else:
            assert to is None
