"""Whether the files are what they should be: there, whole, and of one rate, length and depth."""

from __future__ import annotations

from collections.abc import Iterator
from math import log2

from fieldfare.show.findings import FileState
from fieldfare.show.record import Severity
from fieldfare.takes.checks.check import Hit, Take, spanned
from fieldfare.takes.checks.levels import is_dead
from fieldfare.units.clock import clock, sample_clock
from fieldfare.units.text import figure


def missing(take: Take) -> Iterator[Hit]:
    """An input of the plan, or of the list of inputs, has no track."""
    for planned in take.missing:
        yield Hit(
            "stop",
            f"{take.by} has {planned.label} on track {planned.number}, and no file carries it",
            "look on the card and its other copies, and whether the channel was armed; nothing may be wiped until then",
            0.95,
            figures={"number": float(planned.number)},
            track=planned.label,
        )


def unexpected(take: Take) -> Iterator[Hit]:
    """A track with signal that nobody named before, or whose name and number say different things."""
    if not take.by:
        return
    for track in take.tracks:
        if track.doubt:
            yield Hit(
                "warn",
                f"it was taken for {track.label}, but {track.doubt}",
                "listen which it is, and name the file by it; a track's name must not part from its source",
                0.8,
                track=track.label,
                file=track.state.path,
            )
        if track.planned is None and track.listed is None and not is_dead(track):
            yield Hit(
                "note",
                f"a track with signal up to {figure(track.peak_db)} dBFS that {take.by} does not know",
                f"listen, name it, and keep it; or {take.by} is older than the patch",
                0.9,
                track=track.label,
                file=track.state.path,
            )


def wrong_rate(take: Take) -> Iterator[Hit]:
    """A file whose header states another sample rate than the plan, or than most files."""
    for state in _readable(take):
        if state.rate_hz != take.rate_hz:
            semitones = figure(12 * log2(state.rate_hz / take.rate_hz), 2, sign=True)
            yield _of_file(
                take,
                state,
                "stop",
                f"its header states {state.rate_hz} Hz, {_whose(take)} {take.rate_hz} Hz",
                f"at the wrong rate it plays {semitones} semitones off and drifts. Find out which is true by laying it "
                "beside another track: if they stay together, only the header is wrong; do not resample before that",
                {"rate_hz": float(state.rate_hz), "expected_rate_hz": float(take.rate_hz)},
            )


def wrong_length(take: Take) -> Iterator[Hit]:
    """A track that starts at another time, or is shorter or longer than the others of its take."""
    for track in take.tracks:
        frames = track.channel.frames
        off, late = frames - take.frames, track.late
        if (off == 0 and late == 0) or track.state.header == "cut":
            continue
        says = [
            f"{abs(count)} samples {more if count > 0 else less} than the other tracks "
            f"({clock(abs(count) / track.rate_hz, 3)})"
            for count, more, less in ((off, "longer", "shorter"), (late, "later", "earlier"))
            if count
        ]
        yield Hit(
            "warn",
            f"{says[0]}{f', and it starts {says[1]}' if len(says) > 1 else ''}"
            if off
            else f"as long as the others, but it starts {says[0]}",
            "it was armed or stopped at another time, or lost samples on the way: check that it lies in time at the "
            "head and at the tail before anything is cut",
            0.99,
            min(frames, take.frames) if off else None,
            max(frames, take.frames) if off else None,
            figures={"samples": float(off), "late_samples": float(late)},
            track=track.label,
            file=track.state.path,
        )


def holes(take: Take) -> Iterator[Hit]:
    """Samples missing between files that continue one another."""
    for track in take.tracks:
        if track.holes:
            start, end, places, count = spanned(track.holes)
            lost = sum(last - first for first, last in track.holes)
            yield Hit(
                "stop",
                f"{lost} samples are missing between files that continue one another, first at "
                f"{sample_clock(start, track.rate_hz)}",
                "the recorder lost them as it began a new file: keep silence there, so that the tracks stay in time, "
                "and look for the passage on the second recorder",
                0.95,
                start,
                end,
                places,
                count,
                {"samples": float(lost)},
                track.label,
                track.state.path,
            )


