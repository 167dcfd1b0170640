"""Moves on a bodice: lengths, widths, neck and shoulder, girths.

Each rule slashes the paper along a line and moves one side of it rigidly; along the edges that the slash crosses the
two sides are joined again by a smooth curve, as a cutter blends them. All points are in the shape's frame
(:mod:`convert.block.moves.shape`). Source of the moves: the trade's usual alterations, common practice.
"""

import numpy as np

from calibration.ground.points import Points
from convert.block.moves.change import Change, Rule, displaced, turned
from convert.block.shape.landmarks import SHORT_OF_BUST_POINT, bust_point
from convert.block.shape.shape import Indices, Shape, Weights, ramp, smooth, weights_on

OUT = np.array([1.0, 0.0])
UP = np.array([0.0, 1.0])


def level_cut(shape: Shape, height: float) -> Points:
    """Straight cut (2, 2) right across the piece at a height."""
    ring = np.vstack([shape.ring, shape.ring[:1]])
    i = np.flatnonzero(np.diff(np.sign(ring[:, 1] - height)) != 0)
    share = (height - ring[i, 1]) / (ring[i + 1, 1] - ring[i, 1])
    at = ring[i, 0] + share * (ring[i + 1, 0] - ring[i, 0])
    return np.array([[at.min(), height], [at.max(), height]]) if len(at) else np.zeros((0, 2))


def _sides(shape: Shape) -> tuple[Indices, Indices, Indices, Indices, Indices, Indices]:
    """Runs in working order: centre upwards, neckline and shoulder outwards, armhole and side downwards, waist out."""
    centre, lower = shape.centre, "waist" if shape.has("waist") else "hem"
    return (
        shape.run(centre, lower),
        shape.run("neckline", centre),
        shape.run("shoulder", "neckline"),
        shape.run("armhole", "shoulder"),
        shape.run("side seam", "armhole"),
        shape.run(lower, centre),
    )


def _mouth_weights(shape: Shape, weights: Weights, *, above: float) -> Weights:
    """Weight of each apex: that of its dart's mouth if the apex lies above a height, else nought."""
    out = np.zeros(len(shape.apexes))
    for i, legs in enumerate(shape.legs):
        if legs[0] >= 0 and shape.apexes[i, 1] > above:
            out[i] = float(weights[legs].mean())
    return out


def _shoulder_direction(shape: Shape) -> Points:
    run = shape.run("shoulder", "neckline")
    chord = shape.ring[run[-1]] - shape.ring[run[0]]
    return np.asarray(chord / np.hypot(*chord))


def _lengthen_below(shape: Shape, amount: float) -> Change:
    centre, _, _, _, side, waist = _sides(shape)
    underarm = float(shape.ring[side[0], 1])
    mouths = shape.mouths(side, "side seam")
    lowest = max((far for _, _, far in mouths), default=0)
    along = shape.net_along(side, "side seam")
    side_weights = ramp(along, along[lowest], along[-1])
    centre_weights = 1.0 - ramp(shape.ring[centre, 1], float(shape.ring[centre[0], 1]), underarm)
    weights = weights_on(shape, [(centre, centre_weights), (side, side_weights), (waist, 1.0)])
    cut = float((shape.ring[side[lowest], 1] + shape.ring[side[-1], 1]) / 2)
    after = displaced(
        shape, weights, -amount * UP, apexes=(shape.apexes[:, 1] < cut) * 1.0, inner=(shape.inner[:, 1] < cut) * 1.0
    )
    return Change(after=after, cuts=(level_cut(shape, cut),))


def _lengthen_above(shape: Shape, amount: float) -> Change:
    centre, neckline, shoulder, armhole, side, _ = _sides(shape)
    share = shape.net_share(armhole, "armhole")
    underarm, top = float(shape.ring[side[0], 1]), float(shape.ring[centre[-1], 1])
    armhole_weights = smooth(ramp(share, 0.85, 0.2))
    centre_weights = ramp(shape.ring[centre, 1], min(underarm, top - 30.0), top)
    weights = weights_on(
        shape, [(centre, centre_weights), (armhole, armhole_weights), (neckline, 1.0), (shoulder, 1.0)]
    )
    cut = float(np.interp(0.5, armhole_weights[::-1], shape.ring[armhole[::-1], 1]))
    after = displaced(
        shape, weights, amount * UP, apexes=(shape.apexes[:, 1] > cut) * 1.0, inner=(shape.inner[:, 1] > cut) * 1.0
    )
    return Change(after=after, cuts=(level_cut(shape, cut),))


