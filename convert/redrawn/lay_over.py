"""Laying an edited outline over the one it came from, and finding the corners again.

Nothing of the edited shape is changed: it is only turned and shifted as a whole, so that it can be compared.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.points import Points, closed, lengths_along, resample, signed_area
from convert.paper.draw.drawing import turn

ROUND_MM = 1.0
KEPT_SHARE = 0.6  # an edit leaves at least about this much of an outline where it was
ROUNDS = 25
SAME_MM = 0.03  # what curves and digits leave of a piece that nobody turned
GOOD_MM = 0.3  # most of an outline within this: no other turn is looked for
CANDIDATES = 24  # nodes looked at for each corner
MM_PER_DEG = 0.5  # what a corner that turns otherwise than before counts for, against how far it moved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lay:
    """A turn (2, 2) and a shift (2,): ``to(points)`` is ``points @ turn + shift``."""

    turn: Points
    shift: Points

    def to(self, points: Points) -> Points:
        """Points (N, 2) laid over."""
        moved: Points = points @ self.turn + self.shift
        return moved


def scale_between(old: Points, new: Points) -> tuple[float, float]:
    """How many times as large the new ring is, and how far (mm) it lies from the old one once made as large.

    Rings (N, 2), both counter-clockwise.
    """
    a, b = (_even(ring) for ring in (old, new))
    a, b = a - a.mean(), b - b.mean()
    spectrum = np.fft.ifft(np.fft.fft(a) * np.conj(np.fft.fft(b)))
    k = int(np.argmax(np.abs(spectrum)))
    b = np.roll(b, k)
    factor = (np.conj(b) * a).sum() / (np.abs(b) ** 2).sum()
    return float(1.0 / np.abs(factor)), float(np.abs(a - factor * b).max())


def _even(ring: Points) -> npt.NDArray[np.complex128]:
    """256 points at even distances round a ring, as complex numbers."""
    line = closed(ring)
    along = lengths_along(line)
    at = np.linspace(0.0, along[-1], 257)[:-1]
    return np.interp(at, along, line[:, 0]) + 1j * np.interp(at, along, line[:, 1])


def lay_over(old: Points, new: Points, likely: Sequence[Points]) -> Lay:
    """The turn and shift that lay ring ``new`` (M, 2) on ring ``old`` (N, 2) where most of it still agrees.

    ``likely`` are turns (2, 2) that are probable: how it lay when it was drawn, how its grain lies now. Others are
    looked for only where none of them serves.
    """
    target = resample(closed(old), ROUND_MM)[:-1]
    tree = cKDTree(target)
    points = resample(closed(new), 2.0 * ROUND_MM)
    best = _closest(points, target, tree, likely[0], False)
    for way in likely[1:]:
        if best[0] > SAME_MM:
            best = min(best, _closest(points, target, tree, way, False), key=lambda one: one[0])
    if best[0] < GOOD_MM:
        return best[1]
    turned = (_closest(points, target, tree, turn(likely[0], degrees), True) for degrees in range(0, 360, 30))
    return min(best, *turned, key=lambda one: one[0])[1]


def _closest(points: Points, target: Points, tree: cKDTree, way: Points, free: bool) -> tuple[float, Lay]:
    """Nearest points matched, the worst left out, again and again; the distance that most points keep."""
    turned = points @ way
    shift = (target.max(0) + target.min(0) - turned.max(0) - turned.min(0)) / 2
    lay = Lay(turn=way, shift=shift)
    ahead = np.roll(target, -1, axis=0) - np.roll(target, 1, axis=0)
    normals = np.column_stack([-ahead[:, 1], ahead[:, 0]]) / np.hypot(*ahead.T)[:, None]
    count = int(KEPT_SHARE * len(points))
    for round_ in range(ROUNDS):
        moved = lay.to(points)
        far, nearest = tree.query(moved)
        kept = np.argsort(far)[: count if round_ < ROUNDS // 2 else max(int(0.7 * count), 20)]
        there = nearest[kept]
        lay = _fitted(moved[kept], target[there], normals[there], lay, free)
    moved = lay.to(points)
    _, nearest = tree.query(moved)
    off = np.abs((normals[nearest] * (target[nearest] - moved)).sum(1))
    distance = float(np.sort(off)[:count].mean())
    # as it lay when drawn counts unless that is clearly worse: an outline is rarely turned
    return distance + (0.5 if free else 0.0), lay


def _fitted(moved: Points, on: Points, normals: Points, lay: Lay, free: bool) -> Lay:
    """The lay bettered so that points come nearer to the lines through ``on`` square to ``normals``; least squares."""
    middle = moved.mean(0)
    arm = moved - middle
    rows = np.column_stack([normals, normals[:, 1] * arm[:, 0] - normals[:, 0] * arm[:, 1]])
    off = (normals * (on - moved)).sum(1)
    step, *_ = np.linalg.lstsq(rows[:, : 3 if free else 2], off, rcond=None)
    angle = float(step[2]) if free else 0.0
    more = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return Lay(turn=lay.turn @ more, shift=(lay.shift - middle) @ more + middle + step[:2])


def match_corners(
    corners: Points, corner_turns: npt.NDArray[np.float64], nodes: Points, node_turns: npt.NDArray[np.float64]
) -> list[int]:
    """For each corner (in order round) the node that it became, in the same order round; every node at most once.

    Counts how far a corner moved and how differently it turns.
    """
    far = np.hypot(*(corners[:, None] - nodes[None]).transpose(2, 0, 1))
    cost = far + MM_PER_DEG * np.abs(corner_turns[:, None] - node_turns[None])
    wanted = np.unique(np.argsort(cost, axis=1)[:, :CANDIDATES])
    best: tuple[float, list[int]] = (np.inf, [])
    for first in np.argsort(cost[0, wanted])[:CANDIDATES]:
        around = np.roll(wanted, -int(first))
        total, found = _in_order(cost[:, around])
        if total < best[0]:
            best = (total, [int(around[k]) for k in found])
    return best[1]


def _in_order(cost: npt.NDArray[np.float64]) -> tuple[float, list[int]]:
    """The cheapest strictly rising choice of one column per row, beginning with column 0."""
    rows, columns = cost.shape
    if rows > columns:
        return np.inf, []
    total = np.full((rows, columns), np.inf)
    total[0, 0] = cost[0, 0]
    for row in range(1, rows):
        total[row, 1:] = np.minimum.accumulate(total[row - 1])[:-1] + cost[row, 1:]
    found = [int(np.argmin(total[-1]))]
    for row in range(rows - 2, -1, -1):
        found.append(int(np.argmin(total[row, : found[-1]])))
    return float(total[-1].min()), found[::-1]


def counter_clockwise(parts: list[Points]) -> list[Points]:
    """The same closed line of straight pieces and cubics, walked counter-clockwise."""
    ring = np.vstack([part[:-1] for part in parts])
    return parts if signed_area(ring) > 0 else [part[::-1] for part in parts[::-1]]
