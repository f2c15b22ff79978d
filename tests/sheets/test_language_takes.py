"""The sheets of recordings in German: every sentence that the takes can say, and every sheet as it is set."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from sheets import pdf
from sheets.example import PRINTED, example, long_names
from sheets.example_take import take
from sheets.spoken import spoken

from fieldfare.sheets.alignment import write_align_sheet
from fieldfare.sheets.head import Printing
from fieldfare.sheets.language import catalogue, said
from fieldfare.sheets.mix import write_mix_sheet
from fieldfare.sheets.picture import write_picture_sheet
from fieldfare.sheets.takes import write_takes
from fieldfare.sheets.takes_page import write_takes_page
from fieldfare.show.alignment import AlignFinding, Alignment, Fitted, PairDelay, Shift, TakeAlignment
from fieldfare.show.findings import Finding
from fieldfare.show.mix import (
    IdleGate,
    MixCourse,
    MixReport,
    MixSheet,
    MixSong,
    MixTrack,
    Rendered,
    Ride,
    TrackShare,
)
from fieldfare.show.picture import Clip, ClockReading, Device, HeardTrack, PictureReport
from fieldfare.takes.checks.table import TAKE_CHECKS, TRACK_CHECKS
from fieldfare.takes.rough.roles import OTHER, ROLES

SOURCE = Path(__file__).parents[2] / "src/fieldfare"
TAKES = SOURCE / "takes"
ENGLISH = re.compile(
    r"\b(the|of|with|which|and|is|are|from|at|to|on|it|every|no|not|more|than|for|by|has|one|never|into|lies|take)\b"
)
CHECKS = sorted(path for path in (TAKES / "checks").glob("*.py") if path.stem not in ("table", "thresholds"))
OTHERS = [
    TAKES / name
    for name in (
        "axis.py", "tracks/report.py", "alignment/align.py", "alignment/contradict.py", "alignment/shifts.py",
        "songs/find.py", "picture/sync.py", "rough/balance.py", "rough/choose.py", "rough/timing.py", "rough/render.py",
        "wave/extent.py", "wave/flac.py", "wave/form.py", "wave/walk.py", "wave/aiff.py", "wave/containers.py",
    )
]  # fmt: skip
# Parts of sentences, and words of the command line; the sentences that they end up in are told below.
PARTS = re.compile(
    r"[,;] |At once at|Between 12|big end first|listening to|writing |the sheet is for|12.5 12.5 s|"
    r"A click that|\S+ clicks that|Crackle: \S+ clicks|\S+, first at|12.5, and it starts|As long as the others, but it "
    r"starts 12|12.5 samples 12.5|(The plan|Most files) says?\.|Repeat a block|12.5 tracks 12.5|At 12.5 dBFS|"
    r"It needs phantom power|Sample for sample|Within 12|With a burst|To less than|split and own|DI and mic|"
    r"the labels are swapped: .*12.5|The last frame is not whole, first at",
)
WHOLE = (
    "The plan has Kick on track 3, and no file carries it.",
    "A click that no other track hears, first at 0:00:01.500.",
    "3 clicks that no other track hears, first at 0:00:01.500.",
    "Crackle: 30 clicks that no other track hears, first at 0:00:01.500.",
    "30 samples shorter than the other tracks (0:00:00.001), and it starts 3 samples later than the other tracks "
    "(0:00:00.000).",
    "As long as the others, but it starts 30 samples earlier than the other tracks (0:00:00.001).",
    "All tracks drop out at the same place, first at 0:00:01.500: Kick, Snare, Tom and Hat are silent there.",
    "12 tracks repeat a block at the same 3 places, first at 0:00:01.500: Kick, Snare, Tom and Hat and others are "
    "repeated there.",
    "Everything on it gets 6.0 dB softer at once at 0:00:01.500, noise and spill too; there is no other track to "
    "compare it with; 2 times more.",
    "The header is out of date: it states 10 samples, 12 are there; the last frame is not whole. 12 samples are there "
    "and were checked; the header speaks of 10.",
    "The file ends early: the header states 90 bytes of audio, 12 are there. The audio stops at 0:00:01.500, 9 samples "
    "before the other tracks.",
    "the labels are swapped: by when and how loud the other tracks hear it, Kick carries Snare; Snare carries Kick",
    "counted in 2.0 s before it; 0:03:01 long, 0:03:10 by the list; title and start by hand",
    "left out: it holds what is said to the recorder; −30 LU to the lead, −3.0 of its source; weak: not raised any "
    "further; hardly played in 1 of 2 songs; turned over, as drawn; heard the stage 12.3 ms late, measured; put as "
    "much earlier; in time by the shifts: hears its source 12.50 samples before Kick out; upside down against Kick in",
    "2 of 3 marks of the night lie in no take: compare the clocks of recorder and phone",
    "1 of 3 marks of the night have no place: no clock was kept",
    "the exact time of day: the recorder's clock is about 61 s ahead of that of the marks, as they lie",
    "the exact time of day: the recorder's clock is about 61 s behind that of the marks, as they lie",
)  # fmt: skip


def _german(sentence: str) -> str:
    german = said(sentence, "de")
    assert german != sentence, f"not in the catalogue: {sentence}"
    assert not ENGLISH.search(german), f"{sentence}: {german}"
    return german


@pytest.mark.parametrize("path", CHECKS, ids=lambda path: path.stem)
def test_whatever_a_check_can_say_it_says_in_german(path: Path) -> None:
    sentences = [f"{one.text[0].upper()}{one.text[1:]}." for one in spoken(path)]
    for sentence in (one for one in sentences if not PARTS.match(one)):
        _german(sentence)


@pytest.mark.parametrize("path", OTHERS, ids=lambda path: f"{path.parent.stem}-{path.stem}")
def test_whatever_else_is_said_of_takes_is_said_in_german(path: Path) -> None:
    sentences = [one.text for one in spoken(path) if not PARTS.match(one.text)]
    assert sentences
    for sentence in sentences:
        _german(sentence)


@pytest.mark.parametrize("sentence", WHOLE)
def test_sentences_put_together_are_said_in_german(sentence: str) -> None:
    _german(sentence)


def test_kinds_sounds_and_roles_are_in_the_catalogue() -> None:
    words = catalogue("de").plain
    for check in (*TRACK_CHECKS, *TAKE_CHECKS):
        assert check.kind in words
        assert check.sounds in words
    for role in (*ROLES, OTHER):
        assert role.name in words
        assert not role.left_out or role.left_out in words


def test_every_message_of_the_page_for_a_screen_is_in_the_catalogue() -> None:
    text = (SOURCE / "sheets/templates/takes.html").read_text("utf-8")
    messages = re.findall(r'\bt\(\s*"((?:[^"\\]|\\.)*)"', text)
    assert len(messages) > 20
    assert [one for one in messages if one not in catalogue("de").plain] == []


def _printing() -> Printing:
    documents = example()
    return Printing("a4", PRINTED, documents.show, documents.venue, documents.plan, "C", "de")


def _finding(label: str) -> Finding:
    return Finding(
        kind="polarity", severity="warn", track=label, start=48_000, count=3, confidence=0.97,
        says=f"Upside down against {label}: together they lose their low end.", sounds="Two faders, one sound.",
        remedy="Raise it in the mix and listen for noise. Before the next take look for a pad left in, gain not set, "
        "a fader or wireless pack turned down, a microphone facing away.",
    )  # fmt: skip


def test_a_track_check_is_german_but_for_its_names(tmp_path: Path) -> None:
    report = take().model_copy(
        update={"finding": (_finding("Snare"),), "not_known": ("hum on Kick: shorter than 5 s",)}
    )
    [sheet] = write_takes([report], tmp_path, _printing())
    text = pdf.all_words(sheet.read_bytes())
    for words in (
        "Midwinter Dance, Spurprüfung", "4. Dezember 2026, 1 Take", "20 Spuren, 0:09:00: 1 Warnung",
        "48 kHz, 24 Bit, 20 Dateien",
        "Verpolt gegen Snare: zusammen verlieren sie den Bass.", "0:00:01,000 und 2 weitere", "97 %", "nichts gefunden",
        "Brummen auf Kick: kürzer als 5 s",
    ):  # fmt: skip
        assert words in text
    [page] = write_takes_page([report], tmp_path, _printing())
    html = page.read_text("utf-8")
    assert '<html lang="de">' in html
    assert "Zwei Fader, ein Klang." in html
    assert "zu 97 % sicher" in html
    assert "Pegel von Snare über der Zeit: Polarität" in html
    for one in (text, re.sub(r"<style>.*?</style>|<[^>]*>|take-\d+_\d+.wav", " ", html, flags=re.S)):
        assert not ENGLISH.search(one.replace(_venue_name(), ""))


def _venue_name() -> str:
    """Return the venue's name, which stays."""
    return example().venue.name


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_long_names_and_german_words_fit_their_page(tmp_path: Path, paper: str) -> None:
    report = take()
    tracks = tuple(track.model_copy(update={"label": long_names(n)}) for n, track in enumerate(report.track, 1))
    found = tuple(_finding(long_names(n)) for n in range(1, 9))
    report = report.model_copy(update={"track": tracks, "finding": found, "take": long_names(4), "show": ""})
    printing = Printing("letter" if paper == "letter" else "a4", PRINTED, language="de")
    [sheet] = write_takes([report], tmp_path, printing)
    assert pdf.missing_glyphs(sheet.read_bytes()) == 0
    text = pdf.all_words(sheet.read_bytes())
    assert "Aufnahmen, Spurprüfung" in text
    assert "Upside" not in text


