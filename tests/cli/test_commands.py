"""The commands as a user runs them: real processes, real files; what they say, what they leave, how they end."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from importlib.resources import as_file, files
from pathlib import Path
from shutil import copytree

import pytest
from sheets import pdf

from fieldfare.show.findings import OffloadReport, TakeReport
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan
from fieldfare.takes.alignment.kept import kept_alignment


def _run(*words: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "fieldfare", *map(str, words)]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, encoding="utf-8", check=False)


def _fits_80(text: str) -> bool:
    return all(len(line) <= 80 for line in text.splitlines())


@pytest.fixture(scope="module")
def show(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cli") / "show"
    with as_file(files("fieldfare.show") / "demo") as documents:
        copytree(documents, folder)
    return folder


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str, int]:
    folder = tmp_path_factory.mktemp("demo") / "demo"
    done = _run("demo", folder, "--seconds", "40")
    return folder, done.stdout, done.returncode


def test_the_plan_is_told_in_80_columns_and_ends_with_1_while_questions_stand_open(show: Path) -> None:
    done = _run("plan", show)
    assert done.returncode == 1, done.stderr
    assert _fits_80(done.stdout)
    assert "Midwinter Dance, plan of revision A" in done.stdout
    assert "venue: Is there a sound limiter, and which sockets does it cut?" in done.stdout


def test_the_plan_as_json_is_a_plan_and_the_same_every_time(show: Path) -> None:
    first, second = _run("plan", show, "--json"), _run("plan", show, "--json")
    assert first.stdout == second.stdout
    plan = Plan.model_validate_json(first.stdout)
    assert plan.title == "Midwinter Dance"
    assert len({one.channel for one in plan.input}) == len(plan.input)


def test_one_input_opens_by_id_label_or_number(show: Path) -> None:
    by_id, by_label, by_number = (_run("plan", show, "--why", name).stdout for name in ("kick", "Kick", "1"))
    assert by_id == by_label == by_number
    assert "Why" in by_id
    assert "dB SPL" in by_id
    assert _fits_80(by_id)


def test_what_is_left_out_opens_too_and_says_what_would_bring_it_back(show: Path) -> None:
    plan = Plan.model_validate_json(_run("plan", show, "--json").stdout)
    missing = next(one for one in plan.left_out if one.cure)
    told = " ".join(_run("plan", show, "--why", missing.label).stdout.split())
    assert "not recorded" in told
    assert missing.blocks in told
    assert missing.cure in told


def test_a_recipe_says_what_its_source_may_count_and_leave_out() -> None:
    opened = " ".join(_run("recipes", "drum kit").stdout.split())
    assert "counts = { ... } may set: toms = 2" in opened
    assert "leave_out = [...] may name: kick, snare top" in opened


def test_a_name_that_is_nearly_right_is_told(show: Path) -> None:
    done = _run("plan", show, "--why", "kikc")
    assert done.returncode == 2
    assert "did you mean kick?" in done.stderr


def test_what_goes_into_a_file_is_utf_8_on_a_system_with_an_old_code_page(show: Path, tmp_path: Path) -> None:
    """A pipe or a file on Windows has such a page, in which there is no true minus."""
    command = [sys.executable, "-m", "fieldfare", "plan", str(show), "--json"]
    with (tmp_path / "plan.json").open("wb") as out:
        done = subprocess.run(command, stdout=out, env={**os.environ, "PYTHONIOENCODING": "cp1252"}, check=False)
    assert done.returncode == 1
    written = (tmp_path / "plan.json").read_text("utf-8")
    assert "−" in written
    assert Plan.model_validate_json(written).title == "Midwinter Dance"


def test_a_change_makes_a_new_revision_and_the_same_documents_keep_theirs(show: Path, tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    copytree(show, mine, ignore=lambda _, names: [name for name in names if not name.endswith(".toml")])
    assert "revision A" in _run("plan", mine).stdout
    assert "revision A" in _run("plan", mine).stdout
    file = mine / "show.toml"
    file.write_text(
        file.read_text("utf-8").replace('title = "Midwinter Dance"', 'title = "Midwinter Dance 2"'), "utf-8"
    )
    changed = _run("plan", mine).stdout
    assert "Midwinter Dance 2, plan of revision" in changed


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_sheets_are_written_where_asked(show: Path, tmp_path: Path, paper: str) -> None:
    done = _run("sheets", show, "--to", tmp_path / "out", "--paper", paper, "--json")
    assert done.returncode == 1, done.stderr
    paths = [Path(name) for name in json.loads(done.stdout)["sheet"]]
    assert {path.stem for path in paths} >= {"inputs", "patch", "stage", "pack", "tape", "tags", "questions"}
    assert all(path.read_bytes().startswith(b"%PDF") for path in paths)
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(path.name for path in paths)


def test_bad_documents_are_told_all_at_once_and_nothing_is_left_behind(show: Path, tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    copytree(show, mine, ignore=lambda _, names: [name for name in names if not name.endswith(".toml")])
    for name, old, new in (
        ("show.toml", 'recipe = "fiddle"', 'recip = "fiddle"'),
        ("venue.toml", "rating_a = 16", 'rating_a = "sixteen"'),
        ("kit.toml", 'kind = "ribbon"', 'kind = "riban"'),
    ):
        file = mine / name
        file.write_text(file.read_text("utf-8").replace(old, new, 1), "utf-8")
    before = sorted(path.name for path in mine.iterdir())
    done = _run("plan", mine)
    assert done.returncode == 2
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    for name in ("show.toml, line", "venue.toml, line", "kit.toml, line"):
        assert any(line.startswith(name) for line in lines), done.stderr
    assert any("ribbon" in line for line in lines), "the nearest known kind is named"
    assert sorted(path.name for path in mine.iterdir()) == before
    told = json.loads(_run("plan", mine, "--json").stdout)["fault"]
    assert {fault["file"] for fault in told} == {"show.toml", "venue.toml", "kit.toml"}


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("plan", "nowhere"), 2, "nowhere"),
        (("plann",), 2, "plann"),
        (("plan",), 2, "show"),
        (("schema", "kitt"), 2, "did you mean kit?"),
        (("check", "nowhere"), 2, "nowhere"),
        (("recipes", "fidle"), 2, "did you mean fiddle?"),
        (("recipes", "piano"), 2, "grand piano or upright piano?"),
        (("kit", "import", "nowhere.csv"), 2, "nowhere.csv"),
        (("mend", ".", "--to", "new.wav"), 2, ".: this is a folder, not a file"),
        (("songs", ".", "--after", "inf"), 2, "--after"),
        (("check", ".", "--mains", "nan"), 2, "--mains"),
        (("watch", __file__), 2, "test_commands.py: this is a file, not a folder"),
        (("desk", __file__), 2, "test_commands.py: this is a file, not a folder"),
    ],
)
def test_a_wrong_request_gets_one_sentence_and_its_status(
    tmp_path: Path, words: tuple[str, ...], status: int, says: str
) -> None:
    done = _run(*words, cwd=tmp_path)
    assert done.returncode == status, done.stderr
    assert says.casefold() in done.stderr.casefold()
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_ctrl_c_in_the_middle_is_told_and_is_not_done() -> None:
    """The parser turns it into a status of its own, which no command has."""
    program = (
        "import sys; from fieldfare.cli import main\n"
        "@main.app.command('wait')\n"
        "def wait() -> None: raise KeyboardInterrupt\n"
        "sys.argv = ['fieldfare', 'wait']; main.run()"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (3, "Stopped by hand. What was finished before is kept.\n")


def test_ctrl_c_while_the_program_is_loaded_is_told_too() -> None:
    program = (
        "import sys, runpy\n"
        "class Stopped:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name == 'typer': raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Stopped())\n"
        "runpy.run_module('fieldfare', run_name='__main__')"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (3, "Stopped by hand. What was finished before is kept.\n")


@pytest.mark.parametrize(("words", "knows"), [((), "offload"), (("kit",), "insurance"), (("archive",), "check")])
def test_without_a_word_it_says_what_it_knows_and_nothing_else(words: tuple[str, ...], knows: str) -> None:
    done = _run(*words)
    asked = _run(*words, "--help")
    assert (done.returncode, done.stderr, done.stdout) == (2, "", asked.stdout)
    assert knows in done.stdout
    assert _fits_80(done.stdout)


def test_a_kit_that_would_be_written_over_names_the_option_that_does_it(tmp_path: Path) -> None:
    (tmp_path / "kit.csv").write_text("thing,item\nsundry,tape\n", "utf-8")
    (tmp_path / "kit.toml").write_text("# mine\n", "utf-8")
    done = _run("kit", "import", "kit.csv", "--to", "kit.toml", cwd=tmp_path)
    assert (done.returncode, (tmp_path / "kit.toml").read_text("utf-8")) == (3, "# mine\n")
    assert "write over it with --replace" in done.stderr
    assert _run("kit", "import", "kit.csv", "--to", "kit.toml", "--replace", cwd=tmp_path).returncode == 0


def test_the_size_of_paper_may_be_written_as_the_standard_does(tmp_path: Path) -> None:
    done = _run("kit", "test-print", "--paper", "A4", "--language", "DE", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / "test-print.pdf").is_file()


def test_a_new_show_names_its_blanks_when_it_is_planned_untouched(tmp_path: Path) -> None:
    made = _run("new", tmp_path / "spring-ball")
    assert made.returncode == 0
    assert {path.name for path in (tmp_path / "spring-ball").iterdir()} >= {"show.toml", "venue.toml", "kit.toml"}
    again = _run("new", tmp_path / "spring-ball")
    assert again.returncode == 3
    assert "empty" in again.stderr


def test_a_kit_goes_from_template_to_toml(tmp_path: Path) -> None:
    """The template's example lines are remarks; with the marks taken off they are a kit."""
    file = tmp_path / "kit.csv"
    assert _run("kit", "template", file).returncode == 0
    file.write_text(file.read_text("utf-8-sig").replace("# ", ""), "utf-8")
    done = _run("kit", "import", file, "--to", tmp_path / "kit.toml", "--json")
    assert done.returncode == 0, done.stderr
    kit = Kit.model_validate_json(done.stdout)
    assert len(kit.mic[0].tags) == 4
    assert kit.cable
    assert _run("kit", "import", tmp_path / "kit.toml", "--json").stdout == done.stdout


