"""Faults: one sentence each, and they survive the way between processes."""

from __future__ import annotations

import pickle

import pytest

from fieldfare.units.faults import BadDocuments, Blemish, Fault, NotDone, OutOfRange

WRONG = Blemish("show.toml", "line 12", "mic.pattern", "'cardiod' is not a pattern", "did you mean 'cardioid'?")
ALSO = Blemish("kit.csv", "", "", "the file is empty", "fill in the template")


@pytest.mark.parametrize("kind", [Fault, OutOfRange, NotDone])
def test_a_fault_says_where_what_and_what_to_do(kind: type[Fault]) -> None:
    fault = kind("it is full", "card A", "take card B")
    assert str(fault) == "card A: it is full; take card B"
    back = pickle.loads(pickle.dumps(fault))
    assert (type(back), str(back), back.remedy) == (kind, str(fault), "take card B")


def test_a_number_out_of_range_is_a_value_error_too() -> None:
    with pytest.raises(ValueError, match="gain: 200 dB is too much; turn it down"):
        raise OutOfRange("200 dB is too much", "gain", "turn it down")


def test_bad_documents_tell_every_blemish_on_a_line_of_its_own() -> None:
    fault = BadDocuments((WRONG, ALSO))
    assert str(fault).splitlines() == [
        "show.toml, line 12, mic.pattern: 'cardiod' is not a pattern; did you mean 'cardioid'?",
        "kit.csv: the file is empty; fill in the template",
    ]
    back = pickle.loads(pickle.dumps(fault))
    assert back.blemishes == (WRONG, ALSO)
    assert (back.where, back.remedy) == ("show.toml", WRONG.remedy)
