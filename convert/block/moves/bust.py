"""Full and small bust alteration: the front spread or overlapped at the bust point.

The paper is slashed from the waist dart up to the bust point and on to the armhole, and from the side dart to the
bust point. The side of the front turns about the armhole until the slash gapes by the missing width at the bust point;
below, the two edges of the slash run parallel; the centre is slashed across and lowered by as much as the side has
dropped. The waist dart and the side dart grow, the front lengthens. Instead of a kink at one hinge the armhole is bent
evenly over its length, no part of it stretched: it keeps its length exactly. Source: the trade's alteration, common
practice.
"""

from typing import Literal

import numpy as np
from scipy.optimize import brentq

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from convert.block.moves.bodice import OUT, UP
from convert.block.moves.change import Change, Rule, turned
from convert.block.shape.landmarks import SHORT_OF_BUST_POINT, bust_point, underarm
from convert.block.shape.opening import share_point, with_new_dart
from convert.block.shape.shape import Shape, ramp, smooth

_BENT_FROM, _BENT_TO = 0.03, 0.6  # share of the armhole, from the shoulder, over which it is bent
_WIDEST_TURN = 0.8  # radians
_LEAST_INTAKE = 6.0  # mm: a narrower side dart can't be sewn, common practice


def _bent_armhole(shape: Shape, angle: float) -> Points:
    """The armhole (shoulder to underarm) with its direction turned little by little, ``angle`` in the end."""
    run = shape.run("armhole", "shoulder")
    share = shape.net_share(run, "armhole")
    turn = angle * smooth(ramp((share[:-1] + share[1:]) / 2, _BENT_FROM, _BENT_TO))
    step = np.diff(shape.ring[run], axis=0)
    cos, sin = np.cos(turn), np.sin(turn)
    step = np.column_stack([cos * step[:, 0] - sin * step[:, 1], sin * step[:, 0] + cos * step[:, 1]])
    return np.vstack([shape.ring[run[:1]], shape.ring[run[0]] + np.cumsum(step, axis=0)])


def _angle_for(shape: Shape, amount: float, point: Points) -> float:
    """How far the side must turn for the slash to gape by ``amount`` at the bust point."""

    def gape(angle: float) -> float:
        return float(_carried(shape, angle, point[None])[0, 0] - point[0]) - amount

    if gape(-_WIDEST_TURN) * gape(_WIDEST_TURN) > 0:
        raise InputError(
            f"The bust of this front can't be altered by {abs(amount) / 10:.1f} cm on each half.",
            "Check bust and high bust on the card, or start from a size nearer to the high bust.",
        )
    return float(brentq(gape, -_WIDEST_TURN, _WIDEST_TURN, xtol=1e-13))


def _carried(shape: Shape, angle: float, points: Points) -> Points:
    """Points on the side of the front, carried along by the bent armhole."""
    old = underarm(shape)
    return turned(points, old, angle) + _bent_armhole(shape, angle)[-1] - old


def prepared(shape: Shape, *, side_dart: bool) -> tuple[Shape, Points]:
    """The front with the darts that the alteration needs, and its bust point."""
    point = bust_point(shape)
    if not np.isfinite(point).all():
        top = underarm(shape)
        point = np.array([0.37 * top[0], top[1] - 60.0])  # no dart tells: common practice
    if not shape.darts_on("waist"):
        shape = with_new_dart(shape, "waist", np.array([point[0], point[1] - 160.0]), point - SHORT_OF_BUST_POINT * UP)
    if side_dart and not shape.darts_on("side seam"):
        shape = with_new_dart(
            shape, "side seam", share_point(shape, "side seam", "armhole", 0.3), point + SHORT_OF_BUST_POINT * OUT
        )
    return shape, point


def alter_bust(shape: Shape, amount: float, into: Literal["both", "waist"] = "both") -> Change:
    """Alter a front by ``amount`` mm on the half piece, spread if positive, overlapped if negative.

    ``into`` "both": into the side dart (made if there is none) and the waist dart; "waist": the waist dart alone.
    """
    has_side = bool(shape.darts_on("side seam"))
    split = into == "both" and (has_side or amount > 0)
    before, point = prepared(shape, side_dart=split)
    angle = _angle_for(before, amount, point)
    drop = float(_carried(before, angle, point[None])[0, 1] - point[1])
    ring, main, side_dart = _spread(before, amount, angle, drop, point, split=split)
    middle = point + np.array([amount / 2, drop if split else drop / 2])
    apexes = _carried_apexes(before, ring, point, middle, main, amount, drop)
    after = before.moved(ring=ring, apexes=apexes)
    cuts = [np.vstack([before.ring[before.legs[main]].mean(0), point, _hinge(before)])]
    if side_dart is not None:
        cuts.append(np.vstack([before.ring[before.legs[side_dart]].mean(0), point]))
        cuts.append(np.array([[0.0, point[1]], point]))  # the centre, lowered by as much as the side drops
    return Change(before=before, after=after, cuts=tuple(cuts), hinges=_hinge(before)[None])


