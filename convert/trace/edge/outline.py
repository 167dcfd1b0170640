"""The paper's edge to a fraction of a pixel: profiles across a rough ring, fitted one by one."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from calibration.ground.spread import robust_spread
from calibration.lattice.mat import Lattice
from calibration.sheet.flatten import FlatSheet
from convert.trace.edge.line_ends import LineEnds, line_ends
from convert.trace.edge.rim import Rim, as_light, fit_rim, locate
from convert.trace.edge.ring import STEP_MM, outward_normals
from convert.trace.edge.running_median import running_median
from convert.trace.edge.sharpened import fit_sharpened, is_sharpened
from convert.trace.paper.raster import channel_dot, sample

Values = npt.NDArray[np.float64]

REACH_MM = 3.2  # of a profile to both sides of the rough edge
_MAT_MM = (1.0, 3.2)  # where along a profile the mat's colour is taken
_PAPER_MM = (-3.2, -1.5)
_ALONG_MM = 14.0  # colours beside the edge are medians over this much of it
_BIN_MM = 0.1
_SHADOW_MM = 0.5  # beyond the edge, where its shadow is darkest
_ASTRAY_MM = 1.5  # from the rough edge: a crossing so far off is another thing's
_FEWEST = 40  # profiles that show an edge at all
_DISTURBED = 20.0  # by how much a profile's standard error grows where nothing beside the edge is plain mat
# of pixel values at a plain edge: to the power of 2.2 they are light (sRGB, IEC 61966-2-1), and light is what a lens
# blurs. A sheet darker than its ground would come out too large by that; why is not known, the lower power is what fits
_POWER, _POWER_LIGHTER = 1.6, 0.6
_STEADY_MM = (
    10.0  # the paper's edge wanders slowly: where profiles are noisy, they are laid together over so much of it
)
_NEAR_MM, _WIDE_MM = 1.9, 2.8  # of a mean profile, to both sides
_LINE_BLUR_MM = 0.2  # a lattice line shows this much wider to each side than it is printed


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EdgeSamples:
    """Where the paper ends along a ring: points (N, 2) mm, the standard error (N,) of each across the edge, the rim,
    and how much (N,) of that rim's print shows in each, 1 as usual.
    """

    points: Points
    error: Values
    rim: Rim
    printed: Values


def measure_edge(sheet: FlatSheet, base: Points, *, like: Rim | None = None) -> EdgeSamples:
    """The paper's edge near each point of a rough, fair, counter-clockwise ring with ``STEP_MM`` between its points.

    ``like`` is what the edge was found to look like before, if it was.
    """
    normals = outward_normals(base)
    step = max(sheet.mm_per_px, 0.15)
    x = np.asarray(np.arange(-round(REACH_MM / step), round(REACH_MM / step) + 1) * step, float)
    at = base[:, None, :] + x[None, :, None] * normals[:, None, :]
    profiles = sample(sheet.pixels, sheet.to_px(at.reshape(-1, 2))).reshape(len(base), len(x), 3).astype(float)
    if like is not None and like.width_mm == 0 and not is_sharpened(like):  # what is sharpened is numbers, not light
        gap = np.median(profiles[:, x < _PAPER_MM[1]], (0, 1)) - np.median(profiles[:, x > _MAT_MM[0]], (0, 1))
        lighter = float(gap.sum() / max(np.abs(gap).sum(), 1.0))  # 1 where it is in every colour
        lighter = float(np.sign(lighter) * np.clip(2.5 * abs(lighter) - 1.5, 0.0, 1.0))
        profiles = 255.0 * (profiles / 255.0) ** (_POWER + _POWER_LIGHTER * lighter)
    usable = beside_lattice(at, sheet.lattice) if sheet.lattice else np.ones(at.shape[:2])
    with_lines, profiles = profiles, _bridged(profiles, usable)
    mat, paper = (_beside(profiles, x, span) for span in (_MAT_MM, _PAPER_MM))
    outer = profiles[:, x > _MAT_MM[0]]
    noise = max(2.0, robust_spread(np.diff(outer, axis=1)) / np.sqrt(2))
    inner, clear = _crossing(profiles, x, mat, paper)
    use = clear & (np.abs(inner) < _ASTRAY_MM)
    rim, offset = _typical_rim(profiles[use], usable[use], x, inner[use], mat[use], paper[use], like)
    if is_sharpened(rim):
        ends = line_ends(with_lines, at, x, _steady(inner, use), sheet.lattice, mat[use].mean(0))
        sharp = _sharpened(profiles[use], usable[use], x, inner[use], mat[use], paper[use], ends)
        rim, offset = sharp or (rim, offset)
    start = np.where(clear, inner + offset, 0.0)
    edge, error = locate(x, profiles, usable, start, rim, mat, paper, noise=noise)
    error[~clear] = np.inf
    error *= 1 + _DISTURBED * _disturbed(profiles, usable, x, edge, mat, paper, noise)
    printed = _printed_share(profiles, x, edge, rim, paper)
    return EdgeSamples(points=base + edge[:, None] * normals, error=error, rim=rim, printed=printed)


def _printed_share(profiles: Values, x: Values, edge: Values, rim: Rim, paper: Values) -> Values:
    """How dark (N,) the darkest place by the edge is, as a share of what is usual along it, its median along the edge.

    Ink is darker than the paper's shadow and a halo together.
    """
    if rim.width_mm == 0:
        return np.ones(len(edge))
    u = x - edge[:, None]
    near = (u > -rim.width_mm - _BIN_MM) & (u < _SHADOW_MM)
    darkest = np.where(near, as_light(profiles)[..., 0], np.inf).min(1)
    bare = as_light(paper)[..., 0]
    dark = np.where(np.isfinite(darkest), (bare - darkest) / np.maximum(bare, 1.0), 0.0)
    along = running_median(np.asarray(dark, float)[:, None], round(_ALONG_MM / STEP_MM / 2))[:, 0]
    return np.asarray(along / max(float(np.median(along)), 1e-6))


def _disturbed(
    profiles: Values, usable: Values, x: Values, edge: Values, mat: Values, paper: Values, noise: float
) -> Values:
    """Share (N,) of each profile's outer part that is no plain mat: print on the mat runs into the edge there."""
    u = x[None, :] - edge[:, None]
    beyond = (u > 0.6) & (u < 2.2) & (usable > 0)
    off = np.abs(profiles - mat[:, None]).max(2) > np.maximum(0.25 * np.abs(paper - mat).max(1), 6 * noise)[:, None]
    return np.asarray((beyond & off).sum(1) / np.maximum(beyond.sum(1), 1), float)


