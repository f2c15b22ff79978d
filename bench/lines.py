"""The lines that bench/commands.py walks: commands and options as the program knows them, values good and bad."""

from __future__ import annotations

import random
from typing import Any

from spoiled import NUMBERS, WORDS

BAG = "bags/2026-11-05_Shelf_songs_mixer"
GOOD: dict[str, tuple[str, ...]] = {
    "show": ("show",), "where": ("show", "card"), "card": ("card",), "folder": ("card", "show", "."),
    "recordings": ("card", "copy-1"), "inputs": ("lists/inputs.csv",), "set_list": ("lists/set.csv",),
    "marks": ("lists/marks.json",), "document": ("lists/songs.toml", "show/songs.toml"), "songs": ("lists/songs.toml",),
    "sheet": ("show/roughs/mix.toml",), "shifts": ("lists/shifts.toml",), "mix": ("mix.wav", "show/roughs"),
    "line_check": ("lists/levels.json",), "file": ("lists/kit.csv", "lists/kit.xlsx", "show/kit.toml"),
    "kit": ("show/kit.toml",), "reply": ("lists/reply.txt",), "bag": (BAG, "bags"), "roughs": ("show/roughs",),
    "evidence": ("lists/reply.txt",), "place": ("copy-1", "copy-2"), "why": ("1", "kick", "Fiddle"), "whom": ("venue",),
    "dead": ("line 5", "channel 3"), "camera": ("Camera 1=clips/one.mp4", "A=clips", "Recorder=clips/four.wav"),
    "name": ("fiddle",), "currency": ("EUR",), "number": ("1",), "text": ("yes",), "on": ("2026-11-20",),
    "until": ("2027-11-20",), "receiver": ("mixer", "archive"), "form": ("wav", "flac"), "how": ("mail",),
    "by": ("the manager",), "seconds": ("0.3", "20"), "every": ("0.1",),
    "take": ("2026-11-05_take-1",),
}  # fmt: skip
OUTPUTS = frozenset(("to", "pdf", "html", "cut_to", "keep", "offer", "lay_to", "onto_take", "edit_to"))


def commands() -> dict[str, list[Any]]:
    """Every command with what it takes."""
    import typer

    from fieldfare.cli.main import app

    found: dict[str, list[Any]] = {}

    def walk(one: Any, name: str) -> None:
        for word, inner in getattr(one, "commands", {}).items():
            walk(inner, f"{name} {word}".strip())
        if not hasattr(one, "commands"):
            found[name] = [param for param in one.params if param.name != "help"]

    walk(typer.main.get_command(app), "")
    return found


def words_of(known: dict[str, list[Any]], name: str, paths: list[str], dice: random.Random) -> list[str]:
    """A line of a command: mostly what it needs, some of what it may have, and now and then what it does not know."""
    words = name.split()
    for param in known[name]:
        is_option = param.param_type_name == "option"
        chance = 0.95 if param.required or not is_option else 0.6 if param.name == "as_json" else 0.22
        if dice.random() >= chance:
            continue
        for _ in range(dice.choice([1, 1, 2, 3]) if param.multiple or param.nargs == -1 else 1):
            flag = dice.choice([*param.opts, *getattr(param, "secondary_opts", ())])
            if not is_option:
                words.append(value_of(param, paths, dice))
            elif getattr(param, "is_flag", False):
                words.append(flag)
            else:
                words += [flag, value_of(param, paths, dice)]
    if dice.random() < 0.03:
        words.insert(
            dice.randrange(len(words) + 1), dice.choice(["--frob", "frob", "", "--to", "--json=1", "-q", "--"])
        )
    if name == "watch" and dice.random() < 0.8:
        words.append("--once")
    return words


def value_of(param: Any, paths: list[str], dice: random.Random) -> str:
    """A value for an argument or an option: good more often than not."""
    good = GOOD.get(param.name, ())
    if param.name in OUTPUTS:
        good = ("out", "out/new", "out.wav", "show", ".", "card", "shut/new", "gone/new")
        good = ("new-1", "new-2", "new-3", *good) if dice.random() < 0.5 else good
    if param.name == "files":
        good = tuple(path for path in paths if path.endswith(".wav"))
    if good and dice.random() < 0.72:
        return dice.choice(good)
    kind = dice.random()
    if param.name == "camera":
        return dice.choice(["A=", "", "=", "B="]) + dice.choice(paths)
    if kind < 0.6 and (
        not good or "/" in "".join(good) or param.name in (*OUTPUTS, "show", "where", "folder", "files")
    ):
        return dice.choice(paths)
    if kind < 0.75:
        return dice.choice(WORDS).replace("\0", "")
    return dice.choice(NUMBERS) if kind < 0.9 else dice.choice(["1", "2", "16", "24", "48000", "50", "a4", "de", "ft"])


def _typed(param: Any, dice: random.Random) -> str:
    """One of the words that a parameter names, or a number between its bounds."""
    kind = param.type_descriptor
    least, most = kind.parameter_info.min, kind.parameter_info.max
    if kind.choices:
        return str(getattr(one := dice.choice(list(kind.choices)), "value", one))
    if kind.annotation is int:
        return str(dice.choice([1, 2, 8, 16, 24, 44_100, 48_000]) if most is None else dice.randint(least, most))
    if kind.annotation is float:
        return f"{dice.uniform(least or 0, 1 if most is None else most):.3g}"
    return ""
