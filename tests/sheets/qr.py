"""A reader of QR codes of versions 1 to 4 from their modules, after ISO/IEC 18004 as remembered: no error correction.

It shares no line with what draws them: it undoes the mask, walks the modules in their zigzag, and reads the segments.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

Modules = Sequence[Sequence[int]]

ALPHANUMERIC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
FORMAT_MASK = 0b101010000010010
MASKS: tuple[Callable[[int, int], bool], ...] = (
    lambda row, column: (row + column) % 2 == 0,
    lambda row, column: row % 2 == 0,
    lambda row, column: column % 3 == 0,
    lambda row, column: (row + column) % 3 == 0,
    lambda row, column: (row // 2 + column // 3) % 2 == 0,
    lambda row, column: row * column % 2 + row * column % 3 == 0,
    lambda row, column: (row * column % 2 + row * column % 3) % 2 == 0,
    lambda row, column: ((row + column) % 2 + row * column % 3) % 2 == 0,
)


def decode(modules: Modules) -> str:
    """Read the text of a code whose data lie in one block (versions 1 to 3 at error correction M)."""
    size = len(modules)
    mask = MASKS[_mask_number(modules)]
    bits = [modules[row][column] ^ mask(row, column) for row, column in _data_modules(size)]
    text, at = "", 0
    while int("".join(map(str, bits[at : at + 4])), 2) != 0:
        mode = int("".join(map(str, bits[at : at + 4])), 2)
        piece, at = _segment(bits, at + 4, mode)
        text += piece
        if at + 4 > len(bits):
            break
    return text


def _mask_number(modules: Modules) -> int:
    """The mask's number stands in bits 12 to 10 of the format, in row 8 beside the first finder."""
    first = [modules[8][column] for column in range(6)]
    bits = [bit ^ (FORMAT_MASK >> (14 - place) & 1) for place, bit in enumerate(first)]
    return bits[2] * 4 + bits[3] * 2 + bits[4]


def _data_modules(size: int) -> Iterator[tuple[int, int]]:
    column, upward = size - 1, True
    while column > 0:
        if column == 6:
            column -= 1
        for row in range(size - 1, -1, -1) if upward else range(size):
            for at in (column, column - 1):
                if not _is_pattern(size, row, at):
                    yield row, at
        column, upward = column - 2, not upward


def _is_pattern(size: int, row: int, column: int) -> bool:
    """Finders with formats, timing, and from version 2 on the one alignment pattern."""
    finder = (row < 9 and (column < 9 or column >= size - 8)) or (row >= size - 8 and column < 9)
    timing = row == 6 or column == 6
    centre = size - 7
    alignment = size > 21 and abs(row - centre) <= 2 and abs(column - centre) <= 2
    return finder or timing or alignment


def _segment(bits: list[int], at: int, mode: int) -> tuple[str, int]:
    def number(count: int) -> int:
        nonlocal at
        value = int("".join(map(str, bits[at : at + count])), 2)
        at += count
        return value

    if mode == 1:
        count = number(10)
        text = "".join(f"{number(10):03d}" for _ in range(count // 3))
        rest = count % 3
        return text + (f"{number(3 * rest + 1):0{rest}d}" if rest else ""), at
    if mode == 2:
        count = number(9)
        pairs = (divmod(number(11), 45) for _ in range(count // 2))
        text = "".join(ALPHANUMERIC[a] + ALPHANUMERIC[b] for a, b in pairs)
        return text + (ALPHANUMERIC[number(6)] if count % 2 else ""), at
    if mode == 4:
        return bytes(number(8) for _ in range(number(8))).decode("utf-8"), at
    raise AssertionError(f"mode {mode} is not read here")
