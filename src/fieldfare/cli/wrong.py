"""What the parser refused of a command's words, as a fault in the program's own words: which word, and what it takes.

The parser tells its exceptions apart by types that it keeps to itself, so they are read by what they carry; what is not
known here is passed on as it was said.
"""

from __future__ import annotations

import re
from typing import Any

from typer.exceptions import TyperException

from fieldfare.units.faults import Fault
from fieldfare.units.text import nearest

_LONGEST = 60  # of a word that is said back

_SAID = (  # what the parser says, and what is wrong
    (re.compile(r"No such command '(.*?)'\.(?: Did you mean (.*)\?)?", re.DOTALL), "there is no command {}"),
    (re.compile(r"Got unexpected extra argument\(s\) \((.*)\)", re.DOTALL), "{} is more than it takes"),
    (re.compile(r"Option '(.*)' requires an argument\."), "{} has no value behind it"),
    (re.compile(r"Option '(.*)' does not take a value\."), "{} takes no value"),
)


def fault_of(wrong: TyperException) -> Fault:
    """Say what was wrong with the words of a command.

    Parameters
    ----------
    wrong
        As the parser raised it.

    Returns
    -------
    The fault: at its option or argument where a value cannot be taken, else at the command.
    """
    context, param = getattr(wrong, "ctx", None), getattr(wrong, "param", None)
    command = context.command_path if context else "fieldfare"
    remedy = f"{command} --help shows how"
    if type(wrong).__name__ == "MissingParameter":
        return Fault(f"{_called(param)} is missing", command, remedy)
    if param is not None:
        return Fault(f"{_given(wrong)} cannot be taken", _called(param), f"give {_wanted(param.type_descriptor)}")
    option = getattr(wrong, "option_name", "")
    if type(wrong).__name__ == "NoSuchOption":
        near = nearest(option.strip("-"), [one.strip("-") for one in getattr(wrong, "possibilities", None) or ()])
        return Fault(f"there is no option {_short(option)}", command, f"did you mean --{near}?" if near else remedy)
    for pattern, says in _SAID:
        if found := pattern.match(wrong.format_message()):
            meant = found[2] if pattern.groups > 1 else None
            return Fault(says.format(_short(found[1])), command, f"did you mean {meant[1:-1]}?" if meant else remedy)
    return Fault(wrong.format_message().rstrip("."), command, remedy)


def _called(param: Any) -> str:
    """An option by its longest name, an argument as --help shows it."""
    return f"{{{param.name}}}" if param.param_type_name == "argument" else str(max(param.opts, key=len))


def _given(wrong: TyperException) -> str:
    """The word that could not be taken, where the parser still tells it."""
    cause: Any = wrong.__cause__
    return repr(_short(str(cause.errors()[0]["input"]))) if hasattr(cause, "errors") else "its value"


def _short(word: str) -> str:
    return word if len(word) <= _LONGEST else f"{word[:_LONGEST]}…"


def _wanted(kind: Any) -> str:
    """What a parameter takes."""
    if kind.choices:
        names = [str(getattr(one, "value", one)) for one in kind.choices]
        return f"{', '.join(names[:-1])} or {names[-1]}"
    number = "a whole number" if kind.annotation is int else "a number"
    least, most = kind.parameter_info.min, kind.parameter_info.max
    if kind.annotation not in (int, float):
        return "what --help shows"
    if least is None or most is None:
        return number if least is None else f"{number} of {least:g} or more"
    return f"{number} from {least:g} to {most:g}"
