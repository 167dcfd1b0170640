"""The printed lattice, wherever it lies in the picture: as lines or, failing these, as dots."""

from dataclasses import dataclass, replace
from typing import Literal

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from calibration.lattice.dots import ALIKE, find_dot_seeds, find_spots, like_the_best
from calibration.lattice.growth import Sketch, grow, grow_spots, on_lines, squared, squared_dots
from calibration.lattice.ridges import Ridges, find_ridges
from calibration.lattice.seed import find_seeds
from calibration.picture.photo import Photo

NO_LATTICE = (
    "Lay the piece on a gridded cutting mat, spot-and-cross paper or graph paper, leave bare grid on two sides or "
    "more, and photograph it from above in even light."
)
REDUCTIONS = (
    (2000, 1.2),
    (1000, 2.0),
)  # longer side in pixels and ridge width looked for; wide or blurred lines come second
_SUPPORT_SHARE = 0.25  # of all ridge points, that must lie on the lattice
_CONVINCING_SHARE = 0.45
_FEWEST_SUPPORT = 800
_FEWEST_SPOTS = 40
_SPOT_SHARE = 0.35
_SURE_SPOT_SHARE = 0.6
_SEEDS_TRIED = 4
_DOT_SEEDS_TRIED = 8
_LINE_SHARE = 0.12  # of a usual line's ridge points, that make a line worth looking at

Lines = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundLattice:
    """A lattice found in the reduced picture: the rough map, reduced by ``factor``, and its lines.

    ``told_step``: where the lattice was told by hand, how many of its cells make a pitch (0: it was found).
    """

    sketch: Sketch
    factor: float
    kind: Literal["lines", "dots"]
    light: bool
    lines: Lines
    told_step: int = 0

    def to_px(self, cells: Points) -> Points:
        """Cells -> full-size photo pixels."""
        return (self.sketch.to_px(cells) + 0.5) / self.factor - 0.5

    def respaced(self, cells: float, first: tuple[float, float]) -> "FoundLattice":
        """The same lattice with its lines ``cells`` of the present cells apart, from ``first`` of each family on."""
        shift = np.array([[1.0, 0.0, -first[0]], [0.0, 1.0, -first[1]], [0.0, 0.0, cells]]) / cells
        u, v = (
            (int(np.ceil((low - start) / cells - 0.1)), int(np.floor((high - start) / cells + 0.1)))
            for (low, high), start in zip(self.lines, first, strict=True)
        )
        sketch = replace(self.sketch, matrix=shift @ self.sketch.matrix)
        return replace(self, sketch=sketch, lines=(u, v), told_step=round(self.told_step / cells))


def find_lattice(photo: Photo) -> FoundLattice:
    """The lattice in the reduced picture, as printed lines or, failing these, as dots."""
    for longest, sigma_px in REDUCTIONS:
        grey, factor = reduced(photo, longest)
        height, width = grey.shape
        ridges = find_ridges(grey, sigma_px=sigma_px)
        sketch, support = _best_growth(ridges, width, height)
        if sketch is not None and support > max(_FEWEST_SUPPORT, _SUPPORT_SHARE * len(ridges)):
            return lines_found(sketch, ridges, factor)
    dots = _find_dots(photo)
    if dots is None:
        raise InputError(f"No regular grid could be found in {photo.name}.", NO_LATTICE)
    return dots


def lines_found(sketch: Sketch, ridges: Ridges, factor: float) -> FoundLattice:
    """The lines that ridge points lie on."""
    family, miss, cells = on_lines(sketch, ridges)
    near = (family >= 0) & (np.abs(miss) < 1.0)
    lines = tuple(_extent(np.round(cells[near & (family == k), k]).astype(int)) for k in (0, 1))
    light = bool(ridges.light[near].mean() > 0.5)
    return FoundLattice(sketch=sketch, factor=factor, kind="lines", light=light, lines=(lines[0], lines[1]))


def _best_growth(ridges: Ridges, width: int, height: int) -> tuple[Sketch | None, float]:
    """The map with the most ridge points on its lines; the first convincing one ends the search."""
    best: tuple[Sketch | None, float] = (None, 0.0)
    for seed in find_seeds(ridges, width, height)[:_SEEDS_TRIED]:
        sketch, support = grow(seed, ridges, width, height)
        if support > best[1]:
            best = (sketch, support)
        if support > _CONVINCING_SHARE * len(ridges):
            break
    return (None if best[0] is None else squared(best[0])), best[1]


def _find_dots(photo: Photo) -> FoundLattice | None:
    """Dark dots on light paper, or failing these light ones."""
    grey, factor = reduced(photo, REDUCTIONS[0][0])
    return _dots_in(grey, factor, light=False) or _dots_in(-grey, factor, light=True)


def _dots_in(grey: npt.NDArray[np.float32], factor: float, *, light: bool) -> FoundLattice | None:
    height, width = grey.shape
    every, prominence = find_spots(grey)
    for share in ALIKE:
        same = like_the_best(prominence, share) if len(every) else np.zeros(0, bool)
        spots = every[same]
        tried: list[tuple[Sketch, float]] = []
        for seed in find_dot_seeds(spots, prominence[same], width, height)[:_DOT_SEEDS_TRIED]:
            tried.append(grow_spots(seed, spots, width, height))
            if tried[-1][1] > _SURE_SPOT_SHARE * len(spots):
                break
        sketch, support = max(tried, key=lambda one: one[1], default=(None, 0.0))
        if sketch is not None and support >= max(_FEWEST_SPOTS, _SPOT_SHARE * len(spots)):
            return dots_found(squared_dots(sketch), every, factor, light=light)
    return None


def dots_found(sketch: Sketch, spots: Points, factor: float, *, light: bool) -> FoundLattice:
    """The lines of crossings that spots lie on."""
    cells = sketch.to_cells(spots)
    near = (np.abs(cells - np.round(cells)) < 0.05).all(1)
    counted = np.round(cells[near]).astype(int)
    lines = (_extent(counted[:, 0]), _extent(counted[:, 1]))
    return FoundLattice(sketch=sketch, factor=factor, kind="dots", light=light, lines=lines)


def reduced(photo: Photo, longest: int) -> tuple[npt.NDArray[np.float32], float]:
    """The picture in grey with its longer side at most ``longest``, and the factor."""
    factor = min(1.0, longest / max(photo.size_px))
    small = photo.pixels
    if factor < 1:
        small = cv2.resize(photo.pixels, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)  # type: ignore[assignment]
    # cv2.resize keeps the outer edges of the picture, so the factor each way is that of the rounded sizes
    factor = small.shape[1] / photo.size_px[0]
    return cv2.cvtColor(small, cv2.COLOR_RGB2GRAY).astype(np.float32), factor


def _extent(counted: npt.NDArray[np.int64]) -> tuple[int, int]:
    """First and last line number that was seen as often as a line is."""
    low = int(counted.min())
    often = np.bincount(counted - low)
    seen = np.flatnonzero(often > _LINE_SHARE * np.median(often[often > 0]))
    return low + int(seen.min()), low + int(seen.max())
