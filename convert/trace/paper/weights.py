"""Round fabric weights that lie on the paper."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, as_point
from convert.trace.paper.raster import WorkRaster

SMALLEST_MM, LARGEST_MM = 12.0, 50.0  # radius
_TOUCHING = 0.15  # of the way round a weight, that paper lies there
_LOOK_MM = 1.2  # per pixel while looking
_EDGE = 120  # least gradient of a weight's edge
_PERFECT = 0.75  # how much of a whole circle must show
_REACHES_MM = (5.0, 3.5, 2.0)  # from a circle that was found, where its rim is looked for, nearer each time
_STEP_MM, _RIM_LEVELS = 1.2, 12.0  # a rim: a step in colour so high, over so much
_RIM_SHARE, _RIM_SHARE_ON_MAT = 0.8, 0.98  # of the way round that shows a rim; more where all inside could be bare mat
_JUST_INSIDE = 0.86  # of the radius
_LIKE, _MATLIKE = 0.25, 0.75  # of the way from mat to paper; share of a circle's inside that is as the mat
_ROUND = np.column_stack([f(np.linspace(0, 2 * np.pi, 72, endpoint=False)) for f in (np.cos, np.sin)])
_LOOK_OUT_MM = 14.0  # a weight's side, seen aslant, and its shadow reach no further
_BESIDE_MM = 3.0  # beyond what is seen of them, hidden as well


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weight:
    """A round thing at ``centre`` (2,) mm with ``radius_mm``; its side and shadow hide ``around_mm`` more."""

    centre: Points
    radius_mm: float
    around_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre", as_point(self.centre))


def find_weights(
    work: WorkRaster, papers: tuple[npt.NDArray[np.bool_], ...], share: npt.NDArray[np.float32]
) -> tuple[Weight, ...]:
    """Round things of the size of a fabric weight that touch a piece of paper, each once.

    ``share`` (height, width) is how much each pixel looks like paper (1) and not like mat (0). A round bay of the
    paper's edge is no weight: a weight's rim shows all round.

    Source: circles by the gradient's direction, H. K. Yuen and others, 1990, as OpenCV does it.
    """
    grey = cv2.cvtColor(work.pixels, cv2.COLOR_RGB2GRAY)
    factor = work.mm_per_px / _LOOK_MM
    small = np.asarray(cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), np.uint8)
    circles = _circles(np.asarray(cv2.medianBlur(small, 3), np.uint8)) + _circles(
        small
    )  # noise and lines of the mat; thin rims
    touched = np.any(papers, axis=0)
    found: list[Weight] = []
    for x, y, radius in sorted(circles, key=lambda circle: -circle[2]):
        at = np.array([(x + 0.5) / factor - 0.5, (y + 0.5) / factor - 0.5])
        at, radius_px = _fitted(work, at, radius * _LOOK_MM / work.mm_per_px)
        centre = work.to_mm([at])[0]
        inside = any(np.hypot(*(centre - other.centre)) < other.radius_mm for other in found)
        if not inside and _touches(touched, at, radius_px) and _stands_out(work, share, at, radius_px):
            around_mm = _shaded_mm(work, share, at, radius_px) + _BESIDE_MM
            found.append(Weight(centre=centre, radius_mm=radius_px * work.mm_per_px, around_mm=around_mm))
    return tuple(found)


def _circles(grey: npt.NDArray[np.uint8]) -> list[tuple[float, float, float]]:
    """Column, row and radius of what may be a weight, px."""
    radii = (round(SMALLEST_MM / _LOOK_MM), round(LARGEST_MM / _LOOK_MM))
    seen = cv2.HoughCircles(
        grey, cv2.HOUGH_GRADIENT_ALT, 1.5, 15, param1=_EDGE, param2=_PERFECT, minRadius=radii[0], maxRadius=radii[1]
    )
    return [] if seen is None else [(float(x), float(y), float(r)) for x, y, r in seen[0][:, :3]]


def _fitted(work: WorkRaster, at_px: Points, radius_px: float) -> tuple[Points, float]:
    """Centre and radius, px, of the circle through the strongest steps near one that was found."""
    for reach_mm in _REACHES_MM:
        radii, steps = _rim_steps(work, at_px, radius_px, reach_mm)
        strong = steps.max(0) > _RIM_LEVELS
        if strong.mean() < 0.5:
            break
        rim = at_px + radii[steps.argmax(0)][strong, None] * _ROUND[strong]
        middle, radius = at_px, radius_px
        for _ in range(3):  # without what lies on no circle: lines of the mat, the paper's edge
            off = np.abs(np.hypot(*(rim - middle).T) - radius)
            near = rim[off <= max(float(np.median(off)) * 2, 1.0)]
            told, *_ = np.linalg.lstsq(np.column_stack([2 * near, np.ones(len(near))]), (near**2).sum(1), rcond=None)
            middle, radius = told[:2], float(np.sqrt(max(told[2] + told[:2] @ told[:2], 1.0)))
        if np.hypot(*(middle - at_px)) * work.mm_per_px > 6.0 or not 0.7 < radius / radius_px < 1.4:
            break
        at_px, radius_px = middle, radius
    return at_px, radius_px


def _rim_steps(
    work: WorkRaster, at_px: Points, radius_px: float, reach_mm: float
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Radii (R,) px to both sides of a circle, and how high a step in colour (R, 72) each direction shows there."""
    step_px = 0.5
    apart = max(1, round(_STEP_MM / work.mm_per_px / step_px))
    reach_px = reach_mm / work.mm_per_px
    radii = radius_px + np.arange(-reach_px, reach_px, step_px)
    places = (at_px + radii[:, None, None] * _ROUND).astype(np.float32)
    around = cv2.remap(work.pixels, places[..., 0], places[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    steps = np.abs(around[apart:].astype(float) - around[:-apart]).max(2)
    return (radii[apart:] + radii[:-apart]) / 2, steps


def _stands_out(work: WorkRaster, share: npt.NDArray[np.float32], at_px: Points, radius_px: float) -> bool:
    """Whether a circle has a rim nearly all round, and is not partly paper and partly mat inside."""
    _, steps = _rim_steps(work, at_px, radius_px, _REACHES_MM[-1])
    rim = float((steps.max(0) > _RIM_LEVELS).mean())
    inner = (at_px + _JUST_INSIDE * radius_px * _ROUND).astype(np.float32)[:, None]
    inside = cv2.remap(share, inner[..., 0], inner[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    mat, paper = (float((np.abs(inside - level) < _LIKE).mean()) for level in (0.0, 1.0))
    if mat > 0.5 and paper > 0.1:
        return False
    return rim > (_RIM_SHARE_ON_MAT if mat > _MATLIKE else _RIM_SHARE)


def _shaded_mm(work: WorkRaster, share: npt.NDArray[np.float32], at_px: Points, radius_px: float) -> float:
    """How far from a weight's rim paper looks like none: where plain paper lies further out, it is side or shadow."""
    radii = radius_px + np.arange(0.0, _LOOK_OUT_MM / work.mm_per_px)
    places = (at_px + radii[:, None, None] * _ROUND).astype(np.float32)
    seen = cv2.remap(share, places[..., 0], places[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    plain = np.abs(seen - 1.0) < _LIKE
    on_paper = plain[-len(radii) // 4 :].all(0)
    if not on_paper.any():
        return _BESIDE_MM
    first = np.argmax(plain[:, on_paper], axis=0) * work.mm_per_px
    return float(np.quantile(first, 0.9))


def _touches(mask: npt.NDArray[np.bool_], at_px: Points, radius_px: float) -> bool:
    """Whether paper lies round a circle: on a good part of a ring just outside it."""
    ring = np.rint(at_px + 1.15 * radius_px * _ROUND).astype(int)
    ok = (ring >= 0).all(1) & (ring < mask.shape[::-1]).all(1)
    return bool(mask[ring[ok, 1], ring[ok, 0]].mean() > _TOUCHING) if ok.any() else False


def under_weights(points: Points, weights: tuple[Weight, ...]) -> npt.NDArray[np.bool_]:
    """Which points (N, 2) lie under a weight or so near that its height and shadow hide what is there."""
    hidden = np.zeros(len(points), bool)
    for weight in weights:
        hidden |= np.hypot(*(points - weight.centre).T) < weight.radius_mm + weight.around_mm
    return hidden
