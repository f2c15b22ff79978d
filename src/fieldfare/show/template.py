"""A spreadsheet to write a kit into: the names of all columns, and an example row for each kind of thing."""

from __future__ import annotations

import csv
import io
import re
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from fieldfare.show.expected import choices, slots, wanted
from fieldfare.show.files import write_whole
from fieldfare.show.kit import Kit
from fieldfare.show.rows import Cell
from fieldfare.show.spreadsheet import THINGS, columns, slot_of
from fieldfare.show.write_toml import short_tags
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

REMARK = "# "  # before the thing of every example row: such rows are left alone when the file is read


def write_template(path: Path) -> None:
    """Write a spreadsheet with all columns and an example row for each kind of thing.

    Parameters
    ----------
    path
        Where to; its ending says how: .csv or .xlsx.

    Raises
    ------
    Fault
        The ending is another one.
    NotDone
        The file is there already, or cannot be written; nothing was changed.
    """
    kind = path.suffix.lower()
    if kind not in (".csv", ".xlsx"):
        raise Fault(f'"{path.name}" ends in neither .csv nor .xlsx', "the template", "choose one of the two")
    rows = kit_rows(example_kit(), REMARK)
    write_whole(path, _as_xlsx(rows) if kind == ".xlsx" else _as_csv(rows))


def kit_rows(kit: Kit, remark: str = "") -> list[list[Cell]]:
    """Return the column names and a row for each entry of a kit.

    Parameters
    ----------
    kit
        The kit. Its owner and the owner's colours have no place in rows.
    remark
        What stands before the thing of every row.
    """
    names = list(columns())
    rows = [[_cell(entry, thing, name, remark) for name in names] for thing in THINGS for entry in getattr(kit, thing)]
    return [list(names), *rows]


def example_kit() -> Kit:
    """Return the kit that stands as an example in the kit file of a new show."""
    import tomllib

    text = (files("fieldfare.show") / "templates" / "kit.toml").read_text("utf-8")
    return Kit.model_validate(tomllib.loads(re.sub(r"^#(?! )", "", text, flags=re.MULTILINE)))


def column_helps() -> list[tuple[str, str, str]]:
    """Return for every column its name, the things that have it, and what to write."""
    own = {
        "thing": ("what the row is", f"one of {listed(THINGS)}"),
        "item": ("all", "what it is, in generic words; of a bin, its name"),
        "count": ("all but bin", "how many there are: tags are made for them, M-01, M-02 and so on"),
        "tags": ("all but bin", "instead of a count, the tags that are on the units: M-01..M-04, M-07"),
        "faulty": ("all but bin", "tag and symptom: M-04: rattles; M-07: dead. One unit: the symptom alone"),
        "serials": ("all but bin", "tag and serial number: M-04: 10372; M-07: 10380. One unit: the number alone"),
        "comes_with": ("all but bin", "what must be packed with each unit, parted by ; or ,"),
        "dead": ("box, trunk, recorder and preamp", "tag and dead sockets, lines or channels: B-01: 2, 5; B-02: 1"),
        "pairs": ("mic", "units matched for stereo: M-01 + M-02; M-03 + M-04"),
    }
    return [
        (name, *(own[name] if name in own else (_things(things), _help(name, things))))
        for name, things in columns().items()
    ]


def _things(things: tuple[str, ...]) -> str:
    without_bin = tuple(thing for thing in THINGS if thing != "bin")
    return "all but bin" if set(things) == set(without_bin) else listed(things)


def _help(name: str, things: tuple[str, ...]) -> str:
    """Say what may stand in a column; where it differs by thing, for each of them."""
    said: dict[str, list[str]] = {}
    abouts: dict[str, list[str]] = {}
    for thing in things:
        if slot := slot_of(thing, name):
            words = ", ".join(option.strip('"') for option in choices(slot)) or _in_a_cell(wanted(slot))
            said.setdefault(words, []).append(thing)
            about = slot.about[:1].lower() + slot.about[1:]
            abouts.setdefault(about, []).append(thing)
    parts = [f"{listed(of)}: {words}" if len(said) > 1 else words for words, of in said.items()]
    if len(said) == 1 or len(abouts) == 1:
        parts += [about if len(abouts) == 1 else f"{listed(of)}: {about}" for about, of in abouts.items() if about]
    return "; ".join(parts)


def _in_a_cell(words: str) -> str:
    if words.startswith("a list in square brackets"):
        return "several, parted by ; or ,"
    return words.replace("true or false", "yes or no").replace("text in quotes", "text")


def _cell(entry: BaseModel, thing: str, column: str, remark: str) -> Cell:
    if column == "thing":
        return f"{remark}{thing}"
    slot = slot_of(thing, column)
    if slot is None:
        return None
    value: Any = getattr(entry, slot.name)
    if column == "tags":
        return ", ".join(short_tags(value))
    return None if not slots(type(entry))[slot.name].required and value == slot.default else _written(value)


def _written(value: Any) -> Cell:
    if isinstance(value, dict):
        return "; ".join(f"{tag}: {symptom}" for tag, symptom in value.items())
    if isinstance(value, tuple):
        return "; ".join(" + ".join(one) if isinstance(one, tuple) else str(one) for one in value)
    return value if isinstance(value, str | bool) or value is None else float(value)


def _as_csv(rows: list[list[Cell]]) -> bytes:
    out = io.StringIO(newline="")
    texts = [["" if cell is None else _plain(cell) for cell in row] for row in rows]
    csv.writer(out, lineterminator="\r\n").writerows(texts)
    return out.getvalue().encode("utf-8-sig")  # with its mark: spreadsheet programs would take it for cp1252


def _plain(cell: str | float | bool) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return f"{cell:.15g}" if isinstance(cell, float) else cell


def _as_xlsx(rows: list[list[Cell]]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    kit = book.active
    assert kit is not None
    kit.title = "Kit"
    for row in rows:
        kit.append(["yes" if cell is True else "no" if cell is False else cell for cell in row])
    _dress(kit, widths=[max(len(str(row[at] or "")) for row in rows) for at in range(len(rows[0]))])
    _offer_choices(kit, [str(name) for name in rows[0]])
    helps = book.create_sheet("Columns")
    for line in (("Column", "Of which things", "What to write"), *column_helps()):
        helps.append(line)
    _dress(helps, widths=[18, 30, 100])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _dress(sheet: Worksheet, widths: list[int]) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet.freeze_panes = "A2"
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for number, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = min(width, 100) + 2


def _offer_choices(sheet: Worksheet, names: list[str]) -> None:
    """Put a list to choose from into the columns that mean the same for everything."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    offers = {"thing": tuple(THINGS), "owner": _options("mic", "owner"), "pattern": _options("mic", "pattern")}
    for name, options in offers.items():
        letter = get_column_letter(names.index(name) + 1)
        offer = DataValidation(type="list", formula1=f'"{",".join(options)}"', allow_blank=True, showErrorMessage=False)
        offer.add(f"{letter}2:{letter}1000")
        sheet.add_data_validation(offer)


def _options(thing: str, column: str) -> tuple[str, ...]:
    slot = slot_of(thing, column)
    return tuple(option.strip('"') for option in choices(slot)) if slot else ()
