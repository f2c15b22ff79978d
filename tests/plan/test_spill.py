from __future__ import annotations

from dataclasses import replace
from math import cos, dist, log1p, log10, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan.inputs import FIDDLE, OPEN_AIR, SHED, sounding

from fieldfare.physics.acoustics import SABINE_S_M
from fieldfare.physics.microphones import OMNI_SHARE
from fieldfare.plan.ground import Floats
from fieldfare.plan.spill import (
    NULL_FLOOR_DB,
    Air,
    Heard,
    air,
    balance,
    by_player,
    field,
    hear,
    pattern_db,
    spill_matrix,
    spill_working,
)
from fieldfare.plan.wanted import Sounding
from fieldfare.show.kit import Pattern
from fieldfare.show.record import Place3
from fieldfare.show.venue import Room, Venue

AT: Place3 = (0.0, 0.0, 1.0)
ALONG_Y: Place3 = (0.0, 1.0, 0.0)
PATTERNS: tuple[Pattern, ...] = ("omni", "subcardioid", "cardioid", "supercardioid", "hypercardioid", "figure of eight")


def _heard(one: Sounding, pattern: Pattern = "omni", air: Air = OPEN_AIR) -> Heard:
    return hear(one, AT, ALONG_Y, pattern, air, frozenset({one.source}))


# [InverseSquare] AV-mathematics table: twice, three times, four times the distance. Printed to one decimal.
@pytest.mark.parametrize(("distance_m", "printed_db"), [(2.0, -6.0), (3.0, -9.5), (4.0, -12.0)])
def test_direct_sound_falls_with_distance_as_printed(distance_m: float, printed_db: float) -> None:
    heard = _heard(sounding("a", (0.0, distance_m, 1.0), level_db=100.0))
    assert heard.direct_db - 100.0 == pytest.approx(printed_db, abs=0.05)


# [HyperPhysics] microphone patterns: at 90° and at 180°.
@pytest.mark.parametrize(
    ("pattern", "angle_deg", "printed_db", "within_db"),
    [
        ("cardioid", 90, -6.0, 0.3),
        ("supercardioid", 90, -8.5, 0.3),
        ("hypercardioid", 90, -12.0, 0.3),
        ("supercardioid", 180, -12.0, 0.6),
        ("hypercardioid", 180, -6.0, 0.6),
        ("figure of eight", 180, 0.0, 0.05),
    ],
)
def test_a_sound_off_the_axis_is_down_as_printed(
    pattern: Pattern, angle_deg: float, printed_db: float, within_db: float
) -> None:
    angle = radians(angle_deg)
    heard = _heard(sounding("a", (sin(angle), cos(angle), 1.0)), pattern)
    assert heard.direct_db - 100.0 == pytest.approx(printed_db, abs=within_db)
    assert heard.off_axis_deg == pytest.approx(angle_deg)


def test_a_null_is_filled_in() -> None:
    assert _heard(sounding("a", (0.0, -1.0, 1.0)), "cardioid").direct_db == pytest.approx(100.0 + NULL_FLOOR_DB)


# [MasterHandbook] page 198: three times the distance of its own source is 9 dB down at least; exactly 9.54 dB.
def test_the_three_to_one_rule() -> None:
    wanted = replace(FIDDLE, at=AT, aim=ALONG_Y, sound_at=(0.0, 0.5, 1.0), spl_db=(106.02, 106.02))
    weighed = balance(wanted, "omni", [sounding("Fiddle", (0.0, 0.5, 1.0)), sounding("b", (1.5, 0.0, 1.0))], OPEN_AIR)
    assert weighed.ratio_db == pytest.approx(9.54, abs=0.005)


# [ISO9613-1] 343.2 m/s at 20 °C: 25 m take 72.84 ms.
def test_a_far_sound_comes_late() -> None:
    assert _heard(sounding("a", (0.0, 25.0, 1.0))).delay_ms == pytest.approx(72.84, abs=0.005)


