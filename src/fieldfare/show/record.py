"""What all documents are made of: frozen records that refuse unknown fields, places, and facts."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Generic, Literal, Self, TypeVar

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

Name = Annotated[str, StringConstraints(min_length=1, max_length=200, strip_whitespace=True)]
Metres = Annotated[float, Field(allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Place = Annotated[
    tuple[Metres, Metres], Field(description="x, y in metres: x to the right seen from the audience, y upstage")
]
Place3 = Annotated[tuple[Metres, Metres, Metres], Field(description="x, y, z in metres; z up from the stage floor")]

Status = Literal["confirmed", "expected", "possible", "unknown"]
Severity = Literal["stop", "warn", "note"]
Asked = Literal["venue", "house", "band", "cameras", "ourselves"]

Value = TypeVar("Value")


class Record(BaseModel):
    """A piece of a document: never changed in place, and a field it does not know is a fault."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)


class Fact(Record, Generic[Value]):
    """Something about a show that may not be known yet. Unknown never becomes a number: it becomes a question."""

    value: Value | None = Field(default=None, description="What is known of it; nothing where it is unknown")
    status: Status = Field(default="unknown", description="How sure it is")
    by: str = Field(default="", description="Who confirmed it")
    on: dt.date | None = Field(default=None, description="When it was confirmed")
    ask: Asked = Field(default="venue", description="Who can answer")

    @model_validator(mode="after")
    def _status_fits_value(self) -> Self:
        if self.status == "unknown" and self.value is not None:
            raise ValueError("an unknown fact has no value: give a status of confirmed, expected or possible")
        if self.status != "unknown" and self.value is None:
            raise ValueError(f'a fact that is {self.status} needs a value: give value = …, or status = "unknown"')
        if self.status == "confirmed" and not (self.by and self.on):
            raise ValueError('a confirmed fact says by whom and on which date: give by = "…" and on = 2026-11-20')
        return self

    @property
    def known(self) -> Value | None:
        """The value to plan with: that of a confirmed or an expected fact."""
        return self.value if self.status in ("confirmed", "expected") else None
