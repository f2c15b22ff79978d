"""Twelve shows of our own invention, recorded by the program itself with all that is true of them beside.

Each has a room, a temperature, a noise level, a line-up and a course of its own: songs that run into one another, false
endings, songs that were dropped, added or swapped against the set list, long and short talk. Microphones stand up to
0.15 m from where they were drawn. Recordings are kept in a folder, so that only the first run has to make them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np

from fieldfare.plan.inputs import soundings
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.drawn import Drawing, drawing_of
from fieldfare.show.record import Fact
from fieldfare.show.toml import read_show
from fieldfare.takes.render.course import Piece, written_programme
from fieldfare.takes.render.score import Play
from fieldfare.takes.render.truth import Truth
from fieldfare.takes.render.write import TRUTH, render_show

REVERBERATIONS_S = (0.6, 1.4, 2.4)
DRAWN = "drawn.json"
NOISES_DB = (0.0, 30.0)
MOVED_M = 0.15
TITLES = (
    "Slack Water Reel", "The Caulker's Polka", "Nine Oars", "The Millrace Jig", "Waltz for the Ferryman",
    "Tar and Oakum", "The Net Loft Stomp", "Salt in the Bellows", "Two Tides a Day", "Lantern on the Slip",
)  # fmt: skip
LINE_UPS: tuple[frozenset[str], ...] = (  # who stays at home
    frozenset(),
    frozenset({"Trumpet", "Clarinet", "Alto saxophone", "Hand percussion"}),
    frozenset({"Button accordion", "Backing vocal, accordion", "Fiddle", "House mix"}),
    frozenset({"Drum kit", "Trumpet", "Hand percussion"}),
    frozenset({"Lead vocal", "Backing vocal, guitar", "Backing vocal, accordion", "House mix"}),
)


@dataclass(frozen=True, slots=True)
class Gig:
    """A recorded show, what was drawn, and what is true."""

    number: int
    folder: Path
    drawing: Drawing
    truth: Truth
    listed: tuple[tuple[str, float], ...]  # the set list: title, rough length [s]
    pieces: tuple[Piece, ...]
    reverberation_s: float
    noise_db: float

    @property
    def card(self) -> Path:
        """Folder of the recordings."""
        return self.folder / self.truth.card


def course(number: int) -> tuple[tuple[Piece, ...], tuple[tuple[str, float], ...]]:
    """What is played on a night, and what the set list said."""
    rng = np.random.default_rng(1000 + number)
    order = [TITLES[place] for place in rng.permutation(len(TITLES))[:6]]
    pieces = []
    for place, title in enumerate(order):
        runs_on = place in (2,) and number % 2 == 0
        stops = place == 3 and number % 3 != 2
        pieces.append(
            Piece(
                title,
                float(rng.uniform(35, 90)),
                0.0 if runs_on else float(rng.uniform(7, 30)),
                int(rng.choice([0, 2, 4, 4])),
                float(rng.uniform(-6, 0)),
                float(rng.uniform(0.85, 1.15)),
                float(rng.uniform(0.4, 0.8)) if stops else 0.0,
                int(rng.integers(1, 3)),
            )
        )
    listed = [(piece.title, piece.length_s * float(rng.uniform(0.85, 1.15))) for piece in pieces]
    if number % 4 == 1:
        listed.insert(2, ("A Song That Was Dropped", 60.0))
    if number % 4 == 2:
        del listed[4]
    if number % 4 == 3:
        listed[4], listed[5] = listed[5], listed[4]
    return tuple(pieces), tuple(listed)


def gig(number: int, folder: Path, play: Play | None = None) -> Gig:
    """Return a show, recorded anew where the folder does not hold it yet."""
    here = folder / f"gig-{number:02d}"
    reverberation_s, noise_db = REVERBERATIONS_S[number % 3], NOISES_DB[number // 3 % 2]
    pieces, listed = course(number)
    if not (here / DRAWN).is_file():
        drawn, sounding, real = _documents(number, reverberation_s, noise_db)
        programme = written_programme(pieces, real[0].rate_hz, number, before_s=20, after_s=20)
        show, venue, kit = real[1:]
        render_show(real[0], show, venue, kit, sounding, here, seed=number, planted=(), programme=programme, play=play)
        (here / DRAWN).write_text(drawn.model_dump_json(indent=1), "utf-8")
    truth = Truth.model_validate_json((here / TRUTH).read_text("utf-8"))
    drawing = Drawing.model_validate_json((here / DRAWN).read_text("utf-8"))
    return Gig(number, here, drawing, truth, listed, pieces, reverberation_s, noise_db)


def gigs(numbers: Sequence[int], folder: Path, play: Play | None = None) -> list[Gig]:
    """Return several shows."""
    return [gig(number, folder, play) for number in numbers]


def _documents(number, reverberation_s, noise_db):  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(2000 + number)
    with as_file(files("fieldfare.show") / "demo") as documents:
        read = read_show(documents)
    away = LINE_UPS[number % len(LINE_UPS)]
    act = read.show.act[0]
    sources = tuple(
        one.model_copy(update={"doubles_with": ""}) if one.doubles_with in away else one
        for one in act.source
        if one.name not in away
    )
    if away:  # there is room for both sides of the snare
        sources = tuple(
            one.model_copy(update={"leave_out": ("hat", "ride")}) if one.name == "Drum kit" else one for one in sources
        )
    show = read.show.model_copy(update={"act": (act.model_copy(update={"source": sources}),), "pin": ()})
    warm = float(rng.uniform(15, 27))
    venue = read.venue.model_copy(
        update={
            "temperature_c": Fact[float](value=warm, status="expected"),
            "room": read.venue.room.model_copy(
                update={"reverberation_s": Fact(value=reverberation_s, status="expected")}
            ),
        }
    )
    recipes = own_recipes()
    plan = make_plan(show, venue, read.kit, read.digest, recipes)
    sounding = tuple(soundings(show, venue, recipes))
    rows = tuple(
        row.model_copy(
            update={
                "at": tuple(float(x) for x in np.array(row.at) + rng.uniform(-MOVED_M, MOVED_M, 3) * _loose(row)),
                "noise": row.noise.model_copy(update={"value": row.noise.value + noise_db})
                if row.noise and row.noise.value is not None
                else row.noise,
            }
        )
        for row in plan.input
    )
    return drawing_of(plan, sounding, warm), sounding, (plan.model_copy(update={"input": rows}), show, venue, read.kit)


def _loose(row) -> float:  # type: ignore[no-untyped-def]
    """A close mic is put where it belongs, to a few centimetres; others stand about where they were drawn."""
    return 0.2 if row.source == "Drum kit" and row.pair == "" else 1.0
