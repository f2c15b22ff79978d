"""Parcels from a night of known samples: refused without consent, whole or not at all, read back by other programs."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import TypeAlias

import bagit
import numpy as np
import pytest
import soundfile
from handover.demo import FOLDER, demo
from handover.parcel_kit import BEGIN, FRAMES, LATE, PRINTED, RATE, Samples, contents, everybody, record
from sheets import pdf

from fieldfare.handover.parcel import Contents, Parcel, make_parcel, refusals, rough_title
from fieldfare.handover.receivers import receiver, receivers
from fieldfare.show.alignment import Alignment, Shift, TakeAlignment
from fieldfare.show.consent import ConsentBook
from fieldfare.show.mix import MixSheet, MixSong, MixTrack
from fieldfare.show.write_toml import write_toml
from fieldfare.takes.wave import read_cues, read_head
from fieldfare.units.faults import BadDocuments, Fault, NotDone

Night: TypeAlias = tuple[Contents, dict[str, Samples], Path]


def _made(what: Contents, name: str, place: Path) -> Parcel:
    return make_parcel(what, receiver(what.folder, name), place, PRINTED, lambda text, share: None)


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> Night:
    root = tmp_path_factory.mktemp("night")
    shutil.copytree(FOLDER, root / "show", ignore=lambda _, names: [one for one in names if not one.endswith(".toml")])
    samples = record(root / "card")
    return contents(root / "show", root / "card"), samples, root


@pytest.fixture(scope="module")
def archive(night: Night) -> Parcel:
    what, _, root = night
    return _made(what, "archive", root / "out")


def _samples(path: Path) -> Samples:
    read, rate = soundfile.read(path, dtype="int32", always_2d=True)
    assert rate == RATE
    whole: Samples = read >> 8  # 24 bits stand at the top of 32
    return whole


def test_every_sample_of_every_track_is_there_and_nothing_else(night: Night, archive: Parcel) -> None:
    _, true, _ = night
    whole = sorted((archive.folder / "data" / "tracks").rglob("*.wav"))
    assert len(whole) == 4
    read = {path.stem.split("_", 1)[1].replace("_", " "): _samples(path) for path in whole}
    assert all(len(one) == FRAMES for one in read.values())
    assert np.array_equal(read["Kick"], true["Kick"])
    assert np.array_equal(read["Snare top"], true["Snare top"])
    others = [one for name, one in read.items() if name not in ("Kick", "Snare top")]
    assert sorted(one.tobytes() for one in others) == sorted(true[name].tobytes() for name in ("one", "two"))
    assert next(one.silent for one in archive.handed if one.label == "Snare top") == LATE


def test_songs_are_cut_at_the_same_samples_in_every_track(night: Night, archive: Parcel) -> None:
    _, true, _ = night
    kick = true["Kick"]
    folders = sorted((archive.folder / "data" / "songs").iterdir())
    assert [one.name.split("_", 2)[-1][-16:] for one in folders][-1].endswith("Mud_on_the_Keel")
    for folder, (start, end) in zip(folders, ((1000, 9000), (12_001, 20_000)), strict=True):
        files = sorted(folder.iterdir())
        assert len(files) == 4
        assert {soundfile.info(file).frames for file in files} == {end - start}
        assert np.array_equal(_samples(next(one for one in files if "Kick" in one.name)), kick[start:end])


@pytest.mark.skipif(shutil.which("ffprobe") is None, reason="the media tool is not installed")
def test_another_program_reads_the_heads(archive: Parcel) -> None:
    path = next((archive.folder / "data" / "tracks").rglob("01_Kick.wav"))
    command = ["ffprobe", "-v", "error", "-show_format", "-show_streams", "-of", "json", str(path)]
    told = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)
    tags, stream = told["format"]["tags"], told["streams"][0]
    assert tags["time_reference"] == str(BEGIN)
    assert tags["comment"].startswith("Midwinter Dance; ")
    assert "1 Kick; large dynamic" in tags["comment"]
    assert (tags["date"], tags["creation_time"], tags["encoded_by"]) == ("2026-12-04", "19:00:00", "recorder")
    assert (stream["codec_name"], stream["sample_rate"], stream["channels"]) == ("pcm_s24le", str(RATE), 1)


def test_clock_names_and_marks_are_the_plan_s_and_the_songs(archive: Parcel) -> None:
    whole = read_head(next((archive.folder / "data" / "tracks").rglob("02_Snare_top.wav")))
    assert [(cue.sample, cue.label) for cue in read_cues(whole)] == [
        (1000, "Slack Water Reel"),
        (12_001, "Mud/on: the Keel?"),
    ]
    cut = read_head(sorted((archive.folder / "data" / "songs").rglob("02_Snare_top.wav"))[1])
    assert whole.ixml is not None
    assert cut.ixml is not None
    assert cut.bext is not None
    assert (whole.ixml.project, whole.ixml.track[0].name) == ("Midwinter Dance", "Snare top")
    assert whole.ixml.time_reference == BEGIN
    assert cut.bext.time_reference == cut.ixml.time_reference == BEGIN + 12_001
    assert cut.ixml.scene == "Mud/on: the Keel?"
    assert cut.ixml.total_files == 4
    assert [cue.label for cue in read_cues(cut)] == ["Mud/on: the Keel?"]


def test_the_bag_is_valid_and_holds_what_the_receiver_gets(archive: Parcel) -> None:
    assert bagit.Bag(str(archive.folder)).is_valid()
    tops = {path.name for path in (archive.folder / "data").iterdir()}
    assert tops == {"tracks", "songs", "sheets", "notes.txt", "consents.txt", "documents", "listen.html"}
    assert set(archive.lacking) == {
        "rough mixes: there are none", "pictures with our sound: there are none", "edit lists: there are none",
    }  # fmt: skip
    notes = (archive.folder / "data" / "notes.txt").read_text("utf-8")
    assert "02_Snare_top.wav: Snare top" in notes
    assert f"({LATE} samples of silence where nothing was recorded)" in notes
    assert "The recordings were not checked" in notes
    assert "drummer:" in (archive.folder / "data" / "consents.txt").read_text("utf-8")


@pytest.mark.parametrize("name", ["mixer", "band", "film editor", "archive"])
def test_nothing_leaves_without_the_consent_that_it_needs(name: str, night: Night, tmp_path: Path) -> None:
    what, _, root = night
    bare = contents(root / "show", root / "card", consents=ConsentBook(), roughs=(root / "card" / "01_kick.wav",))
    with pytest.raises(BadDocuments, match="drummer: no consent for recording") as caught:
        _made(bare, name, tmp_path)
    _, show, _, _ = demo()
    assert len(caught.value.blemishes) == len({one.player for one in show.sources if one.player}) + 1
    assert list(tmp_path.iterdir()) == []
    assert what.consents != bare.consents


def test_a_use_that_one_of_them_did_not_agree_to_stops_the_parcels_that_need_it(
    night: Night,
) -> None:
    _, _, root = night
    what = contents(root / "show", root / "card", consents=everybody("recording"))
    day = PRINTED.date()
    assert refusals(what, receiver(root, "mixer"), day) == ()
    assert all("no consent for pictures" in one.read for one in refusals(what, receiver(root, "film editor"), day))
    assert all("no consent for archive" in one.read for one in refusals(what, receiver(root, "archive"), day))


def test_what_is_not_there_is_told_before_anything_is_written(night: Night, tmp_path: Path) -> None:
    _, _, root = night
    for name, says in (("mixer", "there are no recordings"), ("band", "no rough mix and no picture")):
        with pytest.raises(BadDocuments, match=says):
            _made(contents(root / "show", root / "card", axes=()), name, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_parcel_that_is_there_is_left_alone(night: Night, archive: Parcel) -> None:
    what, _, _ = night
    before = sorted(path.stat().st_mtime_ns for path in archive.folder.rglob("*"))
    with pytest.raises(NotDone, match="there already, and is left alone"):
        _made(what, "archive", archive.folder.parent)
    assert sorted(path.stat().st_mtime_ns for path in archive.folder.rglob("*")) == before


def test_a_full_disc_leaves_nothing_behind(night: Night, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    what, _, _ = night

    def full(path: Path) -> tuple[int, int, int]:
        return shutil._ntuple_diskusage(0, 0, 1000)

    with monkeypatch.context() as patch:
        patch.setattr(shutil, "disk_usage", full)
        with pytest.raises(NotDone, match=r"MB are needed and 0\.0 MB are free"):
            _made(what, "mixer", tmp_path)
    (tmp_path / "x").write_bytes(b"")
    with pytest.raises(NotDone, match="cannot be written"):
        _made(what, "mixer", tmp_path / "x")


def test_pictures_of_whom_nobody_asked_are_left_out_of_what_may_leave(night: Night, tmp_path: Path) -> None:
    _, _, root = night
    files = {name: tmp_path / name for name in ("mix.wav", "camera.mp4")}
    shutil.copy(root / "card" / "01_kick.wav", files["mix.wav"])
    files["camera.mp4"].write_bytes(b"only copied")
    what = contents(
        root / "show", root / "card", consents=everybody("recording"), roughs=(files["mix.wav"],),
        pictures=(files["camera.mp4"],),
    )  # fmt: skip
    parcel = _made(what, "band", tmp_path / "out")
    assert not list(parcel.folder.rglob("*.mp4"))
    (lacking,) = parcel.lacking
    assert lacking.startswith("pictures with our sound: drummer: no consent for pictures (none is recorded); ")
    (said,) = refusals(replace(what, roughs=()), receiver(root, "band"), PRINTED.date())
    assert "there is nothing to give" in said.read


def test_room_is_asked_for_only_for_what_the_receiver_gets(
    night: Night, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, _, root = night
    picture = tmp_path / "camera.mp4"
    with picture.open("wb") as file:
        file.truncate(100 << 20)  # of which nothing lies on the disc
    what = contents(root / "show", root / "card", pictures=(picture,))
    monkeypatch.setattr(shutil, "disk_usage", lambda path: shutil._ntuple_diskusage(0, 0, 50 << 20))
    with pytest.raises(NotDone, match=r"1[23]\d\.\d MB are needed and 52\.4 MB are free"):
        _made(what, "film editor", tmp_path / "out")
    assert not list(_made(what, "mixer", tmp_path / "out").folder.rglob("*.mp4"))


def test_takes_that_a_file_system_calls_the_same_are_told_apart(night: Night, tmp_path: Path) -> None:
    _, _, root = night
    for name in ("take a", "take_A"):
        shutil.copytree(root / "card", tmp_path / "card" / name)
    parcel = _made(contents(root / "show", tmp_path / "card"), "mixer", tmp_path / "out")
    folders = sorted(path.name for path in (parcel.folder / "data" / "tracks").iterdir())
    assert folders == ["take_A_2", "take_a"]
    assert bagit.Bag(str(parcel.folder)).is_valid()


def test_a_rough_mix_is_copied_as_it_is_and_stands_on_the_page(night: Night, tmp_path: Path) -> None:
    _, _, root = night
    rough = tmp_path / "01 Slack & Reel.wav"
    shutil.copy(root / "card" / "01_kick.wav", rough)
    parcel = _made(contents(root / "show", root / "card", roughs=(rough,)), "band", tmp_path / "out")
    copied = parcel.folder / "data" / "roughs" / "01_Slack_Reel.wav"
    assert copied.read_bytes() == rough.read_bytes()
    page = (parcel.folder / "data" / "listen.html").read_text("utf-8")
    assert 'src="roughs/01_Slack_Reel.wav"' in page
    assert "01 Slack &amp; Reel" in page
    assert not (parcel.folder / "data" / "tracks").exists()


def test_a_rough_mix_is_called_what_its_mix_sheet_calls_it(tmp_path: Path) -> None:
    track = MixTrack(label="Kick", role="kick", gain_db=(0.0, 0.0))
    songs = (MixSong(title="Mud on the Keel?", start=0, end=9), MixSong(title="Mud", start=9, end=19))
    write_toml(MixSheet(take="t", rate_hz=RATE, track=(track,), song=songs), tmp_path / "mix.toml")
    assert rough_title(tmp_path / "02-mud-on-the-keel.wav") == "Mud on the Keel?"
    assert rough_title(tmp_path / "01-mud.m4a") == "Mud"
    assert rough_title(tmp_path / "whole_take.wav") == "whole take"
    (tmp_path / "mix.toml").write_text("not a sheet", "utf-8")
    assert rough_title(tmp_path / "01-mud.m4a") == "01-mud"


def test_a_show_brings_receivers_of_its_own(tmp_path: Path) -> None:
    assert list(receivers(tmp_path)) == ["archive", "band", "film editor", "mixer"]
    (tmp_path / "receivers").mkdir()
    own = tmp_path / "receivers" / "radio.toml"
    own.write_text('name = "radio"\nsays = "A station"\nuses = ["recording", "release"]\nroughs = true\n', "utf-8")
    assert receiver(tmp_path, "radio").uses == ("recording", "release")
    with pytest.raises(Fault, match="did you mean radio"):
        receiver(tmp_path, "radoi")
    own.write_text('name = "radio"\nsays = "A station"\nuses = ["relese"]\n', "utf-8")
    with pytest.raises(BadDocuments, match=r"radio\.toml, line 3"):
        receivers(tmp_path)


def test_pictures_and_edit_lists_go_with_it_and_other_programs_open_them(night: Night, tmp_path: Path) -> None:
    otio = pytest.importorskip("opentimelineio", reason="it has no wheel for this Python")

    _, _, root = night
    timeline = otio.schema.Timeline("cameras")
    timeline.tracks.append(otio.schema.Track("camera 1", kind="Video"))
    otio.adapters.write_to_file(timeline, str(tmp_path / "cameras.otio"))
    (tmp_path / "Camera 1.mp4").write_bytes(b"not looked into, only copied" * 999)
    what = contents(
        root / "show", root / "card", pictures=(tmp_path / "Camera 1.mp4",), edits=(tmp_path / "cameras.otio",)
    )
    parcel = _made(what, "film editor", tmp_path / "out")
    data = parcel.folder / "data"
    assert otio.adapters.read_from_file(str(data / "edits" / "cameras.otio")).name == "cameras"
    assert (data / "pictures" / "Camera_1.mp4").read_bytes() == (tmp_path / "Camera 1.mp4").read_bytes()
    assert bagit.Bag(str(parcel.folder)).is_valid()
    assert parcel.lacking == ("rough mixes: there are none",)


def test_what_people_read_in_a_parcel_is_german_where_that_is_asked(night: Night, tmp_path: Path) -> None:
    _, _, root = night
    _, show, venue, kit = demo()
    shift = Shift(track="Kick", apply=True, samples=205.0, against="Overhead left", group="overheads", confidence=0.97)
    timed = Alignment(take=(TakeAlignment(take="card", rate_hz=RATE, frames=FRAMES, shift=(shift,)),))
    what = contents(root / "show", root / "card", language="de", paper="letter", revision="C", measured=timed)
    parcel = _made(what, "archive", tmp_path)
    data = parcel.folder / "data"
    for name in ("notes.txt", "consents.txt"):
        text = (data / name).read_text("utf-8")
        for named in (*(thing.item for thing in kit.things), *(one.name for one in show.sources), show.recordist,
                      *(one.player for one in show.sources), venue.name, show.note, "Mud/on: the Keel?"):  # fmt: skip
            text = text.replace(named, "") if named else text
        text = re.sub(r"^ +\d\d_[^:]*: .*?(?=,|\(|$)|^\S+: (?=\d)", "", text, flags=re.MULTILINE)  # files and labels
        left = re.findall(r"\b(the|and|is|was|of|to|on|not|nothing|one|every|who|it|recorded|made)\b", text)
        assert left == [], text
    assert "24 Bit, ein Kanal je Datei" in (data / "notes.txt").read_text("utf-8")
    assert f"({LATE} Samples Stille, wo nichts aufgenommen wurde)" in (data / "notes.txt").read_text("utf-8")
    assert '<html lang="de">' in (data / "listen.html").read_text("utf-8")
    assert "Midwinter Dance, Eingänge" in pdf.all_words((data / "sheets" / "input_list.pdf").read_bytes())
    assert all(pdf.sizes_mm(path.read_bytes()) == {pdf.LETTER_MM} for path in (data / "sheets").iterdir())
    tracks = pdf.all_words((data / "sheets" / "track_sheet.pdf").read_bytes())
    assert "205 Samples (4,27 ms) vor Overhead left, zu 97 % sicher; Verschiebung vorgemerkt, nicht angewandt" in tracks
    info = (parcel.folder / "bag-info.txt").read_text("utf-8")
    assert "Ein Archiv: alles" in " ".join(info.split())
    songs = re.findall(r'<svg class="shapes"', (data / "listen.html").read_text("utf-8"))
    assert len(songs) == 8  # a plot for each track of each of two songs, and none for whole takes
