"""What cells say: numbers as people in different countries write them, and never one number for another."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.show.cells import Unreadable, cell_value
from fieldfare.show.expected import Slot, slots
from fieldfare.show.kit import Box, Di, Mic, Recorder, Sundry

LENGTH = Slot(float, "length_m")

NUMBERS = [
    ("3", 3.0),
    ("0,30", 0.3),
    ("0.30", 0.3),
    ("0,305", 0.305),  # nothing parts thousands behind a zero
    ("2.400", 2.4),  # a point is a decimal point
    (",5", 0.5),
    ("-12,5", -12.5),
    ("−12.5", -12.5),
    ("+4", 4.0),
    ("1 000 000", 1e6),
    ("1 000 000", 1e6),
    ("1'000'000", 1e6),
    ("1.000.000", 1e6),
    ("1,000,000", 1e6),
    ("1.234,5", 1234.5),
    ("1,234.5", 1234.5),
    ("12,3456", 12.3456),
    ("1234,567", 1234.567),
    ("5 m", 5.0),
    ("5m", 5.0),
    ("0,5 metres", 0.5),
    (7.25, 7.25),
]


@pytest.mark.parametrize(("cell", "value"), NUMBERS, ids=str)
def test_a_number_in_any_writing(cell: str | float, value: float) -> None:
    assert cell_value(cell, LENGTH, ()) == value


@pytest.mark.parametrize(
    ("cell", "read", "remedy"),
    [
        ("1,234", '"1,234" may be 1234 or 1.234', "write 1234, or 1.234"),
        ("50,000", '"50,000" may be 50000 or 50.000', "write 50000, or 50.000"),
        ("500 cm", '"500 cm" is not in metres', "give a number in metres"),
        ("5 kg", '"5 kg" is not in metres', "give a number in metres"),
        ("long", '"long" is not a number', "give a number in metres"),
        ("3 5", '"3 5" is not a number', "give a number in metres"),
        ("9" * 400, f'"{"9" * 400}" is not a number', "give a number in metres"),
        ("1.2.3", '"1.2.3" is not a number', "give a number in metres"),
        ("1,23,456", '"1,23,456" is not a number', "give a number in metres"),
        ("12:30", '"12:30" is not a number', "give a number in metres"),
        ("٣,٤٥٦,٧٨٩", '"٣,٤٥٦,٧٨٩" is not a number', "give a number in metres"),
    ],
)  # fmt: skip
def test_what_could_be_read_in_two_ways_or_none_is_asked_about(cell: str, read: str, remedy: str) -> None:
    with pytest.raises(Unreadable, match=r"\S") as caught:
        cell_value(cell, LENGTH, ())
    assert caught.value.read == read
    assert caught.value.remedy == remedy


@given(st.floats(-1e6, 1e6).map(lambda number: round(number, 4)), st.sampled_from([".", ","]))
def test_a_number_never_becomes_another(number: float, point: str) -> None:
    """It is read as it was written, or asked about; never as anything else."""
    text = f"{number:.4f}".rstrip("0").rstrip(".").replace(".", point)
    try:
        value = cell_value(text, LENGTH, ())
    except Unreadable as asked:
        value = None
        assert "may be" in asked.read  # noqa: PT017 — either outcome is right, and this one has a condition
    assert value is None or value == number


@pytest.mark.parametrize(
    ("cell", "value"), [("yes", True), ("No", False), ("x", True), ("0", False), (True, True), (1.0, True)]
)
def test_yes_and_no(cell: str | bool | float, value: bool) -> None:
    assert cell_value(cell, slots(Di)["active"], ()) is value


def test_neither_yes_nor_no_is_asked_about() -> None:
    with pytest.raises(Unreadable, match="is neither yes nor no"):
        cell_value("perhaps", slots(Sundry)["each_show"], ())


@pytest.mark.parametrize(
    ("cell", "model", "field", "value"),
    [
        ("Supercardioid", Mic, "pattern", "supercardioid"),
        ("FIGURE OF EIGHT", Mic, "pattern", "figure of eight"),
        ("wavy", Mic, "pattern", "wavy"),  # left for the model to refuse, with the nearest
        (2.0, Di, "channels", 2),
        ("2", Di, "channels", 2),
        (57.0, Mic, "item", "57"),
        ("clip; windshield, sock", Mic, "comes_with", ["clip", "windshield", "sock"]),
        ("48000; 96000", Recorder, "rates_hz", [48000, 96000]),
        (48000.0, Recorder, "rates_hz", [48000]),
        ("M-01 + M-02; M-03&M-04", Mic, "pairs", [["M-01", "M-02"], ["M-03", "M-04"]]),
    ],
)
def test_other_cells(cell: str | float, model: type[Mic], field: str, value: object) -> None:
    assert cell_value(cell, slots(model)[field], ()) == value


@pytest.mark.parametrize(
    ("cell", "tags", "value"),
    [
        ("M-04: rattles", ("M-03", "M-04"), {"M-04": "rattles"}),
        ("M-03: dead; M-04: lead: crackles", ("M-03", "M-04"), {"M-03": "dead", "M-04": "lead: crackles"}),
        ("lead crackles", ("M-04",), {"M-04": "lead crackles"}),
        ("lead: crackles", ("M-04",), {"M-04": "lead: crackles"}),
        ("M-05: dead", ("M-03", "M-04"), {"M-05": "dead"}),  # a tag that is not there is told with the others
    ],
)
def test_symptoms_belong_to_units(cell: str, tags: tuple[str, ...], value: dict[str, str]) -> None:
    assert cell_value(cell, slots(Mic)["faulty"], tags) == value


@pytest.mark.parametrize(
    ("cell", "tags", "value"),
    [
        ("B-01: 2, 5; B-02: 1", ("B-01", "B-02"), {"B-01": [2, 5], "B-02": [1]}),
        ("2 5", ("B-01",), {"B-01": [2, 5]}),
    ],
)
def test_dead_places_belong_to_units(cell: str, tags: tuple[str, ...], value: dict[str, list[int]]) -> None:
    assert cell_value(cell, slots(Box)["dead"], tags) == value


@pytest.mark.parametrize("cell", ["2, 5", "B-01: all", "B-01:", "yes"])
def test_dead_places_without_unit_or_number_are_told(cell: str) -> None:
    with pytest.raises(Unreadable, match="write tag and numbers: B-01: 2, 5"):
        cell_value(cell, slots(Box)["dead"], ("B-01", "B-02"))


def test_a_symptom_of_one_of_several_needs_its_tag() -> None:
    with pytest.raises(Unreadable, match="write tag and symptom: M-03: rattles"):
        cell_value("rattles", slots(Mic)["faulty"], ("M-03", "M-04"))
