"""Reading a flat sheet: each piece of paper on it, with its outline and its marks."""

import numpy as np
import numpy.typing as npt
from scipy.ndimage import binary_opening
from scipy.spatial import cKDTree

from calibration.errors import Note
from calibration.flatten import FlatSheet
from calibration.points import Points
from convert.trace.fairing import MEASURED, ROUGH, FairRing, fair
from convert.trace.holes import find_holes
from convert.trace.notch_shapes import read_notches
from convert.trace.notches import Notch, bridged, find_notches, mouth_mm
from convert.trace.outline import EdgeSamples, measure_edge
from convert.trace.paper import Paper, find_paper
from convert.trace.ring import STEP_MM, even_ring, outward_normals, ring_of_mask, smooth_ring
from convert.trace.tracing import Tracing

Values = npt.NDArray[np.float64]

_UNSURE_MM = 0.4  # samples with a larger standard error are left out
_NOISE_MM = 0.05  # of a sample's place that is always reckoned with
_BESIDE_MOUTH_MM = 1.5
_BLIND_MM = 12.0  # of edge on end without a trusted sample
_ROUGH_TRUST = 0.03


def trace(sheet: FlatSheet, *, size: int | str | None = None) -> tuple[Tracing, ...]:
    """Every piece of paper on a sheet, left to right as it lies.

    Parameters
    ----------
    size : int or str, optional
        Of nested sizes, 1 being the innermost, or the number printed beside the line.

    Raises
    ------
    InputError
        If there is no paper, or it can't be told from the mat.
    """
    paper = find_paper(sheet)
    return tuple(_trace_piece(sheet, paper, index) for index in range(len(paper.masks)))


def _trace_piece(sheet: FlatSheet, paper: Paper, index: int) -> Tracing:
    """One piece of paper."""
    rough = ring_of_mask(paper.masks[index], paper.work)
    notches = find_notches(rough)
    drawn = even_ring(bridged(rough, notches))
    ring = fair(drawn, _away_from(drawn, rough, notches), ROUGH)
    for how in (ROUGH, MEASURED):
        base, hints = even_ring(ring.points), ring.points[ring.corners]
        edge = measure_edge(sheet, base)
        weight = _trust(edge)
        points, weight = _with_rough(edge.points, weight, rough)
        ring = fair(points, weight * _away_from(base, rough, notches), how, hints=hints)
    notes: tuple[Note, ...] = ()
    return Tracing(
        outline=ring.points,
        corners=ring.corners,
        inferred=np.zeros(len(ring.points), bool),
        marks=read_notches(sheet, ring, edge.rim.width_mm) + find_holes(paper, paper.masks[index]),
        uncertainty_mm=_uncertainty_mm(edge, ring, weight),
        label=str(index + 1) if len(paper.masks) > 1 else "",
        notes=notes,
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
        return points, weight
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
    return float(np.clip(np.percentile(off, 95), 0.08, 2.0)) if len(off) else 2.0
