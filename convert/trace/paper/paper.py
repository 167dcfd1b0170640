"""Paper against mat: which part of the picture is paper, piece by piece."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from calibration.lattice.mat import Lattice
from calibration.sheet.flatten import FlatSheet
from convert.trace.paper.mat_colour import Field, colour_field, log_colour, mat_field, rim_field
from convert.trace.paper.raster import WorkRaster, channel_dot, reduce
from convert.trace.paper.tape import tape_beyond

Mask = npt.NDArray[np.bool_]

SMALLEST_MM2 = 3000.0  # a piece of paper smaller than this (55 mm square) is no pattern piece
_MEDIAN_PX = 5  # of the median filter that takes out thin print
_SHADE = 0.04  # light and shade shift log colour by this much (standard deviation) where nothing was measured
_EVEN_SHADE = 0.01  # and by this under a scanner's lid, or where a sheet was put together on one colour
_NOISE = 0.008  # of log colour that is always reckoned with
_DIFFERENT = 16.0  # squared Mahalanobis distance beyond which a pixel is not mat
_PAPER_TINT = 0.25  # pixels within this of the commonest colour on the mat are surely paper
_BORDER = 0.25  # share of a row beside the lattice that is plain mat as long as the mat goes on
_SPUR_MM = 1.2  # print on the mat that touches the paper is thinner than twice this
_REMEDY = (
    "Lay the piece on a mat of another colour, or slip a sheet of coloured paper under it, and take it again; "
    "or tell its outline by hand."
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Paper:
    """What is paper in a sheet.

    Attributes
    ----------
    work : WorkRaster
        The coarse raster the masks lie on.
    share : (h, w) float32
        0 on mat, 1 on paper, between them at the edge; beyond 0 and 1 where something else lies.
    masks : tuple of (h, w) bool
        One for each piece of paper, holes filled, left to right.
    ground : (h, w) bool
        The mat with its border, as far as the picture shows it: paper beyond that is not followed.
    depth_mm : (h, w) float32
        How far inside that each pixel lies.
    colour : (h, w, 3) float32
        Log colour of the raster, thin print filtered out.
    mat, paper : (h, w, 3) float32
        Log colour of mat and paper alone, all over the raster.
    axis : (3,)
        Direction in log colour that tells them apart best.
    tape : (h, w) bool
        Clear tape that sticks out of a piece's edge, no part of any mask.
    """

    work: WorkRaster
    share: npt.NDArray[np.float32]
    masks: tuple[Mask, ...]
    ground: Mask
    depth_mm: npt.NDArray[np.float32]
    colour: Field
    mat: Field
    paper: Field
    axis: npt.NDArray[np.float64]
    tape: Mask


def find_paper(sheet: FlatSheet) -> Paper:
    """The pieces of paper in a sheet.

    Raises
    ------
    InputError
        If no paper is found or the paper has the colour of the mat.
    """
    work = reduce(sheet)
    lattice = sheet.lattice
    colour = log_colour(cv2.medianBlur(without_lattice(work, lattice) if lattice else work.pixels, _MEDIAN_PX))
    mat, bare_at = mat_field(work, lattice) if lattice else rim_field(work, colour)
    region = lattice_region(work, lattice) if lattice else work.seen
    scatter = _scatter(colour - mat, work, bare_at, shade=_SHADE if lattice else _EVEN_SHADE)
    odd = _mahalanobis(colour - mat, scatter) > _DIFFERENT
    sure = _sure_paper(colour, odd & region & work.seen, work)
    rows, columns = np.nonzero(sure)
    pick = np.linspace(0, len(rows) - 1, min(len(rows), 40000)).astype(int)
    at_px = np.column_stack([columns[pick], rows[pick]])
    paper = colour_field(work, work.to_mm(at_px), colour[rows[pick], columns[pick]], tile_mm=20.0)
    gap = (paper - mat)[sure].mean(0).astype(float)
    axis = np.linalg.solve(scatter, gap)
    axis /= np.linalg.norm(axis)
    weights = axis.astype(np.float32)
    share = np.asarray((colour - mat) @ weights / np.maximum((paper - mat) @ weights, 1e-3), np.float32)
    ground = (_with_border(work, lattice, odd) if lattice else region) & work.seen
    masks = _pieces((share > 0.5) & ground, sure & ground, work)
    if not masks:
        middle = work.to_mm(at_px).mean(0) / 10
        raise InputError(
            f"Something lies on the mat near {middle[0]:.0f} cm across, {middle[1]:.0f} cm up, but its edge can't be "
            "told from the mat: its colour is too much like the mat's own.",
            _REMEDY,
        )
    depth = cv2.distanceTransform(np.pad(ground.astype(np.uint8), 1), cv2.DIST_L2, 3)[1:-1, 1:-1]
    depth_mm = np.asarray(depth * work.mm_per_px, np.float32)
    veils = [tape_beyond(share, mask, depth_mm, work) for mask in masks]
    masks = tuple(_without(mask, veil, work) for mask, veil in zip(masks, veils, strict=True))
    return Paper(
        work=work,
        share=share,
        masks=masks,
        ground=ground,
        depth_mm=depth_mm,
        colour=colour,
        mat=mat,
        paper=paper,
        axis=axis,
        tape=np.any(veils, axis=0) if veils else np.zeros(share.shape, bool),
    )


def _with_border(work: WorkRaster, lattice: Lattice, odd: Mask) -> Mask:
    """The lattice with the mat's unprinted border, side by side as far as it has the mat's colour."""
    inside = lattice_region(work, lattice)
    rows, columns = np.flatnonzero(inside.any(1)), np.flatnonzero(inside.any(0))
    ends = [rows[0], rows[-1], columns[0], columns[-1]]
    height, width = odd.shape
    plain = ~odd & work.seen
    across, along = plain[:, columns[0] : columns[-1] + 1].mean(1), plain[rows[0] : rows[-1] + 1].mean(0)
    for k, (profile, step, limit) in enumerate(
        [(across, -1, 0), (across, 1, height - 1), (along, -1, 0), (along, 1, width - 1)]
    ):
        while ends[k] != limit and profile[ends[k] + step] > _BORDER:
            ends[k] += step
        if ends[k] != limit:  # a mat's edge is bevelled and casts a shadow
            ends[k] -= step * work.px(1.0)
    grown = np.zeros_like(inside)
    grown[ends[0] : ends[1] + 1, ends[2] : ends[3] + 1] = True
    return grown


def lattice_region(work: WorkRaster, lattice: Lattice, *, margin_mm: float = 0.0) -> Mask:
    """Which pixels lie inside the lattice, grown by ``margin_mm``."""
    low = np.array([lattice.first_x, lattice.first_y]) * lattice.pitches_mm - margin_mm
    high = np.array([lattice.last_x, lattice.last_y]) * lattice.pitches_mm + margin_mm
    (left, bottom), (right, top) = np.rint(work.to_px([low, high])).astype(int)
    inside = np.zeros(work.seen.shape, bool)
    inside[max(top, 0) : max(bottom + 1, 0), max(left, 0) : max(right + 1, 0)] = True
    return inside


def without_lattice(work: WorkRaster, lattice: Lattice) -> npt.NDArray[np.uint8]:
    """The pixels with the known lattice lines painted over from both sides."""
    out = work.pixels.astype(np.float32)
    if lattice.kind == "lines":
        for axis in (0, 1):
            first, last = (lattice.first_x, lattice.last_x) if axis == 0 else (lattice.first_y, lattice.last_y)
            view = out if axis == 0 else out.transpose(1, 0, 2)
            for index in range(first, last + 1):
                _paint_over(view, work, lattice, axis, index)
    return np.asarray(np.clip(out + 0.5, 0, 255).astype(np.uint8))


def _paint_over(view: Field, work: WorkRaster, lattice: Lattice, axis: int, index: int) -> None:
    """Replace the columns of one line by what lies to both sides of it."""
    place = np.zeros((1, 2))
    place[0, axis] = index * lattice.pitches_mm[axis]
    centre = float(work.to_px(place)[0, axis])
    half = lattice.heavy_width_mm / 2 / work.mm_per_px + 0.9
    low, high = int(np.floor(centre - half)), int(np.ceil(centre + half))
    if low < 1 or high > view.shape[1] - 2:
        return
    for column in range(low + 1, high):
        share = (column - low) / (high - low)
        view[:, column] = (1 - share) * view[:, low] + share * view[:, high]


def _scatter(off: Field, work: WorkRaster, bare_at: Points, *, shade: float) -> npt.NDArray[np.float64]:
    """Covariance (3, 3) of the mat's log colour about its field, with light, shade and noise reckoned in."""
    px = np.rint(work.to_px(bare_at)).astype(int)
    height, width = work.seen.shape
    px = np.clip(px, 0, [width - 1, height - 1])
    rest = off[px[:, 1], px[:, 0]].astype(float)
    rest = rest[np.abs(rest).max(1) < 4 * np.median(np.abs(rest).max(1)) + 0.02]
    measured = np.cov(rest.T) if len(rest) > 20 else np.zeros((3, 3))
    return np.asarray(measured + shade**2 * np.ones((3, 3)) + _NOISE**2 * np.eye(3), float)


