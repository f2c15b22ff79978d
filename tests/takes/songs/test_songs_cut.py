"""Cuts hold the take's own samples, the same stretch from every track; and nothing is there unless all of it is."""

from __future__ import annotations

import hashlib
import os
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from takes.songs.night import ORIGIN, RATE_HZ, play_night

from fieldfare.show.cuts import CutReport
from fieldfare.show.songs import BetweenSongs, Handles, Song, SongBook, TakeSongs
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.songs.cut import REPORT, cut_songs
from fieldfare.takes.songs.pieces import pieces_of
from fieldfare.takes.wave import make_form, pack, read_cues, read_head, write, write_form
from fieldfare.units.faults import Fault, NotDone

LATE = 5 * RATE_HZ + 13


def _book(axis: Axis, *songs: Song, handles: Handles | None = None) -> SongBook:
    take = TakeSongs(take=axis.name, rate_hz=axis.rate_hz, frames=axis.frames, song=songs)
    return SongBook(take=(take,), handles=handles or Handles())


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return play_night(tmp_path_factory.mktemp("night"), late=LATE)


def test_each_file_holds_the_samples_of_the_take_and_nothing_else(night: Path, tmp_path: Path) -> None:
    (axis,) = find_axes(night)
    songs = (Song(title="One", start=4 * RATE_HZ, end=30 * RATE_HZ), Song(title="Two", start=40_001, end=62 * 8_000))
    book = _book(axis, songs[0], songs[1].model_copy(update={"start": 40 * RATE_HZ + 1}))
    report = cut_songs(book, [axis], tmp_path / "cuts")
    assert CutReport.model_validate_json((tmp_path / "cuts" / REPORT).read_bytes()) == report
    for piece in report.piece:
        assert len(piece.file) == len(axis.track)
        for file, track in zip(piece.file, axis.track, strict=True):
            got, rate = soundfile.read(tmp_path / "cuts" / file.file, dtype="int32")
            source, _ = soundfile.read(track.file, dtype="int32")
            whole = np.concatenate([np.zeros(track.course.late, np.int32), source])[piece.start : piece.end]
            assert rate == RATE_HZ
            assert soundfile.info(tmp_path / "cuts" / file.file).subtype == "PCM_24"
            np.testing.assert_array_equal(got, whole)
            packed = pack((whole >> 8)[:, np.newaxis], make_form(1, RATE_HZ, 24))
            assert file.sha256 == hashlib.sha256(packed).hexdigest()
    silent = {file.label: file.silent for file in report.piece[0].file}
    assert silent.pop("room left") == LATE - report.piece[0].start
    assert set(silent.values()) == {0}


def test_clock_and_marks_move_with_the_cut(night: Path, tmp_path: Path) -> None:
    (axis,) = find_axes(night)
    cut_songs(_book(axis, Song(title="Two", start=40 * RATE_HZ, end=60 * RATE_HZ)), [axis], tmp_path / "cuts")
    for path in sorted((tmp_path / "cuts").rglob("*.wav")):
        head = read_head(path)
        late = LATE if "room" in path.name else 0
        assert head.bext is not None
        assert head.bext.time_reference == ORIGIN + 38 * RATE_HZ
        assert (head.bext.description, head.bext.history) == ("a night", "A=PCM")
        assert head.bext.umid == bytes(64)
        assert head.bext.loudness_lufs is None
        assert head.ixml is not None
        assert head.ixml.time_reference == ORIGIN + 38 * RATE_HZ
        assert head.ixml.project == "A night"
        assert len(head.ixml.track) == 1
        assert head.ixml.family_uid not in ("", "family")
        (cue,) = read_cues(head)
        assert (cue.sample, cue.label) == (7 * RATE_HZ + late, "solo")


def test_cuts_are_one_take_again(night: Path, tmp_path: Path) -> None:
    (axis,) = find_axes(night)
    cut_songs(_book(axis, Song(title="Two", start=40 * RATE_HZ, end=60 * RATE_HZ)), [axis], tmp_path / "cuts")
    (again,) = find_axes(tmp_path / "cuts")
    assert [track.label for track in again.track] == [track.label for track in axis.track]
    assert again.begin == ORIGIN + 38 * RATE_HZ
    np.testing.assert_array_equal(again.read(0, 1000), axis.read(38 * RATE_HZ, 1000))


@pytest.mark.parametrize(("bits", "is_float"), [(8, False), (16, False), (32, False), (32, True)])
def test_channels_of_one_file_become_files_of_the_same_samples(tmp_path: Path, bits: int, is_float: bool) -> None:
    rng = np.random.default_rng(3)
    sound = rng.uniform(-0.5, 0.5, (3000, 3))
    samples = sound.astype(np.float32) if is_float else np.rint(sound * (1 << (bits - 1))).astype(np.int32)
    form = make_form(3, 48_000, bits, is_float=is_float, extensible=True)
    (tmp_path / "card").mkdir()
    with write_form(tmp_path / "card" / "take.wav", form) as out:
        out.write(samples)
    (axis,) = find_axes(tmp_path / "card")
    bare = Handles(before_s=0, after_s=0)
    report = cut_songs(_book(axis, Song(title="a", start=100, end=2100), handles=bare), [axis], tmp_path / "cuts")
    for channel, file in enumerate(report.piece[0].file):
        head = read_head(tmp_path / "cuts" / file.file)
        assert (head.channels, head.bits, head.is_float, head.frames) == (1, bits, is_float, 2000)
        got, _ = soundfile.read(tmp_path / "cuts" / file.file, dtype="float64")
        want, _ = soundfile.read(tmp_path / "card" / "take.wav", dtype="float64")
        np.testing.assert_array_equal(got, want[100:2100, channel])


