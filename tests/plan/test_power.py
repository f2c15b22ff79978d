"""Mains and battery: figures by arithmetic from the tables that the physics tests check."""

from __future__ import annotations

import datetime as dt

import pytest

from fieldfare.plan.power import cut_by_limiter, power_plan, rig_socket
from fieldfare.show.kit import Kit, Recorder, Supply
from fieldfare.show.record import Fact
from fieldfare.show.venue import Circuit, Generator, Position, Room, Socket, Stage, Venue

SURE = {"status": "confirmed", "by": "the venue", "on": dt.date(2026, 11, 20)}
RECORDER = Recorder(item="recorder", tags=("R-01",), preamps=16, max_input_dbu=10, power_w=100)
REEL = Supply(item="reel", tags=("P-01",), kind="reel", length_m=25, conductor_mm2=1.5)
SHORT = Supply(item="lead", tags=("P-02",), kind="mains lead", length_m=2, conductor_mm2=1.5)
BATTERY = Supply(item="battery supply", tags=("P-03",), kind="battery supply", energy_wh=100)


def _venue(limiter: Fact[str], circuits: tuple[Circuit, ...], sockets: tuple[Socket, ...]) -> Venue:
    return Venue(
        name="Hall",
        room=Room(length_m=10, width_m=8, height_m=4),
        stage=Stage(width_m=5, depth_m=3),
        recordist=Position(at=(-8, 0, 0)),
        limiter=limiter,
        circuit=circuits,
        socket=sockets,
    )


STAGE = Circuit(name="Stage", rating_a=16, other_load_w=Fact[float](value=600, **SURE))
KITCHEN = Circuit(name="Kitchen", rating_a=16, shared_with="the kitchen")
SOCKETS = (Socket(name="near", at=(-3, 0), circuit="Kitchen"), Socket(name="far", at=(3, 0), circuit="Stage"))


def test_a_socket_that_is_not_shared_goes_before_a_near_one() -> None:
    socket = rig_socket(_venue(Fact[str](value="none", **SURE), (STAGE, KITCHEN), SOCKETS))
    assert socket is not None
    assert socket.name == "far"


def test_a_circuit_that_the_limiter_cuts_comes_last() -> None:
    venue = _venue(Fact[str](value="Stage", **SURE), (STAGE, KITCHEN), SOCKETS)
    socket = rig_socket(venue)
    assert socket is not None
    assert socket.name == "near"
    assert cut_by_limiter(venue, STAGE) is True
    assert cut_by_limiter(venue, KITCHEN) is False


def test_an_unknown_limiter_stays_unknown_and_is_said() -> None:
    venue = _venue(Fact[str](), (STAGE,), SOCKETS[1:])
    assert cut_by_limiter(venue, STAGE) is None
    for supplies, safe in (((), "no battery supply in the kit"), ((BATTERY,), "stays on its battery supply")):
        told = power_plan(venue, Kit(recorder=(RECORDER,), supply=supplies), ("R-01",)).cautions
        assert [safe in text for text in told if "limiter" in text] == [True]


def test_a_caution_reads_in_a_letter_to_the_venue_as_well_as_on_our_own_sheet() -> None:
    """It is printed in both, so it asks nobody to bring or to press anything."""
    told = power_plan(_venue(Fact[str](), (STAGE,), SOCKETS[1:]), Kit(recorder=(RECORDER,)), ("R-01",)).cautions
    (guard,) = [text for text in told if "Nobody has said whether a residual" in text]
    assert guard.endswith("guards Stage: one goes in between, its test button pressed first.")


def test_load_share_and_battery_by_hand() -> None:
    venue = _venue(Fact[str](value="none", **SURE), (STAGE,), SOCKETS[1:])
    power = power_plan(venue, Kit(recorder=(RECORDER,), supply=(REEL, SHORT, BATTERY)), ("R-01",))
    (circuit,) = power.circuit
    assert circuit.load.value == 700
    assert circuit.share.value == pytest.approx(100 * 700 / 230 / (16 * 0.8), abs=0.05)
    assert power.battery is not None
    assert power.battery.value == pytest.approx(60 * 100 * 0.9 / 100, abs=0.05)
    (drop,) = power.drop  # class 5 copper, 1.5 mm²: 13.3 Ω/km, IEC 60228; the reel is the only lead long enough
    assert drop.value == pytest.approx(100 * 2 * (100 / 230) * 25 * 13.3 / 1000 / 230, abs=0.005)


