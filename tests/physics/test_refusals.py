"""Every formula refuses what is not a number, names what it was and where; arrays and floats give the same."""

from __future__ import annotations

import inspect
import math
import pickle
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from test_docstrings import FUNCTIONS

from fieldfare.physics.lifting import Lift
from fieldfare.units.faults import OutOfRange

# A value within the range of every function that takes a quantity of this name.
GOOD: dict[str, Any] = {
    "air_c": 20.0, "altitude_m": 100.0, "angle_rad": 1.0, "apparent_va": 500.0, "between_deg": 110.0, "bits": 24,
    "breaker_a": 16.0, "capacitance_pf": 1500.0, "carried": 4, "channels": 18, "conductor_mm2": 1.5,
    "corner_hz": 50_000.0, "current_a": 2.0, "current_ma": 4.0, "directivity": 2.0, "distance_m": 3.0,
    "efficiency": 0.9, "ein_dbu": -128.0, "energy_wh": 300.0, "exposures": [(98.0, 60.0)], "fail_odds": 0.02,
    "failures": 1, "frequency_hz": 1000.0, "full_scale_dbu": 18.0, "gain_db": 40.0, "good_odds": 0.97, "in_use": 24,
    "length_m": 20.0, "level_at_1m_db": 100.0, "level_dba": 98.0, "level_dbu": -20.0, "levels_db": [80.0, 85.0],
    "lift": Lift(), "limit_bytes": 2**32, "load_ohm": 1500.0, "load_w": 100.0, "name": "V30", "needed": 3,
    "off_ohm": 0.0, "ohm_per_km": 13.3, "omni_share": 0.366, "output_dbu": -25.0, "power_factor": 0.8,
    "rate_hz": 48_000, "resistance_ohm": 150.0, "reverberation_s": 1.4, "self_noise_dba": 14.0,
    "sensitivity_mv_pa": 10.0, "size_bytes": 1e9, "source_deg": 30.0, "source_ohm": 150.0, "spacing_m": 0.5,
    "speed_mb_s": 90.0, "spl_db": 110.0, "target_dbfs": -12.0, "temperature_c": 20.0, "volume_m3": 1452.0,
    "wanted_odds": 0.95, "weight_kg": 20.0,
}  # fmt: skip
BAD: dict[str, Any] = {
    "exposures": [(98.0, 60.0), (math.nan, 60.0)],
    "levels_db": [80.0, math.nan],
    "lift": Lift(travel_cm=math.nan),
}

Function = Callable[..., Any]


def _arguments(function: Function) -> tuple[list[Any], dict[str, Any]]:
    """Good values for every parameter, those of ``*ohms`` as three of a kind."""
    spread: list[Any] = []
    named: dict[str, Any] = {}
    for name, parameter in inspect.signature(inspect.unwrap(function)).parameters.items():
        if parameter.kind is parameter.VAR_POSITIONAL:
            spread = [*named.values(), 1500.0, 2000.0, 3000.0]
            named = {}
        else:
            named[name] = GOOD[name]
    return spread, named


CASES = [
    pytest.param(function, name, id=f"{function.__module__.rpartition('.')[2]}.{function.__name__}-{name}")
    for function in FUNCTIONS
    for name, parameter in inspect.signature(inspect.unwrap(function)).parameters.items()
    if parameter.kind is not parameter.VAR_POSITIONAL
]
ALIKE = [
    pytest.param(function, name, id=f"{function.__name__}-{name}")
    for function in FUNCTIONS
    for name, parameter in inspect.signature(inspect.unwrap(function)).parameters.items()
    if parameter.annotation == "Number"
]


@pytest.mark.parametrize(("function", "name"), CASES)
def test_what_is_not_a_number_is_refused(function: Function, name: str) -> None:
    spread, named = _arguments(function)
    function(*spread, **named)  # all values are good
    if spread:
        place = list(inspect.signature(inspect.unwrap(function)).parameters).index(name)
        spread[place] = BAD.get(name, math.nan)
    else:
        named[name] = BAD.get(name, math.nan)
    with pytest.raises(OutOfRange, match=r": nan[^;]* is not .*; ") as caught:
        function(*spread, **named)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)
    assert not re.search(r"_|\bNone\b", caught.value.where), "named as a technician says it"


@pytest.mark.parametrize(
    "function", [parallel for parallel in FUNCTIONS if _arguments(parallel)[0]], ids=lambda one: one.__name__
)
def test_the_last_of_several_is_refused_as_the_first(function: Function) -> None:
    spread, _ = _arguments(function)
    with pytest.raises(OutOfRange, match="load impedance: nan Ω is not above 0 Ω"):
        function(*spread[:-1], math.nan)


@pytest.mark.parametrize(("function", "name"), ALIKE)
def test_an_array_gives_what_its_floats_give(function: Function, name: str) -> None:
    """Every parameter that may be an array, all of one function at once, in two dimensions."""
    spread, named = _arguments(function)
    assert not spread
    parameters = inspect.signature(inspect.unwrap(function)).parameters
    arrays = [one for one in parameters if parameters[one].annotation == "Number"]
    grid = np.array([[1.0, 0.9], [0.8, 0.7]])
    got = function(**(named | {one: GOOD[one] * grid for one in arrays}))
    assert got.shape == (2, 2)
    for place in np.ndindex(2, 2):
        single = function(**(named | {one: float(GOOD[one] * grid[place]) for one in arrays}))
        assert isinstance(single, float)
        assert got[place] == pytest.approx(single, rel=1e-12, abs=1e-12)
    with pytest.raises(OutOfRange, match=r" \(1, 0\): nan"):
        function(**(named | {name: GOOD[name] * np.array([[1.0, 0.9], [math.nan, 0.7]])}))
