"""Times measuring beside the media library's statistics filter, in one run on the same files, in processor time.

python bench/measure.py speed [seconds of sound] [rounds] [folder]
python bench/measure.py growth

The filter tells levels, peaks and differences; measuring tells those and everything else that the track check goes by.
It is run in this process and, where the program is there, by the library's own program with one thread, which may be of
another version and is faster. All read the same files from the cache. Rounds are interleaved; the median of the ratios
round by round is told. Growth is the time and memory of up to four hours of up to 32 channels, each in a process of its
own; tools/docs_growth.py draws it. Each way renews its part of bench/measure.json.
"""

from __future__ import annotations

import json
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import product
from pathlib import Path

import numpy as np

from fieldfare.takes.measure import Gauge, measure
from fieldfare.takes.wave import make_form, pack, read_head, write

RATE_HZ = 48_000
OUT = Path(__file__).parent / "measure.json"


def show_like(channels: int, seconds: int = 10) -> np.ndarray[tuple[int, int], np.dtype[np.int32]]:
    """Return a stretch of noise that comes and goes, each channel at a level of its own, one of them clipped.

    It begins and ends softly, so that it can be repeated without a jump.
    """
    rng = np.random.default_rng(1)
    frames = seconds * RATE_HZ
    levels = 10 ** (rng.uniform(-45, -12, channels) / 20) * (1 << 23)
    swell = 0.1 + np.abs(np.sin(np.pi * np.arange(frames) / frames * round(frames / 120_000)))
    sound = rng.normal(0, 1, (frames, channels)) * levels * swell[:, np.newaxis]
    sound[:, 0] *= (1 << 23) / np.abs(sound[:, 0]).max() * 1.5
    return np.clip(sound, -(1 << 23), (1 << 23) - 1).astype(np.int32)


def write_files(folder: Path, channels: int, seconds: int, *, mono: bool) -> list[Path]:
    """Write one interleaved file, or one file a channel."""
    block = show_like(channels)
    paths = [folder / f"{channel:02d}.wav" for channel in range(channels)] if mono else [folder / "show.wav"]
    for channel, path in enumerate(paths):
        samples = block[:, channel : channel + 1] if mono else block
        with write(path, RATE_HZ, 24, samples.shape[1]) as file:
            for _ in range(seconds * RATE_HZ // len(block)):
                file.write(samples)
    return paths


def statistics_filter(paths: list[Path]) -> None:
    """Run the media library's filter over files, in this process."""
    import av
    from av.filter import Graph

    for path in paths:
        with av.open(str(path)) as file:
            stream = file.streams.audio[0]
            stream.codec_context.thread_count = 1
            graph = Graph()
            steps = (graph.add_abuffer(template=stream), graph.add("astats"), graph.add("abuffersink"))
            steps[0].link_to(steps[1])
            steps[1].link_to(steps[2])
            graph.configure()
            for frame in file.decode(stream):
                graph.push(frame)
                graph.pull()


def statistics_program(paths: list[Path]) -> None:
    """Run the same filter by the library's own program, one thread."""
    quiet = ("ffmpeg", "-v", "error", "-nostdin", "-threads", "1", "-filter_threads", "1")
    for path in paths:
        subprocess.run([*quiet, "-i", str(path), "-af", "astats", "-f", "null", "-"], check=True)


def measuring(paths: list[Path]) -> None:
    """Measure files, one thread."""
    for path in paths:
        measure(read_head(path))


def without_compiler(paths: list[Path]) -> None:
    """Measure files as it is done where the compiler library is missing."""
    for path in paths:
        measure(read_head(path), compiled=False)


def spent(work: Callable[[list[Path]], None], paths: list[Path]) -> float:
    """Return the processor time of some work, that of programs it starts with it. [s]"""
    began = os.times()
    work(paths)
    ended = os.times()
    return sum(ended[:4]) - sum(began[:4])


def side_by_side(name: str, paths: list[Path], samples: int, rounds: int) -> list[dict[str, object]]:
    """Time the ways beside one another, tell the medians and return them."""
    ways = {
        "filter, in process": statistics_filter,
        "filter, program": statistics_program,
        "measuring": measuring,
        "without compiler": without_compiler,
    }
    if not shutil.which("ffmpeg"):
        del ways["filter, program"]
    measuring(paths[:1])
    times: dict[str, list[float]] = {way: [] for way in ways}
    for _ in range(rounds):
        for way, work in ways.items():
            times[way].append(spent(work, paths))
    size = sum(path.stat().st_size for path in paths) / 1e6
    print(f"\n{name}: {len(paths)} file(s), {size:.0f} MB, {samples / 1e6:.0f} million samples, {rounds} rounds")
    rows: list[dict[str, object]] = []
    for way in ways:
        cost = statistics.median(times[way])
        print(f"  {way:18} {cost:7.2f} s  {samples / cost / 1e6:6.0f} Msamples/s")
        row: dict[str, object] = {"files": name, "way": way, "million_samples_per_s": round(samples / cost / 1e6)}
        for peer in (peer for peer in ways if peer.startswith("filter")):
            ratios = [one / other for one, other in zip(times[peer], times[way], strict=True)]
            row[f"times {peer}"] = round(statistics.median(ratios), 1)
            print(f"    {statistics.median(ratios):5.1f} times {peer} ({min(ratios):.1f} to {max(ratios):.1f})")
        rows.append(row)
    return rows


def memory(hours: float, channels: int) -> None:
    """Measure hours of channels out of memory, and tell what that took; in a process of its own."""
    form = make_form(channels, RATE_HZ, 24)
    packed = pack(show_like(channels, 2), form)
    gauge, began = Gauge(form), time.process_time()
    for _ in range(round(hours * 3600 / 2)):
        gauge.feed(packed)
    gauge.result()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
    row = {"hours": hours, "channels": channels, "s": round(time.process_time() - began), "mb": round(peak)}
    print(json.dumps(row), flush=True)


def memory_growth() -> list[dict[str, object]]:
    """Memory by hours and channels, each in a process of its own."""
    rows = []
    for channels, hours in product((2, 8, 32), (0.5, 1, 2, 4)):
        told = subprocess.run(
            [sys.executable, __file__, "memory", str(hours), str(channels)], check=True, capture_output=True, text=True
        )
        rows.append(json.loads(told.stdout))
        print("{hours} h of {channels} channels: {s} s, the process at its largest {mb} MB".format(**rows[-1]))
    return rows


def speed(seconds: int = 600, rounds: int = 3, folder: str = "") -> list[dict[str, object]]:
    """Make the files, and time the ways over them."""
    rows = []
    with tempfile.TemporaryDirectory(dir=folder or None) as here:
        for name, mono in (("Interleaved, 18 channels", False), ("Mono, 18 files", True)):
            place = Path(here) / name
            place.mkdir()
            paths = write_files(place, 18, seconds, mono=mono)
            rows += side_by_side(name, paths, 18 * seconds * RATE_HZ, rounds)
            for path in paths:
                path.unlink()
    return rows


def main(way: str, *words: str) -> None:
    """Measure what is asked for, and keep it."""
    if way == "memory":
        memory(float(words[0]), int(words[1]))
        return
    kept = json.loads(OUT.read_text("utf-8")) if OUT.is_file() else {}
    if way == "growth":
        kept["memory"] = memory_growth()
    else:
        kept["speed"] = speed(*map(int, words[:2]), *words[2:3])
    OUT.write_text(json.dumps({**kept, "cores": os.cpu_count()}, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main(*(sys.argv[1:] or ["speed"]))
