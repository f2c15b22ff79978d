"""A venue and a kit made by hand for the sheets. All invented."""

from __future__ import annotations

from fieldfare.show.kit import Bin, Cable, Kit, Mic, Stand
from fieldfare.show.record import Fact
from fieldfare.show.venue import (
    Circuit,
    HouseBox,
    KeepClear,
    Position,
    Riser,
    Room,
    Socket,
    Stage,
    Venue,
    Way,
)

BINS = ("Stand bag", "Mic case", "DI box", "Cable trunk", "Line drum")


def venue() -> Venue:
    """Make a room with a small stage, a riser, a fire route and steps."""
    return Venue(
        name="Slipway Shed", zone="Europe/London", room=Room(length_m=22, width_m=11, height_m=6),
        stage=Stage(width_m=7.0, depth_m=4.2, height_m=0.6), recordist=Position(at=(-9.5, 2.0, -0.6)),
        riser=(Riser(name="Drum riser", at=(0.0, 3.2), size_m=(2.4, 2.0), height_m=0.3),),
        keep_clear=(
            KeepClear(name="Fire route", kind="fire route", at=(-2.6, 4.2), size_m=(1.2, 2.4)),
            KeepClear(name="Steps stage left", kind="steps", at=(3.55, 2.9), size_m=(1.7, 1.0)),
        ),
        way=(Way(name="Along the wall", points=((-3.5, 0.6), (-5.4, 0.6), (-5.4, 2.0), (-9.5, 2.0))),),
        circuit=(
            Circuit(name="Kitchen and stage", rating_a=16, shared_with="the kitchen"),
            Circuit(name="Stage only", rating_a=16, other_load_w=Fact[float](value=600, status="expected")),
        ),
        socket=(
            Socket(name="Upstage left", at=(3.3, 4.1), circuit="Kitchen and stage"),
            Socket(name="Downstage right", at=(-3.4, 0.1), circuit="Stage only"),
        ),
        house_box=(HouseBox(name="House box", at=(3.2, 0.3), lines=16, split_outputs=8),),
    )  # fmt: skip


def kit() -> Kit:
    """Make a kit of a few units, one of them faulty."""
    return Kit(
        owner_name="Fieldfare demo",
        bin=tuple(Bin(name=name, load_order=order) for order, name in enumerate(BINS)),
        mic=(
            Mic(
                item="small dynamic, supercardioid", tags=("M-01", "M-02", "M-03", "M-04"), bin="Mic case",
                kind="small dynamic", pattern="supercardioid", phantom="ignored", sensitivity_mv_pa=2,
                impedance_ohm=200,
                faulty={"M-04": "lead crackles"},
            ),
        ),
        stand=(Stand(item="tall boom stand", tags=("T-01", "T-02"), kind="tall boom", lowest_m=1, highest_m=2),),
        cable=(
            Cable(
                item="microphone cable 5 m", tags=tuple(f"C-{n:02d}" for n in range(1, 41)), bin="Cable trunk",
                signal="mic", from_end="xlr-f", to_end="xlr-m", length_m=5, colour="green",
            ),
        ),
    )  # fmt: skip
