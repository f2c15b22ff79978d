"""The track sheet for whoever mixes: what was measured stands by its track, names stay, and German is German."""

from __future__ import annotations

import re
from dataclasses import asdict

import pytest
from sheets import pdf
from sheets.example import PRINTED, example, long_names
from sheets.example_take import take

from fieldfare.sheets.head import Setting
from fieldfare.sheets.language import Language, page_in
from fieldfare.sheets.measured import measured_lines
from fieldfare.sheets.track_sheet import found_words, heard_by, track_sheet, track_sheet_pdf
from fieldfare.sheets.write import names_of
from fieldfare.show.alignment import Alignment, PairDelay, Shift, TakeAlignment
from fieldfare.show.findings import Finding
from fieldfare.show.songs import Song, SongBook, TakeSongs


def _setting(language: Language = "en") -> Setting:
    documents = example()
    return Setting(documents.plan, documents.show, documents.venue, "a4", "C", PRINTED, language=language)


def _pair(a: str, b: str, delay: float, polarity: int = 1, sure: float = 0.97) -> PairDelay:
    return PairDelay.model_validate(
        {"a": a, "b": b, "kind": "two mics", "delay": delay, "plus_minus": 0.1, "delay_ms": delay / 48, "level_db": 0}
        | {"polarity": polarity, "coherence": 0.9, "confidence": sure}
    )


def _measured(*takes: str) -> Alignment:
    labels = [row.label for row in example().plan.input]
    pairs = (_pair(labels[0], labels[1], 20.4, -1), _pair(labels[2], labels[3], 0.1), _pair("x", "y", 9, sure=0.3))
    shifts = (
        Shift(track=labels[0], apply=True, samples=20.4, against=labels[1], confidence=0.97),
        Shift(
            track=labels[4], apply=False, samples=-96.0, flip=True, against=labels[0], group="rooms", confidence=0.91
        ),
        Shift(track=labels[5], apply=True, flip=True, confidence=0.99),
    )
    return Alignment(
        take=tuple(TakeAlignment(take=name, rate_hz=48_000, frames=480_000, pair=pairs, shift=shifts) for name in takes)
    )


def test_a_delay_is_told_from_both_its_sides() -> None:
    first, second, third, fourth, room, turned = (row.label for row in example().plan.input[:6])
    told = {
        label: [(one.says, one.shift) for one in measured_lines(_measured("Take 1"), label)]
        for label in (first, second, third, fourth, room, turned, "x")
    }
    marked, offered = "shift marked, not applied", "shift offered, not marked"
    assert told == {
        first: [(f"20.40 samples (0.42 ms) before {second}, upside down, 97 % sure", marked)],
        second: [(f"20.40 samples (0.42 ms) after {first}, upside down, 97 % sure", "")],
        third: [(f"in time with {fourth}, the same way up, 97 % sure", "")],
        fourth: [(f"in time with {third}, the same way up, 97 % sure", "")],
        room: [(f"96 samples (2.00 ms) after {first}, upside down, 91 % sure", offered)],
        turned: [("upside down against most that hear it, 99 % sure", marked)],
        "x": [],  # too unsure
    }


def test_takes_are_named_where_there_are_several() -> None:
    label = example().plan.input[0].label
    assert [one.take for one in measured_lines(_measured("Take 1"), label)] == [""]
    assert [one.take for one in measured_lines(_measured("Take 1", "Take 2"), label)] == ["Take 1", "Take 2"]


def test_whether_anything_was_measured_is_said_in_one_line() -> None:
    assert ("Time and polarity", "not measured when this was printed") in track_sheet(_setting()).facts
    facts = dict(track_sheet(_setting(), measured=_measured("Take 1")).facts)
    assert facts["Time and polarity"] == "measured, told with each track; no shift is applied"


def _songs() -> SongBook:
    song = Song(title="Set and Take", start=48_000, end=96_000, tempo_bpm=112.0)
    return SongBook(take=(TakeSongs(take="Take 1", rate_hz=48_000, frames=480_000, song=(song,)),))


def _found() -> Finding:
    return Finding(kind="hum", severity="warn", track="Snare", start=0, count=2, confidence=0.9, remedy="",
                   says="Hum at −49 dBFS, 18 dB under the loud parts: steady lines at 50, 100 and 150 Hz.")  # fmt: skip


def test_a_german_track_sheet_is_german_but_for_names() -> None:
    documents = example()
    report = take().model_copy(update={"finding": (_found(),)})
    names = names_of(documents.show, documents.kit, documents.venue)
    made = track_sheet_pdf(_setting("de"), names, (report,), _songs(), _measured("Take 1", "Take 2"))
    text = pdf.all_words(made)
    kick, snare = (row.label for row in documents.plan.input[:2])
    for words in (
        "Midwinter Dance, Spurenliste", "Abtastrate und Bittiefe", "wie aufgenommen, nichts bearbeitet", "Take 1",
        "gemessen, bei jeder Spur genannt; keine Verschiebung ist angewandt", "Abgenommen mit", "über der Bühne",
        f"Take 1: 20,40 Samples (0,42 ms) vor {snare}, verpolt, zu 97 % sicher; Verschiebung vorgemerkt, "
        "nicht angewandt", f"nach {kick}, verpolt, zu 97 % sicher", "Paar mit 6", "Dämpfung 20 dB",
        "Brummen bei 0:00:00,000 und 1 weitere: Brummen bei −49 dBFS", "Set and Take", "112 Schläge pro Minute",
    ):  # fmt: skip
        assert words in text, words
    for name in ("Set and Take", *(row.unit.item for row in documents.plan.input if row.unit), documents.venue.name):
        text = text.replace(name, "")
    assert not re.search(r"\b(the|of|with|and|is|are|from|to|not|by|sure|after|before|beats|Songs)\b", text)
    assert pdf.missing_glyphs(made) == 0


@pytest.mark.parametrize("language", ["en", "de"])
def test_long_names_fit_the_sheet(language: Language) -> None:
    documents = example(40, long_names)
    setting = Setting(documents.plan, documents.show, documents.venue, "letter", "C", PRINTED, language=language)
    labels = [row.label for row in documents.plan.input]
    measured = Alignment(
        take=(TakeAlignment(take="y" * 60, rate_hz=48_000, frames=9, pair=(_pair(labels[0], labels[3], 20.4),)),)
    )
    made = track_sheet_pdf(setting, names_of(documents.show, documents.kit, documents.venue), (), None, measured)
    assert pdf.missing_glyphs(made) == 0
    assert "page 1 of" in pdf.all_words(made) or "Seite 1 von" in pdf.all_words(made)


def test_words_for_the_notes_are_in_their_language() -> None:
    row = example().plan.input[0]
    assert heard_by(row, "de").startswith(f"{row.unit.item if row.unit else ''}")
    assert found_words(take(), _found(), "de").startswith("Brummen bei 0:00:00,000 und 1 weitere: Brummen bei −49 dBFS")
    assert found_words(take(), _found()).startswith("hum at 0:00:00.000 and 1 more: Hum at")
    page = page_in(track_sheet(_setting()), "de")
    assert isinstance(page, dict)
    assert page["tracks"][0]["heard_by"]["item"] == asdict(track_sheet(_setting()))["tracks"][0]["heard_by"]["item"]
