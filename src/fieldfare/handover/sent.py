"""Letters as they were sent, so that the numbers of their questions stay what they were; and answers as they came."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import uuid4

from fieldfare.handover.answers import Answer, questions_for
from fieldfare.show.plan import OpenQuestion
from fieldfare.show.record import Asked
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.store.events import Event, add_events
from fieldfare.store.revisions import latest, save_revision
from fieldfare.store.store import Store


@dataclass(frozen=True, slots=True)
class Numbered:
    """A question with its number in the letter."""

    number: int
    question: OpenQuestion
    is_open: bool


def keep_letter(store: Store, title: str, ask: Asked, questions: Sequence[OpenQuestion]) -> None:
    """Keep the questions of a letter as they were numbered.

    Raises
    ------
    NotDone
        The database refused.
    """
    body = {"question": [one.model_dump(mode="json") for one in questions]}
    save_revision(store, "letter", f"{title}, {ask}", body)


def sent_letter(store: Store, show: Show, venue: Venue, ask: Asked) -> tuple[Numbered, ...]:
    """Return the questions of the letter that was sent last, by their numbers; those of the next, where none was.

    Places in the documents are looked up anew by the words of each question: a source may have gone since, and then the
    next one stands in its place.
    """
    now = questions_for(show, venue, ask)
    kept = latest(store, "letter", f"{show.title}, {ask}")
    if kept is None:
        return tuple(Numbered(number, one, True) for number, one in enumerate(now, 1))
    sent = [OpenQuestion.model_validate(one) for one in kept.body["question"]]
    by_text = {one.text: one for one in now}
    return tuple(
        Numbered(number, by_text.get(one.text, one), one.text in by_text) for number, one in enumerate(sent, 1)
    )


def log_answers(store: Store, title: str, answers: Sequence[Answer]) -> None:
    """Add answers to what happened, each with who gave it and when."""
    now = dt.datetime.now(dt.UTC)
    add_events(
        store,
        [
            Event(
                id=str(uuid4()),
                device="fieldfare answer",
                show=title,
                kind="answered",
                about=one.question.about or one.question.ask,
                text=f"{one.question.text} {one.text} ({one.by}, {one.on.isoformat()})",
                at=now,
            )
            for one in answers
        ],
    )
