"""Faults taken apart into lines for a page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldfare.units.faults import BadDocuments, Fault


@dataclass(frozen=True, slots=True)
class FaultLine:
    """One fault."""

    where: str
    what: str
    remedy: str


def lines_of(fault: Fault) -> Iterator[FaultLine]:
    """Take a fault apart into its lines."""
    if not isinstance(fault, BadDocuments):
        yield FaultLine(fault.where, _sentence(fault.what), _sentence(fault.remedy))
        return
    for one in fault.blemishes:
        where = ", ".join(part for part in (one.file, one.place, one.field) if part)
        yield FaultLine(where, _sentence(one.read), _sentence(one.remedy))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:].rstrip(".")
