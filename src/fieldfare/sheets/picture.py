"""Cameras on paper: where each clip lies along the take, and how its clock was read from moment to moment."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldfare.sheets.axis import Tick, time_ticks
from fieldfare.sheets.head import Head, Printing, counted
from fieldfare.sheets.typeset import set_sheet
from fieldfare.sheets.write import put_all
from fieldfare.show.picture import Clip, Device, PictureReport
from fieldfare.units.clock import clock
from fieldfare.units.text import figure

TICKS = 8
REACHES_MS = (0.5, 1.0, 2.0, 5.0, 10.0)  # of the axis of residuals


@dataclass(frozen=True, slots=True)
class Plot:
    """Residuals of one clip over its own time: 0 to 1 along, 0 to 1 from bottom to top."""

    times: tuple[Tick, ...]
    levels: tuple[Tick, ...]
    points: tuple[tuple[float, float, int], ...]  # along, up, tracks that agreed


@dataclass(frozen=True, slots=True)
class ClipRow:
    """One clip."""

    camera: str
    file: str
    found: bool
    span: tuple[float, float]  # of the take, 0 to 1, cut off at its ends
    offset: str
    clock: str
    sure: str
    residual: str
    air: str
    heard: tuple[tuple[str, str], ...]  # track, and how much later than the mean
    notes: tuple[str, ...]
    plot: Plot | None


@dataclass(frozen=True, slots=True)
class TakePage:
    """One take with its cameras."""

    take: str
    length: str
    ticks: tuple[Tick, ...]
    clips: tuple[ClipRow, ...]


@dataclass(frozen=True, slots=True)
class PictureSheet:
    """The whole report."""

    head: Head
    pages: tuple[TakePage, ...]


def write_picture_sheet(reports: Sequence[PictureReport], folder: Path, printing: Printing) -> tuple[Path, ...]:
    """Write where cameras lie and how their clocks ran as one PDF, each take from a new page on.

    Parameters
    ----------
    reports
        The takes.
    folder
        Where the PDF goes; made if it is not there.
    printing
        Paper, time and language, and the show that they belong to.

    Raises
    ------
    NotDone
        The sheet could not be set, or the folder cannot be written to; nothing was changed.
    """
    head = printing.head("pictures", counted(len(reports), "take", printing.language))
    sheet = PictureSheet(head, tuple(_picture_page(report) for report in reports))
    names = frozenset(name for report in reports for name in _names(report))
    return put_all({"picture.pdf": set_sheet("picture", sheet, printing, names)}, folder)


def _names(report: PictureReport) -> Iterator[str]:
    yield report.take
    for device in report.device:
        yield device.name
        for clip in device.clip:
            yield from (clip.file, *(one.track for one in clip.heard))


def _picture_page(report: PictureReport) -> TakePage:
    """Make the data of one take's page."""
    long_s = report.frames / report.rate_hz
    return TakePage(
        take=report.take,
        length=clock(long_s),
        ticks=time_ticks(long_s, TICKS),
        clips=tuple(_clip(device, clip, long_s) for device in report.device for clip in device.clip),
    )


def _clip(device: Device, clip: Clip, long_s: float) -> ClipRow:
    heard = sorted(clip.heard, key=lambda one: -one.readings)[:4]
    about = "" if clip.ppm_plus_minus is None else f" ± {figure(clip.ppm_plus_minus, 2)}"
    lent = ", of all its clips" if clip.ppm_shared else ""
    return ClipRow(
        camera=device.name,
        file=clip.file,
        found=clip.found,
        span=(max(0.0, clip.start_s / long_s), min(1.0, clip.end_s / long_s)) if clip.found else (0.0, 0.0),
        offset=f"{figure(clip.offset_s, 4)} s" if clip.found else "not found",
        clock=f"{figure(clip.ppm, 2)}{about} ppm{lent}" if clip.found else "",
        sure=f"{figure(100 * clip.confidence)} %",
        residual=f"{figure(clip.residual_ms, 2)} ms rms, {figure(clip.worst_ms, 2)} at most" if clip.found else "",
        air=f"{figure(clip.air_ms, 1)} ms taken off" if clip.air == "drawing" else "in its sound: place not known",
        heard=tuple((one.track, f"{figure(one.late_ms, 1, sign=True)} ms") for one in heard),
        notes=clip.note,
        plot=_plot(clip) if clip.found and clip.reading else None,
    )


def _plot(clip: Clip) -> Plot:
    worst = max(abs(one.residual_ms) for one in clip.reading)
    reach = next((one for one in REACHES_MS if one >= worst), REACHES_MS[-1])
    long_s = max(clip.length_s, 1e-3)
    return Plot(
        times=time_ticks(long_s, TICKS),
        levels=tuple(Tick(round((at / reach + 1) / 2, 4), figure(at, 2, sign=True)) for at in (-reach, 0.0, reach)),
        points=tuple(
            (
                round(one.device_s / long_s, 4),
                round(min(1.0, max(0.0, (one.residual_ms / reach + 1) / 2)), 4),
                one.tracks,
            )
            for one in clip.reading
        ),
    )
