"""What a cell of a spreadsheet says, for the field that its column stands for."""

from __future__ import annotations

import re
from typing import Any, get_args, get_origin

from fieldfare.show.expected import Slot, choices, plain, shown, unit_of, wanted
from fieldfare.show.rows import Cell

_WITH_UNIT = re.compile(r"(?P<number>.*?\d)\s*(?P<unit>[^\W\d_].*)?")
_GROUPS = re.compile(r"\d{1,3}([ '’.,])\d{3}(?:\1\d{3})*")  # thousands, parted in one way
_SYMBOLS = {"metres": "m", "seconds": "s", "degrees": "°"}
_YES = {"yes", "y", "true", "1", "x", "on"}
_NO = {"no", "n", "false", "0", "off"}


class Unreadable(ValueError):
    """A cell that does not say what its column asks for: what was read, and what to do."""

    def __init__(self, read: str, remedy: str) -> None:
        super().__init__(read, remedy)
        self.read, self.remedy = read, remedy


def cell_value(cell: Cell, slot: Slot, tags: tuple[str, ...]) -> Any:
    """Turn a cell into the plain data of its field.

    Parameters
    ----------
    cell
        What the cell holds; not empty.
    slot
        The field that the column stands for.
    tags
        The units of the row, for cells that speak of single ones.

    Raises
    ------
    Unreadable
        The cell does not say what the field asks for.
    """
    slot = plain(slot)
    kind = slot.annotation
    if slot.name in ("faulty", "serials"):
        return _by_tag(cell_text(cell), tags, slot.name)
    if slot.name == "dead":
        return _dead_by_tag(cell_text(cell), tags)
    if slot.name == "pairs":
        return [_pieces(pair, r"[+&/,]") for pair in _pieces(cell_text(cell), r"[;\n]")]
    if kind is bool:
        return _truth(cell)
    if kind in (int, float):
        return cell_number(cell, slot)
    if options := choices(slot):
        return _choice(cell, options)
    if get_origin(kind) is tuple:
        item = Slot(get_args(kind)[0], slot.name)
        return [cell_value(piece, item, tags) for piece in _pieces(cell_text(cell), r"[;,\n]")]
    return cell_text(cell)


def cell_text(cell: Cell) -> str:
    """Return a cell as text: a whole number without its point, a truth as yes or no."""
    return (
        ("yes" if cell else "no") if isinstance(cell, bool) else shown(cell) if isinstance(cell, float) else cell or ""
    )


def cell_number(cell: Cell, slot: Slot) -> float | int:
    """Return a cell as a number: with a decimal point or comma, thousands parted or not, its unit behind it or not.

    Raises
    ------
    Unreadable
        It is no number, is in another unit, or could be read in two ways.
    """
    value = cell if isinstance(cell, float) else _parsed(cell_text(cell), slot)
    return int(value) if value.is_integer() else value


def _pieces(text: str, between: str) -> list[str]:
    return [piece.strip() for piece in re.split(between, text) if piece.strip()]


def _truth(cell: Cell) -> bool:
    word = cell_text(cell).casefold()
    if word in _YES | _NO:
        return word in _YES
    raise Unreadable(f"{shown(cell)} is neither yes nor no", "write yes or no")


def _choice(cell: Cell, options: tuple[str, ...]) -> object:
    """Return the option that a cell means; what means none is left for the model to refuse."""
    word = cell_text(cell).casefold()
    for option in options:
        if option.strip('"').casefold() == word:
            return option.strip('"') if option.startswith('"') else int(option)
    return cell_text(cell)


def _parsed(text: str, slot: Slot) -> float:
    split = _WITH_UNIT.fullmatch(text)
    number, unit = (split["number"], split["unit"]) if split else (text, None)
    own = unit_of(slot.name)
    times = _ohms(unit) if unit and own == "Ω" else 1
    if unit and times == 1 and unit.casefold() not in (own.casefold(), _SYMBOLS.get(own, own).casefold()):
        raise Unreadable(
            f'"{text}" is not in {own}' if own else f'"{text}" is not a plain number', f"give {wanted(slot)}"
        )
    sign = -1.0 if number[:1] in ("-", "−") else 1.0
    digits = number.lstrip("+-−").strip()
    whole, point, part = _decimals(digits)
    if _GROUPS.fullmatch(whole) and (not point or point not in whole):
        whole = re.sub(r"\D", "", whole)
    if not re.fullmatch(r"[0-9]{1,15}", whole) or not re.fullmatch(r"[0-9]*", part):
        raise Unreadable(f'"{text}" is not a number', f"give {wanted(slot)}")
    return sign * float(f"{whole}.{part or 0}") * times


def _ohms(unit: str) -> int:
    """How many ohms a unit is: a data sheet has kΩ and MΩ, or k and M.

    >>> [_ohms(unit) for unit in ("kΩ", "MOhm", "M", "Ω", "mm")]
    [1000, 1000000, 1000000, 1, 1]
    """
    prefix = re.fullmatch(r"([kM])(?i:Ω|ohms?)?", unit)
    return {"k": 1000, "M": 1_000_000}[prefix[1]] if prefix else 1


def _decimals(digits: str) -> tuple[str, str, str]:
    """Part a number at its decimal sign; a comma that may as well part thousands is asked about."""
    last = max(digits.rfind("."), digits.rfind(","))
    if last < 0 or digits.count(digits[last]) > 1:
        return digits, "", ""  # a sign that comes twice parts thousands
    whole, point, part = digits[:last], digits[last], digits[last + 1 :]
    if point == "," and re.fullmatch(r"[1-9]\d{0,2}", whole) and len(part) == 3:
        read = f'"{digits}" may be {whole}{part} or {whole}.{part}'
        raise Unreadable(read, f"write {whole}{part}, or {whole}.{part}")
    return whole or "0", point, part


def _dead_by_tag(text: str, tags: tuple[str, ...]) -> dict[str, list[int]]:
    """Read "B-01: 2, 5; B-02: 1", or the numbers alone where there is only one unit."""
    said: dict[str, list[int]] = {}
    for piece in _pieces(text, r"[;\n]"):
        tag, colon, numbers = (part.strip() for part in piece.rpartition(":"))
        if not colon and len(tags) == 1:
            tag = tags[0]
        words = _pieces(numbers, r"[, ]")
        if not tag or not words or not all(word.isdecimal() for word in words):
            example = f"{tags[0] if tags else 'B-01'}: 2, 5"
            raise Unreadable(f'"{piece}" does not say which of a unit are dead', f"write tag and numbers: {example}")
        said.setdefault(tag, []).extend(int(word) for word in words)
    return said


def _by_tag(text: str, tags: tuple[str, ...], column: str) -> dict[str, str]:
    """Read "M-18: lead crackles; M-17: dead", or what is said alone where there is only one unit."""
    said: dict[str, str] = {}
    what = "symptom" if column == "faulty" else "serial number"
    for piece in _pieces(text, r"[;\n]"):
        tag, colon, word = (part.strip() for part in piece.partition(":"))
        if len(tags) == 1 and tag != tags[0]:
            said[tags[0]] = piece
        elif colon:
            said[tag] = word
        else:
            example = f"{tags[0] if tags else 'M-01'}: {piece}"
            raise Unreadable(f'"{piece}" does not say which unit and what', f"write tag and {what}: {example}")
    return said
