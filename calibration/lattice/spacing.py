"""How far apart the printed lines really are: all that is printed along the lattice, seen as one profile each way."""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.lattice.centres import LineCentres

_STEP_PX = 0.7
_FEWEST_SAMPLES, _MOST_SAMPLES = 24, 240  # in a cell
_ACROSS = (0.13, 0.37, 0.63, 0.87)  # where in a cell to look: beside its crossing lines and what lies evenly between
_MOST_ROWS = 60  # of cells looked along
_SIGMAS_PX = (1.6, 3.2)  # of the line filter; the second for blurred pictures
_CONVINCING = 0.6
_CLIP = 4.0  # noise widths: beyond, what is printed counts no more than that
_MOST_NOISE = 0.8  # of a profile whose looks are in noise widths
_PEAK = 6.0  # noise widths that a line stands out in the profile of many looks
_TOLERANCE_PX, _TOLERANCE_CELLS = 1.6, 0.012
_ROUGH_CELLS = 0.03  # where the map is but a first one
_EXPLAINED = 0.85  # of all peaks, beyond chance, that the right spacing puts on a line
_FILLED = 0.35  # of all places of such lines, that must show one, one way at least
_UNLIKELY = 4.0  # standard deviations beyond chance
_MOST_CHANCE = 0.5
_FEWEST_PEAKS = 4
_APART_PX = 4.0  # of two lines that can be told apart
# Spacings looked for, in cells counted first: only every so-manieth place printed, or so many lines to a place.
_SPACINGS = tuple(sorted({p / q for p in range(1, 7) for q in (1, 2, 3, 4, 5, 6, 8, 10)}, reverse=True))

Lines = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spacing:
    """Lines lie ``cells`` apart, in cells counted first, from ``first`` of each family on.

    ``explained`` is the share of all that is printed that lies on them, beyond chance, in the worse family.
    """

    cells: float
    first: tuple[float, float]
    explained: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Look:
    """Where to look for lines: the picture, the map from cells to its pixels, and what was counted first."""

    grey: npt.NDArray[np.uint8]
    to_px: Callable[[Points], Points]
    centres: LineCentres
    lines: Lines
    light: bool


def line_spacing(
    grey: npt.NDArray[np.uint8],
    to_px: Callable[[Points], Points],
    centres: LineCentres,
    lines: Lines,
    *,
    light: bool,
    rough: bool = False,
) -> Spacing:
    """The widest even spacing that puts a line on nearly everything printed.

    Parameters
    ----------
    grey : (H, W) uint8
    to_px
        Cells (N, 2) -> photo pixels (N, 2).
    centres
        Points found on the lines counted first: they tell where the lattice can be seen.
    lines
        First and last line of each family.
    light
        Whether the lines are lighter than the mat.
    rough
        Whether ``to_px`` is but a first map.
    """
    look = _Look(grey=grey, to_px=to_px, centres=centres, lines=lines, light=light)
    tried = []
    for sigma_px in _SIGMAS_PX:
        peaks = [_peaks(look, family, sigma_px, rough=rough) for family in (0, 1)]
        tried.append(_spacing(peaks))
        if tried[-1].explained >= _CONVINCING:
            break
    return max(tried, key=lambda one: one.explained)


def _spacing(peaks: list[tuple[npt.NDArray[np.float64], float, float]]) -> Spacing:
    """The widest spacing that explains the peaks of both families; that of the lines counted if none does."""
    if min(len(at) for at, *_ in peaks) < _FEWEST_PEAKS:
        return Spacing(cells=1.0, first=(0.0, 0.0), explained=0.0)
    for cells in _SPACINGS:
        combs = [_comb(at, tolerance, cells) for at, tolerance, _ in peaks]
        explained = min(comb[0] for comb in combs)
        filled = max(comb[0] * len(at) * cells / seen for comb, (at, _, seen) in zip(combs, peaks, strict=True))
        unlikely = min(comb[1] for comb in combs)
        if explained >= _EXPLAINED and unlikely >= _UNLIKELY and filled >= _FILLED:
            return Spacing(cells=cells, first=(combs[0][2], combs[1][2]), explained=explained)
    explained = min(_comb(at, tolerance, 1.0)[0] for at, tolerance, _ in peaks)
    return Spacing(cells=1.0, first=(0.0, 0.0), explained=explained)


def _comb(at: npt.NDArray[np.float64], tolerance: float, cells: float) -> tuple[float, float, float]:
    """For the best phase: share of peaks on a line beyond chance, by how many standard deviations, and one line."""
    best = (0.0, 0.0, 0.0)
    chance = 2 * tolerance / cells
    if chance > _MOST_CHANCE:
        return best
    deviation = np.sqrt(chance * (1 - chance) / len(at))
    for start in np.unique(np.mod(np.round(at[:40] * 80) / 80, cells)):
        off = (at - start + cells / 2) % cells - cells / 2
        off -= np.median(off[np.abs(off) <= 2 * tolerance]) if (np.abs(off) <= 2 * tolerance).any() else 0.0
        hit = np.abs(off) <= tolerance
        beyond = float(hit.mean()) - chance
        if beyond / (1 - chance) > best[0]:
            line = at[hit] - np.round((at[hit] - start) / cells) * cells
            best = (beyond / (1 - chance), beyond / deviation, float(np.median(line)))
    return best


