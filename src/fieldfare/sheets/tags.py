"""Tag labels: one for each unit of ours, with its tag in words and as a QR code [ISO18004], on sheets of labels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from io import BytesIO

from fieldfare.sheets.head import Head, Paper, Setting
from fieldfare.show.kit import Kit, Thing
from fieldfare.units.faults import OutOfRange

OFFSET_MM = 5  # as far as the scales at a label's corner reach, either way


@dataclass(frozen=True, slots=True)
class Offset:
    """How far off its place a printer prints, read at the scales of the test print. [mm]"""

    right_mm: float = 0.0  # negative: to the left
    down_mm: float = 0.0  # negative: up


IN_PLACE = Offset()


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

    def against(self, off: Offset) -> LabelSheet:
        """Return the sheet as it must be drawn for a printer that is off: so far the other way.

        Raises
        ------
        OutOfRange
            A printer that is further off than the scales of the test print reach.
        """
        for way, by in (("right", off.right_mm), ("down", off.down_mm)):
            if not abs(by) <= OFFSET_MM:
                what = f"the printer would be off by {by:g} mm ({way})"
                remedy = f"{OFFSET_MM} mm is the most; look first whether it scales, with the rulers of the test print"
                raise OutOfRange(what, "offset of the printer", remedy)
        return replace(self, left_mm=self.left_mm - off.right_mm, top_mm=self.top_mm - off.down_mm)


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


def tag_sheet(setting: Setting, kit: Kit, first: int = 1, off: Offset = IN_PLACE) -> TagSheet:
    """Make the data of the tag labels.

    Parameters
    ----------
    setting
        Show, paper and language.
    kit
        Its units of ours get a label each.
    first
        The first label of the first page that is still free, counted from 1 along the rows.
    off
        How far off the printer is; the labels are drawn as far the other way.

    Raises
    ------
    OutOfRange
        A first label that the page does not have, or an offset that no test print shows.
    """
    layout = LABELS[setting.paper].against(off)
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
