"""Reading a show's folder: the demo, several kits in one, and every fault of every document at once."""

from __future__ import annotations

import ntpath
import os
import pickle
import shutil
from pathlib import Path, PureWindowsPath

import pytest

from fieldfare.show.toml import digest_of, read_kit, read_show, seen_from
from fieldfare.units.faults import BadDocuments, Fault

DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo"
SMALL = Path(__file__).parent / "cases/small"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the demo that may be spoilt."""
    return shutil.copytree(DEMO, tmp_path / "show")


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A small show whose lines this file knows."""
    return shutil.copytree(SMALL, tmp_path / "show")


def _spoil(file: Path, *changes: tuple[str, str]) -> None:
    text = file.read_text("utf-8")
    for right, wrong in changes:
        assert right in text, right
        text = text.replace(right, wrong, 1)
    file.write_text(text, "utf-8")


def _told(path: Path) -> list[str]:
    with pytest.raises(BadDocuments, match=r"\S") as caught:
        read_show(path)
    return str(caught.value).splitlines()


def test_the_demo_reads_without_a_fault() -> None:
    demo = read_show(DEMO)
    assert demo.folder == DEMO
    assert demo.show.title == "Midwinter Dance"
    assert demo.show.venue == "venue.toml"
    assert demo.venue.limiter.status == "unknown"
    assert demo.venue.limiter.known is None
    assert [box.splits_isolated.status for box in demo.venue.house_box] == ["unknown"]
    vocal = next(source for source in demo.show.sources if source.name == "Lead vocal")
    assert vocal.house_mic
    assert vocal.house_mic.owner.status == "unknown"
    (recorder,) = demo.kit.recorder
    assert (recorder.preamps, recorder.phantom_bank, recorder.line_inputs) == (16, 4, 4)
    assert sum(len(thing.tags) for thing in demo.kit.things) == len(
        {t for thing in demo.kit.things for t in thing.tags}
    )
    assert [mic.faulty for mic in demo.kit.mic if mic.faulty] == [{"M-18": "lead crackles at the connector"}]


def test_the_folder_and_the_file_are_the_same_show() -> None:
    assert read_show(DEMO) == read_show(DEMO / "show.toml")


def test_the_digest_follows_what_is_said_not_how_it_is_written(folder: Path) -> None:
    digest = read_show(folder).digest
    _spoil(folder / "show.toml", ("crew = 1\n", "crew   =   1 # alone\n\n"), ("at = [0.0, 3.2]", "at = [0, 3.20]"))
    text = (folder / "kit.toml").read_text("utf-8")
    (folder / "kit.toml").write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert read_show(folder).digest == digest
    _spoil(folder / "show.toml", ("crew   =   1", "crew = 2"))
    assert read_show(folder).digest != digest


def test_every_fault_of_all_three_documents_at_once(small: Path) -> None:
    _spoil(
        small / "show.toml",
        ("crew = 1", "crew = true"),
        ("doors = 19:00:00", "doors = 19"),
        ('recipe = "bouzouki"\n', ""),
        ('doubles_with = "Guitar"', 'doubles_with = "Gitar"'),
        ('house_box = "House box"', 'house_box = "Hose box"'),
    )
    _spoil(
        small / "venue.toml",
        ('"Europe/London"', '"Europe/Londn"'),
        ("[stage]", "[[stage]]"),
        ('circuit = "Stage only"', 'circuit = "Stage"'),
    )
    _spoil(
        small / "kit.toml",
        ('tags = ["T-01"]', 'tags = ["M-04"]'),
        ("length_m = 10", "lenght_m = 10"),
        ('bin = "Stand bag"', 'bin = "Stands bag"'),
    )
    assert _told(small) == [
        "show.toml, line 5, crew: true is not a whole number; give a whole number, 1 or more, at most 50",
        "show.toml, line 8, times, doors: 19 is not a time; write hours, minutes, seconds, without quotes: 19:30:00",
        'show.toml, line 18, source "Bouzouki", recipe: is missing; give text in quotes (which recipe turns it into '
        "inputs; fieldfare recipes lists them)",
        'show.toml, line 21, source "Bouzouki", doubles_with: there is no source "Gitar"; write "Guitar"',
        'show.toml, line 29, source "Voice", house_mic, house_box: there is no house box "Hose box"; write "House box"',
        'venue.toml, line 2, zone: there is no time zone "Europe/Londn"; write "Europe/London"',
        "venue.toml, line 9, stage: stands in double brackets: [[stage]]; there is only one: write [stage]",
        'venue.toml, line 23, socket "Left", circuit: there is no circuit "Stage"; write "Stage only"',
        'kit.toml, line 21, stand "tall boom stand", tags: tag "M-04" is also at kit.toml, line 11; '
        "give each unit a tag of its own",
        'kit.toml, line 22, stand "tall boom stand", bin: there is no bin "Stands bag"; write "Stand bag"',
        'kit.toml, line 33, cable "microphone cable 10 m", lenght_m: is not a field that is known here; write length_m',
    ]


