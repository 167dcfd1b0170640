"""Centres of printed lattice lines in the full-size picture, to a few hundredths of a pixel."""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points

_TARGET_SAMPLES = 9000
_ALONG_PX = np.array([-3.0, -1.5, 0.0, 1.5, 3.0])  # averaged along the line
_STEP_PX = 0.5
_FILTER_SIGMA_PX = (1.3, 4.0)  # of the line filter: never narrower than the picture's own sharpness
_SEARCH_CELLS = 0.22
_MOST_SEARCH_PX = 14.0
_CLEAR = 4.0  # times the noise a line's response must reach
_FAINT = 2.0
_SPOT_SIGMAS_PX = (1.5, 2.2, 3.2, 4.6)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineCentres:
    """Points measured on lattice lines.

    Attributes
    ----------
    at_px : (N, 2)
        Where the centre of the line was found, photo frame.
    across_px : (N, 2)
        Unit vector across the line there.
    family : (N,)
        0: lines of constant first cell coordinate; 1: of constant second.
    line, along : (N,)
        The line's whole number, and the number of the cell along it.
    strength : (N,)
        Contrast of the line against its ground (grey levels times pixels), always positive.
    noise_px : (N,)
        Standard deviation to be expected from the picture's noise.
    """

    at_px: Points
    across_px: Points
    family: npt.NDArray[np.int64]
    line: npt.NDArray[np.int64]
    along: npt.NDArray[np.int64]
    strength: npt.NDArray[np.float64]
    noise_px: npt.NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.at_px)

    def only(self, chosen: npt.NDArray[np.bool_]) -> "LineCentres":
        """Some of them."""
        return LineCentres(
            at_px=self.at_px[chosen],
            across_px=self.across_px[chosen],
            family=self.family[chosen],
            line=self.line[chosen],
            along=self.along[chosen],
            strength=self.strength[chosen],
            noise_px=self.noise_px[chosen],
        )


def measure_centres(
    grey: npt.NDArray[np.uint8],
    to_px: Callable[[Points], Points],
    lines: tuple[tuple[int, int], tuple[int, int]],
    *,
    light: bool,
    faint: bool = False,
) -> LineCentres:
    """Look across every lattice line between its crossings.

    Parameters
    ----------
    grey : (H, W) uint8
    to_px
        Cells (N, 2) -> photo pixels (N, 2), right to a quarter of a cell.
    lines
        First and last line of each family.
    light
        Whether the lines are lighter than the mat.
    faint
        Whether lines that hardly stand out count as well: finer printing between the lines passes for noise.
    """
    cells, family = _stations(lines)
    at = to_px(cells)
    along = to_px(cells + np.where(family[:, None] == 0, [0.0, 0.05], [0.05, 0.0])) - at
    cell_px = np.hypot(*(to_px(cells + np.where(family[:, None] == 0, [0.5, 0.0], [0.0, 0.5])) - at).T) * 2
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    height, width = grey.shape
    reach = np.minimum(_SEARCH_CELLS * cell_px, _MOST_SEARCH_PX)
    margin = reach.max(initial=0.0) + 6
    inside = ((at > margin) & (at < np.array([width, height]) - margin - 1)).all(1) & (cell_px > 6)
    at, along, across, cells, family = at[inside], along[inside], across[inside], cells[inside], family[inside]
    reach, cell_px = reach[inside], cell_px[inside]
    if not len(at):  # nothing of what was counted lies in the picture
        none, whole = np.zeros(0), np.zeros(0, np.int64)
        return LineCentres(
            at_px=at, across_px=across, family=family, line=whole, along=whole, strength=none, noise_px=none
        )
    offset, response, curvature, noise = _look_across(grey, at, along, across, reach, light=light)
    found_near = np.abs(offset) < reach - _STEP_PX
    clear = found_near & (response > (_FAINT if faint else _CLEAR) * noise)
    own = np.where(family == 0, cells[:, 0], cells[:, 1])
    other = np.where(family == 0, cells[:, 1], cells[:, 0])
    found = LineCentres(
        at_px=at + offset[:, None] * across,
        across_px=across,
        family=family,
        line=np.round(own).astype(np.int64),
        along=np.floor(other).astype(np.int64),
        strength=response,
        noise_px=noise / np.maximum(curvature, 1e-9),
    )
    return found.only(clear)