def _mahalanobis(off: Field, scatter: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
    """Squared distance of every pixel from the mat."""
    whiten = np.linalg.cholesky(np.linalg.inv(scatter)).astype(np.float32)
    white = off @ whiten
    return np.asarray(channel_dot(white, white), np.float32)


def _sure_paper(colour: Field, odd: Mask, work: WorkRaster) -> Mask:
    """The pixels with the commonest colour that is not the mat's."""
    inner = cv2.erode(odd.astype(np.uint8), work.disc(1.5)).astype(bool)
    if inner.sum() * work.mm_per_px**2 < SMALLEST_MM2:
        raise InputError(
            "No paper was found on the mat: either none lies there or it has the mat's own colour.",
            _REMEDY,
        )
    values = colour[inner]
    values = values[:: max(1, len(values) // 60000)]
    bins = np.floor((values - 2.9) / 0.08).astype(int).clip(0, 39)
    smooth = np.bincount(bins @ [1600, 40, 1], minlength=64000).reshape(40, 40, 40)
    for axis in range(3):
        smooth = smooth + np.roll(smooth, 1, axis) + np.roll(smooth, -1, axis)
    mode = (np.array(np.unravel_index(int(smooth.argmax()), smooth.shape)) + 0.5) * 0.08 + 2.9
    for _ in range(4):
        near = np.abs(values - mode).max(1) < _PAPER_TINT
        mode = values[near].mean(0)
    alike = cv2.inRange(colour, mode.astype(float) - _PAPER_TINT, mode.astype(float) + _PAPER_TINT)
    return np.asarray(inner & (alike > 0))


def _pieces(mask: Mask, sure: Mask, work: WorkRaster) -> tuple[Mask, ...]:
    """Connected pieces of paper, freed of the mat's print, holes filled, left to right."""
    opened = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, work.disc(_SPUR_MM))
    count, labels, stats, centres = cv2.connectedComponentsWithStats(opened, connectivity=4)
    surely = np.bincount(labels[sure], minlength=count) * work.mm_per_px**2
    kept = [i for i in range(1, count) if surely[i] > 0.5 * stats[i, cv2.CC_STAT_AREA] * work.mm_per_px**2]
    kept = [i for i in kept if surely[i] > max(SMALLEST_MM2, 0.1 * surely[1:].max())]
    return tuple(_filled(labels == i) for i in sorted(kept, key=lambda i: centres[i][0]))


def _without(mask: Mask, veil: Mask, work: WorkRaster) -> Mask:
    """A piece's mask without the tape that sticks out of it."""
    if not veil.any():
        return mask
    left = cv2.morphologyEx((mask & ~veil).astype(np.uint8), cv2.MORPH_OPEN, work.disc(_SPUR_MM))
    return _filled(np.asarray(left > 0))


def _filled(mask: Mask) -> Mask:
    """The mask without its holes."""
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    out = np.zeros(mask.shape, np.uint8)
    cv2.drawContours(out, [max(rings, key=cv2.contourArea)], -1, 1, cv2.FILLED)
    return out.astype(bool)
