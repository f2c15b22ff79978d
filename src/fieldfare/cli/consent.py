"""fieldfare consent: who agreed to what, and what is still missing."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, get_args
from zoneinfo import ZoneInfo

import typer

from fieldfare.cli.options import Paper, PaperSize, ShowPath, Tongue
from fieldfare.cli.say import Status, leave, say, show_json, table
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed, nearest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldfare.handover.consents import Party
    from fieldfare.show.consent import ConsentBook, Use
    from fieldfare.show.toml import ShowFolder


LONGEST = 200  # letters of a name


def consent(
    show: ShowPath,
    who: Annotated[str, typer.Argument(help="Whose word it is; without it, how all stand.")] = "",
    to: Annotated[str, typer.Option(help="What was agreed to, with commas: recording,pictures.")] = "recording",
    how: Annotated[str, typer.Option(help="In what form: signed form, mail, spoken on the recording.")] = "",
    evidence: Annotated[Path | None, typer.Option(help="The file that shows it; it is copied and hashed.")] = None,
    on: Annotated[str, typer.Option(metavar="DATE", help="When; today if not given.")] = "",
    until: Annotated[str, typer.Option(metavar="DATE", help="The last day on which it holds.")] = "",
    where: Annotated[str, typer.Option(help="Territory, where one was named.")] = "",
    note: Annotated[str, typer.Option(help="Conditions, credit wording.")] = "",
    taken_back: Annotated[bool, typer.Option("--taken-back", help="They no longer agree to it.")] = False,
    forms: Annotated[bool, typer.Option("--forms", help="Print a form for everybody to papers/consent.pdf.")] = False,
    paper: PaperSize = Paper.a4,
    language: Annotated[Tongue, typer.Option(help="Language of the forms.")] = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write what was recorded as JSON.")] = False,
) -> None:
    """Record who agreed to what, with its evidence, or say how all stand. A record, not advice on law."""
    from fieldfare.handover.consents import keep_evidence, parties
    from fieldfare.plan.recipes import show_recipes
    from fieldfare.show.consent import Consent, add_consent, read_consents
    from fieldfare.show.toml import read_show

    read = read_show(show)
    today = dt.datetime.now(ZoneInfo(read.venue.zone)).date()
    book = read_consents(read.folder)
    asked = parties(read.show, read.venue, show_recipes(read.folder), book)
    if who:
        party = _party(who, asked)
        if not how.strip() or len(how) > LONGEST:
            what = "it is not said in what form it was given" if not how.strip() else "this is too long for a form"
            raise Fault(what, "--how", 'write --how "signed form"; --note takes the rest')
        uses, day = _uses(to), _day(on, "--on") or today
        kept, digest = keep_evidence(read.folder, evidence) if evidence else ("", "")
        said = Consent(
            of=party.name,
            side=party.side,
            given=not taken_back,
            uses=uses,
            on=day,
            how=how,
            until=_day(until, "--until"),
            where=where,
            evidence=kept,
            sha256=digest,
            note=note,
        )
        add_consent(read.folder, said)
        book = read_consents(read.folder)
    if forms:
        _print_forms(read, asked, paper, language)
    if as_json:
        show_json(book)
    else:
        _tell(read, asked, book, today)
    leave(_status(read, asked, book, today))


def _party(who: str, asked: Sequence[Party]) -> Party:
    found = next((one for one in asked if one.name.casefold() == who.casefold()), None)
    if found is None:
        from fieldfare.handover.consents import Party

        if not who.strip() or len(who) > LONGEST:
            raise Fault("this is no name", "the command", "give who agreed, as the show calls them")
        names = [one.name for one in asked]
        if guess := nearest(who, names):
            raise Fault(f"nobody is called {who!r}", "the command", f"did you mean {guess}?")
        return Party(who, "other")
    return found


def _uses(text: str) -> tuple[Use, ...]:
    from fieldfare.show.consent import Use

    known: tuple[Use, ...] = get_args(Use)
    words = [word.strip() for word in text.split(",") if word.strip()]
    for word in words:
        if word not in known:
            near = nearest(word, known)
            raise Fault(f"{word!r} is no use", "--to", f"write {near}" if near else f"one of {listed(known)}")
    if not words:
        raise Fault("it is not said what was agreed to", "--to", f"one or more of {listed(known)}")
    return tuple(use for use in known if use in words)


def _day(text: str, option: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if text else None
    except ValueError:
        raise Fault(f"{text!r} is not a date", option, "write it as 2026-12-04") from None


def _status(read: ShowFolder, asked: Sequence[Party], book: ConsentBook, today: dt.date) -> Status:
    from fieldfare.handover.consents import missing_consents

    return Status.LOOK if missing_consents(asked, book, ("recording",), today, read.folder) else Status.DONE


def _print_forms(read: ShowFolder, asked: Sequence[Party], paper: Paper, language: Tongue) -> None:
    from fieldfare.cli.bills import PAPERS
    from fieldfare.sheets.consents import consent_pdf
    from fieldfare.sheets.write import put_all
    from fieldfare.show.money import MONEY_FILE, read_money

    own = read_money(read.folder)[1].consent_text if (read.folder / MONEY_FILE).is_file() else ""
    printed = dt.datetime.now(ZoneInfo(read.venue.zone))
    forms = [(one.name, one.side, one.plays) for one in asked]
    content = consent_pdf(read.show, read.venue, forms, own, paper.value, printed, language.value)
    (path,) = put_all({"consent.pdf": content}, read.folder / PAPERS)
    say(f"Printed {path}, {len(asked)} forms.")


def _tell(read: ShowFolder, asked: Sequence[Party], book: ConsentBook, today: dt.date) -> None:
    from fieldfare.handover.consents import missing_consents, standing_consents

    rows = []
    for party in asked:
        stands = standing_consents(book, party.name, today)
        last = max((one.on for one in stands.values()), default=None)
        rows.append((party.name, party.side, ", ".join(stands) or "nothing yet", str(last or "")))
    table(("Who", "Part", "Agreed to", "On"), rows, (26, 9, 29, 10))
    for sentence in missing_consents(asked, book, ("recording",), today, read.folder):
        say(f"Missing: {sentence}", hang=2)
    say("A record of what was agreed; no advice on law.")
