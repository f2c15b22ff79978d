"""The published JSON Schema of every document that is read and of every report that is written."""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema

from fieldfare.show.alignment import Alignment, ShiftList, ShiftReport
from fieldfare.show.archive import ArchiveReport
from fieldfare.show.consent import ConsentBook
from fieldfare.show.cuts import CutReport, SongsReport
from fieldfare.show.findings import Mended, OffloadReport, TakeReport
from fieldfare.show.kit import Kit
from fieldfare.show.mix import MixReport, MixSheet
from fieldfare.show.money import Bill, Business, Money
from fieldfare.show.picture import PictureReport
from fieldfare.show.plan import Plan
from fieldfare.show.receiver import Receiver
from fieldfare.show.show import Show
from fieldfare.show.songs import SongBook
from fieldfare.show.venue import Venue
from fieldfare.show.whatif import Outcome, WhatIf


class Published(NamedTuple):
    """A model, and whether people write it or the program does."""

    model: type[BaseModel]
    mode: Literal["validation", "serialization"]


DOCUMENTS: dict[str, Published] = {
    "show": Published(Show, "validation"),
    "venue": Published(Venue, "validation"),
    "kit": Published(Kit, "validation"),
    "plan": Published(Plan, "serialization"),
    "whatif": Published(WhatIf, "serialization"),
    "outcome": Published(Outcome, "serialization"),
    "take": Published(TakeReport, "serialization"),
    "offload": Published(OffloadReport, "serialization"),
    "business": Published(Business, "validation"),
    "money": Published(Money, "validation"),
    "bill": Published(Bill, "serialization"),
    "consent": Published(ConsentBook, "validation"),
    "receiver": Published(Receiver, "validation"),
    "archive": Published(ArchiveReport, "serialization"),
    "mended": Published(Mended, "serialization"),
    "songs": Published(SongBook, "validation"),
    "songs-found": Published(SongsReport, "serialization"),
    "mix": Published(MixSheet, "validation"),
    "mixed": Published(MixReport, "serialization"),
    "alignment": Published(Alignment, "serialization"),
    "shifts": Published(ShiftList, "validation"),
    "shifted": Published(ShiftReport, "serialization"),
    "cuts": Published(CutReport, "serialization"),
    "picture": Published(PictureReport, "serialization"),
}


def schema_of(document: str) -> dict[str, Any]:
    """Return the JSON Schema, draft 2020-12, of a document.

    Parameters
    ----------
    document
        One of ``DOCUMENTS``.
    """
    published = DOCUMENTS[document]
    schema = published.model.model_json_schema(mode=published.mode)
    return {"$schema": GenerateJsonSchema.schema_dialect, **schema}
