"""Moves on a dress in one piece below its underarm: lengths, girths, double-pointed darts.

Above the underarm a dress is altered like a bodice (:mod:`convert.block.moves.bodice`). Points are in the shape's
frame; the waist lies where :func:`convert.block.dress.waist_level` finds it. Source of the moves: the trade's usual
alterations, common practice.
"""

from functools import partial

import numpy as np

from convert.block.moves.bodice import OUT, UP, level_cut
from convert.block.moves.change import Change, Rule, displaced
from convert.block.shape.dress import double_darts, waist_level
from convert.block.shape.landmarks import underarm
from convert.block.shape.shape import Indices, Shape, Weights, ramp, smooth, weights_on

_HIP_SHARE = 0.95  # of the way to the hip at which a wider hip is reached in full
_BELOW_HIP = 1.15  # times the way to the hip: there the skirt is slashed for its length


def _side_above_waist(shape: Shape) -> tuple[Indices, Weights]:
    """Side seam from the underarm down, and how far down to the waist each of its points lies, 0 to 1."""
    side = shape.run("side seam", "armhole")
    along = shape.net_along(side, "side seam")
    at_waist = float(np.interp(-waist_level(shape), -shape.ring[side, 1], along))
    return side, np.clip(along / max(at_waist, 1e-9), 0.0, 1.0)


def _lowered(shape: Shape, amount: float, start: float, end: float) -> Change:
    """Everything below ``end`` down by ``amount``, nothing above ``start``, evenly between."""
    ring, apexes, inner = (ramp(points[:, 1], start, end) for points in (shape.ring, shape.apexes, shape.inner))
    after = displaced(shape, ring, -amount * UP, apexes=apexes, inner=inner)
    return Change(after=after, cuts=(level_cut(shape, (start + end) / 2),))


def _lengthen_above_waist(shape: Shape, amount: float) -> Change:
    side = shape.run("side seam", "armhole")
    mouths = [float(shape.ring[side[far], 1]) for _, _, far in shape.mouths(side, "side seam")]
    start, waist = min([float(underarm(shape)[1]), *mouths]), waist_level(shape)
    return _lowered(shape, amount, start, waist)


def _lengthen_skirt(shape: Shape, amount: float, hip: float) -> Change:
    start = waist_level(shape) - _BELOW_HIP * hip
    low = float(shape.ring[shape.run("hem", shape.centre), 1].max())
    return _lowered(shape, amount, start, min(low, start - 1.0))


def _widen_at_underarm(shape: Shape, amount: float) -> Change:
    side, down = _side_above_waist(shape)
    armhole = shape.run("armhole", "shoulder")
    share = shape.net_share(armhole, "armhole")
    weights = weights_on(shape, [(armhole, smooth(ramp(share, 0.45, 1.0))), (side, 1.0 - down)])
    return Change(after=displaced(shape, weights, amount * OUT), cuts=(np.array(shape.ring[side[down < 1.0]]),))


def _widen_at_waist(shape: Shape, amount: float, hip: float) -> Change:
    side, down = _side_above_waist(shape)
    waist = waist_level(shape)
    below = 1.0 - smooth(ramp(shape.ring[side, 1], waist, waist - hip))
    weights = weights_on(shape, [(side, np.where(down < 1.0, smooth(down), below))])
    return Change(after=displaced(shape, weights, amount * OUT), cuts=(np.array(shape.ring[side]),))


def _widen_at_hip(shape: Shape, amount: float, hip: float) -> Change:
    side, hem = shape.run("side seam", "armhole"), shape.run("hem", shape.centre)
    waist = waist_level(shape)
    weights = weights_on(
        shape,
        [
            (hem, shape.net_share(hem, "hem")),
            (side, smooth(ramp(shape.ring[side, 1], waist, waist - _HIP_SHARE * hip))),
        ],
    )
    return Change(after=displaced(shape, weights, amount * OUT), cuts=(np.array(shape.ring[side]),))


def _take_in_darts(shape: Shape, amount: float) -> Change:
    """Double-pointed darts wider by ``amount`` together, each in the share it has now."""
    darts = double_darts(shape)
    wide = np.array([float(np.hypot(*(one.legs[1] - one.legs[0]))) for one in darts])
    inner = shape.inner.copy()
    for one, part in zip(darts, wide / wide.sum(), strict=True):
        way = (one.legs[1] - one.legs[0]) / np.hypot(*(one.legs[1] - one.legs[0]))
        inner[list(one.rows)] += np.array([-0.5, 0.5])[:, None] * amount * part * way
    cuts = tuple(np.vstack([one.apexes[0], leg, one.apexes[1]]) for one in darts for leg in one.legs)
    return Change(after=shape.moved(inner=inner), cuts=cuts)


LENGTHEN_ABOVE_WAIST = Rule(
    name="lengthen or shorten the dress above the waist",
    where="straight across between underarm and waist",
    more="Cut straight across between underarm and waist and spread by {amount}.",
    less="Cut straight across between underarm and waist and overlap by {amount}.",
    make=_lengthen_above_waist,
)
WIDEN_AT_UNDERARM = Rule(
    name="widen or narrow the dress at the underarm",
    where="side seam, underarm to waist",
    more="Move the side seam out by {amount} at the underarm and draw it on to the same waist.",
    less="Move the side seam in by {amount} at the underarm and draw it on to the same waist.",
    make=_widen_at_underarm,
)
TAKE_IN_DOUBLE_DARTS = Rule(
    name="widen or narrow the double-pointed darts",
    where="waist darts, at the waist",
    more="Make the double-pointed darts {amount} wider together at the waist.",
    less="Make the double-pointed darts {amount} narrower together at the waist.",
    make=_take_in_darts,
)


def dress_rules(hip: float) -> tuple[Rule, Rule, Rule]:
    """Rules for waist, hip and length of a dress whose hip lies ``hip`` mm below its waist."""
    return (
        Rule(
            name="widen or narrow the dress at the waist",
            where="side seam, underarm to hip",
            more="Move the side seam out by {amount} at the waist and draw it to nothing at underarm and hip.",
            less="Move the side seam in by {amount} at the waist and draw it to nothing at underarm and hip.",
            make=partial(_widen_at_waist, hip=hip),
        ),
        Rule(
            name="widen or narrow the dress at the hip",
            where="side seam, hip to hem",
            more="Move the side seam out by {amount} from hip to hem and draw the hip curve anew.",
            less="Move the side seam in by {amount} from hip to hem and draw the hip curve anew.",
            make=partial(_widen_at_hip, hip=hip),
        ),
        Rule(
            name="lengthen or shorten the dress below the hip",
            where="straight across below the hip",
            more="Cut the dress straight across below the hip and spread by {amount}.",
            less="Cut the dress straight across below the hip and overlap by {amount}.",
            make=partial(_lengthen_skirt, hip=hip),
        ),
    )
