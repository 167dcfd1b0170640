"""A piece's edge from its mask to a fair ring: drawn roughly, measured, drawn with its corners, measured again."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import binary_opening
from scipy.spatial import cKDTree

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet
from convert.trace.edge.carry_on import carried_on
from convert.trace.edge.fairing import MEASURED, ROUGH, FairRing, fair
from convert.trace.edge.notches import Notch, bridged, find_notches, mouth_mm
from convert.trace.edge.outline import EdgeSamples, measure_edge
from convert.trace.edge.ring import STEP_MM, even_ring, outward_normals, ring_of_mask, sharp_turns, smooth_ring
from convert.trace.paper.paper import Paper
from convert.trace.paper.weights import Weight, under_weights
from convert.trace.unseen.unseen import at_rim, at_tape

Values = npt.NDArray[np.float64]

_UNSURE_MM = 0.4  # samples with a larger standard error are left out
_NOISE_MM = 0.05  # of a sample's place that is always reckoned with
_BESIDE_MOUTH_MM = 1.5
_BLIND_MM = 12.0  # of edge on end without a trusted sample
_ROUGH_TRUST = 0.03
_MODEL_MM = 0.1  # what the look of an edge may be off by, all along it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FollowedEdge:
    """A piece's edge as it was followed.

    ``ring`` is the fair outline, notches bridged; ``rim_mm`` the width of a printed line's remainder along it;
    ``uncertainty_mm`` the half-width of the 95 % interval across it; ``cut_off`` tells that it meets the picture's or
    the mat's end.
    """

    ring: FairRing
    rim_mm: float
    uncertainty_mm: float
    cut_off: bool


def follow_edge(sheet: FlatSheet, paper: Paper, index: int, weights: tuple[Weight, ...]) -> FollowedEdge:
    """The edge of the paper's piece number ``index``, run on under weights."""
    rough = ring_of_mask(paper.masks[index], paper.work)
    notches = find_notches(rough)
    drawn = even_ring(bridged(rough, notches))
    drawn = even_ring(carried_on(drawn, under_weights(drawn, weights))[0])
    seen = _away_from(drawn, rough, notches) * ~under_weights(drawn, weights)
    ring = fair(drawn, seen, ROUGH, hints=sharp_turns(drawn))
    edge: EdgeSamples | None = None
    trust = seen
    for how in (ROUGH, MEASURED):
        base = even_ring(ring.points)
        base = even_ring(carried_on(base, under_weights(base, weights))[0])
        edge = measure_edge(sheet, base, like=edge.rim if edge else None)
        trust = _trust(edge) * ~at_rim(paper, base) * ~at_tape(paper, base)
        points, trust = _with_rough(edge.points, trust, drawn)
        hidden = under_weights(base, weights)
        points[hidden], trust[hidden] = base[hidden], _ROUGH_TRUST
        trust = trust * _away_from(base, rough, notches)
        ring = fair(points, trust, how, hints=ring.points[ring.corners])
    assert edge is not None
    return FollowedEdge(
        ring=ring,
        rim_mm=edge.rim.width_mm,
        uncertainty_mm=_uncertainty_mm(edge, ring, trust),
        cut_off=bool(at_rim(paper, drawn).any()),
    )


def _trust(edge: EdgeSamples) -> Values:
    """Weight (N,) of each sample of the edge: none where it is unsure."""
    weight = 1.0 / (np.minimum(edge.error, 10.0) ** 2 + _NOISE_MM**2)
    weight[edge.error > _UNSURE_MM] = 0.0
    return np.asarray(weight / weight.max(), float)


def _with_rough(points: Points, weight: Values, rough: Points) -> tuple[Points, Values]:
    """Samples and weights with the rough outline, a little trusted, wherever nothing is measured for long."""
    good = weight > 0
    blind = binary_opening(np.tile(~good, 3), np.ones(round(_BLIND_MM / STEP_MM)))[len(good) : 2 * len(good)]
    if not blind.any() or not good.any():
        return points.copy(), weight.copy()
    near = cKDTree(rough).query(points)[1]
    normals = outward_normals(smooth_ring(rough, 4.0))
    beyond = float(np.median(((points - rough[near]) * normals[near]).sum(1)[good]))
    out, trust = points.copy(), weight.copy()
    out[blind] = rough[near[blind]] + beyond * normals[near[blind]]
    trust[blind] = _ROUGH_TRUST
    return out, trust


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
    return float(np.hypot(min(float(np.percentile(off, 95)), 2.0), _MODEL_MM)) if len(off) else 2.0
