"""A figure that can be opened: its formula, the values put in, its source and how sure it is."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from fieldfare.units.sources import PRACTICE, SOURCES

Sureness = Literal["sure", "estimate", "guess"]


class Given(BaseModel):
    """One value put into a formula."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    value: float | str
    unit: str = ""


class Working(BaseModel):
    """A computed figure with how it came about. A figure without a working is not shown."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    value: float | None = Field(description="The figure; none where something it needs is unknown")
    unit: str
    formula: str = Field(description="In words and signs a technician reads, with the names of the values put in")
    given: tuple[Given, ...] = ()
    source: str = Field(description="A key of the bibliography, or 'common practice, no source'")
    sure: Sureness = "sure"
    plus_minus: float | None = Field(default=None, description="Half the width of the likely range, same unit")

    @field_validator("source")
    @classmethod
    def _known_source(cls, source: str) -> str:
        if source != PRACTICE and source not in SOURCES:
            raise ValueError(f"source {source!r} is not in the bibliography (units/sources.py)")
        return source