def _broaden_across(shape: Shape, amount: float) -> Change:
    _, _, shoulder, armhole, side, _ = _sides(shape)
    share = shape.net_share(armhole, "armhole")
    weights = weights_on(
        shape,
        [(shoulder, shape.net_share(shoulder, "shoulder")), (armhole, 1.0 - smooth(ramp(share, 0.5, 0.97)))],
    )
    level = float(shape.ring[side[0], 1])
    after = displaced(shape, weights, amount * OUT, apexes=_mouth_weights(shape, weights, above=level))
    middle = shape.ring[shoulder[len(shoulder) // 2]]
    corner = np.array([middle[0], (level + shape.ring[armhole[0], 1]) / 2])
    end = shape.ring[armhole[int(np.searchsorted(share, 0.75))]]
    return Change(after=after, cuts=(np.array([middle, corner, end]),))


def _lengthen_shoulder(shape: Shape, amount: float) -> Change:
    _, _, shoulder, armhole, side, _ = _sides(shape)
    share = shape.net_share(armhole, "armhole")
    weights = weights_on(
        shape, [(shoulder, shape.net_share(shoulder, "shoulder")), (armhole, 1.0 - smooth(ramp(share, 0.0, 0.45)))]
    )
    level = float(shape.ring[side[0], 1])
    after = displaced(
        shape,
        weights,
        amount * _shoulder_direction(shape),
        apexes=_mouth_weights(shape, weights, above=level),
    )
    middle = shape.ring[shoulder[len(shoulder) // 2]]
    end = shape.ring[armhole[int(np.searchsorted(share, 0.45))]]
    return Change(after=after, cuts=(np.array([middle, end]),))


def _slope_shoulder(shape: Shape, amount: float) -> Change:
    """Turn the shoulder about the side neck point: the shoulder point drops by ``amount``."""
    _, _, shoulder, armhole, side, _ = _sides(shape)
    hinge = shape.ring[shoulder[0]]
    arm = shape.ring[shoulder[-1]] - hinge
    reach = float(np.hypot(*arm))
    start = np.arcsin(np.clip(arm[1] / reach, -1, 1))
    angle = float(np.arcsin(np.clip((arm[1] - amount) / reach, -1, 1)) - start)
    ring = shape.ring.copy()
    share = shape.net_share(armhole, "armhole")
    ring[shoulder] = turned(ring[shoulder], hinge, angle)
    shift = turned(shape.ring[armhole[:1]], hinge, angle)[0] - shape.ring[armhole[0]]
    ring[armhole] = shape.ring[armhole] + np.outer(1.0 - smooth(ramp(share, 0.0, 0.6)), shift)
    level = float(shape.ring[side[0], 1])
    apexes = shape.apexes.copy()
    for i in shape.darts_on("shoulder"):
        if apexes[i, 1] > level:
            apexes[i] = turned(apexes[i : i + 1], hinge, angle)[0]
    end = shape.ring[armhole[int(np.searchsorted(share, 0.5))]]
    return Change(after=shape.moved(ring=ring, apexes=apexes), cuts=(np.array([hinge, end]),), hinges=hinge[None])


def _widen_neck(shape: Shape, amount: float) -> Change:
    """Side neck point out along the shoulder; on a front the centre of the neckline drops as much."""
    centre, neckline, shoulder, _, _, _ = _sides(shape)
    share = smooth(shape.net_share(neckline, "neckline"))
    out = weights_on(shape, [(shoulder, 1.0 - shape.net_share(shoulder, "shoulder")), (neckline, share)])
    after = displaced(shape, out, amount * _shoulder_direction(shape))
    if shape.piece.kind.endswith("front"):
        top, reach = float(shape.ring[centre[-1], 1]), float(np.ptp(shape.ring[centre, 1]))
        down = weights_on(
            shape, [(centre, ramp(shape.ring[centre, 1], top - 0.5 * reach, top)), (neckline, 1.0 - share)]
        )
        after = displaced(after, down, -amount * UP)
    return Change(after=after, cuts=(np.array(shape.ring[neckline]),))


def _deepen_neck(shape: Shape, amount: float) -> Change:
    """Centre of the neckline down, the side neck point stays."""
    centre, neckline, _, _, _, _ = _sides(shape)
    share = smooth(shape.net_share(neckline, "neckline"))
    top, reach = float(shape.ring[centre[-1], 1]), float(np.ptp(shape.ring[centre, 1]))
    weights = weights_on(
        shape, [(centre, ramp(shape.ring[centre, 1], top - 0.5 * reach, top)), (neckline, 1.0 - share)]
    )
    return Change(after=displaced(shape, weights, -amount * UP), cuts=(np.array(shape.ring[neckline]),))


def _widen_at_underarm(shape: Shape, amount: float) -> Change:
    _, _, _, armhole, side, _ = _sides(shape)
    share = shape.net_share(armhole, "armhole")
    weights = weights_on(
        shape, [(armhole, smooth(ramp(share, 0.45, 1.0))), (side, 1.0 - shape.net_share(side, "side seam"))]
    )
    return Change(after=displaced(shape, weights, amount * OUT), cuts=(np.array(shape.ring[side]),))


def _widen_at_waist(shape: Shape, amount: float) -> Change:
    _, _, _, _, side, waist = _sides(shape)
    mouths = shape.mouths(waist, "waist")
    along = shape.net_along(waist, "waist")
    outermost = max((far for _, _, far in mouths), default=int(np.searchsorted(along, 0.4 * along[-1])))
    waist_weights = ramp(along, along[outermost], along[-1])
    waist_weights[: outermost + 1] = 0.0
    weights = weights_on(shape, [(waist, waist_weights), (side, shape.net_share(side, "side seam"))])
    return Change(after=displaced(shape, weights, amount * OUT), cuts=(np.array(shape.ring[side]),))


def _raise_underarm(shape: Shape, amount: float) -> Change:
    """Armhole deeper by ``amount``: the underarm point slides down the side seam."""
    _, _, _, armhole, side, _ = _sides(shape)
    mouths = shape.mouths(side, "side seam")
    first = min((near for _, near, _ in mouths), default=len(side) - 1)
    along = shape.net_along(side, "side seam")
    chord = shape.ring[side[first]] - shape.ring[side[0]]
    side_weights = 1.0 - ramp(along, 0.0, along[first])
    share = shape.net_share(armhole, "armhole")
    weights = weights_on(shape, [(side, side_weights), (armhole, smooth(ramp(share, 0.45, 1.0)))])
    after = displaced(shape, weights, amount * chord / max(float(np.hypot(*chord)), 1e-9))
    return Change(after=after, cuts=(np.array(shape.ring[armhole]),))


def _take_in_darts(shape: Shape, amount: float) -> Change:
    """Waist darts wider by ``amount`` together, each in the share it has now."""
    waist = shape.run("waist", shape.centre)
    mouths = shape.mouths(waist, "waist")
    intakes = np.array([np.hypot(*(shape.ring[waist[far]] - shape.ring[waist[near]])) for _, near, far in mouths])
    shares = intakes / intakes.sum() if intakes.sum() > 1.0 else np.full(len(mouths), 1.0 / max(1, len(mouths)))
    gross = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shape.ring[waist], axis=0).T))])
    shift = np.zeros((len(waist), 2))
    knots, values = [0.0], [np.zeros(2)]
    for (_, near, far), part in zip(mouths, shares, strict=True):
        chord = shape.ring[waist[far]] - shape.ring[waist[near]]
        span = float(np.hypot(*chord))
        along = chord / span if span > 1e-6 else _tangent(shape, waist, near)
        knots += [gross[near], gross[far]]
        values += [-along * amount * part / 2, along * amount * part / 2]
    knots.append(gross[-1])
    values.append(np.zeros(2))
    for axis in (0, 1):
        shift[:, axis] = np.interp(gross, knots, [value[axis] for value in values])
    for k, (_, near, far) in enumerate(mouths):  # leg ends that lie at one place would share one value
        shift[near], shift[far] = values[1 + 2 * k], values[2 + 2 * k]
    ring = shape.ring.copy()
    ring[waist] += shift
    cuts = tuple(
        np.vstack([shape.ring[waist[near]], shape.apexes[i], shape.ring[waist[far]]]) for i, near, far in mouths
    )
    return Change(after=shape.moved(ring=ring), cuts=cuts)


