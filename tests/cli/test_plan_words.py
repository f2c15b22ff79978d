"""What the command plan says of inputs that share a row, of pairs that are left out and of changeovers."""

from __future__ import annotations

import datetime as dt

import pytest
from sheets import example

from fieldfare.cli.plan import say_input, say_plan
from fieldfare.show.plan import Changeover, LeftOut, LineChange, Plan
from fieldfare.units.working import Working


def _left_out(label: str, blocks: str, cure: str = "", shares: str = "") -> LeftOut:
    return LeftOut(
        id=label,
        label=label,
        source="It",
        importance="must",
        status="expected",
        blocks=blocks,
        cure=cure,
        shares=shares,
    )


def _plan() -> Plan:
    plan = example.example().plan
    host, other = plan.input[0], plan.input[1]
    lines = tuple(
        LineChange(number=row.number, track=row.label, before=before, after="Guest", how=how, box="B", socket=1)
        for row, before, how in ((host, "", "from the start"), (other, "Somebody", "stays"))
    )
    takes = Working(value=4.0, unit="min", formula="as played", source="PERTSolved")
    change = Changeover(
        before="One",
        after="Two",
        begins=dt.datetime(2026, 12, 4, 20),
        line=lines,
        takes=takes,
        there_is_min=15,
        enough="yes",
    )
    sides, cure = ("Hall left", "Hall right"), "2 more cables bring both sides back"
    left_out = (
        _left_out("Guest", f"shares line {host.number} with {host.label}; never both at once", shares=host.id),
        *(_left_out(side, "no cable is left", cure) for side in sides),
        *(_left_out(f"Tom {number}", "no cable is left", "one more cable brings it back") for number in (1, 2)),
    )
    return plan.model_copy(update={"left_out": left_out, "changeover": (change,)})


def _said(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def test_what_shares_a_row_is_not_told_as_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    say_plan(_plan(), "A")
    lodged, lost = _said(capsys).partition("On the line of another ")[2].split(" Left out ", 1)
    assert lodged.startswith("Guest (must): shares line ")
    assert "Guest (must)" not in lost


def test_an_input_on_the_line_of_another_opens_with_that_row(capsys: pytest.CaptureFixture[str]) -> None:
    plan = _plan()
    host = plan.input[0]
    say_input(plan, "guest")
    said = _said(capsys)
    assert said.startswith(f"{host.number} Guest: It shares line {host.number} with {host.label}; never both at once.")
    assert host.thread[-1].detail in said
    assert host.reason in said


def test_what_opens_and_is_not_recorded_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    say_input(_plan(), "Tom 1")
    assert _said(capsys) == "Tom 1 (must): It, not recorded Why no cable is left; one more cable brings it back."


def test_both_sides_of_a_pair_are_left_out_in_one_sentence_and_two_toms_in_two(
    capsys: pytest.CaptureFixture[str],
) -> None:
    say_plan(_plan(), "A")
    said = _said(capsys)
    assert "Hall left and Hall right (must): no cable is left; 2 more cables bring both sides back." in said
    assert all(f"Tom {number} (must): no cable is left; one more cable brings it back." in said for number in (1, 2))


def test_a_line_that_nothing_was_on_before_does_not_come_from_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    plan = _plan()
    first, second = plan.input[0].number, plan.input[1].number
    say_plan(plan, "A")
    said = _said(capsys)
    assert f"line {first} is Guest (from the start)" in said
    assert f"line {second} from Somebody to Guest (stays)" in said


def test_what_one_cure_brings_back_is_one_sentence_and_no_row_no_table(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a recorder everything is left out for one reason."""
    blocks, cure = "there is no recorder in the kit", "hire one"
    ranks = {"Kick": "must", "Tom": "want", "Voice": "must", "Hum": "nice"}
    lost = tuple(
        _left_out(label, blocks, cure).model_copy(update={"importance": rank}) for label, rank in ranks.items()
    )
    say_plan(_plan().model_copy(update={"input": (), "left_out": lost}), "A")
    said = _said(capsys)
    assert f"Left out Kick and Voice (must); Tom (want); Hum (nice): {blocks}; {cure}." in said
    assert "Mic or DI" not in said
    assert " rows; " not in said
