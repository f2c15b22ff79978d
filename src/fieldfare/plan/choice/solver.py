"""Integer programs, one goal after another: each goal is brought to its proven best and held there for the next."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from time import process_time
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from fieldfare.plan.remember import noted
from fieldfare.show.plan import Goal
from fieldfare.units.faults import NotDone

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

Terms: TypeAlias = Iterable[tuple[int, float]]
Solution: TypeAlias = "NDArray[np.int64]"
Floats: TypeAlias = "NDArray[np.float64]"
Solved: TypeAlias = "tuple[Solution, tuple[Goal, ...], list[Row]]"

TIME_LIMIT_S = 60.0
OUT_OF_TIME = 1  # status of the solver: it stopped at its limit
MERGE_UP_TO = 100_000  # neighbouring goals are solved as one weighted goal while its figures stay this small
INFINITE = float("inf")
WHOLE = 1e-6  # how near a whole number the solver's own arithmetic keeps
HALF = 0.5  # of a step of a goal: more than the arithmetic of the solver can be off


@dataclass(frozen=True, slots=True)
class Row:
    """A linear constraint: least ≤ Σ coefficient · column ≤ most."""

    terms: tuple[tuple[int, float], ...]
    least: float
    most: float
    by_hand: bool = False  # a number that a person gave, or that a person keeps an input


@dataclass(frozen=True, slots=True)
class Aim:
    """One goal, to be made as small as it goes; span is an upper bound of the difference between any two values."""

    name: str
    terms: tuple[tuple[int, float], ...]
    span: int
    sign: int = 1  # -1 where the goal is to be as large as it goes: the terms are then negated, the value is not
    unit: float = 1.0  # what one step of the integer value is worth


@dataclass(slots=True)
class Model:
    """An integer program in the making."""

    least: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)

    def column(self, least: float = 0, most: float = 1) -> int:
        """Add a whole-number column and return its number."""
        self.least.append(least)
        self.most.append(most)
        return len(self.least) - 1

    def row(self, terms: Terms, least: float = -INFINITE, most: float = INFINITE, *, by_hand: bool = False) -> None:
        """Add a constraint."""
        self.rows.append(Row(tuple(terms), least, most, by_hand))

    def equal(self, left: Terms, right: Terms) -> None:
        """Demand that two sums are the same."""
        self.row([*left, *((column, -factor) for column, factor in right)], 0, 0)


def ones(columns: Iterable[int]) -> list[tuple[int, float]]:
    """Turn columns into a plain sum."""
    return [(column, 1.0) for column in columns]


@dataclass(frozen=True, slots=True)
class Bounds:
    """The least and the most that every column may be."""

    least: Floats
    most: Floats


@dataclass(frozen=True, slots=True)
class System:
    """Constraints as the solver takes them."""

    matrix: csr_array
    least: Floats
    most: Floats


def solve(
    model: Model, terms: Terms, extra: Sequence[Row] = (), freed: Collection[int] = ()
) -> tuple[Solution, float] | None:
    """Make a sum as small as it goes.

    Parameters
    ----------
    model
        The program.
    terms
        The sum, with whole-number coefficients.
    extra
        Further constraints for this time only.
    freed
        Columns that may be 1 this time.

    Returns
    -------
    The values of all columns and a proven lower bound of the sum; none where nothing fits.

    Raises
    ------
    NotDone
        No plan was found in the time that there is.
    """
    if not model.least:  # nothing to choose from
        return np.zeros(0, dtype=np.int64), 0.0
    bounds = _bounds_of(model)
    bounds.most[list(freed)] = 1
    return _whole(_system([*model.rows, *extra], len(model.least)), _cost(len(model.least), terms), bounds)


def _bounds_of(model: Model) -> Bounds:
    """Return the bounds of a model's columns."""
    return Bounds(np.array(model.least, dtype=np.float64), np.array(model.most, dtype=np.float64))


def _cost(columns: int, terms: Terms) -> Floats:
    cost = np.zeros(columns)
    for column, factor in terms:
        cost[column] += factor
    return cost


def _system(rows: Sequence[Row], columns: int) -> System:
    from scipy.sparse import csr_array

    heights = [number for number, row in enumerate(rows) for _ in row.terms]
    places = [column for row in rows for column, _ in row.terms]
    factors = [float(factor) for row in rows for _, factor in row.terms]
    matrix = csr_array((factors, (heights, places)), shape=(len(rows), columns))
    least = np.array([row.least for row in rows], dtype=np.float64)
    return System(matrix, least, np.array([row.most for row in rows], dtype=np.float64))


