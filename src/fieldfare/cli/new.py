"""fieldfare new: a show folder to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fieldfare.cli.say import say


def new(
    folder: Annotated[Path, typer.Argument(help="The folder to make; it must be new or empty.")],
) -> None:
    """Make a show folder with commented files to fill in."""
    from fieldfare.show.new import new_show

    made = new_show(folder)
    say(f"Made {folder} with {', '.join(path.name for path in made)}.")
    say(f"Fill in {made[0].name} first, then: fieldfare plan {folder}")
