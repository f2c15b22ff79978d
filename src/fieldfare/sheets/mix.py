"""A mix sheet on paper: every track with its level, place and filter and why, and every file as it was measured."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fieldfare.sheets.head import Head, Printing
from fieldfare.sheets.language import Language, said
from fieldfare.sheets.mix_plots import LIMITED_DB, MixPlot, mix_plot
from fieldfare.sheets.typeset import set_sheet
from fieldfare.sheets.write import put_all
from fieldfare.show.mix import MixReport, MixSheet, MixTrack, Rendered
from fieldfare.units.clock import clock
from fieldfare.units.text import figure


@dataclass(frozen=True, slots=True)
class Line:
    """One track."""

    name: str
    role: str
    gain: str
    pan: float  # -1 left, 1 right
    high_pass: str
    time: str
    gate: str
    why: str
    mute: bool


@dataclass(frozen=True, slots=True)
class MixFile:
    """One file, measured."""

    name: str
    length: str
    loudness: str
    peak: str
    spread: str
    limited: str


@dataclass(frozen=True, slots=True)
class MixPage:
    """The whole page."""

    head: Head
    target: str
    tracks: tuple[Line, ...]
    files: tuple[MixFile, ...]
    notes: tuple[str, ...]
    plots: tuple[MixPlot, ...]
    most_limited: str  # dB at the foot of the limiter's plot


def write_mix_sheet(sheet: MixSheet, report: MixReport, folder: Path, printing: Printing) -> tuple[Path, ...]:
    """Write a mix sheet and what came of it as one PDF.

    Parameters
    ----------
    sheet, report
        The mix, and its files.
    folder
        Where the PDF goes; made if it is not there.
    printing
        Paper, time and language, and the show that they belong to.

    Raises
    ------
    NotDone
        The sheet could not be set, or the folder cannot be written to; nothing was changed.
    """
    page = MixPage(
        head=printing.head("rough mix", sheet.take),
        target=f"{figure(sheet.target.loudness_lufs, 1)} LUFS, {figure(sheet.target.ceiling_dbtp, 1)} dBTP at most",
        tracks=tuple(_line(track, sheet.rate_hz, printing.language) for track in sheet.track),
        files=tuple(_file(one) for one in report.file),
        notes=report.note,
        plots=tuple(mix_plot(one.course, sheet) for one in report.file if one.course),
        most_limited=figure(-LIMITED_DB),
    )
    titles = (title for one in report.file for title in (one.title, one.file))
    names = frozenset((sheet.take, *(track.label for track in sheet.track), *titles))
    return put_all({"mix.pdf": set_sheet("mix", page, printing, names)}, folder)


def _line(track: MixTrack, rate_hz: int, language: Language) -> Line:
    gains = [gain + track.trim_db for gain in track.gain_db]
    low, high = min(gains), max(gains)
    time = f"{figure(1000 * track.shift / rate_hz, 2, sign=True)} ms" if track.shift else ""
    return Line(
        name=track.label,
        role=said(track.role, language),  # here already: a track may be called as a role is
        gain=figure(low, 1, sign=True)
        if low == high
        else f"{figure(low, 1, sign=True)} to {figure(high, 1, sign=True)}",
        pan=track.pan,
        high_pass=figure(track.high_pass_hz) if track.high_pass_hz else "",
        time=", ".join(text for text in (time, "turned over" if track.flip else "") if text),
        gate=f"below {figure(track.gate.below_lufs)}" if track.gate else "",
        why=track.why,
        mute=track.mute,
    )


def _file(one: Rendered) -> MixFile:
    return MixFile(
        name=one.file,
        length=clock(one.frames / one.rate_hz),
        loudness="silent" if one.loudness_lufs is None else figure(one.loudness_lufs, 2),
        peak="" if one.true_peak_dbtp is None else figure(one.true_peak_dbtp, 2),
        spread=figure(one.range_lu, 1),
        limited=f"{figure(one.limited_db, 1)} dB, {figure(100 * one.limited_share, 1)} %",
    )
