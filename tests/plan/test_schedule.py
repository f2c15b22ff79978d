"""Critical path and three-point estimates, against textbooks' solved problems."""

from __future__ import annotations

import math
from itertools import pairwise
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.plan.schedule import Job, Span, critical_path, in_order, simulated_ends, stretched, with_hands
from fieldfare.units.faults import OutOfRange

# Networks as arrows between events, as the books print them: (from, to, duration).
# [ManagementScience] chapter 8, solutions: length 20, critical path 1-3-4-5-6, slacks as listed.
FIRST = [(1, 2, 7), (1, 3, 10), (2, 4, 6), (3, 4, 5), (3, 5, 4), (4, 5, 3), (5, 6, 2)]
FIRST_SLACKS = [2, 0, 2, 0, 4, 0, 0]
# [ManagementScience] chapter 8, solutions: with a dummy of no length; length 38, path 1-3-5-7-8-9.
SECOND = [
    (1, 2, 8), (1, 3, 10), (1, 4, 9), (2, 5, 6), (2, 6, 4), (3, 5, 5), (4, 5, 0), (4, 7, 7), (5, 7, 12), (5, 8, 15),
    (6, 9, 18), (7, 8, 4), (8, 9, 7),
]  # fmt: skip
SECOND_SLACKS = [1, 0, 6, 1, 8, 0, 6, 11, 0, 1, 8, 0, 0]


def _arrows(arrows: list[tuple[int, int, int]]) -> list[Job]:
    return [
        Job(f"{start}-{end}", Span(took, took, took), tuple(f"{a}-{b}" for a, b, _ in arrows if b == start))
        for start, end, took in arrows
    ]


@pytest.mark.parametrize(("arrows", "length", "slacks"), [(FIRST, 20, FIRST_SLACKS), (SECOND, 38, SECOND_SLACKS)])
def test_critical_path_is_as_printed(arrows: list[tuple[int, int, int]], length: float, slacks: list[int]) -> None:
    slots = critical_path(_arrows(arrows))
    assert max(slot.earliest + slot.minutes for slot in slots.values()) == length
    assert [slots[f"{a}-{b}"].slack for a, b, _ in arrows] == pytest.approx(slacks)
    critical = [f"{a}-{b}" for (a, b, _), slack in zip(arrows, slacks, strict=True) if slack == 0]
    assert [name for name, slot in slots.items() if slot.critical and slot.minutes] == critical


# [PERTSolved] A textbook's solved problem: (least, likely, most), mean, variance.
PRINTED = [
    ((5, 8, 17), 9, 4), ((7, 10, 13), 10, 1), ((3, 5, 7), 5, 0.444), ((1, 3, 5), 3, 0.444), ((4, 6, 8), 6, 0.444),
    ((3, 3, 3), 3, 0), ((3, 4, 5), 4, 0.111),
]  # fmt: skip


@pytest.mark.parametrize(("span", "mean", "variance"), PRINTED)
def test_three_point_mean_and_variance(span: tuple[float, float, float], mean: float, variance: float) -> None:
    assert Span(*span).mean == pytest.approx(mean, abs=0.0005)
    assert Span(*span).variance == pytest.approx(variance, abs=0.0005)


def _odds(minutes: float, path: list[Span]) -> float:
    """Odds that a path is done in time, by the normal law over means and variances, as the books reckon them."""
    return NormalDist(sum(one.mean for one in path), math.sqrt(sum(one.variance for one in path))).cdf(minutes)


def test_odds_of_a_path_are_as_printed() -> None:
    """[PERTSolved] Activities 1, 3, 5, 7: mean 24, variance 5.0, done within 28 with 0.9633 as printed (0.9632)."""
    path = [Span(*PRINTED[number][0]) for number in (0, 2, 4, 6)]
    assert sum(span.mean for span in path) == pytest.approx(24, abs=0.01)
    assert sum(span.variance for span in path) == pytest.approx(5.0, abs=0.01)
    assert _odds(28, path) == pytest.approx(0.9632, abs=0.0005)


