"""The commands that ask, charge, hand over and keep: words on 80 columns, JSON by its shape, how they end."""

from __future__ import annotations

import json
from pathlib import Path
from shutil import copytree

import pytest
import typer
from handover.parcel_kit import record
from sheets import pdf

from fieldfare.cli.main import app
from fieldfare.show.archive import ArchiveReport
from fieldfare.show.consent import ConsentBook
from fieldfare.show.money import Bill
from fieldfare.show.toml import read_show
from fieldfare.units.faults import Fault

FOLDER = Path(__file__).parents[2] / "examples" / "bookshop-duo"
BUSINESS = """name = "The recordist"
currency = "EUR"
[[tax]]
name = "standard"
percent = 20
[[charge]]
name = "mixing"
text = "Mixing"
basis = "mixing"
unit = "song"
price = 85
tax = "standard"
"""
MONEY = 'business = "business.toml"\n[client]\nname = "The band"\n'


def _run(*words: str | Path) -> int:
    """Run a command in this process, as `fieldfare` does, and return its status."""
    try:
        status = app([str(word) for word in words], standalone_mode=False)
    except typer.Exit as left:
        return int(left.exit_code)
    return int(status or 0)


@pytest.fixture
def show(tmp_path: Path) -> Path:
    folder = tmp_path / "show"
    copytree(FOLDER, folder, ignore=lambda _, names: [name for name in names if not name.endswith(".toml")])
    return folder


def _told(capsys: pytest.CaptureFixture[str]) -> str:
    text = capsys.readouterr().out
    assert [line for line in text.splitlines() if len(line) > 80] == []
    return " ".join(text.split())


