"""The signal drawing: symbols, plugs and phantom, from the paths of the demo's real plan."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from sheets import pdf
from sheets.example import PRINTED

from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import show_recipes
from fieldfare.sheets.head import Setting
from fieldfare.sheets.signal import COLUMNS, Drawn, SignalSheet, signal_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.show.plan import Plan
from fieldfare.show.toml import ShowFolder, read_show

DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo"


@pytest.fixture(scope="module")
def read() -> ShowFolder:
    return read_show(DEMO)


@pytest.fixture(scope="module")
def plan(read: ShowFolder) -> Plan:
    return make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(read.folder), explain=False)


@pytest.fixture(scope="module")
def sheet(read: ShowFolder, plan: Plan) -> SignalSheet:
    return signal_sheet(Setting(plan, read.show, read.venue, "a4", "C", PRINTED), read.kit)


def _drawn(sheet: SignalSheet, label: str) -> list[Drawn]:
    row = next(row for row in sheet.rows if row.strip.label == label)
    return [symbol for cell in row.cells for symbol in cell]


def test_every_channel_is_drawn_from_its_source_to_its_track(sheet: SignalSheet, plan: Plan) -> None:
    assert [int(row.strip.number) for row in sheet.rows] == sorted(row.channel for row in plan.input)
    for row in sheet.rows:
        assert len(row.cells) == len(COLUMNS)
        symbols = [symbol.symbol for cell in row.cells for symbol in cell]
        assert symbols[0] in ("mic", "output")
        assert symbols[-1] == "converter"
        assert symbols.count("converter") == 1


def test_a_condenser_needs_phantom_a_ribbon_never_and_the_preamp_feeds_it(sheet: SignalSheet) -> None:
    assert _drawn(sheet, "Overhead left")[0].phantom == "needs 48 V"
    assert [one.phantom for one in _drawn(sheet, "Overhead left") if one.symbol == "preamp"] == ["48 V"]
    assert _drawn(sheet, "Clarinet")[0].phantom == "never 48 V"
    assert "48 V" not in [one.phantom for one in _drawn(sheet, "Clarinet")[1:]]


def test_a_lead_shows_socket_and_pin_and_how_many_conductors_lead_the_signal(sheet: SignalSheet) -> None:
    (cable,) = [one for one in _drawn(sheet, "Kick") if one.symbol == "lead"]
    assert (cable.takes, cable.gives, cable.conductors) == ("hole", "pin", "2")
    into_di = next(one for one in _drawn(sheet, "Upright bass DI") if one.symbol == "lead")
    assert (into_di.takes, into_di.gives, into_di.conductors) == ("pin", "pin", "1")


def test_an_isolated_split_is_a_transformer_with_the_house_behind_it(sheet: SignalSheet) -> None:
    row = next(row for row in sheet.rows if row.strip.label == "Lead vocal")
    assert [one.symbol for one in row.cells[1]] == ["transformer"]
    assert row.cells[1][0].blocks
    assert [one.symbol for one in row.house] == ["lead", "preamp"]


def test_what_one_hop_gives_the_next_takes(plan: Plan) -> None:
    """The threads with their ports are the graph: every joint of a plan without a stop fits."""
    for row in plan.input:
        for thread in (row.thread, row.house_thread):
            ports = [(one.gives, other.takes) for one, other in pairwise(thread)]
            for gives, takes in ports:
                if gives and takes:
                    assert gives.end in takes.fits or takes.end in gives.fits, (row.label, gives.id, takes.id)


def test_the_drawing_says_tags_and_lengths(sheet: SignalSheet) -> None:
    text = pdf.all_words(typeset("signal", sheet, PRINTED))
    for words in ("M-01", "green, 5 m", "splitter, transformer isolated", "needs 48 V", "house preamp behind"):
        assert words in text
