"""Which files belong together, from clocks, families, names and sizes."""

from __future__ import annotations

from pathlib import Path

import pytest
from takes.wave.handmade import chunk, fmt, form, noise, sparse

from fieldfare.takes.wave import Bext, Ixml, IxmlTrack, find_takes, gaps_of, make_bext, make_ixml, write

ONE = 1_000  # frames of a short file


def _file(
    path: Path,
    channels: int = 1,
    start: int | None = None,
    frames: int = ONE,
    family: str = "",
    names: tuple[str, ...] = (),
    rate_hz: int = 48_000,
) -> None:
    """Write a recording with what is given of a clock, a family and track names."""
    before = []
    if start is not None:
        before.append((b"bext", make_bext(Bext(time_reference=start))))
    if family or names:
        tracks = tuple(IxmlTrack(place + 10, place, name) for place, name in enumerate(names, 1))
        before.append((b"iXML", make_ixml(Ixml(family_uid=family, track=tracks))))
    path.parent.mkdir(parents=True, exist_ok=True)
    with write(path, rate_hz, 24, channels, before=before) as file:
        file.write(noise(frames, channels))


def _takes(folder: Path) -> dict[str, list[list[str]]]:
    """Return the names of takes, strands and parts."""
    return {
        take.name: [[head.path.name for head in strand.part] for strand in take.strand]
        for take in find_takes(folder).take
    }


def test_mono_files_of_a_folder_are_one_take_with_their_labels(tmp_path: Path) -> None:
    for name in ("01_kick_in", "02_snare", "10_lead_vocal", "room L"):
        _file(tmp_path / "TAKE 02" / f"{name}.wav")
    (take,) = find_takes(tmp_path).take
    assert take.name == "TAKE 02"
    assert [(lane.number, lane.label) for lane in take.lane] == [
        (1, "kick in"),
        (2, "snare"),
        (10, "lead vocal"),
        (None, "room L"),
    ]


def test_folders_never_mix(tmp_path: Path) -> None:
    for folder in ("A", "B"):
        _file(tmp_path / folder / "01.wav")
        _file(tmp_path / folder / "02.wav")
    assert _takes(tmp_path) == {"A": [["01.wav"], ["02.wav"]], "B": [["01.wav"], ["02.wav"]]}


def test_takes_of_one_folder_are_told_apart_by_their_numbers(tmp_path: Path) -> None:
    for name in ("T001_01", "T001_02", "T002_01", "T002_02"):
        _file(tmp_path / f"{name}.wav")
    assert _takes(tmp_path) == {
        "T001": [["T001_01.wav"], ["T001_02.wav"]],
        "T002": [["T002_01.wav"], ["T002_02.wav"]],
    }


def test_numbered_pairs_of_one_take_stay_together(tmp_path: Path) -> None:
    for name in ("tom_1", "tom_2", "room_1", "room_2"):
        _file(tmp_path / f"{name}.wav")
    (take,) = find_takes(tmp_path).take
    assert len(take.strand) == 4


def test_the_clock_tells_takes_apart(tmp_path: Path) -> None:
    for name, start in (("kick", 5_000), ("snare", 5_000), ("kick_2", 90_000), ("snare_2", 90_000)):
        _file(tmp_path / f"{name}.wav", start=start)
    assert list(_takes(tmp_path).values()) == [[["kick.wav"], ["snare.wav"]], [["kick_2.wav"], ["snare_2.wav"]]]
    assert len(_takes(tmp_path)) == 2  # no two takes of one name


def test_the_clock_counts_in_seconds_where_rates_differ(tmp_path: Path) -> None:
    """One track was left at another rate: it belongs to the take all the same, and the check will say so."""
    _file(tmp_path / "kick.wav", start=48_000)
    _file(tmp_path / "snare.wav", start=44_100, rate_hz=44_100)
    (take,) = find_takes(tmp_path).take
    assert len(take.strand) == 2


def test_interleaved_parts_go_on_by_the_clock(tmp_path: Path) -> None:
    for name, start in (("show", 7_000), ("show_2", 7_000 + ONE), ("show_3", 7_000 + 2 * ONE), ("other", 900_000)):
        _file(tmp_path / f"{name}.wav", 18, start)
    assert _takes(tmp_path) == {"other": [["other.wav"]], "show": [["show.wav", "show_2.wav", "show_3.wav"]]}
    take = find_takes(tmp_path).take[1]
    assert (take.frames, take.strand[0].gap, gaps_of(take.strand[0])) == (3 * ONE, (0, 0), ())


def test_a_recorder_that_counts_from_nought_is_understood(tmp_path: Path) -> None:
    for name, start in (("a1", 0), ("a2", ONE), ("a3", 2 * ONE)):
        _file(tmp_path / f"{name}.wav", 8, start)
    assert _takes(tmp_path) == {"a1": [["a1.wav", "a2.wav", "a3.wav"]]}


