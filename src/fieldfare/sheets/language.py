"""Sheets in another language: whole sentences looked up in a catalogue of messages, names and tags left as they are.

A catalogue is a gettext PO file in ``languages/``, one a language. A message may hold placeholders, which both sides
name alike, in any order:

- ``{n}`` a number; its decimal sign is changed,
- ``{x}`` a name, kept as it is,
- ``{t}`` words that are looked up in their turn,
- ``{g}`` tags, "C-08 and C-09",
- ``{a}`` names, "Kick, Snare and Tom", all kept as they are,
- ``{l}`` a list, "a, b and c", each of it looked up in its turn,

with figures behind where there are several: ``{n2}``. What no message fits is taken apart at full stop and semicolon,
and as a list where every part of it is known; what is left then is a name, or stands in the language it was written in.
A name that holds such a joint itself, "small condenser, cardioid", is one sign while a sentence is looked up.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, is_dataclass, replace
from functools import cache, lru_cache
from importlib.resources import files
from typing import Literal, get_args
from unicodedata import bidirectional

from fieldfare.sheets.wording import day

Language = Literal["en", "de"]
LANGUAGES: tuple[Language, ...] = get_args(Language)

NUMBER = r"[−+-]?\d+(?:[.,]\d+)*"
FIGURE = re.compile(
    rf"(?:[≈?] ?)?{NUMBER}(?:(?: ?[–×:/] ?| to ){NUMBER})?"
    r"(?:(?! ?more\b) ?[^\sA-Za-z]{0,2}[A-Za-zµΩ°%/()²³·]{0,9})?"
)
DECIMAL = re.compile(r"(?<=\d)\.(?=\d)")
LENGTH_LAST = re.compile(r"(?<=\d)\.(?=\d+ (?:m|ft)$)")
CLOCK = re.compile(r"\d+:\d\d:\d\d\.\d+")
PLACEHOLDER = re.compile(r"\{([nxtgla])(\d*)\}")
TAG = r"[A-Z]+-\d+"
PART, LAST = r"(?:(?![:;] ).)+?", {"t": r".+?", "l": r"(?:(?!; ).)+?"}
PIECES: Mapping[str, str] = {
    "n": NUMBER,
    "x": PART,
    "a": PART,
    "t": PART,
    "l": PART,
    "g": rf"{TAG}(?:(?:, | and ){TAG})*",
}
SEPARATORS = (". ", "; ")
SLIGHT = 8  # letters of a message, such as "{x} in {x2}", that fits many a list of which every part is known
# Fields of the sheets' data whose words are the user's own, or the program's for itself, and never looked up.
KEPT = frozenset(
    {
        "label", "tag", "tags", "title", "bands", "code", "bin", "kind", "style", "ink", "fill", "dash", "symbol",
        "severity", "fails", "field", "takes", "gives", "item", "owner", "strip", "paper", "number", "fold", "plot",
        "shapes",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Message:
    """One message with placeholders, ready to be tried on a text."""

    id: str
    literal: str  # its longest piece between placeholders: a text without it cannot be meant
    pattern: re.Pattern[str]
    text: str


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All messages of one language."""

    language: Language
    plain: Mapping[str, str]
    shaped: tuple[Message, ...]  # the most literal first
    names: frozenset[str] = frozenset()  # what is a name even where it looks like words of ours

    def say(self, text: str) -> str:
        """Say a text in this language, as far as the catalogue goes."""
        found = self.find(text)
        return self._piecewise(text) if found is None else found

    def find(self, text: str) -> str | None:
        """Say a text in this language; none where the catalogue does not hold the whole of it."""
        if text in self.names:
            return text
        if not re.search(r"[^\W\d_]{2}", text):
            return self._figures(text)
        found = self._plainly(text) or self._shaped(text) or self._whole(text, "; ")
        if found is not None:
            return found
        if text.endswith("."):
            found = self.find(text[:-1])
            return None if found is None else f"{found}."
        if _begins(text):
            found = self.find(text[0].lower() + text[1:])
            if found is not None:
                return found[0].upper() + found[1:]
        return self._figures(text) if FIGURE.fullmatch(text) else self._whole_list(text)

    def _plainly(self, text: str) -> str | None:
        """Say a text that stands in the catalogue as it is, without its full stop, or begun with a small letter."""
        if text in self.plain:
            return self.plain[text]
        if f"{text}." in self.plain:
            return self.plain[f"{text}."].removesuffix(".")
        small = self.plain.get(text[0].lower() + text[1:]) if _begins(text) else None
        return small and small[0].upper() + small[1:]

    def _shaped(self, text: str) -> str | None:
        """Say a text that a message with placeholders fits, with its full stop or without."""
        bare = text.removesuffix(".")
        for message in (one for one in self.shaped if one.literal in bare):
            match = message.pattern.fullmatch(bare)
            if match is not None:
                parts = self._whole_list(text) if len(message.literal) < SLIGHT else None
                parts = parts or (None if ". " in message.id else self._whole(text, ". "))
                return parts or self._filled(message.text, match.groupdict()) + text[len(bare) :]
        return None

    def _whole(self, text: str, separator: str) -> str | None:
        """Say sentences, or parts of one, all of which are known."""
        said = [self.find(one) for one in text.split(separator)] if separator in text else [None]
        return None if any(one is None for one in said) else separator.join(str(one) for one in said)

    def _piecewise(self, text: str) -> str:
        for separator in SEPARATORS:
            if separator in text:
                pieces = text.split(separator)
                said = [self.say(piece) for piece in pieces]
                if said != pieces:
                    return separator.join(said)
        return self.say(text[:-1]) + "." if text.endswith(".") else self._length_last(text)

    def _whole_list(self, text: str) -> str | None:
        """Say a list of which every part is known."""
        parts = re.split(r"(, | and )", text)
        if len(parts) == 1:
            return None
        said = [self.find(one) for one in parts[::2]]
        if any(one is None for one in said):
            return None
        joints = [f" {self.plain['and']} " if one == " and " else one for one in parts[1::2]]
        return "".join(str(one) + joint for one, joint in zip(said, [*joints, ""], strict=True))

    def _figures(self, text: str) -> str:
        is_figure = FIGURE.fullmatch(text) or CLOCK.fullmatch(text)
        return DECIMAL.sub(",", text) if is_figure and self.language == "de" else text

    def _length_last(self, text: str) -> str:
        """Change the decimal sign of a length behind a name: "green, 2.5 m"."""
        return LENGTH_LAST.sub(",", text) if self.language == "de" else text

    def _filled(self, text: str, given: Mapping[str, str]) -> str:
        def fill(place: re.Match[str]) -> str:
            kind, value = place.group(1), given[place.group(1) + place.group(2)]
            if kind in "xga":
                return value if kind == "x" else f" {self.plain['and']} ".join(value.rsplit(" and ", 1))
            if kind == "n":
                return DECIMAL.sub(",", value) if self.language == "de" else value
            return self.say(value) if kind == "t" else self._list(value)

        return PLACEHOLDER.sub(fill, text)

    def _list(self, text: str) -> str:
        whole = self._whole_list(text) or self.find(text)
        if whole is not None:
            return whole
        parts = re.split(r"(, | and )", text)
        return "".join(f" {self.plain['and']} " if one == " and " else self.say(one) for one in parts)


