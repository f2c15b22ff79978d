"""Rough mixes: heard in the browser, adjusted by hand, rendered again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse
from markupsafe import Markup
from pydantic import ValidationError
from starlette.datastructures import FormData

from fieldfare.desk.desk import Editing, Missing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.render import html, svg
from fieldfare.desk.versions import Way, stepped, steps_of
from fieldfare.desk.works.rough import FOLDER, KeptMix, kept_mixes
from fieldfare.sheets.drawing.mixed import course_plot, share_plot, view_box
from fieldfare.sheets.mix_plots import mix_plot
from fieldfare.show.edit_toml import edit_toml
from fieldfare.show.mix import MixCourse, MixSheet, MixTrack, Rendered
from fieldfare.store.undo import Steps
from fieldfare.takes.offload.kept import kept_report
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure

router = APIRouter(prefix="/shows/{key}")
HOW_LOUD = (
    "LUFS: thick the last 3 s, thin the last 400 ms, dashed the target. Below it what the limiter took off, and bars "
    "where a gate is shut or the whole mix is ridden down."
)
KIND = "mix"  # of its revisions


@dataclass(frozen=True, slots=True)
class MixedPlot:
    """One plot of a song."""

    says: str
    about: str
    measures: str
    shapes: Markup


@dataclass(frozen=True, slots=True)
class HeardMix:
    """One rendered song."""

    number: int  # among the files of the report
    rendered: Rendered
    loudness: str
    peak: str
    plots: tuple[MixedPlot, ...]  # how it went, and what each track gives


@dataclass(frozen=True, slots=True)
class MixedTake:
    """The mix of one take."""

    number: int
    name: str
    sheet: MixSheet
    shown: tuple[dict[str, str], ...]  # of each track, what can be set
    heard: tuple[HeardMix, ...]
    notes: tuple[str, ...]
    steps: Steps


@dataclass(frozen=True, slots=True)
class RoughPage:
    """All rough mixes."""

    frame: Frame
    offloaded: bool
    takes: tuple[MixedTake, ...]
    work: JobView | None


@router.get("/rough")
def rough(here: TheShow) -> HTMLResponse:
    """Show the mixes, to be heard and adjusted."""
    now = here.book.open()
    takes = tuple(_take(here, number, one) for number, one in enumerate(kept_mixes(here.book.folder)))
    offloaded = kept_report(here.book.folder) is not None
    frame = here.frame("rough", "rough mixes", now)
    return html("rough.html", RoughPage(frame, offloaded, takes, job_view(here, "rough")))


def _take(here: TheShow, number: int, kept: KeptMix) -> MixedTake:
    files = kept.report.file if kept.report else ()
    courses = {one.start: one.course for one in files if one.course}
    heard = tuple(
        _heard(place, one, _plots(courses.get(one.start), kept.sheet))
        for place, one in enumerate(files)
        if one.format == "mp3"
    )
    steps = steps_of(here.book.store, KIND, _name(here, kept), kept.sheet)
    shown = tuple(shown_of(track) for track in kept.sheet.track)
    return MixedTake(number, kept.sheet.take, kept.sheet, shown, heard, kept.report.note if kept.report else (), steps)


def _plots(course: MixCourse | None, sheet: MixSheet) -> tuple[MixedPlot, ...]:
    if course is None:
        return ()
    plot = mix_plot(course, sheet)
    drawn = (
        ("Loudness over time", HOW_LOUD, course_plot(plot)),
        ("What each track gives", "By itself in the mix, ahead of the limiter, and its place.", share_plot(plot)),
    )
    return tuple(MixedPlot(says, about, view_box(height), svg(shapes)) for says, about, (shapes, height) in drawn)


def _heard(number: int, one: Rendered, plots: tuple[MixedPlot, ...]) -> HeardMix:
    loudness = "silent" if one.loudness_lufs is None else figure(one.loudness_lufs, 1)
    peak = "" if one.true_peak_dbtp is None else figure(one.true_peak_dbtp, 1)
    return HeardMix(number, one, loudness, peak, plots)


def _mix(here: TheShow, take: int) -> KeptMix:
    found = kept_mixes(here.book.folder)
    if not 0 <= take < len(found):
        raise Missing("there is no such mix", f"take {take + 1}", "mix it first")
    return found[take]


@router.get("/rough/{take}/{number}.mp3", response_class=FileResponse)
def listen(here: TheShow, take: int, number: int) -> FileResponse:
    """Give the sound of one song's mix."""
    kept = _mix(here, take)
    report = kept.report
    if report is None or not 0 <= number < len(report.file):
        raise Missing("there is no such mix", f"song {number + 1}", "mix it again")
    root = (here.book.folder / FOLDER).resolve()
    file = kept.file.with_name(report.file[number].file).resolve()
    if not file.is_relative_to(root) or not file.is_file():
        raise Missing("the sound is not there", report.file[number].title, "mix it again")
    return FileResponse(file, media_type="audio/mpeg")


