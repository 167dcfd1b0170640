"""Where to start: a small part of the picture in which two families of evenly spaced lines cross."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.lattice.ridges import Ridges

_TILES_PX = (300, 560, 160)  # of the reduced picture: an inch mat needs the large one, bare strips the small one
_MOST_RIDGES = 1500  # looked at in one tile
_GOOD_SCORE = 22.0
_ENOUGH_SEEDS = 4  # good ones: then no further tiles are tried
_FEWEST_RIDGES = 60  # in one family within a tile
_FEWEST_PERIODS = 3.5
_SHORTEST_PERIOD_PX = 5.0
_FAMILY_DEG = 4.0
_BINS = 180
_SMALLEST_ANGLE_DEG = 35.0  # between the families: a square grid seen at 45 degrees stays above 50


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seed:
    """A patch of lattice: ``centre`` (2,) px, ``waves`` (2, 2) cycles per px across each family, ``phase`` (2,) cycles.

    ``score`` grows with the evidence; ``size_px`` is the patch's width.
    """

    centre: Points
    waves: Points
    phase: Points
    score: float
    size_px: float


def find_seeds(ridges: Ridges, width: int, height: int) -> list[Seed]:
    """Patches of lattice, the most convincing first; lines lighter and darker than the mat are tried apart."""
    own = [ridges.only(ridges.light == light) for light in (True, False)]
    own.sort(key=len, reverse=True)
    seeds: list[Seed] = []
    for shift in (0.0, 0.5):
        for size in _TILES_PX:
            for some in own:
                seeds += _tiles(some, width, height, size, shift)
            if sum(seed.score > _GOOD_SCORE for seed in seeds) >= _ENOUGH_SEEDS:
                return sorted(seeds, key=lambda seed: -seed.score)
    return sorted(seeds, key=lambda seed: -seed.score)


def _tiles(ridges: Ridges, width: int, height: int, size: int, shift: float) -> list[Seed]:
    order = np.argsort(ridges.at[:, 1], kind="stable")
    at, normal = ridges.at[order], ridges.normal[order]
    found = []
    for top in range(round(shift * size), max(1, height - size // 4), size):
        row = slice(*np.searchsorted(at[:, 1], [top, top + size]))
        for left in range(round(shift * size), max(1, width - size // 4), size):
            inside = np.flatnonzero((at[row, 0] >= left) & (at[row, 0] < left + size))
            if len(inside) < 2 * _FEWEST_RIDGES:
                continue
            inside = inside[:: len(inside) // _MOST_RIDGES + 1]
            centre = np.array([left + size / 2, top + size / 2])
            seed = _seed(at[row][inside] - centre, normal[row][inside], centre, size)
            found += [seed] if seed else []
    return found


def _seed(at: Points, normal: Points, centre: Points, size: int) -> Seed | None:
    angle = np.degrees(np.arctan2(normal[:, 1], normal[:, 0])) % 180
    families = [family for peak in _peaks(angle) if (family := _family(at, angle, peak, size)) is not None]
    families.sort(key=lambda family: -family[3])
    for k, first in enumerate(families):
        for second in families[k + 1 :]:
            turn = abs((first[0] - second[0] + 90) % 180 - 90)
            if turn >= _SMALLEST_ANGLE_DEG:
                direction = np.radians([first[0], second[0]])
                frequency = np.array([first[1], second[1]])
                waves = frequency[:, None] * np.column_stack([np.cos(direction), np.sin(direction)])
                return Seed(
                    centre=centre,
                    waves=waves,
                    phase=np.array([first[2], second[2]]),
                    score=min(first[3], second[3]),
                    size_px=float(size),
                )
    return None


def _peaks(angle_deg: npt.NDArray[np.float64]) -> list[float]:
    """Directions (degrees, mod 180) in which many normals point, at most six."""
    counts = np.bincount((angle_deg * _BINS / 180).astype(int) % _BINS, minlength=_BINS).astype(float)
    smooth = np.sum([np.roll(counts, k) * w for k, w in ((-2, 1), (-1, 2), (0, 3), (1, 2), (2, 1))], axis=0)
    around = np.max([np.roll(smooth, k) for k in range(-4, 5)], axis=0)
    top = [int(i) for i in np.flatnonzero((smooth == around) & (smooth > 0))]
    top.sort(key=lambda i: -smooth[i])
    return [(i + 0.5) * 180 / _BINS for i in top[:6]]


def _family(
    at: Points, angle_deg: npt.NDArray[np.float64], peak_deg: float, size: int
) -> tuple[float, float, float, float] | None:
    """Direction (deg), frequency (cycles/px), phase (cycles) and score of the lines whose normals point that way."""
    off = (angle_deg - peak_deg + 90) % 180 - 90
    own = np.abs(off) < _FAMILY_DEG
    if own.sum() < _FEWEST_RIDGES:
        return None
    direction = peak_deg + float(np.median(off[own]))
    own = np.abs((angle_deg - direction + 90) % 180 - 90) < _FAMILY_DEG
    toward = np.array([np.cos(np.radians(direction)), np.sin(np.radians(direction))])
    along = at[own] @ toward
    padded = 8 * size
    counts = np.bincount(np.round((along + size) * 2).astype(int).clip(0, 4 * size), minlength=4 * size + 1)
    wave = np.fft.rfft(counts, 2 * padded)
    frequency = np.arange(len(wave)) / padded
    strength = np.abs(wave) / own.sum()
    usable = (frequency > _FEWEST_PERIODS / size) & (frequency < 1 / _SHORTEST_PERIOD_PX)
    strength[~usable] = 0.0
    peak = int(np.argmax(strength > 0.8 * strength.max()))
    while peak + 1 < len(strength) and strength[peak + 1] > strength[peak]:
        peak += 1
    best = float(frequency[peak])
    if best <= 0 or strength[peak] < 0.35:
        return None
    phase = float(np.angle(np.exp(2j * np.pi * best * along).mean()) / (2 * np.pi))
    return direction, best, phase, float(strength[peak] * np.sqrt(own.sum()))
