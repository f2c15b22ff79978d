"""Tag labels: one for each unit of ours, with its tag in words and as a QR code [ISO18004], on sheets of labels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO

from fieldfare.sheets.head import Head, Paper, Setting
from fieldfare.show.kit import Kit, Thing
from fieldfare.units.faults import OutOfRange


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A page of labels as sold for printers. [mm]"""

    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    pitch_x_mm: float
    pitch_y_mm: float

    @property
    def count(self) -> int:
        """How many labels one page has."""
        return self.columns * self.rows


# The two sizes that most makers sell: common practice, no source.
LABELS: dict[Paper, LabelSheet] = {
    "a4": LabelSheet(3, 8, 63.5, 33.9, 7.2, 12.9, 66.1, 33.9),
    "letter": LabelSheet(3, 10, 66.7, 25.4, 4.8, 12.7, 69.9, 25.4),
}


@dataclass(frozen=True, slots=True)
class Tag:
    """One label."""

    tag: str
    item: str
    bin: str
    owner: str
    code: str  # an SVG


@dataclass(frozen=True, slots=True)
class TagSheet:
    """Everything on the tag labels."""

    head: Head
    layout: LabelSheet
    first: int
    tags: tuple[Tag, ...]


def tag_sheet(setting: Setting, kit: Kit, first: int = 1) -> TagSheet:
    """Make the data of the tag labels.

    Parameters
    ----------
    first
        The first label of the first page that is still free, counted from 1 along the rows.

    Raises
    ------
    OutOfRange
        A first label that the page does not have.
    """
    layout = LABELS[setting.paper]
    if not 1 <= first <= layout.count:
        raise OutOfRange(
            f"there is no label {first} on a page of {layout.count}", "first label", f"give 1 to {layout.count}"
        )
    return TagSheet(setting.head("tags"), layout, first, tuple(_tags(kit)))


def _tags(kit: Kit) -> Iterator[Tag]:
    for thing in kit.things:
        if thing.owner == "ours":
            for tag in thing.tags:
                yield Tag(tag, thing.item, _bin(thing), kit.owner_name, qr_svg(tag))


def _bin(thing: Thing) -> str:
    return thing.bin or "no bin"


def qr_svg(tag: str) -> str:
    """Draw a tag as a QR code: error correction M, four modules of quiet border, one unit a module.

    Letters outside ASCII are written as UTF-8, which telephones expect, and never as Shift JIS.
    """
    import segno

    drawn = BytesIO()
    segno.make_qr(tag, error="m", encoding=None if tag.isascii() else "utf-8").save(
        drawn, kind="svg", border=4, omitsize=True, nl=False, xmldecl=False
    )
    return drawn.getvalue().decode("utf-8")
