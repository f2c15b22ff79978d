"""Setting a sheet: a template and its data in, the bytes of a PDF out. Nothing here depends on the machine's fonts.

The one exception: a text with signs that none of our fonts has is set with the machine's own fonts as a last resort,
since a name that can be read is worth more than the same bytes everywhere.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from dataclasses import asdict, is_dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from fieldfare.sheets.coverage import FONTS, covered
from fieldfare.sheets.language import Language, page_in, template_words
from fieldfare.units.faults import NotDone

if TYPE_CHECKING:
    import typst

    from fieldfare.sheets.head import Headed, Printing

TEMPLATES = Path(__file__).parent / "templates"


def typeset(
    template: str,
    page: object,
    printed: dt.datetime,
    language: Language = "en",
    names: frozenset[str] = frozenset(),
    *,
    is_said: bool = False,
) -> bytes:
    """Set one sheet.

    Parameters
    ----------
    template
        Name of the template, without its ending.
    page
        The sheet's data: a dataclass of plain values.
    printed
        Stands in the file as its time of making, so that the same input gives the same bytes.
    language, names
        The language of everything but names, and what is a name even where it looks like words of ours.
    is_said
        Whether the words of the data are in that language already, and only those of the template are looked up.

    Raises
    ------
    NotDone
        The template could not be set, or set only with a warning: never a sheet with a hole in it.
    """
    import typst

    text = _as_json(page if is_said else page_in(page, language, names))
    words = _as_json(dict(template_words(language)))
    compiler = typst.Compiler(
        TEMPLATES / f"{template}.typ", root=TEMPLATES, font_paths=_fonts(covered(text)), ignore_system_fonts=True
    )
    inputs = {"data": text, "words": words, "language": language}
    moment = printed if printed.tzinfo else printed.replace(tzinfo=dt.UTC)
    try:
        made, warnings = compiler.compile_with_warnings(
            format="pdf", sys_inputs=inputs, timestamp=int(moment.timestamp())
        )
    except typst.TypstError as fault:
        raise _not_set(template, fault.message) from fault
    if warnings or not isinstance(made, bytes):
        raise _not_set(template, "; ".join(warning.message for warning in warnings) or "it came out in pieces")
    return made


def set_sheet(template: str, page: Headed, printing: Printing, names: frozenset[str]) -> bytes:
    """Set a sheet of recordings; raises as `typeset` does.

    Parameters
    ----------
    template, page, names
        As `typeset` takes them.
    printing
        Time and language.
    """
    return typeset(template, page, printing.printed, printing.language, names | {page.head.subtitle})


def measured(pieces: Sequence[object]) -> list[tuple[float, float]]:
    """Return width and height of each piece of a drawing as it will be set. [mm]"""
    import typst

    text = _as_json(list(pieces))
    compiler = typst.Compiler(
        TEMPLATES / "measure.typ",
        root=TEMPLATES,
        font_paths=_fonts(covered(text)),
        ignore_system_fonts=True,
        sys_inputs={"data": text},
    )
    sizes = json.loads(compiler.query("<sizes>", field="value", one=True))
    return [(float(width), float(height)) for width, height in sizes]


@cache
def _fonts(ours_suffice: bool) -> typst.Fonts:
    import typst

    return typst.Fonts(include_system_fonts=not ours_suffice, include_embedded_fonts=False, font_paths=[FONTS])


def _as_json(page: object) -> str:
    def plain(value: object) -> object:
        if is_dataclass(value) and not isinstance(value, type):
            return asdict(value)
        raise TypeError(f"{type(value).__name__} is no plain value")

    return json.dumps(page, default=plain, ensure_ascii=False, sort_keys=True)


def _not_set(template: str, why: str) -> NotDone:
    what = f"the sheet could not be set ({why})"
    return NotDone(what, f"sheet {template}", "this is a fault of the program: report it with the show's documents")
