"""What two flat sheets both show: pairs of places that look alike, and the one rigid move that most agree on."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, frozen
from calibration.sheet.flatten import FlatSheet

Mask = npt.NDArray[np.bool_]
Matrix = npt.NDArray[np.float64]

FEATURE_MM = 0.3  # scale of the raster that features are sought on: fine enough for print, coarse enough to be quick
_MOST_FEATURES = 5000  # of one sheet, the strongest
_FAINT = 0.008  # SIFT's contrast threshold: tissue without printing has little else than its own cloudiness
_RATIO = 0.85  # how much better the best likeness must be than the second (Lowe 2004 uses 0.8 with more clutter)
_SAME_SIZE = 1.25  # both sheets are in mm already: what looks alike at another size is chance
_AGREE_MM = 0.8  # of a match with the common move, while searching
_TRIES = 3000  # pairs of matches tried
_APART_MM = 15.0  # the two matches of a pair: nearer ones say nothing of the turn
_CELL_MM = 4.0  # matches nearer than this count once
_LEAST_CELLS = 10  # that must agree
_BEATS = 1.5  # how many times more cells than the best quite different move
_SAME_MOVE_MM = 3.0  # moves nearer than this are the same one


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Features:
    """Places of a sheet worth recognising: where (N, 2) in sheet mm, and what they look like (N, 128)."""

    at_mm: Points
    looks: npt.NDArray[np.float32]
    sizes: npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Matches:
    """What two sheets share: ``a_mm`` (N, 2) on one, ``b_mm`` (N, 2) on the other, ``move`` (3, 3) from b to a."""

    a_mm: Points
    b_mm: Points
    move: Matrix

    def __post_init__(self) -> None:
        for name in ("a_mm", "b_mm", "move"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @property
    def apart_mm(self) -> npt.NDArray[np.float64]:
        """How far the pairs stay apart (N,) after the move."""
        return np.hypot(*(self.a_mm - moved(self.b_mm, self.move)).T)


def moved(points: Points, move: Matrix) -> Points:
    """Points (N, 2) through a rigid move (3, 3)."""
    return points @ move[:2, :2].T + move[:2, 2]


def rigid(turn: float, shift: npt.ArrayLike) -> Matrix:
    """The move (3, 3) that turns by ``turn`` radians about the origin, then shifts."""
    c, s = np.cos(turn), np.sin(turn)
    x, y = np.asarray(shift, float)
    return np.array([[c, -s, x], [s, c, y], [0.0, 0.0, 1.0]])


def best_rigid(from_mm: Points, to_mm: Points) -> Matrix:
    """The rigid move with the least squared distances. Source: Kabsch 1976; never a scale, never a mirror image."""
    a, b = from_mm.mean(0), to_mm.mean(0)
    d, e = from_mm - a, to_mm - b
    turn = np.arctan2((d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0]).sum(), (d * e).sum())
    spin = rigid(turn, (0.0, 0.0))
    return rigid(turn, b - spin[:2, :2] @ a)


def find_features(sheet: FlatSheet, where: Mask | None = None) -> Features:
    """Places worth recognising, on the whole sheet or only ``where`` (height, width of the sheet's raster).

    Source: D. G. Lowe, Distinctive image features from scale-invariant keypoints, 2004, as in OpenCV.
    """
    shrink = min(1.0, sheet.mm_per_px / FEATURE_MM)
    grey = cv2.cvtColor(sheet.pixels, cv2.COLOR_RGB2GRAY)
    small = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA) if shrink < 1 else grey
    allowed = sheet.seen if where is None else sheet.seen & where
    mask = cv2.resize(allowed.astype(np.uint8) * 255, small.shape[::-1], interpolation=cv2.INTER_NEAREST)
    mask = cv2.erode(mask, np.ones((9, 9), np.uint8), borderValue=0)
    even = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(small)
    finder = cv2.SIFT.create(nfeatures=_MOST_FEATURES, contrastThreshold=_FAINT, enable_precise_upscale=True)
    points, looks = finder.detectAndCompute(even, mask)
    if not points:
        return Features(at_mm=np.zeros((0, 2)), looks=np.zeros((0, 128), np.float32), sizes=np.zeros(0))
    at_small = np.array([point.pt for point in points])
    ratio = np.array(grey.shape[::-1]) / np.array(small.shape[::-1])
    at_px = (at_small + 0.5) * ratio - 0.5  # pixel centres, on both rasters
    root = np.sqrt(looks / np.maximum(looks.sum(1, keepdims=True), 1e-9))
    return Features(at_mm=sheet.to_mm(at_px), looks=root, sizes=np.array([point.size for point in points]))


def match(a: Features, b: Features, rng: np.random.Generator) -> Matches | None:
    """What two sheets share, and the rigid move from b to a that it shows; None if nothing sure is shared."""
    first, second = _alike(a, b)
    if len(first) < _LEAST_CELLS:
        return None
    inside = _consensus(a.at_mm[first], b.at_mm[second], rng)
    if inside is None:
        return None
    pa, pb = a.at_mm[first][inside], b.at_mm[second][inside]
    return Matches(a_mm=pa, b_mm=pb, move=best_rigid(pb, pa))


def _alike(a: Features, b: Features) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Indices of features that are each other's best likeness, clearly better than the next, at the same size."""
    if len(a.looks) < 2 or len(b.looks) < 2:
        return np.zeros(0, np.intp), np.zeros(0, np.intp)
    likeness = a.looks @ b.looks.T
    best_b = likeness.argmax(1)
    rows = np.arange(len(best_b))
    top = likeness[rows, best_b]
    mutual = likeness.argmax(0)[best_b] == rows
    likeness[rows, best_b] = -1.0
    far, near = np.sqrt(np.maximum(2 - 2 * likeness.max(1), 0)), np.sqrt(np.maximum(2 - 2 * top, 0))
    ratio = a.sizes / b.sizes[best_b]
    keep = mutual & (near < _RATIO * far) & (ratio < _SAME_SIZE) & (ratio > 1 / _SAME_SIZE)
    return np.flatnonzero(keep), best_b[keep]


def _consensus(a: Points, b: Points, rng: np.random.Generator) -> Mask | None:
    """Which pairs agree on one rigid move, if they are many, and far more than agree on any other.

    Source: M. A. Fischler and R. C. Bolles, Random sample consensus, 1981, on pairs of matches.
    """
    i, j = rng.integers(0, len(a), (2, 20 * _TRIES))
    da, db = a[j] - a[i], b[j] - b[i]
    la, lb = np.hypot(*da.T), np.hypot(*db.T)
    good = (la > _APART_MM) & (np.abs(la - lb) < _AGREE_MM)
    i, da, db = i[good][:_TRIES], da[good][:_TRIES], db[good][:_TRIES]
    if not len(i):
        return None
    turn = np.arctan2(db[:, 0] * da[:, 1] - db[:, 1] * da[:, 0], (da * db).sum(1))
    cells = np.unique(np.floor(a / _CELL_MM).astype(int), axis=0, return_inverse=True)[1].ravel()
    count = np.zeros(len(i), int)
    moves = [rigid(angle, a[k] - rigid(angle, (0, 0))[:2, :2] @ b[k]) for angle, k in zip(turn, i, strict=True)]
    for n, move in enumerate(moves):
        near = ((a - moved(b, move)) ** 2).sum(1) < _AGREE_MM**2
        count[n] = len(np.unique(cells[near])) if near.sum() > count.max() * 0.5 else 0
    winner = moves[int(count.argmax())]
    centre: Points = np.array([a.mean(0)])
    there = moved(centre, np.asarray(np.linalg.inv(winner)))
    other = np.array([np.hypot(*(moved(there, move) - centre)[0]) > _SAME_MOVE_MM for move in moves])
    if count.max() < _LEAST_CELLS or count.max() < _BEATS * count[other].max(initial=0):
        return None
    return _settled(a, b, winner)


def _settled(a: Points, b: Points, move: Matrix) -> Mask:
    """The pairs that agree with the move fitted to all that agree."""
    near = np.zeros(len(a), bool)
    for _ in range(10):
        apart = np.hypot(*(a - moved(b, move)).T)
        spread = 1.4826 * np.median(apart[apart < _AGREE_MM]) if (apart < _AGREE_MM).any() else _AGREE_MM
        now = apart < min(_AGREE_MM, max(4.0 * spread, 0.1))
        if (now == near).all() or now.sum() < 3:
            break
        near = now
        move = best_rigid(b[near], a[near])
    return near
