"""The sheets in German: every message of the program is there, and what is left untouched is a name."""

from __future__ import annotations

import ast
import json
import re
import tomllib
from collections.abc import Iterator
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets import example, pdf
from sheets.example import PRINTED

from fieldfare.plan.make import Documents, make_plan
from fieldfare.plan.recipes import own_recipes, show_recipes
from fieldfare.plan.whatif.whatif import what_if
from fieldfare.sheets import write
from fieldfare.sheets.figures import figure_row
from fieldfare.sheets.head import Setting
from fieldfare.sheets.language import KEPT, PLACEHOLDER, catalogue, page_in, said
from fieldfare.sheets.letters import LETTERS, letter, letter_text
from fieldfare.sheets.write import names_of, write_sheets
from fieldfare.show.toml import ShowFolder, read_show
from fieldfare.units.sources import SOURCES

ROOT = Path(__file__).parents[2]
SHOWS = (ROOT / "src/fieldfare/show/demo", *sorted((ROOT / "examples").iterdir()))
SMALL = ("bookshop-duo", "own-pa")  # shows small enough to try every failure of in a second
CASES = sorted((ROOT / "tests/plan/checks/cases").glob("*.toml"))
TAG = re.compile(r"\b[A-Z]{1,4}-[A-Z0-9]+\b|[A-Z]{2,}\d*(?:-\d+)?|\d[\w.,:/%°²³]*")
UNITS = frozenset(
    {"ft", "kg", "dB", "dBu", "dBFS", "SPL", "Hz", "kHz", "min", "Wh", "mA", "MB", "GB", "TB", "mV", "Pa"}
)
BOOKS = ("Master Handbook of Acoustics", "Getting your stage together", "Recording music")  # their titles stay
INVENTED = ("no cable is left", "a cable of 5 m", "the kitchen")  # the cases' own
# Words that no German sentence holds; those that stand in names are taken out with the names.
ENGLISH = re.compile(
    r"\b(the|of|with|which|and|is|are|from|at|to|on|it|every|no|not|more|than|for|by|has|one|never|into|lies|take|then)\b"
)


@cache
def _pages(folder: Path) -> tuple[ShowFolder, tuple[tuple[str, Any], ...]]:
    """The data of every sheet of a show, as they are before they are set."""
    read = read_show(folder)
    explain = folder.name == "demo"  # the other shows for the words of all that is not a reason
    plan = make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(read.folder), explain=explain)
    pages: list[tuple[str, Any]] = []

    def keep(name: str, page: Any, *_: object) -> bytes:
        pages.append((name, asdict(page)))
        return b""

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(write, "typeset", keep)
        patch.setattr(write, "put_all", lambda files, folder: ())
        recipes = show_recipes(read.folder)
        tried = what_if(Documents(read.show, read.venue, read.kit, recipes), plan) if folder.name in SMALL else None
        write_sheets(
            plan, read.show, read.venue, read.kit, Path("nowhere"), paper="a4", revision="C", printed=PRINTED,
            recipes=recipes, whatif=tried,
        )  # fmt: skip
    return read, tuple(pages)


