"""Every page: its template uses what its context has, all of it and nothing else; and it is small."""

from __future__ import annotations

import inspect
from dataclasses import fields, is_dataclass
from types import ModuleType

import httpx
import pytest
from desk.pages import CONTEXTS, PAGES
from jinja2 import meta

from fieldfare.desk import app, faults
from fieldfare.desk.render import templates

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
