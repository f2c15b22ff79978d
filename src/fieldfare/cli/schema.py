"""fieldfare schema: the JSON Schema of a document."""

from __future__ import annotations

from typing import Annotated

import typer

from fieldfare.cli.say import say, show_json
from fieldfare.units.faults import Fault
from fieldfare.units.text import nearest


def schema(
    document: Annotated[str, typer.Argument(help="Which document; without it, their names.")] = "",
) -> None:
    """Write the JSON Schema of a document that is read, or that --json writes."""
    from fieldfare.show.schema import DOCUMENTS, schema_of

    if not document:
        say("\n".join(DOCUMENTS))
        return
    if document not in DOCUMENTS:
        near = nearest(document, DOCUMENTS)
        remedy = f"did you mean {near}?" if near else f"there are {', '.join(DOCUMENTS)}"
        raise Fault(f"no document is called {document!r}", "the command", remedy)
    show_json(schema_of(document))
