"""What is not known: each unknown becomes one plain question, for whoever can answer it, with what depends on it.

The questions themselves are common practice of the trade, no source; a limiter that cuts sockets and a phantom supply
that nobody owns are the two that cost recordings most often.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fieldfare.plan.power import circuits_in_reach
from fieldfare.show.plan import OpenQuestion
from fieldfare.show.show import Show, Source
from fieldfare.show.venue import Venue
from fieldfare.units.text import figure, listed


def open_questions(show: Show, venue: Venue) -> tuple[OpenQuestion, ...]:
    """List what nobody has said yet, in the order of how much depends on it.

    A fact that is only *possible* is asked about as an unknown one is; an *expected* one is not.
    """
    answered = {(one.ask, one.text) for one in show.question if one.answer}
    found = (question for find in _ORDER for question in find(show, venue))
    return tuple(one for one in found if one.about or (one.ask, one.text) not in answered)


def _limiter(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    if venue.limiter.known is None:
        yield OpenQuestion(
            ask=venue.limiter.ask,
            text="Is there a sound limiter, and which sockets does it cut?",
            depends="Where the recorder is plugged in: on a circuit that is cut it would run on its battery alone.",
            about="venue.limiter",
        )


def _circuits(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    reached = circuits_in_reach(venue)
    for place, circuit in enumerate(venue.circuit):
        if circuit not in reached:
            continue
        where = f"venue.circuit.{place}"
        if circuit.cut_by_limiter.known is None and venue.limiter.known not in (None, "none", circuit.name):
            yield OpenQuestion(
                ask="venue",
                text=f"Does the limiter cut the circuit {circuit.name}?",
                depends="Which sockets the recorder may use.",
                about=f"{where}.cut_by_limiter",
            )
        if circuit.residual_current_device.known is None:
            yield OpenQuestion(
                ask=circuit.residual_current_device.ask,
                text=f"Is the circuit {circuit.name} protected by a residual current device of 30 mA or less?",
                depends="Whether we bring one of our own; its test button is pressed before anything is plugged in.",
                about=f"{where}.residual_current_device",
            )
        if circuit.other_load_w.known is None and circuit.shared_with:
            yield OpenQuestion(
                ask=circuit.other_load_w.ask,
                text=f"What else runs on the circuit {circuit.name} ({circuit.shared_with}), and how many watts is it?",
                depends=f"Whether its {figure(circuit.rating_a)} A carry us as well.",
                about=f"{where}.other_load_w",
            )


def _splits(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    for place, box in enumerate(venue.house_box):
        if box.splits_isolated.known is None:
            yield OpenQuestion(
                ask=box.splits_isolated.ask,
                text=f"Are the splits of the house stage box {box.name} isolated, and which side do we get?",
                depends="Hum, who supplies phantom, and whether our own splitters can stay in the bin as spares.",
                about=f"venue.house_box.{place}.splits_isolated",
            )


def _house_mics(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    for where, source in _placed(show):
        if source.house_mic and source.house_mic.owner.known is None:
            what = f"{source.house_mic.item} for {source.name}"
            yield OpenQuestion(
                ask=source.house_mic.owner.ask,
                text=f"Who owns and brings the {what}?",
                depends="Whether we take it from their receiver, split it, or bring a microphone of our own.",
                about=f"{where}.house_mic.owner",
            )
    split = [source.name for source in show.sources if source.house_mic and source.house_mic.phantom == "needed"]
    if split:
        yield OpenQuestion(
            ask="house",
            text=f"Do you supply phantom for {listed(split)}, and will the desk stay on until we have stopped?",
            depends="A line that nobody feeds is silent, and one that is switched off in the interval dies.",
        )


def _room(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    if venue.room.mid_reverberation_s is None:
        yield OpenQuestion(
            ask="ourselves",
            text="How long does the room ring after a clap, empty?",
            depends="Spill is told from the direct sound alone until then.",
            about="venue.room.reverberation_s",
        )
    if venue.temperature_c.known is None:
        yield OpenQuestion(
            ask="ourselves",
            text="How warm is it on stage during the show?",
            depends="Delays are told for 20 °C until then; 10 °C more shift 10 m by half a millisecond.",
            about="venue.temperature_c",
        )


def _sources(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    for where, source in _placed(show):
        if source.status == "possible":
            yield OpenQuestion(
                ask="band",
                text=f"Does {source.name} play on {show.date.day} {show.date:%B}?",
                depends=f"Whether {source.name} is planned for: its inputs are listed as possible.",
                about=f"{where}.status",
            )


def _times(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    for field, (text, depends) in _CLOCKS.items():
        if getattr(show.times, field) is None:
            yield OpenQuestion(ask="venue", text=text, depends=depends, about=f"show.times.{field}")
    if not show.set:
        yield OpenQuestion(
            ask="band",
            text="When do the sets start, and how long are they?",
            depends="The space on the cards.",
            about="show.set",
        )


_CLOCKS = {
    "load_in": ("From what time may we load in?", "The day's times, and the odds of being ready."),
    "soundcheck": ("When is the soundcheck?", "By when every line must work."),
    "doors": ("When are doors?", "When the recorder rolls, and so the space on the cards."),
    "curfew": ("When must it be silent?", "How long the recorder runs, and when we strike."),
}


def _placed(show: Show) -> Iterator[tuple[str, Source]]:
    """Every source with its place in the document."""
    for number, act in enumerate(show.act):
        for place, source in enumerate(act.source):
            yield f"show.act.{number}.source.{place}", source


def _cameras(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    unsaid = [one.name for one in show.camera if not one.frame_rate]
    if unsaid:
        yield OpenQuestion(
            ask="cameras",
            text=f"How many pictures a second do you take with {listed(unsaid)}: 25, 29.97 or another number?",
            depends="The edit list counts in pictures: 0.1 % off is 3.6 seconds an hour.",
        )
    deaf = [one.name for one in show.camera if not one.scratch_sound]
    if deaf:
        yield OpenQuestion(
            ask="cameras",
            text=f"Can you record sound with {listed(deaf)} all the same, however bad?",
            depends="By it the pictures are put in time; without it somebody does it by eye, from a clap at both ends.",
        )


def _of_the_show(show: Show, venue: Venue) -> Iterator[OpenQuestion]:
    for question in (one for one in show.question if not one.answer):
        yield OpenQuestion(ask=question.ask, text=question.text)


_ORDER: tuple[Callable[[Show, Venue], Iterator[OpenQuestion]], ...] = (
    _limiter,
    _splits,
    _house_mics,
    _circuits,
    _sources,
    _times,
    _room,
    _cameras,
    _of_the_show,
)