@router.post("/rough/mix")
def mix(here: TheShow, editor: Editing, choose: Annotated[str, Form(max_length=3)] = "") -> RedirectResponse:
    """Render the mixes; choose their sheets anew where that is asked for or there are none."""
    begin_job(here, "rough", {"choose": choose == "yes"}, "listening")
    return here.to("rough")


@router.post("/rough/adjust")
async def adjust(
    here: TheShow, editor: Editing, request: Request, take: Annotated[int, Form(ge=0, le=10_000)]
) -> RedirectResponse:
    """Keep what was set by hand, track by track."""
    form = await request.form()
    kept = _mix(here, take)
    sheet = kept.sheet
    tracks = [track.model_dump() | _changed(form, place, track) for place, track in enumerate(sheet.track)]
    try:
        after = MixSheet.model_validate(sheet.model_dump() | {"track": tracks})
    except ValidationError as wrong:
        first = wrong.errors()[0]
        at = first["loc"][1] if len(first["loc"]) > 1 else 0
        label = sheet.track[at].label if isinstance(at, int) else sheet.take
        raise Fault(str(first["msg"]), f"{label}, {first['loc'][-1]}", "put it right and send it again") from None
    edit_toml(kept.file, after)
    return here.to("rough")


def shown_of(track: MixTrack) -> dict[str, str]:
    """Return what a page shows of a track to be set, as it is written there."""
    said = {field: f"{getattr(track, field):g}" for field in ("trim_db", "pan", "high_pass_hz")}
    return said | {field: "yes" if getattr(track, field) else "" for field in ("mute", "flip")}


def _changed(form: FormData, place: int, track: MixTrack) -> dict[str, object]:
    """Return what was set of a track on the page that was sent; what it shows unchanged may be otherwise by now."""
    changed: dict[str, object] = {}
    for field, now in shown_of(track).items():
        was = str(form.get(f"was {field} {place}", now))
        flag = field in ("mute", "flip")
        said = ("yes" if f"{field} {place}" in form else "") if flag else str(form.get(f"{field} {place}", was))
        if said.strip() != was:
            changed[field] = bool(said) if flag else said.strip().replace("−", "-").replace(",", ".")
    return changed


@router.post("/rough/{way}")
def step(here: TheShow, editor: Editing, way: Way, take: Annotated[int, Form(ge=0, le=10_000)]) -> RedirectResponse:
    """Undo what was last set of a mix, by hand or by choosing it anew; or do it again."""
    kept = _mix(here, take)
    edit_toml(kept.file, stepped(here.book.store, KIND, _name(here, kept), kept.sheet, way))
    return here.to("rough")


def _name(here: TheShow, kept: KeptMix) -> str:
    return f"{here.book.documents()[0].show.title}, {kept.sheet.take}"
