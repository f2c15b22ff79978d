"""Write docs/sources.md from the bibliography. Run it after adding a source: python tools/docs_sources.py"""

from __future__ import annotations

from pathlib import Path

from fieldfare.units.sources import PRACTICE, SOURCES, Source

PAGE = Path(__file__).parent.parent / "docs" / "sources.md"
HEAD = f"""# Sources

Where the numbers come from. Code, tests and sheets name a source by its key; what rests on none says "{PRACTICE}".
Most standards are sold, so most of their values were read on pages that quote them, and this table says so:

- *at first hand*: the publisher's or author's own page or text was read
- *quoted by another*: the value was read elsewhere, and the standard itself was not
- *from memory*: nothing was read; check it before you rely on it

A page kept as a warning prints a wrong figure, and a test says what is right. This page is made by
`python tools/docs_sources.py`.

| key | source | seen | note |
| --- | --- | --- | --- |
"""


def page(sources: dict[str, Source]) -> str:
    """Return the whole page, keys in alphabetical order."""
    rows = sorted(sources.items(), key=lambda entry: entry[0].casefold())
    lines = [
        f"| {key} | {_cell(source.title)} | {source.seen} | {_cell(source.note)} |".replace("|  |", "| |")
        for key, source in rows
    ]
    return HEAD + "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


if __name__ == "__main__":
    PAGE.write_text(page(SOURCES), encoding="utf-8", newline="\n")
    print(f"{PAGE.name}: {len(SOURCES)} sources")