def test_a_folder_that_holds_something_is_left_alone(night: Path, tmp_path: Path) -> None:
    (axis,) = find_axes(night)
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(NotDone, match="something is there already"):
        cut_songs(_book(axis, Song(title="a", start=0, end=RATE_HZ)), [axis], tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_recording_that_breaks_off_leaves_no_half_and_what_is_proven_is_not_cut_again(tmp_path: Path) -> None:
    (axis,) = find_axes(play_night(tmp_path / "night"))
    last = axis.track[-1].file
    whole, looks = last.read_bytes(), last.stat()
    book = _book(axis, Song(title="a", start=0, end=60 * RATE_HZ))
    last.write_bytes(whole[: 30 * RATE_HZ * 3])
    os.utime(last, ns=(looks.st_atime_ns, looks.st_mtime_ns))
    with pytest.raises(Fault, match="ends at sample"):
        cut_songs(book, [axis], tmp_path / "cuts")
    assert sorted(path.name for path in tmp_path.iterdir()) == [".cuts.part", ".cuts.proven", "night"]
    last.write_bytes(whole)  # the reader is connected again, at another size: another stamp
    cut_songs(book, [axis], tmp_path / "cuts")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cuts", "night"]


def test_how_far_it_is_is_told_block_by_block_and_cutting_can_be_stopped_within_a_recording(tmp_path: Path) -> None:
    (tmp_path / "take").mkdir()
    with write(tmp_path / "take" / "all.wav", RATE_HZ, 24, 2) as file:
        file.write(np.ones((600_000, 2), np.int32))
    (axis,) = find_axes(tmp_path / "take")
    shares: list[float] = []

    def stop(share: float) -> None:
        shares.append(share)
        if share > 0.3:
            raise KeyboardInterrupt("stopped")

    with pytest.raises(KeyboardInterrupt, match="stopped"):
        cut_songs(_book(axis, Song(title="a", start=0, end=600_000)), [axis], tmp_path / "cuts", stop)
    assert 0.3 < shares[-1] < 0.7
    assert not list((tmp_path / ".cuts.part").rglob("*.wav"))


def test_another_take_is_refused(night: Path, tmp_path: Path) -> None:
    (axis,) = find_axes(night)
    other = TakeSongs(take=axis.name, rate_hz=RATE_HZ, frames=axis.frames + 1, song=(Song(title="a", start=0, end=9),))
    with pytest.raises(Fault, match="samples at"):
        cut_songs(SongBook(take=(other,)), [axis], tmp_path / "cuts")
    assert not (tmp_path / "cuts").exists()


@st.composite
def _nights(draw: st.DrawFn) -> tuple[TakeSongs, Handles]:
    edges = sorted(draw(st.lists(st.integers(0, 400), min_size=2, max_size=8, unique=True)))
    songs = [Song(title=f"{a}", start=a * 100, end=b * 100) for a, b in zip(edges[::2], edges[1::2], strict=False)]
    if draw(st.booleans()) and len(songs) > 1:
        songs[0] = songs[0].model_copy(update={"end": songs[1].start, "runs_on": True})
    gaps = [(0, songs[0].start), *((a.end, b.start) for a, b in pairwise(songs))]
    kinds = st.sampled_from(("applause", "talk", "tuning", "quiet"))
    between = []
    for start, end in [*gaps, (songs[-1].end, 50_000)]:
        middle = (start + end) // 2
        between += [
            BetweenSongs(kind=draw(kinds), start=a, end=b) for a, b in ((start, middle), (middle, end)) if b > a
        ]
    handles = Handles(
        before_s=draw(st.floats(0, 30)),
        after_s=draw(st.floats(0, 30)),
        applause=draw(st.booleans()),
        talk=draw(st.sampled_from(("leave", "before", "own"))),
    )
    return TakeSongs(take="t", rate_hz=100, frames=50_000, song=tuple(songs), between=tuple(between)), handles


@given(_nights())
def test_a_piece_holds_its_song_and_never_reaches_into_another(night: tuple[TakeSongs, Handles]) -> None:
    take, handles = night
    pieces = pieces_of(take, handles)
    assert [piece.title for piece in pieces if piece.kind == "song"] == [song.title for song in take.song]
    for piece in pieces:
        assert 0 <= piece.start <= piece.song_start < piece.song_end <= piece.end <= take.frames
        for song in take.song:
            if piece.kind == "talk" or song.title != piece.title:
                assert piece.end <= song.start or piece.start >= song.end
    assert handles.talk == "own" or all(piece.kind == "song" for piece in pieces)


def test_talk_goes_where_it_was_asked_to() -> None:
    song = Song(title="a", start=3000, end=6000)
    rows = (("talk", 1000, 2000), ("talk", 2100, 2900), ("applause", 6000, 7000), ("talk", 7000, 7900))
    gaps = tuple(BetweenSongs.model_validate({"kind": kind, "start": a, "end": b}) for kind, a, b in rows)
    take = TakeSongs(take="t", rate_hz=100, frames=9000, song=(song,), between=gaps)
    bare = Handles(before_s=1, after_s=1)
    places = {
        talk: [(piece.start, piece.end) for piece in pieces_of(take, bare.model_copy(update={"talk": talk}))]
        for talk in ("leave", "before", "own")
    }
    assert places["leave"] == [(2900, 7100)]
    assert places["before"] == [(900, 7100)]
    assert places["own"] == [(900, 3000), (2900, 7100), (6900, 8000)]
    plain = pieces_of(take, bare.model_copy(update={"applause": False}))
    assert [(piece.start, piece.end) for piece in plain] == [(2900, 6100)]