def _tangent(shape: Shape, run: Indices, at: int) -> Points:
    low, high = max(0, at - 8), min(len(run) - 1, at + 8)
    chord = shape.ring[run[high]] - shape.ring[run[low]]
    return np.asarray(chord / np.hypot(*chord))


def _shift_bust_point(shape: Shape, amount: float, direction: Points) -> Change:
    """Darts follow the bust point: apexes move, mouths slide along their own edges by what lies along these."""
    ring, aim = shape.ring.copy(), bust_point(shape)
    for name, start in (("waist", shape.centre), ("side seam", "armhole")):
        if not shape.has(name):
            continue
        run = shape.run(name, start)
        for i, near, far in shape.mouths(run, name):
            if name != "waist" or _short_of(shape, i):
                along = _along(shape, run, near, far)
                slide = np.clip(amount * float(direction @ along), *_room(shape, run, name, near, far))
                ring[run] += np.outer(_slide_weights(shape, run, name, near, far), slide * along)
    return Change(after=aimed(shape.moved(ring=ring), shape, aim, aim + amount * direction))


def _short_of(shape: Shape, dart: int) -> bool:
    """Whether a waist dart is the one that aims at the bust point: of several, the tallest."""
    tips = [shape.apexes[i, 1] for i in shape.darts_on("waist")]
    return bool(shape.apexes[dart, 1] >= max(tips) - 1e-9)


