"""The songs of a night: where each begins and ends, moved with its sound, and cut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal
from urllib.parse import quote

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from fieldfare.desk.book import Open
from fieldfare.desk.desk import Editing, Local, Missing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.recordings import axes_of
from fieldfare.desk.render import html, svg
from fieldfare.desk.song_edits import add_song, mark_of, number_of, place_of, set_handles, set_song, song_of, take_of
from fieldfare.desk.versions import Way, stepped, steps_of
from fieldfare.desk.works.songs import kept_songs
from fieldfare.sheets.drawing.plot import BOTTOM, LEFT, RIGHT, TOP, sound_plot
from fieldfare.show.songs import SONGS_FILE, Handles, Song, SongBook, TakeSongs, write_songs
from fieldfare.store.undo import Steps
from fieldfare.takes.excerpt import Excerpt, as_wav, mixed, outline
from fieldfare.takes.offload.kept import copies_name, kept_report
from fieldfare.takes.songs.find import DOUBTFUL
from fieldfare.units.clock import clock, sample_clock
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure

router = APIRouter(prefix="/shows/{key}")
KIND = "songs"  # of their revisions
Edge = Literal["start", "end"]
Talk = Literal["leave", "before", "own"]
Number = Annotated[int, Form(ge=0, le=10_000)]
Mark = Annotated[str, Form(max_length=16)]
AROUND_S = 5.0  # of an edge that are seen and heard
COLUMNS = 640


@dataclass(frozen=True, slots=True)
class SongLine:
    """One song of the list."""

    number: int
    song: Song
    mark: str  # of the song as the page shows it
    start: str
    end: str
    length: str
    sure: str
    doubtful: bool
    opened: bool


@dataclass(frozen=True, slots=True)
class EdgePart:
    """One edge of the opened song, to see, to hear and to move."""

    edge: Edge
    name: str
    at: str
    plot: Markup
    begin_s: float
    end_s: float
    at_s: float
    x: float
    span: str


@dataclass(frozen=True, slots=True)
class TakePart:
    """The songs of one take."""

    number: int
    name: str
    length: str
    lines: tuple[SongLine, ...]


@dataclass(frozen=True, slots=True)
class Measures:
    """Of a plot, so that a point of it is a time."""

    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM


@dataclass(frozen=True, slots=True)
class SongsPage:
    """All songs."""

    frame: Frame
    offloaded: bool
    found: bool  # whether there is a document
    takes: tuple[TakePart, ...]
    edges: tuple[EdgePart, ...]
    trouble: str
    measures: Measures
    not_played: tuple[str, ...]
    not_known: tuple[str, ...]
    handles: Handles
    finding: JobView | None
    cutting: JobView | None
    cut_to: str
    local: bool
    steps: Steps


@router.get("/songs")
def songs(
    here: TheShow,
    take: Annotated[int, Query(ge=0, le=10_000)] = 0,
    song: Annotated[int, Query(ge=0, le=10_000)] = 0,
) -> HTMLResponse:
    """Show the songs of every take; one of them opened at its edges."""
    now = here.book.open()
    book = kept_songs(here.book.folder)
    report = kept_report(here.book.folder)
    edges: tuple[EdgePart, ...] = ()
    trouble = ""
    if book and song and take < len(book.take) and song <= len(book.take[take].song):
        try:
            edges = tuple(_edges(here, book, take, song - 1))
        except Fault as fault:  # the disc with the copies is not connected: times can be typed all the same
            trouble = str(fault)
    opened = (take, song - 1)
    return html(
        "songs.html",
        SongsPage(
            frame=here.frame("songs", "songs", now),
            offloaded=report is not None,
            found=book is not None,
            takes=tuple(_take(number, one, opened) for number, one in enumerate(book.take)) if book else (),
            edges=edges,
            trouble=trouble,
            measures=Measures(),
            not_played=book.not_played if book else (),
            not_known=book.not_known if book else (),
            handles=book.handles if book else Handles(),
            finding=job_view(here, "songs"),
            cutting=job_view(here, "cut"),
            cut_to=_cut_to(now, report.destination[0] if report and report.destination else ""),
            local=here.session.local,
            steps=steps_of(here.book.store, KIND, now.read.show.title, book) if book else Steps(None, None),
        ),
    )


def _cut_to(now: Open, place: str) -> str:
    return str(Path(place) / f"{copies_name(now.plan)}-songs") if place else ""


def _take(number: int, take: TakeSongs, opened: tuple[int, int]) -> TakePart:
    lines = tuple(_line(place, song, take.rate_hz, opened == (number, place)) for place, song in enumerate(take.song))
    return TakePart(number, take.take, sample_clock(take.frames, take.rate_hz), lines)


def _line(number: int, song: Song, rate_hz: int, opened: bool) -> SongLine:
    sure = (song.title_confidence, song.start_confidence, song.end_confidence)
    return SongLine(
        number=number,
        song=song,
        mark=mark_of(song),
        start=sample_clock(song.start, rate_hz),
        end=sample_clock(song.end, rate_hz),
        length=clock((song.end - song.start) / rate_hz),
        sure=figure(100 * min(sure)),
        doubtful=min(sure) < DOUBTFUL,
        opened=opened,
    )


def _edges(here: TheShow, book: SongBook, take: int, number: int) -> Iterator[EdgePart]:
    song, rate_hz = song_of(book, take, number), book.take[take].rate_hz
    names: tuple[tuple[Edge, str, int], ...] = (
        ("start", "Where it begins", song.start),
        ("end", "Where it ends", song.end),
    )
    for edge, name, at in names:
        sound = _sound(here, book.take[take], at)
        begin_s, end_s = sound.first / rate_hz, (sound.first + len(sound.samples)) / rate_hz
        points = [[float(low), float(high)] for low, high in outline(sound, COLUMNS)]
        plot = svg(sound_plot(points, begin_s, end_s, (at / rate_hz, at / rate_hz)))
        span = f"{sample_clock(sound.first, rate_hz)} to {sample_clock(sound.first + len(sound.samples), rate_hz)}"
        x = LEFT + (at / rate_hz - begin_s) / (end_s - begin_s) * (RIGHT - LEFT)
        yield EdgePart(edge, name, sample_clock(at, rate_hz), plot, begin_s, end_s, at / rate_hz, x, span)


def _sound(here: TheShow, take: TakeSongs, at: int) -> Excerpt:
    axis = next((one for one in axes_of(here.book) if one.name == take.take), None)
    if axis is None:
        raise Missing("this take is not among the copies", take.take, "offload it again, or find the songs again")
    around = round(AROUND_S * axis.rate_hz)
    return mixed(axis, at - around, at + around)


@router.get("/songs/{take}/{song}/{edge}.wav", response_class=Response)
def listen(here: TheShow, take: int, song: int, edge: Edge) -> Response:
    """Give the sound around an edge of a song: all tracks as loud as they were recorded."""
    book = kept_songs(here.book.folder)
    if book is None or not 0 <= take < len(book.take) or not 1 <= song <= len(book.take[take].song):
        raise Missing("there is no such song", here.key, "the page of songs has them all")
    at = getattr(book.take[take].song[song - 1], edge)
    return Response(as_wav(_sound(here, book.take[take], at)), media_type="audio/wav")


@router.post("/songs/find")
def find(here: TheShow, editor: Editing) -> RedirectResponse:
    """Listen for the songs, around what was set by hand."""
    begin_job(here, "songs", {}, "listening")
    return here.to("songs")


@router.post("/songs/cut")
def cut(here: TheShow, local: Local, folder: Annotated[str, Form(max_length=1000)] = "") -> RedirectResponse:
    """Cut the songs into a new folder."""
    if not folder.strip():
        raise Fault("no folder is named", "cutting", "name a new folder for the songs")
    begin_job(here, "cut", {"folder": folder.strip()}, "cutting")
    return here.to("songs")


@router.post("/songs/handles")
def handles(
    here: TheShow,
    editor: Editing,
    before_s: Annotated[float, Form(ge=0, le=3600, allow_inf_nan=False)] = 2.0,
    after_s: Annotated[float, Form(ge=0, le=3600, allow_inf_nan=False)] = 2.0,
    applause: Annotated[str, Form(max_length=3)] = "",
    talk: Annotated[Talk, Form()] = "leave",
) -> RedirectResponse:
    """Say how much is kept around a song."""
    said = {"before_s": before_s, "after_s": after_s, "applause": bool(applause), "talk": talk}
    _keep(here, set_handles(_book(here), **said))
    return here.to("songs")


@router.post("/songs/add")
def add(
    here: TheShow,
    editor: Editing,
    take: Number,
    title: Annotated[str, Form(max_length=200)] = "",
    start: Annotated[str, Form(max_length=40)] = "",
    end: Annotated[str, Form(max_length=40)] = "",
) -> RedirectResponse:
    """Put in a song that was not found."""
    book = _book(here)
    of = take_of(book, take)
    _keep(here, add_song(book, take, title, place_of(of, start, "start"), place_of(of, end, "end")))
    return here.to("songs")


@router.post("/songs/change")
def change(
    here: TheShow,
    editor: Editing,
    take: Number,
    mark: Mark,
    title: Annotated[str, Form(max_length=200)] = "",
    start: Annotated[str, Form(max_length=40)] = "",
    end: Annotated[str, Form(max_length=40)] = "",
    keep: Annotated[str, Form(max_length=3)] = "",
) -> RedirectResponse:
    """Give a song another title, start or end, or say that it is none; what is left blank stays."""
    book = _book(here)
    number = number_of(book, take, mark)
    of, before = take_of(book, take), song_of(book, take, number)
    changed: dict[str, object] = {}
    for name, said in (("start", start), ("end", end)):
        if said.strip() and said.strip() != sample_clock(getattr(before, name), of.rate_hz):
            changed[name] = place_of(of, said, name)
    if title.strip():
        changed["title"] = title.strip()
    if keep:
        changed["keep"] = keep == "yes"
    _keep(here, set_song(book, take, number, **changed))
    return _to_song(here, take, number)


@router.post("/songs/move")
def move(
    here: TheShow,
    editor: Editing,
    take: Number,
    mark: Mark,
    edge: Annotated[Edge, Form()],
    by_s: Annotated[float, Form(ge=-3600, le=3600, allow_inf_nan=False)],
) -> RedirectResponse:
    """Move one edge of a song by so many seconds."""
    book = _book(here)
    of, number = take_of(book, take), number_of(book, take, mark)
    at = getattr(song_of(book, take, number), edge) + round(by_s * of.rate_hz)
    _keep(here, set_song(book, take, number, **{edge: min(of.frames, max(0, at))}))
    return _to_song(here, take, number)


@router.post("/songs/{way}")
def step(here: TheShow, editor: Editing, way: Way) -> RedirectResponse:
    """Undo what was last changed in the songs, by hand or by finding them again; or do it again."""
    _keep(here, stepped(here.book.store, KIND, here.book.documents()[0].show.title, _book(here), way))
    return here.to("songs")


def _to_song(here: TheShow, take: int, number: int) -> RedirectResponse:
    return here.to(f"songs?take={take}&song={number + 1}#{quote(f's{take}-{number + 1}')}")


def _book(here: TheShow) -> SongBook:
    book = kept_songs(here.book.folder)
    if book is None:
        raise Fault("there are no songs yet", SONGS_FILE, "let them be found first")
    return book


def _keep(here: TheShow, book: SongBook) -> None:
    write_songs(here.book.folder / SONGS_FILE, book)
