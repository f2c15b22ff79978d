"""A written course is rendered as it is written: gaps, songs that run on, false endings, sounds of one's own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from takes.render.small import RATE_HZ, SOUNDS, small_kit, small_plan, small_show, small_venue

from fieldfare.takes.render.course import Piece, written_programme
from fieldfare.takes.render.score import Note
from fieldfare.takes.render.sound import Sound
from fieldfare.takes.render.write import render_show
from fieldfare.takes.wave import read_all, read_head
from fieldfare.units.faults import OutOfRange

PIECES = (
    Piece("The First Reel", 12, gap_s=3, counted=4, stop_after=0.5, stop_bars=2),
    Piece("The Second Polka", 8, gap_s=0),
    Piece("Nine Oars", 8, gap_s=6, counted=0),
)


def test_songs_lie_where_they_are_written() -> None:
    programme = written_programme(PIECES, RATE_HZ, 1, before_s=4, after_s=5)
    first, second, third = programme.songs
    assert first.count_in == 4 * RATE_HZ
    assert first.start > first.count_in
    assert second.count_in == second.start == first.end
    assert third.count_in == third.start == second.end + 6 * RATE_HZ
    assert programme.frames == third.end + 5 * RATE_HZ
    assert [one.kind for one in programme.sections] == ["before", "song", "song", "between", "song", "after"]
    ends = [one.end for one in programme.sections]
    assert [one.start for one in programme.sections] == [0, *ends[:-1]]
    assert ends[-1] == programme.frames
    assert abs((first.end - first.start) / RATE_HZ - 12) <= first.bar_s


@pytest.mark.parametrize("pieces", [(), (Piece("The First Reel", 10, gap_s=0),)])
def test_a_take_begins_with_a_song_of_its_own(pieces: tuple[Piece, ...]) -> None:
    with pytest.raises(OutOfRange, match="a take needs a first song"):
        written_programme(pieces, RATE_HZ, 1)


def test_everybody_stops_in_a_false_ending_and_goes_on_after_it(tmp_path: Path) -> None:
    programme = written_programme(PIECES[:1], RATE_HZ, 1, before_s=4, after_s=3)
    song = programme.songs[0]

    def clicks(family: str, notes: list[Note], samples: int, rate_hz: int) -> Sound | None:
        if family != "fiddle":
            return None
        sound = np.zeros(samples, np.float32)
        for note in notes:
            sound[round(note.at_s * rate_hz)] = note.velocity
        return sound

    truth = render_show(
        small_plan(), small_show(), small_venue(), small_kit(), SOUNDS, tmp_path,
        planted=(), programme=programme, play=clicks,
    )  # fmt: skip
    pickup = next(track for track in truth.track if track.input == "fiddle-di")
    heard = np.abs(read_all(read_head(tmp_path / truth.card / pickup.file))[:, 0].astype(np.float64))
    bar = round(song.bar_s * RATE_HZ)
    levels = [heard[song.start + at * bar : song.start + (at + 1) * bar].max() for at in range(len(song.form) + 1)]
    silent = sorted(song.stops)
    assert len(silent) == 2
    played = [level for at, level in enumerate(levels) if at not in silent]
    assert max(levels[at] for at in silent) < 0.01 * min(played)
    assert truth.song[0].end == song.end
