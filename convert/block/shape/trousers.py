"""A leg of trousers: where its levels lie, and what it measures there, in the shape's own frame.

The frame: v runs up along the grain (the crease), u outwards to the side seam; (0, 0) is where the crotch seam meets
the waist. The crotch seam lies where other half pieces have their centre line; the fork is where it meets the inseam.

====================  ==========================================================================================
trousers waist        along the waist of front and back, darts closed, all the way round
hip                   ``waist_to_hip`` below the middle of the front's waist, straight across from crotch seam to
                      side seam; on the back as far below the side seam's top as on the front
body rise             on the front, from the waist at the side seam straight down to the level of the fork
outside leg           along the side seam of the front
inside leg            along the inseam of the front
crotch length         along both crotch seams, waist to waist through the fork
thigh                 once round one leg, 25 mm below each fork, straight across
knee                  once round one leg, 5 cm above half way from fork to hem, straight across
ankle                 along the hem, once round one leg
====================  ==========================================================================================

Shorts, which end above the knee, have no knee and no ankle; their hem is "leg hem". Source: ISO 8559-1 names; where
each is taken on the paper is common practice.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from convert.block.shape.landmarks import dart_gap, net
from convert.block.shape.shape import Shape, shape_of
from convert.piece.piece import Piece

FRONT, BACK = "trousers front", "trousers back"
THIGH_BELOW_FORK_MM = 25.0  # an inch, where the thigh is measured: common practice
KNEE_ABOVE_HALF_MM = 50.0  # the knee lies 2 in above half way from fork to hem: common practice
SHORTS_MM = 480.0  # an inseam; the least of a grown leg ends at the calf (ANSUR II: crotch height 65 to 90 cm)
ON_THE_CREASE_MM = 5.0  # a grainline so near the middle of the knee is the crease: our choice, two pencil lines
LONGER_BACK_MM = 15.0  # a back whose crotch seam is longer by less is no back: our choice, well below 5 cm
GIRTHS = ("trousers waist", "trousers hip")
ON_ONE_LEG = ("thigh", "knee", "ankle", "leg hem")
ON_FRONT = ("body rise", "outside leg", "inside leg")


def fork(shape: Shape) -> Points:
    """Where crotch seam and inseam meet (2,)."""
    return np.asarray(shape.ring[shape.corner("crotch seam", "inseam")])


def side_top(shape: Shape) -> Points:
    """Where the side seam meets the waist (2,)."""
    return np.asarray(shape.ring[shape.corner("waist", "side seam")])


def hem_level(shape: Shape) -> float:
    """Height of the hem midway between its seams."""
    ends = shape.ring[shape.run("hem", "inseam")[[0, -1]]]
    return float(ends[:, 1].mean())


def is_long(shape: Shape) -> bool:
    """Whether the leg goes down past the knee."""
    return net(shape, "inseam") >= SHORTS_MM


def knee_level(shape: Shape) -> float:
    """Height of the knee; NaN on shorts."""
    if not is_long(shape):
        return float("nan")
    return float((fork(shape)[1] + hem_level(shape)) / 2.0 + KNEE_ABOVE_HALF_MM)


def hip_below_side(front: Shape, waist_to_hip: float) -> float:
    """How far below the side seam's top the hip lies, read on the front."""
    waist = front.ring[front.run("waist", "side seam")[[0, -1]]]
    return float(waist[0, 1] - waist[:, 1].mean() + waist_to_hip)


def hip_level(shape: Shape, shapes: Mapping[str, Shape], waist_to_hip: float) -> float:
    """Height of the hip on a leg; a back without its front takes it below the side seam's top."""
    down = hip_below_side(shapes[FRONT], waist_to_hip) if FRONT in shapes else waist_to_hip
    return float(side_top(shape)[1]) - down


def inner_at(shape: Shape, height: float) -> float:
    """Where the crotch seam, or below the fork the inseam, lies at a height; NaN if neither reaches there."""
    edge, start = ("crotch seam", "waist") if height > fork(shape)[1] else ("inseam", "crotch seam")
    return _first_at(shape.ring[shape.run(edge, start)], height)


def outer_at(shape: Shape, height: float) -> float:
    """Where the side seam lies at a height; NaN if it does not reach there."""
    return _first_at(shape.ring[shape.run("side seam", "waist")], height)


def across_leg(shape: Shape, height: float) -> float:
    """Straight across a leg at a height, less what open darts take there."""
    return outer_at(shape, height) - inner_at(shape, height) - dart_gap(shape, height)


def thigh_level(shape: Shape) -> float:
    """Height at which the thigh is taken."""
    return float(fork(shape)[1]) - THIGH_BELOW_FORK_MM


def rise(shape: Shape) -> float:
    """From the waist at the side seam straight down to the fork."""
    return float(side_top(shape)[1] - fork(shape)[1])


def of_leg(shape: Shape) -> dict[str, float]:
    """What one leg tells by itself: widths of this half, mm."""
    out = {"thigh": across_leg(shape, thigh_level(shape))}
    if is_long(shape):
        return {**out, "knee": across_leg(shape, knee_level(shape)), "ankle": net(shape, "hem")}
    return {**out, "leg hem": net(shape, "hem")}


