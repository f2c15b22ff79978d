"""W64, AIFF, AIFF-C and FLAC: every sample and every damaged head, against libsndfile and the media library.

What a killed writer leaves was made by running that writer; where libsndfile reads no frames or refuses, a test holds
that this is so.
"""

from __future__ import annotations

import hashlib
import struct
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from takes.wave.handmade import noise, packed

from fieldfare.takes.mend import mend
from fieldfare.takes.wave import (
    Bext,
    Damage,
    blocks,
    make_bext,
    raw_blocks,
    read_all,
    read_cues,
    read_head,
    read_packed,
    start_of,
    taken_along,
    unpack,
)
from fieldfare.takes.wave.aiff import extended
from fieldfare.takes.wave.flac import read_frame_head, read_streaminfo

FRAMES = 20_000
RATE = 48_000
Whole = NDArray[np.int32]


def _write(path: Path, samples: Whole, kind: str, subtype: str) -> None:
    """Write samples of 24 bits with libsndfile; depths below take the top."""
    values = samples << 8
    if subtype in ("FLOAT", "DOUBLE"):
        soundfile.write(path, samples / (1 << 23), RATE, subtype, format=kind)
    else:
        soundfile.write(path, values, RATE, subtype, format=kind)


def _libsndfile(path: Path) -> NDArray[np.float64]:
    return np.atleast_2d(soundfile.read(path, dtype="float64", always_2d=True)[0])


def _media_library(path: Path, channels: int) -> NDArray[np.float64]:
    with av.open(str(path)) as container:
        parts = [frame.to_ndarray() for frame in container.decode(audio=0)]
    whole = np.concatenate([part.reshape(-1, channels) for part in parts])
    return whole / {"i": float(2 ** (8 * whole.dtype.itemsize - 1)), "u": 1.0, "f": 1.0}[whole.dtype.kind]


FORMS = [
    ("W64", "PCM_16"),
    ("W64", "PCM_24"),
    ("W64", "PCM_32"),
    ("W64", "FLOAT"),
    ("AIFF", "PCM_S8"),
    ("AIFF", "PCM_16"),
    ("AIFF", "PCM_24"),
    ("AIFF", "PCM_32"),
    ("AIFF", "FLOAT"),
    ("AIFF", "DOUBLE"),
    ("AIFF", "PCM_U8"),
    ("FLAC", "PCM_16"),
    ("FLAC", "PCM_24"),
    ("WAV", "PCM_U8"),
    ("WAV", "PCM_16"),
    ("WAV", "PCM_24"),
    ("WAV", "PCM_32"),
    ("WAV", "DOUBLE"),
    ("WAVEX", "PCM_24"),
    ("RF64", "FLOAT"),
]


@pytest.mark.parametrize("channels", [1, 2, 5])
@pytest.mark.parametrize(("kind", "subtype"), FORMS, ids=str)
def test_every_sample_is_that_of_libsndfile_and_the_media_library(
    kind: str, subtype: str, channels: int, tmp_path: Path
) -> None:
    path = tmp_path / "take"
    _write(path, noise(FRAMES, channels), kind, subtype)
    head = read_head(path)
    assert (head.state, head.frames, head.channels, head.rate_hz) == ("good", FRAMES, channels, RATE), head.says
    ours = read_all(head) / head.full_scale
    assert np.array_equal(ours, _libsndfile(path))
    if not subtype.endswith("8"):  # the media library widens 8 bits its own way
        assert np.array_equal(ours, _media_library(path, channels))


@pytest.mark.parametrize(("kind", "subtype"), [("FLAC", "PCM_24"), ("AIFF", "PCM_24"), ("W64", "PCM_16")])
def test_any_stretch_is_read_from_its_own_sample_on(kind: str, subtype: str, tmp_path: Path) -> None:
    path = tmp_path / "take"
    _write(path, noise(FRAMES, 2), kind, subtype)
    head = read_head(path)
    whole = read_all(head)
    for first, count in [(0, 1), (4095, 2), (4096, 4096), (12_345, 500), (FRAMES - 1, 1)]:
        assert np.array_equal(unpack(read_packed(head, first, count), head.form), whole[first : first + count])
    assert np.array_equal(np.concatenate(list(blocks(head, 777, 5000))), whole[5000:])