def _stations(lines: tuple[tuple[int, int], tuple[int, int]]) -> tuple[Points, npt.NDArray[np.int64]]:
    """Places to look at, in cells: on each line, between its crossings; and the family of each."""
    (u0, u1), (v0, v1) = lines
    sides = (u1 - u0 + 1) * (v1 - v0) + (v1 - v0 + 1) * (u1 - u0)
    each = int(np.clip(round(_TARGET_SAMPLES / max(sides, 1)), 1, 6))
    shares = (np.arange(each) + 1) / (each + 1)
    v_between = (np.arange(v0, v1)[:, None] + shares).ravel()
    u_between = (np.arange(u0, u1)[:, None] + shares).ravel()
    first = np.stack(np.meshgrid(np.arange(u0, u1 + 1), v_between, indexing="ij"), -1).reshape(-1, 2)
    second = np.stack(np.meshgrid(u_between, np.arange(v0, v1 + 1), indexing="ij"), -1).reshape(-1, 2)
    return np.vstack([first, second]).astype(float), np.repeat([0, 1], [len(first), len(second)])


def _look_across(
    grey: npt.NDArray[np.uint8],
    at: Points,
    along: Points,
    across: Points,
    reach: npt.NDArray[np.float64],
    *,
    light: bool,
) -> tuple[npt.NDArray[np.float64], ...]:
    """Offset of the strongest line response (px), the response, its curvature and the local noise, each (N,)."""
    half = float(reach.max()) + 6.0
    steps = np.arange(-half, half + _STEP_PX / 2, _STEP_PX)
    place = at[:, None, None] + _ALONG_PX[:, None, None] * along[:, None, None] + steps[:, None] * across[:, None, None]
    profile = np.empty((len(at), len(steps)))
    for start in range(0, len(at), 2000):  # cv2.remap takes pictures below 32768 pixels a side
        some = place[start : start + 2000].reshape(-1, len(steps), 2).astype(np.float32)
        seen = cv2.remap(grey, some[..., 0], some[..., 1], cv2.INTER_CUBIC)
        profile[start : start + 2000] = seen.reshape(-1, len(_ALONG_PX), len(steps)).mean(1)
    if not light:
        profile = -profile
    sigma = _filter_sigma(profile, steps, reach)
    response = _line_response(profile, sigma)
    rows = np.arange(len(at))
    hidden = np.where(np.abs(steps) <= reach[:, None], response, -np.inf)
    best = hidden.argmax(1).clip(1, len(steps) - 2)
    left, mid, right = response[rows, best - 1], response[rows, best], response[rows, best + 1]
    bow = np.minimum(left - 2 * mid + right, -1e-9)
    offset = steps[best] + np.clip(0.5 * (left - right) / bow, -1, 1) * _STEP_PX
    second = np.where(np.abs(steps - steps[best][:, None]) > 2.5 * sigma, response, np.nan)
    noise = np.maximum(1.4826 * np.nanmedian(np.abs(second - np.nanmedian(second, 1)[:, None]), 1), 0.15)
    return offset, mid, -bow / _STEP_PX**2 * sigma, noise


def _line_response(profile: npt.NDArray[np.float64], sigma_px: float) -> npt.NDArray[np.float64]:
    """The profile (N, M) through a line filter: minus the second derivative of a Gaussian, zero on any slope."""
    k = np.arange(-int(4 * sigma_px / _STEP_PX), int(4 * sigma_px / _STEP_PX) + 1) * _STEP_PX / sigma_px
    kernel = (1 - k * k) * np.exp(-k * k / 2)
    kernel -= kernel.mean()
    kernel *= _STEP_PX / np.abs(kernel).sum() * 2
    return cv2.filter2D(profile.astype(np.float32), cv2.CV_32F, kernel[None], borderType=cv2.BORDER_REPLICATE).astype(
        float
    )


