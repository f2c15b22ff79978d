"""Write the tables of fields into the pages of docs/ that hold some: python tools/docs_documents.py"""

from __future__ import annotations

import re
from collections.abc import Iterator, Set
from pathlib import Path

from pydantic import BaseModel

from fieldfare.plan.recipes import RecipeFile, own_recipes
from fieldfare.show.consent import ConsentBook
from fieldfare.show.expected import Slot, fact_of, is_list, model_of, shown, slots, wanted
from fieldfare.show.kit import Kit, Thing
from fieldfare.show.money import Business, Money
from fieldfare.show.receiver import Receiver
from fieldfare.show.record import Fact
from fieldfare.show.show import Show
from fieldfare.show.template import column_helps
from fieldfare.show.venue import Venue

DOCS = Path(__file__).parent.parent / "docs"
PAGES = ("documents.md", "kit.md", "money.md", "consent.md", "handover.md", "recipes.md")
_SHORT = (  # what a table need not say again: how each of them is written stands above it
    ("a list in square brackets, each entry text in quotes", "list of text"),
    ("a list in square brackets, each entry", "list, each entry"),
    ("pairs in braces, each with text in quotes", "pairs of texts"),
    ("pairs in braces, each with a whole number", "pairs of text and whole number"),
    ("text in quotes", "text"),
    ("a date: 2026-12-04", "date"),
    ("a time: 19:30:00", "time"),
    (
        "in square brackets, as [1.5, 0.8]: x, y in metres: x to the right seen from the audience, y upstage",
        "in metres: x, y",
    ),
    ("in square brackets, as [1.5, 0.8, 0.0]: x, y, z in metres; z up from the stage floor", "in metres: x, y, z"),
    (", in square brackets, as [1.5, 0.8]", ""),
)
PART = re.compile(r"(<!-- begin (?P<name>[a-z ]+) -->\n).*?(<!-- end -->)", re.DOTALL)


def renewed(text: str) -> str:
    """Return a page with every generated part made anew."""
    made = {
        "fields of the show": lambda: _tables(Show, "show.toml"),
        "fields of the venue": lambda: _tables(Venue, "venue.toml"),
        "fields of the kit": _kit,
        "fields of the price list": lambda: _tables(Business, "business.toml"),
        "fields of money": lambda: _tables(Money, "money.toml"),
        "fields of consent": lambda: _tables(ConsentBook, "consent.toml"),
        "fields of a receiver": lambda: _tables(Receiver, "a receiver"),
        "fields of a fact": lambda: _rows(Fact[str]),
        "columns": _columns,
        "fields of a recipe": lambda: _tables(RecipeFile, "a file of recipes"),
        "recipes": _recipes,
    }
    return PART.sub(lambda part: part[1] + "\n" + "\n".join(made[part["name"]]()) + "\n\n" + part[3], text)


def _kit() -> Iterator[str]:
    """Write what all things have in common once, and then only what each has of its own."""
    yield from _tables(Kit, "kit.toml", without=Thing)
    yield ""
    yield "**In every table of a thing**, but not of a bin:"
    yield ""
    yield from _rows(Thing)


def _tables(
    model: type[BaseModel], title: str, path: str = "", without: type[BaseModel] | None = None
) -> Iterator[str]:
    """Write the table of a model's fields, and then of the tables within it."""
    yield f"**{f'`{path}`' if path else f'At the top of {title}'}**: {_summary(model)}"
    common = set(slots(without)) if without and issubclass(model, without) else set()
    if rows := list(_rows(model, common)):
        yield ""
        yield from rows
    for name, slot in slots(model).items():
        inner = model_of(slot)
        if inner is None or issubclass(inner, Fact):
            continue
        inside = f"{path.strip('[]')}.{name}".removeprefix(".")
        yield ""
        yield from _tables(inner, title, f"[[{inside}]]" if is_list(slot) else f"[{inside}]", without)


def _summary(model: type[BaseModel]) -> str:
    text = (model.__doc__ or "").strip().split("\n")[0]
    return text if text.startswith("DI") else text[:1].lower() + text[1:]


def _rows(model: type[BaseModel], common: Set[str] = frozenset()) -> Iterator[str]:
    own = {name: slot for name, slot in slots(model).items() if name not in common and not _is_table(slot)}
    if own:
        yield "| field | what to write | left out |"
        yield "| --- | --- | --- |"
    for name, slot in own.items():
        yield f"| `{name}` | {_cell(_what(slot))} | {_cell(_otherwise(slot))} |"


def _is_table(slot: Slot) -> bool:
    inner = model_of(slot)
    return inner is not None and not issubclass(inner, Fact)


def _what(slot: Slot) -> str:
    fact = fact_of(slot)
    words = f"a fact; its value: {wanted(fact)}" if fact else wanted(slot)
    about = f". {slot.about}" if slot.about and slot.about.casefold() not in words.casefold() else ""
    for long, short in _SHORT:
        words = words.replace(long, short)
    return words + about


def _otherwise(slot: Slot) -> str:
    if slot.required:
        return "**must be given**"
    if isinstance(slot.default, Fact):
        return "unknown: asked" if slot.default.value is None else f"{shown(slot.default.value)}, {slot.default.status}"
    if slot.default in (None, "", (), {}):
        return "–"
    return ", ".join(map(shown, slot.default)) if isinstance(slot.default, tuple) else shown(slot.default)


def _columns() -> Iterator[str]:
    yield "| column | of which things | what to write |"
    yield "| --- | --- | --- |"
    for name, things, words in column_helps():
        yield f"| `{name}` | {things} | {_cell(words)} |"


def _recipes() -> Iterator[str]:
    yield "| recipe | what it gives | inputs, in order: **must**, want, *nice* | words for `has` | `counts` |"
    yield "| --- | --- | --- | --- | --- |"
    for recipe in sorted(own_recipes().values(), key=lambda one: (one.order, one.name)):
        marks = {"must": "**", "want": "", "nice": "*"}
        parts = ", ".join(f"{marks[part.importance]}{part.part}{marks[part.importance]}" for part in recipe.part)
        counts = ", ".join(f"{name} = {number}" for name, number in recipe.usual.items())
        yield f"| {recipe.name} | {_cell(recipe.says)} | {parts} | {', '.join(recipe.uses)} | {counts} |"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


if __name__ == "__main__":
    for name in PAGES:
        page = DOCS / name
        page.write_text(renewed(page.read_text("utf-8")), encoding="utf-8", newline="\n")
        print(f"{name}: renewed")
