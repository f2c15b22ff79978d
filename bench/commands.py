"""Walks the command line at random: any command, option and value, on documents and recordings that are damaged.

python bench/commands.py FOLDER [lines] [seed] [command] [--seconds S]

FOLDER keeps the small world of bench/spoiled.py, which is made where it is not there yet. Each line is one command in a
process of its own, in a copy of the world of which a few files were spoiled, without a superuser's rights. Commands and
options are read from the program, so that none is forgotten. Some lines are stopped by hand at a random moment, and
some have nobody who reads what they say. What has to hold of every line:

- it ends by itself, with status 0, 1, 2 or 3, or soon after it was stopped;
- what it says is no traceback and holds none of the words in which a library tells a fault;
- with status 2 and 3 it says what is wrong, in one line a fault, or as JSON where that was asked for;
- no recording that was there is changed, no document but by the command that is there for it;
- nothing half-written is left, but where it was stopped and goes on from there, nor anything in the system's folder for
  such files; with 2 and 3 nothing new at all.

A line and its seed are printed where one of them does not hold: the same seed and number give it again. Needs a system
that forks.
"""

from __future__ import annotations

import argparse
import contextlib
import ctypes
import hashlib
import json
import os
import random
import re
import resource
import shutil
import signal
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lines import commands, words_of
from spoiled import build, spoil

MOST_S = 240.0
MOST_BYTES = 12 << 30
ENDLESS = ("watch", "desk")
SLOW = {"demo": 0.02, "whatif": 0.3, "desk": 0.15, "sheets": 0.5}  # how often they come up, next to the others
FOREIGN = re.compile(
    r"Traceback|Errno|Error\b|Exception|Input should be|Value error|Invalid value|NoneType|<class|object at 0x|"
    r"codec can't|invalid literal|not supported between|unexpected keyword"
)
OWN = {  # what a command is there to write, beside where it is told to; in every show's folder
    "songs": ("songs.toml",), "answer": ("show.toml", "venue.toml"), "consent": ("consent.toml", "consent", "papers"),
    "quote": ("money.toml", "business.toml", "papers"), "invoice": ("money.toml", "business.toml", "papers"),
    "letters": ("letters",), "sheets": ("sheets",), "rough": ("roughs",), "align": ("takes",), "offload": ("takes",),
    "handover": ("parcels", "archive.json"), "archive": ("archive.json",), "picture": (), "check": ("takes",),
}  # fmt: skip
RECORDED = (".wav", ".mp4", ".flac", ".mov")
_HASHED: dict[tuple[int, int, int], str] = {}  # of files as they stood
STORE = re.compile(r"fieldfare\.sqlite(-\w+)?$")


@dataclass
class Line:
    """One walked line and what came of it."""

    number: int
    words: list[str]
    spoiled: list[str]
    stop_s: float | None  # stopped by hand then
    deaf: bool  # nobody reads what it says
    status: int = 0
    said: str = ""
    told: str = ""
    wrong: list[str] = field(default_factory=list)


def snapshot(world: Path) -> dict[str, str]:
    """What lies in a world, by its path: what it is, and a hash of what it holds."""
    found = {}
    for root, folders, files in os.walk(world):
        for name in (*folders, *files):
            path = Path(root) / name
            kind = "link" if path.is_symlink() else "folder" if path.is_dir() else "file" if path.is_file() else "other"
            held = _hash(path, path.stat()) if kind == "file" else ""
            found[os.path.relpath(path, world)] = f"{kind} {held}"
    return found


def _hash(path: Path, now: os.stat_result) -> str:
    key = (now.st_ino, now.st_size, now.st_mtime_ns)
    if key not in _HASHED:
        _HASHED[key] = hashlib.blake2b(path.read_bytes()).hexdigest()
    return _HASHED[key]


