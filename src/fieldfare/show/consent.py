"""Who agreed to what: each word given or taken back, with its day and its evidence. A record, not advice on law."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from fieldfare.show.files import write_whole
from fieldfare.show.record import Name, Record
from fieldfare.show.wording import validated
from fieldfare.show.write_toml import to_toml
from fieldfare.show.written import read_toml
from fieldfare.units.faults import BadDocuments

CONSENT_FILE = "consent.toml"
EVIDENCE = "consent"  # the folder of signed papers, in the show's folder

Use = Literal["recording", "pictures", "demo", "release", "clips", "archive"]
Side = Literal["performer", "venue", "other"]
USES: dict[Use, str] = {
    "recording": "the recording is made and handed to those who work on it",
    "pictures": "pictures are taken and put to the sound",
    "demo": "it is used to look for engagements",
    "release": "it is published, sold or streamed",
    "clips": "short pieces of it are shown to the public",
    "archive": "it is kept for others to listen to later",
}


class Consent(Record):
    """One word given, or taken back."""

    of: Name = Field(description="Who: the player as the show calls them, or the venue")
    side: Side = Field(default="performer", description="In what part")
    given: bool = Field(default=True, description="false: taken back")
    uses: tuple[Use, ...] = Field(min_length=1, description="What it is for")
    on: dt.date = Field(description="When it was given or taken back")
    how: Name = Field(description="In what form: signed form, mail, spoken on the recording")
    until: dt.date | None = Field(default=None, description="The last day on which it holds")
    where: str = Field(default="", description="Territory; blank: none was named")
    evidence: str = Field(default="", description="The file that shows it, from the show's folder")
    sha256: Annotated[str, StringConstraints(pattern=r"^([0-9a-f]{64})?$")] = Field(
        default="", description="Of that file, when it was recorded"
    )
    note: str = Field(default="", description="Conditions, credit wording")


class ConsentBook(Record):
    """All words given for a show, in the order in which they were recorded. None is ever taken out."""

    consent: tuple[Consent, ...] = ()


def read_consents(folder: Path) -> ConsentBook:
    """Read what was agreed to for a show; nothing where no file is there yet.

    Raises
    ------
    BadDocuments
        Every fault of the file.
    """
    if not (folder / CONSENT_FILE).exists():
        return ConsentBook()
    book, faults = validated(read_toml(folder / CONSENT_FILE), ConsentBook)
    if book is None:
        raise BadDocuments(faults)
    return book


def add_consent(folder: Path, consent: Consent) -> None:
    """Write one more word at the end of the file; what stands there, remarks and all, stays as it is.

    Raises
    ------
    BadDocuments
        The file has faults: nothing is added to it.
    NotDone
        It cannot be written; it is as it was.
    """
    read_consents(folder)
    path = folder / CONSENT_FILE
    before = path.read_text("utf-8-sig") if path.exists() else ""
    parted = before.rstrip("\n") + "\n\n" if before.strip() else ""
    write_whole(path, (parted + to_toml(ConsentBook(consent=(consent,)))).encode(), replace=True)
