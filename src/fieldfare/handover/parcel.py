"""A parcel for one receiver: refused while a consent is missing, made whole or not at all, sealed as a bag.

Everything is written beside its place first, under a name that begins with a dot; it gets its own name once every file
has been read back from the medium. Broken off, it goes on where it was (`takes/proven.py`).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from fieldfare.handover.bag import ALGORITHM, PAYLOAD, Sealed, seal
from fieldfare.handover.consents import missing_consents, parties
from fieldfare.handover.copies import copy_files
from fieldfare.handover.listening import Listening, ListeningPage, Player, listening_page
from fieldfare.handover.names import safe_name, told_apart
from fieldfare.handover.notes import consents_text, notes_text
from fieldfare.handover.papers import papers
from fieldfare.handover.tracks import Handed, Stretch, hand_tracks
from fieldfare.plan.recipes import Recipe
from fieldfare.sheets.head import Paper, Setting
from fieldfare.sheets.language import Language, day_in, listed_in, said, worded
from fieldfare.show.alignment import Alignment
from fieldfare.show.consent import CONSENT_FILE, ConsentBook
from fieldfare.show.files import refuse, refuse_small_disc
from fieldfare.show.findings import TakeReport
from fieldfare.show.kit import Kit
from fieldfare.show.mix import SHEET_FILE, read_mix
from fieldfare.show.plan import Plan
from fieldfare.show.receiver import Receiver
from fieldfare.show.show import Show
from fieldfare.show.songs import SONGS_FILE, Handles, SongBook, TakeSongs
from fieldfare.show.venue import Venue
from fieldfare.takes.axis import Axis
from fieldfare.takes.played import level_of
from fieldfare.takes.proven import Proven, proven_folder
from fieldfare.takes.songs.pieces import pieces_of
from fieldfare.takes.stamps import stamp_of, stamp_of_take
from fieldfare.takes.wave import Cue
from fieldfare.units.faults import BadDocuments, Blemish, Fault, NotDone
from fieldfare.units.text import listed, slug

SOUNDS = (".wav", ".flac", ".m4a", ".mp3")
PICTURES = (".mp4", ".mov", ".mkv", ".mxf")
EDITS = (".otio", ".edl")
PAGE = "listen.html"
Tell = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Contents:
    """All that a parcel may be made of."""

    folder: Path  # the show's
    plan: Plan
    show: Show
    venue: Venue
    kit: Kit
    recipes: Mapping[str, Recipe]
    revision: str
    consents: ConsentBook
    axes: tuple[Axis, ...] = ()
    takes: tuple[TakeReport, ...] = ()
    songs: SongBook | None = None
    measured: Alignment | None = None
    roughs: tuple[Path, ...] = ()
    pictures: tuple[Path, ...] = ()
    edits: tuple[Path, ...] = ()
    language: Language = "en"  # of all that a person reads, but for names
    paper: Paper = "a4"


@dataclass(frozen=True, slots=True)
class Parcel:
    """A parcel as it was made."""

    folder: Path
    sealed: Sealed
    handed: tuple[Handed, ...]
    lacking: tuple[str, ...]  # what its receiver mostly gets and was not there


@dataclass(slots=True)
class _Making:
    """A parcel being made."""

    contents: Contents
    to: Receiver
    proven: Proven
    tell: Tell
    withheld: tuple[str, ...]  # who keeps the pictures from it
    handed: list[Handed] = field(default_factory=list)
    copied: dict[str, str] = field(default_factory=dict)  # path from the bag, SHA-512 of what was read

    @property
    def part(self) -> Path:
        """The folder that it is made in."""
        return self.proven.folder


def refusals(contents: Contents, to: Receiver, day_of: dt.date) -> tuple[Blemish, ...]:
    """Say what stands in the way of a parcel; nothing where it may leave."""
    asked = parties(contents.show, contents.venue, contents.recipes, contents.consents)
    missing = missing_consents(asked, contents.consents, to.uses, day_of, contents.folder)
    said = [Blemish(CONSENT_FILE, "", "", one, "record it: fieldfare consent") for one in missing]
    where = f"a parcel for {to.name}"
    if to.tracks != "none" and not contents.axes:
        said.append(Blemish(where, "", "", "there are no recordings", "offload them, or name them with --recordings"))
    if to.tracks == "songs" and not _songs(contents):
        said.append(Blemish(where, "", "", f"no song is known in {SONGS_FILE}", "find them: fieldfare songs"))
    pictures = contents.pictures and not withheld(contents, to, day_of)
    if to.tracks == "none" and not (contents.roughs or pictures):
        said.append(
            Blemish(where, "", "", "there is nothing to give: no rough mix and no picture", "name them: --roughs")
        )
    return tuple(said)


def withheld(contents: Contents, to: Receiver, day_of: dt.date) -> tuple[str, ...]:
    """Say who keeps pictures from a receiver who gets them beside other things: nobody sees them against a word."""
    if not (to.pictures and contents.pictures) or "pictures" in to.uses:
        return ()
    asked = parties(contents.show, contents.venue, contents.recipes, contents.consents)
    return missing_consents(asked, contents.consents, ("pictures",), day_of, contents.folder)


def make_parcel(contents: Contents, to: Receiver, place: Path, printed: dt.datetime, tell: Tell) -> Parcel:
    """Make a parcel.

    Parameters
    ----------
    contents
        All that it may be made of.
    to
        Who gets it.
    place
        The folder that the parcel's own folder is made in.
    printed
        Now, by the venue's clock.
    tell
        Called with what is done and the share of it, from 0 to 1.

    Raises
    ------
    BadDocuments
        A consent or what it is made of is missing: all that is missing.
    NotDone
        It is there already, the disc is full, or a file does not read back as it was written; nothing is there.
    """
    said = refusals(contents, to, printed.date())
    if said:
        raise BadDocuments(said)
    kept_back = withheld(contents, to, printed.date())
    contents = replace(contents, pictures=()) if kept_back else contents
    folder = parcel_folder(contents.show, to, place)
    refuse(folder)
    _refuse_small_disc(contents, to, folder)
    with proven_folder(folder, _stamp(contents, to)) as proven:
        making, part = _Making(contents, to, proven, tell, kept_back), proven.folder
        (part / PAYLOAD).mkdir(exist_ok=True)
        lacking = tuple(_fill(making, printed))
        sealed = seal(part, _info(contents, to), lambda share: tell("reading back", share))
        _compare(making)
    handed = tuple(_moved(one, part, folder) for one in making.handed)
    return Parcel(folder, sealed, handed, lacking)


def parcel_folder(show: Show, to: Receiver, place: Path) -> Path:
    """Return the folder that a parcel is made in."""
    return place / f"{show.date.isoformat()}_{safe_name(show.title)}_{safe_name(to.name)}"


def _stamp(contents: Contents, to: Receiver) -> str:
    """Stamp what the recordings of a parcel are made from; its papers are written anew each time."""
    takes = [stamp_of_take(axis) for axis in contents.axes]
    return stamp_of("parcel", to, contents.plan.digest, contents.songs, takes)


def _moved(one: Handed, part: Path, folder: Path) -> Handed:
    path = folder / one.path.relative_to(part)
    return Handed(path, one.label, one.number, one.frames, one.rate_hz, one.bits, one.silent, one.sha256)


def _refuse_small_disc(contents: Contents, to: Receiver, folder: Path) -> None:
    rows = [stretch for axis in contents.axes for stretch in _stretches(contents, axis, to, Path())]
    needed = sum(
        (stretch.end - stretch.start) * track.course.strand.part[0].sample_bytes
        for axis, stretch in rows
        for track in axis.track
    )
    copied = (*(contents.roughs if to.roughs else ()), *(contents.pictures if to.pictures else ()))
    needed += sum(path.stat().st_size for path in copied)
    refuse_small_disc(folder, needed)


def _fill(making: _Making, printed: dt.datetime) -> Iterator[str]:
    """Write the payload, and say what the receiver mostly gets and does not get here."""
    contents, to, payload = making.contents, making.to, making.part / PAYLOAD
    if to.tracks in ("songs", "both") and not _songs(contents):
        yield f"tracks by song: no song is known in {SONGS_FILE}"
    _write_tracks(making)
    copies = (
        ("roughs", to.roughs, contents.roughs, "rough mixes"),
        ("pictures", to.pictures, contents.pictures, "pictures with our sound"),
        ("edits", to.edits, contents.edits, "edit lists"),
    )
    played: list[tuple[str, Path]] = []
    for name, wanted, files, words in copies:
        if wanted and name == "pictures" and making.withheld:
            yield f"{words}: {'; '.join(making.withheld)}"
        elif wanted and not files:
            yield f"{words}: there are none"
        elif wanted:
            copied = _copy_all(making, files, payload / name)
            if name == "roughs":
                played += [(rough_title(path), copy) for path, copy in zip(files, copied, strict=True)]
                sheets = [path for path in dict.fromkeys(one.parent / SHEET_FILE for one in files) if path.is_file()]
                _copy_all(making, sheets, payload / name)
    _write_papers(making, printed)
    if to.page:
        page = _page(making, played, printed)
        _write(payload / PAGE, listening_page(page).encode())


def _write_papers(making: _Making, printed: dt.datetime) -> None:
    contents, to, payload = making.contents, making.to, making.part / PAYLOAD
    setting = Setting(contents.plan, contents.show, contents.venue, contents.paper, contents.revision, printed,
                      language=contents.language)  # fmt: skip
    made = papers(setting, contents.kit, contents.recipes, to.sheets, contents.takes, contents.songs, contents.measured)
    for name, content in made.items():
        _write(payload / "sheets" / name, content)
    text = notes_text(contents.plan, contents.show, contents.venue, to, making.handed, contents.takes, contents.songs,
                      contents.language)  # fmt: skip
    _write(payload / "notes.txt", text.encode())
    if to.consents:
        names = [one.name for one in parties(contents.show, contents.venue, contents.recipes, contents.consents)]
        _write(
            payload / "consents.txt",
            consents_text(contents.consents, printed.date(), names, contents.language).encode(),
        )
    if to.documents:
        for path in _documents(contents):
            _copy_all(making, [path], payload / "documents")


def rough_title(path: Path) -> str:
    """Say what a rough mix is of: by the mix sheet that lies beside it, else by its own name.

    >>> rough_title(Path("03_The_Long_Ebb.wav"))
    '03 The Long Ebb'
    """
    sheet = path.parent / SHEET_FILE
    if sheet.is_file():
        with suppress(BadDocuments):
            titles = [song.title for song in read_mix(sheet).song]
            stem = slug(path.stem)
            return max((one for one in titles if slug(one) in stem), key=len, default=path.stem.replace("_", " "))
    return path.stem.replace("_", " ")


def _songs(contents: Contents) -> list[TakeSongs]:
    takes = contents.songs.take if contents.songs else ()
    return [take for take in takes if any(song.keep for song in take.song)]


def _stretches(contents: Contents, axis: Axis, to: Receiver, payload: Path) -> Iterator[tuple[Axis, Stretch]]:
    """Tell which stretches of a take are written, and into which folder each."""
    of_take = [take for take in _songs(contents) if take.take == axis.name]
    songs = [song for take in of_take for song in sorted(take.song, key=lambda one: one.start) if song.keep]
    marks = tuple(Cue(song.start, song.title) for song in songs)
    takes = told_apart(safe_name(one.name, "take") for one in contents.axes)
    own = takes[contents.axes.index(axis)]
    if to.tracks in ("whole", "both"):
        yield axis, Stretch(axis.name, payload / "tracks" / own, 0, axis.frames, marks)
    if to.tracks in ("songs", "both"):
        handles = contents.songs.handles if contents.songs else Handles()
        pieces = [piece for take in of_take for piece in pieces_of(take, handles)]
        for number, piece in enumerate(pieces, 1):
            name = f"{own}_{number:02d}_{safe_name(piece.title, 'song')}"
            mark = (Cue(piece.song_start, piece.title), Cue(piece.song_end, "end"))
            yield axis, Stretch(piece.title, payload / "songs" / name, piece.start, piece.end, mark)


def _write_tracks(making: _Making) -> None:
    contents, payload = making.contents, making.part / PAYLOAD
    work = [row for axis in contents.axes for row in _stretches(contents, axis, making.to, payload)]
    total = sum((stretch.end - stretch.start) * len(axis.track) for axis, stretch in work)
    done = 0

    def tell(samples: int) -> None:
        nonlocal done
        done += samples
        making.tell("writing tracks", done / max(1, total))

    for axis, stretch in work:
        stretch.folder.mkdir(parents=True, exist_ok=True)
        making.handed += hand_tracks(axis, stretch, contents.plan, making.proven, tell)


def _copy_all(making: _Making, files: Sequence[Path], folder: Path) -> list[Path]:
    """Copy files as they are, remember what was read of each, and return the copies."""
    copied = copy_files(making.proven, files, folder, lambda share: making.tell(f"copying {folder.name}", share))
    making.copied |= {path.relative_to(making.part).as_posix(): digest for path, digest in copied.items()}
    return list(copied)


def _compare(making: _Making) -> None:
    """Compare what was read back from the medium with what was read from the files that were copied."""
    lines = (making.part / f"manifest-{ALGORITHM}.txt").read_text("utf-8").splitlines()
    sealed = {path: digest for digest, _, path in (line.partition("  ") for line in lines)}
    differs = [path for path, digest in making.copied.items() if sealed.get(path) != digest]
    if differs:
        raise NotDone(f"{listed(differs)} did not read back as it was written", str(making.part), "use another disc")


def _documents(contents: Contents) -> list[Path]:
    names = ["show.toml", contents.show.venue, *contents.show.kit, SONGS_FILE, CONSENT_FILE]
    paths = [contents.folder / name for name in names]
    return [path for path in dict.fromkeys(paths) if path.is_file()]


def one_of_each(played: Sequence[tuple[str, Path]]) -> list[tuple[str, Path]]:
    """Keep of a mix that is there in several forms the one that every browser plays, in the order of their names.

    >>> [path.name for _, path in one_of_each([("a", Path("1.m4a")), ("a", Path("1.wav")), ("b", Path("2.mp3"))])]
    ['1.wav', '2.mp3']
    """
    by_stem: dict[Path, list[tuple[str, Path]]] = {}
    for title, path in played:
        by_stem.setdefault(path.with_suffix(""), []).append((title, path))
    return [min(forms, key=lambda one: SOUNDS.index(one[1].suffix)) for forms in by_stem.values()]


def _page(making: _Making, played: Sequence[tuple[str, Path]], printed: dt.datetime) -> ListeningPage:
    contents, payload, language = making.contents, making.part / PAYLOAD, making.contents.language
    if played:
        mix = worded("Rough mix", language)
        best = one_of_each(played)
        pieces = [Listening(title, (_player(making, mix, path, drawn=True),)) for title, path in best]
        says = worded("Rough mixes, to tell takes and balances by; the tracks are untouched.", language)
    else:
        folders = dict.fromkeys(one.path.parent for one in making.handed)
        pieces = []
        for folder in folders:
            own = [one for one in making.handed if one.path.parent == folder]
            is_song = folder.is_relative_to(payload / "songs")  # a whole night would be read once more for its plots
            players = tuple(_player(making, one.label, one.path, drawn=is_song) for one in own)
            pieces.append(Listening(folder.name.replace("_", " "), players))
        says = worded("There is no rough mix yet: these are the single tracks, each by itself.", language)
    acts = listed_in((act.name for act in contents.show.act), language)
    about = ", ".join(part for part in (acts, contents.venue.name, day_in(contents.show.date, language)) if part)
    foot = worded(
        "Made on {t}. Works without any network; nothing that is written here leaves this browser.",
        language,
        t=day_in(printed.date(), language),
    )
    return ListeningPage(contents.show.title, about, says, tuple(pieces), foot, language)


def _player(making: _Making, label: str, path: Path, *, drawn: bool) -> Player:
    """Make a player, with the level of its file as it was measured; a file that cannot be read here has none."""
    level = None
    if drawn:
        making.tell(f"measuring {path.stem}", 0.0)
        with suppress(Fault):
            level = level_of(path)
    return Player(label, path.relative_to(making.part / PAYLOAD).as_posix(), level)


def _info(contents: Contents, to: Receiver) -> dict[str, str]:
    show, language = contents.show, contents.language
    acts = listed_in((act.name for act in show.act), language)
    where = ", ".join(part for part in (show.title, acts, contents.venue.name) if part)
    return {
        "Source-Organization": show.recordist,
        "External-Description": f"{where}. {said(to.says, language)}",
        "External-Identifier": f"{show.date.isoformat()} {show.title}",
        "Bag-Group-Identifier": f"{show.date.isoformat()} {show.title}",
        "Internal-Sender-Identifier": f"revision {contents.revision}, documents {contents.plan.digest[:16]}",
    }


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