def measure_trousers(shapes: Mapping[str, Shape], waist_to_hip: float | None) -> dict[str, float]:
    """Everything that the trousers among these shapes tell, mm; empty without any."""
    legs = [shapes[kind] for kind in (FRONT, BACK) if kind in shapes]
    if not legs:
        return {}
    out: dict[str, float] = {}
    if len(legs) == 2:
        out["trousers waist"] = 2.0 * sum(net(leg, "waist") for leg in legs)
        if waist_to_hip:
            out[hip_name(shapes)] = 2.0 * sum(across_leg(leg, hip_level(leg, shapes, waist_to_hip)) for leg in legs)
        out["crotch length"] = sum(net(leg, "crotch seam") for leg in legs)
        front, back = (of_leg(leg) for leg in legs)
        out |= {name: front[name] + back[name] for name in front if name in back}
    if FRONT in shapes:
        front_leg = shapes[FRONT]
        out["body rise"] = rise(front_leg)
        if is_long(front_leg):
            out["outside leg"], out["inside leg"] = net(front_leg, "side seam"), net(front_leg, "inseam")
    return out


def half_of_leg(shape: Shape, waist_to_hip: float | None) -> dict[str, float]:
    """What one leg tells where its partner is missing, by level and kind."""
    kind = shape.piece.kind
    out = {f"trousers waist of the {kind}": net(shape, "waist"), f"body rise of the {kind}": rise(shape)}
    if waist_to_hip:
        level = hip_level(shape, {kind: shape}, waist_to_hip)
        out[f"trousers hip of the {kind}"] = across_leg(shape, level)
    if is_long(shape):
        out[f"outside leg of the {kind}"] = net(shape, "side seam")
    return out | {f"{name} of the {kind}": mm for name, mm in of_leg(shape).items()}


SHARES: Mapping[str, float] = {
    "trousers waist": 4.0,
    "trousers hip": 4.0,
    "thigh": 2.0,
    "knee": 2.0,
    "ankle": 2.0,
    "body rise": 1.0,
    "outside leg": 1.0,
}
"""How many pieces share what goes round (or along), by level."""


def require_pair(pieces: Sequence[Piece]) -> None:
    """Refuse a front and a back that were exchanged, or that are two fronts or two backs.

    A back's crotch seam is 5 to 12 cm longer than its front's (common practice).

    Raises
    ------
    InputError
        With how much longer the back's is.
    """
    by: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces if piece.kind in (FRONT, BACK)}
    if len(by) < 2:
        return
    longer = net(by[BACK], "crotch seam") - net(by[FRONT], "crotch seam")
    if longer >= LONGER_BACK_MM:
        return
    said = (
        "as long as" if abs(longer) < 0.5 else f"{abs(longer) / 10:.1f} cm {'longer' if longer > 0 else 'shorter'} than"
    )
    cause = "Front and back are exchanged." if longer < -LONGER_BACK_MM else "They are two fronts, or two backs."
    raise InputError(
        f"The crotch seam of what is called the {BACK} is {said} the front's; a back's is 5 to 12 cm longer. {cause}",
        "Check which piece is which; the back reaches further out at the fork.",
    )


def leg_lines(piece: Piece, waist_to_hip: float) -> dict[str, Points]:
    """Hip line, knee line and crease line (2, 2) on a leg, on the paper; no crease line where the grainline is it."""
    shape = shape_of(piece)
    levels = {"hip line": hip_level(shape, {piece.kind: shape}, waist_to_hip), "knee line": knee_level(shape)}
    lines = {
        name: np.array([[inner_at(shape, at), at], [outer_at(shape, at), at]])
        for name, at in levels.items()
        if np.isfinite(at)
    }
    low = lines["knee line"] if "knee line" in lines else shape.ring[shape.run("hem", "inseam")[[0, -1]]]
    middle = float(low[:, 0].mean())
    grain = None if piece.grainline is None else shape.frame.to_local(piece.grainline)[0, 0]
    if grain is None or abs(grain - middle) > ON_THE_CREASE_MM:
        lines["crease line"] = np.array([[middle, hem_level(shape)], [middle, levels["hip line"]]])
    return {name: shape.frame.to_paper(line) for name, line in lines.items() if np.isfinite(line).all()}


def hip_name(shapes: Mapping[str, Shape]) -> str:
    """What the hip of trousers is called: beside a skirt or a dress it has a name of its own."""
    beside = any(kind.startswith(("skirt", "dress")) for kind in shapes)
    return "trousers hip" if beside else "hip"


def needed(name: str) -> tuple[str, ...]:
    """The pieces that a measurement of trousers is taken on."""
    return (FRONT,) if name in ON_FRONT else (FRONT, BACK)


def _first_at(line: Points, height: float) -> float:
    """Where a line (N, 2), followed from its upper end, first lies at a height."""
    above = line[:, 1] >= height
    crossing = np.flatnonzero(above[:-1] != above[1:])
    if not len(crossing):
        return float("nan")
    (x0, y0), (x1, y1) = line[crossing[0]], line[crossing[0] + 1]
    return float(x0 + (x1 - x0) * (height - y0) / (y1 - y0))