def test_delays_are_told_in_german(tmp_path: Path) -> None:
    pair = PairDelay(
        a="Kick", b="Room", kind="room", delay=204.12, plus_minus=0.5, delay_ms=4.25, polarity=1, coherence=0.9,
        level_db=-20, confidence=0.97, drawn=60, off_m=1.03, polarity_drawn=1,
    )  # fmt: skip
    finding = AlignFinding(
        kind="temperature", severity="note", track=("all",), confidence=0.9,
        says="sound travelled as in air of 28 °C, give or take 2, not of 20 °C",
        remedy="give the room that temperature before delays are worked out from the drawing",
    )  # fmt: skip
    shift = Shift(track="Room", apply=False, samples=-204.25, against="Kick", group="rooms", flip=True,
                  why="hears Kick 204.1 samples late, and everything else later still")  # fmt: skip
    one = TakeAlignment(
        take="Take 1", rate_hz=48_000, frames=480_000, pair=(pair,), finding=(finding,), shift=(shift,),
        fitted=Fitted(temperature_c=28, temperature_plus_minus=2, rest_m=0.07, pairs=31),
        not_known=("Kick and Room: too quiet all through to say anything",),
    )  # fmt: skip
    [sheet] = write_align_sheet(Alignment(take=(one,)), tmp_path, _printing())
    text = pdf.all_words(sheet.read_bytes())
    for words in (
        "0:00:10 bei 48 kHz, 1 Weg, davon 1 sicher", "alle",
        "der Schall lief wie in Luft von 28 °C ± 2, nicht von 20 °C",
        "31 Wege passen zu Luft von 28 °C ± 2", "−204,25", "nach Geschmack", "ja", "Kick in Room",
        "hört Kick 204,1 Samples zu spät", "Kick und Room: durchweg zu leise", "Weg nach der Zeichnung, m",
    ):  # fmt: skip
        assert words in text
    assert not ENGLISH.search(text.replace(_venue_name(), ""))


