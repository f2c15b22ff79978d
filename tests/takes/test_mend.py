"""Mending: every damaged head of the table made good in a new file, chunk for chunk and sample for sample."""

from __future__ import annotations

import gzip
import hashlib
import io
import os
import sqlite3
import struct
import zipfile
import zlib
from pathlib import Path

import numpy as np
import pytest
import segno
import soundfile
from numpy.typing import NDArray
from takes.wave.handmade import FF, chunk, fmt, form, noise, packed
from takes.wave.test_damaged_heads import ROWS, SAMPLES

from fieldfare.takes.mend import join, mend, mend_headless, offers
from fieldfare.takes.wave import (
    Bext,
    Cue,
    Head,
    WaveWriter,
    find_takes,
    make_bext,
    make_cues,
    read_all,
    read_cues,
    read_head,
    write,
)
from fieldfare.units.faults import Fault, NotDone

DAMAGED = [name for name, row in ROWS.items() if row.state != "good"]


@pytest.mark.parametrize("name", DAMAGED)
def test_every_damaged_head_is_made_good_with_the_same_samples(name: str, tmp_path: Path) -> None:
    row = ROWS[name]
    path, target = tmp_path / "take.wav", tmp_path / "take mended.wav"
    path.write_bytes(row.content)
    os.utime(path, ns=(10**18, 10**18))
    mended = mend(path, target)
    assert path.read_bytes() == row.content
    assert (path.stat().st_mtime_ns, sorted(tmp_path.iterdir())) == (10**18, [target, path])
    head = read_head(target)
    assert (head.state, head.frames, mended.frames) == ("good", row.frames, row.frames)
    assert len(soundfile.read(target)[0]) == row.frames
    audio = packed(SAMPLES[: row.frames])
    assert mended.sha256 == hashlib.sha256(audio).hexdigest()
    assert np.array_equal(read_all(head), SAMPLES[: row.frames])
    assert (mended.source.header, mended.source.frames) == (row.state, row.frames)


@pytest.mark.parametrize(
    ("name", "dropped"), [("3 bytes short", 3), ("data not whole frames", 4), ("stale: both half", 0)]
)
def test_a_last_frame_that_is_not_whole_is_dropped_and_said(name: str, dropped: int, tmp_path: Path) -> None:
    (tmp_path / "take.wav").write_bytes(ROWS[name].content)
    mended = mend(tmp_path / "take.wav", tmp_path / "new.wav")
    assert mended.dropped_bytes == dropped
    assert ("were dropped" in mended.says) == bool(dropped)


def test_every_chunk_survives_and_the_sizes_are_right(tmp_path: Path) -> None:
    """bext and iXML ahead, marks and an unknown chunk behind; then the rules of a whole RIFF file, by hand."""
    cue, labels = make_cues([Cue(100, "song 1"), Cue(300, "song 2")])
    bext = make_bext(Bext(description="snare, top", time_reference=5))
    before = (
        chunk(b"bext", bext) + chunk(b"iXML", b"<BWFXML><NOTE>odd</NOTE></BWFXML>") + chunk(b"zzzz", b"\x01\x02\x03")
    )
    behind = chunk(*cue) + chunk(*labels)
    audio = packed(noise(481, 1))
    path, target = tmp_path / "take.wav", tmp_path / "new.wav"
    path.write_bytes(form(b"RIFF", before + fmt(1) + chunk(b"data", audio, FF) + behind, 0))
    mended = mend(path, target)
    assert mended.kept == ("bext", "iXML", "zzzz", "cue", "LIST")
    head = read_head(target)
    assert [(one.id, one.payload) for one in head.before] == [
        (b"bext", bext),
        (b"iXML", b"<BWFXML><NOTE>odd</NOTE></BWFXML>"),
        (b"zzzz", b"\x01\x02\x03"),
    ]
    assert read_cues(head) == (Cue(100, "song 1"), Cue(300, "song 2"))
    content = target.read_bytes()
    assert struct.unpack_from("<I", content, 4) == (len(content) - 8,)
    assert struct.unpack_from("<I", content, head.data_start - 4) == (len(audio),)
    assert len(audio) % 2 == 1
    assert content[head.data_start + len(audio)] == 0
    assert hashlib.sha256(audio).hexdigest() == mended.sha256


