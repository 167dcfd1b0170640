"""Torn paper: tears that run into the edge, and corners that are gone."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, lengths_along
from convert.trace.edge.ring import STEP_MM, turns
from convert.trace.paper.raster import WorkRaster

Mask = npt.NDArray[np.bool_]

_MOUTH_MM = 26.0  # a tear is narrower than this at the edge
_DEEP_MM, _DEEPEST_MM = 9.5, 45.0  # deeper than any notch, shallower than a dart that is cut out
_LEAST_MM2 = 25.0
_SIDE_MM, _STRAIGHT_MM = 15.0, 0.5  # a dart's cut side is straight for so long, to so much
_TIP_MM, _BY_MOUTH_MM = 4.0, 5.0  # left out at its ends
_RAGGED = 5  # corners close together that no cutter makes
_FEW = 4  # or these, where together they turn as far as one corner
_CORNER_DEG, _SOFT_DEG = 40.0, 30.0
_MORE_MM = 6.0  # beyond the last corners of a torn stretch
_CLOSE_MM = 15.0
_SPAN_MM = 70.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Damage:
    """Which points of a ring are torn edge (N,), and where each tear is (K, 2)."""

    torn: Mask
    places: Points


def find_damage(ring: Points, corners: npt.NDArray[np.int64], mask: Mask, work: WorkRaster) -> Damage:
    """The torn stretches of a piece's outline."""
    torn = np.zeros(len(ring), bool)
    places: list[Points] = []
    for stretch in (*_tears(ring, mask, work), *_ragged(ring, corners)):
        if not (torn & stretch).any():
            places.append(ring[stretch].mean(0))
        torn |= stretch
    return Damage(torn=torn, places=np.array(places).reshape(-1, 2))


def _tears(ring: Points, mask: Mask, work: WorkRaster) -> list[Mask]:
    """Stretches of the outline that run into a slot too deep for a notch."""
    pad = work.px(_MOUTH_MM)
    solid = np.pad(mask.astype(np.uint8), pad)
    radius = _MOUTH_MM / 2 / work.mm_per_px
    grown = (cv2.distanceTransform(1 - solid, cv2.DIST_L2, 5) <= radius).astype(np.uint8)
    inside = cv2.distanceTransform(grown, cv2.DIST_L2, 5) - radius  # depth below the closed outline
    slots = ((inside > 0.5) & (solid == 0))[pad:-pad, pad:-pad]
    depth = inside[pad:-pad, pad:-pad] * work.mm_per_px
    count, labels, stats, _ = cv2.connectedComponentsWithStats(slots.astype(np.uint8), connectivity=8)
    found = []
    px = np.clip(np.rint(work.to_px(ring)).astype(int), 0, [mask.shape[1] - 1, mask.shape[0] - 1])
    for label in range(1, count):
        slot = labels == label
        if stats[label, cv2.CC_STAT_AREA] * work.mm_per_px**2 < _LEAST_MM2:
            continue
        if not _DEEP_MM < float(depth[slot].max()) < _DEEPEST_MM:
            continue
        near = np.asarray(cv2.dilate(slot.astype(np.uint8), work.disc(2.0)) > 0)
        found.append(near[px[:, 1], px[:, 0]])
    return [stretch for stretch in found if stretch.any() and not _is_cut_out(ring, stretch)]


def _is_cut_out(ring: Points, stretch: Mask) -> bool:
    """Whether a slot has two long straight sides, as a dart that is cut out has and a tear has not."""
    first = int(np.flatnonzero(stretch & ~np.roll(stretch, 1))[0]) if not stretch.all() else 0
    line = np.roll(ring, -first, axis=0)[: int(stretch.sum())]
    chord = line[-1] - line[0]
    off = line - line[0]
    deepest = int(np.abs(chord[0] * off[:, 1] - chord[1] * off[:, 0]).argmax())
    tip, mouth, least = (round(mm / STEP_MM) for mm in (_TIP_MM, _BY_MOUTH_MM, _SIDE_MM))
    sides = [line[mouth : deepest - tip], line[deepest + tip : len(line) - mouth]]
    return all(len(side) >= least and _wander(side) < _STRAIGHT_MM for side in sides)


def _wander(side: Points) -> float:
    """The greatest distance of points from the straight line fitted to them."""
    gap = side - side.mean(0)
    across = np.linalg.svd(gap, full_matrices=False)[2][1]
    return float(np.abs(gap @ across).max())


def _ragged(ring: Points, corners: npt.NDArray[np.int64]) -> list[Mask]:
    """Stretches with corner upon corner."""
    if len(corners) < _FEW:
        return []
    along = lengths_along(np.vstack([ring, ring[:1]]))
    at = along[corners]
    gaps = np.diff(np.append(at, at[0] + along[-1]))
    found = []
    start = int(gaps.argmax()) + 1
    order = [(start + k) % len(corners) for k in range(len(corners))]
    cluster = [order[0]]
    for before, here in zip(order, [*order[1:], -1], strict=True):
        if here >= 0 and gaps[before] < _CLOSE_MM:
            cluster.append(here)
            continue
        span = (at[cluster[-1]] - at[cluster[0]]) % along[-1]
        if span < _SPAN_MM and _no_cut(ring, corners, cluster):
            stretch = np.zeros(len(ring), bool)
            first, last = int(corners[cluster[0]]), int(corners[cluster[-1]])
            more = round(_MORE_MM / STEP_MM)
            stretch[np.arange(first - more, first + (last - first) % len(ring) + 1 + more) % len(ring)] = True
            found.append(stretch)
        cluster = [here]
    return found


def _no_cut(ring: Points, corners: npt.NDArray[np.int64], cluster: list[int]) -> bool:
    """Whether corners so close together are torn: too many, or a true corner's turn spread over several."""
    if len(cluster) < _FEW:
        return False
    turn = turns(ring, round(2.0 / STEP_MM))[corners[cluster]]
    near, far = round(6.0 / STEP_MM), round(16.0 / STEP_MM)
    first, last, n = int(corners[cluster[0]]), int(corners[cluster[-1]]), len(ring)
    before, after = ring[first - near] - ring[first - far], ring[(last + far) % n] - ring[(last + near) % n]
    cross = before[0] * after[1] - before[1] * after[0]
    net = float(np.degrees(np.arctan2(cross, before @ after)))
    inner = turn[1:-1]
    bend = float(np.abs(inner).max()) < _SOFT_DEG and len(set(np.sign(inner))) == 1  # drawn with corners it has not
    return (len(cluster) >= _RAGGED and not bend) or (net > _CORNER_DEG and float(turn.max()) < 0.8 * net)
