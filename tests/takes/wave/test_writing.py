"""What is written: read back by ourselves, by a reference library, and by eye on the bytes."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from takes.wave.handmade import noise, packed

from fieldfare.takes.wave import (
    blocks,
    make_form,
    pack,
    raw_blocks,
    read_all,
    read_head,
    unpack,
    write,
    write_form,
    write_whole,
)
from fieldfare.units.faults import Fault, NotDone, OutOfRange

IDS = st.sampled_from([b"LIST", b"bext", b"iXML", b"axml", b"umid", b"cart"])


@pytest.mark.parametrize("bits", [16, 24, 32])
@pytest.mark.parametrize("channels", [1, 2, 18, 32])
def test_a_reference_library_reads_what_is_written(bits: int, channels: int, tmp_path: Path) -> None:
    samples = noise(1_001, channels) >> (24 - min(bits, 24))
    write_whole(tmp_path / "take.wav", 96_000, bits, samples, channels)
    read, rate_hz = soundfile.read(tmp_path / "take.wav", dtype="int32", always_2d=True)
    assert rate_hz == 96_000
    assert np.array_equal(read >> (32 - bits), samples)


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
@pytest.mark.parametrize("container", ["WAV", "WAVEX", "RF64"])
def test_what_a_reference_library_writes_is_read(subtype: str, container: str, tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    values = np.linspace(-0.9, 0.9, 3 * 701).reshape(-1, 3)
    soundfile.write(path, values, 44_100, subtype=subtype, format=container)
    head = read_head(path)
    assert (head.state, head.frames, head.channels, head.rate_hz) == ("good", 701, 3, 44_100)
    assert head.container == ("RF64" if container == "RF64" else "WAV")
    assert np.array_equal(read_all(head) / head.full_scale, soundfile.read(path)[0])


@pytest.mark.parametrize("bits", [32, 64])
def test_float_keeps_what_is_above_full_scale_and_counts_its_frames(bits: int, tmp_path: Path) -> None:
    with write(tmp_path / "take.wav", 48_000, bits, 1, is_float=True) as file:
        file.write(np.array([1.5, -2.0, 0.25]))
    head = read_head(tmp_path / "take.wav")
    assert (head.is_float, head.full_scale) == (True, 1.0)
    assert read_all(head).ravel().tolist() == [1.5, -2.0, 0.25]
    assert b"fact\x04\0\0\0\x03\0\0\0" in (tmp_path / "take.wav").read_bytes()
    assert soundfile.read(tmp_path / "take.wav")[0].tolist() == [1.5, -2.0, 0.25]


def test_the_extensible_form_is_read_by_others_and_by_us(tmp_path: Path) -> None:
    """24 valid bits stand at the top of 32 (page on the extensible form): their scale is that of the container."""
    form = make_form(4, 48_000, 24, extensible=True)
    with write_form(tmp_path / "a.wav", form) as file:
        file.write(noise(100, 4))
    assert soundfile.info(tmp_path / "a.wav").format == "WAVEX"
    assert np.array_equal(read_all(read_head(tmp_path / "a.wav")), noise(100, 4))
    guid = struct.pack("<H", 1) + bytes.fromhex("000000001000800000aa00389b71")
    loose = struct.pack("<HHIIHHHHI", 0xFFFE, 1, 48_000, 192_000, 4, 32, 22, 24, 0) + guid
    fmt = b"fmt " + struct.pack("<I", len(loose)) + loose
    data = b"data" + struct.pack("<Ii", 4, 0x7FFFFF00)
    (tmp_path / "b.wav").write_bytes(b"RIFF" + struct.pack("<I", 4 + len(fmt + data)) + b"WAVE" + fmt + data)
    head = read_head(tmp_path / "b.wav")
    assert (head.bits, head.sample_bytes, head.full_scale) == (24, 4, 2.0**31)
    assert read_all(head).tolist() == [[0x7FFFFF00]]


def test_a_file_past_the_limit_becomes_rf64_with_no_second_pass(tmp_path: Path) -> None:
    samples = noise(1_000, 2)
    for limit, container in ((100_000, "WAV"), (5_000, "RF64")):
        path = tmp_path / f"{container}.wav"
        with write_form(path, make_form(2, 48_000, 24), behind=[(b"LIST", b"INFO")], limit_bytes=limit) as file:
            file.write(samples[:300])
            file.write(samples[300:])
        head = read_head(path)
        assert (head.container, head.state, head.frames) == (container, "good", 1_000)
        assert [one.id for one in head.behind] == [b"LIST"]
        assert np.array_equal(soundfile.read(path, dtype="int32")[0] >> 8, samples)


def test_a_recording_past_4_gib_is_rf64(tmp_path: Path) -> None:
    """4.33 GB, most of it a hole in the file: sizes past 32 bits, read back by a reference library too."""
    path = tmp_path / "long.wav"
    with write(path, 48_000, 24, 32) as file:
        file._file.seek(45_119_000 * 96, 1)
        file.data_bytes = 45_119_000 * 96
        file.write(noise(1_000, 32))
    head = read_head(path)
    assert (head.container, head.state, head.frames) == ("RF64", "good", 45_120_000)
    assert np.array_equal(next(blocks(head, 1_000, 45_119_000)), noise(1_000, 32))
    assert soundfile.info(path).frames == 45_120_000


@given(
    frames=st.integers(0, 50),
    channels=st.integers(1, 5),
    bits=st.sampled_from([8, 16, 24, 32]),
    before=st.lists(st.tuples(IDS, st.binary(max_size=40)), max_size=3),
    behind=st.lists(st.tuples(IDS, st.binary(max_size=40)), max_size=3),
    block=st.integers(1, 20),
)
def test_chunks_and_samples_come_back_as_they_went(
    frames: int,
    channels: int,
    bits: int,
    before: list[tuple[bytes, bytes]],
    behind: list[tuple[bytes, bytes]],
    block: int,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    path = tmp_path_factory.getbasetemp() / "round.wav"
    half = 1 << (bits - 1)
    samples = np.random.default_rng(frames).integers(-half, half, (frames, channels), np.int64)
    with write(path, 48_000, bits, channels, before=before, behind=behind) as file:
        file.write(samples)
    head = read_head(path)
    assert (head.state, head.bits, head.channels, head.frames) == ("good", bits, channels, frames)
    assert [(one.id, one.payload) for one in head.before] == before
    assert [(one.id, one.payload) for one in head.behind] == behind
    parts = list(blocks(head, block))
    assert all(len(part) == block for part in parts[:-1])
    assert np.array_equal(np.concatenate([np.zeros((0, channels), np.int32), *parts]), samples)


@given(st.binary(max_size=300).filter(lambda raw: len(raw) % 6 == 0))
def test_24_bits_are_unpacked_as_arithmetic_says(raw: bytes) -> None:
    form = make_form(2, 48_000, 24)
    samples = unpack(raw, form)
    assert packed(samples.astype(np.int32)) == raw
    assert pack(samples, form) == raw


@given(raw=st.binary(max_size=200))
def test_no_bytes_make_the_reader_fall_over(raw: bytes, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.getbasetemp() / "any.wav"
    path.write_bytes(b"RIFF" + raw[:4].ljust(4, b"\0") + b"WAVE" + raw[4:])
    head = read_head(path)
    assert head.data_bytes <= head.file_bytes
    if head.state != "unreadable":
        assert sum(len(part) for part in raw_blocks(head)) == head.frames * head.frame_bytes


def test_raw_blocks_are_whole_frames_on_a_page(tmp_path: Path) -> None:
    samples = noise(1_000, 5)
    write_whole(tmp_path / "take.wav", 48_000, 24, samples, 5)
    head = read_head(tmp_path / "take.wav")
    parts = []
    for part in raw_blocks(head, 1_000, first_frame=10):
        assert len(part) % 15 == 0
        assert np.frombuffer(part, np.uint8).ctypes.data % 4096 == 0
        parts.append(bytes(part))
    assert b"".join(parts) == packed(samples[10:])


def test_nothing_half_written_stays(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    path.write_bytes(b"an older one")
    with (
        pytest.raises(OutOfRange, match="beyond 24 bits; keep them from -8388608 to 8388607"),
        write(path, 48_000, 24, 1) as file,
    ):
        file.write(np.array([0, 1 << 23]))
    assert [one.name for one in tmp_path.iterdir()] == ["take.wav"]
    assert path.read_bytes() == b"an older one"


def test_samples_that_do_not_fit_are_refused() -> None:
    form = make_form(2, 48_000, 24)
    with pytest.raises(OutOfRange, match=r"shape \(3,\); give \(frames, 2\)"):
        pack(np.zeros(3, np.int32), form)
    with pytest.raises(OutOfRange, match="type float64; give whole numbers of 24 bits"):
        pack(np.zeros((3, 2)), form)


def test_places_that_cannot_be_opened_or_written_are_named(tmp_path: Path) -> None:
    with pytest.raises(Fault, match="cannot be opened"):
        read_head(tmp_path / "none.wav")
    with pytest.raises(NotDone, match="cannot be written"):
        write(tmp_path / "none" / "take.wav", 48_000, 24, 1)


def test_an_unreadable_head_hands_out_no_audio(tmp_path: Path) -> None:
    (tmp_path / "take.wav").write_bytes(bytes(1_000))
    with pytest.raises(Fault, match="header was never written; mend it first"):
        next(raw_blocks(read_head(tmp_path / "take.wav")))


def test_a_file_that_shrinks_while_it_is_read_says_where_it_ends(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    write_whole(path, 48_000, 24, noise(1_000, 1))
    head = read_head(path)
    with path.open("r+b") as file:
        file.truncate(head.data_start + 3 * 250 + 1)
    with pytest.raises(Fault, match="ends at sample 250, earlier than when it was opened"):
        list(raw_blocks(head))


@pytest.fixture
def _files_of_100_kb() -> Iterator[None]:
    """Let no file of this process grow past 100 kB, as a full disc would not."""
    resource = pytest.importorskip("resource", reason="this system limits no process")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.usefixtures("_files_of_100_kb")
def test_a_disc_with_no_room_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    with pytest.raises(NotDone, match=r"take.wav: cannot be written \(File too large\); check"):
        write_whole(path, 48_000, 24, noise(50_000, 1))
    assert list(tmp_path.iterdir()) == []
