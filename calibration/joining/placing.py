"""Where each of several sheets lies: rigid moves only, closed over all sheets together instead of one after another."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from calibration.ground.points import Points, frozen
from calibration.joining.matching import Matches, Matrix, moved, rigid

Pair = tuple[int, int]

_MOST_PAIRS = 800  # of one seam that are used: a long overlap shall not outvote the others
_SOFT_MM = 0.15  # distance beyond which a pair counts less and less
_REGION_MM = 25.0  # over which pairs are averaged to tell disagreement from the scatter of single pairs
_LEAST_IN_REGION = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """How two sheets agree where they overlap.

    ``disagreement_mm`` is the largest distance between what both show, averaged over regions a few centimetres wide;
    ``scatter_mm`` the root mean square of single pairs; ``pairs`` how many there are.
    """

    first: int
    second: int
    pairs: int
    scatter_mm: float
    disagreement_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placement:
    """The move (3, 3) from each sheet's own frame to the common one, and how well the seams agree."""

    moves: tuple[Matrix, ...]
    seams: tuple[Seam, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "moves", tuple(frozen(move) for move in self.moves))

    @property
    def worst_mm(self) -> float:
        """Largest disagreement at any seam."""
        return max((seam.disagreement_mm for seam in self.seams), default=0.0)


def connected(count: int, pairs: list[Pair]) -> list[int]:
    """The sheets that hang together with the first one."""
    reached = {0}
    for _ in range(count):
        reached |= {b for a, b in pairs if a in reached} | {a for a, b in pairs if b in reached}
    return sorted(reached)


def place(count: int, matches: Mapping[Pair, Matches]) -> Placement:
    """Moves of ``count`` sheets that bring together all that they share; the first one stays where it is.

    Raises
    ------
    ValueError
        If some sheet shares nothing with the others.
    """
    if len(connected(count, list(matches))) < count:
        raise ValueError("every sheet must share something with the others")
    start = chained(count, matches)
    ends = {pair: _thinned(found) for pair, found in matches.items()}
    middles = [_middle(k, ends) for k in range(count)]

    def moves_of(values: npt.NDArray[np.float64]) -> list[Matrix]:
        moves = [np.eye(3)]
        for k in range(1, count):
            turn, x, y = values[3 * (k - 1) : 3 * k]
            nudge = rigid(0.0, (x, y)) @ _about(middles[k], turn / 100.0)
            moves.append(start[k] @ nudge)
        return moves

    def misses(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        moves = moves_of(values)
        apart = [moved(a, moves[i]) - moved(b, moves[j]) for (i, j), (a, b) in ends.items()]
        return np.concatenate(apart).ravel()

    found = least_squares(misses, np.zeros(3 * (count - 1)), loss="soft_l1", f_scale=_SOFT_MM) if count > 1 else None
    moves = moves_of(found.x if found is not None else np.zeros(0))
    return Placement(moves=tuple(moves), seams=seams_of(matches, moves))


def seams_of(matches: Mapping[Pair, Matches], moves: Sequence[Matrix]) -> tuple[Seam, ...]:
    """How well placed sheets agree where they overlap."""
    return tuple(_seam(i, j, both, moves) for (i, j), both in matches.items())


def _about(middle: Points, turn: float) -> Matrix:
    """A turn about a point."""
    return rigid(0.0, middle) @ rigid(turn, (0.0, 0.0)) @ rigid(0.0, -middle)


def _middle(k: int, ends: Mapping[Pair, tuple[Points, Points]]) -> Points:
    """Middle of what a sheet shares, so that its turn and its shift are told apart."""
    own = [a for (i, _), (a, _) in ends.items() if i == k] + [b for (_, j), (_, b) in ends.items() if j == k]
    return np.concatenate(own).mean(0) if own else np.zeros(2)


def chained(count: int, matches: Mapping[Pair, Matches]) -> list[Matrix]:
    """A first guess: each sheet by its richest seam with those placed already."""
    moves: dict[int, Matrix] = {0: np.eye(3)}
    while len(moves) < count:
        i, j = max((p for p in matches if (p[0] in moves) != (p[1] in moves)), key=lambda p: len(matches[p].a_mm))
        if i in moves:
            moves[j] = moves[i] @ matches[i, j].move
        else:
            moves[i] = moves[j] @ np.linalg.inv(matches[i, j].move)
    return [moves[k] for k in range(count)]


def _thinned(found: Matches) -> tuple[Points, Points]:
    """At most so many pairs, evenly taken."""
    keep = np.unique(np.linspace(0, len(found.a_mm) - 1, _MOST_PAIRS).astype(int))
    return found.a_mm[keep], found.b_mm[keep]


def _seam(i: int, j: int, both: Matches, moves: Sequence[Matrix]) -> Seam:
    """What is left between two placed sheets."""
    at = moved(both.a_mm, moves[i])
    apart = at - moved(both.b_mm, moves[j])
    region = np.unique(np.floor(at / _REGION_MM).astype(int), axis=0, return_inverse=True)[1].ravel()
    middles = [np.median(apart[region == r], axis=0) for r in set(region) if (region == r).sum() >= _LEAST_IN_REGION]
    if not middles:
        middles = [np.median(apart, axis=0)]
    return Seam(
        first=i,
        second=j,
        pairs=len(at),
        scatter_mm=float(np.sqrt((apart**2).sum(1).mean())),
        disagreement_mm=float(np.hypot(*np.array(middles).T).max()),
    )
