"""The broadcast extension, iXML and marks, against their published layouts."""

from __future__ import annotations

import struct
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.takes.wave import (
    Bext,
    Cue,
    Ixml,
    IxmlTrack,
    make_bext,
    make_cues,
    make_ixml,
    read_bext,
    read_cues,
    read_head,
    read_ixml,
    write,
)
from fieldfare.units.faults import OutOfRange

# [EBU3285] §2.4: value, its field, the field in hexadecimal.
ROUNDING = [
    (-22.644, -2264, 0xF728),
    (-22.645, -2265, 0xF727),
    (-22.646, -2265, 0xF727),
    (12.764, 1276, 0x04FC),
    (12.765, 1277, 0x04FD),
    (12.766, 1277, 0x04FD),
]


@pytest.mark.parametrize(("lufs", "field", "hexadecimal"), ROUNDING)
def test_loudness_is_rounded_half_away_from_zero(lufs: float, field: int, hexadecimal: int) -> None:
    """[EBU3285] §2.4. Plain rounding of the language gives −2264 and 1276 for the halves, both wrong."""
    chunk = make_bext(Bext(loudness_lufs=lufs))
    assert struct.unpack_from("<h", chunk, 412) == (field,)
    assert struct.unpack_from("<H", chunk, 412) == (hexadecimal,)
    read = read_bext(chunk)
    assert read is not None
    assert read.loudness_lufs == field / 100


def test_a_plain_rounding_would_be_wrong() -> None:
    assert (round(-22.645 * 100), round(12.765 * 100)) == (-2264, 1276)


def test_fields_stand_where_the_standard_puts_them() -> None:
    """[EBU3285] §2.3, offsets."""
    chunk = make_bext(
        Bext(
            description="Café, set 1",
            originator="recorder",
            originator_reference="ref",
            date="2026-12-04",
            time="20:00:00",
            time_reference=8_294_399_999,  # the last sample of a day at 96 kHz needs the high word
            umid=bytes(range(64)),
            true_peak_dbtp=-1.0,
            history="A=PCM,F=48000,W=24\r\n",
        )
    )
    assert len(chunk) == 602 + 20
    assert chunk[:256] == b"Cafe, set 1".ljust(256, b"\0")
    assert chunk[256:264] == b"recorder"
    assert chunk[288:291] == b"ref"
    assert chunk[320:338] == b"2026-12-0420:00:00"
    assert struct.unpack_from("<II", chunk, 338) == (8_294_399_999 & 0xFFFFFFFF, 1)
    assert struct.unpack_from("<H", chunk, 346) == (2,)
    assert chunk[348:412] == bytes(range(64))
    assert struct.unpack_from("<5h", chunk, 412) == (0x7FFF, 0x7FFF, -100, 0x7FFF, 0x7FFF)
    assert chunk[422:602] == bytes(180)
    assert chunk[602:] == b"A=PCM,F=48000,W=24\r\n"


def test_a_loudness_out_of_range_counts_as_none() -> None:
    """[EBU3285] §2.4: valid from 0xD8F1 to 0x270F; others are ignored."""
    chunk = bytearray(make_bext(Bext()))
    for field, value in ((0xD8F1, -99.99), (0x270F, 99.99), (0xD8F0, None), (0x2710, None), (0x7FFF, None)):
        struct.pack_into("<H", chunk, 412, field)
        read = read_bext(bytes(chunk))
        assert read is not None
        assert read.loudness_lufs == value


def test_loudness_and_umid_count_only_from_their_version_on() -> None:
    chunk = bytearray(make_bext(Bext(loudness_lufs=-20.0, umid=b"u" * 64)))
    expected = {0: (None, bytes(64)), 1: (None, b"u" * 64), 2: (-20.0, b"u" * 64)}
    for version, wanted in expected.items():
        struct.pack_into("<H", chunk, 346, version)
        read = read_bext(bytes(chunk))
        assert read is not None
        assert (read.loudness_lufs, read.umid) == wanted


TEXTS = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=30).map(str.strip)
LEVELS = st.none() | st.integers(-9999, 9999).map(lambda field: field / 100)


@given(
    st.builds(
        Bext,
        description=TEXTS,
        originator=TEXTS,
        time_reference=st.integers(0, 2**64 - 1),
        loudness_lufs=LEVELS,
        loudness_range_lu=LEVELS,
        short_term_lufs=LEVELS,
        history=TEXTS,
    )
)
def test_the_extension_comes_back_as_it_went(bext: Bext) -> None:
    assert read_bext(make_bext(bext)) == bext


