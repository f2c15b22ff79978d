"""Assignment tables of textbooks, put as microphones for inputs and solved by the real choice."""

from __future__ import annotations

from itertools import permutations

import pytest
from plan.little_shows import plain_show, source

from fieldfare.plan.choice import choose
from fieldfare.plan.wanted import Accept, Wanted
from fieldfare.show.kit import Kit
from fieldfare.units.sources import SOURCES

MOST = 200  # fitness is this less the cost

# Table, total as published, source (a key of the bibliography), and whether the sum is to be small or large.
TABLES = {
    "N13": ([[4, 1, 3], [2, 0, 5], [3, 2, 2]], 5, "AssignmentDocs", "least"),
    "N14": ([[8, 4, 7], [5, 2, 3], [9, 4, 8]], 15, "HungarianArticle", "least"),
    "N15": (
        [[90, 80, 75, 70], [35, 85, 55, 65], [125, 95, 90, 95], [45, 110, 95, 115], [50, 100, 90, 100]],
        265, "AssignmentGuide", "least",
    ),
    "N16": (
        [[90, 76, 75, 70], [35, 85, 55, 65], [125, 95, 90, 105], [45, 110, 95, 115]], 265, "AssignmentGuide", "least",
    ),
    "N17": ([[9, 2, 7, 8], [6, 4, 3, 7], [5, 8, 1, 8], [7, 6, 9, 4]], 13, "AssignmentTests", "least"),
    "N18": (
        [[82, 83, 69, 92], [77, 37, 49, 92], [11, 69, 5, 86], [8, 9, 98, 23]], 140, "AssignmentTextbook", "least",
    ),
    "N19": ([[8, 7, 9, 9], [5, 2, 7, 8], [6, 1, 4, 9], [2, 3, 2, 6]], 27, "AssignmentRatings", "most"),
}  # fmt: skip


def _solved(table: list[list[int]], which: str) -> tuple[int, dict[int, int]]:
    """Choose one microphone for each input and return the sum of the table, and the column of each row."""
    rows, columns = range(len(table)), range(len(table[0]))
    wanted = tuple(
        Wanted(
            id=f"i{row}", label=f"Input {row}", source=source(f"s{row}"), part="", importance="want", order=row + 1,
            at=(0, 0, 1), aim=(0, 1, 0), sound_at=(0, 1, 1), distance_m=1, spl_db=(80, 100),
            accept=(Accept(taking="mic", kinds=("small dynamic",)),),
        )
        for row in rows
    )  # fmt: skip
    kit = Kit.model_validate(
        {
            "mic": [
                {
                    "item": f"mic {column}", "tags": [f"M-{column}"], "kind": "small dynamic", "pattern": "cardioid",
                    "phantom": "ignored", "sensitivity_mv_pa": 2, "impedance_ohm": 200,
                }
                for column in columns
            ],
            "cable": [
                {
                    "item": "cable", "tags": "C-01..C-20", "signal": "mic", "from_end": "xlr-f", "to_end": "xlr-m",
                    "length_m": 5,
                }
            ],
            "recorder": [{"item": "recorder", "tags": ["R"], "preamps": 8, "max_input_dbu": 10}],
        }
    )  # fmt: skip
    worth = {
        (f"i{row}", f"mic {column}"): MOST - table[row][column] if which == "least" else table[row][column]
        for row in rows
        for column in columns
    }
    needed = {(one.id, "R"): 2.0 for one in wanted}
    choice = choose(wanted, kit, needed, show=plain_show(), fitness=worth, explain=False)
    taken = {int(row.wanted.id[1:]): int(row.unit[2:]) for row in choice.chosen}
    return sum(table[row][column] for row, column in taken.items()), taken


@pytest.mark.parametrize("name", TABLES)
def test_the_total_is_as_published(name: str) -> None:
    table, published, key, which = TABLES[name]
    assert key in SOURCES
    assert _solved(table, which)[0] == published


def test_n13_takes_the_columns_that_its_source_prints() -> None:
    assert _solved(TABLES["N13"][0], "least")[1] == {0: 1, 1: 0, 2: 2}


def test_n13_is_5_although_a_public_test_prints_4() -> None:
    """Trap T17 of the check values: the test code asserts 4, which no assignment reaches."""
    table = TABLES["N13"][0]
    sums = {sum(table[row][column] for row, column in enumerate(order)) for order in permutations(range(3))}
    assert 4 not in sums
    assert min(sums) == 5


def test_n14_is_not_what_taking_the_best_of_each_row_in_turn_gives() -> None:
    table, published, *_ = TABLES["N14"]
    left, greedy = set(range(3)), 0
    for row in table:
        best = min(left, key=lambda column: row[column])
        left.remove(best)
        greedy += row[best]
    assert (greedy, published) == (16, 15)


def test_n15_leaves_the_worker_idle_that_its_source_leaves_idle() -> None:
    """Five rows for four columns: row 4 stays idle."""
    assert set(_solved(TABLES["N15"][0], "least")[1]) == {0, 1, 2, 3}
