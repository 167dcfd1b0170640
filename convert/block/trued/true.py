"""Truing: the set drawn anew as one problem, so that lengths, pairs and shape hold together."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from convert.block.compared.targets import HELD, Row
from convert.block.moves.change import is_simple
from convert.block.shape.landmarks import net
from convert.block.shape.shape import Shape
from convert.block.trued.curve import Real
from convert.block.trued.drawn import Drawn, draw, handed_on, measured
from convert.block.trued.fit import least_squares
from convert.block.trued.plan import Plan, drawable, plan_for
from convert.block.trued.redraw import redrawn_half, redrawn_sleeve
from convert.block.trued.rules import bodice_rules, reaches_kept, skirt_rules, sleeve_rules
from convert.block.trued.unknowns import Rows

_EXACT_MM = 0.004  # a first-priority length or pair that misses by this costs as much as a corner moved by its scale
_SOFT_MM = 0.05  # the same of a breadth or a height that may give way to the shape
_LOST_MM = 0.5  # a drawing that misses a girth or a pair by more was not found: the same as the block's own check
_HELD_MM = 0.8  # the same of a level that nobody told
_END_SHARE = 0.08  # of an edge: a dart nearer to its end runs into the corner
_GIVE_WAY = ("across back", "across chest", "armhole depth", "neck")  # what gives way to a fair line, if anything must

GROUPS = ("bodice", "sleeve", "skirt")  # the armhole comes before the cap, the bodice's waist before the skirt's


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What truing keeps: rows (mm), waist to hip (mm), a cap ease that was told, how dear moving a corner is."""

    rows: Sequence[Row]
    hip_mm: float
    cap_ease: float | None = None
    still: float = 1.0


def true_set(shapes: Mapping[str, Shape], wanted: Wanted, groups: Collection[str] = GROUPS) -> dict[str, Shape]:
    """Those pieces of a set that could be drawn anew so that they meet their rows and the rules of truing.

    Corners move as little as may be. A group of pieces (bodice, sleeve, skirt) of which no drawing meets its girths and
    pairs, or whose outlines would cross themselves, is left out of the answer.
    """
    out: dict[str, Shape] = {}
    known = {row.name: row.mm for row in wanted.rows if row.name == "upper arm"}
    known |= _as_they_are({kind: shape for kind, shape in shapes.items() if kind.startswith(("bodice", "dress"))})
    for group in GROUPS:
        own = {kind: shape for kind, shape in shapes.items() if kind.startswith(group) and drawable(shape)}
        if own and group in groups:
            out |= _redrawn(plan_for(own, wanted.hip_mm), wanted, known)
    return out


def _redrawn(plan: Plan, wanted: Wanted, known: dict[str, float]) -> dict[str, Shape]:
    """One group drawn anew; what the next ones need of it is put into ``known``."""
    start, scale = np.array(plan.unknowns.start), np.array(plan.unknowns.scale)
    x = least_squares(lambda values: _residuals(plan, wanted, known, values), start, scale)
    trial = plan.unknowns.trial(x[None])
    drawn = draw(plan, trial)
    found = measured(drawn, trial, known)
    exact = [row for row in wanted.rows if row.weight >= 1.0 and row.name in found]
    met = all(abs(float(found[row.name][0]) - row.mm) <= _LOST_MM for row in exact)
    if not (met and _darts_on_their_edges(drawn)):
        return {}
    out = {}
    for kind, darts in plan.darts.items():
        shape = plan.shapes[kind]
        if drawn.sleeve is not None:
            out[kind] = redrawn_sleeve(shape, drawn.sleeve)
        else:
            out[kind] = redrawn_half(shape, drawn.halves[kind], darts)
    if not all(is_simple(shape.ring) for shape in out.values()):
        return {}
    known |= {name: float(value[0]) for name, value in handed_on(drawn).items()}
    return out


def _darts_on_their_edges(drawn: Drawn) -> bool:
    """Whether every dart opens within its edge, not at a corner."""
    lines = [line for half in drawn.halves.values() for line in half.lines.values()]
    places = [float((line.sewn_to(i) / line.sewn)[0]) for line in lines for i in range(len(line.folds))]
    return all(_END_SHARE <= place <= 1.0 - _END_SHARE for place in places)


def _as_they_are(shapes: Mapping[str, Shape]) -> dict[str, float]:
    """Armholes and waists of halves before they are drawn anew, mm."""
    halves = [(kind.split()[1], shape) for kind, shape in shapes.items()]
    return {
        f"{side} {edge}": net(shape, edge) for side, shape in halves for edge in ("armhole", "waist") if shape.has(edge)
    }


def _residuals(plan: Plan, wanted: Wanted, known: Mapping[str, float], values: Real) -> Real:
    trial = plan.unknowns.trial(values)
    drawn, rows = draw(plan, trial), Rows()
    found = measured(drawn, trial, known)
    rows.near((values - np.array(plan.unknowns.start)) / np.array(plan.unknowns.scale), 0.0, 1.0 / wanted.still)
    for row in wanted.rows:
        if row.name in found and row.name != "cap ease":
            rows.near(found[row.name], row.mm, _cost(row))
    reaches_kept(rows, trial, drawn)
    bodice_rules(rows, plan, drawn, known)
    skirt_rules(rows, plan, drawn, trial, known)
    sleeve_rules(rows, drawn, found, known, wanted.cap_ease)
    return rows.stacked()


def _cost(row: Row) -> float:
    if row.weight <= HELD:
        return _HELD_MM
    return _SOFT_MM if row.name in _GIVE_WAY else _EXACT_MM
