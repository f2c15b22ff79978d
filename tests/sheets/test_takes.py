from __future__ import annotations

from pathlib import Path

import pytest
from sheets import example, pdf
from sheets.example import PRINTED
from sheets.example_take import take

from fieldfare.sheets.head import Printing
from fieldfare.sheets.takes import AXIS_TICKS, take_page, write_takes
from fieldfare.show.findings import TakeReport
from fieldfare.units.faults import NotDone


def test_every_finding_stands_at_its_place_on_its_track() -> None:
    page = take_page(take())
    rows = {row.strip.label: row for row in page.tracks}
    snare = rows["Snare"].places
    assert [place.start for place in snare] == pytest.approx([61 / 540, 75 / 540, 411 / 540], abs=1e-6)
    assert {place.finding for place in snare} == {"4"}
    vocal = rows["Lead vocal"].places[0]
    assert vocal.end - vocal.start == pytest.approx(2 / 540, abs=2e-6)
    assert rows["Floor tom"].length == pytest.approx(531 / 540, abs=1e-6)


def test_a_track_is_never_called_clean() -> None:
    rows = take_page(take()).tracks
    verdicts = {row.strip.label: row.verdict for row in rows}
    assert verdicts["Kick"] == "nothing found"
    assert verdicts["Hand percussion"] == "dead"
    assert not any("clean" in verdict for verdict in verdicts.values())


def test_a_silent_track_has_no_level_and_a_missing_one_a_dashed_strip() -> None:
    rows = {row.strip.label: row for row in take_page(take()).tracks}
    assert rows["Hand percussion"].peak == "silent"
    assert rows["Room right"].strip.left_out
    assert rows["Room right"].severity == "stop"


def test_the_worst_comes_first_and_the_summary_counts() -> None:
    page = take_page(take())
    assert [row.severity for row in page.findings] == ["stop", "stop", "stop", "warn", "warn"]
    assert page.summary == "20 tracks, 0:09:00: 3 stops and 2 warnings"
    assert page.findings[3].at == "0:01:01.000 and 2 more"


def test_strips_wear_the_colours_of_the_plan() -> None:
    documents = example.example()
    with_plan = take_page(take(), documents.plan).tracks[0].strip
    assert with_plan.bands
    assert take_page(take()).tracks[0].strip.bands == ()


@pytest.mark.parametrize("seconds", [0.4, 3, 59, 61, 540, 3600, 4 * 3600])
def test_the_axis_has_round_times_within_the_take(seconds: float) -> None:
    report = take(1).model_copy(update={"frames": round(seconds * 48_000), "finding": ()})
    axis = take_page(report).axis
    assert 2 <= len(axis) <= AXIS_TICKS + 1
    assert axis[0].at == 0
    assert axis[-1].at <= 1


def test_one_page_a_take_with_every_word_of_it(tmp_path: Path) -> None:
    documents = example.example()
    reports = [take(), take().model_copy(update={"take": "Take 2"})]
    printing = Printing("a4", PRINTED, documents.show, documents.venue, documents.plan, "C")
    [path] = write_takes(reports, tmp_path, printing)
    pages = list(pdf.page_words(path.read_bytes()))
    assert len(pages) == 2
    for number, (page, report) in enumerate(zip(pages, reports, strict=True), 1):
        assert report.take in page
        assert f"page {number} of 2" in page
        for track in report.track:
            assert track.label in page
        for finding in report.finding:
            assert finding.says in page
            assert finding.remedy in page
        assert report.not_known[0] in page
    assert pdf.missing_glyphs(path.read_bytes()) == 0


def test_a_bare_folder_of_recordings_has_a_sheet_too(tmp_path: Path) -> None:
    report = TakeReport(take="Take 1", rate_hz=48_000, frames=0, file=(), track=(), finding=())
    [path] = write_takes([report], tmp_path, Printing("letter", PRINTED))
    text = pdf.all_words(path.read_bytes())
    assert "Recordings, track check" in text
    assert "No track was found in this take." in text
    assert "revision" not in text


def test_a_folder_in_the_way_is_a_fault(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    with pytest.raises(NotDone, match="cannot be written"):
        write_takes([take(1)], tmp_path / "out", Printing("a4", PRINTED))
