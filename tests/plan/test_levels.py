from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan.inputs import FIDDLE

from fieldfare.plan.heads import HOUSE_INPUT_OHM
from fieldfare.plan.levels import Levels, levels
from fieldfare.plan.wanted import Accept, Chosen, Wanted
from fieldfare.show.kit import Di, Kit, Mic, Preamp, Recorder, Splitter
from fieldfare.show.show import HouseMic, Recording
from fieldfare.units.working import Working

DYNAMIC = Mic(
    item="small dynamic", tags=("M-1",), kind="small dynamic", pattern="cardioid", phantom="ignored",
    sensitivity_mv_pa=2, impedance_ohm=0.001,
)  # fmt: skip
CONDENSER = DYNAMIC.model_copy(
    update={"tags": ("M-2",), "sensitivity_mv_pa": 20.0, "self_noise_dba": 14.0, "max_spl_db": 145.0}
)
DI = Di(
    item="DI", tags=("D-1",), active=True, input_ohm=1e6, isolated=True, phantom="needed", loss_db=15, max_input_dbu=9
)
KIT = Kit(
    mic=(DYNAMIC, CONDENSER),
    di=(DI,),
    splitter=(
        Splitter(item="split", tags=("S-1",), isolation="transformer", loss_db=0.8),
        Splitter(item="active split", tags=("S-2",), isolation="active"),
    ),
    recorder=(Recorder(item="recorder", tags=("R-1",), preamps=8, line_inputs=2, max_input_dbu=10, gain_max_db=60),),
    preamp=(Preamp(item="preamp", tags=("P-1",), channels=2, max_input_dbu=10, max_output_dbu=20),),
)
RECORDING = Recording()


def _chosen(spl_db: float, unit: str = "M-1", wanted: Wanted = FIDDLE, **pieces: object) -> Chosen:
    row = Chosen(replace(wanted, spl_db=(spl_db - 4, spl_db + 4)), "mic", wanted.accept[0], unit=unit)
    return replace(row, **{"preamp": "R-1", "preamp_channel": 1, "channel": 1, **pieces})  # type: ignore[arg-type]


def _levels(chosen: Chosen, kit: Kit = KIT, recording: Recording = RECORDING) -> Levels:
    return levels(chosen, kit, recording)


def _given(working: Working, name: str) -> float | str:
    return next(one.value for one in working.given if one.name == name)


# [TransferFactor], by hand: 2 mV/Pa at 120 dB gives −25.76 dBu, at 130 dB −15.76; 20 mV/Pa at 130 dB +4.24 dBu.
@pytest.mark.parametrize(
    ("unit", "spl_db", "full_scale_dbu", "level_dbu", "gain_db"),
    [
        ("M-1", 120, 18, -25.76, 31),
        ("M-1", 120, 24, -25.76, 37),
        ("M-2", 130, 18, 4.24, 1),
        ("M-1", 130, 18, -15.76, 21),
    ],
)
def test_level_and_gain_are_as_reckoned_by_hand(
    unit: str, spl_db: float, full_scale_dbu: float, level_dbu: float, gain_db: float
) -> None:
    found = _levels(_chosen(spl_db, unit), recording=Recording(full_scale_dbu=full_scale_dbu, reserve_db=5))
    assert found.level.value == pytest.approx(level_dbu, abs=0.051)
    assert found.gain.value == gain_db
    assert found.spl.value == spl_db
    assert found.spl.plus_minus == 4


# By hand: 20 mV/Pa at 140 dB is +14.24 dBu, over an input that takes +10 dBu. With 6 dB of reserve: a pad of 20 dB.
def test_a_pad_is_asked_for_where_the_input_would_be_overrun() -> None:
    found = _levels(_chosen(140, "M-2"))
    assert found.level.value == pytest.approx(14.2, abs=0.05)
    assert found.pad_db == 20
    assert found.reserve.value is not None
    assert found.reserve.value >= 5  # the mic itself takes 145 dB
    assert found.clips_first == "mic"


def test_a_pad_is_not_asked_for_where_the_mic_is_what_clips() -> None:
    assert _levels(_chosen(120, "M-2")).pad_db == 0


def test_the_reserve_is_what_the_peak_target_leaves() -> None:
    found = _levels(_chosen(120, "M-1"))
    assert found.clips_first == "converter"
    assert 12 <= (found.reserve.value or 0) < 13


def test_a_mic_behind_a_split_sees_both_inputs() -> None:
    """[Bridging]: 200 Ω into two times 2000 Ω loses 1.584 dB; the splitter's own loss comes on top."""
    house = HouseMic(sensitivity_mv_pa=2, impedance_ohm=200)
    wanted = replace(FIDDLE, house_mic=house)
    split = _levels(_chosen(120, "", wanted, taking="split", splitter="S-1"))
    assert HOUSE_INPUT_OHM == 2000
    assert _given(split.level, "loading") == pytest.approx(1.58, abs=0.005)
    assert split.level.value == pytest.approx(-25.76 - 1.584 - 0.8, abs=0.05)
    active = _levels(_chosen(120, "", wanted, taking="split", splitter="S-2"))
    assert _given(active.level, "loading") == pytest.approx(0.83, abs=0.005)


def test_a_wireless_split_has_no_level_until_somebody_tells() -> None:
    wanted = replace(FIDDLE, house_mic=HouseMic(wireless=True))
    found = _levels(_chosen(120, "", wanted, taking="split", splitter="S-1"))
    assert (found.level.value, found.gain.value, found.reserve.value, found.clips_first) == (None, None, None, "")
    assert "wireless" in found.level.formula