def _filter_sigma(
    profile: npt.NDArray[np.float64], steps: npt.NDArray[np.float64], reach: npt.NDArray[np.float64]
) -> float:
    """The filter's width that answers strongest to the lines that are there."""
    usable = np.abs(steps) <= float(np.median(reach))
    tried = np.linspace(*_FILTER_SIGMA_PX, 7)
    peaks = [float(np.percentile(_line_response(profile[::7], s)[:, usable].max(1), 70)) * np.sqrt(s) for s in tried]
    return float(tried[int(np.argmax(peaks))])


def measure_spots(
    grey: npt.NDArray[np.uint8],
    to_px: Callable[[Points], Points],
    lines: tuple[tuple[int, int], tuple[int, int]],
) -> LineCentres:
    """Look for a dark spot at every crossing; each one found lies on a line of both families."""
    (u0, u1), (v0, v1) = lines
    cells = np.stack(np.meshgrid(np.arange(u0, u1 + 1), np.arange(v0, v1 + 1), indexing="ij"), -1).reshape(-1, 2)
    at = to_px(cells.astype(float))
    cell_px = np.hypot(*(to_px(cells + [0.5, 0.5]) - at).T) * np.sqrt(2)
    height, width = grey.shape
    reach = np.minimum(_SEARCH_CELLS / 2 * cell_px, _MOST_SEARCH_PX)
    half = int(np.ceil(reach.max(initial=4.0))) + 16
    inside = ((at > half + 1) & (at < np.array([width, height]) - half - 2)).all(1)
    at, cells, reach = at[inside], cells[inside], reach[inside]
    offset, response, noise, sigma = _look_around(grey, at, reach, half)
    clear = response > _CLEAR * noise
    at, cells = at[clear] + offset[clear], cells[clear].astype(np.int64)
    count = len(at)
    return LineCentres(
        at_px=np.vstack([at, at]),
        across_px=np.repeat([[1.0, 0.0], [0.0, 1.0]], count, axis=0),
        family=np.repeat([0, 1], count),
        line=np.concatenate([cells[:, 0], cells[:, 1]]),
        along=np.concatenate([cells[:, 1], cells[:, 0]]),
        strength=np.tile(response[clear], 2),
        noise_px=np.tile(sigma * noise[clear] / response[clear], 2),
    )


def _look_around(
    grey: npt.NDArray[np.uint8], at: Points, reach: npt.NDArray[np.float64], half: int
) -> tuple[Points, npt.NDArray[np.float64], npt.NDArray[np.float64], float]:
    """Offset (N, 2) of the strongest dark spot near each place, its response, the local noise; the filter's width."""
    steps = np.arange(-half, half + 1, dtype=np.float32)
    patches = [
        cv2.getRectSubPix(grey, (len(steps), len(steps)), (float(x), float(y))).astype(np.float32) for x, y in at
    ]
    distance = np.hypot(*np.meshgrid(steps, steps))
    best: tuple[float, list[npt.NDArray[np.float32]], float] | None = None
    for sigma in _SPOT_SIGMAS_PX:
        smooth = [cv2.GaussianBlur(patch, (0, 0), sigma) for patch in patches]
        answer = [cv2.Laplacian(one, cv2.CV_32F) * sigma**2 for one in smooth]
        peak = float(np.median([one[distance <= 6].max() for one in answer])) if answer else 0.0
        if best is None or peak > best[0]:
            best = (peak, answer, sigma)
    assert best is not None
    offset, response, noise = np.zeros((len(at), 2)), np.zeros(len(at)), np.ones(len(at))
    for i, one in enumerate(best[1]):
        top = int(np.argmax(np.where(distance <= reach[i], one, -np.inf)))
        row, column = (int(np.clip(k, 1, 2 * half - 1)) for k in divmod(top, len(steps)))
        for axis, line in ((0, one[row, column - 1 : column + 2]), (1, one[row - 1 : row + 2, column])):
            bow = min(float(line[0] - 2 * line[1] + line[2]), -1e-6)
            offset[i, axis] = steps[(column, row)[axis]] + np.clip(0.5 * (line[0] - line[2]) / bow, -1, 1)
        response[i] = one[row, column]
        ring = one[np.hypot(steps - steps[column], (steps - steps[row])[:, None]) > 3 * best[2] + 2]
        noise[i] = max(1.4826 * float(np.median(np.abs(ring - np.median(ring)))), 0.05)
    return offset, response, noise, best[2]