def test_cameras_are_told_in_german(tmp_path: Path) -> None:
    clip = Clip(
        file="day and night.mov", found=True, length_s=300, offset_s=12.3456, ppm=18.25, ppm_plus_minus=0.21,
        ppm_shared=True, start_s=12.3, end_s=290, confidence=0.98, residual_ms=0.21, worst_ms=0.8, air="unknown",
        note=("it has no sound to find its place by; put it in by its timecode or by eye",),
        reading=(ClockReading(device_s=20, take_s=32.3, residual_ms=-0.4, tracks=4),),
        heard=(HeardTrack(track="Kick and more", late_ms=-1.25, readings=9),),
    )  # fmt: skip
    lost = Clip(file="b.mov", found=False, length_s=20, confidence=0.1)
    report = PictureReport(
        take="Take 1", rate_hz=48_000, frames=48_000 * 600, device=(Device(name="Camera 1", clip=(clip, lost)),)
    )
    [sheet] = write_picture_sheet([report], tmp_path, _printing())
    text = pdf.all_words(sheet.read_bytes())
    for words in (
        "Versatz 12,3456 s, Uhrgang 18,25 ± 0,21 ppm, aus all seinen Clips, Rest 0,21 ms effektiv, höchstens 0,80",
        "day and night.mov",
        "noch im Ton: Standort nicht bekannt", "Später gehört als das Mittel: Kick and more −1,2 ms", "nicht gefunden",
        "nach Timecode oder nach Sicht", "sicher 98 %", "Take 1, 0:10:00",
    ):  # fmt: skip
        assert words in text
    rest = text.replace(_venue_name(), "").replace("day and night", "").replace("Kick and more", "")
    assert not ENGLISH.search(rest)


