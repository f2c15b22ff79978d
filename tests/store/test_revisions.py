"""Revisions: one for every change, none for a save without one, and never a letter twice."""

from __future__ import annotations

import datetime as dt
import string
from itertools import product
from pathlib import Path

import pytest

from fieldfare.show.toml import read_show
from fieldfare.store.revisions import history, latest, letter_of, save_revision
from fieldfare.store.store import Store
from fieldfare.units.faults import NotDone

DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo"


def test_letters_go_on_after_z_as_on_any_drawing() -> None:
    letters = string.ascii_uppercase
    expected = [*letters, *("".join(two) for two in product(letters, repeat=2)), "AAA", "AAB"]
    assert [letter_of(number) for number in range(1, len(expected) + 1)] == expected


def test_only_a_change_is_a_new_revision(store: Store) -> None:
    first = save_revision(store, "show", "dance", {"crew": 1, "note": "ä\u0000"})
    again = save_revision(store, "show", "dance", {"note": "ä\u0000", "crew": 1})
    changed = save_revision(store, "show", "dance", {"crew": 2})
    back = save_revision(store, "show", "dance", {"crew": 1, "note": "ä\u0000"})
    assert again == first
    assert [(one.number, one.letter) for one in (first, changed, back)] == [(1, "A"), (2, "B"), (3, "C")]
    assert back.digest == first.digest
    assert history(store, "show", "dance") == (first, changed, back)
    assert latest(store, "show", "dance") == back


def test_documents_are_kept_apart_by_kind_and_name(store: Store) -> None:
    for kind, name in (("show", "dance"), ("show", "fair"), ("kit", "dance")):
        assert save_revision(store, kind, name, {"of": name}).letter == "A"
    assert latest(store, "kit", "fair") is None
    assert history(store, "kit", "fair") == ()


def test_the_digest_of_the_documents_decides_where_it_is_given(store: Store) -> None:
    digest = "0" * 64
    assert save_revision(store, "show", "dance", {"written": 1}, digest).letter == "A"
    assert save_revision(store, "show", "dance", {"written": 2}, digest).body == {"written": 1}
    assert save_revision(store, "show", "dance", {"written": 2}, "1" * 64).letter == "B"


def test_a_whole_show_comes_back_as_it_was(store: Store) -> None:
    demo = read_show(DEMO)
    body = {"show": demo.show.model_dump(mode="json"), "kit": demo.kit.model_dump(mode="json")}
    before = dt.datetime.now(dt.UTC)
    save_revision(store, "show", demo.show.title, body, demo.digest)
    kept = latest(store, "show", demo.show.title)
    assert kept
    assert type(demo.show).model_validate(kept.body["show"]) == demo.show
    assert type(demo.kit).model_validate(kept.body["kit"]) == demo.kit
    assert kept.digest == demo.digest
    assert before <= kept.saved_at <= dt.datetime.now(dt.UTC)
    assert kept.saved_at.utcoffset() == dt.timedelta(0)


def test_what_the_database_refuses_changes_nothing(store: Store) -> None:
    save_revision(store, "show", "dance", {})
    with pytest.raises(NotDone, match=r"the database says: .*(?i:null)"):
        save_revision(store, "show", None, {})  # type: ignore[arg-type]
    assert len(history(store, "show", "dance")) == 1
