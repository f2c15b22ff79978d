"""Every page: its template uses what its context has, all of it and nothing else; and it is small."""

from __future__ import annotations

import inspect
import re
from dataclasses import fields, is_dataclass
from types import ModuleType

import httpx
import pytest
from desk.pages import BASE, CONTEXTS, PAGES
from jinja2 import meta
from sheets import example

from fieldfare.desk import app, faults
from fieldfare.desk.frame import Loose, loose_ends
from fieldfare.desk.render import templates
from fieldfare.show.plan import Hit, LeftOut

MODULES = (*app.PAGES, faults)


def _used(template: str) -> set[str]:
    """Names that a template and all that it extends or includes are given from outside."""
    environment = templates()
    loader = environment.loader
    assert loader is not None
    source, _, _ = loader.get_source(environment, template)
    tree = environment.parse(source)
    names = set(meta.find_undeclared_variables(tree))
    for other in meta.find_referenced_templates(tree):
        if other and other != "pieces.html":
            names |= _used(other)
    return names - {"pieces"}


def _contexts(module: ModuleType) -> set[str]:
    return {
        name
        for name, one in inspect.getmembers(module, is_dataclass)
        if one.__module__ == module.__name__ and name.endswith(("Page", "Part")) and name in CONTEXTS
    }


@pytest.mark.parametrize(("name", "template"), sorted(CONTEXTS.items()))
def test_a_template_uses_all_of_its_context_and_nothing_else(name: str, template: str) -> None:
    found = [getattr(module, name) for module in MODULES if hasattr(module, name)]
    assert found, f"no module of a page has {name}"
    assert _used(template) == {field.name for field in fields(found[0])}


def test_every_template_has_its_context() -> None:
    inner = {"layout.html", "pieces.html", "thread.html"}
    assert set(templates().list_templates()) - inner == set(CONTEXTS.values())
    assert {name for module in MODULES for name in _contexts(module)} == set(CONTEXTS)


@pytest.mark.parametrize("path", PAGES)
def test_every_page_is_there_and_small(reader: httpx.Client, path: str) -> None:
    answer = reader.get(path)
    assert answer.status_code == 200
    assert len(answer.content) < 300_000
    assert 'style="' not in answer.text
    assert "<script>" not in answer.text


@pytest.mark.parametrize("path", PAGES)
def test_a_bare_figure_in_a_table_says_what_it_is_on_a_phone(reader: httpx.Client, path: str) -> None:
    """Where the head of a table is hidden its cells stand one below the other: a 4.9 alone says nothing."""
    tables = re.findall(r'<table class="list[^"]*">.*?</table>', reader.get(path).text, re.DOTALL)
    cells = [cell for table in tables if "<thead>" in table for cell in re.findall(r"<td([^>]*)>(.*?)</td>", table)]
    bare = [(rest, text) for rest, text in cells if re.fullmatch(r"(<b>)?[−+]?\d[\d.]*(</b>)?", text.strip())]
    assert [text for rest, text in bare if "data-head" not in rest] == []
    assert bare or path.split("/")[-1] not in ("stage", "pack", "kit", "patch")


def test_what_is_on_the_row_of_another_is_not_told_as_left_out(reader: httpx.Client) -> None:
    page = " ".join(reader.get(f"{BASE}/inputs").text.split())
    lost = page.partition('<tbody id="lost">')[2].partition("</tbody>")[0].split("<tr ")[1:]
    shared = [row for row in lost if "shares line" in row]
    assert shared
    assert shared == lost[-len(shared) :]
    assert not any("left out" in row or "keep it" in row for row in shared)
    assert all("left out: " in row for row in lost[: -len(shared)])


def test_a_figure_that_is_asked_or_that_there_is_none_of_wears_no_unit(reader: httpx.Client) -> None:
    page = " ".join(reader.get(f"{BASE}/inputs").text.split())
    gains = re.findall(r'data-head="Gain" class="num">([^<]*)(<span)?', page)
    assert {bool(unit) for text, unit in gains if re.search(r"\d", text)} == {True}
    assert {bool(unit) for text, unit in gains if not re.search(r"\d", text)} == {False}


def test_a_must_that_is_left_out_stands_open_once_with_a_way_there() -> None:
    plan = example.example().plan
    says = "Hall left and Hall right must be recorded and are not, because no cable is left: 2 more bring both back."
    hit = Hit(
        check="RC4", severity="stop", input="hall-left", hop="Hall left and Hall right", says=says,
        remedy="2 more bring both back", source="definition",
    )  # fmt: skip
    sides = tuple(
        LeftOut(id=f"hall-{side}", label=f"Hall {side}", source="Hall", importance="must", status="expected",
                blocks="no cable is left", cure="2 more bring both back")
        for side in ("left", "right")
    )  # fmt: skip
    told = list(loose_ends(plan.model_copy(update={"hit": (hit,), "left_out": sides, "question": ()}), "/shows/it"))
    assert told == [Loose(says.partition(":")[0], hit.remedy, "See what is left out", "/shows/it/inputs#left-out")]


def test_a_source_says_whose_row_it_uses_while_they_are_silent(reader: httpx.Client) -> None:
    page = " ".join(reader.get(f"{BASE}/lineup").text.split())
    assert re.search(r"on \d+(, \d+)*; \d left out <details", page)
    assert re.search(r"on \d+ with [A-Z]", page)


def test_a_cable_of_a_thread_is_told_once_with_its_tag(reader: httpx.Client) -> None:
    page = reader.get(f"{BASE}/check").text
    cables = re.findall(r"<b>[a-z]+, [\d.]+ m</b> <span class=\"soft\">([^<]*)</span>", page)
    assert cables
    assert all(re.fullmatch(r"[A-Z]+-\d+", one) for one in cables), cables


def test_every_address_of_a_page_is_walked_here() -> None:
    plain = {
        route.path.replace("{key}", "midwinter-dance")
        for module in app.PAGES
        for route in module.router.routes
        if "GET" in getattr(route, "methods", ())
    }
    shown = {path.partition("?")[0] for path in PAGES}
    told = {"/shows/midwinter-dance", "/shows/midwinter-dance/inputs/explained", "/shows/midwinter-dance/events"}
    named = {path for path in shown if "/check/" in path or "/units/" in path}  # one of many, by its name
    assert {path for path in plain if "{" not in path} - told == shown - named
