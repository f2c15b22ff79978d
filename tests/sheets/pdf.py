"""Reading a PDF back: its words, its sizes, its fonts, and glyphs that are missing."""

from __future__ import annotations

import io
from functools import cache

from pypdf import PageObject, PdfReader
from pypdf.generic import ByteStringObject, ContentStream, DictionaryObject, PdfObject, TextStringObject

MM_PER_POINT = 25.4 / 72
LETTER_MM = (215.9, 279.4)  # ANSI/ASME Y14.1, size A: 8.5 by 11 inches


def read(content: bytes) -> PdfReader:
    """Open a PDF."""
    return PdfReader(io.BytesIO(content))


def words(page: PageObject) -> str:
    """Return the text of a page with single spaces and without places to break."""
    return " ".join(page.extract_text().replace("\u200b", "").split())


def sizes_mm(content: bytes) -> set[tuple[float, float]]:
    """Return the sizes of all pages, upright. [mm]"""
    return {(min(size), max(size)) for size in map(size_mm, read(content).pages)}


@cache
def page_words(content: bytes) -> tuple[str, ...]:
    """Return the text of each page."""
    return tuple(words(page) for page in read(content).pages)


def all_words(content: bytes) -> str:
    """Return the text of all pages."""
    return " ".join(page_words(content))


def size_mm(page: PageObject) -> tuple[float, float]:
    """Return width and height of a page. [mm]"""
    box = page.mediabox
    return round(float(box.width) * MM_PER_POINT, 1), round(float(box.height) * MM_PER_POINT, 1)


def fonts(content: bytes) -> set[str]:
    """Return the names of all fonts in a file, without the prefix of their subset."""
    found = set()
    for page in read(content).pages:
        for name, font in _part(_part(page, "/Resources"), "/Font").items():
            assert isinstance(name, str)
            found.add(str(_object(font)["/BaseFont"]).split("+")[-1])
    return found


def _part(of: DictionaryObject, name: str) -> DictionaryObject:
    return _object(of[name]) if name in of else DictionaryObject()


def _object(part: object) -> DictionaryObject:
    whole = part.get_object() if isinstance(part, PdfObject) else part
    assert isinstance(whole, DictionaryObject)
    return whole


def missing_glyphs(content: bytes) -> int:
    """Count the glyphs numbered 0, which every font draws as an empty box."""
    found = 0
    for page in read(content).pages:
        for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
            if operator in (b"Tj", b"TJ"):
                pieces = operands[0] if isinstance(operands[0], list) else operands
                for piece in pieces:
                    if isinstance(piece, TextStringObject | ByteStringObject):
                        codes = piece.original_bytes
                        found += sum(codes[i : i + 2] == b"\0\0" for i in range(0, len(codes), 2))
    return found