def _images(
    room_m: Place3, absorption: float, source: Place3, mic: Place3, reach_m: float
) -> tuple[Floats, Floats, Floats]:
    """Every mirror image of a source in a box-shaped room: how many walls it passed, how far, in which direction."""
    numbers = [np.arange(-int(reach_m / (2 * side)) - 1, int(reach_m / (2 * side)) + 2) for side in room_m]
    axes, bounces = [], []
    for side, start, count in zip(room_m, source, numbers, strict=True):
        axes.append(np.concatenate([2 * count * side + start, 2 * count * side - start]))
        bounces.append(np.concatenate([np.abs(2 * count), np.abs(2 * count - 1)]))
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3) - np.array(mic)
    walls = np.sum(np.stack(np.meshgrid(*bounces, indexing="ij"), axis=-1).reshape(-1, 3), axis=1)
    away = np.linalg.norm(grid, axis=1)
    near = (away < reach_m) & (walls > 0)
    return (1 - absorption) ** walls[near], away[near], grid[near] / away[near, None]


@pytest.mark.parametrize("pattern", ["omni", "cardioid", "supercardioid"])
@pytest.mark.parametrize("absorption", [0.12, 0.25])
def test_the_room_is_as_loud_as_mirror_images_make_it(pattern: Pattern, absorption: float) -> None:
    """A second road: the energies of thousands of mirror images, the mic's pattern in the direction of each."""
    room_m, source = (11.0, 8.0, 4.5), (2.2, 5.1, 1.3)
    volume, surface = 11 * 8 * 4.5, 2 * (11 * 8 + 11 * 4.5 + 8 * 4.5)
    by_eyring_s = -SABINE_S_M * volume / (surface * log1p(-absorption))  # [RoomAcoustics]
    dull = Air(20.0, volume, by_eyring_s)
    share = OMNI_SHARE[pattern]
    for mic in [(8.0, 2.0, 1.5), (6.1, 6.4, 2.0), (4.4, 1.2, 1.1), (2.7, 5.2, 1.4)]:
        strength, away, direction = _images(room_m, absorption, source, mic, reach_m=110.0)
        response = share + (1 - share) * direction @ np.array([0.6, 0.0, 0.8])
        by_images_db = 100.0 + 10 * log10(float(np.sum(strength * response**2 / away**2)))
        heard = hear(sounding("a", source), mic, ALONG_Y, pattern, dull, frozenset())
        assert heard.diffuse_db == pytest.approx(by_images_db, abs=1.0)


def test_a_source_that_beams_wakes_less_of_the_room() -> None:
    round_about = _heard(sounding("a", (0.0, 2.0, 1.0)), air=SHED).diffuse_db
    beamed = _heard(replace(sounding("a", (0.0, 2.0, 1.0)), directivity=4.0), air=SHED).diffuse_db
    assert round_about is not None
    assert beamed == pytest.approx(round_about - 6.02, abs=0.005)


def test_an_unknown_room_is_not_counted_and_said() -> None:
    stage = [sounding("Fiddle", FIDDLE.sound_at), sounding("Drums", (0.0, 3.0, 0.8))]
    dry, shed = (balance(FIDDLE, "cardioid", stage, where) for where in (OPEN_AIR, SHED))
    assert dry.others[0].diffuse_db is None
    assert dry.ratio_db is not None
    assert shed.ratio_db is not None
    assert dry.ratio_db > shed.ratio_db
    working = spill_working(dry)
    assert working.sure == "guess"
    assert "the reverberation time is not known" in working.formula


def test_the_air_of_a_venue_leaves_unknown_what_is_unknown() -> None:
    bare = Venue.model_validate(
        {
            "name": "v",
            "room": {"length_m": 10, "width_m": 5, "height_m": 3},
            "stage": {"width_m": 4, "depth_m": 3},
            "recordist": {"at": (0, 0, 0)},
        }
    )
    assert air(bare) == Air(temperature_c=20.0, volume_m3=150.0, reverberation_s=None)


def test_two_sources_of_one_player_count_once() -> None:
    stage = [
        sounding("Fiddle", FIDDLE.sound_at),
        sounding("Clarinet", (2.0, 1.0, 1.2), 95, never_with="Alto"),
        sounding("Alto", (2.0, 1.0, 1.2), 100, never_with="Clarinet"),
    ]
    both = balance(FIDDLE, "omni", stage, OPEN_AIR)
    loud = balance(FIDDLE, "omni", [stage[0], replace(stage[2], never_with="")], OPEN_AIR)
    assert both.spill_db == pytest.approx(loud.spill_db)
    assert len(both.others) == 2


