"""A piece's edge from its mask to a fair ring: drawn roughly, measured, drawn with its corners, measured again."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import binary_opening
from scipy.spatial import cKDTree

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet
from convert.trace.edge.carry_on import carried_on
from convert.trace.edge.fairing import MEASURED, ROUGH, Fairness, FairRing, fair
from convert.trace.edge.notches import Notch, bridged, find_notches, mouth_mm
from convert.trace.edge.outline import EdgeSamples, measure_edge
from convert.trace.edge.ring import STEP_MM, even_ring, outward_normals, pointed, ring_of_mask, sharp_turns, smooth_ring
from convert.trace.paper.paper import Paper
from convert.trace.paper.weights import Weight, under_weights
from convert.trace.unseen.unseen import at_rim, at_tape

Values = npt.NDArray[np.float64]

_UNSURE_MM = 0.4  # samples with a larger standard error are left out
_NOISE_MM = 0.05  # of a sample's place that is always reckoned with
_BESIDE_MOUTH_MM = 1.5
_BLIND_MM = 12.0  # of edge on end without a trusted sample
_BLIND_CORNER_MM, _ABOUT_CORNER_MM = 8.0, 10.0  # so much less where the edge turns, and so far round the turn
_RAN_ON_MM = 1.5  # the rough outline lies nearer to the edge than that, whatever hides it
_CORNER_SIDES_MM = 14.0  # by which a corner is told: a notch's point turns as sharply over less
_ROUGH_TRUST = 0.03
_BARE, _INKED = 0.82, 0.9  # of a rim's usual darkness: so little is a shadow's, so much is print's
_MOSTLY = 0.5  # of an edge that bears print
_LONG_BARE_MM = 60.0
_MODEL_MM = 0.1  # what the look of an edge may be off by, all along it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FollowedEdge:
    """A piece's edge as it was followed.

    ``ring`` is the fair outline, notches bridged; ``rim_mm`` the width of a printed line's remainder along it; ``bare``
    the long stretches (K, 2) without it, where there is one elsewhere;
    ``uncertainty_mm`` the half-width of the 95 % interval across it; ``cut_off`` tells that it meets the picture's or
    the mat's end.
    """

    ring: FairRing
    rim_mm: float
    uncertainty_mm: float
    cut_off: bool
    bare: tuple[Points, ...] = ()


def follow_edge(sheet: FlatSheet, paper: Paper, index: int, weights: tuple[Weight, ...]) -> FollowedEdge:
    """The edge of the paper's piece number ``index``, run on under weights."""
    rough = ring_of_mask(paper.masks[index], paper.work)
    notches = find_notches(rough)
    drawn = even_ring(bridged(rough, notches))
    drawn = even_ring(carried_on(drawn, _hidden(drawn, weights))[0])
    seen = _away_from(drawn, rough, notches) * ~under_weights(drawn, weights)
    ring = fair(drawn, seen, ROUGH, hints=sharp_turns(drawn))
    edge: EdgeSamples | None = None
    trust = seen
    for how in (ROUGH, MEASURED):
        base = even_ring(ring.points)
        base = even_ring(carried_on(base, _hidden(base, weights))[0])
        edge = measure_edge(sheet, base, like=edge.rim if edge else None)
        trust = _trust(edge) * ~at_rim(paper, base) * ~at_tape(paper, base)
        points, trust = _with_rough(edge.points, trust, drawn, _long(trust <= 0, _BLIND_MM))
        hidden = _hidden(base, weights)
        points[hidden], trust[hidden] = base[hidden], _ROUGH_TRUST
        trust = trust * _away_from(base, rough, notches)
        ring = faired(points, trust, drawn, how, hints=ring.points[ring.corners])
    assert edge is not None
    return FollowedEdge(
        ring=ring,
        rim_mm=edge.rim.width_mm,
        uncertainty_mm=_uncertainty_mm(edge, ring, trust),
        cut_off=bool(at_rim(paper, drawn).any()),
        bare=_bare_stretches(edge),
    )


def _hidden(ring: Points, weights: tuple[Weight, ...]) -> npt.NDArray[np.bool_]:
    """What of a ring (N,) is drawn from its sides: under a weight, or by a corner so pointed that it shows blunt."""
    return under_weights(ring, weights) | pointed(ring)


