"""Moves on a skirt: waist, hip, darts, length. Points are in the shape's frame, the waist near v = 0."""

from functools import partial

import numpy as np

from convert.block.moves.change import Change, Rule, displaced
from convert.block.shape.shape import Shape, Weights, ramp, smooth, weights_on

OUT = np.array([1.0, 0.0])
UP = np.array([0.0, 1.0])


def _waist_weights(shape: Shape) -> Weights:
    """On the waist: 0 up to the outermost dart, 1 at the side seam."""
    waist = shape.run("waist", shape.centre)
    along = shape.net_along(waist, "waist")
    mouths = shape.mouths(waist, "waist")
    outermost = max((far for _, _, far in mouths), default=int(np.searchsorted(along, 0.4 * along[-1])))
    out = ramp(along, along[outermost], along[-1])
    out[: outermost + 1] = 0.0
    return out


def _widen_waist(shape: Shape, amount: float, hip: float) -> Change:
    side = shape.run("side seam", "waist")
    top = float(shape.ring[side[0], 1])
    side_weights = 1.0 - smooth(ramp(shape.ring[side, 1], top, top - hip))
    waist = shape.run("waist", shape.centre)
    weights = weights_on(shape, [(side, side_weights), (waist, _waist_weights(shape))])
    return Change(after=displaced(shape, weights, amount * OUT), cuts=(np.array(shape.ring[side[side_weights > 0]]),))


def _widen_hip(shape: Shape, amount: float, hip: float) -> Change:
    side, hem = shape.run("side seam", "waist"), shape.run("hem", shape.centre)
    top = float(shape.ring[side[0], 1])
    weights = weights_on(
        shape, [(hem, shape.net_share(hem, "hem")), (side, smooth(ramp(shape.ring[side, 1], top, top - 0.95 * hip)))]
    )
    return Change(after=displaced(shape, weights, amount * OUT), cuts=(np.array(shape.ring[side]),))


def _lengthen(shape: Shape, amount: float, hip: float) -> Change:
    centre, side, hem = (
        shape.run(shape.centre, "waist"),
        shape.run("side seam", "waist"),
        shape.run("hem", shape.centre),
    )
    start = -1.15 * hip
    parts = [(run, ramp(shape.ring[run, 1], start, float(shape.ring[run[-1], 1]))) for run in (centre, side)]
    weights = weights_on(shape, [*parts, (hem, 1.0)])
    low = float(shape.ring[hem, 1].max())
    wide = float(shape.ring[hem, 0].max())
    cut = np.array([[0.0, (start + low) / 2], [wide, (start + low) / 2]])
    return Change(after=displaced(shape, weights, -amount * UP), cuts=(cut,))


def _raise_side(shape: Shape, amount: float, hip: float) -> Change:
    """Side seam longer at the waist: the waist line rises towards the side."""
    side, waist = shape.run("side seam", "waist"), shape.run("waist", shape.centre)
    top = float(shape.ring[side[0], 1])
    weights = weights_on(shape, [(side, ramp(shape.ring[side, 1], top - hip, top)), (waist, _waist_weights(shape))])
    return Change(after=displaced(shape, weights, amount * UP), cuts=(np.array(shape.ring[waist]),))


def _round_hip(shape: Shape, amount: float) -> Change:
    """Hip curve fuller by ``amount`` midway between waist and hip, nothing at either."""
    side = shape.run("side seam", "waist")
    top = float(shape.ring[side[0], 1])
    down = ramp(shape.ring[side, 1], top, top - _CURVE_MM)
    weights = weights_on(shape, [(side, (4.0 * down * (1.0 - down)) ** 2)])
    cut = np.array(shape.ring[side[down < 1.0]])
    return Change(after=displaced(shape, weights, amount * OUT), cuts=(cut,))


_CURVE_MM = 203.2  # 8 in: the hip curve ends where charts take the hip, 7 to 9 in below the waist
ROUND_HIP = Rule(
    name="fuller or flatter hip curve",
    where="side seam, between waist and hip",
    more="Draw the hip curve {amount} fuller midway between waist and hip.",
    less="Draw the hip curve {amount} flatter midway between waist and hip.",
    make=_round_hip,
)


def skirt_rules(hip: float) -> tuple[Rule, Rule, Rule, Rule]:
    """Rules for waist, hip, length and side height of a skirt whose hip lies ``hip`` mm below the waist."""
    return (
        Rule(
            name="widen or narrow the skirt at the waist",
            where="side seam, waist to hip",
            more="Move the side seam out by {amount} at the waist and draw the hip curve anew.",
            less="Move the side seam in by {amount} at the waist and draw the hip curve anew.",
            make=partial(_widen_waist, hip=hip),
        ),
        Rule(
            name="widen or narrow the skirt at the hip",
            where="side seam, hip to hem",
            more="Move the side seam out by {amount} from hip to hem and draw the hip curve anew.",
            less="Move the side seam in by {amount} from hip to hem and draw the hip curve anew.",
            make=partial(_widen_hip, hip=hip),
        ),
        Rule(
            name="lengthen or shorten the skirt",
            where="straight across below the hip",
            more="Cut the skirt straight across below the hip and spread by {amount}.",
            less="Cut the skirt straight across below the hip and overlap by {amount}.",
            make=partial(_lengthen, hip=hip),
        ),
        Rule(
            name="raise or lower the waist at the side",
            where="waist, at the side seam",
            more="Draw the waist {amount} higher at the side seam.",
            less="Draw the waist {amount} lower at the side seam.",
            make=partial(_raise_side, hip=hip),
        ),
    )