def test_a_fault_survives_a_worker_process(folder: Path) -> None:
    _spoil(folder / "show.toml", ("crew = 1", "crew = 0"))
    with pytest.raises(BadDocuments, match="crew: 0 is out of range") as caught:
        read_show(folder)
    again = pickle.loads(pickle.dumps(caught.value))
    assert isinstance(again, BadDocuments)
    assert again.blemishes == caught.value.blemishes


def test_a_text_that_is_not_toml_hides_no_fault_of_another_file(small: Path) -> None:
    _spoil(small / "venue.toml", ('zone = "Europe/London"', "zone = Europe/London"))
    _spoil(small / "kit.toml", ("impedance_ohm = 300", "impedance_ohm = 0"))
    assert _told(small) == [
        'venue.toml, line 2: has text without quotes; put the text in quotes: "…"',
        'kit.toml, line 17, mic "small dynamic, cardioid", impedance_ohm: 0 is out of range; '
        "give a number in Ω, more than 0",
    ]


def test_files_that_the_show_names_and_that_are_not_there(small: Path) -> None:
    _spoil(
        small / "show.toml", ('"venue.toml"', '"venu.toml"'), ('["kit.toml"]', '["kit.toml", "./kit.toml", "x.csv"]')
    )
    assert _told(small) == [
        'show.toml, line 3, venue: there is no file "venu.toml"; write "venue.toml"',
        'show.toml, line 4, kit, entry 2: "./kit.toml" is named twice; name each file once',
        f'show.toml, line 4, kit, entry 3: there is no file "x.csv"; give the name of the kit\'s file, '
        f"from the folder {small}, or begin one: fieldfare kit template kit.csv",
    ]


def test_a_kit_that_is_not_there_is_never_the_show_or_the_venue(small: Path) -> None:
    (small / "kit.toml").unlink()
    (told,) = _told(small)
    assert "show.toml" not in told.split(": ", 1)[1]
    assert "venue.toml" not in told
    assert told.endswith("begin one: fieldfare kit template kit.csv")


def test_a_length_with_a_point_and_no_quotes_is_told_as_that(small: Path) -> None:
    text = (small / "kit.toml").read_text("utf-8")
    (small / "kit.toml").write_text(f'length_colours = {{ 7.5 = "grey" }}\n{text}', "utf-8")
    (told,) = _told(small)
    assert 'write the length in quotes: "7.5" = "grey"' in told


def test_the_shows_own_recipes_count_for_the_digest_and_remarks_do_not(small: Path) -> None:
    without = read_show(small).digest
    own = small / "recipes" / "saw.toml"
    own.parent.mkdir()
    own.write_text('[[recipe]]\nname = "saw"\n', "utf-8")
    with_one = read_show(small)
    own.write_text('# a remark\n[[recipe]]\nname   =   "saw"\n', "utf-8")
    remarked = read_show(small)
    own.write_text('[[recipe]]\nname = "file"\n', "utf-8")
    assert with_one.digest == remarked.digest
    assert len({without, with_one.digest, read_show(small).digest}) == 3
    assert with_one.recipes == {"saw.toml": {"recipe": [{"name": "saw"}]}}


def test_recipes_that_cannot_be_read_change_the_digest_and_are_left_to_the_plan(small: Path) -> None:
    own = small / "recipes" / "saw.toml"
    own.parent.mkdir()
    own.write_bytes(b"[[recipe\n\xff")
    assert read_show(small).digest != digest_of(read_show(small).show, read_show(small).venue, read_show(small).kit)


def test_a_name_that_no_system_takes_is_told_as_any_other(small: Path) -> None:
    _spoil(small / "show.toml", ('"venue.toml"', f'"{"v" * 300}"'))
    assert any("there is no file" in told for told in _told(small))