def _peaks(look: _Look, family: int, sigma_px: float, *, rough: bool) -> tuple[npt.NDArray[np.float64], float, float]:
    """Where something is printed along the family's own coordinate, how exactly that is known, and cells looked at."""
    profile, seen, cell_px = _profile(look, family, sigma_px)
    per_cell = profile.shape[1]
    flat = np.where(seen[:, None], profile, np.nan).ravel()
    known = np.isfinite(flat)
    at = look.lines[family][0] + (np.arange(len(flat)) + 0.5) / per_cell
    if known.sum() < 3 * per_cell:
        return np.zeros(0), 0.5, 1.0
    # where lines stand close they fill the profile: its spread is then no measure of noise
    noise = min(1.4826 * float(np.median(np.abs(flat[known] - np.median(flat[known])))) + 1e-9, _MOST_NOISE)
    height = np.where(known, (flat - np.median(flat[known])) / noise, -np.inf)
    wide = max(3, round(max(0.04, _APART_PX / cell_px) * per_cell)) | 1
    around = cv2.dilate(np.nan_to_num(height, neginf=-1e9).astype(np.float32)[None], np.ones((1, wide), np.uint8))[0]
    top = at[(height >= around - 1e-6) & (height > _PEAK)]
    alone = np.diff(top, prepend=-np.inf) > wide / 2 / per_cell  # what is clipped makes a flat top
    tolerance = max(_TOLERANCE_PX / cell_px, _ROUGH_CELLS if rough else _TOLERANCE_CELLS)
    return top[alone], tolerance, float(seen.sum())


def _profile(look: _Look, family: int, sigma_px: float) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_], float]:
    """Mean line response (cells, samples) along the family's coordinate, which cells were seen, and a cell in px."""
    (first, last), (low, high) = look.lines[family], look.lines[1 - family]
    table = _seen_cells(look.centres, look.lines, family)
    rows = np.flatnonzero(table.any(0))
    rows = rows[:: len(rows) // _MOST_ROWS + 1]
    middle = np.array([[(first + last) / 2, (low + high) / 2]])[:, [family, 1 - family]]
    step = np.zeros((1, 2))
    step[0, family] = 0.5
    cell_px = float(np.hypot(*(look.to_px(middle + step) - look.to_px(middle - step))[0]))
    samples = int(np.clip(cell_px / _STEP_PX, _FEWEST_SAMPLES, _MOST_SAMPLES))
    u = first + (np.arange((last - first) * samples, dtype=np.float64) + 0.5) / samples
    total, count = np.zeros((last - first, samples)), np.zeros(last - first)
    for row in rows:
        across = low + row + np.array(_ACROSS)
        cells = np.stack(np.meshgrid(u, across), -1).reshape(-1, 2).astype(np.float64)
        at = look.to_px(cells[:, [family, 1 - family]]).reshape(len(across), len(u), 2).astype(np.float32)
        seen = cv2.remap(look.grey, at[..., 0], at[..., 1], cv2.INTER_LINEAR).astype(np.float32)
        answer = _line_answer(seen if look.light else -seen, sigma_px / cell_px * samples)
        noise = 1.4826 * np.median(np.abs(answer)) + 1e-3
        answer = np.clip(answer / noise, -_CLIP, _CLIP).mean(0).reshape(last - first, samples)
        total += answer * table[:, row, None]
        count += table[:, row]
    return total / np.maximum(count, 1)[:, None] * np.sqrt(np.maximum(count, 1))[:, None], count > 0, cell_px


def _seen_cells(centres: LineCentres, lines: Lines, family: int) -> npt.NDArray[np.bool_]:
    """Which cells (along the family's coordinate, along the other) lie beside lines that were seen."""
    (first, last), (low, high) = lines[family], lines[1 - family]
    seen = np.zeros((last - first + 1, high - low), bool)
    own = (centres.family == family) & (centres.line >= first) & (centres.line <= last)
    own &= (centres.along >= low) & (centres.along < high)
    seen[centres.line[own] - first, centres.along[own] - low] = True
    # every other line may have been counted where nothing is printed
    near = cv2.dilate(seen.astype(np.uint8), np.ones((3, 1), np.uint8)).astype(bool)
    return np.asarray(near[:-1] & near[1:])


def _line_answer(profile: npt.NDArray[np.float32], sigma: float) -> npt.NDArray[np.float32]:
    """Minus the second derivative of a Gaussian along each row."""
    k = np.arange(-int(4 * sigma) - 1, int(4 * sigma) + 2) / sigma
    kernel = (1 - k * k) * np.exp(-k * k / 2)
    kernel -= kernel.mean()
    return cv2.filter2D(profile, cv2.CV_32F, kernel[None], borderType=cv2.BORDER_REPLICATE).astype(np.float32)
