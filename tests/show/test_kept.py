"""Documents that the program keeps, read back: not there, there, and something else."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldfare.show.archive import ArchiveBook
from fieldfare.show.kept import read_kept
from fieldfare.units.faults import Fault


@pytest.mark.parametrize("content", [b"", b"{", b'{"unknown": 1}', b"\xff\xfe"])
def test_what_is_no_such_document_is_told_with_its_file_and_what_to_do(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "archive.json"
    assert read_kept(file, ArchiveBook, "this is no list", "take another") is None
    file.write_bytes(content)
    with pytest.raises(Fault, match="this is no list") as told:
        read_kept(file, ArchiveBook, "this is no list", "take another")
    assert (told.value.where, told.value.remedy) == (str(file), "take another")