def test_an_unknown_load_gives_no_figure() -> None:
    power = power_plan(_venue(Fact[str](), (KITCHEN,), SOCKETS[:1]), Kit(recorder=(RECORDER,)), ("R-01",))
    assert power.circuit[0].load.value is None
    assert power.circuit[0].share.value is None


def test_no_socket_known_is_said_and_no_lead_is_invented() -> None:
    power = power_plan(_venue(Fact[str](), (), ()), Kit(recorder=(RECORDER,), supply=(REEL,)), ("R-01",))
    assert power.drop == ()
    assert power.cautions[0] == "No socket of the venue is known: ask where the rig may be plugged in."


def test_nobody_is_ever_told_to_lift_an_earth() -> None:
    cautions = power_plan(_venue(Fact[str](), (STAGE,), SOCKETS[1:]), Kit(), ()).cautions
    assert any(text.startswith("Never remove or lift a protective earth") for text in cautions)
    assert any("licensed electrician" in text for text in cautions)


def test_a_generator_gives_less_than_the_breaker_lets_through() -> None:
    """[GeneratorTables] 2 kVA at 0.8 are 1600 W; at 2000 m 0.94 of that. 16 A at 230 V would carry 2944 W."""
    fed = STAGE.model_copy(update={"generator": Generator(apparent_va=2000, altitude_m=2000)})
    power = power_plan(_venue(Fact[str](), (fed,), SOCKETS[1:]), Kit(recorder=(RECORDER,)), ("R-01",))
    (circuit,) = power.circuit
    assert circuit.share.value == pytest.approx(100 * 700 / (2000 * 0.8 * 0.94), abs=0.05)
    assert circuit.share.source == "GeneratorTables"
    assert circuit.notes[-1].startswith("fed by a generator")
    assert power.cautions[-1].startswith("Never run a combustion generator indoors")


def test_behind_a_large_generator_the_breaker_is_the_limit() -> None:
    fed = STAGE.model_copy(update={"generator": Generator(apparent_va=20_000)})
    mains, ours = (
        power_plan(_venue(Fact[str](), (one,), SOCKETS[1:]), Kit(recorder=(RECORDER,)), ("R-01",))
        for one in (STAGE, fed)
    )
    assert ours.circuit[0].share == mains.circuit[0].share
    assert not any("generator" in text for text in mains.cautions)


def test_a_lead_of_an_american_gauge_has_a_drop_too() -> None:
    """[AWG] 14 AWG, 2.08 mm²: 2.525 Ω/1000 ft solid, 8.28 Ω/km."""
    reel = REEL.model_copy(update={"conductor_mm2": 2.08})
    venue = _venue(Fact[str](), (STAGE,), SOCKETS[1:])
    (drop,) = power_plan(venue, Kit(recorder=(RECORDER,), supply=(reel,)), ("R-01",)).drop
    assert drop.value == pytest.approx(100 * 2 * (100 / 230) * 25 * 8.28 / 1000 / 230, abs=0.005)
    assert drop.source == "AWG"


def test_a_battery_that_delivers_less_than_the_rig_takes_carries_none_of_it() -> None:
    weak = BATTERY.model_copy(update={"rating_w": 90})
    venue = _venue(Fact[str](), (STAGE,), SOCKETS[1:])
    power = power_plan(venue, Kit(recorder=(RECORDER,), supply=(weak,)), ("R-01",))
    assert power.battery is None
    assert power.circuit[0].notes == ("the battery supply delivers 90 W: hang only the recorder on it",)
    strong = weak.model_copy(update={"rating_w": 100, "tags": ("P-04",)})
    power = power_plan(venue, Kit(recorder=(RECORDER,), supply=(weak, strong)), ("R-01",))
    assert power.battery is not None
    assert power.circuit[0].notes == ()


def test_a_lead_that_may_not_carry_the_rig_is_not_taken() -> None:
    thin = REEL.model_copy(update={"rating_a": 0.4, "length_m": 12, "tags": ("P-05",)})
    venue = _venue(Fact[str](), (STAGE,), SOCKETS[1:])  # 100 W at 230 V are 0.43 A
    (drop,) = power_plan(venue, Kit(recorder=(RECORDER,), supply=(thin, REEL)), ("R-01",)).drop
    assert drop.given[0].value == "reel P-01"
