"""The paper's edge in profiles across it: mat, perhaps a dark rim of a printed cut line, paper.

Where the line that was printed for cutting is cut through its middle, half of it stays on the paper as a dark rim. The
paper ends at the outer side of that rim. Profiles are taken as one part of light and two of colour (ITU-R BT.601), as a
JPEG keeps them: colour is blurred more than light, and only light is sharpened by the camera.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares
from scipy.special import ndtr

from calibration.ground.errors import InputError
from convert.trace.paper.raster import channel_dot

Values = npt.NDArray[np.float64]

HALO_WIDER = 2.5  # the halo of a sharpened picture reaches this many times further than its blur
_STARTS = ((0.0, 0.0), (0.3, -0.2), (0.45, 0.1))  # width of a rim and place of the edge that a fit begins with, mm
_ROUNDS = 6
_SETTLED_MM = 0.0005  # a coarser stop loses shallow notches of white paper on a pale mat
_BLIND_MM = 0.35  # standard error of an edge that lies somewhere under a line of the mat
_TOLD = 0.5  # share of what a whole profile tells of its edge that must be usable
_INK, _INK_SPREAD = 0.27, 0.08  # printer's ink in its darkest channel, as a share of the paper's pixel value
_BLACKEST = 0.15
_WIDEST_MM = 1.4
_NARROW_MM = 0.45
_SPREAD_MM = 0.5  # the paper's light makes no wider "rim"
_LIKE_MAT = 0.15  # of the way from mat to paper: a "rim" so near the mat's colour is mat
_THINNEST_MM = 0.22  # half of a line thinner than this is no help to a cutter
_THINNEST_CLEAR_MM = 0.17  # a dark line blurred in light comes out too thin in a file's numbers
_OF_BLUR = 0.6  # a thin rim is wider than this share of the blur, or it is but the blur
_TOO_WIDE_MM = 1.3
_GAIN, _CLEAR_GAIN = 0.8, 0.35  # of a plain edge's misfit, what a rim leaves of it at most; what a clear one leaves
_TO_LIGHT = np.array([[0.299, 0.587, 0.114], [-0.1687, -0.3313, 0.5], [0.5, -0.4187, -0.0813]]).T


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rim:
    """How a paper's edge looks.

    ``width_mm`` of the rim (0 without print); ``tone`` (3,) its red, green and blue as shares of the paper's beside it;
    ``blur_mm`` (3,) sigma of light and of both colour parts; ``halo`` of a sharpened picture, in light only.
    """

    width_mm: float
    tone: Values
    blur_mm: Values
    halo: float = 0.0


def as_light(rgb: npt.ArrayLike) -> Values:
    """Red, green, blue (..., 3) -> light and two parts of colour."""
    return np.asarray(rgb, float) @ _TO_LIGHT


def fit_rim(
    x: Values, profile: Values, mat: Values, paper: Values, *, noise: float, like: Rim | None = None
) -> tuple[Rim, float]:
    """The rim that explains one mean profile (X, 3) of red, green, blue, and where its outer edge lies in it.

    ``x`` (X,) mm outwards; ``mat`` and ``paper`` (3,) are the colours far to both sides. A rim is believed only where
    it explains the profile clearly better than a plain edge. ``like`` is a rim known to be near.
    """
    seen = as_light(profile)
    best: tuple[float, Rim, float] | None = None
    plain = np.inf
    for width, shift in _STARTS if like is None else ((like.width_mm, like.width_mm),):
        low, guess, high = _bounds(width, shift)

        def miss(p: Values) -> Values:
            off = ((model(x, p[0], _rim_of(p), mat, paper) - seen) / noise).ravel()
            ink = [(p[5:].min() - _INK) / _INK_SPREAD] if len(p) > 4 else []
            return np.concatenate([off, ink])

        found = least_squares(miss, guess, bounds=(low, high), loss="soft_l1", max_nfev=40)
        rim = _rim_of(found.x)
        cost = float(found.cost) * (1.15 if width else 1.0) + (3.0 if width else 0.0)
        if width == 0:
            plain = cost
        elif cost > _GAIN * plain or _is_halo(rim, mat, paper, clear=cost < _CLEAR_GAIN * plain):
            continue
        if best is None or cost < best[0]:
            best = (cost, rim, float(found.x[0]))
    if best is None and like is not None:  # the rim that was believed is none on a closer look
        return fit_rim(x, profile, mat, paper, noise=noise)
    if best is None:
        raise InputError(
            "The edge of the paper can't be made out against the mat.",
            "Check that the grid's pitch was said right; else use a mat of another colour, or more light.",
        )
    return best[1], best[2]


def _bounds(width: float, shift: float) -> tuple[Values, Values, Values]:
    """Least, first and greatest parameters: edge, blur of light, of colour, halo; width and tone of a rim."""
    low, guess, high = [-2.0, 0.06, 0.0, 0.0], [shift, 0.2, 0.2, 0.1], [2.0, 1.2, 0.8, 0.6]
    if width:
        low, guess, high = (
            low + [0.1] + 3 * [_BLACKEST],
            guess + [width] + 3 * [0.3],
            high + [_WIDEST_MM, 0.9, 0.9, 0.9],
        )
    return np.array(low), np.array(guess), np.array(high)


def _rim_of(p: Values) -> Rim:
    printed = len(p) > 4
    colour_blur = float(np.hypot(p[1], p[2]))
    return Rim(
        blur_mm=np.array([p[1], colour_blur, colour_blur]),
        halo=float(p[3]),
        width_mm=float(p[4]) if printed else 0.0,
        tone=p[5:8] if printed else np.ones(3),
    )


def _is_halo(rim: Rim, mat: Values, paper: Values, *, clear: bool) -> bool:
    """Whether a "rim" is but mat a little changed: by a sharpened picture's halo, by the paper's own narrow shadow, or
    by the paper's light, which a lens spreads over the mat and the file's numbers then make much of.

    ``clear``: the rim explains what a plain edge leaves.
    """
    if rim.width_mm > _TOO_WIDE_MM or (rim.tone > 0.8).all():
        return True
    resolved = clear and rim.width_mm > _OF_BLUR * rim.blur_mm[0]
    if rim.width_mm < (_THINNEST_CLEAR_MM if resolved else _THINNEST_MM):
        return True
    off, gap = rim.tone * paper - mat, np.hypot.reduce(paper - mat)
    ratio = rim.tone * paper / np.maximum(mat, 1.0)
    if np.hypot.reduce(off) < _LIKE_MAT * gap:  # a shadow is darker than the mat
        return rim.width_mm < _SPREAD_MM or bool((ratio < 1.0).any())
    return bool(rim.width_mm < _NARROW_MM and (ratio > 0.55).all() and (ratio < 1.2).all())


def model(x: Values, edge: Values | float, rim: Rim, mat: Values, paper: Values) -> Values:
    """Profiles (..., X, 3) in light and colour of an edge at ``edge``; ``mat``, ``paper`` (..., 3) red, green, blue."""
    u = np.asarray(x - np.asarray(edge)[..., None])
    light = [as_light(c)[..., None, :] for c in (mat, paper, rim.tone * paper)]
    if rim.width_mm == 0:
        return np.asarray(light[1] + (light[0] - light[1]) * _step(u, rim))
    return np.asarray(
        light[1] + (light[0] - light[2]) * _step(u, rim) + (light[2] - light[1]) * _step(u + rim.width_mm, rim)
    )


def _step(u: Values, rim: Rim) -> Values:
    """A blurred step (..., 3) from 0 to 1, sharpened in light."""
    light, colour = ndtr(u / rim.blur_mm[0]), ndtr(u / rim.blur_mm[1])
    light = (1 + rim.halo) * light - rim.halo * ndtr(u / (HALO_WIDER * rim.blur_mm[0]))
    return np.stack([light, colour, colour], axis=-1)


def locate(
    x: Values, profiles: Values, usable: Values, start: Values, rim: Rim, mat: Values, paper: Values, *, noise: float
) -> tuple[Values, Values]:
    """Edge (N,) in each of N profiles (N, X, 3) and its standard error (N,), by robust Gauss-Newton from ``start``.

    ``usable`` (N, X) is 0 where a profile shows something else, such as a lattice line. Where that leaves too little,
    ``start`` stands.
    """
    edge = start.astype(float).copy()
    reach = rim.width_mm + 3 * rim.blur_mm[0] + 0.25
    seen = as_light(profiles)
    error, told = np.full(len(edge), np.inf), np.zeros(len(edge))
    left = np.arange(len(edge))
    for _ in range(_ROUNDS):
        here = edge[left]
        place, rows, usable_here = _about(here, x, reach, left, usable)
        u = x[place] - here[:, None]
        within = (u > -reach) & (u < reach - 0.5 * rim.width_mm)
        near = within * usable_here
        fitted = model(x[place], here, rim, mat[left], paper[left])
        slope = (model(x[place], here + 0.02, rim, mat[left], paper[left]) - fitted) / 0.02
        miss = seen[rows, place] - fitted
        square, steep = channel_dot(miss, miss), channel_dot(slope, slope)
        weight = near / (1.0 + square / (4 * noise) ** 2)
        strength = (weight * steep).sum(1) + 1e-9
        step = np.clip((weight * channel_dot(slope, miss)).sum(1) / strength, -0.2, 0.2)
        edge[left] += step
        spread = np.maximum(noise**2, (near * square).sum(1) / np.maximum(near.sum(1) * 3, 1))
        error[left] = np.sqrt(spread / strength)
        whole = ((u > -reach) & (u < reach)) * steep
        told[left] = (whole * usable_here).sum(1) / np.maximum(whole.sum(1), 1e-12)
        left = left[np.abs(step) > _SETTLED_MM]
        if not len(left):
            break
    blind = told < _TOLD
    return np.where(blind, start, edge), np.where(blind, np.maximum(error, _BLIND_MM), error)


def _about(
    edge: Values, x: Values, reach: float, which: npt.NDArray[np.int64], usable: Values
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], Values]:
    """Columns (N, K) of the profiles ``which`` within ``reach`` of their edges, their rows (N, 1), what is usable.

    ``x`` has even steps.
    """
    half = int(np.ceil(reach / (x[1] - x[0]))) + 1
    middle = np.rint((edge - x[0]) / (x[1] - x[0])).astype(int)
    columns = middle[:, None] + np.arange(-half, half + 1)
    place = columns.clip(0, len(x) - 1)
    rows = which[:, None]
    return place, rows, np.where(place == columns, usable[rows, place], 0.0)
