"""The listening page: one file that opens from disc, with a player and a plot for every piece and room for comments.

It asks nothing of any network. Its policy lets it load sound that lies beside it and run this script and no other; what
people wrote into titles is text and can be nothing else.
"""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from urllib.parse import quote

from fieldfare.sheets.axis import Tick, time_ticks
from fieldfare.sheets.coverage import FONTS, fonts_for
from fieldfare.sheets.drawing.levels import LEVEL_TICKS_DB, RANGE_DB, level_shapes
from fieldfare.sheets.language import Language, decimal, worded
from fieldfare.takes.played import PlayedLevel
from fieldfare.units.text import figure

_FILES = Path(__file__).parent / "page"
_FACES = (
    ("Barlow", 400, "Barlow-Regular"),
    ("Barlow", 600, "Barlow-SemiBold"),
    ("Barlow Condensed", 600, "BarlowCondensed-SemiBold"),
)


_TICKS = 4  # steps along a plot that a telephone has room for
_SCRIPT_WORDS = (
    "Dark", "Paper", "Play", "Pause", "{n} of {n2}", "cannot be played here: open the file",
    "Copied: paste it into a mail.", "Select the text below and copy it.",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Player:
    """One file that can be played."""

    label: str
    file: str  # its path from the page
    level: PlayedLevel | None = None  # as it was measured; none draws no plot


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
    language: Language = "en"


@dataclass(frozen=True, slots=True)
class _Plot:
    """The level of one file over time."""

    shapes: str
    says: str
    heights: tuple[tuple[float, str], ...]  # percent from its top, words
    times: tuple[Tick, ...]


@dataclass(frozen=True, slots=True)
class _Shown:
    """One player as the template takes it."""

    label: str
    file: str  # an address
    plot: _Plot | None


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
    language = page.language
    pieces = [(piece, [_shown(one, language) for one in piece.players]) for piece in page.pieces]
    return template.render(
        page=page,
        pieces=pieces,
        has_plots=any(one.plot for _, players in pieces for one in players),
        policy=policy(style, script),
        style=Markup(style),
        script=Markup(script),
        words={message: worded(message, language, n="{n}", n2="{n2}") for message in _SCRIPT_WORDS},
        t=lambda message, **given: worded(message, language, **given),
        drawn=Markup,
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


def _shown(player: Player, language: Language) -> _Shown:
    plot = _plot(player.label, player.level, language) if player.level else None
    return _Shown(player.label, quote(player.file, safe="/"), plot)


def _plot(label: str, level: PlayedLevel, language: Language) -> _Plot:
    """Draw the level of a file; the words beside it are the template's."""
    peak = level.peak_dbfs
    loudest = worded("nothing but silence", language)
    if peak is not None:
        loudest = worded("highest peak {n} dBFS", language, n=decimal(figure(peak, 1), language))
    return _Plot(
        shapes=level_shapes(level.course, level.frames, ()),
        says=worded("Level of {x} over time: {t}", language, x=label, t=loudest),
        heights=tuple((-100 * tick / RANGE_DB, figure(tick) if tick else "0 dBFS") for tick in LEVEL_TICKS_DB),
        times=tuple(
            Tick(round(100 * tick.at, 2), decimal(re.sub(r"^0:0?", "", tick.text), language))
            for tick in time_ticks(level.seconds, _TICKS)
        ),
    )


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
