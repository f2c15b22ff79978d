"""The pack list: bin by bin in the order they go into the van, every unit with two boxes to tick, out and back."""

from __future__ import annotations

from dataclasses import dataclass

from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.wording import ASK, reading, reading_with_unit
from fieldfare.show.kit import Kit
from fieldfare.show.plan import BinWeight, Load, PackLine, Plan
from fieldfare.units.text import figure


@dataclass(frozen=True, slots=True)
class PackRow:
    """One item of a bin, with its units."""

    count: str
    item: str
    tags: tuple[str, ...]
    owner: str
    why: str
    comes_with: str
    spare: bool


@dataclass(frozen=True, slots=True)
class BinBlock:
    """One bin."""

    name: str
    load: str
    weight: str
    caution: str
    lifting: str
    rows: tuple[PackRow, ...]


@dataclass(frozen=True, slots=True)
class PackSheet:
    """Everything on the pack list."""

    head: Head
    summary: str
    detail: str
    bins: tuple[BinBlock, ...]
    load: LoadBlock | None


@dataclass(frozen=True, slots=True)
class PlaceBlock:
    """A place in the vehicle: its rectangle, and what stands there from the floor up."""

    bin: tuple[str, ...]
    right_m: float
    back_m: float
    wide_m: float
    deep_m: float


@dataclass(frozen=True, slots=True)
class LoadBlock:
    """How the bins stand in the vehicle."""

    summary: str
    places: tuple[PlaceBlock, ...]
    wide_m: float
    long_m: float
    notes: tuple[str, ...]


def pack_sheet(setting: Setting, kit: Kit) -> PackSheet:
    """Make the data of the pack list: the kit's bins in their load order, then what lies in none of them."""
    plan = setting.plan
    weights = {one.bin: one for one in plan.bin}
    order = {one.name: (one.load_order, place) for place, one in enumerate(kit.bin)}
    packed = list(dict.fromkeys(line.bin for line in plan.pack))
    bins = sorted((name for name in packed if name in order), key=lambda name: order[name])
    loose = [name for name in packed if name not in order]
    units = sum(len(line.tags) for line in plan.pack)
    loads = [f"into the van {place} of {len(bins)}" for place in range(1, len(bins) + 1)] + ["loose"] * len(loose)
    counted = f"{units} units in {len(bins)} bin{'s' if len(bins) != 1 else ''}"
    return PackSheet(
        head=setting.head("pack list"),
        summary=(f"{counted} and loose" if loose else counted) if units else "Nothing to pack",
        detail=_detail(plan),
        bins=tuple(
            _bin(name, load, weights.get(name), [line for line in plan.pack if line.bin == name])
            for name, load in zip([*bins, *loose], loads, strict=True)
        ),
        load=_load(plan.load) if plan.load else None,
    )


def _load(load: Load) -> LoadBlock:
    says = {True: "everything fits", False: "it does not fit", None: "whether it fits is not known"}[load.fits]
    given = {one.name: one.value for one in load.length.given}
    return LoadBlock(
        summary=f"{load.vehicle}: {says}",
        places=tuple(PlaceBlock(one.stack, one.right_m, one.back_m, one.wide_m, one.deep_m) for one in load.place),
        wide_m=float(given["width"]),
        long_m=float(given["length"]),
        notes=tuple(f"{note[:1].upper()}{note[1:]}." for note in load.notes),
    )


def _lifting(weight: BinWeight | None) -> str:
    """Say how many times the recommended weight a heavy bin is for one person."""
    index = weight.lifting.value if weight and weight.lifting else None
    return "" if index is None else f"lifting index {figure(index, 1)} for one person, above 1 some are at risk"


def _detail(plan: Plan) -> str:
    known = [one.weight.value for one in plan.bin if one.weight.value is not None]
    total = f"{figure(sum(known))} kg and more" if len(known) < len(plan.bin) else f"{figure(sum(known))} kg"
    foreign = sum(len(line.tags) for line in plan.pack if line.owner != "ours")
    parts = [total if known else "", f"{foreign} units are not ours" if foreign else ""]
    return "; ".join(part for part in parts if part)


def _bin(name: str, load: str, weight: BinWeight | None, lines: list[PackLine]) -> BinBlock:
    figures = weight.weight if weight else None
    least = "at least " if figures and figures.formula.startswith("at least") else ""
    unknown = figures is None or not figures.value or reading(figures) == ASK
    text = ASK if figures is None or unknown else f"{least}{reading_with_unit(figures, 1)}"
    return BinBlock(
        name=name[:1].upper() + name[1:],
        load=load,
        weight="weight not known" if text == ASK else text,
        caution=weight.caution if weight else "",
        lifting=_lifting(weight),
        rows=tuple(_row(line) for line in lines),
    )


def _row(line: PackLine) -> PackRow:
    return PackRow(
        count=str(len(line.tags)),
        item=line.item,
        tags=line.tags,
        owner="" if line.owner == "ours" else line.owner,
        why=line.why,
        comes_with=", ".join(line.comes_with),
        spare=line.spare,
    )
