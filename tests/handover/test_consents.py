"""Consent: who must be asked, the latest word on each use, evidence that stays what it was, and no word ever lost."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from handover.demo import demo
from sheets import pdf

from fieldfare.handover.consents import Party, keep_evidence, missing_consents, parties, standing_consents
from fieldfare.plan.recipes import own_recipes
from fieldfare.sheets.consents import Asked, consent_forms, consent_pdf
from fieldfare.show.consent import Consent, ConsentBook, add_consent, read_consents
from fieldfare.show.show import Show
from fieldfare.units.faults import BadDocuments, Fault

DAY = dt.date(2026, 12, 4)
PRINTED = dt.datetime(2026, 11, 27, 12)


def _said(**changed: object) -> Consent:
    said = {"of": "fiddler", "uses": ("recording",), "on": "2026-11-20", "how": "signed form"}
    return Consent.model_validate(said | changed)


def _book(*consents: Consent) -> ConsentBook:
    return ConsentBook(consent=consents)


def _missing(book: ConsentBook, *uses: str, folder: Path = Path(), day: dt.date = DAY) -> tuple[str, ...]:
    return missing_consents([Party("fiddler", "performer", "Fiddle")], book, uses or ("recording",), day, folder)  # type: ignore[arg-type]


def test_every_player_and_the_venue_is_asked_once_and_a_room_pair_is_not() -> None:
    _, show, venue, _ = demo()
    found = parties(show, venue, own_recipes(), ConsentBook())
    names = [one.name for one in found]
    assert len(names) == len(set(names)) == 10
    assert names[-1] == "Slipway Shed"
    drummer = next(one for one in found if one.name == "drummer")
    assert drummer.does == "Drum kit and Hand percussion"
    assert not any("room" in name.casefold() for name in names)


def test_somebody_else_who_gave_a_word_is_kept_in_sight() -> None:
    _, show, venue, _ = demo()
    book = _book(_said(of="the songs' publisher", side="other"))
    assert parties(show, venue, own_recipes(), book)[-1] == Party("the songs' publisher", "other")


@pytest.mark.parametrize(
    ("book", "says"),
    [
        (_book(), ("fiddler: no consent for recording (none is recorded)",)),
        (_book(_said()), ()),
        (_book(_said(uses=("release",))), ("fiddler: no consent for recording (none is recorded)",)),
        (_book(_said(of="drummer")), ("fiddler: no consent for recording (none is recorded)",)),
        (_book(_said(on="2026-12-05")), ("fiddler: no consent for recording (none is recorded)",)),
        (_book(_said(until="2026-12-03")), ("fiddler: no consent for recording (none is recorded)",)),
        (_book(_said(until="2026-12-04")), ()),
        (_book(_said(), _said(given=False)), ("fiddler: no consent for recording (taken back on 2026-11-20)",)),
        (_book(_said(), _said(given=False), _said(on="2026-11-21")), ()),
        (_book(_said(on="2026-11-22"), _said(given=False, on="2026-11-21")), ()),
        (_book(_said(uses=("recording", "release")), _said(given=False, uses=("release",))), ()),
    ],
    ids=range(11),
)
def test_what_counts_is_the_latest_word_on_each_use_while_it_holds(book: ConsentBook, says: tuple[str, ...]) -> None:
    assert _missing(book) == says


def test_several_uses_are_told_in_one_sentence() -> None:
    assert _missing(_book(_said()), "recording", "pictures", "release") == (
        "fiddler: no consent for pictures and release (none is recorded)",
    )
    assert set(standing_consents(_book(_said()), "fiddler", DAY)) == {"recording"}


def test_evidence_is_copied_hashed_and_watched(tmp_path: Path) -> None:
    paper = tmp_path / "scan 1.PDF"
    paper.write_bytes(b"signed")
    show = tmp_path / "show"
    show.mkdir()
    kept, digest = keep_evidence(show, paper)
    assert kept == "consent/scan_1.pdf"
    book = _book(_said(evidence=kept, sha256=digest))
    assert _missing(book, folder=show) == ()
    assert keep_evidence(show, paper) == (kept, digest)  # the same paper again is not kept twice
    paper.write_bytes(b"another")
    assert keep_evidence(show, paper)[0] == "consent/scan_1_2.pdf"
    (show / kept).write_bytes(b"signeD")
    assert _missing(book, folder=show) == (
        "fiddler: the evidence consent/scan_1.pdf has changed since it was recorded",
    )
    (show / kept).unlink()
    assert _missing(book, folder=show) == ("fiddler: the evidence consent/scan_1.pdf is not there",)
    with pytest.raises(Fault, match="cannot be read"):
        keep_evidence(show, tmp_path / "nothing")


def test_words_are_added_and_remarks_stay(tmp_path: Path) -> None:
    file = tmp_path / "consent.toml"
    file.write_text("# asked on the phone first\n", "utf-8")
    words = [_said(of=name, note=note) for name, note in (("Ωmega", 'says "yes"\nand no'), ("ผู้ร้อง", ""), ("x", "#"))]
    for one in words:
        add_consent(tmp_path, one)
    assert file.read_text("utf-8").startswith("# asked on the phone first\n")
    assert read_consents(tmp_path) == _book(*words)
    before = file.read_text("utf-8") + "[[consent]]\nof = 1\n"
    file.write_text(before, "utf-8")
    with pytest.raises(BadDocuments, match="of: 1 is not text"):
        add_consent(tmp_path, _said())
    assert file.read_text("utf-8") == before


def test_each_form_is_a_page_with_its_name_and_every_use() -> None:
    _, show, venue, _ = demo()
    asked: list[Asked] = [(one.name, one.side, one.plays) for one in parties(show, venue, own_recipes(), ConsentBook())]
    long: list[Asked] = [("Ω" * 60, "performer", ("เสียงร้องนำ " * 5,)), ("المغنية الأولى " * 4, "other", ())]
    pages = pdf.page_words(consent_pdf(show, venue, [*asked, *long], "", "letter", PRINTED))
    assert len(pages) == len(asked) + 2
    for (name, _, _), page in zip(asked, pages, strict=False):
        assert name in page
        assert "It is published, sold or streamed" in page
        assert "no advice on law" in page


def test_the_user_s_own_words_stand_instead_of_ours_and_an_empty_show_says_what_is_missing() -> None:
    _, show, venue, _ = demo()
    own = "Own words, first.\n\nOwn words, second."
    text = pdf.all_words(consent_pdf(show, venue, [("singer", "performer", ())], own, "a4", PRINTED))
    assert "Own words, first." in text
    assert "I have been told" not in text
    bare = Show(title="x", date=DAY, venue="v", kit=("k",))
    assert "Nobody is on the bill yet" in pdf.all_words(consent_pdf(bare, venue, [], "", "a4", PRINTED))


def test_a_form_in_german_says_nothing_in_english_but_names() -> None:
    _, show, venue, _ = demo()
    asked: list[Asked] = [
        ("the drummer", "performer", ("Kick and snare", "Hand percussion")),
        ("Slipway Shed", "venue", ()),
        ("x", "other", ()),
    ]
    forms = consent_forms(show, venue, asked, "", "a4", "de")
    assert [form.part for form in forms.forms] == [
        "Mitwirkung: Kick and snare und Hand percussion", "Veranstaltungsort", "Weitere"
    ]  # fmt: skip
    assert forms.about[-1] == "4. Dezember 2026"
    text = pdf.all_words(consent_pdf(show, venue, asked, "", "a4", PRINTED, "de"))
    for words in ("Ich willige ein:", "Die Aufnahme wird veröffentlicht", "Seite 1 von 3", "keine Rechtsberatung"):
        assert words in text
    ours = text.replace("the drummer", "").replace("Kick and snare", "").replace(show.recordist, "")
    assert not re.search(r"\b(the|is|of|yes|and|page|agree|Venue|Signature)\b", ours)
