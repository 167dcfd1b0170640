"""How much ink lies along each line of a lattice: what tells whole lines from dashed, fainter and missing ones."""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points

_SAMPLE_PX = 2.5  # along a line
_SAMPLES = (8, 28)  # in a cell, fewest and most
_ENDS = 0.12  # of a cell left out beside each crossing, where the other family's line would be seen
_STEPS = 3.0  # samples to a filter's width, across a line
_SEARCH_PX, _SEARCH_CELLS = 2.0, 0.06  # how far the map may be off a line
_AROUND = 6.0  # filter widths looked at, each way
_SIGMAS_PX = (1.3, 1.9, 2.7, 4.0, 5.7, 8.0)  # of the line filter
_WIDEST_CELLS = 0.07  # a filter wider than this takes half lines for one
_TRIED = 120  # places that tell which filter answers best
_EMPTY = 0.12  # of a printed line's ink: what shows less is no line
_MAY_BE_EMPTY = 0.4  # before what shows where nothing is printed was looked at
_FULL = 0.6  # of the most ink near by, that lines which are printed show in the median
_SEEN = 4.0  # noise widths that the most ink near by must reach where lines are compared
_FEWEST_SEEN = 12  # cells of each kind
_LEAST_NOISE = 0.15  # grey levels
_MOST_AT_ONCE = 400_000  # places looked at in one go: memory

Lines = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inked:
    """What is printed along the lines of one family.

    Attributes
    ----------
    first : int
        Number of the first line.
    mean : (lines, cells)
        Contrast of the line's ink along each cell, gaps and all, in grey levels; NaN outside the picture.
    share : (lines, cells)
        How much of the cell's length is inked, 0 to 1, where anything is.
    noise : (lines, cells)
        What ``mean`` shows where nothing is printed.
    """

    first: int
    mean: npt.NDArray[np.float64]
    share: npt.NDArray[np.float64]
    noise: npt.NDArray[np.float64]


