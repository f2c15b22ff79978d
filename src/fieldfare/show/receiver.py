"""Receivers: who gets what, as data. A file each; a show can bring its own."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fieldfare.show.consent import Use
from fieldfare.show.record import Name, Record

Cutting = Literal["whole", "songs", "both", "none"]
Sheet = Literal["track sheet", "input list", "stage drawing"]


class Receiver(Record):
    """What one kind of receiver gets."""

    name: Name = Field(description="What the command calls it: mixer, band")
    says: Name = Field(description="Who it is, and what they get, in one sentence")
    uses: tuple[Use, ...] = Field(min_length=1, description="What everybody must have agreed to before it leaves")
    tracks: Cutting = Field(default="none", description="Every track whole, cut at the songs, both, or none")
    roughs: bool = Field(default=False, description="Rough mixes, where there are any")
    pictures: bool = Field(default=False, description="Pictures with our sound, where there are any")
    edits: bool = Field(default=False, description="Edit lists, where there are any")
    sheets: tuple[Sheet, ...] = Field(default=(), description="Papers that go with it")
    page: bool = Field(default=False, description="A page to listen by, which opens from disc")
    consents: bool = Field(default=False, description="Who agreed to what, in words; never the signed papers")
    documents: bool = Field(default=False, description="Show, venue and kit as they are written, and the songs")
