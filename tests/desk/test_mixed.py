"""How each song of a mix went is drawn on its page, for the songs that can be heard there."""

from __future__ import annotations

from pathlib import Path

import httpx

from fieldfare.desk.works.rough import REPORT
from fieldfare.show.mix import (
    REMARK,
    SHEET_FILE,
    Format,
    MixCourse,
    MixReport,
    MixSheet,
    MixSong,
    MixTrack,
    Rendered,
    TrackShare,
)
from fieldfare.show.write_toml import write_toml

PAGE = "/shows/midwinter-dance/rough"
SHEET = MixSheet(
    take="take-1", rate_hz=48_000, track=(MixTrack(label="Kick & <co>", role="kick", gain_db=(0.0,)),),
    song=(MixSong(title="Nine Oars", start=0, end=480_000),),
)  # fmt: skip
COURSE = MixCourse(
    title="Nine Oars", start=0, end=480_000, step_s=2.5, momentary_lufs=(None, -16.0, -15.0, -14.0),
    short_lufs=(None, -17.0, -16.0, -16.0), limited_db=(0.0, 0.0, 1.2, 0.0),
    track=(TrackShare(label="Kick & <co>", pan=0, loudness_lufs=-18.4, shut=((0, 96_000),)),),
)  # fmt: skip


def _rendered(form: Format, course: MixCourse | None) -> Rendered:
    return Rendered(
        file=f"01-nine-oars.{form}", title="Nine Oars", format=form, start=0, frames=480_000, rate_hz=48_000,
        loudness_lufs=-16.0, true_peak_dbtp=-1.1, range_lu=3.0, gain_db=4.0, limited_db=1.2, limited_share=0.01,
        course=course,
    )  # fmt: skip


def _kept(show: Path, course: MixCourse | None) -> None:
    place = show / "roughs" / "take-1"
    place.mkdir(parents=True)
    write_toml(SHEET, place / SHEET_FILE, REMARK)
    report = MixReport(take="take-1", sheet=SHEET_FILE, file=(_rendered("wav", course), _rendered("mp3", None)))
    (place / REPORT).write_text(report.model_dump_json(), "utf-8")


def test_a_song_shows_how_it_went_and_what_each_track_gives(client: httpx.Client, folder: Path) -> None:
    _kept(folder / "midwinter-dance", COURSE)
    page = client.get(PAGE).text
    assert page.count('<svg class="plot"') == 2
    assert "Loudness over time: Nine Oars" in page
    assert "Kick &amp; &lt;co&gt;" in page
    assert "−18.4" in page
    assert "<co>" not in page


def test_a_mix_that_was_rendered_before_there_were_plots_has_none(client: httpx.Client, folder: Path) -> None:
    _kept(folder / "midwinter-dance", None)
    page = client.get(PAGE).text
    assert "Nine Oars" in page
    assert '<svg class="plot"' not in page
