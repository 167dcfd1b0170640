"""Reading a flat sheet: each piece of paper on it, with its outline and its marks."""

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import binary_opening
from scipy.spatial import cKDTree

from calibration.errors import Note
from calibration.flatten import FlatSheet
from calibration.points import Points
from convert.trace.carry_on import carried_on
from convert.trace.damage import Damage, find_damage
from convert.trace.fairing import MEASURED, ROUGH, FairRing, fair
from convert.trace.holes import find_holes
from convert.trace.nest import printed_cut_line
from convert.trace.notch_shapes import read_notches
from convert.trace.notches import Notch, bridged, find_notches, mouth_mm
from convert.trace.outline import EdgeSamples, measure_edge
from convert.trace.paper import Paper, find_paper
from convert.trace.ring import STEP_MM, even_ring, outward_normals, ring_of_mask, sharp_turns, smooth_ring
from convert.trace.soundness import doubts
from convert.trace.tracing import TracedMark, Tracing
from convert.trace.weights import Weight, find_weights, under_weights

Values = npt.NDArray[np.float64]

_UNSURE_MM = 0.4  # samples with a larger standard error are left out
_NOISE_MM = 0.05  # of a sample's place that is always reckoned with
_BESIDE_MOUTH_MM = 1.5
_RIM_MM = 1.6  # from where the mat or the picture ends
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
    weights = find_weights(paper.work, paper.masks)
    pieces = []
    for index in range(len(paper.masks)):
        cut, rim_mm = _trace_piece(sheet, paper, weights, index)
        uncut = _on_uncut(sheet, paper, cut, index, size) if rim_mm == 0 or size is not None else None
        pieces.append(uncut or cut)
    return tuple(pieces)


def _on_uncut(sheet: FlatSheet, paper: Paper, cut: Tracing, index: int, size: int | str | None) -> Tracing | None:
    """The printed cut line of an uncut sheet in place of the paper's edge, or None where none is printed."""
    height, width = sheet.pixels.shape[:2]
    mask = cv2.resize(paper.masks[index].astype(np.uint8), (width, height), interpolation=cv2.INTER_NEAREST) > 0
    printed = printed_cut_line(sheet, mask, size)
    if printed is None:
        return None
    return replace(
        cut,
        outline=printed.outline,
        corners=printed.corners,
        inferred=np.zeros(len(printed.outline), bool),
        lines=printed.lines,
        marks=printed.notches,
    )


def _trace_piece(sheet: FlatSheet, paper: Paper, weights: tuple[Weight, ...], index: int) -> tuple[Tracing, float]:
    """One piece of paper as it is cut, and the width of the printed line's remainder along its edge."""
    rough = ring_of_mask(paper.masks[index], paper.work)
    notches = find_notches(rough)
    drawn = even_ring(bridged(rough, notches))
    drawn, _ = carried_on(drawn, under_weights(drawn, weights))
    drawn = even_ring(drawn)
    cut_off = _at_rim(paper, drawn)
    ring = fair(
        drawn, _away_from(drawn, rough, notches) * ~under_weights(drawn, weights), ROUGH, hints=sharp_turns(drawn)
    )
    edge = None
    for how in (ROUGH, MEASURED):
        hints = ring.points[ring.corners]
        base = even_ring(ring.points)
        base = even_ring(carried_on(base, under_weights(base, weights))[0])
        edge = measure_edge(sheet, base, like=edge.rim if edge else None)
        hidden = under_weights(base, weights)
        weight = _trust(edge) * ~_at_rim(paper, base)
        points, weight = _with_rough(edge.points, weight, drawn)
        points[hidden], weight[hidden] = base[hidden], _ROUGH_TRUST
        ring = fair(points, weight * _away_from(base, rough, notches), how, hints=hints)
    hidden = under_weights(ring.points, weights) | _at_rim(paper, ring.points)
    damage = find_damage(ring.points, ring.corners, paper.masks[index], paper.work)
    outline, corners, inferred = _mended(ring, damage.torn & ~hidden, hidden)
    marks = read_notches(sheet, ring, edge.rim.width_mm) + find_holes(paper, paper.masks[index])
    doubtful = doubts(outline, paper.masks[index], paper.work)
    notes = _notes(paper, ring.points, weights, damage) + doubtful
    tracing = Tracing(
        outline=outline,
        corners=corners,
        inferred=inferred,
        marks=_in_the_open(marks, paper, weights),
        uncertainty_mm=_uncertainty_mm(edge, ring, weight),
        complete=not cut_off.any() and not doubtful,
        label=str(index + 1) if len(paper.masks) > 1 else "",
        notes=notes,
    )
    return tracing, edge.rim.width_mm


