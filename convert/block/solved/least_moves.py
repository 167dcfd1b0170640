"""Bounded least squares over the amounts of all moves: what the block shall meet, then the smallest moves."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import lsq_linear

from convert.block.compared.targets import Row
from convert.block.shape.shape import Shape
from convert.block.solved.problem import Amounts, Problem, couplings

_ROUNDS = 14
_STILL_MM = 1e-4  # a smaller change of an amount moves nothing
_ROUNDS_NEAR = 6  # from a solution nearby
_ANCHOR = 0.02  # weight there of one mm of a move away from it, against one mm of a missed level
_STEP_MM = 0.25  # of a difference quotient
_NEAR_ENOUGH_MM = 1.0  # where every line is drawn anew afterwards, which meets the targets itself
_MET_MM = 0.01  # a target is met: the rounds stop
_SMALLEST = 1e-3  # weight of one mm of a move against one mm of a missed target


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solved:
    """Where a solution lies, for another one near it: each move's amount, and how each row follows it (mm per mm).

    ``moves`` are kinds and names in the order of ``amounts`` (M,) and of the columns of ``slope`` (R, M), ``rows`` the
    names of its rows. ``start`` are the pieces' shapes before these moves, ``shapes`` after them and the truing.
    """

    moves: tuple[tuple[str, str], ...]
    rows: tuple[str, ...]
    amounts: Amounts
    slope: Amounts
    start: Mapping[str, Shape]
    shapes: Mapping[str, Shape]


def least_moves(problem: Problem, rows: Sequence[Row], near: Solved | None = None) -> Solved:
    """Amounts that meet the rows; from a solution nearby, of these rows or more, the one that leaves it least.

    There the slopes are taken over and a few rounds do, and what is tried with a slider changes smoothly.
    """
    names = tuple(row.name for row in rows)
    if near is not None and set(names) <= set(near.rows):
        amounts, slope, shapes = _from_nearby(problem, rows, near)
    else:
        amounts, slope, shapes = _from_nothing(problem, rows)
    amounts[np.abs(amounts) < 1e-6] = 0.0
    return Solved(
        moves=tuple((step.kind, step.rule.name) for step in problem.steps),
        rows=names,
        amounts=amounts,
        slope=slope,
        start=problem.shapes,
        shapes=shapes,
    )


_Found = tuple[Amounts, Amounts, Mapping[str, Shape]]


def _from_nothing(problem: Problem, rows: Sequence[Row]) -> _Found:
    """Amounts, slopes and shapes, linearised anew where needed; moves are kept small, and front and back alike."""
    amounts = np.zeros(len(problem.steps))
    calm = _calm(problem)
    slope = np.zeros((len(rows), len(amounts)))
    shapes = problem.moved(amounts)
    before = np.inf
    drawn = set(problem.shapes) <= problem.drawn
    for turn in range(_ROUNDS):
        miss = _miss(problem, rows, shapes)
        size = float(np.abs(miss * _weights(rows)).max(initial=0.0))
        if turn % 3 == 0 or size > 0.5 * before:
            slope = _slope(problem, rows, amounts, shapes)
        before = size
        answer = _answer(problem, rows, slope, slope @ amounts - miss, calm, np.zeros(len(calm)))
        change = float(np.abs(answer - amounts).max(initial=0.0))
        amounts, shapes = answer, problem.moved(answer)
        if change < (_NEAR_ENOUGH_MM if drawn else _MET_MM):
            break
    return amounts, slope, shapes


def _from_nearby(problem: Problem, rows: Sequence[Row], near: Solved) -> _Found:
    """Amounts, slopes and shapes close to a solution; only pieces whose moves change are moved again."""
    amounts, slope = _taken_over(problem, rows, near)
    stay, there = _ANCHOR * np.eye(len(amounts)), _ANCHOR * amounts
    shapes = _moved_on(problem, amounts, near)
    for _ in range(_ROUNDS_NEAR):
        answer = _answer(problem, rows, slope, slope @ amounts - _miss(problem, rows, shapes), stay, there)
        gone = np.abs(answer - amounts)
        for kind in {step.kind for step, mm in zip(problem.steps, gone, strict=True) if mm > _STILL_MM}:
            shapes = problem.moved(answer, only=kind, rest=shapes)
        amounts = answer
        if float(gone.max(initial=0.0)) < _MET_MM:
            break
    return amounts, slope, shapes


def _answer(
    problem: Problem, rows: Sequence[Row], slope: Amounts, goal: Amounts, rest: Amounts, anchor: Amounts
) -> Amounts:
    """One linear step: the rows' goals by weight, and ``rest @ amounts`` near ``anchor``, within the bounds."""
    weights = _weights(rows)
    matrix, wanted = np.vstack([weights[:, None] * slope, rest]), np.concatenate([weights * goal, anchor])
    answer: Amounts = lsq_linear(matrix, wanted, _bounds(problem), method="bvls").x
    return answer


