"""The papers that go into a parcel."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from fieldfare.plan.recipes import Recipe
from fieldfare.sheets.head import Setting
from fieldfare.sheets.inputs import input_sheet
from fieldfare.sheets.language import Language
from fieldfare.sheets.stage import stage_sheet
from fieldfare.sheets.track_sheet import track_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.write import names_of
from fieldfare.show.findings import TakeReport
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan
from fieldfare.show.receiver import Sheet
from fieldfare.show.show import Show
from fieldfare.show.songs import SongBook
from fieldfare.show.venue import Venue


def papers(
    plan: Plan,
    show: Show,
    venue: Venue,
    kit: Kit,
    recipes: Mapping[str, Recipe],
    wanted: Sequence[Sheet],
    revision: str,
    printed: dt.datetime,
    takes: Sequence[TakeReport],
    songs: SongBook | None,
    language: Language = "en",
) -> dict[str, bytes]:
    """Set the papers that a receiver gets, by their file's name.

    Raises
    ------
    NotDone
        One could not be set.
    """
    setting = Setting(plan, show, venue, "a4", revision, printed, language=language)
    names = names_of(show, kit)
    made: dict[str, bytes] = {}
    if "track sheet" in wanted:
        made["track_sheet.pdf"] = typeset("track-sheet", track_sheet(setting, takes, songs), printed, language, names)
    if "input list" in wanted:
        made["input_list.pdf"] = typeset("inputs", input_sheet(setting), printed, language, names)
    if "stage drawing" in wanted:
        made["stage_drawing.pdf"] = typeset("stage", stage_sheet(setting, kit, recipes), printed, language, names)
    return made
