"""Splits of the house's microphones: load, earth, who has what, and that the house keeps its line."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.physics.lines import parallel_ohm
from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.heads import HOUSE_INPUT_OHM
from fieldfare.show.kit import Preamp, Recorder, Splitter
from fieldfare.show.plan import PlannedInput
from fieldfare.units.text import figure

LEAST_LOAD = 5.0  # times its impedance that a microphone wants to see


def loads_the_mic(context: Context) -> Iterator[Fired]:
    """Both inputs in parallel load the microphone too far."""
    for row in _splits(context):
        mic, preamp = context.wanted[row.id].house_mic, context.things[row.preamp]
        splitter = _splitter(context, row)
        active = splitter is not None and splitter.isolation == "active"
        if mic is None or mic.wireless or active or not isinstance(preamp, Preamp | Recorder):
            continue
        load = parallel_ohm(preamp.input_ohm, HOUSE_INPUT_OHM)
        if load < LEAST_LOAD * mic.impedance_ohm:
            remedy = "use an active split, or a preamp of higher input impedance"
            yield Fired(_hop(row), remedy, row.id, f"{figure(load)} Ω for a mic of {figure(mic.impedance_ohm)} Ω")


def joins_earths(context: Context) -> Iterator[Fired]:
    """A plain Y joins our earth with that of the house."""
    for row in _splits(context):
        splitter = _splitter(context, row)
        if splitter is not None and splitter.isolation == "none":
            remedy = (
                "use a transformer split; failing that, lift the screen of our side at the split, never a mains earth"
            )
            yield Fired(_hop(row), remedy, row.id)


def isolation_unknown(context: Context) -> Iterator[Fired]:
    """Nobody has said whether the house's own splits are isolated."""
    for box in context.venue.house_box:
        taken = [row for row in _splits(context) if row.house_split == box.name]
        if taken and box.splits_isolated.known is None:
            remedy = "ask, and bring our own transformer splits in case; which side we get settles who gives phantom"
            yield Fired(f"the split outputs of {box.name}", remedy, taken[0].id)


def not_isolated(context: Context) -> Iterator[Fired]:
    """The house's own splits are known to join the earths."""
    for box in context.venue.house_box:
        taken = [row for row in _splits(context) if row.house_split == box.name]
        if taken and box.splits_isolated.known is False:
            remedy = "put our transformer splits in, or lift the screens of our side at the split, never a mains earth"
            yield Fired(f"the split outputs of {box.name}", remedy, taken[0].id)


def too_many(context: Context) -> Iterator[Fired]:
    """More lines are taken from a house box than it gives."""
    for box in context.venue.house_box:
        taken = [row for row in _splits(context) if row.house_split == box.name]
        if len(taken) > box.split_outputs:
            remedy = f"it gives {box.split_outputs}; use splitters of our own for the rest"
            yield Fired(f"the split outputs of {box.name}", remedy, taken[-1].id, str(len(taken)))


def house_loses_its_line(context: Context) -> Iterator[Fired]:
    """Our splitter has no cable back into the house's box."""
    for row in _splits(context):
        if row.splitter is not None and not row.lead:
            remedy = "add a microphone cable from its direct output back to the house's box"
            yield Fired(_hop(row), remedy, row.id)


def whose_mic(context: Context) -> Iterator[Fired]:
    """Nobody has said who owns and brings the microphone that we split."""
    for row in _splits(context):
        mic = context.wanted[row.id].house_mic
        if mic is not None and mic.owner.known is None:
            yield Fired(f"{mic.item} of {row.label}", "ask who brings it, and carry one of ours in case", row.id)


def _splits(context: Context) -> list[PlannedInput]:
    return [row for row in context.inputs if row.taking == "split"]


def _splitter(context: Context, row: PlannedInput) -> Splitter | None:
    thing = context.things.get(row.splitter.tag) if row.splitter else None
    return thing if isinstance(thing, Splitter) else None


def _hop(row: PlannedInput) -> str:
    return f"{row.splitter.tag} {row.splitter.item}" if row.splitter else f"the split output of {row.house_split}"
