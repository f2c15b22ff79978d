"""Times what is done with a night's take: its songs, its delays, and a rough mix of every song; together and each.

python bench/night.py GIGS [number] [times] [FONT]

The take is one of the shows of bench/gigs.py, rendered where the folder GIGS does not hold it yet (with FONT, real
sampled instruments), and laid end to end so many times: one long take of the same files' samples. The engines of the
three commands run one after the other in this process, as on the night after: songs from the set list, delays
against the drawing, then a mix of each song as WAV. All is done before on a short take, so that compiling is not
counted.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from gigs import DRAWN, Gig, gig
from render import _memory as memory
from sampled import sampled

from fieldfare.show.drawn import Drawing
from fieldfare.show.songs import ListedSong
from fieldfare.takes.alignment.align import align
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.rough.choose import Stretch, choose_mix
from fieldfare.takes.rough.levels import power_of_tracks
from fieldfare.takes.rough.render import render_mix
from fieldfare.takes.songs.find import find_songs
from fieldfare.takes.songs.listen import listen
from fieldfare.takes.songs.pieces import pieces_of
from fieldfare.takes.wave import read_head, write
from fieldfare.takes.wave.blocks import blocks

SHORT_S = 40


def looped(card: Path, folder: Path, times: float) -> None:
    """Lay the files of a take end to end, each by itself; less than once is the beginning of it."""
    folder.mkdir()
    for path in sorted(card.rglob("*.wav")):
        head = read_head(path)
        left = round(times * head.frames)
        with write(folder / path.name, head.rate_hz, 8 * head.sample_bytes, head.channels) as file:
            while left > 0:
                for part in blocks(head, 1 << 18):
                    file.write(part[:left])
                    left -= min(left, len(part))
                    if not left:
                        break


def night(axis: Axis, drawing: Drawing, listed: list[ListedSong], folder: Path) -> dict[str, tuple[float, float]]:
    """Do all three; by the clock and of processor. [s]"""
    took: dict[str, tuple[float, float]] = {}
    clock, processor = time.perf_counter(), time.process_time()

    def told(name: str) -> None:
        nonlocal clock, processor
        now = time.perf_counter(), time.process_time()
        took[name] = now[0] - clock, now[1] - processor
        clock, processor = now

    book = find_songs([listen(axis)], listed)
    told("songs")
    align(axis, drawing.temperature_c)
    told("delays")
    cut = [
        Stretch(piece.title, piece.start, piece.end)
        for one in book.take for piece in pieces_of(one, book.handles) if piece.kind == "song"
    ]  # fmt: skip
    power = power_of_tracks(axis, axis.track)
    sheet = choose_mix(axis, cut, power=power)
    told("mix chosen")
    report = render_mix(axis, sheet, folder, power=power)
    told("mix rendered")
    worst = max((abs((one.loudness_lufs or 0) - sheet.target.loudness_lufs) for one in report.file), default=0.0)
    print(f"{len(report.file)} songs, {sum(bool(one.gate) for one in sheet.track)} gates, {len(sheet.ride)} rides; "
          f"loudness off by {worst:.3f} LU at most")  # fmt: skip
    return took


def main(one: Gig, times: float) -> None:
    """Run it all on a short take, then on the long one, and print the figures."""
    listed = [ListedSong(title=title, length_s=round(length)) for title, length in one.listed]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        long_s = one.truth.frames / one.truth.rate_hz
        looped(one.card, folder / "short", SHORT_S / long_s)
        looped(one.card, folder / "long", times)
        for part, songs in (("short", []), ("long", listed * round(times))):
            (axis,) = find_axes(folder / part, one.drawing.input)
            took = night(axis, one.drawing, songs, folder / f"{part} mix")
        seconds = axis.frames / axis.rate_hz
        took["together"] = (sum(wall for wall, _ in took.values()), sum(busy for _, busy in took.values()))
        print(f"{len(axis.track)} tracks of {seconds / 60:.1f} minutes{memory()}")
        for what, (wall, busy) in took.items():
            print(f"{what:13s} {wall:6.1f} s of clock, {busy:6.1f} s of processor, {seconds / wall:4.0f} x real time, "
                  f"{2 * seconds / busy:4.0f} on two busy cores")  # fmt: skip


if __name__ == "__main__":
    place = Path(sys.argv[1])
    number = int(sys.argv[2]) if len(sys.argv) > 2 else 4
    font = Path(sys.argv[4]) if len(sys.argv) > 4 else None
    here = place / f"gig-{number:02d}" / DRAWN
    play = None if here.is_file() or font is None else sampled(font)
    main(gig(number, place, play), float(sys.argv[3]) if len(sys.argv) > 3 else 3)