def test_sowt_is_little_end_first_and_20_bits_stand_at_the_top(tmp_path: Path) -> None:
    samples = noise(100, 2) & ~15
    path = tmp_path / "take.aifc"
    for kind, audio in ((b"sowt", packed(samples)), (b"NONE", _big(samples))):
        path.write_bytes(_aiff(audio, 100, 2, 20, kind))
        head = read_head(path)
        assert (head.container, head.bits, head.sample_bytes, head.state) == ("AIFF-C", 20, 3, "good")
        assert np.array_equal(read_all(head), samples)
    assert soundfile.info(path).frames == 100  # the other order is one that libsndfile reads too


def _big(samples: Whole) -> bytes:
    return b"".join(int(one).to_bytes(3, "big", signed=True) for one in samples.ravel())


def _aiff(
    audio: bytes,
    frames: int,
    channels: int = 2,
    bits: int = 24,
    kind: bytes = b"",
    *,
    total: int | None = None,
    size: int | None = None,
    behind: bytes = b"",
    offset: int = 0,
    late: bool = False,
) -> bytes:
    comm = struct.pack(">HIH", channels, frames, bits) + bytes.fromhex("400ebb80000000000000")
    comm += kind + b"\0\0" if kind else b""
    common = _chunk(b"COMM", comm)
    stated = len(audio) + 8 + offset if size is None else size
    sound = b"SSND" + struct.pack(">III", stated, offset, 0) + bytes(offset) + audio + bytes(len(audio) % 2)
    body = (sound + common if late else common + sound) + behind
    return (
        b"FORM" + struct.pack(">I", len(body) + 4 if total is None else total) + (b"AIFC" if kind else b"AIFF") + body
    )


def _chunk(letters: bytes, payload: bytes) -> bytes:
    return letters + struct.pack(">I", len(payload)) + payload + bytes(len(payload) % 2)


