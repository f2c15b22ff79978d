"""What is different between two plans of one show, in words: what a person should know after a change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.units.text import figure, listed, metres


@dataclass(frozen=True, slots=True)
class Change:
    """What became of one input, or of the whole where the id is blank."""

    id: str
    label: str
    says: str


def changes(before: Plan, after: Plan) -> tuple[Change, ...]:
    """List what is different in a plan: inputs that came, went or moved, and what they use.

    Parameters
    ----------
    before, after
        Two plans of one show.

    Returns
    -------
    The inputs in the order of the new plan, then those that are gone, then trouble that is new or over.
    """
    old = {row.id: row for row in before.input}
    new = {row.id: row for row in after.input}
    rows = [_row(old.get(row.id), row) for row in after.input]
    gone = [Change(row.id, row.label, "is no longer recorded") for row in before.input if row.id not in new]
    return (*(one for one in rows if one), *gone, *_troubles(before, after))


def _row(old: PlannedInput | None, new: PlannedInput) -> Change | None:
    if old is None:
        return Change(new.id, new.label, f"is recorded now, on {new.number}")
    differ = [f"{what} {now or 'none'} instead of {was or 'none'}" for what, was, now in _pairs(old, new) if was != now]
    return Change(new.id, new.label, listed(differ)) if differ else None


def _pairs(old: PlannedInput, new: PlannedInput) -> Iterator[tuple[str, str, str]]:
    yield "number", str(old.number), str(new.number)
    yield "mic or DI", old.unit.tag if old.unit else "", new.unit.tag if new.unit else ""
    yield "stand", old.stand.tag if old.stand else "", new.stand.tag if new.stand else ""
    yield "splitter", old.splitter.tag if old.splitter else "", new.splitter.tag if new.splitter else ""
    yield "socket", f"{old.box} {old.socket}", f"{new.box} {new.socket}"
    yield "phantom", "on" if old.phantom else "off", "on" if new.phantom else "off"
    yield "run", metres(old.run.laid_m), metres(new.run.laid_m)
    yield "gain", _db(old), _db(new)


def _db(row: PlannedInput) -> str:
    return "" if row.gain.value is None else f"{figure(row.gain.value, sign=True)} dB"


def _troubles(before: Plan, after: Plan) -> Iterator[Change]:
    was = {(hit.check, hit.input, hit.hop) for hit in before.hit if hit.severity != "note"}
    now = {(hit.check, hit.input, hit.hop) for hit in after.hit if hit.severity != "note"}
    for hit in after.hit:
        if hit.severity != "note" and (hit.check, hit.input, hit.hop) not in was:
            yield Change("", "New trouble", hit.says)
    for hit in before.hit:
        if hit.severity != "note" and (hit.check, hit.input, hit.hop) not in now:
            yield Change("", "No longer so", hit.says)