def test_what_needs_no_mending_or_stands_in_the_way_is_told(tmp_path: Path) -> None:
    good, bad, there = tmp_path / "good.wav", tmp_path / "bad.wav", tmp_path / "there.wav"
    good.write_bytes(ROWS["good"].content)
    bad.write_bytes(ROWS["RIFF 0, data 0"].content)
    there.write_bytes(b"somebody's")
    with pytest.raises(NotDone, match="there is nothing to mend"):
        mend(good, tmp_path / "new.wav")
    with pytest.raises(NotDone, match=r"there\.wav: a file is there already, and is left alone"):
        mend(bad, there)
    with pytest.raises(NotDone, match="a file is there already"):
        mend(bad, bad)
    (tmp_path / "raw.wav").write_bytes(bytes(1_000))
    with pytest.raises(NotDone, match="header was never written; say how many channels and bits it has"):
        mend(tmp_path / "raw.wav", tmp_path / "new.wav")
    with pytest.raises(NotDone, match="cannot be written"):
        mend(bad, tmp_path / "none" / "new.wav")
    assert there.read_bytes() == b"somebody's"
    assert len(list(tmp_path.iterdir())) == 4


def test_a_new_file_that_does_not_hold_the_same_samples_is_not_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disc that loses a bit between the writing and the reading back."""
    take = WaveWriter.write_packed
    monkeypatch.setattr(
        WaveWriter, "write_packed", lambda file, packed: take(file, bytes([packed[0] ^ 1]) + bytes(packed[1:]))
    )
    (tmp_path / "take.wav").write_bytes(ROWS["RIFF 0, data 0"].content)
    with pytest.raises(NotDone, match="does not hold the same samples when read back"):
        mend(tmp_path / "take.wav", tmp_path / "new.wav")
    assert [path.name for path in tmp_path.iterdir()] == ["take.wav"]


def _music(frames: int, channels: int, seed: int) -> NDArray[np.float64]:
    """Return something like a stage: low-passed noise of its own on each channel, at its own level, with spill."""
    rng = np.random.default_rng(seed)
    sound = np.cumsum(rng.normal(0, 1, (frames, channels)), axis=0)
    sound -= np.linspace(sound[0], sound[-1], frames)
    sound += 0.05 * np.roll(sound, 1, axis=1) + rng.normal(0, 0.3, sound.shape)
    level = 10 ** (-rng.uniform(6, 50, channels) / 20)
    result: NDArray[np.float64] = sound / np.abs(sound).max(axis=0) * level
    return result


def _bytes(values: NDArray[np.float64], bits: int, is_float: bool, folder: Path) -> bytes:
    path = folder / "made.wav"
    with write(path, 48_000, bits, values.shape[1], is_float=is_float) as file:
        file.write(values if is_float else np.round(values * (2 ** (bits - 1) - 1)).astype(np.int64))
    head = read_head(path)
    content = path.read_bytes()[head.data_start : head.data_start + head.data_bytes]
    path.unlink()
    return content


@pytest.mark.parametrize(("bits", "is_float"), [(16, False), (24, False), (32, True)])
@pytest.mark.parametrize("channels", [1, 2, 8, 18, 32])
def test_the_bytes_of_a_headless_file_tell_channels_and_depth(
    bits: int, is_float: bool, channels: int, tmp_path: Path
) -> None:
    path = tmp_path / "raw.wav"
    path.write_bytes(bytes(512) + _bytes(_music(60_000, channels, channels), bits, is_float, tmp_path))
    best = offers(path)[0]
    assert (best.channels, best.bits, best.is_float, best.data_start) == (channels, bits, is_float, 512)
    assert best.confidence > 0.6
    assert best.rate_hz is None
    assert f"resemble those {channels} on by" in best.why


def test_what_tells_nothing_is_not_guessed(tmp_path: Path) -> None:
    path = tmp_path / "raw.wav"
    path.write_bytes(bytes(1_000_000))
    assert offers(path) == ()
    path.write_bytes(np.random.default_rng(1).bytes(2_000_000))
    assert all(offer.confidence < 0.1 for offer in offers(path))
    path.write_bytes(bytes(range(0x80, 0x85)))
    assert all(offer.confidence < 0.1 for offer in offers(path))


def _deflated() -> bytes:
    """What is left of an archive without its head."""
    words = np.random.default_rng(2).integers(97, 123, 400_000, np.uint8).tobytes()
    return zlib.compress(words)[64:]


def _listing(encoding: str) -> bytes:
    return "".join(f"{number},Stimme {number},größer\r\n" for number in range(9_000)).encode(encoding)


def _zip() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("list.csv", _listing("utf-8"))
    return out.getvalue()


def _picture(kind: str) -> bytes:
    out = io.BytesIO()
    segno.make("fieldfare " * 60).save(out, kind=kind, scale=20)
    return out.getvalue()


def _database() -> bytes:
    with sqlite3.connect(":memory:") as base:
        base.execute("create table a (b)")
        base.executemany("insert into a values (?)", [(number,) for number in range(20_000)])
        base.commit()
        return base.serialize()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (_listing("utf-8"), "text"),
        (_listing("utf-8-sig"), "text"),
        (_listing("utf-16"), "text"),
        (_picture("svg"), "text"),
        (_picture("png"), "a picture"),
        (_picture("pdf"), "a PDF"),
        (_zip(), "an archive"),
        (gzip.compress(_listing("utf-8")), "an archive"),
        (_database(), "a database"),
    ],
)
def test_what_is_plainly_something_else_is_told_from_audio(tmp_path: Path, content: bytes, says: str) -> None:
    """Written by other libraries, as lists, papers and pictures come onto a card beside recordings of 24 bits."""
    beside = _take_of_24_bits(tmp_path)
    (tmp_path / "02.wav").write_bytes(content)
    with pytest.raises(Fault, match=rf"02\.wav: holds {says}.*, not samples; name the recording"):
        offers(tmp_path / "02.wav", beside)


@pytest.mark.parametrize("content", [_deflated(), _listing("cp1252"), bytes(4096) + _listing("utf-8")])
def test_bytes_that_are_like_no_samples_are_offered_as_none(tmp_path: Path, content: bytes) -> None:
    """Not even where all files beside it are alike: those tell how samples lie, not that these are some."""
    beside = _take_of_24_bits(tmp_path)
    (tmp_path / "02.wav").write_bytes(content)
    assert all(offer.confidence < 0.1 for offer in offers(tmp_path / "02.wav", beside))


def _take_of_24_bits(folder: Path) -> list[Head]:
    with write(folder / "01.wav", 48_000, 24, 1) as file:
        file.write(np.zeros((10, 1), np.int32))
    return [read_head(folder / "01.wav")]


def test_neighbours_tell_what_the_bytes_cannot(tmp_path: Path) -> None:
    values = _music(60_000, 1, 3)
    for name in ("01", "02", "03"):
        with write(tmp_path / f"{name}.wav", 96_000, 24, 1) as file:
            file.write(np.round(values * 8_000_000).astype(np.int64))
    whole = (tmp_path / "03.wav").read_bytes()
    (tmp_path / "03.wav").write_bytes(bytes(80) + whole[80:])
    found = find_takes(tmp_path)
    (headless,) = found.unreadable
    beside = [head for take in found.take for strand in take.strand for head in strand.part]
    best = offers(headless.path, beside)[0]
    assert (best.channels, best.bits, best.rate_hz, best.data_start, best.confidence) == (1, 24, 96_000, 80, 0.95)
    assert best.why == "2 of 2 files beside it are like that, and the bytes fit it"
    mended = mend_headless(headless.path, tmp_path / "new.wav", best.data_start, 1, 96_000, 24)
    assert mended.frames == 60_000
    assert np.array_equal(read_all(read_head(tmp_path / "new.wav")), np.round(values * 8_000_000))


def test_neighbours_are_doubted_where_the_bytes_speak_against_them(tmp_path: Path) -> None:
    with write(tmp_path / "01.wav", 48_000, 16, 2) as file:
        file.write(np.zeros((10, 2), np.int32))
    path = tmp_path / "02.wav"
    path.write_bytes(bytes(512) + _bytes(_music(60_000, 2, 5), 24, False, tmp_path))
    best, *others = offers(path, [read_head(tmp_path / "01.wav")])
    assert (best.bits, best.channels) == (24, 2)
    assert any("but the bytes look like 24 bits" in offer.why for offer in others)


def test_audio_behind_a_broken_chunk_is_found_by_its_letters(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    audio = _bytes(_music(60_000, 4, 6), 24, False, tmp_path)
    path.write_bytes(form(b"RIFF", chunk(b"LIST", b"torn", 1 << 30) + fmt(4) + chunk(b"data", audio, 0)))
    assert read_head(path).state == "unreadable"
    best = offers(path)[0]
    assert (best.data_start, best.channels, best.bits) == (path.stat().st_size - len(audio), 4, 24)
    mended = mend_headless(path, tmp_path / "new.wav", best.data_start, best.channels, 48_000, best.bits)
    assert mended.sha256 == hashlib.sha256(audio).hexdigest()


def test_a_start_with_no_audio_behind_it_is_refused(tmp_path: Path) -> None:
    (tmp_path / "take.wav").write_bytes(bytes(100))
    with pytest.raises(NotDone, match="no audio lies behind byte 98; give another start"):
        mend_headless(tmp_path / "take.wav", tmp_path / "new.wav", 98, 1, 48_000, 24)


def _parts(folder: Path, gap: int) -> None:
    start = 48_000
    for number in (1, 2, 3):
        before = [(b"bext", make_bext(Bext(time_reference=start)))]
        with write(folder / f"show_{number}.wav", 48_000, 24, 3, before=before) as file:
            file.write(noise(1_000, 3, number))
        start += 1_000 + (gap if number == 1 else 0)


def test_parts_are_joined_with_every_sample_in_its_place(tmp_path: Path) -> None:
    _parts(tmp_path, 0)
    (tmp_path / "show_3.wav").write_bytes(_with_lost_sizes((tmp_path / "show_3.wav").read_bytes()))
    (take,) = find_takes(tmp_path).take
    joined = join(take.strand[0], tmp_path / "whole.wav")
    head = read_head(tmp_path / "whole.wav")
    assert (head.state, head.frames, joined.frames) == ("good", 3_000, 3_000)
    assert np.array_equal(read_all(head), np.concatenate([noise(1_000, 3, number) for number in (1, 2, 3)]))
    assert head.bext is not None
    assert head.bext.time_reference == 48_000
    assert joined.says.startswith("3 parts joined: each starts on the sample after")


def _with_lost_sizes(content: bytes) -> bytes:
    """Return a file whose writer was killed: both sizes as at the start."""
    data = content.index(b"data")
    return content[:4] + bytes(4) + content[8 : data + 4] + bytes(4) + content[data + 8 :]


def test_missing_samples_are_filled_only_when_asked(tmp_path: Path) -> None:
    _parts(tmp_path, 700)
    for path in tmp_path.iterdir():  # one family, so that the gap is believed
        content = path.read_bytes()
        ixml = chunk(b"iXML", b"<BWFXML><FILE_SET><FAMILY_UID>n</FAMILY_UID></FILE_SET></BWFXML>")
        path.write_bytes(form(b"RIFF", ixml + content[12:]))
    (take,) = find_takes(tmp_path).take
    with pytest.raises(NotDone, match=r"700 samples between show_1\.wav and show_2\.wav are missing; have them filled"):
        join(take.strand[0], tmp_path / "whole.wav")
    joined = join(take.strand[0], tmp_path / "whole.wav", fill_gaps=True)
    samples = read_all(read_head(tmp_path / "whole.wav"))
    assert joined.frames == len(samples) == 3_700
    assert not samples[1_000:1_700].any()
    assert np.array_equal(samples[1_700:2_700], noise(1_000, 3, 2))
    assert "700 samples of silence at 0:00:00.021, after show_1.wav" in joined.says
