"""The fit in the mat's own frame: millimetres, x to the picture's right, y up, origin at a lattice crossing."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, project
from calibration.lattice.centres import LineCentres
from calibration.lattice.levels import Level
from calibration.lattice.mat import Lattice
from calibration.lattice.search import FoundLattice, Lines
from calibration.picture.photo import Photo
from calibration.view.accuracy import REACH_PITCHES, Accuracy, structure
from calibration.view.fit import LineFit, fit_lines
from calibration.view.view import MatView

_CENTRE_BIAS_PX = 0.012  # left in the centre of a line by sharpening and compression; measured on rendered pictures


def in_mat_frame(
    photo: Photo,
    found: FoundLattice,
    centres: LineCentres,
    fit: LineFit,
    lines: Lines,
    level: Level,
    *,
    pitch_mm: float,
    mat_scale: tuple[float, float],
) -> tuple[MatView, float]:
    """The fit once more in the mat frame, and what neighbouring residuals share (mm).

    The origin is the lattice's lower left crossing, or the one told. ``mat_scale`` is what a steel rule reads for each
    mm printed, along x and along y.
    """
    scale = np.array(mat_scale)
    cell_mm = pitch_mm * scale / level.step
    to_cells, axis_of = _told_axes(cell_mm) if found.told_step else _mat_axes(fit, lines, level, cell_mm)
    corner = np.array([[lines[0][0], lines[1][0]], [lines[0][1], lines[1][1]]], float)
    to_mm = np.asarray(np.linalg.inv(to_cells), np.float64)
    axis = axis_of[centres.family]
    on_axis = to_mm[axis, centres.family] * centres.line + to_mm[axis, 2]
    present = np.array(lines)[centres.family]
    inside = (centres.line >= present[:, 0]) & (centres.line <= present[:, 1])
    own = centres.only(inside)
    refit = fit_lines(
        own.at_px, axis[inside], on_axis[inside], own.noise_px, to_straight=fit.to_straight @ to_cells, lens=fit.lens
    )
    ends = np.sort(project(to_mm, corner), axis=0)
    lattice = _lattice(found, level, pitch_mm, scale, to_mm, ends)
    return _view(photo, own, axis[inside], refit, lattice)


def _told_axes(cell_mm: npt.NDArray[np.float64]) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.int64]]:
    """As :func:`_mat_axes` where cells were counted in the frame told."""
    return np.diag([*(1 / cell_mm), 1.0]), np.array([0, 1])


def _mat_axes(
    fit: LineFit, lines: Lines, level: Level, cell_mm: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.int64]]:
    """Homogeneous matrix (3, 3) from mat mm to cells, and the mat axis that each family counts along."""
    centre = np.median(fit.on_line_mm[fit.used], axis=0)[None]
    steps = [
        project(fit.to_straight, centre + step) - project(fit.to_straight, centre) for step in ([[0.5, 0]], [[0, 0.5]])
    ]
    first, second = steps[0][0], steps[1][0]
    straight = abs(first[0]) * abs(second[1]) >= abs(first[1]) * abs(second[0])
    x_step, y_step = (first, second) if straight else (second, first)
    signs = np.array([np.sign(x_step[0]) or 1.0, -np.sign(y_step[1]) or 1.0])
    if signs[0] * signs[1] * (x_step[0] * y_step[1] - x_step[1] * y_step[0]) > 0:
        signs[1] = -signs[1]
    order = [0, 1] if straight else [1, 0]
    to_cells = np.zeros((3, 3))
    to_cells[2, 2] = 1.0
    starts = ((level.first[0], lines[0]), (level.first[1], lines[1]))
    for axis, family in enumerate(order):
        first_line, (low, high) = starts[family]
        pitch_lines = np.arange(first_line - level.step * ((first_line - low) // level.step), high + 1, level.step)
        origin = pitch_lines[0] if signs[axis] > 0 else pitch_lines[-1]
        to_cells[family, axis] = signs[axis] / cell_mm[axis]
        to_cells[family, 2] = origin
    return to_cells, np.argsort(order)


def _lattice(
    found: FoundLattice,
    level: Level,
    pitch_mm: float,
    scale: npt.NDArray[np.float64],
    to_mm: npt.NDArray[np.float64],
    ends: Points,
) -> Lattice:
    pitches = pitch_mm * scale
    first = np.ceil(ends[0] / pitches - 0.01).astype(int)
    last = np.floor(ends[1] / pitches + 0.01).astype(int)
    heavy = np.round(project(to_mm, np.array([level.heavy], float))[0] / pitches).astype(int)
    every = level.heavy_every
    return Lattice(
        kind=found.kind,
        pitch_mm=float(pitches[0]),
        pitch_y_mm=float(pitches[1]) if pitches[1] != pitches[0] else None,
        heavy_every=every,
        heavy_x=int(heavy[0] % every) if every else 0,
        heavy_y=int(heavy[1] % every) if every else 0,
        ink_is_light=found.light,
        first_x=int(first[0]),
        last_x=int(last[0]),
        first_y=int(first[1]),
        last_y=int(last[1]),
        divisions=level.step,
    )


def _view(
    photo: Photo,
    centres: LineCentres,
    axis: npt.NDArray[np.int64],
    fit: LineFit,
    lattice: Lattice,
) -> tuple[MatView, float]:
    """The view with what its residuals say, and what neighbouring ones share (mm)."""
    used = fit.used
    seen_mm, seen_px = fit.on_line_mm[used], centres.at_px[used]
    bare = Accuracy(rms_mm=0.0, seen_mm=seen_mm, reach_mm=1.0)
    draft = MatView(
        to_straight=fit.to_straight,
        lens=fit.lens,
        lattice=lattice,
        size_px=photo.size_px,
        seen_px=seen_px,
        seen_mm=seen_mm,
        accuracy=bare,
    )
    off = draft.to_mm(seen_px) - seen_mm
    residual = off[np.arange(len(off)), axis[used]]
    shared, growth = structure(seen_mm, axis[used], centres.line[used], residual)
    accuracy = Accuracy(
        rms_mm=float(np.sqrt(np.mean(residual**2))),
        seen_mm=seen_mm,
        reach_mm=REACH_PITCHES * lattice.pitch_mm,
        structure_mm=float(np.hypot(shared, _CENTRE_BIAS_PX * np.median(draft.mm_per_px(seen_px[::50])))),
        to_straight=fit.to_straight,
        lens=fit.lens,
        covariance=fit.covariance * growth,
    )
    return replace(draft, accuracy=accuracy), shared
