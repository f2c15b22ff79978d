"""The recorder and what the recording as a whole must not lack."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.show.plan import LeftOut
from fieldfare.units.text import figure, listed

ROOM = ("room", "audience", "ambience")  # words in the names of recipes that hear the room


def rate(context: Context) -> Iterator[Fired]:
    """The recorder cannot record at the show's rate."""
    wanted = context.show.recording.rate_hz
    if context.recorder is not None and wanted not in context.recorder.rates_hz:
        can = listed(f"{rate / 1000:g}" for rate in context.recorder.rates_hz)
        yield Fired("the recorder", f"it records at {can} kHz; set one of them", "", f"{wanted / 1000:g} kHz")


def bits(context: Context) -> Iterator[Fired]:
    """The recorder cannot record at the show's depth."""
    wanted = context.show.recording.bits
    if context.recorder is not None and wanted not in context.recorder.bits:
        can = listed(str(depth) for depth in context.recorder.bits)
        yield Fired("the recorder", f"it records {can} bits; set one of them", "", f"{wanted} bits")


def no_recorder(context: Context) -> Iterator[Fired]:
    """There is no recorder to plug anything into."""
    if context.recorder is None and context.wanted:
        yield Fired("the kit", "write a good one into the kit, or hire one")


def must_left_out(context: Context) -> Iterator[Fired]:
    """Something that must be recorded is not."""
    for one, hop in _lost(context) if context.recorder else ():  # without one, one sentence says it all
        if one.importance == "must" and one.status != "possible":
            why = f"{'is' if hop == one.label else 'are'} not{f', because {one.blocks}' if one.blocks else ''}"
            yield Fired(hop, one.cure or "bring what is missing", one.id, why)


def no_room_for_a_guest(context: Context) -> Iterator[Fired]:
    """A source that may still come has no channel."""
    for one, hop in _lost(context):
        if one.status == "possible":
            yield Fired(hop, one.cure or "decide now what goes if it comes", one.id, one.blocks)


def _lost(context: Context) -> Iterator[tuple[LeftOut, str]]:
    """List what has no row, with its name; the two sides of a pair, which come or go together, once."""
    lost = {one.id: one for one in context.left_out if not one.shares}
    for one in tuple(lost.values()):
        wanted = context.wanted.get(one.id)
        other = lost.pop(wanted.pair, None) if wanted and one.id in lost else None
        if other:
            yield one, f"{one.label} and {other.label}"
        elif one.id in lost:
            yield one, one.label


def no_spare_channel(context: Context) -> Iterator[Fired]:
    """Every channel is taken."""
    most = len(context.recorder.working(context.recorder_tag)) if context.recorder else 0
    if context.recorder is not None and len(context.inputs) >= most:
        remedy = "leave the least important out, and patch and label one line as the spare"
        yield Fired("the recorder", remedy, "", figure(most))


def nothing_hears_the_room(context: Context) -> Iterator[Fired]:
    """No microphone hears audience and room."""
    if not context.inputs or any(word in row.recipe for row in context.inputs for word in ROOM):
        return
    wanted = (context.wanted.get(one.id) for one in context.left_out if not one.shares)
    lost = dict.fromkeys(one.source.name for one in wanted if one and any(word in one.source.recipe for word in ROOM))
    remedy = f"bring {listed(lost)} back" if lost else "add a pair for the room"
    yield Fired("the input list", f"{remedy}; without it the recording sounds like an empty hall")


def one_copy(context: Context) -> Iterator[Fired]:
    """The recording lies in one place only."""
    if context.show.recording.copies < 2:
        yield Fired("the offload", "plan two copies at least, on two devices, before the card is touched again")


def not_enough_media(context: Context) -> Iterator[Fired]:
    """There are fewer good cards and discs than copies, beside the card that is recorded on."""
    good = sum(len(one.good_tags) for one in context.kit.media)
    if context.inputs and good < context.show.recording.copies + 1:
        remedy = f"bring {context.show.recording.copies + 1}, the card that is recorded on, and one for each copy"
        yield Fired("the media", remedy, "", str(good))