def beside_lattice(at: Values, lattice: Lattice) -> Values:
    """1 where points (..., 2) mm lie clear of the printed lattice, 0 on its lines."""
    if lattice.kind != "lines":
        return np.ones(at.shape[:-1])
    clear = np.ones(at.shape[:-1], bool)
    ends = [(lattice.first_x, lattice.last_x, lattice.heavy_x), (lattice.first_y, lattice.last_y, lattice.heavy_y)]
    for axis, (first, last, heavy) in enumerate(ends):
        index = np.rint(at[..., axis] / lattice.pitches_mm[axis])
        off = np.abs(at[..., axis] - index * lattice.pitches_mm[axis])
        width = np.full(off.shape, lattice.line_width_mm)
        if lattice.heavy_every:
            width[(index - heavy) % lattice.heavy_every == 0] = lattice.heavy_width_mm
        clear &= (off > width / 2 + _LINE_BLUR_MM) | (index < first) | (index > last)
    return clear.astype(float)


def _bridged(profiles: Values, usable: Values) -> Values:
    """Profiles drawn straight across what is not usable."""
    count = usable.shape[1]
    every = np.arange(count)
    before = np.maximum.accumulate(np.where(usable > 0, every, -1), axis=1)
    after = np.minimum.accumulate(np.where(usable > 0, every, count)[:, ::-1], axis=1)[:, ::-1]
    first, last = np.where(before < 0, after, before), np.where(after >= count, before, after)
    first, last = np.clip(first, 0, count - 1), np.clip(last, 0, count - 1)
    rows = np.arange(len(usable))[:, None]
    share = (every - first) / np.maximum(last - first, 1)
    return np.asarray(profiles[rows, first] * (1 - share[..., None]) + profiles[rows, last] * share[..., None])


