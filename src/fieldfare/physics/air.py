"""Speed of sound in moist air, for when 0.4 % matters: a long room, a hot and crowded night."""

from __future__ import annotations

import math

from fieldfare.physics._numbers import Span, within

_CELSIUS = Span("temperature", "°C", 0, 30, "the fit holds from 0 to 30 °C; elsewhere use acoustics.speed_of_sound")
_HUMIDITY = Span("relative humidity", "%", 0, 100, "give per cent")
_PRESSURE = Span("air pressure", "kPa", 75, 102, "the fit holds from 75 to 102 kPa")
_CARBON_DIOXIDE = Span("carbon dioxide", "ppm", 0, 10_000, "the fit holds up to 1 %")

# Coefficients a0 to a15 of the fit, in the order of the paper.
_A = (
    331.5024, 0.603055, -0.000528, 51.471935, 0.1495874, -0.000782, -1.82e-7, 3.73e-8, -2.93e-10,
    -85.20931, -0.228525, 5.91e-5, -2.835149, -2.15e-13, 29.179762, 0.000486,
)  # fmt: skip


def speed_in_humid_air(
    temperature_c: float, humidity_percent: float, pressure_kpa: float = 101.325, carbon_dioxide_ppm: float = 400.0
) -> float:
    """Speed of sound in air of known humidity.

    Parameters
    ----------
    temperature_c
        Temperature of the air. [°C]
    humidity_percent
        Relative humidity. [%]
    pressure_kpa
        Air pressure. [kPa]
    carbon_dioxide_ppm
        Carbon dioxide; a full hall has 1000 to 2000. [ppm]

    Returns
    -------
    Speed. [m/s]

    Raises
    ------
    OutOfRange
        Outside 0 to 30 °C, 0 to 100 %, 75 to 102 kPa or 0 to 10 000 ppm, or not a number.

    Sources
    -------
    [JASA93] equation 15 and its saturation pressure. One copy of the table is shifted by one and lacks −2.93e-10.

    Examples
    --------
    >>> round(speed_in_humid_air(20, 50), 2)
    343.99
    """
    t, pressure_pa = within(float(temperature_c), _CELSIUS), within(float(pressure_kpa), _PRESSURE) * 1000
    vapour = within(float(humidity_percent), _HUMIDITY) / 100 * _saturation_share(t, pressure_pa)
    carbon_dioxide = within(float(carbon_dioxide_ppm), _CARBON_DIOXIDE) * 1e-6
    a = _A
    return (
        a[0] + a[1] * t + a[2] * t**2
        + (a[3] + a[4] * t + a[5] * t**2) * vapour
        + (a[6] + a[7] * t + a[8] * t**2) * pressure_pa
        + (a[9] + a[10] * t + a[11] * t**2) * carbon_dioxide
        + a[12] * vapour**2 + a[13] * pressure_pa**2 + a[14] * carbon_dioxide**2
        + a[15] * vapour * pressure_pa * carbon_dioxide
    )  # fmt: skip


def _saturation_share(temperature_c: float, pressure_pa: float) -> float:
    kelvin = temperature_c + 273.15
    enhancement = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c**2
    saturation_pa = math.exp(1.2811805e-5 * kelvin**2 - 1.9509874e-2 * kelvin + 34.04926034 - 6353.6311 / kelvin)
    return enhancement * saturation_pa / pressure_pa