def _joined(first: System, second: System) -> System:
    from scipy.sparse import csr_array, vstack

    matrix = csr_array(vstack([first.matrix, second.matrix]))
    return System(matrix, np.append(first.least, second.least), np.append(first.most, second.most))


def _whole(system: System, cost: Floats, bounds: Bounds) -> tuple[Solution, float] | None:
    """Solve in whole numbers."""
    found = _searched(system, cost, bounds)
    if found.status == 2:
        return None
    if found.x is None:
        raise NotDone("no plan was found in a minute", "the choice", "pin some inputs by hand, so that less is open")
    bound = found.mip_dual_bound if found.mip_dual_bound is not None else found.fun
    return np.rint(found.x).astype(np.int64), float(bound)


def _searched(system: System, cost: Floats, bounds: Bounds) -> Any:
    """Search for a minute of work: the solver counts time by the clock, of which a busy machine gives it a part."""
    from scipy import optimize

    limit_s = TIME_LIMIT_S
    while True:
        began_s = process_time()
        found = optimize.milp(
            cost,
            integrality=np.ones(len(cost), dtype=np.int8),
            bounds=optimize.Bounds(bounds.least, bounds.most),
            constraints=optimize.LinearConstraint(system.matrix, system.least, system.most),
            options={"mip_rel_gap": 0.0, "time_limit": limit_s},
        )
        worked_s = process_time() - began_s
        if found.status != OUT_OF_TIME or worked_s > TIME_LIMIT_S / 2:
            return found
        limit_s *= min(TIME_LIMIT_S / max(worked_s, 1.0), 10.0)


def _relaxed(system: System, cost: Floats, bounds: Bounds) -> tuple[Floats, float, Floats] | None:
    """Solve in fractions: the values, the sum, and by how much each column's first step off its bound adds to it."""
    from scipy.optimize import linprog
    from scipy.sparse import vstack

    same = system.least == system.most
    above, below = np.isfinite(system.least) & ~same, np.isfinite(system.most) & ~same
    given: dict[str, Any] = {  # its stubs know no sparse matrices; it does
        "A_ub": vstack([system.matrix[below], -system.matrix[above]]),
        "b_ub": np.concatenate([system.most[below], -system.least[above]]),
        "A_eq": system.matrix[same],
        "b_eq": system.least[same],
        "bounds": np.stack([bounds.least, bounds.most], axis=1),
    }
    found: Any = linprog(cost, method="highs-ds", **given)
    if found.x is None:
        return None
    return found.x, float(found.fun), found.lower.marginals + found.upper.marginals


def _best(system: System, cost: Floats, bounds: Bounds) -> tuple[Solution, float, Bounds] | None:
    """Solve in whole numbers, and fix what is the same in every solution as good as the best.

    A column whose first step off its bound costs more than the whole numbers lose against fractions stays where it is
    in all of them, so that the goals to come have less to choose from.

    Sources
    -------
    Fixing by reduced costs, after Dantzig, Fulkerson and Johnson, 1954; from memory.
    """
    if not len(cost):  # nothing to choose from
        return np.zeros(0, dtype=np.int64), 0.0, bounds
    relaxed = _relaxed(system, cost, bounds)
    if relaxed is None:
        answer = _whole(system, cost, bounds)
        return None if answer is None else (*answer, bounds)
    fractions, low, steps = relaxed
    if np.abs(fractions - np.rint(fractions)).max() < WHOLE:
        values, bound = np.rint(fractions).astype(np.int64), low
    else:
        answer = _whole(system, cost, bounds)
        if answer is None:
            return None
        values, bound = answer
    lost = float(cost @ values) - low + HALF
    least = np.where(steps < -lost, bounds.most, bounds.least)
    most = np.where(steps > lost, bounds.least, bounds.most)
    return values, bound, Bounds(least, most)


def solve_around(model: Model, aims: Sequence[Aim]) -> Solved | None:
    """Bring each aim to its best in turn, first as if nothing had been numbered or kept by hand. See `solve_in_order`.

    Where all that was decided by hand holds in that solution, or in one that differs only in what no aim looks at, no
    other is better: it is the best of more. Otherwise everything is solved again around the decisions. What was solved
    last is remembered, so that giving an input another number is there at once.
    """
    free = [row for row in model.rows if not row.by_hand]
    solved = solve_in_order(Model(model.least, model.most, free), aims)
    if solved is None or len(free) == len(model.rows):
        return solved
    values = _with_hand(model, aims, solved[0])
    if values is not None:
        return values, *solved[1:]
    return solve_in_order(model, aims)


