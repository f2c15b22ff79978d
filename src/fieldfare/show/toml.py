"""Reading a show's folder: show, venue and kit from TOML, with every fault of all of them at once."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from fieldfare.show.kit import Kit
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.units.faults import BadDocuments, Blemish


Document = TypeVar("Document", Show, Venue, Kit)


@dataclass(frozen=True, slots=True)
class ShowFolder:
    """A show with its venue and its kit, as read."""

    show: Show
    venue: Venue
    kit: Kit
    folder: Path
    digest: str  # SHA-256 over the three documents' content; comments and spacing do not change it


def digest_of(show: Show, venue: Venue, kit: Kit) -> str:
    """Return the SHA-256 of the documents' content, in hexadecimal."""
    text = "\n".join(document.model_dump_json() for document in (show, venue, kit))
    return sha256(text.encode()).hexdigest()


def read_show(path: Path) -> ShowFolder:
    """Read a show's folder, or its show file, with the venue and the kit that it names."""
    file = path / "show.toml" if path.is_dir() else path
    show = _read(file, Show)
    venue = read_venue(file.parent / show.venue)
    kit = read_kit(*(file.parent / name for name in show.kit))
    return ShowFolder(show, venue, kit, file.parent, digest_of(show, venue, kit))


def read_venue(path: Path) -> Venue:
    """Read a venue's file."""
    return _read(path, Venue)


def read_kit(*paths: Path) -> Kit:
    """Read one kit from one file or several."""
    kits = [_read(path, Kit) for path in paths]
    lists = {name for name in Kit.model_fields if name not in ("owner_name", "length_colours")}
    return Kit(
        owner_name=kits[0].owner_name,
        length_colours={key: colour for kit in reversed(kits) for key, colour in kit.length_colours.items()},
        **{name: tuple(entry for kit in kits for entry in getattr(kit, name)) for name in lists},
    )


def _read(path: Path, model: type[Document]) -> Document:
    try:
        return model.model_validate(tomllib.loads(path.read_text("utf-8")))
    except ValidationError as caught:
        raise BadDocuments(
            tuple(
                Blemish(path.name, "", ".".join(map(str, error["loc"])), error["msg"], "")
                for error in caught.errors()
            )
        ) from None
