"""Write how good songs, delays and pictures are into their pages: python tools/docs_takes.py

The pages are written by hand but for their last part, which is made of what the benches kept in bench/*.json.
"""

from __future__ import annotations

import json
import re
import textwrap
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from statistics import mean, median
from typing import Any

ROOT = Path(__file__).parent.parent
SURE = 0.9
Gigs = Sequence[tuple[int, Mapping[str, Any]]]


def page(name: str) -> str:
    """Make the text of a page: what is written by hand, and its last part anew."""
    heading, parts = PAGES[name]
    by_hand = (ROOT / "docs" / f"{name}.md").read_text("utf-8").split(f"\n## {heading}\n")[0]
    text = f"\n## {heading}\n" + "\n".join(parts(_kept(name)))
    return by_hand + re.sub("\n{3,}", "\n\n", text).rstrip() + "\n"


def _kept(name: str) -> dict[str, Any]:
    file = {"align": "alignment"}.get(name, name)
    kept: dict[str, Any] = json.loads((ROOT / "bench" / f"{file}.json").read_text("utf-8"))
    return kept


def _gigs(kept: Mapping[str, Any]) -> Gigs:
    return sorted((int(part.removeprefix("gig ")), row) for part, row in kept.items() if part.startswith("gig "))


def _conditions(gigs: Gigs) -> str:
    """What the gigs are like, in a sentence."""
    minutes, tracks = [row["length_s"] / 60 for _, row in gigs], [row["tracks"] for _, row in gigs]
    rooms = sorted({row["reverberation_s"] for _, row in gigs})
    noises = {0.0: "the noise as planned", 30.0: "30 dB more"}
    noise = " and ".join(words for db, words in noises.items() if any(row["noise_db"] == db for _, row in gigs))
    return _filled(
        f"Measured on {len(gigs)} gigs of {_span(minutes)} minutes, rendered from sampled "
        "instruments and real speech by `bench/judged.py`, in rooms of "
        f"{', '.join(map(str, rooms[:-1]))} and {rooms[-1]} s, with {noise}, {_span(tracks)} tracks, every mic up to "
        "0.15 m off its drawn place."
    )


def _span(values: Sequence[float]) -> str:
    low, high = f"{min(values):.0f}", f"{max(values):.0f}"
    return low if low == high else f"{low} to {high}"


def _filled(words: str) -> str:
    """Break paragraphs into lines anew, with an empty line before and after."""
    parts = [
        textwrap.fill(" ".join(part.split()), 118, break_on_hyphens=False, break_long_words=False)
        for part in words.split("\n\n")
    ]
    return "\n" + "\n\n".join(parts) + "\n"


def _table(heads: Sequence[str], rows: Iterator[Sequence[object]]) -> Iterator[str]:
    yield f"| {' | '.join(heads)} |"
    yield f"| {' | '.join('---' for _ in heads)} |"
    for row in rows:
        yield f"| {' | '.join(map(str, row))} |"


LISTS = {"list with lengths": "set list with lengths", "titles alone": "its titles alone", "nothing": "nothing"}