@pytest.mark.parametrize(
    ("venue", "kit", "told"),
    [
        ("copy.toml", "kit.toml", "copy.toml: reads like a kit, not like a venue; give the venue's file instead"),
        ("venue.toml", "show.toml", "show.toml: reads like a show, not like a kit; give the kit's file instead"),
    ],
)
def test_a_document_in_place_of_another_is_one_fault(small: Path, venue: str, kit: str, told: str) -> None:
    shutil.copy(small / "kit.toml", small / "copy.toml")
    _spoil(small / "show.toml", ('"venue.toml"', f'"{venue}"'), ('"kit.toml"', f'"{kit}"'))
    assert told in _told(small)
    assert len(_told(small)) == 1


def test_several_kits_make_one(folder: Path) -> None:
    (folder / "house.toml").write_text(
        'owner_name = "The shed"\nlength_colours = { 3 = "red", 7 = "pink" }\n\n[[splitter]]\nitem = "house split"\n'
        'tags = ["H-01"]\nowner = "house"\nisolation = "active"\n',
        "utf-8",
    )
    _spoil(folder / "show.toml", ('["kit.toml"]', '["kit.toml", "house.toml"]'))
    kit = read_show(folder).kit
    assert kit.owner_name == "Fieldfare demo"
    assert kit.length_colours["3"] == "white"
    assert kit.length_colours["7"] == "pink"
    assert [(one.owner, len(one.tags)) for one in kit.splitter] == [("ours", 3), ("ours", 1), ("house", 1)]


def test_a_set_names_one_act_or_several(small: Path) -> None:
    """As docs/acts.md writes both; several were refused as "a list is not a list"."""
    for written in ('"The duo"', '["The duo"]', '["The duo", "The choir"]'):
        text = (SMALL / "show.toml").read_text("utf-8")
        sets = f"[[set]]\nstart = 20:00:00\nminutes = 30\nact = {written}\n\n"
        choir = '\n[[act]]\nname = "The choir"\n'
        (small / "show.toml").write_text(text.replace("[[act]]", f"{sets}[[act]]", 1) + choir, "utf-8")
        assert ", ".join(f'"{name}"' for name in read_show(small).show.set[0].act) == written.strip("[]")


def test_a_cable_without_a_colour_wears_that_of_its_length_in_its_own_kit(folder: Path) -> None:
    (folder / "house.toml").write_text(
        'length_colours = { 3 = "red", "7.5" = "pink" }\n'
        + "".join(
            f'\n[[cable]]\nitem = "house lead {tag}"\ntags = ["{tag}"]\nsignal = "mic"\nfrom_end = "xlr-f"\n'
            f'to_end = "xlr-m"\nlength_m = {length_m}\n{more}'
            for tag, length_m, more in (
                ("H-1", 3, ""),
                ("H-2", 7.5, 'colour = "grey"\n'),
                ("H-3", 7.5, ""),
                ("H-4", 5, ""),
            )
        ),
        "utf-8",
    )
    colours = {cable.tags: cable.colour for cable in read_kit(folder / "kit.toml", folder / "house.toml").cable}
    assert [colours[tag,] for tag in ("H-1", "H-2", "H-3", "H-4")] == ["red", "grey", "pink", ""]


def test_a_tag_in_two_kits_names_both_places(folder: Path) -> None:
    second = folder / "house.toml"
    second.write_text('[[sundry]]\nitem = "lamp"\ntags = ["X-04"]\n', "utf-8")
    with pytest.raises(
        BadDocuments, match=r'house\.toml, line 3, sundry "lamp", tags: tag "X-04" is also at kit\.toml, line \d+; give'
    ) as caught:
        read_kit(folder / "kit.toml", second)
    assert len(caught.value.blemishes) == 1


def test_a_place_without_a_show_is_told_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(Fault, match=r"nowhere: there is no such file or folder; check the name, or make a show with"):
        read_show(tmp_path / "nowhere")
    with pytest.raises(Fault, match=r": there is no show\.toml in this folder; make one with fieldfare new"):
        read_show(tmp_path)
    (tmp_path / "dance.toml").write_text("", "utf-8")
    with pytest.raises(Fault, match=r"; name the show's file itself: dance\.toml"):
        read_show(tmp_path)


@pytest.mark.parametrize(
    ("kit", "seen"),
    [("C:/gear/kit.toml", "../../gear/kit.toml"), ("D:/kit.toml", "D:/kit.toml")],
)
def test_a_kit_on_another_drive_is_named_by_its_whole_path(
    kit: str, seen: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows' own rules for paths, which are part of Python on every system."""
    monkeypatch.setattr(os.path, "relpath", ntpath.relpath)
    assert seen_from(PureWindowsPath("C:/shows/ball"), PureWindowsPath(kit)) == seen