SAMPLES = noise(480, 2)
BIG = _big(SAMPLES)
SIZE = len(BIG)
MARK = _chunk(b"MARK", struct.pack(">HHIB", 1, 1, 48, 5) + b"count" + struct.pack(">HIB", 2, 7, 3)[:0])
AIFF_ROWS = {
    "good": (_aiff(BIG, 480), "good", 480, ""),
    "audio at an offset": (_aiff(BIG, 480, offset=10), "good", 480, ""),
    "COMM after the audio": (_aiff(BIG, 480, late=True), "good", 480, ""),
    "as libsndfile leaves it": (_aiff(BIG, 0, total=0xFFFFFFF8, size=8), "unfinished", 480, "never finished"),
    "as the media library leaves it": (_aiff(BIG, 0, total=0, size=0), "unfinished", 480, "never finished"),
    "frames not filled in": (_aiff(BIG, 0), "unfinished", 480, "COMM chunk states no frames"),
    "stale": (_aiff(BIG, 240, total=SIZE // 2 + 46, size=SIZE // 2 + 8), "stale", 480, "out of date"),
    "stale frames": (_aiff(BIG, 240), "stale", 480, "states 240 frames, 480 are there"),
    "cut in half": (_aiff(BIG, 480)[: 54 + SIZE // 2], "cut", 240, "ends early"),
    "cut in mid-frame": (_aiff(BIG, 480)[:-2], "cut", 479, "has only 4 of its 6"),
    "stale, with chunks behind": (
        _aiff(BIG, 240, total=0, size=SIZE // 2 + 8, behind=MARK), "stale", 480, "out of date"),
}  # fmt: skip


@pytest.mark.parametrize("name", AIFF_ROWS)
def test_every_head_of_aiff_is_read_right_or_reported(name: str, tmp_path: Path) -> None:
    content, state, frames, says = AIFF_ROWS[name]
    path = tmp_path / "take.aif"
    path.write_bytes(content)
    head = read_head(path)
    assert (head.state, head.frames) == (state, frames), head.says
    assert says in head.says
    assert np.array_equal(read_all(head), SAMPLES[:frames])


@pytest.mark.parametrize(
    ("name", "frames"), [("as libsndfile leaves it", 0), ("frames not filled in", 480), ("stale", 240), ("good", 480)]
)
def test_what_libsndfile_makes_of_the_same_heads(name: str, frames: int, tmp_path: Path) -> None:
    path = tmp_path / "take.aif"
    path.write_bytes(AIFF_ROWS[name][0])
    assert len(soundfile.read(path)[0]) == frames


def test_the_rate_of_aiff_has_80_bits() -> None:
    """AIFF 1.3 gives no table; 44100 is 400E AC44 0000 0000 0000 by the definition of the format."""
    for rate in (8_000, 44_100, 48_000, 88_200, 96_000, 192_000):
        shift = rate.bit_length() - 1
        assert extended(struct.pack(">HQ", 16383 + shift, rate << (63 - shift))) == rate


KILLED = """
import soundfile, numpy, sys, os
noise = numpy.random.default_rng(7).integers(-1 << 30, 1 << 30, (24000, 2)).astype(numpy.int32)
files = []
for kind in ("W64", "AIFF", "FLAC"):
    f = soundfile.SoundFile(f"{sys.argv[1]}/libsndfile.{kind}", "w", 48000, 2, "PCM_24", format=kind)
    f.write(noise); f.flush(); files.append(f)
os._exit(9)
"""
KILLED_TOO = """
import av, numpy, os, sys
noise = numpy.random.default_rng(7).integers(-1 << 30, 1 << 30, (96000, 2)).astype(numpy.int32)
files = []
for kind, codec in (("w64", "pcm_s24le"), ("aiff", "pcm_s24be"), ("flac", "flac")):
    out = av.open(f"{sys.argv[1]}/media library.{kind}", "w", format=kind)
    stream = out.add_stream(codec, rate=48000)
    stream.layout = "stereo"
    if kind == "flac": stream.format = "s32"
    for number in range(20):
        part = noise[number * 4608 : number * 4608 + 4608].reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(part, format="s32", layout="stereo")
        frame.sample_rate, frame.pts = 48000, number * 4608
        out.mux(stream.encode(frame))
    files.append(out)
os._exit(9)
"""


@pytest.fixture(scope="module")
def killed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What two libraries leave behind that were killed in the act, in three containers each."""
    folder = tmp_path_factory.mktemp("killed")
    for script in (KILLED, KILLED_TOO):
        assert subprocess.run([sys.executable, "-c", script, str(folder)], check=False).returncode == 9
    return folder


@pytest.mark.parametrize(
    "name",
    [
        f"{who}.{kind}"
        for who, kinds in (("libsndfile", ("W64", "AIFF", "FLAC")), ("media library", ("w64", "aiff", "flac")))
        for kind in kinds
    ],
)
def test_a_file_whose_writer_was_killed_is_read_to_its_end_and_mended(name: str, killed: Path, tmp_path: Path) -> None:
    path = killed / name
    head = read_head(path)
    assert head.state == "unfinished", head.says
    truth = np.random.default_rng(7).integers(-1 << 30, 1 << 30, (24_000 if "lib" in name[:3] else 96_000, 2)) >> 8
    assert 16_000 < head.frames <= len(truth)
    assert np.array_equal(read_all(head), truth[: head.frames])
    before = path.read_bytes()
    done = mend(path, tmp_path / "mended.wav")
    assert path.read_bytes() == before
    mended = _libsndfile(tmp_path / "mended.wav") * (1 << 23)
    assert np.array_equal(mended, truth[: head.frames])
    assert done.sha256 == hashlib.sha256(packed(truth[: head.frames].astype(np.int32))).hexdigest()
    assert f"out of {head.container} and now WAV" in done.says


def test_an_unfinished_flac_makes_libsndfile_fail(killed: Path) -> None:
    assert soundfile.info(killed / "libsndfile.FLAC").frames == 2**63 - 1
    with pytest.raises(ValueError, match="array is too big"):
        soundfile.read(killed / "libsndfile.FLAC")


def _flac(path: Path, samples: Whole) -> list[int]:
    """Write FLAC of 24 bits; return where its frames begin."""
    _write(path, samples, "FLAC", "PCM_24")
    content = path.read_bytes()
    info = read_streaminfo(content[8:42])
    places = [at for at in range(len(content) - 6) if content[at : at + 2] == b"\xff\xf8"]
    starts = [at for at in places if read_frame_head(content[at : at + 20], info) is not None]
    heads = [read_frame_head(content[at : at + 20], info) for at in starts]
    assert [head.first for head in heads if head] == list(range(0, len(samples), info.block_frames))
    return starts


def test_a_flac_that_was_cut_is_read_to_its_last_whole_frame(tmp_path: Path) -> None:
    path, samples = tmp_path / "take.flac", noise(FRAMES, 2)
    starts = _flac(path, samples)
    content = path.read_bytes()
    for cut, frames in ((starts[2] + 500, 2 * 4096), (starts[3], 3 * 4096), (len(content) - 1, 4 * 4096)):
        path.write_bytes(content[:cut])
        head = read_head(path)
        assert (head.state, head.frames, head.stated_frames) == ("cut", frames, FRAMES), head.says
        assert np.array_equal(read_all(head), samples[:frames])
    path.write_bytes(content[: starts[0] - 20])
    assert read_head(path).state == "unreadable"


def test_a_torn_frame_is_silence_in_its_place_and_is_told(tmp_path: Path) -> None:
    path, samples = tmp_path / "take.flac", noise(FRAMES, 2)
    starts = _flac(path, samples)
    content = bytearray(path.read_bytes())
    content[starts[1] + 5000] ^= 0x10
    path.write_bytes(content)
    head = read_head(path)
    assert head.state == "good"
    damage: list[Damage] = []
    read = np.concatenate([unpack(block, head.form) for block in raw_blocks(head, damage=damage)])
    assert [(one.start, one.end) for one in damage] == [(4096, 8192)]
    samples[4096:8192] = 0
    assert np.array_equal(read, samples)
    done = mend(path, tmp_path / "mended.wav")
    assert "samples 4096 to 8191 could not be decoded, and silence stands there" in done.says


def test_a_wrong_check_sum_is_told_though_every_frame_holds(tmp_path: Path) -> None:
    """libsndfile and the media library both read on without a word."""
    path = tmp_path / "take.flac"
    _flac(path, noise(FRAMES, 2))
    content = bytearray(path.read_bytes())
    content[26] ^= 1  # in the sum of STREAMINFO
    path.write_bytes(content)
    assert len(soundfile.read(path)[0]) == FRAMES
    damage: list[Damage] = []
    for _ in raw_blocks(read_head(path), damage=damage):
        pass
    assert [one.says for one in damage] == ["the samples do not have the check sum that the file states"]


def test_tags_ahead_of_and_behind_a_flac_stream_are_no_audio(tmp_path: Path) -> None:
    path, samples = tmp_path / "take.flac", noise(FRAMES, 1)
    _flac(path, samples)
    path.write_bytes(b"ID3\x04\0\0\0\0\0\x14" + bytes(20) + path.read_bytes() + b"TAG" + bytes(125))
    head = read_head(path)
    assert (head.state, head.frames) == ("good", FRAMES), head.says
    assert np.array_equal(read_all(head), samples)


def test_chunks_that_a_flac_file_keeps_of_its_wav_go_along(tmp_path: Path) -> None:
    """Foreign metadata stands in application blocks: whole chunks behind the letters `riff` (RFC 9639 §8.4)."""
    path = tmp_path / "take.flac"
    _flac(path, noise(FRAMES, 1))
    content = path.read_bytes()
    bext = make_bext(Bext(description="second set", time_reference=123_456_789))
    block = b"riff" + b"bext" + struct.pack("<I", len(bext)) + bext
    path.write_bytes(content[:42] + bytes((2,)) + len(block).to_bytes(3, "big") + block + content[42:-1])
    head = read_head(path)
    assert (head.state, head.bext and head.bext.description, start_of(head)) == ("cut", "second set", 123_456_789)
    assert mend(path, tmp_path / "mended.wav").kept == ("bext",)
    assert read_head(tmp_path / "mended.wav").chunk(b"bext") == bext


def test_marks_and_texts_of_aiff_go_along_as_cue_and_list(tmp_path: Path) -> None:
    mark = struct.pack(">HHIB", 2, 1, 48, 5) + b"count" + struct.pack(">HIB", 2, 240, 4) + b"song\0"
    bext = bytes(602)
    behind = _chunk(b"MARK", mark) + _chunk(b"NAME", b"first set") + _chunk(b"bext", bext)
    path = tmp_path / "take.aif"
    path.write_bytes(_aiff(BIG, 0, total=0, size=0, behind=behind))
    marks = [(48, "count"), (240, "song")]
    assert [(cue.sample, cue.label) for cue in read_cues(read_head(path))] == marks
    done = mend(path, tmp_path / "mended.wav")
    head = read_head(tmp_path / "mended.wav")
    assert [(cue.sample, cue.label) for cue in read_cues(head)] == marks
    assert (done.kept, head.chunk(b"bext")) == (("MARK", "NAME", "bext"), bext)
    assert any(chunk.payload and b"INAM\x0a\0\0\0first set\0" in chunk.payload for chunk in head.behind)


def test_chunks_of_w64_are_found_and_go_along(tmp_path: Path) -> None:
    path = tmp_path / "take.w64"
    _write(path, noise(479, 1), "W64", "PCM_24")
    content = path.read_bytes()
    bext = bytes.fromhex("62657874f3acd3118cd100c04f8edb8a") + struct.pack("<Q", 602 + 24) + bytes(602) + bytes(6)
    content = content + bytes(-len(content) % 8) + bext
    path.write_bytes(content[:16] + struct.pack("<Q", len(content)) + content[24:])
    head = read_head(path)
    assert (head.state, head.frames, [one.id for one in head.behind]) == ("good", 479, [b"bext"]), head.says
    assert taken_along(head).names == ("bext",)


def test_a_w64_past_4_gib_needs_no_rule_of_wrapping(tmp_path: Path) -> None:
    path, audio = tmp_path / "long.w64", 96 * 50_000_000
    _write(path, noise(1, 32), "W64", "PCM_24")
    start = path.read_bytes()[:104]
    total, size = struct.pack("<Q", 104 + audio), struct.pack("<Q", audio + 24)
    with path.open("wb") as file:
        file.write(start[:16] + total + start[24:96] + size)
        file.truncate(104 + audio)
    head = read_head(path)
    assert (head.state, head.frames, head.channels) == ("good", 50_000_000, 32), head.says


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"FORM\0\0\0\x04AIFF", "no audio chunk"),
        (_aiff(BIG, 480, kind=b"ima4"), "compressed (type 'ima4')"),
        (_aiff(BIG, 480, channels=0), "0 channels"),
        (_aiff(BIG, 480, channels=65_535), "65535 channels"),
        (_aiff(BIG, 480)[12:12] + _aiff(BIG, 480)[:12] + _chunk(b"SSND", bytes(8) + BIG), "no COMM chunk"),
        (b"fLaC\0\0\0\x22" + bytes(20), "head is cut"),
        (b"fLaC" + bytes(60), "head is cut or damaged"),
        (b"ID3\x04\0\0\0\0\0\x0a" + bytes(40), "no FLAC stream"),
        (bytes.fromhex("726966662e91cf11a5d628db04c10000") + bytes(40), "not a W64 recording"),
    ],
)
def test_what_cannot_be_read_says_why(content: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "take"
    path.write_bytes(content)
    head = read_head(path)
    assert (head.state, head.frames) == ("unreadable", 0)
    assert says in head.says


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_damage_makes_the_reader_fail(data: st.DataObject, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Whatever bytes change, the frames that are told can be read."""
    kind = data.draw(st.sampled_from(["W64", "AIFF", "FLAC"]))
    path = tmp_path_factory.getbasetemp() / f"fuzz.{kind}"
    _write(path, noise(1000, 2), kind, "PCM_16")
    content = bytearray(path.read_bytes())
    for _ in range(data.draw(st.integers(0, 4))):
        content[data.draw(st.integers(0, min(len(content) - 1, 300)))] = data.draw(st.integers(0, 255))
    path.write_bytes(content[: data.draw(st.integers(0, len(content)))])
    head = read_head(path)
    if head.state != "unreadable" and head.frames < 1_000_000 and head.channels < 64:
        assert len(read_all(head)) == head.frames


def test_no_block_is_cut_inside_a_frame(tmp_path: Path) -> None:
    path = tmp_path / "take.flac"
    _flac(path, noise(FRAMES, 2))
    sizes = [len(block) for block in raw_blocks(read_head(path), 10_000)]
    assert all(size % 6 == 0 for size in sizes)
    assert all(one >= other for one, other in pairwise(sizes))