def _begins(text: str) -> bool:
    """Tell a sentence that begins with a capital letter from a name that does: a name seldom has three words."""
    return text[0].isupper() and text.count(" ") > 1


@cache
def catalogue(language: Language) -> Catalogue:
    """Read the catalogue of a language other than English.

    Raises
    ------
    ValueError
        A message and its translation do not name the same placeholders: a fault of the program's own file.
    """
    from babel.messages.pofile import read_po

    with (files("fieldfare.sheets") / "languages" / f"{language}.po").open("rb") as source:
        messages = {str(one.id): str(one.string) for one in read_po(source) if one.id and one.string}
    for id, text in messages.items():
        if set(PLACEHOLDER.findall(id)) != set(PLACEHOLDER.findall(text)):
            raise ValueError(f"{language}.po: {id!r} and {text!r} do not name the same placeholders")
    shaped = [one for one in messages if PLACEHOLDER.search(one)]
    shaped.sort(key=lambda one: (-len(PLACEHOLDER.sub("", one)), one))
    return Catalogue(language, messages, tuple(_message(one, messages[one]) for one in shaped))


def _message(id: str, text: str) -> Message:
    literal = max(PLACEHOLDER.sub("\0", id).split("\0"), key=len)
    return Message(id, literal.rstrip("."), _pattern(id.removesuffix(".")), text.removesuffix("."))


def _pattern(message: str) -> re.Pattern[str]:
    """Make a message a pattern; only a last piece of words, after others, reaches over a colon."""
    parts, at, places = [], 0, list(PLACEHOLDER.finditer(message))
    for place in places:
        kind = place.group(1)
        last = kind in LAST and place == places[-1] and place.start()
        piece = LAST[kind] if last else PIECES[kind]
        parts += [re.escape(message[at : place.start()]), f"(?P<{kind}{place.group(2)}>{piece})"]
        at = place.end()
    return re.compile("".join([*parts, re.escape(message[at:])]))