def test_a_di_loses_what_it_says_and_what_it_loads() -> None:
    """[Bridging]: 10 kΩ into 1 MΩ loses 0.086 dB."""
    wanted = replace(FIDDLE, accept=(Accept(taking="di"),), signal_dbu=-10.0, source_ohm=10_000)
    found = _levels(_chosen(0, "D-1", wanted, taking="di"))
    assert _given(found.level, "loading of the pickup") == pytest.approx(0.086, abs=0.005)
    assert found.level.value == pytest.approx(-10 - 0.086 - 15 - 0.628, abs=0.05)
    assert found.spl.value is None
    assert _given(found.reserve, "DI") == pytest.approx(19.1, abs=0.05)


def test_a_line_output_goes_into_a_line_input_without_gain() -> None:
    wanted = replace(FIDDLE, accept=(Accept(taking="line"),), signal_dbu=12.0, source_ohm=150)
    found = _levels(_chosen(0, "", wanted, taking="line", preamp_channel=0, channel=9))
    assert found.gain.value is None
    assert found.reserve.value == pytest.approx(18 - 12 + 0.13, abs=0.05)
    assert found.noise.value is None
    assert (
        _levels(_chosen(0, "", replace(wanted, signal_dbu=None), taking="line", preamp_channel=0)).level.value is None
    )


def test_an_outboard_preamp_feeds_the_line_input() -> None:
    found = _levels(_chosen(120, "M-1", preamp="P-1"))
    assert _given(found.gain, "full scale") == 18
    assert {one.name for one in found.reserve.given} == {"converter", "preamp input", "preamp output"}


# [PreampMatching] table 3: 14 dB(A) at 20 mV/Pa is −111.76 dBu(A); [ProAudioList]: EIN + gain − full scale.
def test_noise_is_the_sum_of_mic_and_preamp_at_the_converter() -> None:
    found = _levels(_chosen(92.24, "M-2"))
    gain = found.gain.value or 0
    assert _given(found.noise, "mic at the converter") == pytest.approx(-111.76 + gain - 18, abs=0.06)
    assert _given(found.noise, "EIN at the converter") == pytest.approx(-128 - 2.05 + gain - 18, abs=0.06)
    assert found.noise.value == pytest.approx(-111.76 + gain - 18 + 0.064, abs=0.06)


def test_a_pad_is_made_up_for_by_gain_and_takes_the_mic_s_noise_down_with_it() -> None:
    found = _levels(_chosen(140, "M-2"))
    assert found.gain.value == 11  # 18 − 12 − (14.24 − 20) is 11.76
    assert _given(found.noise, "mic at the converter") == pytest.approx(-111.76 - 20 + 11 - 18, abs=0.06)


def test_a_load_takes_signal_and_noise_of_a_mic_down_alike() -> None:
    """[Bridging]: 200 Ω into 2000 Ω loses 0.828 dB."""
    loaded = KIT.model_copy(update={"mic": (CONDENSER.model_copy(update={"impedance_ohm": 200.0}),)})
    found, free = _levels(_chosen(100, "M-2"), loaded), _levels(_chosen(100, "M-2"))
    assert (free.level.value or 0) - (found.level.value or 0) == pytest.approx(0.828, abs=0.051)
    gains = (found.gain.value or 0) - (free.gain.value or 0)
    change = float(_given(found.noise, "mic at the converter")) - float(_given(free.noise, "mic at the converter"))
    assert change == pytest.approx(gains - 0.828, abs=0.051)


def test_uncertainty_is_that_of_the_range_and_of_the_unit_together() -> None:
    found = _levels(_chosen(120))
    assert found.level.plus_minus == pytest.approx(4.5)  # √(4² + 2²) is 4.47
    assert found.gain.plus_minus == found.reserve.plus_minus == found.level.plus_minus
    wireless = replace(FIDDLE, house_mic=HouseMic(wireless=True))
    unknown = _levels(_chosen(120, "", wireless, taking="split", splitter="S-1"))
    assert (unknown.level.plus_minus, unknown.gain.plus_minus) == (None, None)


def test_an_outboard_preamp_may_clip_at_its_output_first() -> None:
    low = KIT.model_copy(update={"preamp": (KIT.preamp[0].model_copy(update={"max_output_dbu": 14.0}),)})
    found = _levels(_chosen(120, "M-1", preamp="P-1"), low)
    level, gain = found.level.value or 0, found.gain.value or 0
    assert found.clips_first == "preamp output"
    assert found.reserve.value == pytest.approx(14 - gain - level, abs=0.06)


def test_the_loudest_of_those_that_share_a_row_counts() -> None:
    louder = replace(FIDDLE, spl_db=(118.0, 126.0))
    assert levels(_chosen(100), KIT, RECORDING, (louder,)).spl.value == 122


@given(st.floats(60, 150), st.sampled_from(["M-1", "M-2"]), st.sampled_from(["R-1", "P-1"]))
def test_whatever_the_level_the_gain_is_one_the_preamp_has_and_the_peak_stays_at_the_target(
    spl_db: float, unit: str, preamp: str
) -> None:
    found = _levels(_chosen(spl_db, unit, preamp=preamp))
    gain, level = found.gain.value, found.level.value
    assert gain is not None
    assert level is not None
    assert 0 <= gain <= 60
    assert level - found.pad_db + gain - 18 <= -12 + 0.06 or gain == 0
    assert level - found.pad_db + gain - 18 >= -13.06 or gain == 60 or found.pad_db > 0
