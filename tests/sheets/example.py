"""Documents made by hand for the sheets: a show of any number of inputs, with names of any kind. All invented."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from itertools import pairwise
from math import cos, hypot, radians, sin
from typing import NamedTuple

from sheets.example_place import kit, venue

from fieldfare.show.kit import Kit, Owner, Pattern, Phantom
from fieldfare.show.plan import (
    BinWeight,
    CableUse,
    CircuitLoad,
    Hit,
    Hop,
    LeftOut,
    MediaPlan,
    OpenQuestion,
    PackLine,
    PlacedBox,
    Plan,
    PlannedInput,
    Power,
    Run,
    UnitUse,
)
from fieldfare.show.record import Place, Place3
from fieldfare.show.show import Act, Camera, Show, Source, Wedge
from fieldfare.show.venue import Venue
from fieldfare.units.sources import PRACTICE
from fieldfare.units.working import Given, Working

PRINTED = dt.datetime(2026, 11, 27, 11, 42)
NAMES = (
    "Kick", "Snare", "Rack tom", "Floor tom", "Overhead left", "Overhead right", "Hand percussion", "Upright bass DI",
    "Upright bass amp", "Guitar", "Bouzouki", "Fiddle clip", "Fiddle DI", "Accordion left", "Accordion right",
    "Clarinet", "Trumpet", "Lead vocal", "Backing vocal, guitar", "Room left",
)  # fmt: skip
COLOURS = {3: "white", 5: "green", 10: "yellow", 20: "blue"}
PATTERNS: tuple[Pattern, ...] = (
    "cardioid", "supercardioid", "supercardioid", "hypercardioid", "cardioid", "cardioid", "figure of eight", "omni",
    "subcardioid",
)  # fmt: skip
DRUMS: tuple[Place, ...] = (
    (0.0, 2.55), (-0.35, 3.0), (-0.2, 3.35), (0.45, 3.0), (-0.7, 3.5), (0.7, 3.5), (1.0, 2.6),
)  # fmt: skip

Naming = Callable[[int], str]


class Documents(NamedTuple):
    """What the sheets are made from."""

    plan: Plan
    show: Show
    venue: Venue
    kit: Kit


def english(number: int) -> str:
    """Name an input as the demo's trade does, with a count where the names run out."""
    name = NAMES[(number - 1) % len(NAMES)]
    return name if number <= len(NAMES) else f"{name} {(number - 1) // len(NAMES) + 1}"


def long_names(number: int) -> str:
    """Name an input with 60 characters of Greek, Thai, Arabic or Latin."""
    kinds = (
        "Φωνή της τραγουδίστριας στο κέντρο της σκηνής με ασύρματο μικρόφωνο",
        "เสียงร้องนำของนักร้องหญิงกลางเวทีพร้อมไมโครโฟนไร้สายตัวที่หนึ่ง",
        "صوت المغنية الرئيسية في وسط المسرح مع ميكروفون لاسلكي رقم واحد",
        "Lead vocal of the second singer who also calls the long dances",
        "Unterwasserblaskapellenvorführungssaalmikrofonstativverlängerung",
    )
    name = kinds[(number - 1) % len(kinds)]
    return f"{name[: 60 - len(str(number)) - 1]} {number}"


def example(inputs: int = 20, naming: Naming = english, title: str = "Midwinter Dance") -> Documents:
    """Make a plan of that many inputs with the documents it would have come from."""
    where = venue()
    show = _show(title, inputs, naming)
    rows = tuple(_input(n, naming) for n in range(1, inputs + 1))
    boxes = _boxes(inputs)
    plan = Plan(
        title=title, date=show.date, venue=where.name, digest="3f9a12c4" * 8, rate_hz=48_000, bits=24,
        channels=max(20, inputs), wanted=inputs + (3 if inputs else 0), input=rows,
        left_out=_left_out(naming) if inputs else (), box=boxes, trunk_run=_trunk_run() if inputs else None, spill=(),
        hit=_hits(rows), power=_power() if inputs else Power(), media=_media(), pack=_pack(rows), bin=_bins(rows),
        question=_questions() if inputs else (), hearing=(figure(38, "min", "8 h halved for each 3 dB over 85 dB(A)"),)
        if inputs else (), goal=(),
    )  # fmt: skip
    return Documents(plan, show, where, kit())


def figure(value: float | None, unit: str, formula: str = "stated", plus_minus: float | None = None) -> Working:
    """Make a figure with its working."""
    sure = "estimate" if plus_minus else "sure"
    return Working.model_validate(
        {"value": value, "unit": unit, "formula": formula, "source": PRACTICE, "sure": sure, "plus_minus": plus_minus}
        | {"given": (Given(name="x", value=1.0),)}
    )