def _songs(kept: Mapping[str, Any]) -> Iterator[str]:
    """Songs: how near their edges are found, what goes wrong, and how sure it was said to be."""
    gigs = _gigs(kept)
    rows = [row for _, row in gigs]
    yield _conditions(gigs)
    yield _filled(SONGS_HEAD.format(
        songs=sum(row["songs"] for row in rows), seams=sum(row["seams"] for row in rows),
        stops=sum(row["false_endings"] for row in rows),
    ))  # fmt: skip
    yield from _table(
        ("told beforehand", "F at 3 s (worst gig)", "F at 0.5 s (worst gig)", "titles right"),
        (
            (
                words,
                *(_mean_and_worst([row[told][key] for row in rows]) for key in ("f_3_s", "f_05_s")),
                f"{mean(row[told]['called_right'] for row in rows):.2f}" if told != "nothing" else "",
            )
            for told, words in LISTS.items()
        ),
    )
    yield "\nGig by gig, with the set list and, after the stroke, without one:\n"
    yield from _table(
        ("gig", "reverberation, s", "noise", "songs", "run on", "false endings", "F at 3 s", "F at 0.5 s"),
        (
            (
                number, row["reverberation_s"], f"+{row['noise_db']:.0f} dB", row["songs"], row["seams"],
                row["false_endings"],
                *(f"{row['list with lengths'][key]:.2f} / {row['nothing'][key]:.2f}" for key in ("f_3_s", "f_05_s")),
            )
            for number, row in gigs
        ),
    )  # fmt: skip
    yield "\nWhat went wrong, counted over all gigs:\n"
    wrong = {told: Counter(one["kind"] for row in rows for one in row[told]["wrong"]) for told in LISTS}
    yield from _table(
        ("error", *LISTS.values()),
        ((kind, *(wrong[told][kind] for told in LISTS)) for kind in sorted(set().union(*wrong.values()))),
    )
    yield _filled(SONGS_KINDS)
    told = [one for row in rows for one in row["list with lengths"]["sure"]]
    sure = [right for share, right in told if share > SURE]
    others = [right for share, right in told if share <= SURE]
    yield _filled(
        f"Of {len(told)} edges found with the list, {len(sure)} were told as surer than 90 %, and {sum(sure)} of those "
        f"are right to 0.5 s; of the {len(others)} others, {sum(others)} are."
    )
    cost = mean(row["listening_processor_s"] / row["length_s"] * 3600 for row in rows)
    yield _filled(SONGS_END.format(cost=cost))


def _mean_and_worst(values: Sequence[float]) -> str:
    return f"{mean(values):.3f} ({min(values):.2f})"


LOOKED_AT = (103, 104)  # gigs whose pictures were looked at before what they are judged by was finished
KINDS = ("DI and mic", "two mics", "split and own mic", "snare to overhead", "overhead", "room", "house mix", "spill")
EDGES = ("0 to 0.1", "0.1 to 0.3", "0.3 to 0.5", "0.5 to 0.7", "0.7 to 0.9", "0.9 to 0.95", "0.95 to 0.98", "over 0.98")


def _align(kept: Mapping[str, Any]) -> Iterator[str]:
    """Delays: errors by kind, honest sureness, tracks upside down, swaps."""
    gigs = _gigs(kept)
    rows = [row for _, row in gigs]
    yield _conditions(gigs)
    yield _filled(ALIGN_HEAD)
    ways = {kind: [row["ways"][kind] for row in rows if row["ways"].get(kind, {}).get("ways")] for kind in KINDS}
    yield from _table(
        ("pair", "ways", "surer than 90 %", "within 0.1", "0.5", "2 samples", "worst, samples", "polarity wrong"),
        (
            (
                "of these, snare to overhead" if kind == "snare to overhead" else kind,
                *(sum(one[key] for one in mine) for key in ("ways", "sure")),
                *(sum(one["within"][place] for one in mine) for place in range(3)),
                f"{max(one['worst'] for one in mine):.2f}",
                sum(one["polarity_wrong"] for one in mine),
            )
            for kind in (*KINDS[:3], *KINDS[4:5], KINDS[3], *KINDS[5:])
            if (mine := ways[kind])
        ),
    )
    yield "\nHow sure a way was told to be, and how often it was right, to two samples and in polarity:\n"
    bins = [[sum(row["sureness"][place][0] for row in rows),
             sum(row["sureness"][place][0] * row["sureness"][place][1] for row in rows),
             sum(row["sureness"][place][2] for row in rows)] for place in range(len(EDGES))]  # fmt: skip
    yield from _table(
        ("told", "ways", "told on average", "right"),
        (
            (words, count, f"{told / count:.2f}", f"{right / count:.2f}")
            for words, (count, told, right) in zip(EDGES, bins, strict=True)
            if count
        ),
    )
    down = [row["upside_down"] for row in rows]
    yield _filled(ALIGN_DOWN.format(**{key: sum(one[key] for one in down) for key in ("put", "found", "false")}))
    gigs = [(number, row) for number, row in gigs if "swaps" in row]
    yield from _table(
        ("gig", "reverberation, s", "noise", "ways surer than 90 %", "swaps tried", "found", "told falsely", "missed"),
        (
            (
                number, row["reverberation_s"], f"+{row['noise_db']:.0f} dB",
                sum(one["sure"] for kind, one in row["ways"].items() if kind != "snare to overhead"),
                *(row["swaps"][key] for key in ("tried", "found", "false")),
                "; ".join(row["swaps"]["missed"]),
            )
            for number, row in gigs
        ),
    )  # fmt: skip
    swaps = {key: sum(row["swaps"][key] for _, row in gigs) for key in ("tried", "found", "false", "unswapped")}
    cost = mean(row["processor_s"] for row in rows)
    yield _filled(ALIGN_END.format(**swaps, share=swaps["found"] / max(1, swaps["tried"]), cost=cost))