def test_a_quote_is_begun_and_an_invoice_issued_taken_back_and_issued_anew(
    show: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(Fault, match=r"there is no money\.toml in this folder; --begin writes one"):
        _run("quote", show)
    assert _run("quote", show, "--begin") == 0
    (show / "business.toml").write_text(BUSINESS, "utf-8")
    (show / "money.toml").write_text(MONEY, "utf-8")
    capsys.readouterr()
    assert _run("invoice", show, "--issue") == 0
    assert "Total 714.00 EUR; due 714.00 EUR." in _told(capsys)
    (number,) = [path.stem.removeprefix("invoice-") for path in (show / "papers").glob("invoice-*.pdf")]
    with pytest.raises(Fault, match=f"invoice {number} was issued for this show"):
        _run("invoice", show, "--issue")
    assert _run("invoice", show, "--credit", number, "--issue") == 0
    assert "Total −714.00 EUR" in _told(capsys)
    assert _run("invoice", show, "--again", number) == 0
    assert f"Invoice {number} to The band" in _told(capsys)
    assert _run("invoice", show, "--json") == 0
    bill = Bill.model_validate_json(capsys.readouterr().out)
    assert (bill.number, str(bill.totals.total)) == ("", "714.00")
    assert _run("quote", show, "--language", "de") == 0
    assert _run("consent", show, "--forms", "--language", "de") == 1
    assert {path.suffix for path in (show / "papers").iterdir()} == {".pdf"}
    assert "Angebot" in pdf.all_words((show / "papers" / "angebot-entwurf.pdf").read_bytes())
    assert "Ich willige ein" in pdf.all_words((show / "papers" / "consent.pdf").read_bytes())


def test_the_kit_s_papers_in_german_and_for_a_printer_that_is_off(
    show: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kit = show / read_show(show).show.kit[0]
    assert _run("kit", "insurance", kit, "--currency", "EUR", "--to", tmp_path, "--language", "de") in (0, 1)
    words = ("kit", "test-print", "--to", tmp_path, "--off-right", "1.5", "--off-down", "-0.5", "--language", "de")
    assert _run(*words) == 0
    assert "Printed" in _told(capsys)
    assert "Geräteliste" in pdf.all_words((tmp_path / "insurance.pdf").read_bytes())
    assert "gegen den Versatz" in pdf.all_words((tmp_path / "test-print.pdf").read_bytes())
    with pytest.raises(Fault, match=r"off by 9 mm \(right\)"):
        _run("sheets", show, "--to", tmp_path, "--off-right", "9")
    _run("sheets", show, "--to", tmp_path, "--off-right", "2", "--first-label", "4")
    assert (tmp_path / "tags.pdf").is_file()


def test_letters_are_written_and_a_reply_is_read_into_the_show(
    show: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _run("letters", show, "--json") == 1
    told = json.loads(capsys.readouterr().out)
    assert [len(told["question"][ask]) for ask in ("venue", "house", "band")] == [2, 0, 0]
    assert len(told["file"]) == 7
    assert _run("letters", show) == 1
    assert {path.name for path in (show / "letters").iterdir()} == {
        "stage.pdf", *(f"{ask}.{kind}" for ask in ("venue", "house", "band") for kind in ("pdf", "txt")),
    }  # fmt: skip
    assert "venue.pdf and .txt: 2 questions" in _told(capsys)
    reply = tmp_path / "reply.txt"
    reply.write_text("> 1. What else runs on it?\n1: about 900 W\n", "utf-8")
    assert _run("answer", show, "venue", "--reply", reply, "--by", "the manager", "--on", "2026-11-20") == 1
    assert "1 question is still open." in _told(capsys)
    load = read_show(show).venue.circuit[0].other_load_w
    assert (load.value, load.status, load.by, str(load.on)) == (900, "confirmed", "the manager", "2026-11-20")
    assert "# A corner of a shop" in (show / "venue.toml").read_text("utf-8")
    assert _run("answer", show, "--json") == 1
    assert len(json.loads(capsys.readouterr().out)["question"]) == 1
    for words, says in (
        (("venue", "1", "none", "--by", "x"), "question 1 is answered already"),
        (("hose", "1", "yes", "--by", "x"), "nobody is asked as 'hose'"),
        (("venue", "9", "none", "--by", "x", "--on", "soon"), "'soon' is not a date"),
    ):
        with pytest.raises(Fault, match=says):
            _run("answer", show, *words)


def test_consent_is_recorded_and_a_parcel_leaves_only_then(
    show: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record(tmp_path / "card")
    words = ("handover", show, "--for", "mixer", "--to", tmp_path / "out", "--recordings", tmp_path / "card")
    with pytest.raises(Fault, match="no consent for recording"):
        _run(*words)
    for bad, says in (
        (("fidler", "--how", "mail"), "did you mean fiddler"),
        (("fiddler",), "in what form it was given"),
        (("fiddler", "--how", "x" * 201), "too long for a form"),
        (("fiddler", "--how", "mail", "--to", " , "), "what was agreed to"),
        (("fiddler", "--how", "mail", "--to", "recordin"), "write recording"),
        (("fiddler", "--how", "mail", "--on", "4.12."), "is not a date"),
        (("y" * 201, "--how", "mail"), "this is no name"),
    ):
        with pytest.raises(Fault, match=says):
            _run("consent", show, *bad)
    assert not (show / "consent.toml").exists()
    assert _run("consent", show) == 1
    names = [line[:26].strip() for line in capsys.readouterr().out.splitlines() if "nothing yet" in line]
    assert len(names) == 3
    for name in names:
        _run("consent", show, name, "--how", "mail", "--on", "2026-11-20")
    capsys.readouterr()
    assert _run("consent", show, "--json") == 0
    assert len(ConsentBook.model_validate_json(capsys.readouterr().out).consent) == 3
    assert _run(*words, "--to", tmp_path / "stick", "--json") == 1  # there is no rough mix
    told = json.loads(capsys.readouterr().out)
    assert (told["files"], len(told["track"]), told["lacking"]) == (9, 4, ["rough mixes: there are none"])
    assert _run("bag", "check", told["folder"][1]) == 0
    assert "complete and valid; 9 files" in _told(capsys)
    (Path(told["folder"][1]) / "data" / "notes.txt").write_text("changed")
    assert _run("bag", "check", told["folder"][1], "--json") == 1
    kinds = {one["kind"] for one in json.loads(capsys.readouterr().out)["fault"]}
    assert kinds == {"changed", "bag"}


def test_what_is_kept_where_is_told(show: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record(tmp_path / "disc")
    with pytest.raises(Fault, match="nothing was put down as kept here"):
        _run("archive", "check", show)
    assert _run("archive", "add", show, tmp_path / "disc", "--label", "black disc", "--every-days", "90") == 1
    assert "One place is not enough" in _told(capsys)
    assert _run("archive", "check", tmp_path, "--json") == 1
    (report,) = json.loads(capsys.readouterr().out)["archive"]
    assert ArchiveReport.model_validate(report).copies == 1
    (tmp_path / "disc" / "01_kick.wav").unlink()
    assert _run("archive", "check", show) == 1
    assert "missing: 01_kick.wav" in _told(capsys)