def _with_hand(model: Model, aims: Sequence[Aim], values: Solution) -> Solution | None:
    """Let what was decided by hand hold in a solution, changing only columns that no aim looks at."""
    if all(_holds(row, values) for row in model.rows if row.by_hand):
        return values
    looked_at = sorted({column for aim in aims for column, factor in aim.terms if factor})
    bounds = _bounds_of(model)
    bounds.least[looked_at] = bounds.most[looked_at] = values[looked_at]
    answer = _whole(_system(model.rows, len(model.least)), np.zeros(len(model.least)), bounds)
    return None if answer is None else answer[0]


def _holds(row: Row, values: Solution) -> bool:
    return row.least <= value_of(row.terms, values) <= row.most


def solve_in_order(model: Model, aims: Sequence[Aim]) -> Solved | None:
    """Bring each aim to its best in turn, holding those before it.

    Returns
    -------
    The values of all columns, the goals with their proof, and the constraints that hold every aim at its best; none
    where nothing fits.
    """
    groups = tuple(tuple(group) for group in _merged(aims))
    reached = _reached(tuple(model.least), tuple(model.most), tuple(model.rows), groups)
    if reached is None:
        return None
    assert reached.values is not None
    return reached.values.copy(), reached.goals, list(reached.held)


@dataclass(frozen=True, slots=True)
class _Reached:
    """How far the aims have been brought: what is known so far, and what the next of them is held to."""

    values: Solution | None
    goals: tuple[Goal, ...]
    held: tuple[Row, ...]
    bounds: Bounds
    system: System


@noted(64)
def _reached(
    least: tuple[float, ...], most: tuple[float, ...], rows: tuple[Row, ...], groups: tuple[tuple[Aim, ...], ...]
) -> _Reached | None:
    """Bring groups of aims to their best in turn. The first ones often stay as they are while the last ones change."""
    if not groups:
        model = Model(list(least), list(most))
        return _Reached(None, (), (), _bounds_of(model), _system(rows, len(least)))
    before = _reached(least, most, rows, groups[:-1])
    if before is None:
        return None
    group = groups[-1]
    weights = _weights(group)
    terms = [
        (column, weight * factor) for aim, weight in zip(group, weights, strict=True) for column, factor in aim.terms
    ]
    values, bound, bounds = before.values, 0.0, before.bounds
    if values is None or terms:
        answer = _best(before.system, _cost(len(least), terms), bounds)
        if answer is None:
            return None
        values, bound, bounds = answer
    total = sum(factor * int(values[column]) for column, factor in terms)
    goals = tuple(_goal(aim, values, proven=total - bound < 1 - 1e-6) for aim in group)
    held = tuple(held_at(aim, values) for aim in group)
    system = _joined(before.system, _system(held, len(least)))
    return _Reached(values, (*before.goals, *goals), (*before.held, *held), bounds, system)


def value_of(terms: Terms, values: Solution) -> int:
    """Return what a sum comes to."""
    return round(sum(factor * int(values[column]) for column, factor in terms))


def _goal(aim: Aim, values: Solution, *, proven: bool) -> Goal:
    value = aim.sign * value_of(aim.terms, values) * aim.unit + 0.0
    return Goal(name=aim.name, value=round(value, 3), bound=round(value, 3), proven=proven)


def held_at(aim: Aim, values: Solution) -> Row:
    """Return the constraint that holds a goal at what it came to."""
    return Row(aim.terms, -INFINITE, value_of(aim.terms, values))


def _merged(aims: Sequence[Aim]) -> list[list[Aim]]:
    groups: list[list[Aim]] = []
    size = 0
    for aim in aims:
        if groups and size * (aim.span + 1) <= MERGE_UP_TO:
            groups[-1].append(aim)
            size *= aim.span + 1
        else:
            groups.append([aim])
            size = aim.span + 1
    return groups


def _weights(group: Sequence[Aim]) -> list[int]:
    weights = [1]
    for aim in reversed(group[1:]):
        weights.insert(0, weights[0] * (aim.span + 1))
    return weights
