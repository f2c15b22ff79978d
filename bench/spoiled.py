"""A small world of a show, its recordings and its lists, and what can befall the files of it.

`build` makes the world once, whole, with the program's own commands. `spoil` damages a few files of a copy of it as
cards, mail programs, text editors and hands do: cut short, emptied, swapped, taken away, replaced by a folder or by
something else, with wrong bytes, wrong numbers, wrong text, closed to reading or writing.
"""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

DUO = Path(__file__).parents[1] / "examples" / "bookshop-duo"
SECONDS = 12.0
RATE_HZ = 48_000
TEXTS = frozenset((".toml", ".csv", ".json", ".txt", ".jsonl"))
BUSINESS = """name = "The recordist"
currency = "EUR"
[[tax]]
name = "standard"
percent = 20
[[charge]]
name = "mixing"
text = "Mixing"
basis = "mixing"
unit = "song"
price = 85
tax = "standard"
"""
MONEY = 'business = "business.toml"\n[client]\nname = "The band"\n'
NUMBERS = ("nan", "inf", "-inf", "-1", "0", "1e308", "1e999", "99999999999999999999", "0x10", "007", "1_000", "2³", "½")
WORDS = (
    "",
    " ",
    "x" * 5000,
    "Ünïcode 🎤",
    "עברית",
    "a\u202eb",
    "tab\there",
    "null\0here",
    "two\nlines",
    '"',
    "'",
    "{",
    "../..",
    "-",
    "--",
    "con",
    "a/b",
    "%s{0}$HOME",
    "\ufeff",
)


def build(folder: Path) -> None:
    """Make the world: the show of two that comes with the program, recorded, copied, cut, mixed, asked and charged."""
    folder.mkdir(parents=True)
    show = folder / "show"
    shutil.copytree(DUO, show, ignore=lambda _, names: [name for name in names if not name.endswith(".toml")])
    _record(show, folder)
    lists = folder / "lists"
    lists.mkdir()
    shutil.copy(DUO / "kit.csv", lists / "kit.csv")
    (lists / "inputs.csv").write_text("channel,source,kind\n1,Bouzouki,di\n2,Voice,dynamic\n", "utf-8")
    (lists / "set.csv").write_text("title,length\nThe paper lantern,0:04\nCold tea,0:03\n", "utf-8")
    (lists / "marks.json").write_text('{"mark": [{"time": "+0:00:02", "text": "Cold tea"}]}', "utf-8")
    (lists / "reply.txt").write_text("1: yes, two of them\n2: at 5 pm\n", "utf-8")
    (show / "business.toml").write_text(BUSINESS, "utf-8")
    (show / "money.toml").write_text(MONEY, "utf-8")
    told = ("--set-list", "lists/set.csv")
    for words in (
        ("kit", "template", "lists/kit.xlsx"),
        ("offload", "card", "show", "--to", "copy-1", "--to", "copy-2", "--same-device"),
        ("songs", "card", *told, "--document", "lists/songs.toml", "--inputs", "lists/inputs.csv"),
        ("songs", "show"),
        ("align", "show", "--offer", "lists/shifts.toml"),
        ("rough", "show", "--whole"),
        ("watch", "card", "show", "--keep", "lists/levels.json", "--once", "--every", "0.1"),
        ("quote", "show", "--issue"),
        ("archive", "add", "show", "copy-1", "--label", "black disc"),
    ):
        _run(folder, *words)
    _song(show / "songs.toml")
    shutil.copy(show / "songs.toml", lists / "songs.toml")
    with (lists / "shifts.toml").open("a", encoding="utf-8") as shifts:
        shifts.write('[[shift]]\ntrack = "Bouzouki"\nsamples = 12\napply = true\n')
    _parcel(show, folder)
    _junk(folder / "odd")
    shutil.copy(next((show / "roughs").rglob("*.wav")), folder / "mix.wav")


def _record(show: Path, folder: Path) -> None:
    from fieldfare.plan.inputs import soundings
    from fieldfare.plan.make import make_plan
    from fieldfare.plan.recipes import show_recipes
    from fieldfare.show.toml import read_show
    from fieldfare.takes.render.cameras import CameraSpec, render_cameras
    from fieldfare.takes.render.stage import set_stage
    from fieldfare.takes.render.write import render_show

    read = read_show(show)
    recipes = show_recipes(read.folder)
    documents = make_plan(read.show, read.venue, read.kit, read.digest, recipes), read.show, read.venue, read.kit
    sounds = soundings(read.show, read.venue, recipes)
    render_show(*documents, sounds, folder, duration_s=SECONDS, planted=())
    clips = folder / "clips"
    clips.mkdir()
    shutil.copy(folder / "truth.json", clips)
    cameras = (
        CameraSpec("Camera 1", (0.0, -3.0, 1.0), "one.mp4", 1.0, 9.0, 41.0),
        CameraSpec("Recorder", (2.0, -3.0, 1.5), "four.wav", 0.5, 10.0, 7.0, frame_rate="", rate_hz=44_100),
    )
    render_cameras(set_stage(*documents, sounds, SECONDS, 1, ()), clips, cameras)
    for clip in (clips / "cameras").iterdir():
        clip.rename(clips / clip.name)
    (clips / "cameras").rmdir()
    (clips / "truth.json").unlink()
    (folder / "truth.json").unlink()


