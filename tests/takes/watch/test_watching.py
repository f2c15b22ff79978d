"""The command as its user runs it, beside a process that really records and is then stopped or killed."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest

from fieldfare.takes.watch import Event, LineCheck

_RECORDER = """
import os, sys, time, wave
import numpy as np, soundfile
folder, kind, seconds = sys.argv[1], sys.argv[2], float(sys.argv[3])
rate, step = 48000, 4800
sine = 0.5 * np.sin(2 * np.pi * 440 * np.arange(step) / rate)
names = ("01_kick", "02_snare")
if kind == "wave":
    files = [wave.open(f"{folder}/{name}.wav", "wb") for name in names]
    for file in files:
        file.setnchannels(1); file.setsampwidth(3); file.setframerate(rate)
    packed = np.round(sine * 2**23).astype("<i4").view("u1").reshape(-1, 4)[:, :3].tobytes()
    write = lambda file: file.writeframesraw(packed)
else:
    files = [soundfile.SoundFile(f"{folder}/{name}.wav", "w", rate, 1, "PCM_24") for name in names]
    write = lambda file: file.write(sine)
end = time.monotonic() + seconds
while time.monotonic() < end and not os.path.exists(folder + ".stop"):
    for file in files:
        write(file)
    time.sleep(step / rate)
for file in files:
    file.close()
if kind == "renames":
    for name in names:
        os.rename(f"{folder}/{name}.wav", f"{folder}/set one {name}.wav")
    time.sleep(60)
"""
_INTERLEAVED = """
import struct, sys, time
import numpy as np
path, seconds = sys.argv[1], float(sys.argv[2])
rate, channels, step = 48000, 8, 4800
form = struct.pack("<HHIIHH", 1, channels, rate, rate * channels * 3, channels * 3, 24)
sine = 0.25 * np.sin(2 * np.pi * 440 * np.arange(step) / rate)
block = np.zeros((step, channels), "<i4")
block[:, :7] = np.round(sine * 2**23)[:, None]
block[:, 7] = 1234
packed = block.view("u1").reshape(step, channels, 4)[..., :3].tobytes()
with open(path, "wb", buffering=0) as file:
    file.write(b"RIFF" + bytes(4) + b"WAVEfmt " + struct.pack("<I", 16) + form + b"data" + bytes(4))
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        file.write(packed)
        time.sleep(step / rate)
"""


def _command(*words: str | Path) -> list[str]:
    return [sys.executable, "-m", "fieldfare", "watch", *map(str, words)]


def _events(text: str) -> list[Event]:
    return [Event.model_validate_json(line) for line in text.splitlines()]


@pytest.mark.parametrize("kind", ["wave", "soundfile"])
def test_a_real_writer_is_heard_and_its_levels_are_kept(tmp_path: Path, kind: str) -> None:
    folder, kept = tmp_path / "card", tmp_path / "line-check.json"
    folder.mkdir()
    with subprocess.Popen([sys.executable, "-c", _RECORDER, str(folder), kind, "30"]) as recorder:
        while not list(folder.glob("02*.wav")):
            time.sleep(0.05)
        command = _command(folder, "--json", "--every", "0.5", "--for", "4", "--keep", kept)
        done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
        recorder.kill()
    events = _events(done.stdout)
    assert done.stderr == ""
    assert [event.kind for event in events][-1] == "summary"
    assert "rolling" in [event.kind for event in events]
    assert {event.severity for event in events} == {"note"}
    assert done.returncode == 0
    levels = LineCheck.model_validate_json(kept.read_text(encoding="utf-8")).level
    assert {one.track: one.loud_dbfs for one in levels} == pytest.approx({"kick": -6.0, "snare": -6.0}, abs=0.1)
    assert sorted(path.name for path in folder.iterdir()) == ["01_kick.wav", "02_snare.wav"]


def test_a_recorder_that_renames_at_the_close_has_lost_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "card"
    folder.mkdir()
    events: list[Event] = []
    recorder = subprocess.Popen([sys.executable, "-c", _RECORDER, str(folder), "renames", "60"])
    watching = subprocess.Popen(
        _command(folder, "--json", "--every", "0.3", "--for", "60"), stdout=subprocess.PIPE, text=True, encoding="utf-8"
    )
    with recorder, watching:
        try:
            assert watching.stdout is not None
            for line in watching.stdout:
                events.append(Event.model_validate_json(line))
                if events[-1].kind == "rolling":
                    (tmp_path / "card.stop").touch()
                if sum(event.kind in ("renamed", "vanished") for event in events) == 2:
                    break
        finally:
            watching.kill()
            recorder.kill()
    assert sorted(event.says for event in events if event.kind in ("renamed", "vanished")) == [
        "01_kick.wav is called set one 01_kick.wav now", "02_snare.wav is called set one 02_snare.wav now"
    ]  # fmt: skip


def test_an_interleaved_file_whose_header_is_never_touched_is_heard_by_the_list_of_inputs(tmp_path: Path) -> None:
    listed = tmp_path / "inputs.csv"
    listed.write_text("channel,source\n" + "".join(f"{n},Source {n}\n" for n in range(1, 10)), encoding="utf-8")
    folder = tmp_path / "card"
    folder.mkdir()
    with subprocess.Popen([sys.executable, "-c", _INTERLEAVED, str(folder / "take.wav"), "60"]) as recorder:
        while not list(folder.glob("take.wav")):
            time.sleep(0.05)
        command = _command(folder, "--inputs", listed, "--json", "--every", "0.5", "--for", "3")
        done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
        recorder.kill()
    events = _events(done.stdout)
    assert {event.track for event in events if event.kind == "stuck"} == {"Source 8"}
    assert not {"stalled", "rate", "stopped", "unreadable"} & {event.kind for event in events}
    assert events[-1].figures["tracks"] == 8
    assert done.returncode == 1


def test_looking_once_at_a_folder_where_nothing_grows(tmp_path: Path) -> None:
    command = _command(tmp_path, "--once", "--every", "0.2", "--json")
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    first, last = _events(done.stdout)
    assert (first.kind, last.kind, last.figures["tracks"]) == ("status", "summary", 0)
    assert done.returncode == 0


@pytest.mark.skipif(sys.platform == "win32", reason="no such signal there")
def test_ctrl_c_ends_with_a_summary(tmp_path: Path) -> None:
    heeded = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # even where the tests run in the background
    with subprocess.Popen(
        _command(tmp_path, "--every", "0.2"),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=heeded,
    ) as watching:
        assert watching.stdout is not None
        assert "0 recordings lie here" in watching.stdout.readline()
        watching.send_signal(signal.SIGINT)
        out, err = watching.communicate(timeout=30)
    assert err == ""
    assert "watched for" in out
    assert watching.returncode == 0


def test_requests_that_are_wrong(tmp_path: Path) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text("{}", encoding="utf-8")
    for words, says in (
        ([tmp_path / "nowhere"], "there is no such folder"),
        ([tmp_path, "--keep", tmp_path / "levels.json"], "lies in the folder that is watched"),
        ([tmp_path, "--keep", tmp_path.parent / "nowhere" / "levels.json"], "is no file that can be written"),
        ([tmp_path, "--line-check", bad], "holds no levels of a line check"),
    ):
        done = subprocess.run(
            _command(*words, "--once", "--json"), capture_output=True, text=True, encoding="utf-8", check=False
        )
        assert done.returncode == 2
        assert says in json.loads(done.stdout)["fault"][0]["what"]
