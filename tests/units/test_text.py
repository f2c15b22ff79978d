"""One way to write each figure, length, list and name."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.units.text import MINUS, figure, file_stem, listed, metres, nearest, slug


@pytest.mark.parametrize(
    ("value", "decimals", "sign", "text"),
    [
        (-3.14159, 1, False, "−3.1"), (4, 0, True, "+4"), (-0.04, 1, False, "0.0"), (-0.04, 1, True, "0.0"),
        (0, 2, True, "0.00"), (0.05, 1, True, "+0.1"), (12_000, 0, False, "12000"),
    ],
)  # fmt: skip
def test_figures(value: float, decimals: int, sign: bool, text: str) -> None:
    assert figure(value, decimals, sign=sign) == text


@given(st.floats(-1e6, 1e6), st.integers(0, 6))
def test_a_figure_reads_back_to_half_its_last_digit(value: float, decimals: int) -> None:
    read = float(figure(value, decimals).replace(MINUS, "-"))
    assert abs(read - value) <= 0.5000001 * 10**-decimals
    assert "-" not in figure(value, decimals)


@pytest.mark.parametrize(
    ("length", "text"), [(10.0, "10 m"), (3.24, "3.2 m"), (2.97, "3 m"), (0.5, "0.5 m"), (-1.5, "−1.5 m")]
)
def test_lengths(length: float, text: str) -> None:
    assert metres(length) == text


@pytest.mark.parametrize(
    ("names", "text"), [([], ""), (["kick"], "kick"), (["a", "b"], "a and b"), (["a", "b", "c", "d"], "a, b, c and d")]
)
def test_lists(names: list[str], text: str) -> None:
    assert listed(iter(names)) == text


@pytest.mark.parametrize(
    ("written", "found"), [("supercardiod", "supercardioid"), ("CARDIOID", "cardioid"), ("banjo", "")]
)
def test_the_nearest_known_name(written: str, found: str) -> None:
    assert nearest(written, ["omni", "cardioid", "supercardioid"]) == found


@given(st.text(max_size=40))
def test_an_id_is_one_word_and_made_once(name: str) -> None:
    made = slug(name)
    assert not set(made) & set(" \t/\\.,'\"")
    assert slug(made) == made
    assert not made.startswith("-")
    assert not made.endswith("-")


@given(st.text(max_size=300))
def test_a_file_can_be_named_after_anything(name: str) -> None:
    """What is written beside its place has a dot before and .part behind it, and a name may have 255 bytes."""
    stem = file_stem(name, "song")
    assert len(f".07-{stem}.flac.part".encode()) <= 255
    assert stem
    assert not stem.startswith("-")
    assert not stem.endswith("-")
    assert all(sign.isalnum() or sign == "-" for sign in stem)
