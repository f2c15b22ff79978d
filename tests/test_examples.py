"""Every example reads without a fault, plans feasibly and the same each time, and prints."""

from __future__ import annotations

import datetime as dt
from functools import cache
from pathlib import Path

import pytest

from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import show_recipes
from fieldfare.sheets.write import write_sheets
from fieldfare.show.plan import Plan
from fieldfare.show.toml import ShowFolder, read_show

EXAMPLES = sorted(path.parent for path in (Path(__file__).parent.parent / "examples").glob("*/show.toml"))
BRIEF = pytest.mark.parametrize("folder", EXAMPLES, ids=lambda folder: folder.name)


@cache
def _made(folder: Path) -> tuple[ShowFolder, Plan]:
    read = read_show(folder)
    return read, make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(folder), explain=False)


def test_there_are_very_different_jobs() -> None:
    assert {folder.name for folder in EXAMPLES} >= {
        "bookshop-duo",
        "ska-seven",
        "own-pa",
        "church-choir",
        "brass-forty",
    }
    sizes = {len(_made(folder)[1].input) for folder in EXAMPLES}
    assert min(sizes) <= 6
    assert max(sizes) >= 18


@BRIEF
def test_every_must_that_can_be_is_kept_and_no_unit_serves_twice(folder: Path) -> None:
    read, plan = _made(folder)
    assert plan.input
    assert all(goal.proven for goal in plan.goal)
    faulty = {tag for thing in read.kit.things for tag in thing.faulty}
    known = {tag for thing in read.kit.things for tag in thing.tags}
    seen: list[str] = []
    for row in plan.input:
        seen += [unit.tag for unit in (row.stand, row.splitter, *row.lead, *row.cable) if unit]
        if row.unit and row.di_channel is None:
            seen.append(row.unit.tag)
    seen += [f"{row.unit.tag} side {row.di_channel}" for row in plan.input if row.unit and row.di_channel]
    assert len(seen) == len(set(seen))
    tags = {tag.split(" side ")[0] for tag in seen}
    assert not faulty & tags
    assert tags <= known


@BRIEF
def test_lengths_channels_and_phantom_hold(folder: Path) -> None:
    read, plan = _made(folder)
    recorder = next(one for one in read.kit.recorder if one.good_tags)
    assert len({row.channel for row in plan.input}) == len(plan.input) <= plan.channels
    for row in plan.input:
        assert row.run.laid_m >= (row.run.needed.value or 0) - 1e-6, row.id
        if row.phantom_need == "needed" and row.phantom_owner == "ours":
            assert row.phantom, row.id
        if row.phantom_need == "harmful":
            assert not row.phantom, row.id
    banks: dict[int, set[bool]] = {}
    for row in plan.input:
        if row.preamp == recorder.good_tags[0] and row.preamp_channel:
            banks.setdefault((row.preamp_channel - 1) // recorder.phantom_bank, set()).add(row.phantom)
    assert all(len(states) == 1 for states in banks.values()), "one switch feeds a whole bank"


@BRIEF
def test_the_same_documents_give_the_same_plan(folder: Path) -> None:
    read, plan = _made(folder)
    again = make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(folder), explain=False)
    assert again.model_dump_json() == plan.model_dump_json()


@BRIEF
def test_the_sheets_are_written(folder: Path, tmp_path: Path) -> None:
    read, plan = _made(folder)
    printed = dt.datetime(2026, 11, 25, 12, 0)
    written = write_sheets(
        plan, read.show, read.venue, read.kit, tmp_path, paper="a4", revision="A", printed=printed,
        recipes=show_recipes(folder),
    )  # fmt: skip
    assert all(path.read_bytes().startswith(b"%PDF") for path in written)