def _along(shape: Shape, run: Indices, near: int, far: int) -> Points:
    low, high = max(0, near - 10), min(len(run) - 1, far + 10)
    chord = (shape.ring[run[near]] - shape.ring[run[low]]) + (shape.ring[run[high]] - shape.ring[run[far]])
    return np.asarray(chord / max(float(np.hypot(*chord)), 1e-9))


def _room(shape: Shape, run: Indices, name: str, near: int, far: int, margin: float = 20.0) -> tuple[float, float]:
    """How far a mouth can slide back and on without coming within ``margin`` of its neighbours or the edge's ends."""
    along = shape.net_along(run, name)
    others = [(a, b) for _, a, b in shape.mouths(run, name) if a != near]
    low = max((along[b] for _, b in others if b < near), default=0.0)
    high = min((along[a] for a, _ in others if a > far), default=along[-1])
    return min(0.0, low + margin - along[near]), max(0.0, high - margin - along[far])


def _slide_weights(shape: Shape, run: Indices, name: str, near: int, far: int) -> Weights:
    """1 across one mouth, down to 0 at the neighbouring mouths or the ends of the edge."""
    along = shape.net_along(run, name)
    others = [(a, b) for _, a, b in shape.mouths(run, name) if a != near]
    low = max((b for _, b in others if b < near), default=0)
    high = min((a for a, _ in others if a > far), default=len(run) - 1)
    weights = np.minimum(ramp(along, along[low], along[near]), 1.0 - ramp(along, along[far], along[high]))
    weights[: low + 1] = weights[high:] = 0.0
    weights[near : far + 1] = 1.0
    return np.asarray(weights)


def aimed(shape: Shape, before: Shape, old: Points, new: Points) -> Shape:
    """The darts that aimed at the bust point ``old`` aim at ``new``, and stop as far short of it as before."""
    apexes = shape.apexes.copy()
    for i, legs in enumerate(shape.legs):
        on = shape.piece.darts[i].on
        if legs[0] < 0 or (on == "waist" and not _short_of(before, i)):
            continue
        short = float(np.hypot(*(before.apexes[i] - old)))
        if on not in ("waist", "side seam") and short > 3 * SHORT_OF_BUST_POINT:
            continue  # a short shoulder or neck dart that aims elsewhere
        way = shape.ring[legs].mean(0) - new
        reach = float(np.hypot(*way))
        apexes[i] = new + min(short, 0.8 * reach) * way / reach
    return shape.moved(apexes=apexes)


