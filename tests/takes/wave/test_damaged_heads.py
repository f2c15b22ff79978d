"""Headers as damage and killed writers leave them.

Each row also says what the reference library (libsndfile 1.2.2) makes of the same bytes, measured by running it: where
it reads no frames, or too few, without an error, a test below holds that the trap is real.
"""

from __future__ import annotations

import subprocess
import sys
import wave
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
import soundfile
from takes.wave.handmade import FF, chunk, ds64, fmt, form, noise, packed, sparse, wav

from fieldfare.takes.wave import read_all, read_head

FRAMES = 480
SAMPLES = noise(FRAMES, 2)
AUDIO = packed(SAMPLES)
SIZE = len(AUDIO)
ODD = AUDIO[: 3 * 479]  # of one channel
INFO = chunk(b"LIST", b"INFOISFT" + b"\x04\0\0\0rec\0")


class Row(NamedTuple):
    """A file, what has to be read from it, and what the reference library reads."""

    content: bytes
    state: str
    frames: int
    says: str
    library_frames: int | None  # None: it refuses


ROWS = {
    "good": Row(wav(AUDIO), "good", FRAMES, "", FRAMES),
    "RIFF 8, data 0": Row(wav(AUDIO, 8, 0), "unfinished", FRAMES, "never finished", FRAMES),
    "RIFF 0, data 0": Row(wav(AUDIO, 0, 0), "unfinished", FRAMES, "never finished", 0),
    "RIFF 36, data 0": Row(wav(AUDIO, 36, 0), "unfinished", FRAMES, "never finished", 0),
    "RIFF FF, data 0": Row(wav(AUDIO, FF, 0), "unfinished", FRAMES, "never finished", 0),
    "RIFF FF, data FF": Row(wav(AUDIO, FF, FF), "unfinished", FRAMES, "never finished", FRAMES),
    "RIFF 0, data FF": Row(wav(AUDIO, 0, FF), "unfinished", FRAMES, "never finished", FRAMES),
    "planned size": Row(wav(AUDIO, 0x7FFFF024, 0x7FFFF000), "unfinished", FRAMES, "never finished", FRAMES),
    "stale: both half": Row(wav(AUDIO, SIZE // 2 + 36, SIZE // 2), "stale", FRAMES, "out of date", FRAMES // 2),
    "body cut in half": Row(wav(AUDIO)[: 44 + SIZE // 2], "cut", FRAMES // 2, "ends early", FRAMES // 2),
    "3 bytes short": Row(wav(AUDIO)[:-3], "cut", FRAMES - 1, "last frame has only 3 of its 6", FRAMES - 1),
    "odd data, no pad, then LIST": Row(
        form(b"RIFF", fmt(1) + chunk(b"data", ODD, pad=False) + INFO), "good", 479, "", 479
    ),
    "odd data, pad, then LIST": Row(form(b"RIFF", fmt(1) + chunk(b"data", ODD) + INFO), "good", 479, "", 479),
    "odd data, no pad, end": Row(form(b"RIFF", fmt(1) + chunk(b"data", ODD, pad=False)), "good", 479, "", 479),
    "JUNK 28 before fmt": Row(
        form(b"RIFF", chunk(b"JUNK", bytes(28)) + fmt() + chunk(b"data", AUDIO)), "good", FRAMES, "", FRAMES
    ),
    "RF64 good": Row(
        form(b"RF64", ds64(SIZE + 72, SIZE, FRAMES) + fmt() + chunk(b"data", AUDIO, FF), FF), "good", FRAMES, "", FRAMES
    ),
    "RF64 ds64 all zero": Row(
        form(b"RF64", ds64(0, 0, 0) + fmt() + chunk(b"data", AUDIO, FF), FF), "unfinished", FRAMES, "never finished", 0
    ),
    "RF64 ds64 as a killed writer leaves it": Row(
        form(b"RF64", ds64(2**64 - 8, 0, 0) + fmt() + chunk(b"data", AUDIO, FF), FF), "unfinished", FRAMES, "never", 0
    ),
    "RF64 stale": Row(
        form(b"RF64", ds64(SIZE // 2 + 72, SIZE // 2, FRAMES // 2) + fmt() + chunk(b"data", AUDIO, FF), FF),
        "stale", FRAMES, "out of date", FRAMES // 2,
    ),
    "RF64 without ds64": Row(
        form(b"RF64", fmt() + chunk(b"data", AUDIO, FF), FF), "unfinished", FRAMES, "never finished", None
    ),
    "BW64 good": Row(
        form(b"BW64", ds64(SIZE + 72, SIZE, 0) + fmt() + chunk(b"data", AUDIO, FF), FF), "good", FRAMES, "", None
    ),
    "data before fmt": Row(form(b"RIFF", chunk(b"data", AUDIO) + fmt()), "good", FRAMES, "", None),
    "data 0 before fmt": Row(form(b"RIFF", chunk(b"data", AUDIO, 0) + fmt(), 0), "unfinished", FRAMES, "never", None),
    "stale, with chunks behind": Row(
        wav(AUDIO, SIZE // 2 + 36, SIZE // 2, INFO), "stale", FRAMES, "out of date", FRAMES // 2
    ),
    "unfinished, with chunks behind": Row(wav(AUDIO, FF, FF, INFO), "unfinished", FRAMES, "never", FRAMES + 4),
    "odd LIST, no pad, then bext": Row(
        wav(AUDIO, behind=chunk(b"LIST", b"INFOx", pad=False) + chunk(b"bext", bytes(602))), "good", FRAMES, "", FRAMES
    ),
    "zeros behind a chunk, to the end of a sector": Row(
        wav(AUDIO, SIZE + 72, behind=INFO + bytes(999)), "stale", FRAMES, "audio is whole", FRAMES
    ),
    "a few stray bytes": Row(wav(AUDIO, SIZE + 36, SIZE) + b"\x01\x02\x03\x04\x05", "good", FRAMES, "", FRAMES),
    "one frame forgotten": Row(wav(AUDIO, SIZE + 30, SIZE - 6), "stale", FRAMES, "goes on for 6 more", FRAMES - 1),
    "nothing recorded": Row(wav(b""), "good", 0, "", 0),
    "nothing recorded, never finished": Row(wav(b"", 0, 0), "unfinished", 0, "no audio was written", 0),
    "total wrong, audio whole": Row(wav(AUDIO, 0), "stale", FRAMES, "audio is whole", FRAMES),
    "data not whole frames": Row(wav(AUDIO[:-2]), "cut", FRAMES - 1, "last frame has only 4 of its 6", FRAMES - 1),
}  # fmt: skip


@pytest.mark.parametrize("name", ROWS)
def test_the_audio_that_is_there_is_read_and_the_state_is_told(name: str, tmp_path: Path) -> None:
    row = ROWS[name]
    path = tmp_path / "take.wav"
    path.write_bytes(row.content)
    head = read_head(path)
    assert (head.state, head.frames) == (row.state, row.frames), head.says
    assert row.says in head.says
    assert bool(head.says) == (row.state != "good")
    assert np.array_equal(read_all(head).ravel(), SAMPLES.ravel()[: row.frames * head.channels])


def test_no_chunk_behind_a_forgotten_pad_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    path.write_bytes(ROWS["odd LIST, no pad, then bext"].content)
    assert [one.id for one in read_head(path).behind] == [b"LIST", b"bext"]


def test_the_letters_of_a_chunk_within_the_audio_are_audio(tmp_path: Path) -> None:
    audio = AUDIO[:-600] + b"LIST\x04\x00\x00\x00" + AUDIO[-592:]
    path = tmp_path / "take.wav"
    path.write_bytes(wav(audio, FF, FF))
    head = read_head(path)
    assert (head.frames, head.behind) == (FRAMES, ())
    assert packed(read_all(head).astype(np.int32)) == audio


@pytest.mark.parametrize("name", ROWS)
def test_the_traps_are_real(name: str, tmp_path: Path) -> None:
    """What the reference library makes of the same bytes: so many frames, or a refusal."""
    row = ROWS[name]
    path = tmp_path / "take.wav"
    path.write_bytes(row.content)
    if row.library_frames is None:
        with pytest.raises(soundfile.LibsndfileError, match="Error opening"):
            soundfile.read(path)
    else:
        assert len(soundfile.read(path)[0]) == row.library_frames


KILLED = {
    "libsndfile WAV": (
        "import soundfile, numpy, sys, os\n"
        "f = soundfile.SoundFile(sys.argv[1], 'w', 48000, 2, 'PCM_24', format='WAV')\n"
        "f.write(numpy.full((24000, 2), 1 << 20, numpy.int32)); f.flush(); os._exit(9)",
        "unfinished",
        24_000,
    ),
    "libsndfile RF64": (
        "import soundfile, numpy, sys, os\n"
        "f = soundfile.SoundFile(sys.argv[1], 'w', 48000, 2, 'PCM_24', format='RF64')\n"
        "f.write(numpy.full((24000, 2), 1 << 20, numpy.int32)); f.flush(); os._exit(9)",
        "unfinished",
        24_000,
    ),
    "Python wave": (
        "import wave, sys, os\n"
        "raw = open(sys.argv[1], 'wb', buffering=0); f = wave.open(raw, 'wb')\n"
        "f.setparams((2, 3, 48000, 0, 'NONE', ''))\n"
        "for _ in range(50): f.writeframesraw(b'abcdef' * 480)\n"
        "os._exit(9)",
        "stale",
        24_000,
    ),
    "ffmpeg WAV": ("OPTIONS = {}", "unfinished", None),
    "ffmpeg RF64 where needed": ("OPTIONS = {'rf64': 'auto'}", "unfinished", None),
    "ffmpeg RF64 always": ("OPTIONS = {'rf64': 'always'}", "unfinished", None),
}
FFMPEG = """
import av, numpy, os, sys
out = av.open(sys.argv[1], 'w', format='wav', options=OPTIONS)
stream = out.add_stream('pcm_s24le', rate=48000, layout='stereo')
for number in range(20):
    frame = av.AudioFrame.from_ndarray(numpy.full((1, 9600), 1 << 28, numpy.int32), format='s32', layout='stereo')
    frame.sample_rate, frame.pts = 48000, number * 4800
    out.mux(stream.encode(frame))
os._exit(9)
"""


@pytest.mark.parametrize("name", KILLED)
def test_a_file_whose_writer_was_killed_is_read_to_its_end(name: str, tmp_path: Path) -> None:
    script, state, frames = KILLED[name]
    path = tmp_path / "take.wav"
    run = subprocess.run([sys.executable, "-c", script + (FFMPEG if "ffmpeg" in name else ""), str(path)], check=False)
    assert run.returncode == 9
    head = read_head(path)
    assert head.state == state
    assert head.frames == (frames if frames is not None else (path.stat().st_size - head.data_start) // 6)
    first = next(iter(read_all(head).ravel()))
    assert int(first) == (
        int.from_bytes(b"abc", "little") if name == "Python wave" else 1 << (12 if "lib" in name else 20)
    )


def test_the_standard_library_reads_a_stale_file_short(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    path.write_bytes(ROWS["stale: both half"].content)
    with wave.open(str(path)) as file:
        assert len(file.readframes(FRAMES)) // 6 == FRAMES // 2


LONG = 50_000_000  # frames of 32 channels of 24 bits
LONG_BYTES = LONG * 96


def _long_head(riff: int, data: int) -> bytes:
    return form(b"RIFF", fmt(32) + chunk(b"data", b"", data), riff)


@pytest.mark.parametrize(
    ("riff", "data", "state", "library_frames"),
    [
        ((LONG_BYTES + 36) % 2**32, LONG_BYTES % 2**32, "wrapped", 5_260_757),
        (FF, FF, "wrapped", 44_739_242),
        (8, 0, "unfinished", LONG),
        (0, 0, "unfinished", 0),
    ],
)
def test_past_4_gib_every_frame_is_counted(
    riff: int, data: int, state: str, library_frames: int, tmp_path: Path
) -> None:
    path = tmp_path / "long.wav"
    sparse(path, _long_head(riff, data), LONG_BYTES)
    head = read_head(path)
    assert (head.state, head.frames) == (state, LONG), head.says
    assert soundfile.info(path).frames == library_frames


def test_a_wrapped_size_is_told_with_chunks_behind_the_audio(tmp_path: Path) -> None:
    path = tmp_path / "long.wav"
    sparse(path, _long_head(0, LONG_BYTES % 2**32), LONG_BYTES, INFO)
    head = read_head(path)
    assert (head.state, head.frames, [one.id for one in head.behind]) == ("wrapped", LONG, [b"LIST"])


def test_what_libsndfile_writes_past_4_gib_without_an_error(tmp_path: Path) -> None:
    """Both sizes are capped: 380,758 frames are there that readers do not see."""
    path = tmp_path / "long.wav"
    with soundfile.SoundFile(path, "w", 48_000, 32, "PCM_24", format="WAV") as file:
        file.write(np.ones((10, 32), np.int32))
        file.seek(45_119_000)  # leaves a hole
        file.write(np.ones((1_000, 32), np.int32))
    assert soundfile.info(path).frames == 44_739_242
    head = read_head(path)
    assert (head.state, head.frames) == ("wrapped", 45_120_000)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "the file is empty"),
        (bytes(4096), "header was never written"),
        (b"RIFX" + bytes(40), "big end first"),
        (b"not a recording at all", "not a WAV"),
        (form(b"RIFF", fmt()), "no audio chunk"),
        (form(b"RIFF", fmt(tag=0x55) + chunk(b"data", AUDIO)), "compressed"),
        (form(b"RIFF", fmt(channels=0) + chunk(b"data", AUDIO)), "0 channels"),
        (form(b"RIFF", fmt(rate_hz=1) + chunk(b"data", AUDIO)), "states 1 samples a second, at which no sound"),
        (form(b"RIFF", fmt(rate_hz=1 << 29) + chunk(b"data", AUDIO)), "states 536870912 samples a second"),
        (form(b"RIFF", chunk(b"fmt ", bytes(10)) + chunk(b"data", AUDIO)), "at least 16"),
        (form(b"RIFF", chunk(b"data", AUDIO)), "no format chunk"),
        (form(b"RIFF", fmt() + b"\xff\x01\x02\x03" + AUDIO), "at byte 36 stands no chunk"),
        (form(b"RIFF", chunk(b"LIST", AUDIO, 1 << 30) + fmt() + chunk(b"data", AUDIO)), "at byte 12 stands no chunk"),
    ],
)
def test_what_cannot_be_read_says_why(content: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    path.write_bytes(content)
    head = read_head(path)
    assert head.state == "unreadable"
    assert says in head.says
    assert head.frames == 0
