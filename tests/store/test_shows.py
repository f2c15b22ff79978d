"""A show is one revision a change, whoever saves it: its letter stands on the sheets."""

from __future__ import annotations

import shutil
from pathlib import Path

from fieldfare.show.toml import read_show
from fieldfare.store.revisions import history
from fieldfare.store.shows import KIND, save_show
from fieldfare.store.store import open_store

SMALL = Path(__file__).parent.parent / "show" / "cases" / "small"


def test_a_change_in_any_document_gets_the_next_letter_and_no_change_none(url: str, tmp_path: Path) -> None:
    folder = shutil.copytree(SMALL, tmp_path / "show")
    with open_store(url) as store:
        assert [save_show(store, read_show(folder)) for _ in range(2)] == ["A", "A"]
        venue = folder / "venue.toml"
        venue.write_text(venue.read_text("utf-8").replace('name = "', 'name = "The other ', 1), "utf-8")
        assert save_show(store, read_show(folder)) == "B"
        kept = history(store, KIND, read_show(folder).show.title)
    assert [sorted(one.body) for one in kept] == [["kit", "show", "venue"]] * 2