def test_another_writer_s_extension_is_read(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    with av.open(path, "w", format="wav", options={"write_bext": "1"}) as out:
        out.metadata.update({"time_reference": "172800000", "originator": "somebody", "description": "one hour in"})
        stream = out.add_stream("pcm_s24le", rate=48_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(np.ones((1, 480), np.int32), format="s32", layout="mono")
        frame.sample_rate = 48_000
        out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    bext = read_head(path).bext
    assert bext is not None
    assert (bext.time_reference, bext.originator, bext.description) == (172_800_000, "somebody", "one hour in")
    assert bext.version == 1


def test_our_extension_is_read_by_another_reader(tmp_path: Path) -> None:
    with write(
        tmp_path / "take.wav", 48_000, 24, 1, before=[(b"bext", make_bext(Bext(time_reference=4_147_199_999)))]
    ) as file:
        file.write(np.ones(480, np.int32))
    with av.open(tmp_path / "take.wav") as other:
        assert other.metadata["time_reference"] == "4147199999"


def test_ixml_tells_tracks_and_file_sets() -> None:
    """[iXML] object details: the elements, and both indices counting from 1."""
    payload = b"""<?xml version="1.0" encoding="UTF-8"?>
    <BWFXML><IXML_VERSION>1.5</IXML_VERSION><SCENE>set 1</SCENE><TAKE>3</TAKE>
    <SPEED><FILE_SAMPLE_RATE>48000</FILE_SAMPLE_RATE>
      <TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>1</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>
      <TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>5</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO></SPEED>
    <FILE_SET><TOTAL_FILES>2</TOTAL_FILES><FAMILY_UID>abc</FAMILY_UID><FILE_SET_INDEX>B</FILE_SET_INDEX></FILE_SET>
    <TRACK_LIST><TRACK_COUNT>2</TRACK_COUNT>
      <TRACK><CHANNEL_INDEX>7</CHANNEL_INDEX><INTERLEAVE_INDEX>1</INTERLEAVE_INDEX><NAME>kick</NAME></TRACK>
      <TRACK><NAME>snare</NAME></TRACK></TRACK_LIST></BWFXML>   \0\0"""
    ixml = read_ixml(payload)
    assert ixml is not None
    assert (ixml.scene, ixml.take, ixml.rate_hz, ixml.time_reference) == ("set 1", "3", 48_000, 2**32 + 5)
    assert (ixml.total_files, ixml.family_uid, ixml.file_set_index) == (2, "abc", "B")
    assert ixml.track == (IxmlTrack(7, 1, "kick"), IxmlTrack(2, 2, "snare"))


def test_what_is_not_ixml_is_none() -> None:
    assert read_ixml(b"<BWFXML><unclosed>") is None
    assert read_ixml(b"<other/>") is None
    assert read_ixml(b"") is None


NAMES = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Zs", "Zl", "Zp"], exclude_characters="\ufffe\uffff"), max_size=9
)


@given(st.lists(NAMES, max_size=4), NAMES, st.none() | st.integers(0, 2**64 - 1))
def test_ixml_comes_back_as_it_went(names: list[str], scene: str, time_reference: int | None) -> None:
    tracks = tuple(IxmlTrack(place + 3, place, name) for place, name in enumerate(names, 1))
    ixml = Ixml(scene=scene, rate_hz=48_000, time_reference=time_reference, family_uid="u", track=tracks)
    assert read_ixml(make_ixml(ixml)) == ixml


def test_marks_come_back_and_are_read_by_another_reader(tmp_path: Path) -> None:
    marks = (Cue(100, "song 1"), Cue(4_000, "Lied 2, größer"), Cue(4_700, ""))
    cue, labels = make_cues(reversed(marks))
    with write(tmp_path / "take.wav", 48_000, 24, 1, behind=[cue, labels]) as file:
        file.write(np.ones(4_801, np.int32))
    assert read_cues(read_head(tmp_path / "take.wav")) == marks
    with av.open(tmp_path / "take.wav") as other:
        chapters = other.chapters()
        assert [one["start"] for one in chapters] == [100, 4_000, 4_700]
        assert [one["metadata"].get("title", "") for one in chapters] == ["song 1", "Lied 2, größer", ""]
    assert soundfile.info(tmp_path / "take.wav").frames == 4_801


def test_a_mark_past_32_bits_is_refused() -> None:
    with pytest.raises(OutOfRange, match="mark encore: sample 4294967296 is past what a cue can say"):
        make_cues([Cue(2**32, "encore")])


def test_a_file_without_marks_has_none(tmp_path: Path) -> None:
    with write(tmp_path / "take.wav", 48_000, 24, 1, behind=[(b"cue ", b"\xff\xff\xff\xff")]) as file:
        file.write(np.ones(10, np.int32))
    assert read_cues(read_head(tmp_path / "take.wav")) == ()