LENGTHEN_BELOW = Rule(
    name="lengthen or shorten above the waist",
    where="straight across between underarm and waist",
    more="Cut straight across between underarm and waist and spread by {amount}.",
    less="Cut straight across between underarm and waist and overlap by {amount}.",
    make=_lengthen_below,
)
LENGTHEN_ABOVE = Rule(
    name="lengthen or shorten above the underarm",
    where="straight across through the middle of the armhole",
    more="Cut straight across through the middle of the armhole and spread by {amount}.",
    less="Cut straight across through the middle of the armhole and overlap by {amount}.",
    make=_lengthen_above,
)
BROADEN_ACROSS = Rule(
    name="broaden or narrow across",
    where="from the middle of the shoulder down, then out to the lower armhole",
    more="Cut from the middle of the shoulder down and out to the armhole, and move the armhole out by {amount}.",
    less="Cut from the middle of the shoulder down and out to the armhole, and move the armhole in by {amount}.",
    make=_broaden_across,
)
LENGTHEN_SHOULDER = Rule(
    name="lengthen or shorten the shoulder",
    where="from the middle of the shoulder to the armhole",
    more="Cut from the middle of the shoulder to the armhole and spread the shoulder by {amount}.",
    less="Cut from the middle of the shoulder to the armhole and overlap the shoulder by {amount}.",
    make=_lengthen_shoulder,
)
SLOPE_SHOULDER = Rule(
    name="slope or square the shoulder",
    where="about the side neck point",
    more="Turn the shoulder about the side neck point until its outer end is {amount} lower.",
    less="Turn the shoulder about the side neck point until its outer end is {amount} higher.",
    make=_slope_shoulder,
)
WIDEN_NECK = Rule(
    name="widen or narrow the neck",
    where="at the neckline",
    more="Draw the neckline {amount} wider at the side neck point.",
    less="Draw the neckline {amount} narrower at the side neck point.",
    make=_widen_neck,
)
DEEPEN_NECK = Rule(
    name="deepen or raise the neck",
    where="at the centre of the neckline",
    more="Draw the neckline {amount} lower at the centre.",
    less="Draw the neckline {amount} higher at the centre.",
    make=_deepen_neck,
)
WIDEN_AT_UNDERARM = Rule(
    name="widen or narrow at the underarm",
    where="side seam, at the underarm",
    more="Move the side seam out by {amount} at the underarm and draw it on to the same waist.",
    less="Move the side seam in by {amount} at the underarm and draw it on to the same waist.",
    make=_widen_at_underarm,
)
WIDEN_AT_WAIST = Rule(
    name="widen or narrow at the waist",
    where="side seam, at the waist",
    more="Move the side seam out by {amount} at the waist.",
    less="Move the side seam in by {amount} at the waist.",
    make=_widen_at_waist,
)
LOWER_ARMHOLE = Rule(
    name="lower or raise the armhole",
    where="underarm point, along the side seam",
    more="Move the underarm point {amount} down the side seam and blend the armhole into it.",
    less="Move the underarm point {amount} up the side seam and blend the armhole into it.",
    make=_raise_underarm,
)
TAKE_IN_DARTS = Rule(
    name="widen or narrow the waist darts",
    where="waist darts",
    more="Make the waist darts {amount} wider together.",
    less="Make the waist darts {amount} narrower together.",
    make=_take_in_darts,
)
BUST_POINT_OUT = Rule(
    name="move the bust point out or in",
    where="darts at the bust point",
    more="Move the bust point and its darts {amount} away from the centre front.",
    less="Move the bust point and its darts {amount} towards the centre front.",
    make=lambda shape, amount: _shift_bust_point(shape, amount, OUT),
)
BUST_POINT_DOWN = Rule(
    name="lower or raise the bust point",
    where="darts at the bust point",
    more="Move the bust point and its darts {amount} down.",
    less="Move the bust point and its darts {amount} up.",
    make=lambda shape, amount: _shift_bust_point(shape, amount, -UP),
)