def _bounds(problem: Problem) -> tuple[Amounts, Amounts]:
    return (
        np.array([step.least for step in problem.steps]) - 1e-9,
        np.array([step.most for step in problem.steps]) + 1e-9,
    )


def _weights(rows: Sequence[Row]) -> Amounts:
    return np.array([row.weight for row in rows])


def _miss(problem: Problem, rows: Sequence[Row], shapes: Mapping[str, Shape]) -> Amounts:
    return np.asarray(values(problem, rows, shapes) - np.array([row.mm for row in rows]))


def _moved_on(problem: Problem, amounts: Amounts, near: Solved) -> dict[str, Shape]:
    """Shapes after moves, those taken over of which nothing has changed since a solution nearby."""
    before = dict(zip(near.moves, near.amounts, strict=True))
    shapes = dict(near.shapes)
    for kind, shape in problem.shapes.items():
        own = [
            abs(amount - before.get((kind, step.rule.name), 0.0))
            for step, amount in zip(problem.steps, amounts, strict=True)
            if step.kind == kind
        ]
        old = near.start.get(kind)
        same = old is not None and old.ring.shape == shape.ring.shape and bool((old.ring == shape.ring).all())
        if not same or max(own, default=0.0) > _STILL_MM:
            shapes = problem.moved(amounts, only=kind, rest=shapes)
    return shapes


def _taken_over(problem: Problem, rows: Sequence[Row], near: Solved) -> tuple[Amounts, Amounts]:
    """Amounts and slopes of a solution nearby, within the bounds; slopes of moves that it did not have are measured."""
    column = {name: k for k, name in enumerate(near.moves)}
    own = [near.rows.index(row.name) for row in rows]
    known = [column.get((step.kind, step.rule.name)) for step in problem.steps]
    amounts = np.clip([0.0 if k is None else near.amounts[k] for k in known], *_bounds(problem))
    new = [i for i, k in enumerate(known) if k is None]
    slope = np.zeros((len(rows), len(known)))
    for i, k in enumerate(known):
        if k is not None:
            slope[:, i] = near.slope[own, k]
    if new:
        measured = _slope(problem, rows, amounts, problem.moved(amounts), only=new)
        slope[:, new] = measured[:, new]
    return amounts, slope


def _calm(problem: Problem) -> Amounts:
    """Rows that keep every move small and front and back alike."""
    out = np.diag([step.cost for step in problem.steps])
    for i, j, weight in couplings(problem.steps):
        row = np.zeros(len(problem.steps))
        row[i], row[j] = weight, -weight
        out = np.vstack([out, row])
    return out * _SMALLEST


def values(problem: Problem, rows: Sequence[Row], shapes: Mapping[str, Shape]) -> Amounts:
    """What each row measures on the shapes (R,), mm; NaN where it can't be measured."""
    found = problem.found(shapes)
    return np.array([found.get(row.name, np.nan) for row in rows])


def _slope(
    problem: Problem,
    rows: Sequence[Row],
    amounts: Amounts,
    shapes: Mapping[str, Shape],
    *,
    only: Sequence[int] | None = None,
) -> Amounts:
    here = values(problem, rows, shapes)
    out = np.zeros((len(rows), len(amounts)))
    for i in range(len(amounts)) if only is None else only:
        kind = problem.steps[i].kind
        step = amounts.copy()
        step[i] += _STEP_MM
        moved = problem.moved(step, only=kind, rest=shapes)
        out[:, i] = (values(problem, rows, moved) - here) / _STEP_MM
    return out