def _beside(profiles: Values, x: Values, span_mm: tuple[float, float]) -> Values:
    """Colour (N, 3) over part of every profile, its median along the edge."""
    part = np.median(profiles[:, (x >= span_mm[0]) & (x <= span_mm[1])], axis=1)
    return running_median(part, round(_ALONG_MM / STEP_MM / 2))


def _crossing(profiles: Values, x: Values, mat: Values, paper: Values) -> tuple[Values, npt.NDArray[np.bool_]]:
    """Where each profile, followed outwards from the paper, is first nearer to the mat; and whether it is so at all."""
    gap = paper - mat
    share = channel_dot(profiles - mat[:, None], gap[:, None]) / np.maximum((gap**2).sum(1), 1e-6)[:, None]
    start = int(np.searchsorted(x, -2.0))
    below = share[:, start:] < 0.5
    first = start + below.argmax(1)
    clear = below.any(1) & (first > start)
    rows = np.arange(len(x[None].repeat(len(share), 0)))
    before = np.maximum(first - 1, 0)
    high, low = share[rows, before], share[rows, first]
    part = np.clip((high - 0.5) / np.where(np.abs(high - low) < 1e-6, 1.0, high - low), 0, 1)
    return x[before] + part * (x[1] - x[0]), clear


def _typical_rim(
    profiles: Values, usable: Values, x: Values, inner: Values, mat: Values, paper: Values, like: Rim | None
) -> tuple[Rim, float]:
    """The rim of the mean profile, all profiles laid with their inner crossings together; and its outer edge there."""
    if len(profiles) < _FEWEST:
        raise InputError(
            "The paper's edge can't be made out against what lies under it.",
            "Lay the piece on a mat of another colour, in even light, and take the picture again.",
        )
    where, mean = _mean_profile(profiles, usable, x, inner, _NEAR_MM)
    return fit_rim(where, mean, mat.mean(0), paper.mean(0), noise=2.0, like=like)


def _sharpened(
    profiles: Values, usable: Values, x: Values, inner: Values, mat: Values, paper: Values, ends: LineEnds | None
) -> tuple[Rim, float] | None:
    """As :func:`_typical_rim` in a sharpened picture; None where it is none."""
    steady = _steady(inner, np.ones(len(inner), bool))
    where, mean = _mean_profile(profiles, usable, x, steady, _WIDE_MM, fewest=_FEWEST)
    return fit_sharpened(where, mean, mat.mean(0), paper.mean(0), px_mm=x[1] - x[0], ends=ends)


def _steady(inner: Values, use: npt.NDArray[np.bool_]) -> Values:
    """Crossings (N,) as the paper's edge wanders, slowly; those that are of no use drawn from the others."""
    every = np.arange(len(inner))
    drawn = np.interp(every, every[use], inner[use], period=len(inner))
    return running_median(drawn[:, None], round(_STEADY_MM / STEP_MM / 2))[:, 0]


def _mean_profile(
    profiles: Values, usable: Values, x: Values, inner: Values, reach_mm: float, *, fewest: int = 0
) -> tuple[Values, Values]:
    """Places (K,) about the inner crossings, and the mean profile (K, 3) there, all laid with these together."""
    number = np.floor((x[None, :] - inner[:, None]) / _BIN_MM + 0.5).astype(int)
    number[usable == 0] = 10**6
    reach = round(reach_mm / _BIN_MM)
    bins = np.arange(-reach, reach + 1)
    flat = profiles.reshape(-1, 3)
    order = np.argsort(number.ravel(), kind="stable")
    cuts = np.searchsorted(number.ravel()[order], np.append(bins, bins[-1] + 1)).tolist()
    mean = np.array([_middle(flat[order[first:last]]) for first, last in pairwise(cuts)])
    filled = np.array([last - first > fewest for first, last in pairwise(cuts)])
    return np.asarray(bins[filled] * _BIN_MM, float), mean[filled]


def _middle(values: Values) -> Values:
    """Mean of the middle half, channel by channel."""
    if len(values) == 0:
        return np.zeros(3)
    ordered = np.sort(values, axis=0)
    quarter = len(values) // 4
    return np.asarray(ordered[quarter : len(values) - quarter].mean(0), float)