# [PERTSlides] A course's network: means 6 3 4 2 3 5 3 5 5 3; critical path C-F-H-J, 17.
SLIDES = {
    "A": ((5, 6, 7), ""), "B": ((1, 3, 5), ""), "C": ((1, 4, 7), ""), "D": ((1, 2, 3), "A"), "E": ((1, 2, 9), "B"),
    "F": ((1, 5, 9), "C"), "G": ((2, 2, 8), "C"), "H": ((4, 4, 10), "EF"), "I": ((2, 5, 8), "D"),
    "J": ((2, 2, 8), "HG"),
}  # fmt: skip


def _slides() -> list[Job]:
    return [Job(name, Span(*span), tuple(after)) for name, (span, after) in SLIDES.items()]


def test_a_courses_network() -> None:
    slots = critical_path(_slides())
    assert [round(slots[name].minutes, 2) for name in SLIDES] == [6, 3, 4, 2, 3, 5, 3, 5, 5, 3]
    assert [name for name, slot in slots.items() if slot.critical] == ["C", "F", "H", "J"]
    assert max(slot.earliest + slot.minutes for slot in slots.values()) == pytest.approx(17)
    path = [Span(*SLIDES[name][0]) for name in "CFHJ"]
    assert _odds(20, path) == pytest.approx(0.915, abs=0.001)  # by arithmetic: Φ(3 / 2.186)


def test_simulation_and_pert_agree_where_one_path_rules() -> None:
    """A second road: the beta law played 4,000 times. PERT is the optimist of the two, as is well known."""
    ends = simulated_ends(_slides(), None, 4000)
    assert ends.mean() == pytest.approx(17, abs=0.6)
    assert (ends <= 20).mean() == pytest.approx(0.915, abs=0.05)


def test_one_pair_of_hands_does_one_thing_after_another() -> None:
    jobs = _slides()
    begins, takes = with_hands(jobs, 1), stretched(jobs, 1)
    ordered = sorted(begins, key=lambda name: begins[name])
    for first, then in pairwise(ordered):
        assert begins[then] == pytest.approx(begins[first] + takes[first])


networks = st.lists(
    st.tuples(st.integers(0, 20), st.lists(st.integers(0, 9), max_size=3), st.integers(0, 3)), min_size=1, max_size=10
)


@given(networks, st.integers(1, 4))
def test_a_schedule_never_needs_more_hands_and_never_starts_too_soon(
    rows: list[tuple[int, list[int], int]], people: int
) -> None:
    jobs = [
        Job(str(number), Span(took, took, took), tuple({str(one) for one in after if one < number}), hands)
        for number, (took, after, hands) in enumerate(rows)
    ]
    begins, takes = with_hands(jobs, people), stretched(jobs, people)
    for job in jobs:
        assert all(begins[job.id] >= begins[name] + takes[name] - 1e-9 for name in job.after)
    for moment in begins.values():
        busy = [
            job for job in jobs if begins[job.id] <= moment + 1e-9 and moment + 1e-6 < begins[job.id] + takes[job.id]
        ]
        assert sum(min(job.people, people) for job in busy) <= people
    with_all = critical_path(jobs, takes)
    assert all(begins[job.id] >= with_all[job.id].earliest - 1e-9 for job in jobs)


def test_tasks_that_wait_for_one_another_are_named() -> None:
    one = Span(1, 1, 1)
    with pytest.raises(OutOfRange, match="wait for one another"):
        in_order([Job("rig", one, ("wire",)), Job("wire", one, ("rig",))])
    with pytest.raises(OutOfRange, match="rig: comes after 'wire', which is not there"):
        in_order([Job("rig", one, ("wire",))])
    with pytest.raises(OutOfRange, match="rig: two tasks have this id"):
        in_order([Job("rig", one), Job("rig", one)])


@pytest.mark.parametrize("span", [(2, 1, 3), (1, 3, 2), (-1, 0, 1), (math.nan, 1, 2)])
def test_minutes_out_of_order_are_refused(span: tuple[float, float, float]) -> None:
    with pytest.raises(OutOfRange, match="not in order"):
        Span(*span)


def test_more_hands_wanted_than_there_are_take_longer() -> None:
    heavy = Job("trunk out", Span(10, 10, 10), people=2)
    assert stretched([heavy], 1) == {"trunk out": 20}
    assert stretched([heavy], 2) == {"trunk out": 10}
