"""Dot and spot-and-cross papers: the same lattice, printed as points."""

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.lattice.seed import Seed

_SIGMAS_PX = (1.6, 2.6)
_TILES_PX = (700, 420)
_MOST_IN_TILE = 150
_FEWEST_IN_TILE = 12
_GOOD_SCORE = 6.0
_BIN_PX = 4.0
_LONGEST_FREQUENCY = 1 / 12.0  # cycles per px of the reduced picture
_SURELY_DOTS = 120  # of the most prominent spots a sheet shows
ALIKE = (0.4, 0.65)  # the second where the first leaves too much grain
_ROUNDNESS = 0.35  # smaller curvature over larger


def find_spots(grey: npt.NDArray[np.float32]) -> tuple[Points, npt.NDArray[np.float64]]:
    """Small dark spots of a grey picture (H, W): places (N, 2) px and how far each stands out from its surroundings.

    Light spots are the dark ones of the negative.
    """
    places, prominences = [], []
    for sigma in _SIGMAS_PX:
        smooth = cv2.GaussianBlur(grey, (0, 0), sigma)
        gxx = cv2.Sobel(smooth, cv2.CV_32F, 2, 0, ksize=3) / 4
        gyy = cv2.Sobel(smooth, cv2.CV_32F, 0, 2, ksize=3) / 4
        gxy = cv2.Sobel(smooth, cv2.CV_32F, 1, 1, ksize=3) / 4
        middle, half = (gxx + gyy) / 2, np.sqrt(((gxx - gyy) / 2) ** 2 + gxy**2)
        small, large = middle - half, middle + half
        response = np.where(small > _ROUNDNESS * large, middle, 0.0).astype(np.float32)
        response[:8], response[-8:], response[:, :8], response[:, -8:] = 0, 0, 0, 0
        top = (response == cv2.dilate(response, np.ones((9, 9), np.uint8))) & (response > 0)
        noise = cv2.blur(np.abs(middle), (81, 81)) + 1e-6
        y, x = np.nonzero(top & (response > 4 * noise))
        places.append(np.column_stack([x, y]).astype(float))
        prominences.append((response / noise)[y, x].astype(float))
    at, prominence = np.vstack(places), np.concatenate(prominences)
    if not len(at):
        return at, prominence
    same = like_the_best(prominence, ALIKE[0])
    return at[same], prominence[same]


def like_the_best(prominence: npt.NDArray[np.float64], share: float) -> npt.NDArray[np.bool_]:
    """Which spots (N,) stand out at least that share of what the best do: dots are printed alike, grain is not."""
    return np.asarray(prominence > share * float(np.median(np.sort(prominence)[-_SURELY_DOTS:])))


def find_dot_seeds(spots: Points, prominence: npt.NDArray[np.float64], width: int, height: int) -> list[Seed]:
    """Patches in which spots stand in a square lattice, the most convincing first."""
    seeds = []
    for size in _TILES_PX:
        for top in range(0, max(1, height - size // 2), size // 2):
            for left in range(0, max(1, width - size // 2), size // 2):
                low = np.array([left, top])
                inside = np.flatnonzero(((spots >= low) & (spots < low + size)).all(1))
                if len(inside) >= _FEWEST_IN_TILE:
                    strongest = inside[np.argsort(-prominence[inside])[:_MOST_IN_TILE]]
                    seeds += _seeds(spots[strongest] - low - size / 2, low + size / 2, size)
        if sum(seed.score > _GOOD_SCORE for seed in seeds) >= 3:
            break
    return sorted(seeds, key=lambda seed: -seed.score)


def _seeds(at: Points, centre: Points, size: int) -> list[Seed]:
    """Seeds from the strongest and, since crosses repeat dots, from the shortest waves of a patch of spots."""
    bins = int(size / _BIN_PX)
    counts, *_ = np.histogram2d(at[:, 1], at[:, 0], bins=bins, range=[[-size / 2, size / 2]] * 2)
    padded = 4 * bins
    wave = np.abs(np.fft.fft2(cv2.GaussianBlur(counts, (0, 0), 1.0), (padded, padded))) / len(at)
    frequency = np.fft.fftfreq(padded, _BIN_PX)
    fy, fx = np.meshgrid(frequency, frequency, indexing="ij")
    distance = np.hypot(fx, fy)
    wave[(distance < 3.0 / size) | (distance > _LONGEST_FREQUENCY) | (fx < 0)] = 0.0
    top = (wave == cv2.dilate(wave, np.ones((9, 9), np.uint8))) & (wave > 0.55 * wave.max()) & (wave > 0.3)
    rows, columns = np.nonzero(top)
    order = np.argsort(distance[rows, columns])
    waves = np.column_stack([fx[rows, columns], fy[rows, columns]])[order]
    strength = wave[rows, columns][order]
    for k in range(len(waves)):
        for n in range(k + 1, min(len(waves), k + 6)):
            sine = abs(waves[k, 0] * waves[n, 1] - waves[k, 1] * waves[n, 0]) / (
                np.hypot(*waves[k]) * np.hypot(*waves[n])
            )
            if sine > 0.6:
                pair = waves[[k, n]]
                turns = at @ pair.T
                phase = np.angle(np.exp(2j * np.pi * turns).mean(0)) / (2 * np.pi)
                score = float(min(strength[k], strength[n]) * np.sqrt(len(at)))
                return [Seed(centre=centre, waves=pair, phase=phase, score=score, size_px=float(size))]
    return []
