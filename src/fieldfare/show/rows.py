"""Rows of cells out of CSV and XLSX files, whatever program wrote them."""

from __future__ import annotations

import csv
import io
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from fieldfare.units.faults import BadDocuments, Blemish

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

Cell: TypeAlias = str | float | bool | None  # dates and times come as text

DELIMITERS = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of one sheet, numbered from 1 as spreadsheet programs do."""

    sheet: str  # "" where the file has only one
    rows: tuple[tuple[Cell, ...], ...]
    faults: tuple[Blemish, ...] = ()


def read_tables(path: Path, name: str, fits: Callable[[list[list[str]]], int]) -> tuple[Table, ...]:
    """Read all sheets of a file.

    Parameters
    ----------
    path
        A .xlsx file, or text with commas, semicolons or tabs between the cells.
    name
        What to call it in faults.
    fits
        How well the first rows of a text read, with one kind of delimiter; the best one is taken. [1]

    Raises
    ------
    BadDocuments
        The file cannot be read as a table.
    """
    try:
        raw = path.read_bytes()
    except OSError as trouble:
        read = f"cannot be read: {(trouble.strerror or 'the system refused').lower()}"
        raise BadDocuments((Blemish(name, "", "", read, "check the file and its rights"),)) from None
    if raw.startswith(b"PK") or path.suffix.lower() == ".xlsx":
        return _xlsx(raw, name)
    return (_csv(_decoded(raw, name), name, fits),)


def _decoded(raw: bytes, name: str) -> str:
    """Decode what spreadsheet programs write: UTF-8 with or without its mark, UTF-16 with one, else cp1252."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings: tuple[str, ...] = ("utf-16",)
    else:
        encodings = ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise BadDocuments((Blemish(name, "", "", "is not text in UTF-8 or cp1252", "save it as CSV in UTF-8"),))


def _csv(text: str, name: str, fits: Callable[[list[list[str]]], int]) -> Table:
    told = text[:5].lower() == "sep=" + text[4:5] and text[4:5] in DELIMITERS
    try:
        delimiter = text[4] if told else max(DELIMITERS, key=lambda one: fits(_rows(text, one, 30)))
        rows = _rows(text, delimiter)
    except csv.Error:
        raise BadDocuments((Blemish(name, "", "", "is not a table", "save it as CSV in UTF-8"),)) from None
    return Table("", tuple(tuple(cell.strip() or None for cell in row) for row in rows))


def _rows(text: str, delimiter: str, most: int | None = None) -> list[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True)
    return [row for _, row in zip(range(most), reader, strict=False)] if most else list(reader)


def _xlsx(raw: bytes, name: str) -> tuple[Table, ...]:
    try:
        values, formulas = _workbook(raw, data_only=True), _workbook(raw, data_only=False)
    except Exception:  # of a damaged file the library and those under it raise nearly all there is
        bad = Blemish(name, "", "", "is not a spreadsheet that can be read", "save it as .xlsx or as CSV")
        raise BadDocuments((bad,)) from None
    sheets = [sheet for sheet in values.worksheets if any(any(row) for row in sheet.iter_rows(values_only=True))]
    return tuple(
        Table(
            sheet.title if len(sheets) > 1 else "",
            tuple(tuple(_cell(value) for value in row) for row in sheet.iter_rows(values_only=True)),
            tuple(_uncomputed(sheet, formulas[sheet.title], name)),
        )
        for sheet in sheets
    )


def _workbook(raw: bytes, *, data_only: bool) -> Workbook:
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of drop-down lists and styles that it does not keep: only values matter here
        return load_workbook(io.BytesIO(raw), data_only=data_only)


def _cell(value: object) -> Cell:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return float(value)
    return str(value).replace("\xa0", " ").strip() or None


def _uncomputed(values: Worksheet, formulas: Worksheet, name: str) -> Iterator[Blemish]:
    """Find formulas whose result was never stored, and results that are errors."""
    for row in formulas.iter_rows():
        for cell in row:
            if cell.data_type != "f":
                continue
            result = values[cell.coordinate].value
            if result is None or str(result).startswith("#"):
                read = "has a formula without a result" if result is None else f"has a formula that gives {result}"
                place = f"row {cell.row}"
                yield Blemish(name, place, f"cell {cell.coordinate}", read, "type the value itself")
