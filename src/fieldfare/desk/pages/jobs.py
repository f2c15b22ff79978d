"""Long work on its page: how far it is, stopped, and gone on with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter
from fastapi import Path as PathPart
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Editing, Refused
from fieldfare.desk.frame import Frame
from fieldfare.desk.jobs import Asks, Job
from fieldfare.desk.pages.here import TheShow, frame_of
from fieldfare.desk.render import html
from fieldfare.desk.work import GO_ON, job_file, kind_of

router = APIRouter(prefix="/shows/{key}")
Kindly = Annotated[str, PathPart(max_length=40)]
STOP_S = 5.0  # that a page waits for work to stop


@dataclass(frozen=True, slots=True)
class JobView:
    """Long work as its page shows it."""

    kind: str
    job: Job
    words: str
    about: str  # the folder that it is about
    again: str
    stop: str
    may: bool  # whether who looks may begin, stop and go on


@dataclass(frozen=True, slots=True)
class JobPart:
    """How far it is, while it runs."""

    frame: Frame
    work: JobView


def job_view(here: TheShow, kind: str) -> JobView | None:
    """Return the latest work of a kind; None where there was none."""
    about = kind_of(kind)
    job = here.desk.jobs.look(job_file(here.book.folder, kind))
    if job is None:
        return None
    if job.state == "stopped":
        job = job.model_copy(update={"says": f"{job.says} {about.left}"})
    words = {"running": about.running, "stopped": "Stopped", "failed": "Not done", "done": "Done"}[job.state]
    may = here.session.role == "edit" and (here.session.local or not about.reaches_out)
    folder = job.asks.get("card") or job.asks.get("folder") or ""
    again = "Try again" if job.state == "failed" and about.again == GO_ON else about.again
    return JobView(kind, job, words, str(folder), again, about.stop, may)


def begin_job(here: TheShow, kind: str, asks: Asks, stage: str) -> None:
    """Begin long work.

    Raises
    ------
    Fault, Refused
        It runs already, cannot be begun, or reaches beyond the show's folder and was not asked for on the laptop.
    """
    about = kind_of(kind)
    if about.reaches_out and not here.session.local:
        raise Refused("this reaches beyond the show's folder", "the desk", "do it on the laptop itself")
    work = about.make(here.book, asks)
    here.desk.jobs.begin(
        job_file(here.book.folder, kind), Job(kind=kind, asks=asks, state="running", stage=stage), work
    )


@router.get("/jobs/{kind}")
def look(here: TheShow, kind: Kindly) -> HTMLResponse:
    """Show how far work is; once it has ended, let its page be loaded again."""
    view = job_view(here, kind)
    if view is None or view.job.state != "running":
        return HTMLResponse("", headers={"HX-Refresh": "true"})
    frame = replace(frame_of(here.request, ""), base=f"/shows/{quote(here.key)}")
    return html("job.html", JobPart(frame, view))


@router.post("/jobs/{kind}/stop")
def stop(here: TheShow, editor: Editing, kind: Kindly) -> RedirectResponse:
    """Stop work where it is."""
    about = kind_of(kind)
    file = job_file(here.book.folder, kind)
    here.desk.jobs.stop(file)
    here.desk.jobs.wait(file, STOP_S)
    return here.to(about.page)


@router.post("/jobs/{kind}/again")
def again(here: TheShow, editor: Editing, kind: Kindly) -> RedirectResponse:
    """Go on with work that was stopped, was cut off or failed, with what it was begun with."""
    about = kind_of(kind)
    job = here.desk.jobs.look(job_file(here.book.folder, kind))
    if job is not None:
        begin_job(here, kind, job.asks, "going on")
    return here.to(about.page)