def walk_line(base: Path, known: dict[str, list[Any]], seed: int, number: int, only: str) -> Line:
    """Walk one line in a fresh copy of the world, and judge it."""
    dice = random.Random(f"{seed} {number}")
    world, scratch = base / "walked" / "world", base / "walked" / "scratch"
    for folder in (world, scratch):
        _away(folder)
    shutil.copytree(base / "world", world, symlinks=True, copy_function=_copy)
    scratch.mkdir(parents=True)
    for name, mode in (("shut", 0o555), ("out", 0o755)):
        (world / name).mkdir(mode=mode)
    names = [name for name in known if name.startswith(only)]
    name = dice.choices(names, [SLOW.get(one, 1.0) for one in names])[0]
    spoiled = spoil(world, dice, dice.choice([0, 0, 1, 1, 2, 4]))
    paths = [*sorted(snapshot(world)), "nowhere-at-all", "shut/x.wav"]
    words = words_of(known, name, paths, dice)
    stop = (
        dice.choice([0.02, 0.1, 0.3, 1, 3]) * (1 + dice.random()) if dice.random() < 0.12 or name in ENDLESS else None
    )
    line = Line(number, words, spoiled, stop, dice.random() < 0.05)
    before = snapshot(world)
    _walk(line, world, scratch)
    _judge(line, name, before, snapshot(world), [one.name for one in scratch.iterdir() if one.name not in ("1", "2")])
    return line


def _copy(source: str, target: str) -> None:
    """A link will do: what is spoiled is copied first, and no command may write into a recording that is there."""
    if Path(source).is_fifo():
        os.mkfifo(target)
    elif Path(source).suffix in RECORDED:
        os.link(source, target)
    else:
        shutil.copy2(source, target)


def _away(folder: Path) -> None:
    for root, folders, _ in os.walk(folder):
        for one in folders:
            if not (Path(root) / one).is_symlink():
                (Path(root) / one).chmod(0o755)
    shutil.rmtree(folder, ignore_errors=True)


def _walk(line: Line, world: Path, scratch: Path) -> None:
    """Run a line in a process of its own."""
    out, err = scratch / "1", scratch / "2"
    out.touch()
    err.touch()
    child = os.fork()
    if child == 0:
        _run(line, world, scratch)
    begun, stopped = time.monotonic(), False
    while True:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            break
        since = time.monotonic() - begun
        if line.stop_s is not None and since > line.stop_s and not stopped:
            stopped = True
            os.kill(child, signal.SIGINT)
        if since > MOST_S:
            os.kill(child, signal.SIGKILL)
            line.wrong.append(f"did not end in {MOST_S:.0f} s")
            line.stop_s = None
        time.sleep(0.005)
    line.stop_s = line.stop_s if stopped else None
    line.status = os.waitstatus_to_exitcode(status)
    line.said, line.told = (path.read_text("utf-8", "replace") for path in (out, err))


def _run(line: Line, world: Path, scratch: Path) -> None:
    """Be the program: with its own folders, a limit of memory, and nothing to read from."""
    from fieldfare.cli import main

    status = 99
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        os.chdir(world)
        os.environ["TMPDIR"] = os.environ["HOME"] = str(scratch)
        streams = [os.open(os.devnull, os.O_RDONLY), *(os.open(scratch / one, os.O_WRONLY) for one in "12")]
        if line.deaf:
            reader, streams[1] = os.pipe()
            os.close(reader)
        for number, stream in enumerate(streams):
            os.dup2(stream, number)
        sys.stdout, sys.stderr = open(1, "w", closefd=False), open(2, "w", closefd=False)  # noqa: SIM115
        resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES, MOST_BYTES))
        _give_up_rights()
        signal.signal(signal.SIGINT, signal.default_int_handler)
        sys.argv = ["fieldfare", *line.words]
        main.run()
    except SystemExit as left:
        status = int(left.code or 0)
    except BaseException as broken:
        os.write(2, f"Traceback, past the last line of the program: {broken!r}".encode())
    finally:
        try:
            sys.stdout.flush()
            sys.stderr.flush()
        except OSError:
            os.write(2, b"Traceback, at the last flush")
        os._exit(status)


def _give_up_rights() -> None:
    """Give up all capabilities, with which root reads and writes what is closed; they have no call in the library."""
    if os.geteuid() == 0:
        version_3, nothing = (ctypes.c_uint32 * 2)(0x20080522, 0), (ctypes.c_uint32 * 6)()
        ctypes.CDLL(None).capset(version_3, nothing)


def _judge(line: Line, name: str, before: dict[str, str], after: dict[str, str], scratch: list[str]) -> None:
    """Put down what does not hold."""
    line.wrong += list(_of_words(line))
    changed = sorted(path for path in {*before, *after} if before.get(path) != after.get(path))
    changed = [path for path in changed if not STORE.search(path)]
    if scratch:
        line.wrong.append(f"left in the system's folder: {scratch}")
    for path in changed:
        fresh = path not in before
        if not fresh and Path(path).suffix in RECORDED:
            line.wrong.append(f"a recording was changed: {path!a}")
        elif not fresh and before[path].startswith("file") and not _may_change(line, name, path):
            line.wrong.append(f"changed: {path!a}")
        elif fresh and line.stop_s is None and any(part.endswith((".part", ".mending")) for part in Path(path).parts):
            line.wrong.append(f"left half-written: {path!a}")
        elif line.status in (2, 3) and line.stop_s is None and not line.deaf:
            line.wrong.append(f"status {line.status}, and yet {path!a} is {'new' if fresh else 'not what it was'}")


