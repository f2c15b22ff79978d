"""Bytes, limits and speeds: arithmetic, and the limits in print."""

from __future__ import annotations

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit

from fieldfare.physics.media import (
    FAT32_LIMIT_BYTES,
    GIB,
    RIFF_LIMIT_BYTES,
    byte_rate,
    channels_sustained,
    copy_minutes,
    gib,
    minutes_to_limit,
    speed_class_mb_s,
)
from fieldfare.units.faults import OutOfRange


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
    assert gib(0.5184) == pytest.approx(0.4828, abs=0.00005)


def test_20_bits_take_three_bytes() -> None:
    assert byte_rate(1, 48_000, 20) == byte_rate(1, 48_000, 24)


def test_a_show_of_three_hours() -> None:
    """32 channels, 48 kHz, 24 bits: 49.7664 GB, 46.349 GiB, two copies 99.53 GB. Arithmetic."""
    whole = 3 * 3600 * byte_rate(32, 48_000, 24)
    assert whole == 49_766_400_000
    assert gib(whole / 1e9) == pytest.approx(46.349, abs=0.0005)
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


# [SDClasses], decimal.
@pytest.mark.parametrize(
    ("names", "mb_s"), [("C10 U1 V10", 10), ("U3 V30", 30), ("V60", 60), ("V90", 90)], ids=lambda value: str(value)
)
def test_speed_classes(names: str, mb_s: float) -> None:
    assert {speed_class_mb_s(name) for name in names.split()} == {mb_s}


def test_a_mark_that_is_no_speed_class() -> None:
    with pytest.raises(OutOfRange, match="card: 'V31' is not a speed class; give one of C10, U1"):
        speed_class_mb_s("V31")


def test_channels_that_a_slow_card_sustains() -> None:
    """10 MB/s at 48 kHz and 24 bits: 69 with no margin, 34 with half kept back. Arithmetic."""
    assert [channels_sustained(10, 48_000, 24, margin) for margin in (0, 0.5)] == [69, 34]
    assert channels_sustained(10, 48_000, 24) == 34


@given(st.floats(1, 300), st.sampled_from([44_100, 48_000, 96_000]), st.sampled_from([16, 24, 32]))
def test_one_channel_more_would_be_too_many(speed: float, rate: int, bits: int) -> None:
    channels = channels_sustained(speed, rate, bits, margin=0)
    assert channels * rate * bits / 8 <= speed * 1e6 < (channels + 1) * rate * bits / 8


@pytest.mark.parametrize(
    ("gb", "gibibytes"), [(1000, "931.3"), (32, "29.80"), (64, "59.60"), (128, "119.21"), (256, "238.42")]
)
def test_decimal_and_binary(gb: float, gibibytes: str) -> None:
    """[BinaryPrefixes] 1 TB is 931.3 GiB, a factor of 0.9313."""
    assert gib(gb) == pytest.approx(float(gibibytes), abs=half_a_digit(gibibytes))


def test_a_terabyte_is_neither_909_gb_nor_a_tebibyte_931_gib() -> None:
    """Two pages print those, is 931 GiB or 0.909 TiB for 1 TB: a tebibyte has 1024 GiB."""
    assert gib(1000) == pytest.approx(931, abs=0.5)
    assert gib(1000) / 1024 == pytest.approx(0.909, abs=0.0005)
    assert [GIB, 16 * GIB] == [1_073_741_824, 17_179_869_184]


def test_hours_on_a_card() -> None:
    """128 GB at 32 channels, 48 kHz, 24 bits: 7.716 h. Arithmetic."""
    assert minutes_to_limit(32, 48_000, 24, 128e9) / 60 == pytest.approx(7.716, abs=0.0005)