def _strings(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, one in value.items():
            if key not in KEPT:
                yield from _strings(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _strings(one)
    elif isinstance(value, str):
        yield value


def _names(read: ShowFolder, pages: tuple[tuple[str, Any], ...]) -> list[str]:
    """Everything a person wrote, and the labels made of it; the longest first."""
    documents = [json.loads(one.model_dump_json()) for one in (read.show, read.venue, read.kit)]
    names = {one for document in documents for one in _everything(document)}
    names |= {*BOOKS}
    names |= {strip["label"] for strip in _dicts(pages) if "label" in strip and "bands" in strip}
    return sorted((name for name in names if re.search(r"[^\W\d_]{2}", name)), key=lambda name: -len(name))


def _everything(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for one in value.values():
            yield from _everything(one)
    elif isinstance(value, list):
        for one in value:
            yield from _everything(one)
    elif isinstance(value, str):
        yield value


def _dicts(value: object) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        yield value
        value = list(value.values())
    if isinstance(value, list | tuple):
        for one in value:
            yield from _dicts(one)


@pytest.mark.parametrize("folder", SHOWS, ids=lambda folder: folder.name)
def test_no_english_is_left_on_a_german_sheet_but_in_names(folder: Path) -> None:
    read, pages = _pages(folder)
    names = _names(read, pages)
    for sheet, page in pages:
        for text in _strings(page_in(page, "de", names_of(read.show, read.kit, read.venue))):
            rest = text
            for name in names:
                rest = rest.replace(name, "")
            assert not ENGLISH.search(rest), f"{sheet}: {text}"


@pytest.mark.parametrize("folder", SHOWS[:1], ids=lambda folder: folder.name)
def test_what_the_catalogue_does_not_know_is_a_name(folder: Path) -> None:
    read, pages = _pages(folder)
    names, words = _names(read, pages), catalogue("de")
    for sheet, page in pages:
        for text in _strings(page):
            if words.say(text) == text and words.find(text) is None:
                rest = text
                for name in names:
                    rest = rest.replace(name, "")
                left = [word for word in re.findall(r"[^\W\d_]{2,}", TAG.sub("", rest)) if word not in {*UNITS, "en"}]
                assert left == [], f"{sheet}: {text}"


def test_the_plan_gives_its_reasons_in_german() -> None:
    """Why this mic, how it is turned, what would come next, and every figure with its working."""
    read, pages = _pages(SHOWS[0])
    plan = make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(read.folder))
    names, kept = _names(read, pages), names_of(read.show, read.kit, read.venue)
    texts = [
        text for row in plan.input for text in (row.reason, row.next_best, *(row.aiming.says if row.aiming else ()))
    ]
    workings = [
        one
        for row in plan.input
        for one in (
            row.spl,
            row.level,
            row.gain,
            row.reserve,
            row.spill,
            row.run.needed,
            row.aiming and row.aiming.turn,
        )
    ]
    figures = [figure_row("gain, dB", working) for working in workings if working]
    texts += [text for one in figures for text in (one.formula, one.given, one.sure, one.source)]
    assert len(texts) > 300
    for text in texts:
        rest = said(text, "de", kept)
        for name in names:
            rest = re.sub(re.escape(name), "", rest, flags=re.IGNORECASE)
        assert not ENGLISH.search(rest), f"{text}: {rest}"


def test_every_reason_that_a_recipe_gives_is_in_the_catalogue_sentence_by_sentence() -> None:
    words = catalogue("de")
    whys = {text for recipe in own_recipes().values() for text in _under("why", recipe.model_dump())}
    assert len(whys) > 250
    assert [why for why in sorted(whys) if any(words.find(part) is None for part in (why, *why.split("; ")))] == []


def _under(key: str, value: object) -> Iterator[str]:
    for one in _dicts(value):
        if one.get(key):
            yield str(one[key])


def test_the_letters_ask_in_german() -> None:
    read, pages = _pages(SHOWS[0])
    plan = make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(read.folder), explain=False)
    setting = Setting(plan, read.show, read.venue, "a4", "C", PRINTED, language="de")
    for ask in LETTERS:
        questions = tuple(one for one in plan.question if one.ask == ask)
        text = " ".join(letter_text(letter(setting, ask, questions), "de").replace("not known", "").split())
        for name in _names(read, pages):
            text = text.replace(name, "")
        assert not ENGLISH.search(text), ask
        assert "Die örtlichen Regeln" in text


@pytest.mark.parametrize("file", CASES, ids=lambda file: file.stem)
def test_every_check_of_the_trade_says_what_is_wrong_in_german(file: Path) -> None:
    cases = tomllib.loads(file.read_text("utf-8"))["case"]
    for sentence in {sentence for case in cases for sentence in case["says"]}:
        for invented in INVENTED:
            sentence = sentence.replace(invented, "X-1")
        german = said(sentence, "de")
        assert german != sentence
        assert not re.search(r"\b(the|which|and|is|are|from|never|take|use|put|give|bring)\b", german), german


def test_every_message_of_the_templates_is_in_the_catalogue() -> None:
    words = catalogue("de").plain
    for template in sorted((ROOT / "src/fieldfare/sheets/templates").glob("*.typ")):
        for message in re.findall(r'\bt\(\s*"((?:[^"\\]|\\.)*)"', template.read_text("utf-8")):
            assert message in words, f"{template.name}: {message}"


def test_every_head_of_a_table_and_of_a_part_is_in_the_catalogue() -> None:
    words, units, found = catalogue("de").plain, {"LUFS", "dBTP"}, 0
    for template in sorted((ROOT / "src/fieldfare/sheets/templates").glob("*.typ")):
        text = template.read_text("utf-8")
        heads = re.findall(r"rows-table\(\n.*\n(.*)\n", text)  # the line behind the widths of the columns
        said = [word for head in heads for word in re.findall(r'"([^"]*)"', head)]
        said += re.findall(r'\bpart\("([^"]*)"', text)
        found += len(said)
        assert [word for word in said if word not in words and word not in units and word] == [], template.name
    assert found > 60


def test_every_source_that_plan_or_takes_cite_has_its_title_in_the_catalogue() -> None:
    folders = (ROOT / "src/fieldfare/plan", ROOT / "src/fieldfare/takes")
    texts = [path.read_text("utf-8") for folder in folders for path in folder.rglob("*.py")]
    cited = [key for key in SOURCES if any(f'"{key}"' in text for text in texts)]
    assert len(cited) > 30
    assert [key for key in cited if SOURCES[key].title not in catalogue("de").plain] == []


def test_a_name_with_a_joint_in_it_is_one_name() -> None:
    """Nothing of "small condenser, cardioid" is looked up, nor is a bin that is called as a word of ours is."""
    names = frozenset({"small condenser, cardioid", "Guitar and voice", "Stands"})
    assert said("Stands", "de") == "Stative"
    sentence = "Lifting Stands and no bin: over 25 kg: two people or a trolley; local rules on lifting come first."
    assert said(sentence, "de", names).startswith("Heben von Stands und kein Behälter: ")
    sentence = "then Room left takes small condenser, cardioid; Guitar and voice goes."
    assert said(sentence, "de", names) == "dann bekommt Room left small condenser, cardioid; Guitar and voice entfällt."


@pytest.mark.parametrize(
    ("english", "german"),
    [
        ("Put it on T-09.", "Auf T-09 stellen."),
        ("E-01 carries the rig for about 31 min. Within that, move the rig to Upstage left on circuit Hall, with E-04.",
         "E-01 trägt die Aufnahmeanlage etwa 31 min. In dieser Zeit die Aufnahmeanlage an Upstage left umstecken, "
         "Stromkreis Hall, mit E-04."),
        ("tail of B-01, 3", "Peitsche von B-01, 3"),
        ("Viola: uses the line of Bass DI.", "Viola: nutzt die Leitung von Bass DI."),
        ("channels 1 to 8: 7 inputs, 3 of them must", "Kanäle 1 bis 8: 7 Eingänge, 3 davon Muss"),
    ],
)  # fmt: skip
def test_a_stop_ends_the_sentence_and_not_what_is_filled_in(english: str, german: str) -> None:
    assert said(english, "de") == german


def _filled_in() -> Iterator[tuple[str, str, set[str]]]:
    """Every message that the code fills in itself: its place, its text, and what is given."""
    for path in sorted((ROOT / "src/fieldfare").rglob("*.py")):
        text = path.read_text("utf-8")
        for call in ast.walk(ast.parse(text if "worded(" in text else "")):
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "worded":
                message, given = call.args[0], {str(one.arg) for one in call.keywords}
                if isinstance(message, ast.Constant) and "None" not in given:
                    yield f"{path.name}, line {call.lineno}", str(message.value), given


def test_every_message_that_the_code_fills_in_itself_is_in_the_catalogue_with_its_placeholders() -> None:
    words, messages = catalogue("de").plain, list(_filled_in())
    assert len(messages) > 25
    for where, message, names in messages:
        assert message in words, where
        assert names == {kind + number for kind, number in PLACEHOLDER.findall(message)}, where


def test_numbers_wear_a_comma_and_tags_clock_times_and_scales_stay() -> None:
    assert said("≈ 12.5 dB", "de") == "≈ 12,5 dB"
    assert said("12.5 m of cable in 3 leads: 2 red and 1 blue.", "de").startswith("12,5 m Kabel, 3 Stück")
    assert said("B-01", "de") == "B-01"
    assert said("16:23", "de") == "16:23"
    assert said("4 December 2026", "de") == "4. Dezember 2026"
    assert said("Overview 1:50", "de") == "Übersicht 1:50"


@given(st.text(max_size=60))
def test_any_name_comes_through_a_sentence_whole(name: str) -> None:
    """Whatever is written stays in the sentence, once, as it was written."""
    sentence = f"Does {name} play on 4 December?"
    if name.strip() and "\n" not in name:
        assert said(sentence, "de") == f"Spielt {name} am 4. Dezember?"


def test_a_list_of_known_parts_is_said_part_by_part() -> None:
    """Short messages ("{x} in {x2}", "one more {t}") must not swallow what stands between two known parts."""
    blocks = "no preamp is left (24 in the recorder) and no line of the trunk is left (24)"
    assert said(blocks, "de") == (
        "kein Vorverstärker ist frei (24 im Recorder) und keine Leitung des Multicores ist frei (24)"
    )
    cure = "one more pair of preamps and 1 more line of trunk bring it back"
    assert said(cure, "de") == "zurück bringt es: ein Paar Vorverstärker mehr und 1 Leitung Multicore mehr"


def test_english_is_left_alone() -> None:
    page = {"head": "page 1", "label": "Kick"}
    assert page_in(page, "en") == page


def test_the_stage_drawing_and_the_list_are_set_in_german(tmp_path: Path) -> None:
    documents = example.example()
    paths = write_sheets(*documents, tmp_path, paper="a4", revision="C", printed=PRINTED, language="de")
    text = {path.stem: pdf.all_words(path.read_bytes()) for path in paths}
    assert "Seite 1 von" in text["inputs"]
    assert "gedruckt 27. November 2026, 11:42" in text["inputs"]
    assert "Vorderkante, Publikum" in text["stage"]
    assert "Gesetzlicher Eigentümer" in text["stage"]
    assert all(pdf.missing_glyphs(path.read_bytes()) == 0 for path in paths)


def test_a_length_behind_a_name_gets_the_decimal_sign_and_the_name_is_kept() -> None:
    words = catalogue("de")
    assert words.say("lime no. 2.0, 2.5 m") == "lime no. 2.0, 2,5 m"
    assert words.say("lead I-01, 9.8 ft") == "Kabel I-01, 9,8 ft"
