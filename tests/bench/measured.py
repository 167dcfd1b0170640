"""How near a reading came to the truth: moved by the best turn and shift only, never scaled, never mirrored."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import linear_sum_assignment
from scipy.spatial import cKDTree

from calibration.ground.points import Points, closed, resample
from calibration.joining.matching import best_rigid, moved

Matrix = npt.NDArray[np.float64]
NEAR_MM = 1.5  # a mark found so near to a true one is that mark
_STEP_MM = 0.25
_ROUNDS = 30


@dataclass(frozen=True, kw_only=True, eq=False)
class Fit:
    """A ring laid on the truth: the move (3, 3) that does it, distances (N,) of the truth from it, and its scale."""

    move: Matrix
    gaps: npt.NDArray[np.float64]
    scale_percent: float

    @property
    def rms(self) -> float:
        """Root mean square distance, mm."""
        return float(np.sqrt(np.mean(self.gaps**2)))

    @property
    def within(self) -> float:
        """The distance that holds 95 of 100, mm."""
        return float(np.quantile(self.gaps, 0.95))


def even(ring: Points, step: float = _STEP_MM) -> Points:
    """A ring's points evenly."""
    return resample(closed(np.asarray(ring, float)), step)[:-1]


def lay(
    ring: Points, truth: Points, start: Matrix, *, away: tuple[tuple[Points, float], ...] = (), seen: float = 3.0
) -> Fit:
    """A ring (N, 2) on the true one, beginning with a move near the right one.

    ``away`` are places (centre, radius) where the truth is not asked for. Far strays (beyond ``seen`` times the median)
    do not steer the fit but count in the distances.
    """
    fine, wanted = even(ring), even(truth, 1.0)
    wanted = wanted[[all(np.hypot(*(q - at)) > r for at, r in away) for q in wanted]] if away else wanted
    move = start
    for _ in range(_ROUNDS):
        foot = _feet(moved(fine, move), wanted)
        gaps = np.hypot(*(foot - wanted).T)
        use = gaps <= max(seen * float(np.median(gaps)), 0.3)
        back = moved(foot[use], np.linalg.inv(move))
        new = best_rigid(back, wanted[use])
        done = np.abs(new - move).max() < 1e-7
        move = new
        if done:
            break
    foot = _feet(moved(fine, move), wanted)
    gaps = np.hypot(*(foot - wanted).T)
    use = gaps <= max(seen * float(np.median(gaps)), 0.3)
    return Fit(move=move, gaps=gaps, scale_percent=100 * _scale(foot[use] - wanted[use], wanted[use]))


def _scale(off: Points, at: Points) -> float:
    """By what share a ring is larger, from how far off (N, 2) it lies across itself at true places (N, 2)."""
    far = np.hypot(*off.T)
    if far.max() < 1e-9:
        return 0.0
    normal = off[far > 1e-9] / far[far > 1e-9, None]
    place = at[far > 1e-9] - at.mean(0)
    turn = normal[:, 0] * -place[:, 1] + normal[:, 1] * place[:, 0]
    rows = np.column_stack([normal, turn, (normal * place).sum(1)])
    return float(np.linalg.lstsq(rows, far[far > 1e-9], rcond=None)[0][3])


def _feet(ring: Points, at: Points) -> Points:
    """The nearest place on a fine ring for each point, between its own points too."""
    near = cKDTree(ring).query(at)[1]
    best, far = ring[near], np.full(len(at), np.inf)
    for step in (-1, 0):
        a, b = ring[(near + step) % len(ring)], ring[(near + step + 1) % len(ring)]
        way = b - a
        share = np.clip(((at - a) * way).sum(1) / np.maximum((way**2).sum(1), 1e-12), 0, 1)
        foot = a + share[:, None] * way
        gap = np.hypot(*(foot - at).T)
        best = np.where((gap < far)[:, None], foot, best)
        far = np.minimum(gap, far)
    return best


@dataclass(frozen=True, kw_only=True)
class Counts:
    """Marks asked for, found rightly, and found where there are none."""

    wanted: int = 0
    right: int = 0
    false: int = 0

    def __add__(self, other: "Counts") -> "Counts":
        return Counts(wanted=self.wanted + other.wanted, right=self.right + other.right, false=self.false + other.false)

    @property
    def recall(self) -> float:
        """Share of those asked for that were found."""
        return self.right / self.wanted if self.wanted else float("nan")

    @property
    def precision(self) -> float:
        """Share of those found that are right."""
        return self.right / (self.right + self.false) if self.right + self.false else float("nan")


def match(found: Points, wanted: Points, *, pardoned: Points | None = None, near: float = NEAR_MM) -> Counts:
    """Found places against true ones, one to one; those near a ``pardoned`` place count neither way."""
    found, wanted = np.reshape(found, (-1, 2)), np.reshape(wanted, (-1, 2))
    taken = np.zeros(len(found), bool)
    right = 0
    if len(found) and len(wanted):
        gaps = np.hypot(*(found[:, None] - wanted[None]).transpose(2, 0, 1))
        rows, columns = linear_sum_assignment(np.minimum(gaps, 50.0))
        hit = gaps[rows, columns] <= near
        right = int(hit.sum())
        taken[rows[hit]] = True
    rest = found[~taken]
    if pardoned is not None and len(pardoned) and len(rest):
        rest = rest[cKDTree(np.reshape(pardoned, (-1, 2))).query(rest)[0] > 6.0]
    return Counts(wanted=len(wanted), right=right, false=len(rest))
