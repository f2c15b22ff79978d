"""A block left out of all tracks, of which only one is broken off for all to see: the others are read again there."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from takes.checks.material import take, track
from takes.measure.signals import RATE_HZ, Codes, codes, noise, tone

from fieldfare.show.findings import Finding
from fieldfare.takes.checks.check import Take, Track
from fieldfare.takes.checks.clicks import doubtful
from fieldfare.takes.measure import measure
from fieldfare.takes.measure.residual import NEEDED_AFTER, NEEDED_BEFORE
from fieldfare.takes.tracks import check_folder, second
from fieldfare.takes.tracks.second import looked_at_again
from fieldfare.takes.wave import read_head, write
from fieldfare.units.faults import Fault

LOST, AT = 100, 5 * RATE_HZ + 1234
SECONDS = 10


def _bass() -> Codes:
    return codes(tone(61, -12, SECONDS) + noise(-85, SECONDS))


def _bright(hz: float, seed: int) -> Codes:
    """A high tone bends as sharply in each of its swings as where it is broken off."""
    return codes(tone(hz, -14, SECONDS) + tone(hz * 0.37, -20, SECONDS) + noise(-75, SECONDS, seed=seed))


TRACKS = {
    "Bass": _bass(),
    "Whistle": _bright(4310, 1),
    "Flute": _bright(3770, 2),
    "Cymbals": codes(noise(-20, SECONDS)),
}


def _write(folder: Path, tracks: dict[str, Codes], *, lost: bool) -> Path:
    folder.mkdir(exist_ok=True)
    for label, whole in tracks.items():
        sound = np.concatenate([whole[:AT], whole[AT + LOST :]]) if lost else whole
        with write(folder / f"{label}.wav", RATE_HZ, 24, 1) as file:
            file.write(sound[:, np.newaxis])
    return folder


def _blocks(folder: Path) -> list[Finding]:
    (report,) = check_folder(folder)
    return [one for one in report.finding if one.kind == "missing block"]


def test_a_block_that_one_track_shows_at_once_and_two_only_when_they_are_read_again(tmp_path: Path) -> None:
    folder = _write(tmp_path / "take", TRACKS, lost=True)
    seen = {path.stem: len(measure(read_head(path)).channel[0].clicks) for path in folder.iterdir()}
    assert (seen["Bass"], seen["Whistle"], seen["Flute"]) == (1, 0, 0)  # else this test shows nothing
    (found,) = _blocks(folder)
    assert found.start == pytest.approx(AT, abs=2)
    assert "3 tracks jump at the same sample" in found.says
    assert (found.severity, found.confidence) == ("stop", 0.9)  # read again, the others break off as plainly


def test_where_one_track_alone_breaks_off_plainly_it_is_no_more_than_likely(tmp_path: Path) -> None:
    hissing = {
        label: one + codes(noise(-36, SECONDS, seed=len(label))) for label, one in TRACKS.items() if label != "Bass"
    }
    (found,) = _blocks(_write(tmp_path / "take", {"Bass": TRACKS["Bass"], **hissing}, lost=True))
    assert (found.severity, found.confidence) == ("warn", 0.7)


def test_tracks_of_one_file_are_read_again_each_by_itself(tmp_path: Path) -> None:
    whole = np.stack([np.concatenate([one[:AT], one[AT + LOST :]]) for one in TRACKS.values()], axis=1)
    with write(tmp_path / "all.wav", RATE_HZ, 24, 4) as file:
        file.write(whole)
    (found,) = _blocks(tmp_path)
    assert "3 tracks jump at the same sample" in found.says


def test_a_tick_on_one_track_stays_one(tmp_path: Path) -> None:
    bass = TRACKS["Bass"].copy()
    bass[AT] += 1 << 20
    folder = _write(tmp_path / "take", {**TRACKS, "Bass": bass}, lost=False)
    (report,) = check_folder(folder)
    assert [(one.kind, one.track) for one in report.finding if one.kind in ("missing block", "click")] == [
        ("click", "Bass")
    ]


def test_what_cannot_be_read_any_more_is_not_looked_at_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A card that was pulled in the meantime: what was measured is told, and nothing breaks."""
    folder = _write(tmp_path / "take", TRACKS, lost=True)
    asked: list[str] = []

    def gone(track: Track, first: int, frames: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        asked.append(track.label)
        assert (first, frames) == (AT - NEEDED_BEFORE, NEEDED_BEFORE + NEEDED_AFTER)
        raise Fault("is gone", track.label, "put the card back")

    monkeypatch.setattr("fieldfare.takes.tracks.report.looked_at_again", lambda take, _: looked_at_again(take, gone))
    assert not _blocks(folder)
    assert sorted(asked) == ["Cymbals", "Flute", "Whistle"]


def test_without_a_doubt_nothing_is_read_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = _write(tmp_path / "take", TRACKS, lost=False)
    doubts: list[object] = []

    def asked(take: Take) -> list[tuple[int, list[Track]]]:
        doubts.append(found := doubtful(take))
        return found

    monkeypatch.setattr(second, "doubtful", asked)
    assert not _blocks(folder)
    assert doubts == [[]]


def test_of_many_doubts_those_that_most_tracks_share_are_read_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """A night of sequenced music has thousands; a block that is lost late must not wait behind all before it."""
    tracks = tuple(track(label, sound) for label, sound in TRACKS.items())
    places = [(AT + step, list(tracks[1:])) for step in range(second.MOST_PLACES + 5)]
    late = (AT + 9999, [tracks[3]])
    monkeypatch.setattr(second, "doubtful", lambda _: [*places, late])
    asked: list[int] = []

    def read(one: Track, first: int, frames: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        asked.append(first + NEEDED_BEFORE)
        return np.zeros(frames)

    looked_at_again(take(*tracks), read)
    assert asked[0] == late[0]
    assert len(asked) == 1 + 3 * (second.MOST_PLACES - 1)