def _at(n: int) -> Place3:
    if n <= len(DRUMS):
        x, y = DRUMS[n - 1]
        return (x, y, 2.1 if n in (5, 6) else 0.8)
    if n == 20:
        return (-3.0, 0.2, 2.5)
    k = n - len(DRUMS) - 1
    return (-2.9 + (k % 8) * 0.83, 0.75 + 0.62 * ((k // 8) % 6) + 0.11 * (k % 3), 1.3)


def _aim(n: int) -> Place3:
    turn, tilt = radians(90 + 37 * (n % 5) - 60), radians(88 if n in (5, 6) else 20 if n % 2 else 40)
    return (cos(turn) * cos(tilt), sin(turn) * cos(tilt), -sin(tilt))


def _box_of(n: int) -> tuple[str, int]:
    if n <= 6:
        return "B-01", n
    if n <= 12:
        return "B-02", n - 6
    return "TR-1", n


def _boxes(inputs: int) -> tuple[PlacedBox, ...]:
    if not inputs:
        return ()
    return (
        PlacedBox(tag="B-01", item="drop box, 6 lines", at=(-1.3, 2.1), tail_m=8, sockets=6),
        PlacedBox(tag="B-02", item="drop box, 6 lines", at=(1.5, 0.15), tail_m=8, sockets=6),
        PlacedBox(tag="TR-1", item="trunk, 24 lines, 25 m", at=(-3.35, 0.6), sockets=max(24, inputs), trunk=True),
    )


def _run(n: int, laid_m: float) -> Run:
    x, y, _ = _at(n)
    tag, _ = _box_of(n)
    goal = next(box.at for box in _boxes(20) if box.tag == tag)
    if tag == "B-01":
        points: tuple[Place, ...] = ((x, y), (x, 2.15), goal)
    elif tag == "B-02":
        points = ((x, y), (x, 0.1), (goal[0], 0.1), goal)
    else:
        points = ((x, y), (x, 0.05), (-3.35, 0.05), goal)
    floor_m = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points))
    return Run(points=points, floor_m=floor_m, needed=figure(round(floor_m + 2, 1), "m"), laid_m=laid_m)


def _cables(n: int) -> tuple[CableUse, ...]:
    lengths = [5, 10] if n == 17 else [{0: 3, 1: 5, 2: 10, 3: 5}[n % 4]]
    return tuple(
        CableUse(tag=f"C-{2 * n + i:02d}", item=f"microphone cable {m} m", length_m=m, colour=COLOURS[m])
        for i, m in enumerate(lengths)
    )


def _input(n: int, naming: Naming) -> PlannedInput:
    is_di, split = n in (8, 13), n == 18
    owner: Owner = "house" if split else "ours"
    pattern = None if is_di else PATTERNS[n % len(PATTERNS)]
    item = "passive DI" if is_di else f"small dynamic, {pattern}"
    unit = UnitUse(tag=f"D-{n:02d}" if is_di else f"M-{n:02d}", item=item, owner=owner)
    cables = _cables(n)
    box, socket = _box_of(n)
    need: Phantom = "harmful" if pattern == "figure of eight" else "needed" if n in (5, 6, 12, 20) else "ignored"
    phantom = need == "needed"
    stand = (
        None if is_di or n == 12 else UnitUse(tag=f"T-{n:02d}", item="tall boom stand" if n % 3 else "short boom stand")
    )
    return PlannedInput(
        id=f"input-{n}", number=n, label=naming(n), source=f"Source {n}", recipe="fiddle", part="body",
        importance="must" if n < 12 else "want", status="possible" if n == 11 else "confirmed",
        taking="di" if is_di else "split" if split else "mic", unit=unit, pattern=pattern, phantom_need=need,
        at=_at(n), aim=_aim(n), stand=stand, splitter=UnitUse(tag="S-01", item="splitter, isolated") if split else None,
        lead=(CableUse(tag=f"I-{n:02d}", item="instrument lead 3 m", length_m=3, colour="white"),) if is_di else (),
        cable=cables, run=_run(n, sum(cable.length_m for cable in cables)), box=box, socket=socket, trunk_line=n,
        preamp="REC-1" if n != 20 else "P-1", preamp_channel=n if n != 20 else 1, channel=n, phantom=phantom,
        phantom_owner="ours" if phantom else "", pad_db=20 if n == 1 else 0,
        pair={5: "input-6", 6: "input-5"}.get(n, ""), flip=n == 2, spl=figure(118 - n % 20, "dB SPL"),
        level=figure(-20 - n % 7, "dBu", "voltage at that level", 6), gain=figure(None if split else 18 + n % 13, "dB",
        "target − (level + reserve) − full scale", 6), reserve=figure(None if split else 8 + n % 7, "dB",
        "full scale − expected peak", 6), spill=figure(9, "dB"), reason="the best pattern against the drums",
        next_best="M-08, 6 dB more spill" if n in (12, 15) else "", thread=_thread(n, naming, unit, cables, phantom),
    )  # fmt: skip


def _thread(n: int, naming: Naming, unit: UnitUse, cables: tuple[CableUse, ...], phantom: bool) -> tuple[Hop, ...]:
    box, socket = _box_of(n)
    is_di = unit.tag.startswith("D")
    return (
        Hop(kind="source", name=f"Source {n}"),
        *((Hop(kind="lead", name="white, 3 m", tag=f"I-{n:02d}"),) if is_di else ()),
        Hop(kind="di" if is_di else "mic", name=unit.item, detail="18 mV at 94 dB", tag=unit.tag),
        *((Hop(kind="splitter", name="splitter, isolated", tag="S-01"),) if n == 18 else ()),
        *(
            Hop(kind="cable", name=f"{cable.colour}, {cable.length_m:.0f} m", detail="slack 1.5 m", tag=cable.tag)
            for cable in cables
        ),
        *((Hop(kind="box", name="drop box, 6 lines", detail=f"socket {socket}", tag=box),) if box != "TR-1" else ()),
        Hop(kind="trunk", name="trunk, 24 lines, 25 m", detail=f"line {n}", tag="TR-1"),
        Hop(
            kind="preamp",
            name="recorder",
            detail=f"channel {n}, gain 22 dB, phantom {'on' if phantom else 'off'}",
            tag="REC-1",
        ),
        Hop(kind="track", name=naming(n), detail=f"track {n}"),
    )


def _left_out(naming: Naming) -> tuple[LeftOut, ...]:
    return (
        LeftOut(
            id="bell", label=naming(21) if naming is not english else "Hand bells", source="Hand bells",
            importance="want", status="expected", blocks="No preamp is left.", cure="One more pair of preamps.",
        ),
        LeftOut(
            id="amp-2", label="Bass amp, second mic", source="Upright bass", importance="nice", status="confirmed",
            blocks="No short boom is left: T-06 to T-10 stand at the drums.", cure="Hire one short boom.",
        ),
        LeftOut(
            id="harmonium", label="Harmonium", source="Harmonium", importance="nice", status="possible",
            blocks="No preamp is left.", cure="Leave out the hand percussion.",
        ),
    )  # fmt: skip


def _hits(rows: tuple[PlannedInput, ...]) -> tuple[Hit, ...]:
    if len(rows) < 18:
        return ()
    return (
        Hit(
            check="PH1", severity="stop", input="input-12", hop="M-12",
            says="No phantom reaches M-12: preamps 9 to 12 are switched as one bank and it stands off.",
            remedy="Move the clip microphone to a bank that is on, or switch the bank on.", source=PRACTICE,
        ),
        Hit(
            check="LN2", severity="warn", input="input-17", hop="C-34",
            says="The run is joined from two leads.", remedy="Keep the join out of the walkway and tape it.",
            source=PRACTICE,
        ),
        Hit(
            check="SP1", severity="warn", input="input-18", hop="S-01",
            says="Nobody has said whether the split is isolated.", remedy="Ask the house engineer.", source=PRACTICE,
        ),
        Hit(
            check="GN1", severity="note", input="", hop="TR-1", says="Four lines of the trunk are free.",
            remedy="Label one as the spare.", source=PRACTICE,
        ),
    )  # fmt: skip


def _power() -> Power:
    return Power(
        circuit=(
            CircuitLoad(
                circuit="Kitchen and stage", load=figure(None, "W"), share=figure(None, "%"), feeds=(),
                notes=("what else hangs on it is not known",),
            ),
            CircuitLoad(
                circuit="Stage only", load=figure(790, "W", "sum", 60), share=figure(21, "%", "load over limit", 2),
                feeds=("REC-1", "P-1", "X-01"),
            ),
        ),
        drop=(figure(1.2, "V"),), battery=figure(26, "min", "energy over power", 5),
        cautions=(
            "Press the test button of the residual current device before anything is plugged in.",
            "Never lift a protective earth against hum: isolate the audio instead.",
        ),
    )  # fmt: skip


def _media() -> MediaPlan:
    return MediaPlan(
        rate=figure(2.88, "MB/s"), per_hour=figure(10.37, "GB"), whole=figure(36.3, "GB"),
        notes=("Each of two cards holds the whole night.",),
    )  # fmt: skip


def _pack(rows: tuple[PlannedInput, ...]) -> tuple[PackLine, ...]:
    if not rows:
        return ()
    mics = [row for row in rows if row.unit and row.unit.owner == "ours" and row.unit.tag.startswith("M")]
    dis = [row for row in rows if row.unit and row.unit.tag.startswith("D")]
    by_length: dict[float, list[CableUse]] = {}
    for row in rows:
        for cable in row.cable:
            by_length.setdefault(cable.length_m, []).append(cable)
    lines = [
        PackLine(
            bin="Mic case", item=row.unit.item, tags=(row.unit.tag,), owner="ours", why=row.label,
            comes_with=("stand clip", "windshield"), weight_kg=0.3,
        )
        for row in mics if row.unit
    ]  # fmt: skip
    lines.append(
        PackLine(bin="Mic case", item="small dynamic, cardioid", tags=("M-97", "M-98"), owner="ours", why="spare",
                 weight_kg=0.3, spare=True)
    )  # fmt: skip
    lines += [
        PackLine(bin="DI box", item="passive DI", tags=tuple(row.unit.tag for row in dis if row.unit), owner="hired",
                 why="bass and fiddle", weight_kg=0.55)
    ] if dis else []  # fmt: skip
    stands = [row.stand.tag for row in rows if row.stand]
    lines.append(
        PackLine(bin="Stand bag", item="boom stand", tags=tuple(stands), owner="ours", why="microphones", weight_kg=2.9)
    )
    lines += [
        PackLine(bin="Cable trunk", item=f"microphone cable {length:.0f} m, {COLOURS[int(length)]}", owner="ours",
                 tags=tuple(cable.tag for cable in cables), why="inputs", weight_kg=0.3)
        for length, cables in sorted(by_length.items())
    ]  # fmt: skip
    lines.append(
        PackLine(bin="Line drum", item="trunk, 24 lines, 25 m", tags=("TR-1",), owner="ours", why="all lines",
                 weight_kg=14.5)
    )  # fmt: skip
    return tuple(lines)


def _bins(rows: tuple[PlannedInput, ...]) -> tuple[BinWeight, ...]:
    if not rows:
        return ()
    return (
        BinWeight(bin="Mic case", weight=figure(9.4, "kg"), load_order=4),
        BinWeight(bin="DI box", weight=figure(4.1, "kg"), load_order=5),
        BinWeight(
            bin="Stand bag", weight=figure(41.5, "kg", "at least", 4), load_order=3,
            caution="over 25 kg: two people, or a trolley; local rules come first",
        ),
        BinWeight(bin="Cable trunk", weight=figure(14.2, "kg"), load_order=6),
        BinWeight(bin="Line drum", weight=figure(24.3, "kg"), load_order=7),
    )  # fmt: skip


def _questions() -> tuple[OpenQuestion, ...]:
    return (
        OpenQuestion(
            ask="venue", text="Is there a sound limiter, and which sockets does it cut?",
            depends="Where the recorder is plugged in: on a circuit that is cut it would run on its battery alone.",
        ),
        OpenQuestion(ask="house", text="Are the splits of the house box isolated by transformers?", depends="Hum."),
        OpenQuestion(ask="band", text="Does the harmonium player get the night off?"),
    )  # fmt: skip


def _show(title: str, inputs: int, naming: Naming) -> Show:
    sources = tuple(
        Source(name=f"Source {n}", recipe="fiddle", at=(_at(n)[0], _at(n)[1] + 0.3)) for n in range(8, inputs + 1)
    )
    return Show(
        title=title, date=dt.date(2026, 12, 4), venue="venue.toml", kit=("kit.toml",), recordist="the recordist",
        act=(Act(name="The Tidemill Stompers", source=sources),) if inputs else (),
        wedge=(
            Wedge(name="Wedge 1", at=(-0.4, 0.25), facing_deg=80),
            Wedge(name="Wedge 2", at=(-2.2, 0.4), facing_deg=95),
            Wedge(name="Wedge 3", at=(1.6, 0.45), facing_deg=90),
            Wedge(name="Wedge 4", at=(2.6, 2.6), facing_deg=150),
        ) if inputs else (),
        camera=(Camera(name="Camera 1", at=(0, -7, 1)),) if inputs else (),
    )  # fmt: skip


def _trunk_run() -> Run:
    points = ((-3.35, 0.6), (-5.4, 0.6), (-5.4, 2.0), (-9.5, 2.0))
    return Run(points=points, floor_m=7.6, needed=figure(10.1, "m"), laid_m=25)
