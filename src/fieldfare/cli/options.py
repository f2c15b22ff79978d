"""Arguments and options that several commands take, each said once."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class Paper(StrEnum):
    """Paper sizes."""

    a4 = "a4"
    letter = "letter"


class Tongue(StrEnum):
    """Languages of the sheets."""

    en = "en"
    de = "de"


class Lengths(StrEnum):
    """Units for lengths on paper."""

    metres = "m"
    feet = "ft"


ShowPath = Annotated[Path, typer.Argument(help="A show's folder, or its show.toml.")]
ShowOrFolder = Annotated[Path, typer.Argument(help="A show's folder, or any folder of recordings.")]
Recordings = Annotated[
    Path | None, typer.Option(help="Where the show's recordings lie, if not where they were offloaded to.")
]
Inputs = Annotated[Path | None, typer.Option(help="What is on which track, CSV or XLSX, where there is no show.")]
OneTake = Annotated[str, typer.Option(help="Only this take.")]
PaperSize = Annotated[Paper, typer.Option(help="Paper size.", case_sensitive=False)]
MetresOrFeet = Annotated[Lengths, typer.Option(help="Metres or feet.")]
Speaks = Annotated[Tongue, typer.Option(help="Language of everything but names.", case_sensitive=False)]
PapersSpeak = Annotated[Tongue, typer.Option(help="Language of the papers, but for names.", case_sensitive=False)]
OffRight = Annotated[
    float, typer.Option(metavar="MM", help="How far right of the labels the test print lies; negative: left.")
]
OffDown = Annotated[
    float, typer.Option(metavar="MM", help="How far below the labels the test print lies; negative: above.")
]
