"""Which signs our fonts have: read from their character maps, so that no name is printed as empty boxes unawares."""

from __future__ import annotations

import struct
from functools import cache
from pathlib import Path

FONTS = Path(__file__).parent / "fonts"
NO_SHAPE = frozenset(
    map(
        ord,
        "\n\r\t\u00ad\u200b\u200c\u200d\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2060\u2066\u2067\u2068\u2069\ufeff",
    )
)  # steer the setting, draw nothing


def covered(text: str) -> bool:
    """Return whether our fonts can set every sign of a text.

    >>> covered("Φωνή, เสียงร้อง, صوت, Голос"), covered("歌")
    (True, False)
    """
    return not missing(text)


def missing(text: str) -> str:
    """Return the signs of a text that our fonts do not have, each once, in order of appearance."""
    return "".join(dict.fromkeys(sign for sign in text if ord(sign) not in _signs()))


def fonts_for(text: str) -> tuple[Path, ...]:
    """Return the fonts of regular weight, beyond Barlow, that have the signs of a text which Barlow does not have.

    >>> [font.stem for font in fonts_for("Voice")], [font.stem for font in fonts_for("Φωνή, เสียง")]
    ([], ['NotoSans-Regular', 'NotoSansThai-Regular'])
    """
    left = {ord(sign) for sign in text} - NO_SHAPE - _of_font(FONTS / "Barlow-Regular.ttf")
    found = []
    for font in sorted(FONTS.glob("Noto*-Regular.ttf")):
        if left & _of_font(font):
            found.append(font)
            left -= _of_font(font)
    return tuple(found)


@cache
def _of_font(font: Path) -> frozenset[int]:
    return frozenset(_character_map(font.read_bytes()))


@cache
def _signs() -> frozenset[int]:
    found: set[int] = set(NO_SHAPE)
    for font in sorted(FONTS.glob("*.ttf")):
        found |= _of_font(font)
    return frozenset(found)


def _character_map(font: bytes) -> set[int]:
    """Read the Unicode characters of a font from its table cmap, formats 4 and 12 (ISO/IEC 14496-22, 5.2.1)."""
    count = struct.unpack_from(">H", font, 4)[0]
    tables = {font[12 + 16 * i : 16 + 16 * i]: struct.unpack_from(">I", font, 20 + 16 * i)[0] for i in range(count)}
    cmap = tables[b"cmap"]
    signs: set[int] = set()
    for i in range(struct.unpack_from(">H", font, cmap + 2)[0]):
        at = cmap + struct.unpack_from(">I", font, cmap + 8 + 8 * i)[0]
        kind = struct.unpack_from(">H", font, at)[0]
        if kind == 4:
            signs |= _segments(font, at)
        elif kind == 12:
            for group in range(struct.unpack_from(">I", font, at + 12)[0]):
                first, last, _ = struct.unpack_from(">III", font, at + 16 + 12 * group)
                signs.update(range(first, last + 1))
    return signs


def _segments(font: bytes, at: int) -> set[int]:
    """Read a format 4 map: segments of codes, each with an end, a start, a shift and an offset to glyphs."""
    double = struct.unpack_from(">H", font, at + 6)[0]
    signs: set[int] = set()
    for i in range(0, double, 2):
        end = struct.unpack_from(">H", font, at + 14 + i)[0]
        start = struct.unpack_from(">H", font, at + 16 + double + i)[0]
        offset_at = at + 16 + 3 * double + i
        offset = struct.unpack_from(">H", font, offset_at)[0]
        for code in range(start, min(end, 0xFFFE) + 1):
            if offset == 0 or struct.unpack_from(">H", font, offset_at + offset + 2 * (code - start))[0]:
                signs.add(code)
    return signs