def test_the_player_s_other_instrument_is_no_spill() -> None:
    stage = [sounding("Fiddle", FIDDLE.sound_at, never_with="Bouzouki"), sounding("Bouzouki", (0.3, 1.0, 1.0))]
    weighed = balance(FIDDLE, "omni", stage, OPEN_AIR)
    assert weighed.others == ()
    assert spill_working(weighed).value is None


def test_who_talks_while_the_band_is_silent_is_no_spill_and_hears_none() -> None:
    band, talk = sounding("Drums", (0.0, 3.0, 1.0)), replace(sounding("Compère", (1.0, 0.0, 1.5)), alone=True)
    stage = [sounding("Fiddle", AT), band, talk]
    assert {one.source for one in balance(FIDDLE, "omni", stage, OPEN_AIR).others} == {"Drums"}
    alone = replace(FIDDLE, source=FIDDLE.source.model_copy(update={"name": "Compère", "alone": True}))
    assert balance(alone, "omni", stage, OPEN_AIR).ratio_db is None
    second = replace(sounding("Reader", (2.0, 0.0, 1.5)), alone=True)
    assert {one.source for one in balance(alone, "omni", [*stage, second], OPEN_AIR).others} == {"Reader"}
    heard = {one.source for one in spill_matrix([(alone, "omni")], stage, OPEN_AIR)}
    assert heard == {"Fiddle", "Drums", "Compère"}, "its mic stays open: what it picks up of the band is told"


def test_a_chain_of_doublings_is_one_player() -> None:
    stage = [sounding("a", AT, never_with="b"), sounding("b", AT, never_with="a"), sounding("c", AT, never_with="b")]
    weighed = balance(replace(FIDDLE, source=FIDDLE.source.model_copy(update={"name": "a"})), "omni", stage, OPEN_AIR)
    assert weighed.others == ()


def test_parts_of_one_source_sound_together_and_spill_into_each_other() -> None:
    kick, snare = sounding("Drums", (0.0, 2.0, 1.0), part="kick"), sounding("Drums", (0.0, 3.0, 1.0), part="snare")
    wanted = replace(FIDDLE, source=FIDDLE.source.model_copy(update={"name": "Drums"}), hears=("kick",))
    weighed = balance(wanted, "omni", [kick, snare], OPEN_AIR)
    assert [(one.source, one.part) for one in weighed.others] == [("Drums", "snare")]
    pair = balance(FIDDLE, "omni", [sounding("Fiddle", AT), kick, replace(kick, part="kick 2")], OPEN_AIR)
    assert list(by_player(pair.others).values()) == [pytest.approx(pair.others[0].level_db + 3.01, abs=0.005)]


def test_a_room_mic_has_no_spill() -> None:
    room = replace(FIDDLE, source=FIDDLE.source.model_copy(update={"name": "Room"}))
    assert spill_working(balance(room, "cardioid", [sounding("Drums", (0.0, 3.0, 1.0))], SHED)).value is None


def test_the_matrix_holds_every_source_in_every_mic_with_its_delay() -> None:
    stage = [sounding("Fiddle", FIDDLE.sound_at), sounding("Drums", (0.0, 3.0, 0.8), part="kick")]
    stage.append(sounding("Drums", (0.4, 3.2, 0.8), 106, part="snare"))
    cells = spill_matrix([(FIDDLE, "cardioid"), (replace(FIDDLE, id="other", at=(2.0, 1.0, 1.4)), "omni")], stage, SHED)
    assert [(one.source, one.input) for one in cells] == [
        ("Fiddle", "fiddle"), ("Drums", "fiddle"), ("Fiddle", "other"), ("Drums", "other")
    ]  # fmt: skip
    assert cells[1].distance_m == pytest.approx(dist((0.0, 1.0, 1.4), (0.4, 3.2, 0.8)), abs=0.0005)
    assert cells[1].delay_ms == pytest.approx(cells[1].distance_m / 0.3432, abs=0.002)
    assert cells[1].level_db > cells[1].direct_db


