"""A sleeve widened or narrowed at the upper arm by hand, so that the paper lies flat.

The sleeve is cut from the wrist to the top of the cap and along the underarm line, but for a hinge at each of the four
ends, and the middle is opened (or lapped): both underarm corners go out by half the amount each. The cap keeps its
length and sinks; its line is drawn anew over it. Where it would sink too far, the sleeve is cut through from the top of
the cap to a hinge at the wrist instead. Source: the usual large-arm alterations of handbooks, common practice.
"""

from dataclasses import dataclass

import numpy as np
from shapely import LineString

from calibration.ground.points import Points
from convert.block.block import Move
from convert.block.shape.landmarks import wrist_name
from convert.block.shape.shape import shape_of
from convert.paper.steps.slashed import Slashed, Stiff, laid_out, parts_of

MOST_SINK_MM = 25.0  # a cap that sinks more is drawn anew for the most part: our choice
_BEYOND_MM = 12.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Corners:
    """Top of the cap, middle of the wrist, underarm corners at the back and the front, each (2,) on the paper."""

    top: Points
    wrist: Points
    back: Points
    front: Points

    @property
    def middle(self) -> Points:
        return np.asarray((self.back + self.front) / 2)

    @property
    def out(self) -> Points:
        return np.asarray((self.front - self.back) / np.hypot(*(self.front - self.back)))


def upper_arm_laid(move: Move) -> tuple[Slashed, bool] | None:
    """How the parts lie, and whether the sleeve is cut right through at the cap; None for an amount nobody can lay."""
    at = _corners(move)
    step = at.out * move.amount_mm / 2
    wider = (at.back - step, at.front + step)
    tips = [_third_corner(wider, point, (at.back, at.front)) for point in (at.top, at.wrist)]
    if tips[0] is None or tips[1] is None or np.hypot(*(tips[0] - at.top)) > MOST_SINK_MM:
        through = _cut_through(move, at)
        return None if through is None else (through, True)
    hinged = _four_parts(move, at, wider, (tips[0], tips[1]))
    return None if hinged is None else (hinged, False)


def _four_parts(move: Move, at: _Corners, wider: tuple[Points, Points], tips: tuple[Points, Points]) -> Slashed | None:
    cuts = [[at.wrist, at.middle, at.top], [at.back, at.middle, at.front]]
    faces = parts_of(move.before.seam_line, [_carried_on(cut) for cut in cuts])
    if len(faces) != 4:
        return None
    ways = []
    for face in faces:
        lies = np.array(face.centroid.coords[0]) - at.middle
        tip, moved = (at.top, tips[0]) if lies @ (at.top - at.wrist) > 0 else (at.wrist, tips[1])
        side = int(lies @ at.out > 0)
        ways.append(_carrying((tip, (at.back, at.front)[side]), (moved, wider[side])))
    return laid_out(faces, ways, move.after.seam_line)


def _cut_through(move: Move, at: _Corners) -> Slashed | None:
    """Two halves turned about the middle of the wrist until each underarm corner is half the amount further out."""
    faces = parts_of(move.before.seam_line, [_carried_on([at.wrist, at.middle, at.top])])
    if len(faces) != 2:
        return None
    ways = []
    for face in faces:
        front = (np.array(face.centroid.coords[0]) - at.middle) @ at.out > 0
        corner, out = (at.front, at.out) if front else (at.back, -at.out)
        arm = corner - at.wrist
        reach, across = float(np.hypot(*arm)), float(arm @ out)
        square = (arm - across * out) / np.hypot(*(arm - across * out))
        wide = across + move.amount_mm / 2
        if wide >= reach:
            return None
        moved = at.wrist + wide * out + np.sqrt(reach**2 - wide**2) * square
        ways.append(_carrying((at.wrist, corner), (at.wrist, moved)))
    return laid_out(faces, ways, move.after.seam_line)


def _corners(move: Move) -> _Corners:
    shape = shape_of(move.before)
    cap = shape.ring[shape.run("cap", "underarm seam back")]
    low = shape.ring[shape.run(wrist_name(shape), "underarm seam back")]
    local = np.array([cap[int(np.argmax(cap[:, 1]))], low[len(low) // 2], cap[0], cap[-1]])
    top, wrist, back, front = shape.frame.to_paper(local)
    return _Corners(top=top, wrist=wrist, back=back, front=front)


def _third_corner(ends: tuple[Points, Points], point: Points, was: tuple[Points, Points]) -> Points | None:
    """Where ``point`` (2,) comes to lie when its distances from two places stay and these move to ``ends``."""
    base = ends[1] - ends[0]
    far = float(np.hypot(*base))
    one, other = (float(np.hypot(*(point - place))) for place in was)
    along = (one**2 - other**2 + far**2) / (2 * far)
    off = one**2 - along**2
    if off <= 0:
        return None
    way = base / far
    square = np.array([-way[1], way[0]])
    side = np.sign((point - was[0]) @ square)
    return np.asarray(ends[0] + along * way + side * np.sqrt(off) * square)


def _carrying(old: tuple[Points, Points], new: tuple[Points, Points]) -> Stiff:
    """The stiff way that carries one point on its new place and a second towards its own."""
    a, b = old[1] - old[0], new[1] - new[0]
    angle = float(np.arctan2(b[1], b[0]) - np.arctan2(a[1], a[0]))
    cos, sin = np.cos(angle), np.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    return Stiff(turn=turn, shift=new[0] - old[0] @ turn)


def _carried_on(cut: list[Points]) -> LineString:
    """A cut carried on a little at both ends, so that it surely parts the paper."""
    first, last = ((a - b) / np.hypot(*(a - b)) for a, b in ((cut[0], cut[1]), (cut[-1], cut[-2])))
    return LineString([cut[0] + _BEYOND_MM * first, *cut, cut[-1] + _BEYOND_MM * last])
