"""docs/documents.md and docs/kit.md say what the models and the readers do: every table, every example, every fault."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from fieldfare.show.expected import model_of, slots
from fieldfare.show.kit import Kit
from fieldfare.show.record import Fact
from fieldfare.show.show import Show
from fieldfare.show.toml import read_kit, read_show
from fieldfare.show.venue import Venue
from fieldfare.units.faults import BadDocuments

ROOT = Path(__file__).parent.parent
TOOL = ROOT / "tools" / "docs_documents.py"
PAGES = ("documents.md", "kit.md", "money.md", "consent.md", "handover.md")
TEXTS = {name: (ROOT / "docs" / name).read_text("utf-8") for name in PAGES}


def _blocks(page: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", TEXTS[page], re.MULTILINE | re.DOTALL)


WHOLE = {
    block.split("\n")[0].removeprefix("# "): block
    for block in _blocks("documents.md", "toml")
    if ".toml\n" in block[:20]
}
PARTS = [block for block in _blocks("documents.md", "toml") if block.startswith("# in ")]


def _folder(tmp_path: Path, changes: dict[str, list[tuple[str, str]]] | None = None) -> Path:
    """The small show of the page, with changes where asked."""
    for name, text in WHOLE.items():
        for right, wrong in (changes or {}).get(name, []):
            assert right in text
            text = text.replace(right, wrong, 1)
        (tmp_path / name).write_text(text, "utf-8")
    return tmp_path


def _models(model: type[BaseModel]) -> list[type[BaseModel]]:
    inner = [found for slot in slots(model).values() if (found := model_of(slot)) and not issubclass(found, Fact)]
    return [model, *(one for found in inner for one in _models(found))]


@pytest.mark.parametrize("name", TEXTS)
def test_the_tables_are_those_of_today(name: str) -> None:
    spec = importlib.util.spec_from_file_location("docs_documents", TOOL)
    assert spec
    assert spec.loader
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    assert TEXTS[name] == tool.renewed(TEXTS[name]), "renew it: python tools/docs_documents.py"
    assert "<!-- begin" in TEXTS[name]


@pytest.mark.parametrize("model", [Show, Venue, Kit], ids=lambda model: model.__name__)
def test_every_field_is_explained(model: type[BaseModel]) -> None:
    page = TEXTS["kit.md" if model is Kit else "documents.md"]
    for one in _models(model):
        for name, slot in slots(one).items():
            inner = model_of(slot)
            if inner is None or issubclass(inner, Fact):
                assert slot.about, f"{one.__name__}.{name} has no description"
                assert f"| `{name}` |" in page, name
            else:
                assert re.search(rf"\*\*`\[+[a-z._]*{name}\]+`\*\*", page), name


def test_the_small_show_reads_as_it_stands(tmp_path: Path) -> None:
    assert set(WHOLE) == {"show.toml", "venue.toml", "kit.toml"}
    read = read_show(_folder(tmp_path))
    assert [source.name for source in read.show.sources] == ["Acoustic guitar", "Lead vocal"]


@pytest.mark.parametrize("part", PARTS, ids=range(len(PARTS)))
def test_every_part_fits_the_small_show(tmp_path: Path, part: str) -> None:
    found = re.match(r"# in ([a-z.]+), at the (top|end)\n", part)
    assert found
    folder = _folder(tmp_path)
    before = read_show(folder)
    path = folder / found[1]
    text = path.read_text("utf-8")
    path.write_text(f"{part}\n{text}" if found[2] == "top" else f"{text}\n{part}", "utf-8")
    assert read_show(folder).digest != before.digest or "unknown" in part


def test_the_faults_of_the_page_are_those_that_are_told(tmp_path: Path) -> None:
    (told,) = _blocks("documents.md", "text")
    folder = _folder(
        tmp_path,
        {
            "show.toml": [("doors = 19:00:00", "doors = 19"), ('status = "confirmed"', 'stauts = "confirmed"')],
            "venue.toml": [('circuit = "Shop"', 'circuit = "Shopp"')],
            "kit.toml": [('pattern = "supercardioid"', 'pattern = "super"')],
        },
    )
    with pytest.raises(BadDocuments, match=r"\S") as caught:
        read_show(folder)
    assert str(caught.value) == told.strip()


def test_the_kit_by_hand_reads_as_it_stands(tmp_path: Path) -> None:
    (text,) = _blocks("kit.md", "toml")
    (tmp_path / "kit.toml").write_text(text, "utf-8")
    kit = read_kit(tmp_path / "kit.toml")
    assert kit.mic[0].good_tags == ("M-16", "M-17")
    assert kit.mic[1].pairs == (("M-10", "M-11"),)


def test_the_spreadsheet_of_the_page_is_read_and_its_faults_are_told(tmp_path: Path) -> None:
    (table,) = _blocks("kit.md", "csv")
    (told,) = _blocks("kit.md", "text")
    path = tmp_path / "our-kit.csv"
    path.write_text(table, "utf-8")
    kit = read_kit(path)
    assert [mic.tags for mic in kit.mic] == [("M-01", "M-02", "M-03", "M-04"), ("M-16", "M-17", "M-18")]
    assert kit.mic[1].faulty == {"M-18": "lead crackles"}
    path.write_text(table.replace(",supercardioid,", ",super,", 1).replace(",0.9,", ",,"), "utf-8")
    with pytest.raises(BadDocuments, match=r"\S") as caught:
        read_kit(path)
    assert str(caught.value) == told.strip()