def test_a_mix_is_told_in_german(tmp_path: Path) -> None:
    track = MixTrack(
        label="Kick and more", role="kick", gain_db=(-3.25, 1.5), high_pass_hz=25, shift=-96, flip=True,
        gate=IdleGate(below_lufs=-42), why="−4 LU to the lead; turned over, as drawn",
    )  # fmt: skip
    out = MixTrack(label="kick", role="talkback", mute=True, gain_db=(0, 0),
                   why="left out: it holds what is said to the recorder; −30 LU to the lead")  # fmt: skip
    songs = (MixSong(title="One", start=0, end=9), MixSong(title="Two", start=10, end=20))
    ride = Ride(start=40_000, end=90_000, gain_db=-6)
    sheet = MixSheet(take="Take 1", rate_hz=48_000, track=(track, out), song=songs, ride=(ride,))
    file = Rendered(
        file="01-one.wav", title="One", format="wav", start=0, frames=96_000, rate_hz=48_000, loudness_lufs=-16.04,
        true_peak_dbtp=-1.02, range_lu=4.2, gain_db=3, limited_db=2.1, limited_share=0.012,
        course=MixCourse(
            title="One", start=0, end=96_000, step_s=0.5, momentary_lufs=(None, -20, -16, -15.5),
            limited_db=(0, 0, 2.1, 1), short_lufs=(None,) * 4,
            track=(TrackShare(label="Kick and more", pan=0, loudness_lufs=-22.5, shut=((0, 48_000),)),
                   TrackShare(label="Empty", pan=-1, loudness_lufs=None)),
        ),
    )  # fmt: skip
    report = MixReport(take="Take 1", sheet="mix.toml", file=(file,), note=("01-one.wav: silent",))
    [path] = write_mix_sheet(sheet, report, tmp_path, _printing())
    text = pdf.all_words(path.read_bytes())
    for words in (
        "−16,0 LUFS, höchstens −1,0 dBTP", "Bassdrum", "kick Talkback weg", "−3,2 bis +1,5", "−2,00 ms, gedreht",
        "unter −42", "Kick and more",
        "−4 LU zum Leadgesang; Polarität gedreht, wie gezeichnet", "weg", "weggelassen: darauf ist", "−16,04",
        "2,1 dB, 1,2 %", "01-one.wav: still", "Verlauf jedes Stücks", "0:00:02; 2 Spuren", "ganze Mischung", "−22,5",
    ):  # fmt: skip
        assert words in text
    assert not ENGLISH.search(text.replace(_venue_name(), "").replace("Kick and more", "").replace("01-one", ""))
