"""Pictures: where the clips of each camera lie in the take, and how its clock ran."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Local
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.render import html
from fieldfare.desk.works.pictures import kept_pictures
from fieldfare.show.picture import PictureReport
from fieldfare.takes.offload.kept import kept_report
from fieldfare.units.clock import clock
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure

router = APIRouter(prefix="/shows/{key}")


@dataclass(frozen=True, slots=True)
class ClipLine:
    """One clip."""

    camera: str
    file: str
    found: bool
    begins: str
    ppm: str
    sure: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PicturedTake:
    """The clips of one take."""

    name: str
    clips: tuple[ClipLine, ...]
    laid: tuple[str, ...]
    edits: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PicturesPage:
    """All pictures."""

    frame: Frame
    offloaded: bool
    takes: tuple[PicturedTake, ...]
    cameras: tuple[str, ...]
    work: JobView | None
    local: bool


@router.get("/pictures")
def pictures(here: TheShow) -> HTMLResponse:
    """Show where the clips lie."""
    now = here.book.open()
    return html(
        "pictures.html",
        PicturesPage(
            frame=here.frame("pictures", "pictures", now),
            offloaded=kept_report(here.book.folder) is not None,
            takes=tuple(_take(one) for one in kept_pictures(here.book.folder)),
            cameras=tuple(one.name for one in now.read.show.camera) or ("Camera 1",),
            work=job_view(here, "pictures"),
            local=here.session.local,
        ),
    )


def _take(report: PictureReport) -> PicturedTake:
    clips = tuple(
        ClipLine(
            camera=device.name,
            file=clip.file,
            found=clip.found,
            begins=clock(clip.offset_s, 3) if clip.found and clip.offset_s >= 0 else figure(clip.offset_s, 3),
            ppm=figure(clip.ppm, 1),
            sure=figure(100 * clip.confidence),
            notes=clip.note,
        )
        for device in report.device
        for clip in device.clip
    )
    return PicturedTake(report.take, clips, tuple(one.file for one in report.laid), report.edit, report.note)


@router.post("/pictures")
def find(
    here: TheShow,
    local: Local,
    name: Annotated[list[str], Form(max_length=40)] = [],  # noqa: B006  (FastAPI copies it)
    path: Annotated[list[str], Form(max_length=40)] = [],  # noqa: B006
    lay: Annotated[str, Form(max_length=3)] = "",
) -> RedirectResponse:
    """Find the clips of the cameras whose folders are named."""
    pairs = zip(name, path, strict=False)
    cameras = [f"{one.strip()[:200]}={where.strip()[:1000]}" for one, where in pairs if one.strip() and where.strip()]
    if not cameras:
        raise Fault("no camera is named", "pictures", "give each camera's file, or the folder of its clips")
    begin_job(here, "pictures", {"cameras": cameras, "lay": lay == "yes"}, "listening")
    return here.to("pictures")