def test_every_published_schema_is_written(tmp_path: Path) -> None:
    names = _run("schema").stdout.split()
    assert {"show", "venue", "kit", "plan"} <= set(names)
    for name in names:
        assert "properties" in json.loads(_run("schema", name).stdout) or "$defs" in json.loads(
            _run("schema", name).stdout
        )


def test_one_copy_is_refused(show: Path, tmp_path: Path) -> None:
    done = _run("offload", tmp_path, show, "--to", tmp_path / "a")
    assert done.returncode == 2
    assert "one copy is not safe" in done.stderr


def test_the_demo_finds_every_fault_that_was_put_in_and_nothing_else(demo: tuple[Path, str, int]) -> None:
    _, text, status = demo
    assert "Nothing else was reported as a fault." in text, text
    assert "not found:" not in text, text
    assert status == 0
    assert _fits_80(text)


def test_the_demo_never_calls_one_disc_safe(demo: tuple[Path, str, int]) -> None:
    folder, _, _ = demo
    report = OffloadReport.model_validate_json((folder / "show" / "takes" / "offload.json").read_text("utf-8"))
    assert not report.complete
    assert report.missing
    assert all(len(file.read_back) == 2 for file in report.file)


def test_an_unfinished_file_is_mended_into_a_new_one_and_a_headless_one_gets_offers(
    demo: tuple[Path, str, int], tmp_path: Path
) -> None:
    broken = next((demo[0] / "card").rglob("*room_left.wav"))
    before = broken.read_bytes()
    assert _run("mend", broken, "--to", tmp_path / "new.wav").returncode == 0
    assert _run("mend", broken, "--to", tmp_path / "new.wav").returncode == 3, "nothing is ever overwritten"
    assert broken.read_bytes() == before
    headless = tmp_path / "headless.wav"
    headless.write_bytes(next((demo[0] / "card").rglob("01_kick.wav")).read_bytes()[2048:3_000_000])
    offered = _run("mend", headless, "--to", tmp_path / "out.wav", "--json")
    assert offered.returncode == 1
    best = json.loads(offered.stdout)["offer"][0]
    assert (best["channels"], best["bits"]) == (1, 24)
    assert not (tmp_path / "out.wav").exists()
    told = _run("mend", headless, "--to", tmp_path / "out.wav", "--channels", "1", "--bits", "24", "--rate", "48000")
    assert told.returncode == 0, told.stderr
    assert (tmp_path / "out.wav").exists()


