"""From a patch of lattice to the whole picture: a rough map from pixels to counted lines, grown outwards."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, frozen
from calibration.lattice.ridges import Ridges
from calibration.lattice.seed import Seed

_GROWTH = 1.35
_ROUNDS = 4
_MOST_RIDGES = 9_000
_HOPELESS = 0.03  # of the ridge points in reach: with fewer on lines, nothing will grow from here
_ALIGNED = np.cos(np.radians(8.0))
_GATE_CELLS = 0.3
_NOISE_PX = 0.6
_BEND_FROM = 0.5  # of the half diagonal: below that reach a lens's bend can't be told from perspective
_PERSPECTIVE_PRIOR = 1.2  # per half diagonal: 45 degrees of tilt through a wide lens stay inside
_BEND_PRIOR = 0.08
_TIMES = (2, 3, 4, 5, 6, 8, 10)  # how many true cells may hide in a counted one
_PLAIN = 0.02  # a plain square must be this much worse before lines are thought missed
# ways to count the same crossings along other directions
_SHEARS = [np.array(rows, float) for rows in (((1, 0), (0, 1)), ((1, 1), (0, 1)), ((1, -1), (0, 1)), ((1, 0), (1, 1)))]
_SHEARS.append(np.array(((1.0, 0.0), (-1.0, 1.0))))
_FOCAL = np.geomspace(0.8, 6.0, 40)  # focal lengths in half diagonals: from a phone's widest lens to a long tele
_INVERSE_ROUNDS = 8  # of a fixed point: each gains a factor of twenty for a phone's lens
_PRIOR_WEIGHT = 25.0  # a prior counts as much as this many ridge points one noise width off


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sketch:
    """A rough map from pixels to lattice cells: whole numbers on lines, first value across lines of the first family.

    Pixels are taken from ``centre_px`` and divided by ``half_diagonal_px``, straightened by two radial terms, then put
    through the homography ``matrix``.
    """

    matrix: npt.NDArray[np.float64]
    bend: tuple[float, float]
    centre_px: Points
    half_diagonal_px: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "matrix", frozen(self.matrix))
        object.__setattr__(self, "centre_px", frozen(self.centre_px))

    def _straight(self, px: Points) -> Points:
        p = (px - self.centre_px) / self.half_diagonal_px
        r2 = (p * p).sum(1)[:, None]
        return p * (1 + self.bend[0] * r2 + self.bend[1] * r2 * r2)

    def to_cells(self, px: Points) -> Points:
        """Pixels (N, 2) -> cells (N, 2)."""
        q = self._straight(px) @ self.matrix[:, :2].T + self.matrix[:, 2]
        return q[:, :2] / q[:, 2:]

    def to_px(self, cells: Points) -> Points:
        """Cells (N, 2) -> pixels (N, 2)."""
        q = np.column_stack([cells, np.ones(len(cells))]) @ np.linalg.inv(self.matrix).T
        straight = q[:, :2] / q[:, 2:]
        p = straight.copy()
        for _ in range(_INVERSE_ROUNDS):
            r2 = (p * p).sum(1)[:, None]
            p = straight / (1 + self.bend[0] * r2 + self.bend[1] * r2 * r2)
        return p * self.half_diagonal_px + self.centre_px

    def gradients(self, px: Points) -> npt.NDArray[np.float64]:
        """Cells per pixel (N, 2, 2): row 0 the gradient of the first cell coordinate, row 1 of the second."""
        return self.cells_and_gradients(px)[1]

    def cells_and_gradients(self, px: Points) -> tuple[Points, npt.NDArray[np.float64]]:
        """Both at once."""
        x, y = ((px - self.centre_px) / self.half_diagonal_px).T
        r2 = x * x + y * y
        radial = 1 + r2 * (self.bend[0] + self.bend[1] * r2)
        rise = 2 * (self.bend[0] + 2 * self.bend[1] * r2)
        bent_x, bent_y = x * radial, y * radial
        m = self.matrix
        under = m[2, 0] * bent_x + m[2, 1] * bent_y + m[2, 2]
        cells, out = np.empty((len(x), 2)), np.empty((len(x), 2, 2))
        for k in (0, 1):
            cells[:, k] = (m[k, 0] * bent_x + m[k, 1] * bent_y + m[k, 2]) / under
            by_x, by_y = (m[k, 0] - cells[:, k] * m[2, 0]) / under, (m[k, 1] - cells[:, k] * m[2, 1]) / under
            radially = rise * (by_x * x + by_y * y)
            out[:, k, 0] = (by_x * radial + radially * x) / self.half_diagonal_px
            out[:, k, 1] = (by_y * radial + radially * y) / self.half_diagonal_px
        return cells, out


def sketch_from(seed: Seed, width: int, height: int) -> Sketch:
    """The affine map that a seed stands for."""
    centre = np.array([(width - 1) / 2, (height - 1) / 2])
    half = float(np.hypot(*centre))
    matrix = np.eye(3)
    matrix[:2, :2] = seed.waves * half
    matrix[:2, 2] = seed.waves @ (centre - seed.centre) - seed.phase
    return Sketch(matrix=matrix, bend=(0.0, 0.0), centre_px=centre, half_diagonal_px=half)


def grow(seed: Seed, ridges: Ridges, width: int, height: int) -> tuple[Sketch, float]:
    """Fit outwards from the seed until the whole picture is covered.

    Returns the map and the number of ridge points within 1.5 px of a line beyond what chance would put there.
    """
    return grow_from(sketch_from(seed, width, height), seed.centre, seed.size_px * 0.6, ridges)


def grow_from(sketch: Sketch, centre: Points, reach: float, ridges: Ridges) -> tuple[Sketch, float]:
    """As :func:`grow`, from a map that holds within ``reach`` pixels of ``centre``."""
    some = ridges.only(np.arange(0, len(ridges), len(ridges) // _MOST_RIDGES + 1))
    distance, hopeless = np.hypot(*(some.at - centre).T), 2.5 * reach
    while True:
        inside = some.only(distance <= reach)
        for _ in range(_ROUNDS):
            sketch, support = _improve(sketch, inside, bends=reach > _BEND_FROM * sketch.half_diagonal_px)
        if reach > distance.max(initial=0.0) or (reach > hopeless and support < _HOPELESS * len(inside)):
            return sketch, support * len(ridges) / max(len(some), 1)
        reach *= _GROWTH


def grow_spots(seed: Seed, spots: Points, width: int, height: int) -> tuple[Sketch, float]:
    """As :func:`grow`, from spots (N, 2) that stand on the crossings: each lies on a line of both families."""
    return grow_spots_from(sketch_from(seed, width, height), seed.centre, seed.size_px * 0.6, spots)


def grow_spots_from(sketch: Sketch, centre: Points, reach: float, spots: Points) -> tuple[Sketch, float]:
    """As :func:`grow_spots`, from a map that holds within ``reach`` pixels of ``centre``."""
    distance = np.hypot(*(spots - centre).T)
    while True:
        inside = spots[distance <= reach]
        for _ in range(2 * _ROUNDS):
            crossed = _as_ridges(sketch, inside)
            sketch, support = _improve(sketch, crossed, bends=reach > _BEND_FROM * sketch.half_diagonal_px)
        if reach > distance.max(initial=0.0):
            return sketch, support / 2
        reach *= _GROWTH


def _as_ridges(sketch: Sketch, spots: Points) -> Ridges:
    """Spots near a crossing as two ridge points each, one along either family."""
    cells = sketch.to_cells(spots)
    near = spots[(np.abs(cells - np.round(cells)) < _GATE_CELLS / 2).all(1)]
    gradients = sketch.gradients(near)
    normal = (gradients / np.maximum(np.hypot(gradients[..., :1], gradients[..., 1:]), 1e-12)).transpose(1, 0, 2)
    return Ridges(at=np.vstack([near, near]), normal=normal.reshape(-1, 2), light=np.zeros(2 * len(near), bool))


def squared(sketch: Sketch) -> Sketch:
    """The sketch with square cells: a family of which only every n-th line was counted gets the lines between as well.

    A camera with square pixels that looks at a square lattice from any focal length in reach leaves only one n.
    """
    columns = np.asarray(np.linalg.inv(sketch.matrix)[:, :2], np.float64)
    best = min(
        ((_unsquareness(columns * ratio), max(ratio), ratio) for ratio in _ratios()),
        key=lambda one: one[0] + _PLAIN * (one[1] > 1),
    )
    first, second = best[2]
    matrix = sketch.matrix.copy()
    matrix[0], matrix[1] = matrix[0] / first, matrix[1] / second
    return replace(sketch, matrix=matrix)


def squared_dots(sketch: Sketch) -> Sketch:
    """The sketch with square cells, where dots were counted along a diagonal of the lattice."""
    columns = np.asarray(np.linalg.inv(sketch.matrix)[:, :2], np.float64)
    best = min(
        _SHEARS, key=lambda shear: _unsquareness(columns @ np.linalg.inv(shear)) + _PLAIN * (shear is not _SHEARS[0])
    )
    matrix = sketch.matrix.copy()
    matrix[:2] = best @ matrix[:2]
    return replace(sketch, matrix=matrix)


def _ratios() -> list[tuple[float, float]]:
    """By what share of a counted cell a true cell may be narrower, in the first or in the second family."""
    narrower = [1.0 / n for n in _TIMES]
    return [(1.0, 1.0), *((share, 1.0) for share in narrower), *((1.0, share) for share in narrower)]


def _unsquareness(columns: npt.NDArray[np.float64]) -> float:
    """How far two lattice steps (3, 2), in the picture's own frame, are from square for the best focal length."""
    steps = columns[:, None, :] / np.concatenate([_FOCAL, _FOCAL, np.ones_like(_FOCAL)]).reshape(3, -1, 1)
    size = np.sqrt((steps**2).sum(0))
    cosine = (steps[..., 0] * steps[..., 1]).sum(0) / size.prod(-1)
    return float(np.min(cosine**2 + np.log(size[:, 0] / size[:, 1]) ** 2))


