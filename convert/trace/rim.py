"""The paper's edge in profiles across it: mat, perhaps a dark rim of a printed cut line, paper.

Where the line that was printed for cutting is cut through its middle, half of it stays on the paper as a dark rim. The
paper ends at the outer side of that rim.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares
from scipy.special import ndtr

Profiles = npt.NDArray[np.float64]

_ROUNDS = 8
_WIDEST_MM = 1.4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rim:
    """How a paper's edge looks: rim ``width_mm`` wide (0 without print), ``tone`` (3,) its colour, ``blur_mm`` sigma.

    ``tone`` is a share of the paper's own colour beside it, channel by channel.
    """

    width_mm: float
    tone: npt.NDArray[np.float64]
    blur_mm: float
    halo: float = 0.0


HALO_WIDER = 2.5  # the halo of a sharpened picture reaches this many times further than its blur


def fit_rim(x: Profiles, profile: Profiles, mat: Profiles, paper: Profiles, *, noise: float) -> tuple[Rim, float]:
    """The rim that explains one mean profile (X, 3), and where its outer edge lies in it.

    ``x`` (X,) mm outwards; ``mat`` and ``paper`` (3,) are the colours far to both sides. A rim is believed only where it
    explains the profile clearly better than a plain edge.
    """
    best: tuple[float, Rim, float] | None = None
    for start in (0.0, 0.3, 0.6):
        for shift in (-0.3, 0.2, 0.6):
            guess = np.array([shift, 0.25, 0.1, *([start, 0.2, 0.2, 0.2] if start else [])])
            low = [-2.0, 0.08, 0.0, *([0.1, 0.0, 0.0, 0.0] if start else [])]
            high = [2.0, 1.2, 0.6, *([_WIDEST_MM, 0.9, 0.9, 0.9] if start else [])]

            def miss(p: Profiles) -> Profiles:
                rim = _rim_of(p)
                return np.asarray((model(x, p[0], rim, mat, paper) - profile).ravel() / noise, float)

            found = least_squares(miss, guess, bounds=(low, high), loss="soft_l1", max_nfev=60)
            cost = float(found.cost) * (1.0 if start == 0 else 1.15) + (0.0 if start == 0 else 3.0)
            p = found.x
            rim = _rim_of(p)
            if start and _is_halo(rim, mat, paper):
                continue
            if best is None or cost < best[0]:
                best = (cost, rim, float(p[0]))
    assert best is not None
    return best[1], best[2]


def _is_halo(rim: Rim, mat: Profiles, paper: Profiles) -> bool:
    """Whether a "rim" is but mat a little darkened: a sharpened picture's halo, or the paper's own narrow shadow."""
    ratio = rim.tone * paper / np.maximum(mat, 1.0)
    return bool(rim.width_mm < 0.45 and (ratio > 0.55).all() and (ratio < 1.2).all()) or bool((rim.tone > 0.8).all())


def _rim_of(p: Profiles) -> Rim:
    printed = len(p) > 3
    return Rim(
        blur_mm=float(p[1]),
        halo=float(p[2]),
        width_mm=float(p[3]) if printed else 0.0,
        tone=p[4:7] if printed else np.ones(3),
    )


def _step(u: Profiles, rim: Rim) -> Profiles:
    """A blurred and sharpened step from 0 to 1."""
    return np.asarray((1 + rim.halo) * ndtr(u / rim.blur_mm) - rim.halo * ndtr(u / (HALO_WIDER * rim.blur_mm)), float)


def model(x: Profiles, edge: Profiles | float, rim: Rim, mat: Profiles, paper: Profiles) -> Profiles:
    """Profile colours (..., X, 3) of an edge at ``edge``, mat outside it, rim and paper inside."""
    u = x - np.asarray(edge)[..., None]
    out = _step(u, rim)
    inner = _step(u + rim.width_mm, rim)
    mat, paper = mat[..., None, :], paper[..., None, :]
    rim_colour = paper * rim.tone
    return np.asarray(
        paper + (mat - rim_colour) * out[..., None] + (rim_colour - paper) * inner[..., None],
        float,
    )


def locate(
    x: Profiles, profiles: Profiles, start: Profiles, rim: Rim, mat: Profiles, paper: Profiles, *, noise: float
) -> tuple[Profiles, Profiles]:
    """Edge (N,) in each of N profiles (N, X, 3) and its standard error (N,), by robust Gauss-Newton from ``start``."""
    edge = start.astype(float).copy()
    reach = rim.width_mm + 3 * rim.blur_mm + 0.25
    error = np.full(len(edge), np.inf)
    for _ in range(_ROUNDS):
        u = x[None, :] - edge[:, None]
        near = ((u > -reach) & (u < reach - 0.5 * rim.width_mm)).astype(float)
        fitted = model(x[None, :], edge, rim, mat, paper)
        slope = (model(x[None, :], edge + 0.02, rim, mat, paper) - fitted) / 0.02
        miss = profiles - fitted
        size = np.sqrt((miss**2).sum(2))
        weight = near / (1.0 + (size / (4 * noise)) ** 2)
        strength = (weight[..., None] * slope**2).sum((1, 2)) + 1e-9
        edge += np.clip((weight[..., None] * slope * miss).sum((1, 2)) / strength, -0.2, 0.2)
        count = np.maximum(near.sum(1) * 3, 1)
        spread = np.maximum(noise**2, (near[..., None] * miss**2).sum((1, 2)) / count)
        error = np.sqrt(spread / strength)
    return edge, error