def said(text: str, language: Language, names: frozenset[str] = frozenset()) -> str:
    """Say a text in a language, as far as its catalogue goes; names stay as they are.

    >>> said("then Room left takes small condenser, cardioid", "de", frozenset({"small condenser, cardioid"}))
    'dann bekommt Room left small condenser, cardioid'
    """
    if language == "en":
        return text
    words, joined = _knowing(language, names), _joined(names)
    if joined is None or _SIGNS.search(text):
        return words.say(text)
    found: list[str] = []

    def hide(name: re.Match[str]) -> str:
        found.append(name.group())
        return chr(_SIGN + len(found) - 1)

    return _SIGNS.sub(lambda sign: found[ord(sign.group()) - _SIGN], words.say(joined.sub(hide, text)))


# Signs of Unicode's private use area, one for each name while its sentence is looked up.
_SIGN = 0xE000
_SIGNS = re.compile("[\ue000-\uf8ff]")


@lru_cache(maxsize=8)
def _knowing(language: Language, names: frozenset[str]) -> Catalogue:
    return replace(catalogue(language), names=names)


@lru_cache(maxsize=8)
def _joined(names: frozenset[str]) -> re.Pattern[str] | None:
    """Return what finds the names that a joint of sentences or lists would take apart, the longest first."""
    joined = sorted((name for name in names if re.search(r"[,.;:] | and ", name)), key=lambda name: (-len(name), name))
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, joined))})(?!\w)") if joined else None


def worded(message: str, language: Language, **given: object) -> str:
    """Say one message of the catalogue, with what stands in its placeholders put in as it is.

    Parameters
    ----------
    message
        As it stands in the catalogue.
    language
        The language to say it in.
    given
        What stands in each placeholder, in that language already: ``n``, ``x2``.

    Raises
    ------
    KeyError
        It is not in the catalogue, or a placeholder is not given: a fault of the program's own.

    Examples
    --------
    >>> worded("page {n} of {n2}", "de", n=1, n2="2")
    'Seite 1 von 2'
    """
    words = message if language == "en" else catalogue(language).plain[message]
    return PLACEHOLDER.sub(lambda place: str(given[place.group(1) + place.group(2)]), words)


def listed_in(names: Iterable[str], language: Language) -> str:
    """Join names as a sentence of a language does.

    >>> listed_in(["kick", "snare", "rock and roll"], "de")
    'kick, snare und rock and roll'
    """
    *most, last = [apart(name) for name in names] or [""]
    return f"{', '.join(most)} {worded('and', language)} {last}" if most else last


def apart(name: str) -> str:
    """Keep a name that runs from right to left from turning what stands beside it: Unicode annex 9, isolates.

    >>> apart("Kick"), apart("צליל")
    ('Kick', '\\u2068צליל\\u2069')
    """
    return f"\u2068{name}\u2069" if any(bidirectional(sign) in ("R", "AL") for sign in name) else name


def day_in(date: dt.date, language: Language) -> str:
    """Write a date in the words of a language.

    >>> day_in(dt.date(2026, 12, 4), "en"), day_in(dt.date(2026, 12, 4), "de")
    ('4 December 2026', '4. Dezember 2026')
    """
    return said(day(date), language)


def decimal(figure: str, language: Language) -> str:
    """Write a figure with the decimal sign of a language.

    >>> decimal("44.1", "de"), decimal("0:01:02.5", "de")
    ('44,1', '0:01:02,5')
    """
    return figure if language == "en" else DECIMAL.sub(",", figure)


def page_in(page: object, language: Language, names: frozenset[str] = frozenset()) -> object:
    """Say all words of a sheet's data in a language, and leave names, tags and signs as they are.

    Parameters
    ----------
    page
        Dataclasses, dictionaries, lists and plain values.
    language
        The language of the sheet.
    names
        What is a name even where it looks like words of ours: things in the kit, sources.
    """
    if is_dataclass(page) and not isinstance(page, type):
        page = asdict(page)
    return page if language == "en" else _walk(page, language, names)


def _walk(value: object, language: Language, names: frozenset[str]) -> object:
    if isinstance(value, dict):
        return {key: one if key in KEPT else _walk(one, language, names) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_walk(one, language, names) for one in value]
    return said(value, language, names) if isinstance(value, str) else value


def template_words(language: Language) -> Mapping[str, str]:
    """Return what the templates look their own words up in."""
    return {} if language == "en" else catalogue(language).plain
