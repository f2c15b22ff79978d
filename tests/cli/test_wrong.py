"""What is wrong with a command's words, told in the program's own, one line a fault, broken only on a terminal."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.exceptions import TyperException

from fieldfare.cli.main import app
from fieldfare.cli.wrong import fault_of


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("check . --mains nan", "--mains: 'nan' cannot be taken; give a number from 45 to 65"),
        ("check . --mains inf", "--mains: 'inf' cannot be taken; give a number from 45 to 65"),
        ("check . --mains 1e999", "--mains: '1e999' cannot be taken; give a number from 45 to 65"),
        ("check . --mains fifty", "--mains: 'fifty' cannot be taken; give a number from 45 to 65"),
        ("watch . --for -1", "--for: '-1' cannot be taken; give a number of 0 or more"),
        ("watch . --for nan", "--for: 'nan' cannot be taken; give a number of 0 or more"),
        ("sheets . --off-down down", "--off-down: 'down' cannot be taken; give a number"),
        ("mend x --to y --channels 1.5", "--channels: '1.5' cannot be taken; give a whole number of 1 or more"),
        ("mend x --to y --bits many", "--bits: 'many' cannot be taken; give a whole number"),
        ("desk --port 0", "--port: '0' cannot be taken; give a whole number from 1 to 65535"),
        ("sheets . --paper a5", "--paper: 'a5' cannot be taken; give a4 or letter"),
        ("songs . --talk loud", "--talk: 'loud' cannot be taken; give leave, before or own"),
        (f"songs . --talk {'x' * 70}", f"--talk: '{'x' * 60}…' cannot be taken; give leave, before or own"),
        ("mend x", "fieldfare mend: --to is missing; fieldfare mend --help shows how"),
        ("plan", "fieldfare plan: {show} is missing; fieldfare plan --help shows how"),
        ("plan a b", "fieldfare plan: b is more than it takes; fieldfare plan --help shows how"),
        ("sheets . --papr a4", "fieldfare sheets: there is no option --papr; did you mean --paper?"),
        ("sheets . --frob", "fieldfare sheets: there is no option --frob; fieldfare sheets --help shows how"),
        ("plann", "fieldfare: there is no command plann; did you mean plan?"),
        ("kit frob", "fieldfare kit: there is no command frob; fieldfare kit --help shows how"),
        ("plan . --why", "fieldfare: --why has no value behind it; fieldfare --help shows how"),
        ("songs . --applause=3", "fieldfare: --applause takes no value; fieldfare --help shows how"),
    ],
)
def test_a_word_that_cannot_be_taken_is_told_with_what_can(words: str, says: str) -> None:
    with pytest.raises(TyperException, check=lambda wrong: str(fault_of(wrong)) == says):
        app(words.split(), prog_name="fieldfare", standalone_mode=False)


def test_what_the_parser_may_say_one_day_is_passed_on() -> None:
    assert str(fault_of(TyperException("Something new."))) == "fieldfare: Something new; fieldfare --help shows how"


@pytest.mark.parametrize(
    ("number", "remedy", "is_noted"),
    [
        (errno.ENOSPC, "make room and try again", False),
        (errno.EACCES, "see to its rights, or name another", False),
        (errno.ENAMETOOLONG, "name a shorter one", False),
        (errno.ECHILD, "put that right and try again; the details are in", True),
    ],
)
def test_what_the_system_refuses_is_told_in_its_words_and_only_the_rest_is_noted(
    tmp_path: Path, number: int, remedy: str, is_noted: bool
) -> None:
    program = (
        "import os, sys; from fieldfare.cli import main\n"
        "@main.app.command('refuse')\n"
        f"def refuse() -> None: raise OSError({number}, os.strerror({number}), 'take.wav')\n"
        "sys.argv = ['fieldfare', 'refuse']; main.run()"
    )
    told = {name: str(tmp_path) for name in ("TMPDIR", "TEMP", "TMP")}
    done = subprocess.run(
        [sys.executable, "-c", program], env={**os.environ, **told}, capture_output=True, text=True, check=False
    )
    assert done.returncode == 3
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"take.wav: {os.strerror(number).lower()}; {remedy}")
    assert [path.name[:16] for path in tmp_path.iterdir()] == ["fieldfare-fault-"] * is_noted


@pytest.mark.parametrize("words", [("recipes",), ("recipes", "--json"), ("plan", "nowhere", "--json")])
def test_when_nobody_reads_on_it_ends_without_a_word(words: tuple[str, ...]) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-m", "fieldfare", *words], stdout=writer, stderr=subprocess.PIPE, text=True, check=False
    )
    os.close(writer)
    assert done.stderr == ""
    assert done.returncode in (1, 2)


_LONG = Path("a folder with a name") / "that is quite long" / "and then some more" / "and yet some more\nof it"


def test_a_fault_is_one_line_whatever_the_name_holds() -> None:
    done = subprocess.run([sys.executable, "-m", "fieldfare", "plan", str(_LONG)], capture_output=True, check=False)
    assert done.returncode == 2
    (line,) = done.stderr.decode().splitlines()
    assert r"yet some more\nof it: there is no such file or folder;" in line


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals there")
def test_a_fault_is_broken_at_80_columns_on_a_terminal() -> None:
    ours, theirs = os.openpty()
    done = subprocess.run([sys.executable, "-m", "fieldfare", "plan", str(_LONG)], stderr=theirs, check=False)
    os.close(theirs)
    told = os.read(ours, 10_000).decode().replace("\r\n", "\n")
    os.close(ours)
    assert done.returncode == 2
    first, *others = told.splitlines()
    assert others
    assert all(len(line) <= 80 for line in (first, *others))
    assert all(line.startswith("  ") for line in others)
    assert "check the name, or make a show with fieldfare new" in " ".join(told.split())
