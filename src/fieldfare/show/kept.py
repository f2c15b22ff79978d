"""Documents that the program keeps in a show's folder as JSON, read back one way."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from fieldfare.units.faults import Fault

M = TypeVar("M", bound=BaseModel)


def read_kept(file: Path, model: type[M], what: str, remedy: str) -> M | None:
    """Read a kept document; None where none was kept yet.

    Parameters
    ----------
    file
        Where it lies.
    model
        What it is.
    what, remedy
        What is said where it is something else, and what to do then.

    Raises
    ------
    Fault
        The file is there and is no such document.
    """
    if not file.is_file():
        return None
    try:
        return model.model_validate_json(file.read_bytes())
    except ValidationError:
        raise Fault(what, str(file), remedy) from None
