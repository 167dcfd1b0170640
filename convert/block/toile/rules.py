"""Moves that only a fitting asks for: a seam trued to its partner, a dart's point, the waist at a skirt's centre.

Points are in the shape's frame (:mod:`convert.block.moves.shape`). Source: the trade's usual alterations and truing,
common practice.
"""

from functools import partial

import numpy as np

from convert.block.moves.bodice import UP
from convert.block.moves.change import Change, Rule, displaced
from convert.block.shape.shape import Shape, ramp, weights_on

_LEAST_DART = 15.0  # mm: a shorter dart can't be pressed flat


def _lengthen_side(shape: Shape, amount: float) -> Change:
    """Side seam longer by about ``amount`` at its waist end; the waist line rises or falls towards it."""
    side, waist = shape.run("side seam", "armhole"), shape.run("waist", shape.centre)
    mouths = shape.mouths(side, "side seam")
    lowest = max((far for _, _, far in mouths), default=0)
    along = shape.net_along(side, "side seam")
    net = shape.net_along(waist, "waist")
    outermost = max(
        (far for _, _, far in shape.mouths(waist, "waist")), default=int(np.searchsorted(net, 0.4 * net[-1]))
    )
    waist_weights = ramp(net, net[outermost], net[-1])
    waist_weights[: outermost + 1] = 0.0
    weights = weights_on(shape, [(waist, waist_weights), (side, ramp(along, along[lowest], along[-1]))])
    return Change(after=displaced(shape, weights, -amount * UP), cuts=(np.array(shape.ring[waist]),))


def _drop_centre(shape: Shape, amount: float, hip: float) -> Change:
    """A skirt's waist lower by ``amount`` at the centre, nothing at the side seam."""
    centre, waist = shape.run(shape.centre, "waist"), shape.run("waist", shape.centre)
    top = float(shape.ring[centre[0], 1])
    weights = weights_on(
        shape,
        [
            (centre, ramp(shape.ring[centre, 1], top - hip, top)),
            (waist, 1.0 - shape.net_share(waist, "waist")),
        ],
    )
    return Change(after=displaced(shape, weights, -amount * UP), cuts=(np.array(shape.ring[waist]),))


def _shorten_darts(shape: Shape, amount: float, on: str) -> Change:
    """Point of each dart on an edge drawn back along the dart's middle."""
    apexes = shape.apexes.copy()
    for i in shape.darts_on(on):
        mouth = shape.ring[shape.legs[i]].mean(0)
        way = apexes[i] - mouth
        reach = float(np.hypot(*way))
        apexes[i] = mouth + way / max(reach, 1e-9) * max(reach - amount, _LEAST_DART)
    cuts = tuple(np.vstack([shape.ring[shape.legs[i]].mean(0), apexes[i]]) for i in shape.darts_on(on))
    return Change(after=shape.moved(apexes=apexes), cuts=cuts)


LENGTHEN_SIDE = Rule(
    name="true the side seam to its partner",
    where="waist, at the side seam",
    more="Draw the waist {amount} lower at the side seam, so that both side seams are equally long.",
    less="Draw the waist {amount} higher at the side seam, so that both side seams are equally long.",
    make=_lengthen_side,
)


def drop_centre(hip: float) -> Rule:
    """The rule for a skirt whose hip lies ``hip`` mm below the waist."""
    return Rule(
        name="lower or raise the skirt's waist at the centre",
        where="waist, at the centre line",
        more="Draw the waist {amount} lower at the centre line, to nothing at the side seam.",
        less="Draw the waist {amount} higher at the centre line, to nothing at the side seam.",
        make=partial(_drop_centre, hip=hip),
    )


def shorten_darts(on: str) -> Rule:
    """The rule for the darts on an edge."""
    return Rule(
        name=f"shorten or lengthen the darts at the {on}",
        where=f"darts at the {on}",
        more="Draw the point of the dart {amount} nearer to its seam.",
        less="Draw the point of the dart {amount} farther from its seam.",
        make=partial(_shorten_darts, on=on),
    )