def on_lines(sketch: Sketch, ridges: Ridges) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.float64], Points]:
    """Family (N,) along which each ridge lies (-1: neither), signed distance in px (N,), cells (N, 2)."""
    return _on_lines(sketch, ridges)[:3]


def _on_lines(
    sketch: Sketch, ridges: Ridges
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.float64], Points, npt.NDArray[np.float64]]:
    """As :func:`on_lines`, and cells per pixel across either family (N, 2)."""
    cells, gradients = sketch.cells_and_gradients(ridges.at)
    size = np.maximum(np.hypot(gradients[..., 0], gradients[..., 1]), 1e-9)
    aligned = np.abs((gradients * ridges.normal[:, None, :]).sum(2)) / size
    family = np.where(aligned.max(1) > _ALIGNED, aligned.argmax(1), -1)
    own = family.clip(0)
    index = np.arange(len(own))
    miss = cells[index, own] - np.round(cells[index, own])
    return family, miss / size[index, own], cells, size


def _improve(sketch: Sketch, ridges: Ridges, *, bends: bool) -> tuple[Sketch, float]:
    """One robust Gauss-Newton step on the distances of ridge points from their nearest line."""
    family, miss_px, cells, size = _on_lines(sketch, ridges)
    own = np.flatnonzero((family >= 0) & (np.abs(miss_px) * size[np.arange(len(size)), family.clip(0)] < _GATE_CELLS))
    if len(own) < 30:
        return sketch, 0.0
    family, miss = family[own], miss_px[own]
    jacobian = _jacobian(sketch, ridges.at[own], family, cells[own]) / size[own, family][:, None]
    weight = 1 / (1 + (miss / _NOISE_PX) ** 2) ** 2
    # half of what light balance the families would otherwise lose: a family seen little must still be heard
    for k in (0, 1):
        weight[family == k] *= len(own) / (2 * max(1, (family == k).sum()))
    values = np.concatenate([sketch.matrix.ravel()[:8], sketch.bend])
    prior = np.zeros(10)
    prior[6:8] = _PRIOR_WEIGHT * _NOISE_PX**2 / _PERSPECTIVE_PRIOR**2
    prior[8:] = _PRIOR_WEIGHT * _NOISE_PX**2 / _BEND_PRIOR**2 if bends else 1e12
    normal = jacobian.T @ (jacobian * weight[:, None]) + np.diag(prior)
    right = jacobian.T @ (miss * weight) + prior * np.where(np.arange(10) >= 6, values, 0.0)
    scale = np.sqrt(np.maximum(np.diag(normal), 1e-12))
    values = values - np.linalg.solve(normal / np.outer(scale, scale) + 1e-9 * np.eye(10), right / scale) / scale
    better = replace(sketch, matrix=np.append(values[:8], 1.0).reshape(3, 3), bend=(values[8], values[9]))
    near, gate_px = np.abs(miss) < 1.5, _GATE_CELLS / float(np.median(size[own, family]))
    return better, float(near.sum() - (~near).sum() * 1.5 / max(gate_px - 1.5, 1.5))


def _jacobian(sketch: Sketch, px: Points, family: npt.NDArray[np.int64], cells: Points) -> npt.NDArray[np.float64]:
    """Derivatives (N, 10) of each ridge's own cell coordinate by the eight matrix entries and the two bend terms."""
    p = (px - sketch.centre_px) / sketch.half_diagonal_px
    r2 = (p * p).sum(1)
    d = p * (1 + sketch.bend[0] * r2 + sketch.bend[1] * r2 * r2)[:, None]
    q = np.column_stack([d, np.ones(len(d))])
    under = q @ sketch.matrix[2]
    out = np.zeros((len(px), 10))
    value = cells[np.arange(len(px)), family]
    for k in (0, 1):
        out[family == k, 3 * k : 3 * k + 3] = (q / under[:, None])[family == k]
    out[:, 6:8] = -value[:, None] * d / under[:, None]
    by_d = (sketch.matrix[family, :2] - value[:, None] * sketch.matrix[2, :2]) / under[:, None]
    out[:, 8] = (by_d * p).sum(1) * r2
    out[:, 9] = (by_d * p).sum(1) * r2 * r2
    return out
