"""Reading a show's folder: show, venue and kit, with every fault of all of them at once."""

from __future__ import annotations

import json
import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path, PurePath

from pydantic import BaseModel

from fieldfare.show.kit import Cable, Kit
from fieldfare.show.references import kit_faults, show_faults, venue_faults
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.show.wording import validated
from fieldfare.show.write_toml import to_toml
from fieldfare.show.written import Loc, Written, read_toml
from fieldfare.units.faults import BadDocuments, Blemish, Fault, folded
from fieldfare.units.text import listed, nearest

SHOW_FILE = "show.toml"
RECIPES = "recipes"  # a folder beside it
_MODELS: dict[str, type[BaseModel]] = {"show": Show, "venue": Venue, "kit": Kit}
SPREADSHEETS = (".csv", ".tsv", ".txt", ".xlsx")


@dataclass(frozen=True, slots=True)
class ShowFolder:
    """A show with its venue and its kit, as read."""

    show: Show
    venue: Venue
    kit: Kit
    folder: Path
    digest: str  # SHA-256 of what the documents say, and of the show's own recipes; remarks and spacing change nothing
    recipes: Mapping[str, object] = field(default_factory=dict)  # of the show's own: what each file says, by its name


def digest_of(show: Show, venue: Venue, kit: Kit, recipes: Mapping[str, object] = {}) -> str:
    """Return the SHA-256, in hexadecimal, of what the documents say, and the show's own recipes where it has any."""
    texts = [document.model_dump_json() for document in (show, venue, kit)]
    texts += [json.dumps(recipes, sort_keys=True, default=str)] if recipes else []
    return sha256("\n".join(texts).encode()).hexdigest()


def _recipes_in(folder: Path) -> dict[str, object]:
    """Return what the show's own recipe files say; one that cannot be read stands as it is, and is told by the plan."""
    found: dict[str, object] = {}
    for path in sorted((folder / RECIPES).glob("*.toml")):
        text = path.read_bytes().decode("utf-8", "replace")
        try:
            found[path.name] = tomllib.loads(text)
        except (ValueError, RecursionError):
            found[path.name] = text
    return found


def read_show(path: Path) -> ShowFolder:
    """Read a show with the venue and the kit that it names.

    Parameters
    ----------
    path
        The show's folder, with a show.toml in it, or the show's file itself.

    Raises
    ------
    BadDocuments
        Every fault of all three documents.
    Fault
        There is no show at that path.
    """
    file = _show_file(path)
    written = read_toml(file)
    if mistaken := _mistaken(written, "show"):
        raise BadDocuments(mistaken)
    show, faults = validated(written, Show)
    venues, no_venue = _named_documents(written, file.parent, "venue")
    kits, no_kit = _named_documents(written, file.parent, "kit")
    venue_written = venues[0] if venues else None
    venue, venue_says = _checked_venue(venue_written)
    kit, kit_says = _checked_kit(kits)
    crossed = tuple(show_faults(written, venue_written, None if no_kit else kits))
    missing = (*no_venue, *no_kit)
    said = (*faults, *crossed, *missing, *venue_says, *kit_says)
    if said or show is None or venue is None or kit is None:
        raise BadDocuments(_in_order(said))
    recipes = _recipes_in(file.parent)
    return ShowFolder(show, venue, kit, file.parent, digest_of(show, venue, kit, recipes), recipes)


def faults_of(show: Show, venue: Venue, kit: Kit) -> tuple[Blemish, ...]:
    """Find fault with documents that were changed by the program, as if they had just been read."""
    written = [
        Written(name, tomllib.loads(to_toml(document)), lambda _: "")
        for name, document in ((SHOW_FILE, show), (show.venue, venue), (show.kit[0], kit))
    ]
    own = [fault for one, model in zip(written, _MODELS.values(), strict=True) for fault in validated(one, model)[1]]
    return (*own, *venue_faults(written[1]), *show_faults(written[0], written[1], written[2:]))


def seen_from(folder: PurePath, file: PurePath) -> str:
    """Name a file as a document in a folder does; by its whole path where the two lie on different drives."""
    try:
        return type(file)(os.path.relpath(file, folder)).as_posix()
    except ValueError:  # only Windows has drives
        return file.as_posix()


def read_kit(*paths: Path) -> Kit:
    """Read one kit from one file or several, TOML or spreadsheet.

    Raises
    ------
    BadDocuments
        Every fault of all files; a tag that is given twice names both places.
    """
    read: list[Written] = []
    missing = [fault for path in paths for fault in _read_into(read, path, path.name, "kit")]
    kit, faults = _checked_kit(read)
    if missing or faults or kit is None:
        raise BadDocuments(_in_order((*missing, *faults)))
    return kit


def _in_order(faults: tuple[Blemish, ...]) -> tuple[Blemish, ...]:
    """Put the faults of each file in the order of its lines; the files stay in the order in which they were read."""
    files = list(dict.fromkeys(fault.file for fault in faults))

    def key(fault: Blemish) -> tuple[int, int]:
        number = fault.place.rpartition(" ")[2]
        return files.index(fault.file), int(number) if number.isdecimal() else 0

    return folded(sorted(faults, key=key))