def test_a_show_is_checked_where_it_was_offloaded_to_and_a_bare_folder_without_a_plan(
    demo: tuple[Path, str, int],
) -> None:
    folder, _, _ = demo
    planned = _run("check", folder / "show", "--json")
    assert planned.returncode == 1, planned.stderr
    bare = _run("check", folder / "card", "--json")
    reports = [TakeReport.model_validate(take) for run in (planned, bare) for take in json.loads(run.stdout)["take"]]
    assert {finding.kind for finding in reports[0].finding} >= {"dead", "dropout", "hum"}
    assert reports[1].not_known, "without a plan some things cannot be told"
    assert len(reports[0].track) == len(reports[1].track)
    paper = folder / "paper"
    told = _run("check", folder / "show", "--pdf", paper, "--html", paper, "--paper", "letter", "--language", "de")
    assert _fits_80(told.stdout)
    assert "Spurprüfung" in pdf.all_words((paper / "track-check.pdf").read_bytes())
    assert pdf.sizes_mm((paper / "track-check.pdf").read_bytes()) == {pdf.LETTER_MM}
    assert '<html lang="de">' in (paper / "track-check.html").read_text("utf-8")


def test_a_plan_is_told_in_german_and_its_json_stays(tmp_path: Path) -> None:
    with as_file(files("fieldfare.show") / "demo") as documents:
        show = copytree(documents, tmp_path / "show")
    told = _run("plan", show, "--language", "de")
    assert _fits_80(told.stdout)
    words = " ".join(told.stdout.split())
    for said in ("Weggelassen Hand percussion (soll): ", "fragen fragen", "Band: Spielt Harmonium am 4. Dezember?",
                 "Linecheck, Quelle für Quelle", "20 Zeilen; 2 weitere Eingänge darauf"):  # fmt: skip
        assert said in words
    opened = _run("plan", show, "--language", "de", "--why", "kick")
    assert _fits_80(opened.stdout)
    words = " ".join(opened.stdout.split())
    assert "Warum Ein großes dynamisches verträgt den Schlag und reicht tief genug; eigener Klang" in words
    assert "lautesten Moment am Mikrofon zu erwarten ist niedrigster 128 dB SPL" in words
    assert _run("plan", show, "--language", "de", "--json").stdout == _run("plan", show, "--json").stdout