def damaged(take: Take) -> Iterator[Hit]:
    """Audio that could not be decoded, or that does not have the check sum its file states; once a file."""
    for state, track in {track.state: track for track in take.tracks if track.torn}.items():
        places = [(one.start, one.end) for one in track.torn]
        start, end, told, count = spanned(places)
        lost = sum(last - first for first, last in places)
        holes = any("decoded" in one.says for one in track.torn)
        yield Hit(
            "stop",
            f"{lost} samples could not be decoded, first at {sample_clock(start, track.rate_hz)}; they were checked as "
            "silence"
            if holes
            else track.torn[0].says,
            "copy it again from the card and compare; if the card's own file is torn, mend it into a new file, in "
            "which all that is whole keeps its place",
            0.99,
            start,
            end,
            told if holes else (),
            count,
            {"samples": float(lost)} if holes else {},
            track.label if state.channels == 1 else "",
            state.path,
        )


def wrong_depth(take: Take) -> Iterator[Hit]:
    """A file of another depth, or a track whose samples hold fewer bits than its file."""
    for state in _readable(take):
        if take.bits and state.bits != take.bits:
            yield _of_file(
                take,
                state,
                "note" if state.bits > take.bits else "warn",
                f"{state.bits} bits, {_whose(take)} {take.bits}",
                "nothing is lost by more bits; by fewer, quiet passages are: set the recorder before the next take",
                {"bits": float(state.bits)},
            )
    for track in take.tracks:
        bits = track.used_bits
        if bits and bits <= min(20, track.state.bits - 4) and not is_dead(track):
            yield Hit(
                "note",
                f"its samples use {bits} of the file's {track.state.bits} bits",
                "it came through something of that depth, a digital link or a player; quiet passages are coarser",
                0.95,
                figures={"used_bits": float(bits)},
                track=track.label,
                file=track.state.path,
            )


def unfinished_header(take: Take) -> Iterator[Hit]:
    """A header that was never finished, or that speaks of an earlier moment."""
    for state in take.states:
        if state.header in ("unfinished", "stale", "wrapped"):
            lost = "" if state.stated_frames is None else f"; the header speaks of {state.stated_frames}"
            yield _of_file(
                take,
                state,
                "warn",
                f"{state.says}. {state.frames} samples are there and were checked{lost}",
                "many programs will open it as empty or short: mend it into a new file before handing it on, and keep "
                "the original",
                {"frames": float(state.frames)},
            )


def truncated(take: Take) -> Iterator[Hit]:
    """A file that ends before its header says, or inside a frame."""
    for state in take.states:
        if state.header == "cut":
            short = max(0, take.frames - state.frames)
            figures = {"frames": float(state.frames), "short_samples": float(short)}
            at = clock(state.frames / max(1, state.rate_hz), 3)
            yield _of_file(
                take,
                state,
                "stop" if short > state.rate_hz // 10 else "warn",
                f"{state.says}. The audio stops at {at}, {short} samples before the other tracks",
                "copy it again from the card; if the card's own file ends there too, the rest was never written: fill "
                "with silence in a copy, so that the tracks stay equal",
                figures,
                start=state.frames,
                end=max(take.frames, state.frames),
            )


def unreadable(take: Take) -> Iterator[Hit]:
    """A file that cannot be understood."""
    for state in take.states:
        if state.header == "unreadable":
            yield _of_file(
                take,
                state,
                "stop",
                f"it cannot be read as a recording: {state.says}",
                "do not repair the original. Copy it again from the card; if that is no better, look into a copy for "
                "raw audio",
                {"bytes": float(state.bytes)},
            )


def _readable(take: Take) -> list[FileState]:
    return [state for state in take.states if state.header != "unreadable"]


def _whose(take: Take) -> str:
    return "the plan says" if take.plan else "most files say"


def _of_file(
    take: Take,
    state: FileState,
    severity: Severity,
    says: str,
    remedy: str,
    figures: dict[str, float],
    start: int | None = None,
    end: int | None = None,
) -> Hit:
    """Make a hit about a file; the track's label where the file holds one track."""
    labels = [track.label for track in take.tracks if track.state == state]
    label = labels[0] if len(labels) == 1 else ""
    return Hit(severity, says, remedy, 0.99, start, end, figures=figures, track=label, file=state.path)
