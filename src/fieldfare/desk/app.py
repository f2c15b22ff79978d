"""The desk as an application: every page in one table, behind one guard."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import Path

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from fieldfare.desk import faults
from fieldfare.desk.desk import Desk
from fieldfare.desk.guard import Guard
from fieldfare.desk.pages import (
    access,
    advance,
    check,
    count,
    events,
    handover,
    history,
    inputs,
    jobs,
    kit,
    lineup,
    night,
    offload,
    papers,
    pictures,
    rough,
    shows,
    songs,
    stage,
    timing,
    tracks,
    watch,
)
from fieldfare.desk.settings import Settings
from fieldfare.units.faults import Fault

PAGES = (
    shows, access, inputs, lineup, stage, advance, papers, kit, history, night, check, count, events, jobs, offload,
    tracks, songs, timing, rough, pictures, handover, watch,
)  # fmt: skip


def make_app(settings: Settings) -> FastAPI:
    """Make the application that serves a desk.

    Parameters
    ----------
    settings
        Over which folder, and for whom.
    """
    desk = Desk(settings)

    @asynccontextmanager
    async def living(app: FastAPI) -> AsyncIterator[None]:
        yield
        desk.close()

    app = FastAPI(title="fieldfare desk", lifespan=living, docs_url=None, redoc_url=None, openapi_url="/openapi.json")
    app.state.desk = desk
    app.add_exception_handler(Fault, faults.told)
    app.add_exception_handler(RequestValidationError, faults.not_understood)
    app.add_exception_handler(HTTPException, faults.refused)
    app.add_exception_handler(Exception, faults.unforeseen)
    for page in PAGES:
        app.include_router(page.router)
    app.mount("/static", StaticFiles(directory=Path(str(files("fieldfare.desk") / "static"))), name="static")
    app.mount("/fonts", StaticFiles(directory=Path(str(files("fieldfare.sheets") / "fonts"))), name="fonts")
    app.add_middleware(Guard, settings=settings, sessions=desk.sessions)
    return app