def _bare_stretches(edge: EdgeSamples) -> tuple[Points, ...]:
    """Long stretches (K, 2) of an edge that bear no print while most of it does: folded there, or cut off."""
    bare = edge.printed < _BARE
    if edge.rim.width_mm == 0 or (edge.printed > _INKED).mean() < _MOSTLY or bare.all() or not bare.any():
        return ()
    start = int(np.flatnonzero(~bare)[0])
    turned, points = np.roll(bare, -start), np.roll(edge.points, -start, axis=0)
    ends = np.flatnonzero(np.diff(turned.astype(int))) + 1
    runs = np.split(np.arange(len(bare)), ends)[1::2]
    return tuple(points[run] for run in runs if len(run) > _LONG_BARE_MM / STEP_MM)


def _trust(edge: EdgeSamples) -> Values:
    """Weight (N,) of each sample of the edge: none where it is unsure."""
    weight = 1.0 / (np.minimum(edge.error, 10.0) ** 2 + _NOISE_MM**2)
    weight[edge.error > _UNSURE_MM] = 0.0
    return np.asarray(weight / weight.max(), float)


def faired(points: Points, weight: Values, rough: Points, how: Fairness, *, hints: Points | None = None) -> FairRing:
    """The fair ring through samples (N, 2) by weight (N,), drawn again where it has run on past a corner of ``rough``.

    A line of the mat along one side of a corner hides where it turns.
    """
    ring = fair(points, weight, how, hints=hints)
    turns = sharp_turns(rough, over_mm=_CORNER_SIDES_MM)
    passed = turns[cKDTree(ring.points).query(turns)[0] > _RAN_ON_MM] if len(turns) else turns
    astray = _long(weight <= 0, _BLIND_CORNER_MM) & _about(points, passed)
    return fair(*_with_rough(points, weight, rough, astray), how, hints=hints) if astray.any() else ring


def _about(points: Points, places: Points) -> npt.NDArray[np.bool_]:
    """Which of some points (N, 2) lie round any of some places."""
    if len(places) == 0:
        return np.zeros(len(points), bool)
    return np.asarray(cKDTree(places).query(points)[0] <= _ABOUT_CORNER_MM)


def _with_rough(points: Points, weight: Values, rough: Points, blind: npt.NDArray[np.bool_]) -> tuple[Points, Values]:
    """Samples and weights with the rough outline, a little trusted, in places (N,) where nothing is measured."""
    good = weight > 0
    if not blind.any() or not good.any():
        return points.copy(), weight.copy()
    near = cKDTree(rough).query(points)[1]
    normals = outward_normals(smooth_ring(rough, 4.0))
    beyond = float(np.median(((points - rough[near]) * normals[near]).sum(1)[good]))
    out, trust = points.copy(), weight.copy()
    out[blind] = rough[near[blind]] + beyond * normals[near[blind]]
    trust[blind] = _ROUGH_TRUST
    return out, trust


def _long(mask: npt.NDArray[np.bool_], least_mm: float) -> npt.NDArray[np.bool_]:
    """What of a mask (N,) along a ring goes on for so long."""
    return np.asarray(binary_opening(np.tile(mask, 3), np.ones(round(least_mm / STEP_MM)))[len(mask) : 2 * len(mask)])


def _away_from(ring: Points, rough: Points, notches: tuple[Notch, ...]) -> Values:
    """1 (N,) for each point of a ring, 0 in a notch's mouth, where the bridge across it is not measured."""
    out = np.ones(len(ring))
    for notch in notches:
        middle = (rough[notch.first] + rough[notch.last]) / 2
        out[np.hypot(*(ring - middle).T) < mouth_mm(rough, notch) / 2 + _BESIDE_MOUTH_MM] = 0.0
    return out


def _uncertainty_mm(edge: EdgeSamples, ring: FairRing, weight: Values) -> float:
    """Half-width of the 95 % interval across the outline, from how the trusted samples scatter about it."""
    normals = outward_normals(smooth_ring(ring.points, 2.0))
    off = np.abs(((edge.points[ring.source] - ring.points) * normals).sum(1))[weight[ring.source] > 0.05]
    beside = np.hypot(_MODEL_MM, edge.rim.doubt_mm)
    return float(np.hypot(min(float(np.percentile(off, 95)), 2.0), beside)) if len(off) else 2.0