def test_a_recorder_that_keeps_no_clock_does_not_make_one_take_of_a_night(tmp_path: Path) -> None:
    """Its time reference is 0 in every file."""
    for name, frames in (("reel", ONE), ("polka", 700)):
        _file(tmp_path / f"{name}.wav", 18, 0, frames=frames)
    assert _takes(tmp_path) == {"polka": [["polka.wav"]], "reel": [["reel.wav"]]}


def test_mono_parts_follow_their_own_track(tmp_path: Path) -> None:
    """Every second part starts on the same sample; the names say which goes where."""
    for part in (1, 2):
        for track in (1, 2, 3):
            _file(tmp_path / f"{track:02d}-{part:04d}.wav", start=48_000 + (part - 1) * ONE)
    assert list(_takes(tmp_path).values()) == [
        [[f"{track:02d}-0001.wav", f"{track:02d}-0002.wav"] for track in (1, 2, 3)]
    ]


def test_samples_missing_between_parts_are_counted(tmp_path: Path) -> None:
    """Recorders lose time where they split: told only where iXML or a full file vouches for the join."""
    _file(tmp_path / "show_1.wav", 18, 48_000, family="night")
    _file(tmp_path / "show_2.wav", 18, 48_000 + ONE + 240_000, family="night")
    (take,) = find_takes(tmp_path).take
    assert gaps_of(take.strand[0]) == (("show_1.wav", "show_2.wav", 240_000),)
    assert take.frames == 2 * ONE
    assert "samples missing between" in take.strand[0].why


def test_two_short_takes_soon_after_each_other_are_not_joined(tmp_path: Path) -> None:
    _file(tmp_path / "show_1.wav", 18, 48_000)
    _file(tmp_path / "show_2.wav", 18, 48_000 + ONE + 240_000)
    assert len(find_takes(tmp_path).take) == 2


@pytest.mark.parametrize(("size", "joined"), [((1 << 32) - 40_000, True), (1 << 30, False)])
def test_without_a_clock_a_full_file_goes_on_in_the_next_number(size: int, joined: bool, tmp_path: Path) -> None:
    audio = size // 54 * 54
    sparse(tmp_path / "show001.wav", form(b"RIFF", fmt(18) + chunk(b"data", b"", audio), audio + 36), audio)
    _file(tmp_path / "show002.wav", 18)
    assert len(find_takes(tmp_path).take) == (1 if joined else 2)


def test_parts_of_one_size_go_on_where_they_are_interleaved(tmp_path: Path) -> None:
    for number, frames in ((1, ONE), (2, ONE), (3, 300)):
        _file(tmp_path / f"show{number}.wav", 18, frames=frames)
    assert _takes(tmp_path) == {"show1": [["show1.wav", "show2.wav", "show3.wav"]]}


def test_tracks_take_their_names_from_ixml(tmp_path: Path) -> None:
    _file(tmp_path / "show.wav", 3, names=("kick", "snare", ""))
    (take,) = find_takes(tmp_path).take
    assert [(lane.number, lane.label, lane.channel) for lane in take.lane] == [
        (11, "kick", 1),
        (12, "snare", 2),
        (None, "show 3", 3),
    ]


def test_what_is_no_recording_or_cannot_be_read_is_left_out_and_told(tmp_path: Path) -> None:
    _file(tmp_path / "01.wav")
    (tmp_path / "02.wav").write_bytes(bytes(100))
    (tmp_path / "._01.wav").write_bytes(b"left by another system")
    (tmp_path / "notes.txt").write_text("x")
    found = find_takes(tmp_path)
    assert [head.path.name for head in found.unreadable] == ["02.wav"]
    assert _takes(tmp_path) == {"01": [["01.wav"]]}


DAY = 86_400 * 48_000


@pytest.mark.parametrize("counts_on", [False, True], ids=["from 0 again", "past 24 h"])
@pytest.mark.parametrize("missing", [0, 500])
def test_a_recording_goes_on_past_midnight(tmp_path: Path, counts_on: bool, missing: int) -> None:
    """Whether its clock begins anew at midnight or counts on; its second file is the later one all the same."""
    begin = DAY - ONE + 300
    later = begin + ONE + missing
    _file(tmp_path / "night-0001.wav", 4, start=begin, family="A")
    _file(tmp_path / "night-0002.wav", 4, start=later if counts_on else later % DAY, family="A")
    _file(tmp_path / "night-0003.wav", 4, start=(later + ONE) if counts_on else (later + ONE) % DAY, family="A")
    (take,) = find_takes(tmp_path).take
    (strand,) = take.strand
    assert [head.path.stem[-1] for head in strand.part] == ["1", "2", "3"]
    assert strand.gap == (missing, 0)
    assert take.begin == begin
