"""Names that Linux, macOS and Windows all take, and take for the same.

Conventions: letters of any script are kept, small or capital, but for accents, which two of the three systems may store
apart from their letters, so that a name in a manifest would no longer be that on the disc ([RFC8493] warns of it).
Everything else is an underscore. Two names that differ in nothing but capitals are one on two of the systems.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

LONGEST_BYTES = 120  # of one name in UTF-8: 255 bytes is the least limit, and a path has several
_LETTERS_APART = {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
# Names of devices, for Windows no files: [RFC8493]; the noughts and that endings count for nothing from memory.
_DEVICES = frozenset(
    ("con", "prn", "aux", "nul", *(f"{name}{number}" for name in ("com", "lpt") for number in range(10)))
)


def safe_name(text: str, fallback: str = "untitled") -> str:
    """Make a name for a file or a folder, without an ending.

    >>> safe_name("Lead vocal, Ånna's"), safe_name("CON"), safe_name("Φωνή 2"), safe_name("...")
    ('Lead_vocal_Anna_s', 'CON_', 'Φωνη_2', 'untitled')
    """
    bare = "".join(map(_plain, unicodedata.normalize("NFC", text)))
    kept = "".join(sign if _is_kept(sign) else " " for sign in bare)
    name = "_".join(kept.split())
    while len(name.encode()) > LONGEST_BYTES:
        name = name[:-1]
    name = name.rstrip("_") or fallback
    return f"{name}_" if name.casefold() in _DEVICES else name


def told_apart(names: Iterable[str]) -> list[str]:
    """Number names that come again, with capitals or without; the ending stays.

    >>> told_apart(["a.wav", "A.wav", "b.wav", "a.wav"])
    ['a.wav', 'A_2.wav', 'b.wav', 'a_3.wav']
    """
    taken: set[str] = set()
    apart = []
    for name in names:
        stem, dot, ending = name.rpartition(".") if "." in name[1:] else (name, "", "")
        number, tried = 1, name
        while tried.casefold() in taken:
            number += 1
            tried = f"{stem}_{number}{dot}{ending}"
        taken.add(tried.casefold())
        apart.append(tried)
    return apart


def name_trouble(path: str) -> str:
    """Say why a path below a folder is not safe on all three systems; blank where it is.

    >>> name_trouble("data/a.wav"), name_trouble("data/aux.wav"), name_trouble("../a")
    ('', 'aux.wav is the name of a device', '.. leads out of its folder')
    """
    for part in path.split("/"):
        if part in ("", ".", ".."):
            return f"{part or 'an empty name'} leads out of its folder"
        if part.split(".")[0].casefold() in _DEVICES:
            return f"{part} is the name of a device"
        if re.search(r'[\x00-\x1f<>:"\\|?*]', part):
            return f"{part} has a sign that not every system takes"
        if part[-1] in " .":
            return f"{part} ends with a space or a dot"
        if len(part.encode()) > 255:
            return f"{part[:20]}… is longer than 255 bytes"
    return ""


def _plain(sign: str) -> str:
    """Take the accents off a letter; a sign that is a letter with its mark in the script itself stays."""
    if sign in _LETTERS_APART:
        return _LETTERS_APART[sign]
    parts = unicodedata.normalize("NFD", sign)
    if len(parts) == 1 or "HANGUL" in unicodedata.name(sign, ""):
        return sign
    return parts[0]


def _is_kept(sign: str) -> bool:
    return sign.isalnum() or sign in "-" or unicodedata.category(sign) in ("Mn", "Mc")
