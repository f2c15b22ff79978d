"""The pack list: bin by bin in the order they go into the van, every unit with two boxes to tick, out and back."""

from __future__ import annotations

from dataclasses import dataclass

from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.wording import ASK, reading, reading_with_unit
from fieldfare.show.plan import BinWeight, PackLine, Plan
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
    rows: tuple[PackRow, ...]


@dataclass(frozen=True, slots=True)
class PackSheet:
    """Everything on the pack list."""

    head: Head
    summary: str
    detail: str
    bins: tuple[BinBlock, ...]


def pack_sheet(setting: Setting) -> PackSheet:
    """Make the data of the pack list."""
    plan = setting.plan
    weights = {one.bin: one for one in plan.bin}
    names = sorted(dict.fromkeys(line.bin for line in plan.pack), key=lambda name: _load_order(weights.get(name)))
    units = sum(len(line.tags) for line in plan.pack)
    return PackSheet(
        head=setting.head("pack list"),
        summary=f"{units} units in {len(names)} bins" if units else "Nothing to pack",
        detail=_detail(plan),
        bins=tuple(
            _bin(name, place, len(names), weights.get(name), [line for line in plan.pack if line.bin == name])
            for place, name in enumerate(names, 1)
        ),
    )


def _load_order(weight: BinWeight | None) -> tuple[bool, int, str]:
    return (weight is None, weight.load_order, weight.bin) if weight else (True, 0, "")


def _detail(plan: Plan) -> str:
    known = [one.weight.value for one in plan.bin if one.weight.value is not None]
    total = f"{figure(sum(known))} kg and more" if len(known) < len(plan.bin) else f"{figure(sum(known))} kg"
    foreign = sum(len(line.tags) for line in plan.pack if line.owner != "ours")
    parts = [total if known else "", f"{foreign} units are not ours" if foreign else ""]
    return "; ".join(part for part in parts if part)


def _bin(name: str, place: int, count: int, weight: BinWeight | None, lines: list[PackLine]) -> BinBlock:
    figures = weight.weight if weight else None
    least = "at least " if figures and figures.formula.startswith("at least") else ""
    text = ASK if figures is None or reading(figures) == ASK else f"{least}{reading_with_unit(figures, 1)}"
    return BinBlock(
        name=name[:1].upper() + name[1:],
        load=f"into the van {place} of {count}",
        weight="weight not known" if text == ASK else text,
        caution=weight.caution if weight else "",
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
