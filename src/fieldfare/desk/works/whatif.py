"""What to do if something dies: every single failure planned again, kept for the sheet that says so."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.plan.recipes import show_recipes
from fieldfare.show.files import write_whole
from fieldfare.show.whatif import WhatIf
from fieldfare.takes.offload.kept import TAKES

FILE = "whatif.json"


def kept_whatif(folder: Path) -> WhatIf | None:
    """Return what was found out last, whatever plan it was found for; None where nothing was yet."""
    try:
        return WhatIf.model_validate_json((folder / TAKES / FILE).read_bytes())
    except (OSError, ValidationError):
        return None


def trying(book: Book, asks: Asks) -> Work:
    """Make the work of trying every single failure and every possible source of the plan as it stands."""
    now = book.open()

    def work(tell: Tell) -> str:
        from fieldfare.plan.make import Documents
        from fieldfare.plan.whatif.whatif import what_if

        read = now.read
        found = what_if(Documents(read.show, read.venue, read.kit, show_recipes(book.folder)), now.plan, tell)
        tell("", 1.0)  # whoever stopped it meanwhile is heard now
        write_whole(book.folder / TAKES / FILE, found.model_dump_json(indent=1).encode(), replace=True)
        alone = len(found.single_points)
        return (
            f"{found.tried} failures tried; {alone or 'none'} of them {'loses' if alone < 2 else 'lose'} a must alone."
        )

    return work
