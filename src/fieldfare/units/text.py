"""Figures and names as people read them: one way to write each, on screen and on paper."""

from __future__ import annotations

from collections.abc import Container, Iterable
from difflib import get_close_matches

MINUS = "−"
STEM_LETTERS = 60  # of a file's name: at most 240 bytes in any script, where 255 are the least limit of a system


def figure(value: float, decimals: int = 0, *, sign: bool = False) -> str:
    """Write a number with a true minus and, where asked, its plus.

    >>> figure(-3.14159, 1), figure(4, sign=True), figure(-0.04, 1)
    ('−3.1', '+4', '0.0')
    """
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = f"{0:.{decimals}f}"
    if text.startswith("-"):
        return MINUS + text[1:]
    return f"+{text}" if sign and float(text) > 0 else text


def metres(value_m: float) -> str:
    """Write a length in metres, with a decimal only where it has one.

    >>> metres(10.0), metres(3.24)
    ('10 m', '3.2 m')
    """
    return f"{figure(value_m, 0 if abs(value_m - round(value_m)) < 0.05 else 1)} m"


def gigabytes(count: int) -> str:
    """Write a number of bytes as discs are sold, so that it compares with what is printed on them.

    >>> gigabytes(28_000_000_000), gigabytes(12_345_678)
    ('28.00 GB', '12.3 MB')
    """
    return f"{count / 1e9:.2f} GB" if count >= 1e9 else f"{count / 1e6:.1f} MB"


def listed(names: Iterable[str]) -> str:
    """Join names as a sentence does.

    >>> listed(["kick"]), listed(["kick", "snare"]), listed(["a", "b", "c"])
    ('kick', 'kick and snare', 'a, b and c')
    """
    parts = list(names)
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}" if parts else ""


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the known name that looks most like the one that was written, or "" where none does.

    >>> nearest("supercardiod", ["cardioid", "supercardioid"])
    'supercardioid'
    """
    pool = {one.casefold(): one for one in known}
    found = get_close_matches(name.casefold(), pool, n=1, cutoff=0.55)
    return pool[found[0]] if found else ""


def slug(name: str) -> str:
    """Make an id from a name: lower case, words joined by a hyphen, letters of any script kept.

    >>> slug("Lead vocal, Anna's"), slug("Φωνή 2")
    ('lead-vocal-anna-s', 'φωνή-2')
    """
    return "-".join("".join(sign if sign.isalnum() else " " for sign in name.casefold()).split())


def file_stem(name: str, fallback: str) -> str:
    """Make a file's name without its ending: as `slug`, not too long for any system, and never empty.

    >>> file_stem("Tune for a wet Tuesday", "song"), file_stem("…", "song"), len(file_stem("la " * 60, "song"))
    ('tune-for-a-wet-tuesday', 'song', 59)
    """
    return slug(name)[:STEM_LETTERS].strip("-") or fallback


def joined_stem(*names: str) -> str:
    """Make a file's name of several names: each keeps its share of letters where all of them are too long together.

    >>> joined_stem("Cold tea", "Camera 1", "C0001"), len(joined_stem("la " * 60, "la " * 60, "C0001"))
    ('cold-tea-camera-1-c0001', 45)
    """
    stems = [stem for stem in map(slug, names) if stem]
    if len("-".join(stems)) > STEM_LETTERS:
        share = STEM_LETTERS // len(stems) - 1
        stems = [stem[:share].strip("-") for stem in stems]
    return "-".join(stems)


def free_name(stem: str, suffix: str, taken: Container[str]) -> str:
    """Return a file's name that is not taken yet, numbered where the plain one is.

    >>> free_name("cold-tea", ".wav", ()), free_name("cold-tea", ".wav", ("cold-tea.wav", "cold-tea-2.wav"))
    ('cold-tea.wav', 'cold-tea-3.wav')
    """
    name, count = f"{stem}{suffix}", 1
    while name in taken:
        count += 1
        name = f"{stem}-{count}{suffix}"
    return name


def printable(name: str) -> str:
    r"""Return a file's name that any paper or program can take: bytes that are no text are written out.

    >>> printable("caf\udce9.wav"), printable("café.wav")
    ('caf\\xe9.wav', 'café.wav')
    """
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


def spans(numbers: Iterable[int]) -> str:
    """Write numbers with their unbroken rows drawn together.

    >>> spans([1, 2, 3, 7, 9, 10])
    '1 to 3, 7, 9, 10'
    """
    groups: list[list[int]] = []
    for number in numbers:
        if groups and number == groups[-1][-1] + 1:
            groups[-1].append(number)
        else:
            groups.append([number])
    return ", ".join(f"{group[0]} to {group[-1]}" if len(group) > 2 else ", ".join(map(str, group)) for group in groups)
