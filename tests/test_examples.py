"""Every example reads without a fault, plans feasibly and the same each time, and prints."""

from __future__ import annotations

import datetime as dt
from functools import cache
from pathlib import Path

import pytest
from plan.verifier import faults

from fieldfare.plan.boxes import place_boxes
from fieldfare.plan.choice import choose
from fieldfare.plan.ground import ground
from fieldfare.plan.inputs import wanted_inputs
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import show_recipes
from fieldfare.plan.runs import joins_clear, lengths, needed_m
from fieldfare.sheets.head import Setting
from fieldfare.sheets.inputs import input_sheet
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
        "three-acts",
        "festival-64",
    }
    sizes = {len(_made(folder)[1].input) for folder in EXAMPLES}
    assert min(sizes) <= 6
    assert max(sizes) == 64


@BRIEF
def test_every_must_that_can_be_is_kept_and_no_unit_serves_twice(folder: Path) -> None:
    read, plan = _made(folder)
    assert plan.input
    assert all(goal.proven for goal in plan.goal)
    faulty = {tag for thing in read.kit.things for tag in thing.faulty}
    known = {tag for thing in read.kit.things for tag in thing.tags}
    seen: list[str] = []
    for row in plan.input:
        on_bar = row.stand and any(
            other.id == row.pair and other.stand == row.stand for other in plan.input[: row.number]
        )
        seen += [unit.tag for unit in (None if on_bar else row.stand, row.splitter, *row.lead, *row.cable) if unit]
        if row.unit and row.di_channel is None:
            seen.append(row.unit.tag)
    seen += [f"{row.unit.tag} side {row.di_channel}" for row in plan.input if row.unit and row.di_channel]
    assert len(seen) == len(set(seen))
    tags = {tag.split(" side ")[0] for tag in seen}
    assert not faulty & tags
    assert tags <= known


@BRIEF
def test_a_choice_from_the_same_documents_passes_the_verifier(folder: Path) -> None:
    read, _ = _made(folder)
    wanted = wanted_inputs(read.show, read.venue, show_recipes(folder))
    boxes = place_boxes(read.venue, read.show, read.kit, wanted)
    floor = ground(read.venue, [box.at for box in boxes] + [one.at[:2] for one in wanted])
    reach = lengths(floor, read.venue, wanted, {box.tag: box.at for box in boxes})
    needed, joins = needed_m(reach), joins_clear(floor, reach)
    choice = choose(
        wanted, read.kit, needed, show=read.show, venue=read.venue, joins_allowed=joins, explain=False
    )  # fmt: skip
    assert faults(choice, wanted, read.kit, needed, read.show, read.venue, joins) == []


@BRIEF
def test_no_name_is_worn_twice_and_both_sides_of_a_stereo_source_share_a_di(folder: Path) -> None:
    plan = _made(folder)[1]
    labels = [*(row.label for row in plan.input), *(row.label for row in plan.left_out)]
    assert len(labels) == len(set(labels))
    rows = {row.id: row for row in plan.input}
    for row in plan.input:
        if row.di_channel and row.pair in rows:
            assert row.unit == rows[row.pair].unit, f"{row.id} and {row.pair} hang on two boxes"


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


def test_a_show_without_a_trunk_has_none_to_lay_and_no_line_of_it() -> None:
    read, plan = _made(next(folder for folder in EXAMPLES if folder.name == "bookshop-duo"))
    assert not {"trunk", "boxes"} & {task.id for task in plan.day}
    sheet = input_sheet(Setting(plan, read.show, read.venue, "a4", "A", dt.datetime(2026, 11, 5, 12, 0)))
    assert not [row for row in sheet.rows if "trunk line" in row.notes]


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
