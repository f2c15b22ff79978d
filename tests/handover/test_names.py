"""Names that three systems take, whatever they were made from."""

from __future__ import annotations

import ntpath
import unicodedata
from pathlib import PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.handover.names import name_trouble, safe_name, told_apart

anything = st.text(max_size=300)


def _is_reserved(name: str) -> bool:
    """Whether Windows keeps a name for a device, by Python's own list, which moved with 3.13."""
    newer = getattr(ntpath, "isreserved", None)
    return bool(newer(name) if newer else PureWindowsPath(name).is_reserved())


@given(anything)
def test_any_text_becomes_a_name_that_no_system_refuses_or_changes(text: str) -> None:
    name = safe_name(text)
    assert name_trouble(name) == ""
    assert name
    assert len(name.encode()) <= 255
    assert not _is_reserved(name)
    assert unicodedata.normalize("NFC", name) == name
    if not any("HANGUL" in unicodedata.name(sign, "") for sign in name):
        assert unicodedata.normalize("NFD", name) == name  # as an older file system of macOS stores it


@given(anything)
def test_a_safe_name_stays_as_it_is(text: str) -> None:
    assert safe_name(safe_name(text)) == safe_name(text)


@given(st.lists(st.sampled_from(["a.wav", "A.wav", "a_2.wav", "B", "b", "é.x", ".hidden"]), max_size=12))
def test_no_two_names_are_one_on_any_system(names: list[str]) -> None:
    apart = told_apart(names)
    assert len({name.casefold() for name in apart}) == len(names)
    assert told_apart(apart) == apart


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("data/../x", "leads out"), ("/data", "leads out"), ("a//b", "leads out"), ("COM1.wav", "device"),
        ("a:b", "not every system"), ("a\\b", "not every system"), ("end.", "dot"), ("end ", "space"),
        ("x" * 256, "255"),
    ],
)  # fmt: skip
def test_unsafe_paths_are_named(path: str, says: str) -> None:
    assert says in name_trouble(path)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Tar & Oakum", "Tar_Oakum"), ("Größe", "Grosse"), ("เสียงร้อง", "เสียงร้อง"), ("صوت", "صوت"), ("Голос", "Голос"),
        ("nul", "nul_"), ("A/B\\C", "A_B_C"), ("한글", "한글"),
    ],
)  # fmt: skip
def test_letters_of_any_script_are_kept(text: str, name: str) -> None:
    assert safe_name(text) == name
