"""Moves for posture: sway back, round or very straight back. Points are in the shape's frame.

Each slashes the paper from the centre line towards the side and opens or laps it at the centre only; nothing moves at
the side, and the centre line stays straight. Source: the trade's usual alterations, common practice.
"""

import numpy as np

from convert.block.moves.bodice import UP
from convert.block.moves.change import Change, Rule, displaced
from convert.block.shape.landmarks import across_level, underarm
from convert.block.shape.shape import Shape, ramp, weights_on


def _shorten_centre(shape: Shape, amount: float) -> Change:
    """Centre shorter by ``amount`` at the waist, nothing at the side seam."""
    centre, waist = shape.run(shape.centre, "waist"), shape.run("waist", shape.centre)
    low, level = float(shape.ring[centre[0], 1]), float(underarm(shape)[1])
    weights = weights_on(
        shape,
        [
            (centre, 1.0 - ramp(shape.ring[centre, 1], low, level)),
            (waist, 1.0 - shape.net_share(waist, "waist")),
        ],
    )
    side = shape.ring[shape.run("side seam", "waist")]
    height = (low + level) / 2
    far = float(np.interp(height, *side[np.argsort(side[:, 1])].T[::-1]))
    cut = np.array([[0.0, height], [far, height]])
    return Change(after=displaced(shape, weights, amount * UP), cuts=(cut,), hinges=cut[1:])


def _lengthen_centre_above(shape: Shape, amount: float) -> Change:
    """Centre longer by ``amount`` across the shoulder blades, nothing at the armhole."""
    level = across_level(shape)
    centre, armhole = shape.run(shape.centre, "waist"), shape.run("armhole", "shoulder")
    upper = np.concatenate([shape.run("neckline", shape.centre), shape.run("shoulder", "neckline")])
    far = float(shape.ring[armhole[0], 0])
    top = float(shape.ring[centre[-1], 1])
    weights = weights_on(
        shape,
        [
            (centre, ramp(shape.ring[centre, 1], level - 40.0, top)),
            (upper, 1.0 - ramp(shape.ring[upper, 0], 0.0, far)),
        ],
    )
    apexes = (shape.apexes[:, 1] > level) * (1.0 - ramp(shape.apexes[:, 0], 0.0, far))
    cut = np.array([[0.0, level], [float(shape.ring[armhole, 0].min()), level]])
    after = displaced(shape, weights, amount * UP, apexes=apexes)
    return Change(after=after, cuts=(cut,), hinges=cut[1:])


SWAY_BACK = Rule(
    name="sway back",
    where="centre line above the waist, to nothing at the side seam",
    more="Cut from the centre line to the side seam above the waist and lap it by {amount} at the centre.",
    less="Cut from the centre line to the side seam above the waist and open it by {amount} at the centre.",
    make=_shorten_centre,
)
ROUND_BACK = Rule(
    name="round or straight back",
    where="centre line at the shoulder blades, to nothing at the armhole",
    more="Cut from the centre line to the armhole across the shoulder blades and open it by {amount} at the centre.",
    less="Cut from the centre line to the armhole across the shoulder blades and lap it by {amount} at the centre.",
    make=_lengthen_centre_above,
)