def _picture(kept: Mapping[str, Any]) -> Iterator[str]:
    """Pictures: how far off the clocks are, and what a long camera costs."""
    gigs = _gigs(kept)
    clips = [(row, clip) for _, row in gigs for clip in row["clip"]]
    yield _conditions(gigs)
    yield _filled(PICTURE_HEAD.format(blind=sum(number not in LOOKED_AT for number, _ in gigs)))
    groups: dict[str, Callable[[Mapping[str, Any]], bool]] = {
        "all": lambda clip: True,
        "of 10 minutes or more": lambda clip: clip["length_s"] >= 600,
        "of 2 to 10 minutes": lambda clip: 120 <= clip["length_s"] < 600,
        "shorter": lambda clip: clip["length_s"] < 120,
    }
    picked = {words: [clip for _, clip in clips if fits(clip)] for words, fits in groups.items()}
    yield from _table(
        ("clips", "number", "found", "surer than 0.8", "of those within 1 ms", "median of the worst, ms", "worst, ms",
         "drift off, median, ppm", "worst, ppm"),
        (
            (
                words, len(mine), sum(one["found"] for one in mine), len(sure),
                sum(one["worst_ms"] < 1 for one in sure),
                *((f"{median(one['worst_ms'] for one in sure):.2f}", f"{max(one['worst_ms'] for one in sure):.2f}",
                   f"{median(abs(one['drift_off_ppm']) for one in sure):.2f}",
                   f"{max(abs(one['drift_off_ppm']) for one in sure):.2f}") if sure else ("",) * 4),
            )
            for words, mine in picked.items()
            if mine
            for sure in [[one for one in mine if one["found"] and one["confidence"] > 0.8]]
        ),
    )  # fmt: skip
    yield PICTURE_CLIPS
    yield from _table(
        ("gig", "reverberation, s", "noise", "clip", "length, s", "away, m", "found", "confidence", "worst, ms",
         "drift off, ppm"),
        (
            (
                number, row["reverberation_s"], f"+{row['noise_db']:.0f} dB", f"{clip['name']}, {clip['file']}",
                clip["length_s"], clip["away_m"], "yes" if clip["found"] else "no", f"{clip['confidence']:.2f}",
                f"{clip['worst_ms']:.2f}", f"{clip['drift_off_ppm']:+.2f}",
            )
            for number, row in gigs
            for clip in row["clip"]
        ),
    )  # fmt: skip
    for row in (row for part, row in kept.items() if part.startswith("speed")):
        yield _filled(PICTURE_SPEED.format(**row))
    yield _filled(PICTURE_END)


