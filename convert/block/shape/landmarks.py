"""Landmarks and widths of one piece, in its own frame, darts closed."""

import numpy as np

from calibration.ground.points import Points, lengths_along
from convert.block.shape.shape import Shape

SHORT_OF_BUST_POINT = 25.0  # mm a single dart stops short of the bust point, common practice 20-30


def net(shape: Shape, name: str) -> float:
    """Sewn length of an edge: mouths of darts left out."""
    i = shape.names.index(name)
    first, last = shape.starts[i], shape.starts[(i + 1) % len(shape.starts)]
    run = np.arange(first, last + (len(shape.ring) if last <= first else 0) + 1) % len(shape.ring)
    step = np.hypot(*np.diff(shape.ring[run], axis=0).T)
    taken = sum(float(step[near:far].sum()) for _, near, far in shape.mouths(run, name))
    return float(step.sum()) - taken


def underarm(shape: Shape) -> Points:
    """Underarm point (2,) in the shape's frame."""
    return np.asarray(shape.ring[shape.corner("armhole", "side seam")])


def side_neck(shape: Shape) -> Points:
    """Side neck point (2,)."""
    return np.asarray(shape.ring[shape.corner("neckline", "shoulder")])


def across(shape: Shape, level: Points) -> float:
    """Distance of the point ``level`` from the centre line, less what the darts take at its height."""
    out, height = float(abs(level[0])), float(level[1])
    for apex, legs in zip(shape.apexes, shape.legs, strict=True):
        if legs[0] < 0:
            continue
        ends = shape.ring[legs]
        rise = ends[:, 1] - apex[1]
        if (np.abs(rise) < 1e-9).any():
            continue
        share = (height - apex[1]) / rise
        if ((share > 0) & (share <= 1)).all():
            at = apex[0] + (ends[:, 0] - apex[0]) * share
            out -= float(abs(at[1] - at[0]))
    return out


def armhole_point(shape: Shape, height: float) -> Points:
    """Point (2,) of the armhole at a height; NaN if it does not reach there."""
    run = shape.run("armhole", "side seam")
    line = shape.ring[run]
    crossing = np.flatnonzero(np.diff(np.sign(line[:, 1] - height)) != 0)
    if not len(crossing):
        return np.array([np.nan, np.nan])
    i = int(crossing[0])
    share = (height - line[i, 1]) / (line[i + 1, 1] - line[i, 1])
    return np.asarray(line[i] + share * (line[i + 1] - line[i]))


def armhole_width(shape: Shape, height: float) -> float:
    """Distance of the armhole from the centre line at a height, less what the darts take there."""
    return across(shape, armhole_point(shape, height))


def across_level(shape: Shape) -> float:
    """Height at which across back or across chest is taken."""
    top = shape.corner(shape.centre, "neckline") if shape.piece.kind.endswith("back") else None
    if top is None:
        top = shape.corner("shoulder", "armhole")
    return float((shape.ring[top, 1] + underarm(shape)[1]) / 2)


def waist_top(shape: Shape) -> float:
    """Height of the top of a skirt's centre line."""
    return float(shape.ring[shape.run(shape.centre, "waist"), 1].max())


def side_at(shape: Shape, height: float) -> float:
    """Distance of a skirt's side seam from the centre line at a height."""
    side = shape.ring[shape.run("side seam", "waist")]
    order = np.argsort(side[:, 1])
    return float(np.interp(height, side[order, 1], np.abs(side[order, 0])))


def width_below_waist(shape: Shape, down: float) -> float:
    """Width of a skirt ``down`` mm below the top of its centre line."""
    return side_at(shape, waist_top(shape) - down)


def bust_point(shape: Shape) -> Points:
    """Bust point (2,) that a front's darts aim at; NaN if it has none.

    Darts on two edges: where their axes meet, if they meet at a fair angle near both apexes; otherwise beyond the apex
    of the dart that reaches highest.
    """
    axes = []
    for _, (apex, legs) in _one_of_each_edge(shape):
        if legs[0] >= 0:
            axis = apex - shape.ring[legs].mean(0)
            axes.append((apex, axis / max(float(np.hypot(*axis)), 1e-9)))
    if not axes:
        return np.array([np.nan, np.nan])
    if len(axes) >= 2:
        (p, d), (q, e) = axes[0], axes[1]
        across_both = float(d[0] * e[1] - d[1] * e[0])
        if abs(across_both) > 0.5:
            t = float((q - p)[0] * e[1] - (q - p)[1] * e[0]) / across_both
            meet = p + t * d
            if max(np.hypot(*(meet - p)), np.hypot(*(meet - q))) < 3 * SHORT_OF_BUST_POINT:
                return np.asarray(meet)
    apex, axis = max(axes, key=lambda pair: pair[1][1])
    return np.asarray(apex + SHORT_OF_BUST_POINT * axis)


def _one_of_each_edge(shape: Shape) -> list[tuple[str | None, tuple[Points, Points]]]:
    """Apex and legs of one dart of each edge that has any, the one whose point lies highest, in the darts' order."""
    best: dict[str | None, tuple[Points, Points]] = {}
    for dart, apex, legs in zip(shape.piece.darts, shape.apexes, shape.legs, strict=True):
        if legs[0] >= 0 and (dart.on not in best or apex[1] > best[dart.on][0][1]):
            best[dart.on] = (apex, legs)
    return list(best.items())


def cap_height(shape: Shape) -> float:
    """Height of a sleeve's cap above the underarm line."""
    return float(shape.ring[shape.run("cap", "underarm seam front"), 1].max())


def wrist_name(shape: Shape) -> str:
    """What the sleeve's lower edge is called."""
    return "wrist" if shape.has("wrist") else "hem"


def wrist_middle(shape: Shape) -> float:
    """Height of a sleeve's lower edge midway between its seams."""
    line = shape.ring[shape.run(wrist_name(shape), "underarm seam front")]
    along = lengths_along(line)
    return float(np.interp(along[-1] / 2.0, along, line[:, 1]))
