"""What a show keeps of its offloads: a night of two cards is one night."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path
from typing import Any

import pytest
from takes.offload_kit import discs, far, make_card
from takes.wave.handmade import noise

from fieldfare.show.findings import OffloadReport
from fieldfare.show.plan import Plan
from fieldfare.takes.offload import offload
from fieldfare.takes.offload.checked import offload_show
from fieldfare.takes.offload.kept import copies_name, copies_of, keep_report, kept_report
from fieldfare.takes.tracks import Listener
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import Fault

NAMED: dict[str, Any] = {"title": "Two cards", "date": dt.date(2026, 12, 4)}  # all that the copies' name asks
PLAN = Plan.model_construct(**NAMED)


def _second_card(folder: Path) -> Path:
    card = folder / "later" / "CARD"
    (card / "TAKE 02").mkdir(parents=True)
    write_whole(card / "TAKE 02" / "01 track.wav", 48_000, 24, noise(2_000, 1, 9))
    return card


def _offloaded(show: Path, card: Path, roots: list[Path]) -> OffloadReport:
    listener = Listener()
    report = offload(card, roots, name=copies_name(PLAN), measure=listener, disk=far())
    keep_report(show, PLAN, report.model_copy(update={"take": listener.reports(card, None, 50.0)}))
    kept = kept_report(show)
    assert kept is not None
    return kept


def test_a_second_card_is_kept_beside_the_first(tmp_path: Path) -> None:
    first, second, roots = make_card(tmp_path), _second_card(tmp_path), discs(tmp_path)
    one = _offloaded(tmp_path, first, roots)
    both = _offloaded(tmp_path, second, roots)
    assert both.complete
    assert {file.path for file in both.file} == {file.path for file in one.file} | {"TAKE 02/01 track.wav"}
    assert [take.take.split(" /")[0] for take in both.take] == [*(take.take for take in one.take), "TAKE 02"]
    again = _offloaded(tmp_path, second, roots)  # nothing is told twice
    assert (again.file, again.complete) == (both.file, True)


def test_what_the_first_card_lacks_is_not_forgotten_over_the_second(tmp_path: Path) -> None:
    first, second, roots = make_card(tmp_path), _second_card(tmp_path), discs(tmp_path)
    (roots[0] / copies_name(PLAN)).mkdir()
    (roots[0] / copies_name(PLAN) / "notes.txt").write_text("another night's notes")
    assert not _offloaded(tmp_path, first, roots).complete
    both = _offloaded(tmp_path, second, roots)
    assert not both.complete
    assert [one.split(" ")[0] for one in both.missing] == ["notes.txt"]
    (roots[0] / copies_name(PLAN) / "notes.txt").unlink()
    assert _offloaded(tmp_path, first, roots).complete


def test_copies_that_are_gone_and_other_places_are_not_carried_on(tmp_path: Path) -> None:
    first, second, roots = make_card(tmp_path), _second_card(tmp_path), discs(tmp_path)
    _offloaded(tmp_path, first, roots)
    for root in roots:
        shutil.rmtree(root / copies_name(PLAN) / "TAKE 01")
    kept = _offloaded(tmp_path, second, roots)
    assert "TAKE 01" not in [take.take for take in kept.take]
    assert not any(file.path.startswith("TAKE 01") for file in kept.file)
    elsewhere = [root / "card-2" for root in roots]
    for place in elsewhere:
        place.mkdir()
    assert len(_offloaded(tmp_path, second, elsewhere).file) == 1


def test_a_report_that_nobody_can_read_is_put_aside_and_said(tmp_path: Path) -> None:
    """Once it stopped every later offload at its end, with the advice to offload again."""
    first, roots = make_card(tmp_path), discs(tmp_path)
    (tmp_path / "takes").mkdir()
    (tmp_path / "takes" / "offload.json").write_text('{"file": [', "utf-8")
    plan = Plan.model_construct(**NAMED, input=(), rate_hz=48_000, bits=24)
    told = offload_show(first, roots, tmp_path, plan, 50.0, same_device=True)
    assert "could not be read and is now offload (damaged).json" in told.notes[-1]
    assert kept_report(tmp_path) == told
    assert (tmp_path / "takes" / "offload (damaged).json").read_text("utf-8") == '{"file": ['


def test_copies_are_found_from_another_folder_than_they_were_made_from(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Offloaded at night beside the card, the songs looked for in the morning from the folder of shows."""
    card, roots = make_card(tmp_path), discs(tmp_path)
    monkeypatch.chdir(tmp_path)
    plan = Plan.model_construct(**NAMED, input=(), rate_hz=48_000, bits=24)
    report = offload_show(card, [Path(root.name) for root in roots], tmp_path, plan, 50.0, same_device=True)
    assert report.destination == tuple(str(root) for root in roots)
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    assert copies_of(tmp_path, plan) == roots[0] / copies_name(plan)
    for root in roots:
        shutil.rmtree(root)
    with pytest.raises(Fault, match=r"none of the places it was offloaded to is there: .*LEFT and .*RIGHT; connect"):
        copies_of(tmp_path, plan)