def _song(document: Path) -> None:
    """Put a song in by hand: twelve seconds are too few to find one in."""
    from fieldfare.show.songs import Song, read_songs, write_songs

    book = read_songs(document)
    (take,) = book.take
    song = Song(title="Cold tea", start=2 * take.rate_hz, end=9 * take.rate_hz)
    write_songs(document, book.model_copy(update={"take": (take.model_copy(update={"song": (song,)}),)}))


def _parcel(show: Path, folder: Path) -> None:
    """Let everybody consent, and make a parcel."""
    from fieldfare.handover.consents import parties
    from fieldfare.plan.recipes import show_recipes
    from fieldfare.show.consent import ConsentBook
    from fieldfare.show.toml import read_show

    read = read_show(show)
    for party in parties(read.show, read.venue, show_recipes(show), ConsentBook()):
        _run(folder, "consent", "show", party.name, "--how", "mail", "--on", "2026-11-20")
    _run(folder, "handover", "show", "--for", "mixer", "--to", "bags")


def _run(folder: Path, *words: str) -> None:
    done = subprocess.run([sys.executable, "-m", "fieldfare", *words], cwd=folder, capture_output=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{words}: {done.stderr.decode()}")


def _junk(folder: Path) -> None:
    """Files that are something else than their name says, and names that no keyboard writes."""
    folder.mkdir()
    (folder / "empty.wav").touch()
    (folder / "empty.toml").touch()
    (folder / "text.wav").write_text("channel,source\n1,Voice\n" * 5000, "utf-8")
    (folder / "noise.wav").write_bytes(np.random.default_rng(1).bytes(300_000))
    (folder / "zeros.wav").write_bytes(bytes(300_000))
    (folder / "head.wav").write_bytes(b"RIFF\xff\xff\xff\xffWAVEfmt ")
    (folder / "page.pdf").write_bytes(b"%PDF-1.7\n" + np.random.default_rng(2).bytes(90_000))
    with zipfile.ZipFile(folder / "list.xlsx", "w") as file:
        file.writestr("nothing.xml", "<a/>")
    (folder / "folder.wav").mkdir()
    (folder / "deep.json").write_text("[" * 100_000, "utf-8")
    (folder / "deep.toml").write_text("a = " + "[" * 20_000, "utf-8")
    (folder / "Ünïcode 🎤 עברית.wav").write_bytes(bytes(10_000))
    (folder / ("n" * 251 + ".wav")).write_bytes(bytes(100))
    (folder / "-x.wav").write_bytes(bytes(100))
    (folder / "two\nlines.wav").write_bytes(bytes(100))
    (folder / "loop").symlink_to("loop")
    (folder / "nowhere").symlink_to("nothing-there")
    os.mkfifo(folder / "pipe.wav")
    (folder / os.fsdecode(b"\xff\xfe\xe4.wav")).write_bytes(bytes(20_000))
    (folder / os.fsdecode(b"dir\xff")).mkdir()
    (folder / os.fsdecode(b"dir\xff") / "one.wav").write_bytes(bytes(20_000))


def files_of(world: Path) -> list[Path]:
    """Every file of a world but those of the system's own kinds, in order."""
    return sorted(path for path in world.rglob("*") if path.is_file() and not path.is_symlink())


def spoil(world: Path, dice: random.Random, times: int) -> list[str]:
    """Damage files of a world and tell what was done."""
    told = []
    for _ in range(times):
        there = [path for path in files_of(world) if "/odd/" not in str(path)]
        if dice.random() < 0.6:
            there = [path for path in there if path.suffix in TEXTS] or there
        path, how = dice.choice(there), dice.choice(list(DAMAGES))
        _unlink(path)
        DAMAGES[how](path, dice, there)
        told.append(f"{how} {str(path.relative_to(world))!a}")
    return told


def _unlink(path: Path) -> None:
    """Let a file that may be linked elsewhere be one of its own."""
    held = path.read_bytes()
    path.unlink()
    path.write_bytes(held)


def _cut(path: Path, dice: random.Random, _: list[Path]) -> None:
    with path.open("r+b") as file:
        file.truncate(int(path.stat().st_size * dice.random()))


def _emptied(path: Path, _: random.Random, __: list[Path]) -> None:
    path.write_bytes(b"")


def _swapped(path: Path, dice: random.Random, there: list[Path]) -> None:
    other = dice.choice([one for one in there if one.exists() and one.is_file()])
    _unlink(other)
    mine, theirs = path.read_bytes(), other.read_bytes()
    path.write_bytes(theirs)
    other.write_bytes(mine)


def _gone(path: Path, _: random.Random, __: list[Path]) -> None:
    path.unlink()


def _folder_instead(path: Path, _: random.Random, __: list[Path]) -> None:
    path.unlink()
    path.mkdir()


def _closed(path: Path, _: random.Random, __: list[Path]) -> None:
    path.chmod(0)


def _closed_folder(path: Path, dice: random.Random, __: list[Path]) -> None:
    path.parent.chmod(dice.choice([0o000, 0o444, 0o555]))


def _bytes(path: Path, dice: random.Random, _: list[Path]) -> None:
    data = bytearray(path.read_bytes())
    reach = dice.choice([64, 512, len(data)])  # heads matter most
    for _ in range(dice.choice([1, 4, 64])):
        if data:
            data[dice.randrange(min(len(data), max(1, reach)))] = dice.randrange(256)
    path.write_bytes(data)


def _longer(path: Path, dice: random.Random, _: list[Path]) -> None:
    with path.open("ab") as file:
        file.write(dice.randbytes(dice.choice([1, 7, 5000])))


def _text(path: Path, dice: random.Random, change: Callable[[str], str]) -> None:
    if path.suffix in TEXTS:
        changed = change(path.read_text("utf-8", "surrogateescape"))
        path.write_text(changed, "utf-8", "surrogateescape")
    else:
        _bytes(path, dice, [])


def _number(path: Path, dice: random.Random, _: list[Path]) -> None:
    def change(text: str) -> str:
        found = list(re.finditer(r"(?<![\w\"])-?\d+(\.\d+)?", text))
        for one in dice.sample(found, min(len(found), dice.choice([1, 1, 5]))):
            text = text[: one.start()] + dice.choice(NUMBERS) + text[one.end() :]
        return text

    _text(path, dice, change)


def _string(path: Path, dice: random.Random, _: list[Path]) -> None:
    def change(text: str) -> str:
        found = list(re.finditer(r'(?<=")[^"\n]+(?=")', text))
        for one in dice.sample(found, min(len(found), 1)):
            word = dice.choice(WORDS)
            quoted = json.dumps(word)[1:-1] if dice.random() < 0.8 else word
            text = text[: one.start()] + quoted + text[one.end() :]
        return text

    _text(path, dice, change)


def _line(path: Path, dice: random.Random, _: list[Path]) -> None:
    """A line taken out, written twice, or moved."""

    def change(text: str) -> str:
        lines = text.split("\n")
        at = dice.randrange(len(lines))
        taken = lines.pop(at) if dice.random() < 0.7 else lines[at]
        if dice.random() < 0.5:
            lines.insert(dice.randrange(len(lines) + 1), taken)
        return "\n".join(lines)

    _text(path, dice, change)


def _encoding(path: Path, dice: random.Random, _: list[Path]) -> None:
    if path.suffix in TEXTS:
        text = path.read_text("utf-8", "replace")
        path.write_bytes(text.encode(dice.choice(["utf-16", "utf-32", "cp1252", "utf-8-sig", "utf-7"]), "replace"))


def _mark(path: Path, dice: random.Random, _: list[Path]) -> None:
    """A sign of punctuation more or less."""

    def change(text: str) -> str:
        at = dice.randrange(len(text) + 1)
        return text[:at] + dice.choice('"[]{}=,#\n\0\t\\') + text[at + dice.choice([0, 1]) :]

    _text(path, dice, change)


DAMAGES: dict[str, Callable[[Path, random.Random, list[Path]], None]] = {
    "cut": _cut,
    "emptied": _emptied,
    "swapped": _swapped,
    "gone": _gone,
    "a folder instead of": _folder_instead,
    "closed": _closed,
    "closed the folder of": _closed_folder,
    "wrong bytes in": _bytes,
    "more behind": _longer,
    "wrong number in": _number,
    "another number in": _number,
    "wrong word in": _string,
    "another word in": _string,
    "wrong line in": _line,
    "another line in": _line,
    "recoded": _encoding,
    "wrong mark in": _mark,
}