def _of_words(line: Line) -> Iterator[str]:
    if line.status not in (0, 1, 2, 3):
        yield f"status {line.status}"
    foreign = FOREIGN.search(line.told) or (FOREIGN.search(line.said) if "--json" not in line.words else None)
    if foreign:
        yield f"says {foreign[0]!r}"
    if line.status not in (2, 3) or line.deaf or line.stop_s is not None:
        return
    if "--json" in line.words:
        yield from _of_json(line.said)
    elif not line.told.strip() and line.said.strip()[:5] != "Usage":
        yield "says nothing"
    elif any(": " not in one or "; " not in one for one in line.told.splitlines()[:1]):
        yield "a fault without its place or what to do"


def _of_json(said: str) -> Iterator[str]:
    try:
        faults = json.loads(said)["fault"]
    except (ValueError, KeyError):
        yield "no fault in JSON"
        return
    if not faults or not all(one["what"] and one["remedy"] for one in faults):
        yield "a fault that does not say what, or what to do"
    if FOREIGN.search(said):
        yield "a fault in foreign words"


def _may_change(line: Line, name: str, path: str) -> bool:
    own = OWN.get(name.split()[0], ())
    parts = Path(path).parts
    named = {Path(word) for word in line.words[1:]} | {Path(word.partition("=")[2]) for word in line.words[1:]}
    return any(part in own for part in parts) or any(
        Path(path) == one or one in Path(path).parents for one in named if str(one) != "."
    )


def warm(base: Path) -> None:
    """Load and compile all that lines need, once, in the process that they fork from."""
    import importlib
    import pkgutil

    import fieldfare
    from fieldfare.cli.main import app

    for module in pkgutil.walk_packages(fieldfare.__path__, "fieldfare."):
        if "migrations" not in module.name and not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    _away(base / "walked")
    shutil.copytree(base / "world", base / "walked" / "world", symlinks=True, copy_function=_copy)
    here = Path.cwd()
    os.chdir(base / "walked" / "world")
    camera = ("--camera", "A=clips")
    for words in (
        ("check", "card"),
        ("songs", "card"),
        ("align", "show"),
        ("rough", "show"),
        ("picture", "card", *camera),
    ):
        with (
            Path(os.devnull).open("w") as nowhere,
            contextlib.redirect_stdout(nowhere),
            contextlib.suppress(BaseException),
        ):
            app(list(words), standalone_mode=False)
    os.chdir(here)


def main() -> None:
    """Walk and tell."""
    asked = argparse.ArgumentParser()
    asked.add_argument("folder", type=Path)
    asked.add_argument("lines", nargs="?", default="200", help="how many, or FIRST-LAST of a seed")
    asked.add_argument("seed", nargs="?", type=int, default=1)
    asked.add_argument("command", nargs="?", default="", help="only those that begin so")
    asked.add_argument("--seconds", type=float, default=1e9, help="end after so many")
    given = asked.parse_args()
    base = given.folder.resolve()
    if not (base / "world").is_dir():
        build(base / "making")
        (base / "making").rename(base / "world")
    first, _, last = given.lines.rpartition("-")
    warm(base)
    known, begun, walked, failed = commands(), time.monotonic(), 0, 0
    for number in range(int(first or 0), int(last) + bool(first)):
        line = walk_line(base, known, given.seed, number, given.command)
        walked += 1
        failed += bool(line.wrong)
        if line.wrong:
            words = [word if len(word) < 90 else f"{word[:20]}…({len(word)})" for word in line.words]
            print(f"{number}: {words!a}\n  spoiled: {line.spoiled}; stop {line.stop_s} deaf {line.deaf}")
            print(f"  status {line.status}: {line.told[-500:]!r} {line.said[-300:]!r}")
            for wrong in line.wrong[:6]:
                print(f"  * {wrong}", flush=True)
        if time.monotonic() - begun > given.seconds:
            break
    print(f"{walked} lines of seed {given.seed} in {time.monotonic() - begun:.0f} s, {failed} with faults")
    raise SystemExit(bool(failed))


if __name__ == "__main__":
    main()
