"""The small marks along a mat's border: how many there are to a pitch tells centimetres from inches."""

from itertools import pairwise

import cv2
import numpy as np
import numpy.typing as npt

from calibration.view.view import MatView

MARKS = (4, 5, 8, 10, 16, 20, 32, 40)  # to a pitch: quarters to 32nds of an inch, millimetres; common practice
_OUT_CELLS = (0.025, 0.04, 0.06, 0.09, 0.13, 0.19, 0.28)  # how far outside the outermost line to look, in pitches
_BEYOND = 1  # the marks may hide the border's own line: look outside the next one as well
_FEWEST_CELLS = 6
_SAMPLES_PER_PX = 1.25
_MOST_SAMPLES = 160
_CLIP = 3.0  # noise widths
_LIKELY = 3.0  # standard errors by which marks stand out along one border
_SURE = 5.0  # and along all of them, in some 1000 looks
_EXPLAINED = 0.7  # of all that repeats from pitch to pitch, that even marks account for
_PER_CYCLE = 2.2  # samples that a mark's cycle needs


def border_marks(grey: npt.NDArray[np.uint8], view: MatView) -> int:
    """How many even marks there are to a pitch along the border (0: none are seen).

    Parameters
    ----------
    grey : (H, W) uint8
    view : MatView
        Its lattice's outermost lines are taken for the border.

    Notes
    -----
    A strip beside the outermost line is cut into pitches. What repeats in all of them, line for line, is printed:
    its Fourier terms stand out of their own spread from pitch to pitch.
    """
    sure: dict[int, float] = {}
    for axis in (0, 1):
        for far in (False, True):
            z, marks = _beside([_even(row) for row in _strips(grey, view, axis, far=far)])
            sure[marks] = float(np.hypot(sure.get(marks, 0.0), z))
    best = max(sure, key=lambda marks: sure[marks])
    return best if sure[best] >= _SURE else 0


def _beside(rows: list[tuple[float, int]]) -> tuple[float, int]:
    """The marks of one border from what each strip shows, the nearest first: the first that two neighbours agree on.

    A mat's own texture shows here and there, in strips with gaps between.
    """
    for (_, one), (_, other) in pairwise(rows):
        if one and one == other:
            where = [k for k, (_, marks) in enumerate(rows) if marks == one]
            if where[-1] - where[0] == len(where) - 1:
                return max(rows[k][0] for k in where), one
            return 0.0, 0
    return 0.0, 0


def _strips(grey: npt.NDArray[np.uint8], view: MatView, axis: int, *, far: bool) -> list[npt.NDArray[np.float64]]:
    """Beside one border, for each distance from it: brightness of ink (pitches, samples) where all can be seen."""
    lattice = view.lattice
    pitch = np.array(lattice.pitches_mm)
    ends = np.array([[lattice.first_x, lattice.last_x], [lattice.first_y, lattice.last_y]])
    first, last = ends[axis]
    middle = np.zeros((1, 2))
    middle[0, axis], middle[0, 1 - axis] = (first + last) / 2, ends[1 - axis, int(far)]
    cell_px = float(pitch[axis] / view.mm_per_px(view.to_px(middle * pitch))[0])
    samples = int(min(cell_px * _SAMPLES_PER_PX, _MOST_SAMPLES))
    if last - first < _FEWEST_CELLS or samples < 2 * _PER_CYCLE * MARKS[0] / 2:
        return []
    along = first + np.arange((last - first) * samples) / samples
    away = np.add.outer(np.arange(_BEYOND + 1), _OUT_CELLS).ravel()
    out = away * (1 if far else -1) + ends[1 - axis, int(far)]
    cells = np.empty((len(out), len(along), 2))
    cells[..., axis], cells[..., 1 - axis] = along, out[:, None]
    at = view.to_px(cells.reshape(-1, 2) * pitch).reshape(len(out), len(along), 2)
    inside = np.asarray(
        ((at > 1) & (at < np.array(view.size_px) - 2)).all(-1).reshape(len(out), last - first, samples).all(-1)
    )
    seen = cv2.remap(grey, at[..., 0].astype(np.float32), at[..., 1].astype(np.float32), cv2.INTER_LINEAR)
    ink = seen.astype(np.float64) * (1 if lattice.ink_is_light else -1)
    ink -= cv2.blur(ink, (3 * samples // 4 | 1, 1), borderType=cv2.BORDER_REPLICATE)
    strips = []
    for row, full in zip(ink.reshape(len(out), last - first, samples), inside, strict=True):
        if full.sum() >= _FEWEST_CELLS:
            noise = 1.4826 * np.median(np.abs(row[full])) + 0.5
            strips.append(np.clip(row[full], -_CLIP * noise, _CLIP * noise))
    return strips


def _even(row: npt.NDArray[np.float64]) -> tuple[float, int]:
    """How surely even marks, the first on a line, repeat from pitch to pitch (pitches, samples), and how many."""
    cells, samples = row.shape
    waves = np.fft.rfft(row, axis=1).real[:, 1 : int(samples / _PER_CYCLE) + 1]
    mean, error = waves.mean(0), waves.std(0, ddof=1) / np.sqrt(cells) + 1e-9
    energy = np.maximum(mean**2 - error**2, 0) * (mean > 0)
    per_pitch = np.arange(1, len(mean) + 1)
    for marks in reversed(MARKS):
        if marks > len(mean) or mean[marks - 1] < _LIKELY * error[marks - 1]:
            continue
        if energy[per_pitch % marks == 0].sum() >= _EXPLAINED * (mean**2).sum():
            return float(mean[marks - 1] / error[marks - 1]), marks
    return 0.0, 0