def test_the_working_names_the_loudest_spill_first() -> None:
    stage = [sounding("Fiddle", FIDDLE.sound_at), sounding("Bass", (-3, 1, 1)), sounding("Drums", (0, 2, 1), 110)]
    working = spill_working(balance(FIDDLE, "cardioid", stage, SHED))
    assert [one.name for one in working.given] == ["own", "spill of Drums", "spill of Bass", "all spill"]
    assert working.value == pytest.approx(float(working.given[0].value) - float(working.given[3].value), abs=0.11)


@given(st.sampled_from(PATTERNS), st.floats(0, 3.14), st.floats(0.3, 20))
def test_a_tighter_pattern_hears_less_of_the_room_and_nothing_more_than_an_omni(
    pattern: Pattern, angle: float, distance_m: float
) -> None:
    one = sounding("a", (distance_m * sin(angle), distance_m * cos(angle), 1.0))
    heard, omni = _heard(one, pattern, SHED), _heard(one, "omni", SHED)
    assert heard.diffuse_db is not None
    assert omni.diffuse_db is not None
    assert heard.diffuse_db <= omni.diffuse_db + 1e-9
    assert heard.direct_db <= omni.direct_db + 1e-9
    assert pattern_db(pattern, angle) >= NULL_FLOOR_DB


_PLACES = st.tuples(*[st.integers(-40, 40).map(lambda n: n / 10)] * 3)
_STAGES = st.lists(
    st.builds(
        sounding, st.sampled_from("abcd"), _PLACES, st.integers(70, 130), st.just(""), st.sampled_from(["", "a", "b"])
    ),
    max_size=6,
)


@given(_STAGES, st.sampled_from(PATTERNS), st.sampled_from([SHED, OPEN_AIR]))
def test_many_patterns_at_once_are_weighed_as_one_by_one(stage: list[Sounding], pattern: Pattern, air: Air) -> None:
    stage = [sounding("Fiddle", FIDDLE.sound_at), *stage]
    one = balance(FIDDLE, pattern, stage, air).ratio_db
    assert field(FIDDLE, stage, air).ratio_db(pattern) == (None if one is None else pytest.approx(one, abs=1e-9))


def test_octaves_tell_what_the_room_makes_of_each_band_and_nothing_where_nobody_measured() -> None:
    measured = Air(20.0, SHED.volume_m3, 1.4, octaves=((125, 2.8), (1000, 1.4), (4000, 0.7)))
    everything = (sounding("Fiddle", FIDDLE.sound_at), sounding("Drums", (3.0, 3.0, 1.0)))
    (own, drums) = spill_matrix([(FIDDLE, "cardioid")], everything, measured)
    low, mid, high = drums.octave
    assert (low.hz, mid.hz, high.hz) == (125, 1000, 4000)
    assert low.direct_db == mid.direct_db == high.direct_db
    assert low.diffuse_db - mid.diffuse_db == pytest.approx(10 * log10(2), abs=0.3)  # A = 0.161·V/T
    assert mid.direct_db == pytest.approx(drums.direct_db - 100.0, abs=0.11)
    assert spill_matrix([(FIDDLE, "cardioid")], everything, SHED)[0].octave == ()
    assert own.octave


def test_the_middle_of_measured_octaves_stands_in_for_a_time_that_nobody_stated() -> None:
    """[ISO3382-1] the middle frequencies are the mean of 500 and 1000 Hz: a report prints 1.15 s of 1.20 and 1.10 s."""
    room = Room.model_validate(
        {"length_m": 22, "width_m": 11, "height_m": 6, "octave": [
            {"hz": 500, "reverberation_s": 1.2}, {"hz": 1000, "reverberation_s": 1.1},
            {"hz": 4000, "reverberation_s": 0.6},
        ]}
    )  # fmt: skip
    assert room.mid_reverberation_s == pytest.approx(1.15)
    stated = {"value": 1.4, "status": "expected"}
    assert Room.model_validate({**room.model_dump(), "reverberation_s": stated}).mid_reverberation_s == 1.4
