"""The look of a paper's edge in a picture that the telephone has sharpened hard: haloes wide and strong.

A telephone adds to each place what it differs from the mean round it. How far round, and how much of it, differ from
one telephone to the next and are found here together with the edge; paper and mat shine a little more or less by the
edge than they do further off. Colour is left as it was, but files keep it coarsely, so that it counts for little.
"""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.optimize import OptimizeResult, least_squares

from convert.trace.edge.line_ends import LineEnds, show_rim
from convert.trace.edge.rim import HARDEST_HALO, INK, INK_SPREAD, Rim, as_light, is_no_rim, model

Values = npt.NDArray[np.float64]

_CLEARER = 0.95  # of a plain edge's misfit: much of it is what neither look can explain
_WIDER = 1.8  # times the blur, that a halo reaches at least
_AT_BOUND = 0.98  # of the hardest halo that the plain look of an edge allows for
_COLOUR = 0.3  # weight of both colour parts beside light's
_GAIN_SPREAD = 0.03  # of paper's and mat's light by the edge
_HALF_LINE_MM, _HALF_LINE_SPREAD_MM = 0.45, 0.12  # left of a cut line of 0.5 to 1.2 mm, common practice
_LEAST = (-2.0, 0.06, 0.0, 0.0, 0.2, 0.9, 0.9)  # edge, blur of light, of colour, halo, its blur, gain of paper, of mat
_FIRST = (0.3, 0.25, 0.4, 0.8, 0.8, 1.0, 1.0)
_MOST = (2.0, 1.2, 1.2, 3.0, 3.0, 1.1, 1.15)
_HALO, _HALO_SPREAD = 0.8, 0.4  # of what telephones add, our choice: seen so on pictures
_NOISE = 2.0  # pixel values
_TWO_SIDED = 1.96  # standard deviations that hold 95 of 100
_BY_HALO_PX = 0.5  # by so much sharpening may move an edge without its look telling so


def is_sharpened(rim: Rim) -> bool:
    """Whether an edge's halo is as strong as its plain look allows, and so most likely stronger."""
    return rim.halo >= _AT_BOUND * HARDEST_HALO


def fit_sharpened(
    x: Values, profile: Values, mat: Values, paper: Values, *, px_mm: float, ends: LineEnds | None = None
) -> tuple[Rim, float] | None:
    """As :func:`convert.trace.rim.fit_rim` in a sharpened picture; the rim's ``doubt_mm`` says how far it may be off.

    ``px_mm`` is how much of the mat a pixel covers; ``ends`` are those of the mat's lines, which tell a rim where it is
    like the mat. None where what is found is no halo, for that is wider than blur.
    """
    plain, printed = (_fitted(x, as_light(profile), mat, paper, rim_mm) for rim_mm in (0.0, 0.5))
    looks = [(_rim_of(fit.x), float(fit.x[0])) for fit in (plain, printed)]
    told = ends is not None and show_rim(ends, looks[0], looks[1], paper)
    seen = printed.cost <= _CLEARER * plain.cost and not is_no_rim(looks[1][0], mat, paper)
    found = printed if seen or told else plain
    rim = _rim_of(found.x)
    if rim.halo_blur_mm < _WIDER * rim.blur_mm[0]:
        return None
    reduced = 2 * found.cost / max(len(found.fun) - len(found.x), 1)
    spread = np.sqrt(np.linalg.pinv(found.jac.T @ found.jac)[0, 0] * max(reduced, 1.0))
    doubt = float(np.hypot(_TWO_SIDED * spread, _BY_HALO_PX * px_mm))
    return replace(rim, doubt_mm=doubt), float(found.x[0])


def _fitted(x: Values, seen: Values, mat: Values, paper: Values, rim_mm: float) -> OptimizeResult:
    low, first, high = list(_LEAST), list(_FIRST), list(_MOST)
    if rim_mm:
        low, first, high = low + [0.1] + 3 * [0.05], first + [rim_mm] + 3 * [0.3], high + [1.4] + 3 * [0.9]

    def miss(p: Values) -> Values:
        off = (model(x, p[0], _rim_of(p), mat, paper) - seen) * [1.0, _COLOUR, _COLOUR] / _NOISE
        known = [(p[3] - _HALO) / _HALO_SPREAD, (p[5] - 1.0) / _GAIN_SPREAD, (p[6] - 1.0) / _GAIN_SPREAD]
        if rim_mm:
            known += [(p[8:].min() - INK) / INK_SPREAD, (p[7] - _HALF_LINE_MM) / _HALF_LINE_SPREAD_MM]
        return np.concatenate([off.ravel(), known])

    return least_squares(miss, first, bounds=(low, high), loss="soft_l1", max_nfev=60)


def _rim_of(p: Values) -> Rim:
    printed = len(p) > 7
    colour_blur = float(np.hypot(p[1], p[2]))
    return Rim(
        blur_mm=np.array([p[1], colour_blur, colour_blur]),
        halo=float(p[3]),
        halo_blur_mm=float(np.hypot(p[1], p[4])),
        gains=(float(p[5]), float(p[6])),
        width_mm=float(p[7]) if printed else 0.0,
        tone=np.asarray(p[8:11]) if printed else np.ones(3),
    )
