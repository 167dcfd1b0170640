"""Crossings of the lattice told by hand: where the search starts, and what it must come out at."""

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.points import Points, project
from calibration.lattice.dots import find_spots
from calibration.lattice.growth import Sketch, grow_from, grow_spots_from
from calibration.lattice.ridges import find_ridges
from calibration.lattice.search import REDUCTIONS, FoundLattice, dots_found, lines_found, reduced
from calibration.picture.photo import Photo
from calibration.view.fit import LineFit

ToldPoint = tuple[float, float, float, float]

_FEWEST = 4
_WHOLE = 0.02  # of a pitch, that a crossing told may be off a whole number of them
_LEAST_AREA = 0.5  # square pitches that the points must span, for each told
_FEWEST_SUPPORT = 200
_SURELY_LINES = 0.2  # of all ridge points, that lie on the lattice told; crosses among dots make a tenth
_FEWEST_SPOTS = 16
_SPOT_SHARE = 0.25
_OFF_CELLS = 0.4  # further from where the lattice was found, a point told was another crossing

_REMEDY = (
    "Tell at least four crossings far apart, not in one row, each with its place in the picture and its distance in "
    "whole squares from one crossing, to the right and up."
)


def told_lattice(photo: Photo, told: Sequence[ToldPoint], *, pitch_mm: float) -> FoundLattice:
    """The lattice through crossings told as (x px, y px, x mm, y mm), grown over the picture.

    Raises
    ------
    InputError
        If there are too few, they are no crossings or lie in one row, or no lines are seen about them.
    """
    px, cells = _checked(photo, told, pitch_mm)
    lines: list[tuple[float, float, FoundLattice]] = []
    for longest, sigma_px in REDUCTIONS:
        grey, factor = reduced(photo, longest)
        ridges = find_ridges(grey, sigma_px=sigma_px)
        sketch, support = grow_from(*_start(px, cells, factor, grey.shape), ridges)
        if support > _FEWEST_SUPPORT:
            lines.append((support / len(ridges), support, lines_found(sketch, ridges, factor)))
        if lines and lines[-1][0] > _SURELY_LINES:
            return replace(lines[-1][2], told_step=1)
    dots = [one for light in (False, True) if (one := _dots(photo, px, cells, light=light)) is not None]
    if dots or lines:
        return replace(max(dots or lines, key=lambda one: one[0])[2], told_step=1)
    raise InputError(
        f"No lines or dots of a grid are seen between the {len(told)} points told in {photo.name}.", _REMEDY
    )


def _dots(photo: Photo, px: Points, cells: Points, *, light: bool) -> tuple[float, float, FoundLattice] | None:
    """Share and number of spots on the lattice told, and the lattice; None where few are."""
    grey, factor = reduced(photo, REDUCTIONS[0][0])
    spots, _ = find_spots(-grey if light else grey)
    sketch, support = grow_spots_from(*_start(px, cells, factor, grey.shape), spots)
    if support < max(_FEWEST_SPOTS, _SPOT_SHARE * len(spots)):
        return None
    return support / len(spots), support, dots_found(sketch, spots, factor, light=light)


def check_told(photo: Photo, told: Sequence[ToldPoint], fit: LineFit, *, pitch_mm: float) -> None:
    """Compare what was told with the lattice found; ``pitch_mm`` is that of one cell of the fit.

    Raises
    ------
    InputError
        If a point told lies where the lattice has another crossing.
    """
    values = np.array(told, float)
    miss = np.hypot(*(fit.to_px(values[:, 2:] / pitch_mm) - values[:, :2]).T)
    worst = int(miss.argmax())
    if miss[worst] > _OFF_CELLS * fit.cell_px():
        raise InputError(
            f"Point {worst + 1} of those told in {photo.name} lies {miss[worst]:.0f} pixels from the crossing "
            f"{values[worst, 2]:g} mm right, {values[worst, 3]:g} mm up that the other points lead to.",
            "Look at that point again: which crossing is it?",
        )


def _checked(photo: Photo, told: Sequence[ToldPoint], pitch_mm: float) -> tuple[Points, Points]:
    values = np.array(told, float).reshape(-1, 4)
    if len(values) < _FEWEST or not np.isfinite(values).all():
        raise InputError(f"{len(values)} lattice points were told for {photo.name}; four or more are needed.", _REMEDY)
    px, cells = values[:, :2], values[:, 2:] / pitch_mm
    if ((px < -1) | (px > photo.size_px)).any():
        raise InputError(f"A lattice point told for {photo.name} lies outside its {photo.size_px} pixels.", _REMEDY)
    off = np.abs(cells - np.round(cells)).max(1)
    if off.max() > _WHOLE:
        worst = values[int(off.argmax())]
        raise InputError(
            f"The lattice point {worst[2]:g} mm right, {worst[3]:g} mm up told for {photo.name} is no crossing of a "
            f"{pitch_mm:g} mm grid.",
            "Tell each point in whole squares.",
        )
    hull = cv2.convexHull(np.round(cells).astype(np.float32))
    if cv2.contourArea(hull) < _LEAST_AREA * len(values):
        raise InputError(f"The lattice points told for {photo.name} lie in one row.", _REMEDY)
    return px, np.round(cells)


def _start(px: Points, cells: Points, factor: float, shape: tuple[int, ...]) -> tuple[Sketch, Points, float]:
    """The map through the points told, their middle, and how far they reach, in the reduced picture."""
    height, width = shape[:2]
    centre = np.array([(width - 1) / 2, (height - 1) / 2])
    half = float(np.hypot(*centre))
    small = (px + 0.5) * factor - 0.5
    fitted = np.asarray(cv2.findHomography((small - centre) / half, cells, 0)[0], np.float64)
    if not np.isfinite(fitted).all() or abs(fitted[2, 2]) < 1e-6:
        raise InputError("The lattice points told do not make a flat grid.", _REMEDY)
    matrix = np.asarray(fitted / fitted[2, 2], np.float64)
    off = np.abs(project(matrix, (small - centre) / half) - cells).max()
    if np.linalg.det(matrix) > 0 or off > _OFF_CELLS:
        raise InputError(
            "The lattice points told do not make a flat grid"
            + (" with x to the right and y up." if off <= _OFF_CELLS else f": one is {off:.1f} squares off."),
            "Count squares to the right and up from one crossing, and look at each point again.",
        )
    middle = small.mean(0)
    reach = float(np.hypot(*(small - middle).T).max())
    return Sketch(matrix=matrix, bend=(0.0, 0.0), centre_px=centre, half_diagonal_px=half), middle, reach
