"""Templates: strict, escaping everything, and given a typed context each."""

from __future__ import annotations

from dataclasses import fields
from functools import cache
from typing import Any

from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fieldfare.desk.frame import Frame
from fieldfare.sheets.colours import SHADES, bands
from fieldfare.sheets.language import said

_CLASSES = {shade: f"shade-{name}" for name, shade in SHADES.items()}


@cache
def templates() -> Environment:
    """Return the environment of all templates."""
    environment = Environment(
        loader=PackageLoader("fieldfare.desk"),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["shade"] = shade_class
    environment.filters["said"] = said_to
    environment.filters["shades"] = lambda colour: [shade_class(one) for one in bands(colour)]
    return environment


def said_to(text: str, frame: Frame) -> str | Markup:
    """Say what the plan or the takes say in the language of a device; marked as that where it is not English."""
    words = said(text, frame.language, frame.names)
    return text if words == text else Markup('<span lang="{}">{}</span>').format(frame.language, words)


def shade_class(shade: str) -> str:
    """Return the class of a cable's shade; one that has no name is hatched."""
    return _CLASSES.get(shade, "shade-none")


def html(template: str, context: Any, status: int = 200, headers: dict[str, str] | None = None) -> HTMLResponse:
    """Render a page from its context, a dataclass whose fields are what the template may use."""
    values = {field.name: getattr(context, field.name) for field in fields(context)}
    return HTMLResponse(templates().get_template(template).render(values), status, headers)


def svg(text: str) -> Markup:
    """Mark SVG that was made here, with every text in it escaped, as what it is."""
    return Markup(text)