def test_a_folder_of_nothing_but_empty_files_is_told_on_screen_and_on_paper(tmp_path: Path) -> None:
    """What a card leaves when power goes at the start: told as a fault of the files, not of the program."""
    (tmp_path / "card").mkdir()
    for name in ("01_kick.wav", "02_snare.wav"):
        (tmp_path / "card" / name).touch()
    told = _run("check", tmp_path / "card")
    assert told.returncode == 1, told.stderr
    assert told.stdout.count("the file is empty") == 2
    assert "0 tracks\n" in told.stdout
    paper = _run("check", tmp_path / "card", "--pdf", tmp_path / "paper", "--html", tmp_path / "page")
    assert paper.returncode == 1
    assert "the file is empty" in " ".join(pdf.all_words((tmp_path / "paper/track-check.pdf").read_bytes()).split())
    assert "the file is empty" in (tmp_path / "page/track-check.html").read_text("utf-8")


def test_what_is_measured_of_a_show_is_kept_for_its_track_sheet(demo: tuple[Path, str, int]) -> None:
    folder, _, _ = demo
    told = _run("align", folder / "show")
    assert told.returncode in (0, 1), told.stderr
    assert _fits_80(told.stdout)
    kept = kept_alignment(folder / "show")
    assert kept is not None
    assert "for the track sheet of a parcel." in " ".join(told.stdout.split())
    assert [len(take.pair) > 0 for take in kept.take] == [True]
