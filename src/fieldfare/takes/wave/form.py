"""The `fmt ` chunk: how samples are laid out. Plain, float and extensible forms of uncompressed audio.

Where fewer bits are valid than the container holds, they stand at its top and the low bits are zero (the published
pages on the extensible form; ITU-R BS.2088).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, replace

PCM, FLOAT, EXTENSIBLE = 1, 3, 0xFFFE
_GUID_TAIL = bytes.fromhex("000000001000800000aa00389b71")
_MOST_BYTES = 8


@dataclass(frozen=True, slots=True)
class Form:
    """How the samples of a file are laid out."""

    channels: int
    rate_hz: int
    bits: int  # that carry signal
    sample_bytes: int  # that each sample fills
    is_float: bool
    payload: bytes  # the chunk as it stood, for a rewrite

    @property
    def frame_bytes(self) -> int:
        """Bytes of one sample of every channel."""
        return self.channels * self.sample_bytes

    @property
    def full_scale(self) -> float:
        """The value that reads 0 dBFS as a peak: 2^(container bits − 1) for integers, 1 for float."""
        return 1.0 if self.is_float else float(1 << (8 * self.sample_bytes - 1))


def read_form(payload: bytes) -> Form | str:
    """Read a `fmt ` chunk, or say why it cannot be read.

    >>> read_form(struct.pack("<HHIIHH", 1, 2, 48000, 288000, 6, 24)).bits
    24
    >>> read_form(struct.pack("<HHIIHH", 85, 2, 48000, 16000, 1, 0))
    'the audio is compressed (format tag 0x0055)'
    """
    if len(payload) < 16:
        return f"its format chunk holds {len(payload)} bytes where at least 16 are needed"
    tag, channels, rate_hz, _, align, bits = struct.unpack_from("<HHIIHH", payload)
    if tag == EXTENSIBLE and len(payload) >= 40:
        valid = struct.unpack_from("<H", payload, 18)[0]
        tag = struct.unpack_from("<H", payload, 24)[0] if payload[26:40] == _GUID_TAIL else EXTENSIBLE
    else:
        valid = bits
    if tag not in (PCM, FLOAT):
        return f"the audio is compressed (format tag 0x{tag:04x})"
    if not channels or not rate_hz or not 0 < bits <= 64:
        return f"its format chunk says {channels} channels, {rate_hz} Hz, {bits} bits"
    sample_bytes = _sample_bytes(channels, align, bits)
    if tag == FLOAT and sample_bytes not in (4, 8):
        return f"its format chunk says float of {bits} bits"
    if tag == PCM and sample_bytes > 4:
        return f"its format chunk says whole numbers of {bits} bits, more than any recorder writes"
    return Form(channels, rate_hz, valid if 0 < valid <= bits else bits, sample_bytes, tag == FLOAT, payload)


def _sample_bytes(channels: int, align: int, bits: int) -> int:
    """Bytes a sample fills: from the block alignment where it can be right, else the fewest that hold the bits."""
    fewest = (bits + 7) // 8
    by_align, rest = divmod(align, channels)
    return by_align if rest == 0 and fewest <= by_align <= _MOST_BYTES else fewest


def make_form(channels: int, rate_hz: int, bits: int, *, is_float: bool = False, extensible: bool = False) -> Form:
    """Make the `fmt ` chunk for audio that fills its samples whole.

    Parameters
    ----------
    channels
        Channels side by side in each frame.
    rate_hz
        Sample rate. [Hz]
    bits
        8, 16, 24 or 32; float needs 32 or 64. [bit]
    is_float
        Samples are floating point.
    extensible
        Write the extensible form, which a strict reader asks for above two channels or 16 bits.
    """
    sample_bytes = bits // 8
    align = channels * sample_bytes
    tag = FLOAT if is_float else PCM
    plain = struct.pack("<HHIIHH", EXTENSIBLE if extensible else tag, channels, rate_hz, rate_hz * align, align, bits)
    if extensible:
        plain += struct.pack("<HHIH", 22, bits, 0, tag) + _GUID_TAIL
    elif is_float:
        plain += struct.pack("<H", 0)
    return Form(channels, rate_hz, bits, sample_bytes, is_float, plain)


def plain_form(channels: int, rate_hz: int, bits: int, sample_bytes: int, *, is_float: bool = False) -> Form:
    """Make the `fmt ` chunk for audio of another container, whose bits may leave the low end of each sample free.

    >>> [(one.bits, len(one.payload)) for one in (plain_form(2, 48000, 20, 3), plain_form(2, 48000, 24, 3))]
    [(20, 40), (24, 16)]
    """
    whole = make_form(channels, rate_hz, 8 * sample_bytes, is_float=is_float, extensible=bits != 8 * sample_bytes)
    if bits == whole.bits:
        return whole
    payload = whole.payload[:18] + struct.pack("<H", bits) + whole.payload[20:]
    return replace(whole, bits=bits, payload=payload)