SONGS_HEAD = """
The {songs} songs have tunes, arrangements and courses that are made up anew for each gig, and another font than the
gigs on which thresholds were set. {seams} of them begin where another runs into them, {stops} stop for a bar or two
and go on. Lengths in the lists are off by up to a quarter; songs were dropped, added and swapped. Boundaries are judged
by mir_eval, first and last trimmed; a count-in that a drummer clicks belongs to its song. One rule (a steady pulse
counts where a song begins with one or two) was made after two of the gigs 0 to 4 had been looked at; nothing was
altered after the others were.
"""
SONGS_KINDS = """
*Early* and *late* are more than 0.5 s off, *missed* more than 3 s; a *seam* is where one song runs into the next.
"""
SONGS_END = """
Listening cost {cost:.0f} s of one processor for an hour of such a take, on a machine busy with other work. Renewed, a
gig at a time, by `python bench/songs.py judged` and `python tools/docs_takes.py`.

What it cannot know: a song that is only spoken, or sung by one voice alone, sounds like talk. Where the recorder's
clock is minutes off that of the phone, three marks or more tell by how much, and that is said; fewer do not.
"""
ALIGN_HEAD = """
The weights of sureness were learnt on other shows, with another font, and nothing was altered after these were looked
at. Every way that was told as surer than 90 % is held to the truth.
"""
ALIGN_DOWN = """
Of {put} tracks upside down {found} were told, and {false} that were not. In every gig of the next table two labels were
swapped, five times over, and once none:
"""
ALIGN_END = """
{found} of {tried} swaps were found ({share:.2f}); {false} were told falsely, in those and in {unswapped} gigs as they
are. Before, on nine shows of `bench/gigs.py`, 38 of 40 had been found and none told falsely. Measuring cost
{cost:.0f} s of one processor for a gig. Renewed, a gig at a time, by `python bench/alignment.py` and
`python tools/docs_takes.py`.
"""
PICTURE_HEAD = """
In each a camera ran all through, another was stopped twice, and a recorder had another rate; their clocks were up to
100 ppm off, and they stood where the show says, 1.5 to 12 m from the stage. A clip is held to its true clock in every
second of it. Gigs 102 to 104 were looked at once before: four clips had not been found or were 1.4 to 26 ms off, each
told as unsure. Then sources that all mics hear were allowed for, places were told by semitones, and several places
tried. What stands here of gigs 103 and 104 was measured after that, and so is no blind test. The other {blind} were
made and measured afterwards, each once, and nothing was altered for what they showed.
"""
PICTURE_CLIPS = "\nClip by clip:\n"
PICTURE_SPEED = """
A camera that ran for {hours:g} h, as long as a take of {tracks} tracks, was put in time in {clock_s} s by the clock on
{cores} cores under a load of {busy:g}, with {processor_s} s of processor and {memory_mib} MiB of memory at most:
{off_ms:+.3f} ms and {drift_off_ppm:+.3f} ppm off.
"""
PICTURE_END = """
Where it ends: in a room of 2.4 s with 30 dB more noise, on a show made to look at that, three clips of three from 8 m
were found, all within 0.5 ms, one of three from 10 m, and none of three from 11.5 m. Too little is heard there of what
comes straight from the stage; those that were lost were told so.

While this was mended, all 21 clips of two minutes of seven other shows were found, within 0.07 ms; of these, eight had
been lost or told as unsure before. A metre between where a camera stood and where the show has it is 2.9 ms. Renewed, a
gig at a time, by `python bench/picture.py judged` and `python tools/docs_takes.py`.
"""
PAGES: Mapping[str, tuple[str, Callable[[Mapping[str, Any]], Iterator[str]]]] = {
    "songs": ("How sure it is", _songs),
    "align": ("How good it is", _align),
    "picture": ("How sure it is", _picture),
}

if __name__ == "__main__":
    for name in PAGES:
        (ROOT / "docs" / f"{name}.md").write_text(page(name), encoding="utf-8", newline="\n")