def merged(kits: list[Kit]) -> Kit:
    """Make one kit of several; where two say different things of the owner or a colour, the first holds."""
    single = ("owner_name", "length_colours", "cable")
    return Kit(
        owner_name=next((kit.owner_name for kit in kits if kit.owner_name), ""),
        length_colours={key: colour for kit in reversed(kits) for key, colour in kit.length_colours.items()},
        cable=tuple(_coloured(cable, kit.length_colours) for kit in kits for cable in kit.cable),
        **{
            name: tuple(entry for kit in kits for entry in getattr(kit, name))
            for name in Kit.model_fields
            if name not in single
        },
    )


def _coloured(cable: Cable, colours: Mapping[str, str]) -> Cable:
    """Give a cable its owner's colour for its length where it has none of its own."""
    of_length = next((colour for key, colour in colours.items() if float(key) == cable.length_m), "")
    return cable if cable.colour or not of_length else cable.model_copy(update={"colour": of_length})


def _show_file(path: Path) -> Path:
    if path.is_file():
        return path
    if not path.exists():
        raise Fault("there is no such file or folder", str(path), "check the name, or make a show with fieldfare new")
    file = path / SHOW_FILE
    if not file.is_file():
        others = sorted(one.name for one in path.glob("*.toml"))
        remedy = f"name the show's file itself: {listed(others)}" if others else "make one with fieldfare new"
        raise Fault(f"there is no {SHOW_FILE} in this folder", str(path), remedy)
    return file


def _named_documents(show: Written, folder: Path, kind: str) -> tuple[list[Written], tuple[Blemish, ...]]:
    """Read the venue or the kits that a show names, as far as it names them."""
    value = show.data.get(kind)
    named: list[tuple[Loc, object]] = [((kind,), value)]
    if isinstance(value, list):
        named = [((kind, number), name) for number, name in enumerate(value)]
    read: list[Written] = []
    faults: list[Blemish] = []
    seen: set[Path] = set()
    for loc, name in named:
        if not isinstance(name, str) or not name.strip():
            continue
        path = folder / name.strip()
        if not _is_file(path):
            faults.append(show.blemish(loc, f'there is no file "{name}"', _instead(path, folder, show, kind)))
        elif path.resolve() in seen:
            faults.append(show.blemish(loc, f'"{name}" is named twice', "name each file once"))
        else:
            seen.add(path.resolve())
            faults += _read_into(read, path, name.strip(), kind)
    return read, tuple(faults)


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name that is too long for the system
        return False


def _read_into(read: list[Written], path: Path, name: str, kind: str) -> tuple[Blemish, ...]:
    try:
        written = _read_document(path, name)
    except BadDocuments as bad:
        return bad.blemishes
    mistaken = _mistaken(written, kind)
    if not mistaken:
        read.append(written)
    return mistaken


def _instead(path: Path, folder: Path, show: Written, kind: str) -> str:
    """Name the file that was meant: never the show itself, nor what the show names for something else."""
    others = {SHOW_FILE, *(str(show.data.get(one)) for one in ("venue", "kit") if one != kind)}
    there = [one.name for one in path.parent.iterdir() if one.is_file()] if path.parent.is_dir() else []
    fit = [one for one in there if Path(one).suffix.lower() in (".toml", *SPREADSHEETS) and one not in others]
    guess = nearest(path.name, fit)
    if not guess:
        make = {"kit": "fieldfare kit template kit.csv", "venue": "fieldfare new"}[kind]
        return f"give the name of the {kind}'s file, from the folder {folder}, or begin one: {make}"
    return f'write "{seen_from(folder, path.parent / guess)}"'


def _read_document(path: Path, name: str) -> Written:
    if path.suffix.lower() in SPREADSHEETS:
        from fieldfare.show.spreadsheet import read_spreadsheet

        return read_spreadsheet(path, name)
    return read_toml(path, name)


def _mistaken(written: Written, kind: str) -> tuple[Blemish, ...]:
    """Find fault with a document that is another kind than it should be, in one sentence rather than field by field."""
    alike = {name: len(written.data.keys() & model.model_fields.keys()) for name, model in _MODELS.items()}
    nearest_kind = max(alike, key=lambda name: alike[name])
    if 2 * alike[kind] >= alike[nearest_kind]:
        return ()
    read = f"reads like a {nearest_kind}, not like a {kind}"
    return (Blemish(written.file, "", "", read, f"give the {kind}'s file instead"),)


def _checked_venue(written: Written | None) -> tuple[Venue | None, tuple[Blemish, ...]]:
    if written is None:
        return None, ()
    venue, faults = validated(written, Venue)
    return venue, (*faults, *venue_faults(written))


def _checked_kit(kits: list[Written]) -> tuple[Kit | None, tuple[Blemish, ...]]:
    checked = [validated(written, Kit) for written in kits]
    good = [kit for kit, _ in checked if kit is not None]
    told = [fault for written in kits for fault in written.faults]
    known = {(fault.file, fault.place, fault.field) for fault in told}
    crossed = list(kit_faults(kits))
    places = {(fault.file, fault.place, fault.field) for fault in crossed}  # told there in words that fit better
    said = [fault for _, said in checked for fault in said if (fault.file, fault.place, fault.field) not in places]
    said += crossed
    faults = (*told, *(fault for fault in said if (fault.file, fault.place, fault.field) not in known))
    return (merged(good) if good else None), faults