def _hinge(shape: Shape) -> Points:
    return share_point(shape, "armhole", "shoulder", (_BENT_FROM + _BENT_TO) / 2)


def _spread(
    shape: Shape, amount: float, angle: float, drop: float, point: Points, *, split: bool
) -> tuple[Points, int, int | None]:
    """New ring, the waist dart and the side dart that were used."""
    ring = shape.ring.copy()
    armhole, side = shape.run("armhole", "shoulder"), shape.run("side seam", "armhole")
    waist, centre = shape.run("waist", shape.centre), shape.run(shape.centre, "waist")
    mouths = shape.mouths(waist, "waist")
    main, near, far = min(mouths, key=lambda mouth: abs(shape.apexes[mouth[0], 0] - point[0]))
    ring[armhole] = _bent_armhole(shape, angle)
    side_dart = None
    if split:
        side_dart, upper, lower = shape.mouths(side, "side seam")[0]
        swing = _swing(shape, side_dart, angle, point)
        ring[side[: upper + 1]] = _carried(shape, angle, shape.ring[side[: upper + 1]])
        below = np.concatenate([side[lower:], waist[far:]])
        ring[below] = turned(shape.ring[below] + np.array([amount, drop]), point + np.array([amount, drop]), swing)
        ring[side[upper : lower + 1]] = _straight(ring[side[upper]], ring[side[lower]], lower - upper)
        ring[waist[: near + 1]] += drop * UP
        low = float(shape.ring[centre[0], 1])
        ring[centre] = shape.ring[centre] + np.outer(1.0 - ramp(shape.ring[centre, 1], low, point[1]), drop * UP)
    else:
        ring[side] = _carried(shape, angle, shape.ring[side])
        ring[waist[far:]] = _carried(shape, angle, shape.ring[waist[far:]])
    ring[waist[near : far + 1]] = _straight(ring[waist[near]], ring[waist[far]], far - near)
    return ring, main, side_dart


def _swing(shape: Shape, side_dart: int, angle: float, point: Points) -> float:
    """How far the part below the side dart must turn too: not at all, unless that dart has no more to give."""
    arms = shape.ring[shape.legs[side_dart]] - point
    spare = float(np.arccos(np.clip(arms[0] @ arms[1] / np.prod(np.hypot(*arms.T)), -1, 1)))
    spare -= _LEAST_INTAKE / float(np.hypot(*arms.T).mean())
    return min(0.0, angle + max(0.0, spare))


def _straight(a: Points, b: Points, steps: int) -> Points:
    return np.asarray(a + np.linspace(0.0, 1.0, steps + 1)[:, None] * (b - a))


def _carried_apexes(
    shape: Shape, ring: Points, point: Points, middle: Points, main: int, amount: float, drop: float
) -> Points:
    """Darts that aim at the bust point aim at the new one and stop as far short of it; others go with their mouths."""
    apexes = shape.apexes.copy()
    for i, legs in enumerate(shape.legs):
        if legs[0] < 0 or shape.piece.darts[i].on not in ("waist", "side seam"):
            continue
        mouth = ring[legs].mean(0)
        if shape.piece.darts[i].on == "waist" and i != main:
            apexes[i] += mouth - shape.ring[legs].mean(0)
            continue
        short = float(np.hypot(*(shape.apexes[i] - point)))
        way = mouth - middle
        apexes[i] = middle + min(short, 0.8 * float(np.hypot(*way))) * way / float(np.hypot(*way))
    return apexes


ALTER_BUST = Rule(
    name="bust alteration",
    where="from the waist dart through the bust point to the armhole, and from the side dart to the bust point",
    more="Cut from the waist dart through the bust point to the armhole, from the side to the bust point, and across "
    "the centre. Open the front by {amount} at the bust point, and lower the centre until the waist is level. The "
    "darts grow.",
    less="Cut from the waist dart through the bust point to the armhole, from the side to the bust point, and across "
    "the centre. Lap the front by {amount} at the bust point, and raise the centre until the waist is level. The darts "
    "shrink.",
    make=alter_bust,
)
