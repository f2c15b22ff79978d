"""What is wrong with a text that is not TOML, in plain words, with what was probably meant."""

from __future__ import annotations

import re

_PLACE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column \d+|end of document)\)\s*$")

# What a line looks like, and what its writer probably meant. The first that fits is told.
_HABITS: tuple[tuple[re.Pattern[str], str, str], ...] = (
    (re.compile(r"[“”„«»‘’]"), "has curly quotes", 'use straight quotes: "…"'),
    (re.compile(r'=\s*"[^"]*\\(?![\\"bfnrt])'), "has a single backslash in a text", "write / or a double backslash"),
    (re.compile(r'=\s*"[^"]*"\w'), "has a quote within its text", "put a backslash before the quote"),
    (re.compile(r"=\s*\d{1,2}:\d{2}\s*(#.*)?$"), "has a time without seconds", "write the seconds too: 19:30:00"),
    (
        re.compile(r"=\s*(\d{1,2}[./]\d{1,2}[./]\d{2,4}|\d{4}-\d{1,2}-\d{1,2}|\d{4}/)"),
        "has a date that is not in the calendar or not in order",
        "write year, month, day: 2026-12-04",
    ),
    (re.compile(r"=\s*[-+]?\d+,\d+\s*(#.*)?$"), "has a decimal comma", "use a point: 2.5"),
    (re.compile(r"=\s*[-+]?0\d"), "has a number with a zero in front", "leave the zero out, or put it in quotes"),
    (re.compile(r"=\s*[-+]?\d+(\.\d+)?\s*[A-Za-zΩµ°%][^=]*$"), "has a unit after the number", "leave the unit out"),
    (re.compile(r"=\s*(True|TRUE|False|FALSE|yes|no|Yes|No)\b"), "has a yes or no", "write true or false"),
    (re.compile(r"=\s*(#.*)?$"), "has nothing after the =", "give a value, or take the line out"),
    (re.compile(r"=\s*\[[^\]]*[\d\"]\s+[\d\"]"), "has a list without commas", "put a comma between its entries"),
    (re.compile(r"=\s*\[?\s*[^\W\d][^\"']*$"), "has text without quotes", 'put the text in quotes: "…"'),
    (re.compile(r"=\s*[^\s\[{\"'][^\[{\"']*,"), "has several values", "put them in brackets: [1.5, 0.8]"),
    (re.compile(r"^\s*[\w-]+(\s+[\w-]+)+\s*="), "has a name of several words", 'join the words with _ or quote: "a b"'),
)

# Parts of what the parser of the standard library says, and what it means to a writer.
_STRUCTURE: tuple[tuple[str, str, str], ...] = (
    ("Cannot overwrite a value", "gives a second time what was given above", "take one of the two out"),
    ("Cannot declare", "opens a table a second time", "put its lines under the first, or use [[ ]] for several"),
    ("Cannot mutate", "adds to a list or table that is already closed", "write it in one way only"),
    ("Cannot define", "adds to a list or table that is already closed", "write it in one way only"),
    ("Duplicate inline table key", "gives a field twice in one pair of braces", "take one of the two out"),
)
_SIGNS: tuple[tuple[str, str, str], ...] = (
    ("Unclosed array", "comes where a list is not closed yet", "close the list with ], and part its entries by commas"),
    ("Unclosed inline table", "has a brace that is not closed on its line", "close it with } on the same line"),
    ("Unterminated string", "has a text that is not closed", "close it with a quote"),
    ("Expected ']", "has a table name that is not closed", "close [ with ] and [[ with ]]"),
    ("Expected '='", "has a name without a value", "write name = value, or start a remark with #"),
    ("Invalid initial character", "has a name that TOML does not know", "use letters, digits, _ and -, or quotes"),
    ("Invalid statement", "does not begin with a name", "write name = value, or start a remark with #"),
    ("Expected newline", "goes on after its value is complete", "one value a line; a list goes in [ ]"),
    ("Invalid value", "has a value that TOML does not know", 'write a number, true, false, or text in quotes: "…"'),
    ("Illegal character", "has a text that is not closed, or a stray sign", "close the text with a quote"),
    ("Found invalid character", "has a sign that may not stand there", "type the line afresh"),
    ("Exceeds the limit", "there is a number of thousands of digits", "take it out"),
)


def misprint(text: str, trouble: Exception) -> tuple[int, str, str]:
    """Say where a text stops being TOML, what is wrong there and what to write.

    Parameters
    ----------
    text
        The whole text.
    trouble
        What the parser of the standard library raised for it.

    Returns
    -------
    The line from 1, or 0 where no line can be told; what is wrong; what to do.
    """
    if isinstance(trouble, RecursionError):
        return 0, "has lists within lists beyond all measure", "write it in a plainer way"
    message = str(trouble)
    place = _PLACE.search(message)
    rows = text.splitlines()
    line = int(place["line"]) if place and place["line"] else len(rows) if place else 0
    row = rows[line - 1] if 0 < line <= len(rows) else ""
    meant = [
        *((read, remedy) for part, read, remedy in _STRUCTURE if part in message),
        *((read, remedy) for habit, read, remedy in _HABITS if habit.search(row)),
        *((read, remedy) for part, read, remedy in _SIGNS if part in message),
    ]
    if meant:
        return line, *meant[0]
    return line, "is not TOML", "compare it with the example in docs/documents.md"
