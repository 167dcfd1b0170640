"""Moves on a leg of trousers. Points are in the shape's frame: v up along the grain, the side seam at u > 0.

Each is what a cutter does on the paper (common practice): slash across for the depth and the length, swing the top of
the back for the seat, draw the fork further out or in, move the two seams of the leg alike so that the crease stays.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np

from calibration.ground.points import Points
from convert.block.moves.change import Change, Rule, displaced
from convert.block.moves.skirt import skirt_rules
from convert.block.shape.shape import Shape, Weights, ramp, smooth, weights_on
from convert.block.shape.trousers import fork, hem_level, is_long, knee_level, side_top

OUT = np.array([1.0, 0.0])
UP = np.array([0.0, 1.0])
_CURVE_SHARE = 0.5  # of the way from the hip to the fork, above which the centre line is straight


def _hip(shape: Shape, hip: float) -> float:
    """Height of the hip, no nearer to the fork than a fifth of the rise."""
    top, low = float(side_top(shape)[1]), float(fork(shape)[1])
    return max(top - hip, low + 0.2 * (top - low))


def _low(shape: Shape) -> float:
    """Height where what is done to the upper leg runs out: the knee, on shorts the hem."""
    return knee_level(shape) if is_long(shape) else hem_level(shape)


def _deepen(shape: Shape, amount: float, hip: float) -> Change:
    level, low = _hip(shape, hip), float(fork(shape)[1])
    weights = ramp(shape.ring[:, 1], level, low)
    weights[shape.run("waist", "side seam")] = 0.0
    for edge in ("inseam", "hem"):
        weights[shape.run(edge, _next(edge))] = 1.0
    cut = _across(shape, (level + low) / 2)
    inner = ramp(shape.inner[:, 1], level, low) if len(shape.inner) else 0.0
    return Change(after=displaced(shape, weights, -amount * UP, inner=inner), cuts=(cut,))


def _next(edge: str) -> str:
    return "crotch seam" if edge == "inseam" else "inseam"


def _lengthen(shape: Shape, amount: float) -> Change:
    low, start = hem_level(shape), float(fork(shape)[1])
    start -= 0.1 * (start - low)
    weights = ramp(shape.ring[:, 1], start, low)
    weights[shape.run("hem", "inseam")] = 1.0
    weights[shape.run("crotch seam", "inseam")] = 0.0
    inner = ramp(shape.inner[:, 1], start, low) if len(shape.inner) else 0.0
    return Change(after=displaced(shape, weights, -amount * UP, inner=inner), cuts=(_across(shape, (start + low) / 2),))


def _widen_hip(shape: Shape, amount: float, hip: float) -> Change:
    side = shape.run("side seam", "waist")
    v, top, low = shape.ring[side, 1], float(side_top(shape)[1]), float(fork(shape)[1])
    out = smooth(ramp(v, top, top - 0.95 * hip)) * (1.0 - smooth(ramp(v, low, _low(shape))))
    return Change(
        after=displaced(shape, weights_on(shape, [(side, out)]), amount * OUT), cuts=(np.array(shape.ring[side]),)
    )


def _extend_fork(shape: Shape, amount: float, hip: float) -> Change:
    crotch, inseam = shape.run("crotch seam", "inseam"), shape.run("inseam", "crotch seam")
    low = float(fork(shape)[1])
    start = low + _CURVE_SHARE * (_hip(shape, hip) - low)
    parts = [
        (crotch, _square(ramp(shape.ring[crotch, 1], start, low))),
        (inseam, 1.0 - smooth(ramp(shape.ring[inseam, 1], low, _low(shape)))),
    ]
    cut = np.array(shape.ring[crotch[shape.ring[crotch, 1] < start]])
    return Change(after=displaced(shape, weights_on(shape, parts), -amount * OUT), cuts=(cut,) if len(cut) > 1 else ())


def _lower_fork(shape: Shape, amount: float, hip: float) -> Change:
    """The fork alone lower: the crotch curve deeper, the inseam shorter."""
    crotch, inseam = shape.run("crotch seam", "inseam"), shape.run("inseam", "crotch seam")
    low = float(fork(shape)[1])
    start = low + _CURVE_SHARE * (_hip(shape, hip) - low)
    parts = [
        (crotch, _square(ramp(shape.ring[crotch, 1], start, low))),
        (inseam, 1.0 - ramp(shape.ring[inseam, 1], low, _low(shape))),
    ]
    return Change(after=displaced(shape, weights_on(shape, parts), -amount * UP))


def _square(share: Weights) -> Weights:
    return np.asarray(share**2)


def _widen_leg(shape: Shape, amount: float) -> Change:
    """From the knee down, half at each seam."""
    high, low = float(fork(shape)[1]), _low(shape)
    return _both_seams(shape, amount, lambda v: smooth(ramp(v, high, low)))


def _widen_hem(shape: Shape, amount: float) -> Change:
    """At the hem, half at each seam, nothing from the knee up."""
    high, low = _low(shape) if is_long(shape) else float(fork(shape)[1]), hem_level(shape)
    return _both_seams(shape, amount, lambda v: ramp(v, high, low))


def _both_seams(shape: Shape, amount: float, weigh: Callable[[Weights], Weights]) -> Change:
    side, inseam = shape.run("side seam", "waist"), shape.run("inseam", "crotch seam")
    below = float(fork(shape)[1])
    outer = np.where(shape.ring[side, 1] < below, weigh(shape.ring[side, 1]), 0.0)
    lower = shape.run("hem", "inseam")
    share = 2.0 * shape.net_share(lower, "hem") - 1.0
    weights = weights_on(shape, [(lower, share), (side, outer), (inseam, -weigh(shape.ring[inseam, 1]))])
    cuts = (np.array(shape.ring[side[outer > 0]]), np.array(shape.ring[inseam]))
    return Change(after=displaced(shape, weights, 0.5 * amount * OUT), cuts=cuts)


def _tilt(shape: Shape, amount: float, hip: float) -> Change:
    """The top turned about the side seam at the hip until the slash at the crotch seam has opened by ``amount``."""
    level = _hip(shape, hip)
    side, crotch = shape.run("side seam", "waist"), shape.run("crotch seam", "waist")
    hinge = _at(shape.ring[side], level)
    mouth = _at(shape.ring[crotch], level)
    turn = amount / max(float(hinge[0] - mouth[0]), 1.0)
    weights = ramp(shape.ring[:, 1], level - 1e-6, level)
    blend = np.zeros(len(shape.ring))
    blend[crotch] = smooth(ramp(shape.ring[crotch, 1], float(fork(shape)[1]), level))
    weights[side] = (shape.ring[side, 1] >= level).astype(float)
    weights[crotch] = blend[crotch]
    for edge in ("inseam", "hem"):
        weights[shape.run(edge, _next(edge))] = 0.0
    cos, sin = np.cos(turn), np.sin(turn)
    turned = (shape.ring - hinge) @ np.array([[cos, -sin], [sin, cos]]) + hinge
    tips = (shape.apexes - hinge) @ np.array([[cos, -sin], [sin, cos]]) + hinge
    after = shape.moved(
        ring=shape.ring + weights[:, None] * (turned - shape.ring),
        apexes=np.where(shape.apexes[:, 1:] >= level, tips, shape.apexes),
    )
    return Change(after=after, cuts=(np.array([mouth, hinge]),), hinges=hinge[None])


def _at(line: Points, height: float) -> Points:
    order = np.argsort(line[:, 1])
    return np.array([np.interp(height, line[order, 1], line[order, 0]), height])


def _across(shape: Shape, height: float) -> Points:
    side = _at(shape.ring[shape.run("side seam", "waist")], height)
    edge = "crotch seam" if height > fork(shape)[1] else "inseam"
    return np.array([_at(shape.ring[shape.run(edge, "inseam" if edge == "crotch seam" else "hem")], height), side])


LENGTHEN_LEG = Rule(
    name="lengthen or shorten the leg",
    where="straight across at the knee",
    more="Cut the leg straight across at the knee and spread by {amount}.",
    less="Cut the leg straight across at the knee and overlap by {amount}.",
    make=_lengthen,
)
WIDEN_LEG = Rule(
    name="widen or narrow the leg",
    where="both seams, fork to hem",
    more="Draw the leg {amount} wider from the knee down, half at each seam, and run it out at the fork.",
    less="Draw the leg {amount} narrower from the knee down, half at each seam, and run it out at the fork.",
    make=_widen_leg,
)
WIDEN_HEM = Rule(
    name="widen or narrow the hem",
    where="both seams, knee to hem",
    more="Draw the hem {amount} wider, half at each seam, and run it out at the knee.",
    less="Draw the hem {amount} narrower, half at each seam, and run it out at the knee.",
    make=_widen_hem,
)


def trousers_rules(hip: float) -> dict[str, Rule]:
    """Every rule for a leg whose hip lies ``hip`` mm below the waist, by what it serves, in the order of the trade."""
    waist, _, _, side = skirt_rules(hip)
    return {
        "crotch depth": Rule(
            name="deepen or raise the crotch",
            where="straight across between hip and fork",
            more="Cut straight across between hip and fork and spread by {amount}.",
            less="Cut straight across between hip and fork and overlap by {amount}.",
            make=partial(_deepen, hip=hip),
        ),
        "tilt": Rule(
            name="lengthen or shorten the crotch at the waist",
            where="from the crotch seam to the side seam at hip level",
            more="Cut at hip level from the crotch seam to the side seam and open the cut by {amount} at the crotch.",
            less="Cut at hip level from the crotch seam to the side seam and overlap it by {amount} at the crotch.",
            make=partial(_tilt, hip=hip),
        ),
        "fork": Rule(
            name="lengthen or shorten the crotch at the fork",
            where="at the fork",
            more="Draw the fork {amount} further out, and the inseam from there to the knee.",
            less="Draw the fork {amount} further in, and the inseam from there to the knee.",
            make=partial(_extend_fork, hip=hip),
        ),
        "fork height": Rule(
            name="lower or raise the fork",
            where="at the fork",
            more="Draw the fork {amount} lower, and the crotch curve and the inseam to it.",
            less="Draw the fork {amount} higher, and the crotch curve and the inseam to it.",
            make=partial(_lower_fork, hip=hip),
        ),
        "trousers hip side": Rule(
            name="widen or narrow the trousers at the hip",
            where="side seam, waist to knee",
            more="Move the side seam out by {amount} from hip to fork, and run it out at waist and knee.",
            less="Move the side seam in by {amount} from hip to fork, and run it out at waist and knee.",
            make=partial(_widen_hip, hip=hip),
        ),
        "trousers waist side": replace(waist, name="widen or narrow the trousers at the waist"),
        "trousers side height": replace(side, name="raise or lower the waist of the trousers at the side"),
        "leg": WIDEN_LEG,
        "leg hem": WIDEN_HEM,
        "leg length": LENGTHEN_LEG,
    }
