"""Generators against the tables of a manual, and where makers differ."""

from __future__ import annotations

import pytest

from fieldfare.physics.generators import generator_share, real_power_w


def test_high_and_hot() -> None:
    """[GeneratorTables] 0.94 at 2000 m, 0.94 at 50 °C; both together 0.884."""
    assert generator_share(2000, 40) == pytest.approx(0.94)
    assert generator_share(1000, 50) == pytest.approx(0.94)
    assert generator_share(2000, 50) == pytest.approx(0.884, abs=0.0005)


def test_low_and_cool_it_gives_all() -> None:
    assert generator_share(0, 20) == generator_share(1000, 40) == 1


def test_makers_differ_so_an_engine_is_not_ours() -> None:
    """A farming text takes 3 % for each 1000 ft above 500 ft: 225 hp are 198 at 4500 ft. The alternator loses less."""
    engine = 225 * (1 - 0.03 * (4500 - 500) / 1000)
    assert engine == pytest.approx(198)
    assert generator_share(4500 * 0.3048, 20) > engine / 225


def test_real_power() -> None:
    assert real_power_w(2000, 0.8) == 1600