def _mended(
    ring: FairRing, torn: npt.NDArray[np.bool_], hidden: npt.NDArray[np.bool_]
) -> tuple[Points, npt.NDArray[np.int64], npt.NDArray[np.bool_]]:
    """Outline, corners and what is inferred of it, torn stretches drawn as they were before."""
    if not torn.any():
        return ring.points, ring.corners, hidden
    drawn, new = carried_on(ring.points, torn)
    kept = ring.points[ring.corners][~torn[ring.corners]]
    fresh = [place for place in sharp_turns(drawn) if new[np.argmin(((drawn - place) ** 2).sum(1))]]
    near = cKDTree(drawn).query(np.vstack([kept, *[f[None] for f in fresh]]))[1]
    under = hidden[cKDTree(ring.points).query(drawn)[1]]
    return drawn, np.unique(near), new | under


def _in_the_open(marks: tuple[TracedMark, ...], paper: Paper, weights: tuple[Weight, ...]) -> tuple[TracedMark, ...]:
    """The marks that lie neither by a weight nor where the picture or the mat ends."""
    at = np.array([mark.at for mark in marks]).reshape(-1, 2)
    hidden = under_weights(at, weights, around_mm=0.0) | _at_rim(paper, at)
    return tuple(mark for mark, out in zip(marks, hidden, strict=True) if not out)


def _at_rim(paper: Paper, points: Points) -> npt.NDArray[np.bool_]:
    """Which points (N, 2) lie where the mat or the picture ends: the paper goes on beyond, unseen."""
    height, width = paper.depth_mm.shape
    px = np.clip(np.rint(paper.work.to_px(points)).astype(int), 0, [width - 1, height - 1])
    return np.asarray(paper.depth_mm[px[:, 1], px[:, 0]] < _RIM_MM)


def _notes(paper: Paper, ring: Points, weights: tuple[Weight, ...], damage: Damage) -> tuple[Note, ...]:
    """What could not be seen of an outline, and where."""
    notes = []
    rim = ring[_at_rim(paper, ring)]
    if len(rim):
        middle = ring.mean(0)
        sides = {"left": rim[:, 0].min() < ring[:, 0].min() + 3, "right": rim[:, 0].max() > ring[:, 0].max() - 3}
        sides |= {"bottom": rim[:, 1].min() < ring[:, 1].min() + 3, "top": rim[:, 1].max() > ring[:, 1].max() - 3}
        far = rim - middle
        side = (
            ("right" if far[:, 0].mean() > 0 else "left")
            if np.ptp(rim[:, 0]) < np.ptp(rim[:, 1])
            else ("top" if far[:, 1].mean() > 0 else "bottom")
        )
        notes.append(
            Note(
                "runs-off",
                f"The paper runs off the mat or out of the picture on the {side}; what lies beyond was not read. "
                "Lay the whole piece on the mat, or take overlapping pictures.",
            )
        )
    for weight in weights:
        if np.hypot(*(ring - weight.centre).T).min() < weight.radius_mm:
            x, y = weight.centre / 10
            notes.append(
                Note(
                    "under-weight",
                    f"A weight hides the edge near {x:.0f} cm across, {y:.0f} cm up; it is inferred there.",
                )
            )
    for place in damage.places:
        x, y = place / 10
        notes.append(
            Note("torn", f"The paper is torn near {x:.0f} cm across, {y:.0f} cm up; the edge is inferred there.")
        )
    return tuple(notes)


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
