"""The papers that go into a parcel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fieldfare.plan.recipes import Recipe
from fieldfare.sheets.head import Setting
from fieldfare.sheets.inputs import input_sheet
from fieldfare.sheets.stage import stage_sheet
from fieldfare.sheets.track_sheet import track_sheet_pdf
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.write import names_of
from fieldfare.show.alignment import Alignment
from fieldfare.show.findings import TakeReport
from fieldfare.show.kit import Kit
from fieldfare.show.receiver import Sheet
from fieldfare.show.songs import SongBook


def papers(
    setting: Setting,
    kit: Kit,
    recipes: Mapping[str, Recipe],
    wanted: Sequence[Sheet],
    takes: Sequence[TakeReport],
    songs: SongBook | None,
    measured: Alignment | None,
) -> dict[str, bytes]:
    """Set the papers that a receiver gets, by their file's name.

    Raises
    ------
    NotDone
        One could not be set.
    """
    printed, language, names = setting.printed, setting.language, names_of(setting.show, kit, setting.venue)
    made: dict[str, bytes] = {}
    if "track sheet" in wanted:
        made["track_sheet.pdf"] = track_sheet_pdf(setting, names, takes, songs, measured)
    if "input list" in wanted:
        made["input_list.pdf"] = typeset("inputs", input_sheet(setting), printed, language, names)
    if "stage drawing" in wanted:
        made["stage_drawing.pdf"] = typeset("stage", stage_sheet(setting, kit, recipes), printed, language, names)
    return made
