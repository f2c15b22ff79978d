"""Bytes, limits and speeds: arithmetic, and the limits in print."""

from __future__ import annotations

import struct

import pytest

from fieldfare.physics.media import (
    FAT32_LIMIT_BYTES,
    RIFF_LIMIT_BYTES,
    byte_rate,
    copy_minutes,
    minutes_to_limit,
)


# Arithmetic of linear PCM. [definition]
@pytest.mark.parametrize(
    ("channels", "rate", "bits", "gb_an_hour"),
    [
        (1, 48_000, 24, 0.5184), (16, 48_000, 24, 8.2944), (24, 48_000, 24, 12.4416), (32, 48_000, 24, 16.5888),
        (64, 48_000, 24, 33.1776), (32, 96_000, 24, 33.1776), (32, 48_000, 32, 22.1184), (18, 48_000, 24, 9.3312),
    ],
)  # fmt: skip
def test_bytes_an_hour(channels: int, rate: int, bits: int, gb_an_hour: float) -> None:
    assert byte_rate(channels, rate, bits) * 3600 == round(gb_an_hour * 1e9)


def test_byte_rate() -> None:
    assert byte_rate(32, 48_000, 24) == 4_608_000


def test_20_bits_take_three_bytes() -> None:
    assert byte_rate(1, 48_000, 20) == byte_rate(1, 48_000, 24)


def test_a_show_of_three_hours() -> None:
    """32 channels, 48 kHz, 24 bits: 49.7664 GB, two copies 99.53 GB. Arithmetic."""
    whole = 3 * 3600 * byte_rate(32, 48_000, 24)
    assert whole == 49_766_400_000
    assert 2 * whole / 1e9 == pytest.approx(99.53, abs=0.005)
    assert copy_minutes(whole, 90) == pytest.approx(9.22, abs=0.005)


# Time to 2^32 bytes in one file. Arithmetic.
@pytest.mark.parametrize(
    ("channels", "rate", "bits", "minutes"),
    [
        (2, 44_100, 16, 6.763 * 60), (1, 48_000, 24, 8.285 * 60), (2, 48_000, 24, 4.143 * 60), (8, 48_000, 24, 62.14),
        (16, 48_000, 24, 31.07), (32, 48_000, 24, 15.53), (18, 48_000, 24, 27.6), (18, 48_000, 32, 20.7),
    ],
)  # fmt: skip
def test_time_to_four_gibibytes(channels: int, rate: int, bits: int, minutes: float) -> None:
    assert minutes_to_limit(channels, rate, bits) == pytest.approx(minutes, abs=0.05)


def test_the_limit_is_the_32_bit_size_field_whatever_the_clusters() -> None:
    """Several pages explain it by the number and size of clusters, is the field: [FAT32] 4 294 967 295 bytes."""
    assert FAT32_LIMIT_BYTES == 4_294_967_295
    assert struct.pack("<I", FAT32_LIMIT_BYTES) == b"\xff\xff\xff\xff"
    with pytest.raises(struct.error, match="4294967295"):
        struct.pack("<I", RIFF_LIMIT_BYTES)


def test_hours_on_a_card() -> None:
    """128 GB at 32 channels, 48 kHz, 24 bits: 7.716 h. Arithmetic."""
    assert minutes_to_limit(32, 48_000, 24, 128e9) / 60 == pytest.approx(7.716, abs=0.0005)
