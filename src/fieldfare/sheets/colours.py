"""Cable colours by name, as print shows them. The name is always written out beside the colour."""

from __future__ import annotations

import re

# The ten names are those of IEC 60062 for the digits 0 to 9; the shades are our own, chosen to differ on paper.
SHADES = {
    "black": "#111111",
    "brown": "#7B4A22",
    "red": "#C22E20",
    "orange": "#E8761A",
    "yellow": "#F2C61F",
    "green": "#2C7D46",
    "blue": "#2457A5",
    "violet": "#7A4A9E",
    "grey": "#8D8D8D",
    "white": "#FFFFFF",
    "pink": "#E78FB3",
    "turquoise": "#2AA5A0",
    "gold": "#C9A227",
    "silver": "#C4C4C4",
}
ALIKE = {"gray": "grey", "purple": "violet"}


def bands(colour: str) -> tuple[str, ...]:
    """Return the shades of a colour's name; "" for a name that has no shade, which is drawn hatched.

    >>> bands("green"), bands("brown/black"), bands("lime"), bands("")
    (('#2C7D46',), ('#7B4A22', '#111111'), ('',), ())
    """
    names = [name for name in re.split(r"[^\w]+", colour.casefold()) if name and name != "and"]
    return tuple(SHADES.get(ALIKE.get(name, name), "") for name in names)
