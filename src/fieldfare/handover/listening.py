"""The listening page: one file that opens from disc, with a player for every piece and room for comments.

It asks nothing of any network. Its policy lets it load sound that lies beside it and run this script and no other; what
people wrote into titles is text and can be nothing else.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from urllib.parse import quote

from fieldfare.sheets.coverage import FONTS, fonts_for

_FILES = Path(__file__).parent / "page"
_FACES = (
    ("Barlow", 400, "Barlow-Regular"),
    ("Barlow", 600, "Barlow-SemiBold"),
    ("Barlow Condensed", 600, "BarlowCondensed-SemiBold"),
)


@dataclass(frozen=True, slots=True)
class Player:
    """One file that can be played."""

    label: str
    file: str  # its path from the page


@dataclass(frozen=True, slots=True)
class Listening:
    """A piece: a song, or a take."""

    title: str
    players: tuple[Player, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class ListeningPage:
    """Everything on the page."""

    title: str
    about: str
    says: str
    pieces: tuple[Listening, ...]
    foot: str


def listening_page(page: ListeningPage) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    page
        What is on it. Paths are escaped here; everything else is set as text.
    """
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    style = _faces(_words(page)) + (_FILES / "listen.css").read_text("utf-8")
    script = (_FILES / "listen.js").read_text("utf-8")
    escaping = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    template = escaping.from_string((_FILES / "listen.html").read_text("utf-8"))
    return template.render(
        page=_with_addresses(page), policy=policy(style, script), style=Markup(style), script=Markup(script)
    )


def policy(style: str, script: str) -> str:
    """Return the page's Content-Security-Policy: sound from beside it, this style and script, nothing else."""
    rules = (
        "default-src 'none'",
        "media-src 'self' file:",
        "font-src data:",
        f"style-src {_hash(style)}",
        f"script-src {_hash(script)}",
        "base-uri 'none'",
        "form-action 'none'",
    )
    return "; ".join(rules)


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(sha256(text.encode()).digest()).decode()}'"


def _with_addresses(page: ListeningPage) -> ListeningPage:
    def addressed(players: Sequence[Player]) -> tuple[Player, ...]:
        return tuple(Player(one.label, quote(one.file, safe="/")) for one in players)

    pieces = tuple(Listening(one.title, addressed(one.players), one.note) for one in page.pieces)
    return ListeningPage(page.title, page.about, page.says, pieces, page.foot)


def _words(page: ListeningPage) -> str:
    parts = [part for piece in page.pieces for part in (piece.title, piece.note, *(one.label for one in piece.players))]
    return "".join((page.title, page.about, page.says, page.foot, *parts))


def _faces(text: str) -> str:
    """Carry the type along, that of other scripts where there are any: a page from a stick has no other way to it."""
    others = tuple(("Noto", 400, font.stem) for font in fonts_for(text))
    return "".join(
        f'@font-face {{ font-family: "{family}"; font-weight: {weight}; '
        f"src: url(data:font/ttf;base64,{base64.b64encode((FONTS / f'{file}.ttf').read_bytes()).decode()}); }}\n"
        for family, weight, file in (*_FACES, *others)
    )