def measure_ink(
    grey: npt.NDArray[np.uint8], to_px: Callable[[Points], Points], lines: Lines, *, light: bool
) -> tuple[Inked, Inked]:
    """Look along every line of a fitted lattice, cell by cell.

    Parameters
    ----------
    grey : (H, W) uint8
    to_px
        Cells (N, 2) -> photo pixels (N, 2), right to two pixels.
    lines
        First and last line of each family.
    light
        Whether the lines are lighter than the mat.
    """
    places = [_places(lines, family, to_px) for family in (0, 1)]
    cell_px = float(np.median(np.concatenate([size for _, size in places])))
    tried = []
    for sigma_px in _SIGMAS_PX:
        if sigma_px > max(_WIDEST_CELLS * cell_px, _SIGMAS_PX[0]):
            break
        answers = []
        for family, (at, _) in enumerate(places):
            some = at[:: len(at) // _TRIED + 1]
            answers.append(_look(grey, to_px, some, family, light=light, sigma_px=sigma_px)[0])
        seen = np.concatenate(answers)
        tried.append(
            (float(np.nanpercentile(seen, 80)) * np.sqrt(sigma_px) if np.isfinite(seen).any() else 0.0, sigma_px)
        )
    sigma_px = max(tried)[1]
    first, second = (
        _family(grey, to_px, lines, family, at, light=light, sigma_px=sigma_px) for family, (at, _) in enumerate(places)
    )
    return first, second


def _places(
    lines: Lines, family: int, to_px: Callable[[Points], Points]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Places along each line, cell by cell (lines * cells, samples, 2), in cells; and each cell's size in px."""
    (first, last), (low, high) = lines[family], lines[1 - family]
    starts = np.stack(np.meshgrid(np.arange(first, last + 1), np.arange(low, max(high, low + 1)), indexing="ij"), -1)
    starts = starts.reshape(-1, 1, 2).astype(float)
    order = [family, 1 - family]
    ends = [to_px((starts[:, 0] + [0.0, share])[:, order]) for share in (0.0, 1.0)]
    cell_px = np.hypot(*(ends[1] - ends[0]).T)
    samples = int(np.clip(np.median(cell_px) * (1 - 2 * _ENDS) / _SAMPLE_PX, *_SAMPLES))
    along = _ENDS + (1 - 2 * _ENDS) * (np.arange(samples) + 0.5) / samples
    at = np.asarray((starts + np.stack([np.zeros(samples), along], -1))[..., order], np.float64)
    return at, np.asarray(cell_px, float)


def _family(
    grey: npt.NDArray[np.uint8],
    to_px: Callable[[Points], Points],
    lines: Lines,
    family: int,
    at: npt.NDArray[np.float64],
    *,
    light: bool,
    sigma_px: float,
) -> Inked:
    batch = max(1, _MOST_AT_ONCE // (at.shape[1] * round(2 * _AROUND * _STEPS)))
    parts = [
        _look(grey, to_px, at[start : start + batch], family, light=light, sigma_px=sigma_px)
        for start in range(0, len(at), batch)
    ]
    first, last = lines[family]
    mean, share, noise = (np.concatenate(one).reshape(last - first + 1, -1) for one in zip(*parts, strict=True))
    return Inked(first=first, mean=mean, share=share, noise=noise)


def _look(
    grey: npt.NDArray[np.uint8],
    to_px: Callable[[Points], Points],
    at: npt.NDArray[np.float64],
    family: int,
    *,
    light: bool,
    sigma_px: float,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Mean contrast, inked share and noise (N,) at places in cells (N, samples, 2)."""
    flat = at.reshape(-1, 2)
    px = to_px(flat)
    way = to_px(flat + ([0.0, 0.02] if family == 0 else [0.02, 0.0])) - px
    way /= np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    off = np.arange(-_AROUND * _STEPS, _AROUND * _STEPS + 1) * sigma_px / _STEPS
    place = px[:, None] + off[:, None] * np.column_stack([-way[:, 1], way[:, 0]])[:, None]
    height, width = grey.shape
    within = np.asarray((place > 1) & (place < np.array([width - 2, height - 2])))
    inside = within.reshape(len(at), -1).all(axis=1)
    x, y = place[..., 0].astype(np.float32), place[..., 1].astype(np.float32)
    seen = cv2.remap(grey, x, y, cv2.INTER_LINEAR).astype(np.float32)
    answer = _line_answer(seen if light else -seen).reshape(*at.shape[:2], len(off)).astype(float)
    profile = answer.mean(1)
    cell_px = np.hypot(*(to_px(at[:, 0] + [0.5, 0.5]) - to_px(at[:, 0] - [0.5, 0.5])).T) / np.sqrt(2)
    near = np.abs(off) <= np.minimum(_SEARCH_PX, _SEARCH_CELLS * cell_px)[:, None]
    best = np.where(near, profile, -np.inf).argmax(1)
    rows = np.arange(len(best))
    noise = np.maximum(1.4826 * np.median(np.abs(profile[:, np.abs(off) > 3 * sigma_px]), 1), _LEAST_NOISE)
    single = answer[rows, :, best]
    share = (single > 0.5 * np.percentile(single, 85, axis=1)[:, None]).mean(1)
    mean, share, noise = (np.where(inside, one, np.nan) for one in (profile[rows, best], share, noise))
    return mean, share, noise


def _line_answer(seen: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Each row through a line filter, ``_STEPS`` samples wide: its height for a line as wide as the filter."""
    k = np.arange(-int(4 * _STEPS), int(4 * _STEPS) + 1) / _STEPS
    kernel = (1 - k * k) * np.exp(-k * k / 2)
    kernel -= kernel.mean()
    kernel /= np.abs(kernel).sum() / 2
    return cv2.filter2D(seen, cv2.CV_32F, kernel[None], borderType=cv2.BORDER_REPLICATE).astype(np.float32)


def printed_every(
    ink: tuple[Inked, Inked], every: int, aside: Callable[[], tuple[Inked, Inked]]
) -> tuple[int, int] | None:
    """One line of each family of which only every so-manieth is printed at all; None where others are as well.

    ``aside`` looks in the same way a part of a cell aside, at what shows where nothing is printed; it is asked only
    where it matters.
    """
    nothing = (0.0, 0.0)
    if any(_paler(own, zero, every)[1] > _MAY_BE_EMPTY for own, zero in zip(ink, nothing, strict=True)):
        return None
    looks = [_paler(own, empty.mean, every) for own, empty in zip(ink, aside(), strict=True)]
    if any(others > _EMPTY for _, others in looks):
        return None
    return ink[0].first + looks[0][0], ink[1].first + looks[1][0]


def _paler(own: Inked, empty: npt.NDArray[np.float64] | float, every: int) -> tuple[int, float]:
    """The first of the lines with most ink, every so many, and what share of their ink the others show (1: unknown)."""
    over = own.mean - empty
    most = cv2.dilate(np.nan_to_num(over, nan=-1.0), np.ones((2 * every - 1, 1), np.uint8))
    seen = np.isfinite(over) & (most > _SEEN * own.noise)
    share = np.where(seen, over / np.maximum(most, 1e-9), np.nan)
    phases = [_median(share[phase::every]) for phase in range(every)]
    printed = int(np.argmax(phases))
    others = np.vstack([share[k::every] for k in range(every) if k != printed])
    if phases[printed] < _FULL or np.isfinite(others).sum() < _FEWEST_SEEN:
        return printed, 1.0
    return printed, _median(others)


def _median(values: npt.NDArray[np.float64]) -> float:
    """Median of what is known, -1 where that is little."""
    known = values[np.isfinite(values)]
    return float(np.median(known)) if len(known) >= _FEWEST_SEEN else -1.0
