"""A picture of a mat becomes millimetres: the lattice found without clicks, homography and lens fitted together."""

from dataclasses import dataclass, replace
from typing import Literal

import cv2
import numpy as np
import numpy.typing as npt

from calibration.accuracy import REACH_PITCHES, Accuracy, structure
from calibration.centres import LineCentres, measure_centres, measure_spots
from calibration.dots import find_dot_seeds, find_spots
from calibration.errors import InputError, Note
from calibration.fit import LineFit, fit_lines
from calibration.flatten import flatten
from calibration.growth import Sketch, grow, grow_spots, on_lines, squared
from calibration.known_object import USUAL_PITCHES_MM, find_known_object, pitch_evidence
from calibration.lens import Lens
from calibration.levels import Level, pitch_level
from calibration.mat import Lattice
from calibration.photo import Photo
from calibration.points import Points, project
from calibration.ridges import Ridges, find_ridges
from calibration.seed import find_seeds
from calibration.units import MM_PER_INCH
from calibration.view import MatView

_REDUCTIONS = (
    (2000, 1.2),
    (1000, 2.0),
)  # longer side in pixels and ridge width looked for; wide or blurred lines come second
_SUPPORT_SHARE = 0.25  # of all ridge points, that must lie on the lattice
_CONVINCING_SHARE = 0.45
_FEWEST_SUPPORT = 800
_FEWEST_SPOTS = 40
_SPOT_SHARE = 0.35
_SURE_SPOT_SHARE = 0.6
_SEEDS_TRIED = 4
_DOT_SEEDS_TRIED = 8
_FEWEST_LINES = 4  # each way
_FEWEST_POINTS = 60
_LINE_SHARE = 0.12  # of a usual line's ridge points, that make a line worth looking at
_END_SHARE = 0.35  # of a usual line's points and strength, that the outermost line must have
_LIES_CELLS = 0.05
_ALL_SHARE = 0.9  # of all points seen on lines: then nothing is printed at the other places
_BETWEEN_SHARE = 0.25  # of what is seen on the lines found, that must be seen between them if finer lines are there
_FEW_LINES = 20  # fewer each way: perhaps only the heavy lines were found
_WORST_RMS_CELLS = 0.06
_KNOWN_LONGEST_PX = 1500  # of the picture: fine enough for a bank card's edges to a few tenths of a millimetre
_NOT_EVEN_MM = 0.25
_CENTRE_BIAS_PX = 0.012  # left in the centre of a line by sharpening and compression; measured on rendered pictures

# heavier lines stand by fives and tens of centimetres, by fours, sixes and dozens of inches: common practice
_DECIMAL_STEPS = (5, 10)
_INCH_STEPS = (4, 6, 8, 12)

_NO_LATTICE = (
    "Lay the piece on a gridded cutting mat, spot-and-cross paper or graph paper, leave bare grid on two sides or "
    "more, and photograph it from above in even light."
)

Lines = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """A lattice found in the reduced picture: the rough map, reduced by ``factor``, and its lines."""

    sketch: Sketch
    factor: float
    kind: Literal["lines", "dots"]
    light: bool
    lines: Lines

    def to_px(self, cells: Points) -> Points:
        """Cells -> full-size photo pixels."""
        return (self.sketch.to_px(cells) + 0.5) / self.factor - 0.5

    def coarser(self, every: int, first: tuple[int, int]) -> "_Found":
        """The same lattice with every so-manieth line only, from ``first`` of each family on."""
        shift = np.array([[1.0, 0.0, -first[0]], [0.0, 1.0, -first[1]], [0.0, 0.0, every]]) / every
        (u0, u1), (v0, v1) = self.lines
        lines = (
            ((u0 - first[0]) // every, -((first[0] - u1) // every)),
            ((v0 - first[1]) // every, -((first[1] - v1) // every)),
        )
        return replace(self, sketch=replace(self.sketch, matrix=shift @ self.sketch.matrix), lines=lines)

    def finer(self, times: int) -> "_Found":
        """The same lattice with ``times`` as many lines."""
        matrix = np.diag([float(times), float(times), 1.0]) @ self.sketch.matrix
        (u0, u1), (v0, v1) = self.lines
        lines = ((u0 * times, u1 * times), (v0 * times, v1 * times))
        return replace(self, sketch=replace(self.sketch, matrix=matrix), lines=lines)


def calibrate(photo: Photo, *, pitch_mm: float) -> MatView:
    """Find the printed lattice and fit the map from pixels to millimetres.

    Parameters
    ----------
    photo : Photo
    pitch_mm : float
        Distance between neighbouring lines or dots of the lattice, as told. It is never corrected here.

    Raises
    ------
    InputError
        If no regular lattice is seen, or too little of one.

    Notes
    -----
    Ridge points -> a patch where two families of even lines cross -> growth over the picture -> centres of all lines in
    the full-size picture -> robust least squares for homography and lens together. Tangential and radial terms are held
    by a prior so that a view with little lattice does not invent a lens.

    Examples
    --------
    >>> view = calibrate(read_photo("photo.jpg"), pitch_mm=10.0)  # doctest: +SKIP
    >>> view.to_mm([[2000.0, 1500.0]])  # doctest: +SKIP
    """
    view = fit_view(photo, pitch_mm=pitch_mm)
    return replace(view, notes=(*view.notes, *known_object_doubt(photo, view)))


def fit_view(photo: Photo, *, pitch_mm: float) -> MatView:
    """:func:`calibrate` without the look for a known object, which can go on beside other work."""
    if not pitch_mm > 0:
        raise ValueError("pitch_mm must be positive")
    found = _find_lattice(photo)
    grey = cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY).astype(np.uint8, copy=False)
    centres = _measure(grey, found)
    every, first = _only_every(centres)
    if every > 1:
        found = found.coarser(every, first)
        centres = _measure(grey, found)
    times = _finer(grey, found, centres)
    if times > 1:
        found = found.finer(times)
        centres = _measure(grey, found)
    fit = _fit_cells(photo, found, centres)
    lines = _lines_present(centres, fit, found.lines)
    used = centres.only(fit.used)
    across = photo.size_px[0] / max(_cell_px(photo, fit), 1.0)
    level = (
        pitch_level(used, lines, pitch_mm=pitch_mm, cells_across=across, faint_between=times > 1)
        if found.kind == "lines"
        else Level(step=1, first=(lines[0][0], lines[1][0]))
    )
    return _in_mm(photo, found, centres, fit, lines, level, pitch_mm)


def _find_lattice(photo: Photo) -> _Found:
    """The lattice in the reduced picture, as printed lines or, failing these, as dots."""
    for longest, sigma_px in _REDUCTIONS:
        grey, factor = _reduced(photo, longest)
        height, width = grey.shape
        ridges = find_ridges(grey, sigma_px=sigma_px)
        sketch, support = _best_growth(ridges, width, height)
        if sketch is not None and support > max(_FEWEST_SUPPORT, _SUPPORT_SHARE * len(ridges)):
            family, miss, cells = on_lines(sketch, ridges)
            near = (family >= 0) & (np.abs(miss) < 1.0)
            lines = tuple(_extent(np.round(cells[near & (family == k), k]).astype(int)) for k in (0, 1))
            light = bool(ridges.light[near].mean() > 0.5)
            return _Found(sketch=sketch, factor=factor, kind="lines", light=light, lines=(lines[0], lines[1]))
    dots = _find_dots(photo)
    if dots is None:
        raise InputError(f"No regular grid could be found in {photo.name}.", _NO_LATTICE)
    return dots


def _best_growth(ridges: Ridges, width: int, height: int) -> tuple[Sketch | None, float]:
    """The map with the most ridge points on its lines; the first convincing one ends the search."""
    best: tuple[Sketch | None, float] = (None, 0.0)
    for seed in find_seeds(ridges, width, height)[:_SEEDS_TRIED]:
        sketch, support = grow(seed, ridges, width, height)
        if support > best[1]:
            best = (sketch, support)
        if support > _CONVINCING_SHARE * len(ridges):
            break
    return (None if best[0] is None else squared(best[0])), best[1]


def _find_dots(photo: Photo) -> _Found | None:
    """Dark dots on light paper, or failing these light ones."""
    grey, factor = _reduced(photo, _REDUCTIONS[0][0])
    return _dots_in(grey, factor, light=False) or _dots_in(-grey, factor, light=True)


def _dots_in(grey: npt.NDArray[np.float32], factor: float, *, light: bool) -> _Found | None:
    height, width = grey.shape
    spots, prominence = find_spots(grey)
    seeds = find_dot_seeds(spots, prominence, width, height)[:_DOT_SEEDS_TRIED]
    tried: list[tuple[Sketch, float]] = []
    for seed in seeds:
        tried.append(grow_spots(seed, spots, width, height))
        if tried[-1][1] > _SURE_SPOT_SHARE * len(spots):
            break
    tried.sort(key=lambda one: -one[1])
    if not tried or tried[0][1] < max(_FEWEST_SPOTS, _SPOT_SHARE * len(spots)):
        return None
    sketch = tried[0][0]
    cells = sketch.to_cells(spots)
    near = (np.abs(cells - np.round(cells)) < 0.05).all(1)
    counted = np.round(cells[near]).astype(int)
    return _Found(
        sketch=sketch, factor=factor, kind="dots", light=light, lines=(_extent(counted[:, 0]), _extent(counted[:, 1]))
    )


def _reduced(photo: Photo, longest: int) -> tuple[npt.NDArray[np.float32], float]:
    """The picture in grey with its longer side at most ``longest``, and the factor."""
    factor = min(1.0, longest / max(photo.size_px))
    small = photo.pixels
    if factor < 1:
        small = cv2.resize(photo.pixels, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)  # type: ignore[assignment]
    # cv2.resize keeps the outer edges of the picture, so the factor each way is that of the rounded sizes
    factor = small.shape[1] / photo.size_px[0]
    return cv2.cvtColor(small, cv2.COLOR_RGB2GRAY).astype(np.float32), factor


def _extent(counted: npt.NDArray[np.int64]) -> tuple[int, int]:
    """First and last line number that was seen as often as a line is."""
    low = int(counted.min())
    often = np.bincount(counted - low)
    seen = np.flatnonzero(often > _LINE_SHARE * np.median(often[often > 0]))
    return low + int(seen.min()), low + int(seen.max())


def _measure(grey: npt.NDArray[np.uint8], found: _Found) -> LineCentres:
    if found.kind == "dots":
        return measure_spots(255 - grey if found.light else grey, found.to_px, found.lines)
    return measure_centres(grey, found.to_px, found.lines, light=found.light)


def _only_every(centres: LineCentres) -> tuple[int, tuple[int, int]]:
    """At every how many of the places counted a line is printed (1: at all), and one such line of each family."""
    for every in (5, 3, 2):
        shares = [np.bincount(centres.line[centres.family == k] % every, minlength=every) for k in (0, 1)]
        if all(len(one) and one.max() >= _ALL_SHARE * one.sum() > 0 for one in shares):
            return every, (int(shares[0].argmax()), int(shares[1].argmax()))
    return 1, (0, 0)


def _finer(grey: npt.NDArray[np.uint8], found: _Found, centres: LineCentres) -> int:
    """How many fine lines there are to each line found: 1, or more where faint ones lie evenly between them."""
    if found.kind == "dots":
        return 1
    usual = np.bincount(centres.family, minlength=2)
    few = max(last - first for first, last in found.lines) <= _FEW_LINES
    for times in (2, 5, 10) if few else (2,):
        shares = np.arange(1, times) / times
        seen = [np.zeros(2)]
        for share in shares if times == 2 else shares[[0, times // 2]]:

            def between(cells: Points, share: float = share) -> Points:
                return found.to_px(cells + share)

            here = measure_centres(grey, between, found.lines, light=found.light, faint=False)
            # a line lies where it is looked for; what noise and texture pass for one lies anywhere near
            cells = found.sketch.to_cells((here.at_px + 0.5) * found.factor - 0.5)
            off = cells[np.arange(len(cells)), here.family] - here.line - share
            lies = here.family[np.abs(off) < _LIES_CELLS]
            seen.append(np.bincount(lies, minlength=2) / np.maximum(usual, 1))
        if np.min(seen[1:]) > _BETWEEN_SHARE:
            return times
    return 1


def _fit_cells(photo: Photo, found: _Found, centres: LineCentres) -> LineFit:
    """The map from cells, one pitch of the lines found, to pixels."""
    lines = [len(np.unique(centres.line[centres.family == k])) for k in (0, 1)]
    if len(centres) < _FEWEST_POINTS or min(lines) < _FEWEST_LINES:
        raise InputError(
            f"Too little of the grid can be seen in {photo.name}: {lines[0]} lines one way and {lines[1]} the other.",
            "Leave more bare grid round the piece, at least four lines each way, and photograph it again.",
        )
    width, height = photo.size_px
    sketch, longest = found.sketch, float(max(width, height))
    half = sketch.half_diagonal_px / found.factor
    to_photo = np.array([[half, 0, (width - 1) / 2], [0, half, (height - 1) / 2], [0, 0, 1]])
    lens = Lens(
        centre_px=np.array([(width - 1) / 2, (height - 1) / 2]),
        scale_px=longest,
        k1=-sketch.bend[0] * (longest / half) ** 2,
    )
    fit = fit_lines(
        centres.at_px,
        centres.family,
        centres.line.astype(float),
        centres.noise_px,
        to_straight=to_photo @ np.linalg.inv(sketch.matrix),
        lens=lens,
    )
    spread = float(np.sqrt(np.mean(fit.residual_px[fit.used] ** 2)))
    if fit.used.sum() < _FEWEST_POINTS or spread > _WORST_RMS_CELLS * _cell_px(photo, fit):
        raise InputError(
            f"The lines found in {photo.name} do not make one even, flat grid ({spread:.1f} pixels off).", _NO_LATTICE
        )
    return fit


def _cell_px(photo: Photo, fit: LineFit) -> float:
    """Pixels that one cell covers in the middle of what was seen."""
    centre = np.median(fit.on_line_mm[fit.used], axis=0)[None]
    step = project(fit.to_straight, centre + [0.5, 0.5]) - project(fit.to_straight, centre - [0.5, 0.5])
    return float(np.hypot(*step[0])) / np.sqrt(2)


def _lines_present(centres: LineCentres, fit: LineFit, lines: Lines) -> Lines:
    """First and last line of each family; at the ends, what is seen or printed too little is no line of the lattice."""
    out = []
    for family, (first, last) in enumerate(lines):
        own = fit.used & (centres.family == family)
        often = np.bincount(centres.line[own] - first, minlength=last - first + 1)
        seen = np.flatnonzero(often >= _END_SHARE * np.median(often[often > 0]))
        usual = float(np.median(centres.strength[own]))
        strong = [
            k for k in seen if np.median(centres.strength[own & (centres.line == first + k)]) > _END_SHARE * usual
        ]
        out.append((first + int(min(strong)), first + int(max(strong))))
    return out[0], out[1]


def _in_mm(
    photo: Photo, found: _Found, centres: LineCentres, fit: LineFit, lines: Lines, level: Level, pitch_mm: float
) -> MatView:
    """The fit once more in the mat frame: x to the picture's right, y up, origin at the lattice's lower left."""
    cell_mm = pitch_mm / level.step
    to_cells, axis_of = _mat_axes(fit, lines, level, cell_mm)
    corner = np.array([[lines[0][0], lines[1][0]], [lines[0][1], lines[1][1]]], float)
    to_mm = np.asarray(np.linalg.inv(to_cells), np.float64)
    axis = axis_of[centres.family]
    on_axis = to_mm[axis, centres.family] * centres.line + to_mm[axis, 2]
    present = np.array(lines)[centres.family]
    inside = (centres.line >= present[:, 0]) & (centres.line <= present[:, 1])
    own = centres.only(inside)
    refit = fit_lines(
        own.at_px, axis[inside], on_axis[inside], own.noise_px, to_straight=fit.to_straight @ to_cells, lens=fit.lens
    )
    ends = np.sort(project(to_mm, corner), axis=0)
    lattice = _lattice(found, level, pitch_mm, to_mm, ends)
    return _view(photo, own, axis[inside], refit, lattice, level, cell_mm)


def _mat_axes(
    fit: LineFit, lines: Lines, level: Level, cell_mm: float
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.int64]]:
    """Homogeneous matrix (3, 3) from mat mm to cells, and the mat axis that each family counts along."""
    centre = np.median(fit.on_line_mm[fit.used], axis=0)[None]
    steps = [
        project(fit.to_straight, centre + step) - project(fit.to_straight, centre) for step in ([[0.5, 0]], [[0, 0.5]])
    ]
    first, second = steps[0][0], steps[1][0]
    straight = abs(first[0]) * abs(second[1]) >= abs(first[1]) * abs(second[0])
    x_step, y_step = (first, second) if straight else (second, first)
    signs = np.array([np.sign(x_step[0]) or 1.0, -np.sign(y_step[1]) or 1.0])
    if signs[0] * signs[1] * (x_step[0] * y_step[1] - x_step[1] * y_step[0]) > 0:
        signs[1] = -signs[1]
    order = [0, 1] if straight else [1, 0]
    to_cells = np.zeros((3, 3))
    to_cells[2, 2] = 1.0
    starts = ((level.first[0], lines[0]), (level.first[1], lines[1]))
    for axis, family in enumerate(order):
        first_line, (low, high) = starts[family]
        pitch_lines = np.arange(first_line - level.step * ((first_line - low) // level.step), high + 1, level.step)
        origin = pitch_lines[0] if signs[axis] > 0 else pitch_lines[-1]
        to_cells[family, axis] = signs[axis] / cell_mm
        to_cells[family, 2] = origin
    return to_cells, np.argsort(order)


def _lattice(found: _Found, level: Level, pitch_mm: float, to_mm: npt.NDArray[np.float64], ends: Points) -> Lattice:
    first = np.ceil(ends[0] / pitch_mm - 0.01).astype(int)
    last = np.floor(ends[1] / pitch_mm + 0.01).astype(int)
    heavy = np.round(project(to_mm, np.array([level.heavy], float))[0] / pitch_mm).astype(int)
    every = level.heavy_every
    return Lattice(
        kind=found.kind,
        pitch_mm=pitch_mm,
        heavy_every=every,
        heavy_x=int(heavy[0] % every) if every else 0,
        heavy_y=int(heavy[1] % every) if every else 0,
        ink_is_light=found.light,
        first_x=int(first[0]),
        last_x=int(last[0]),
        first_y=int(first[1]),
        last_y=int(last[1]),
        divisions=level.step,
    )


def _view(
    photo: Photo,
    centres: LineCentres,
    axis: npt.NDArray[np.int64],
    fit: LineFit,
    lattice: Lattice,
    level: Level,
    cell_mm: float,
) -> MatView:
    """The view with what its residuals say."""
    used = fit.used
    seen_mm, seen_px = fit.on_line_mm[used], centres.at_px[used]
    bare = Accuracy(rms_mm=0.0, seen_mm=seen_mm, reach_mm=1.0)
    draft = MatView(
        to_straight=fit.to_straight,
        lens=fit.lens,
        lattice=lattice,
        size_px=photo.size_px,
        seen_px=seen_px,
        seen_mm=seen_mm,
        accuracy=bare,
    )
    off = draft.to_mm(seen_px) - seen_mm
    residual = off[np.arange(len(off)), axis[used]]
    shared, growth = structure(seen_mm, axis[used], centres.line[used], residual)
    accuracy = Accuracy(
        rms_mm=float(np.sqrt(np.mean(residual**2))),
        seen_mm=seen_mm,
        reach_mm=REACH_PITCHES * max(lattice.pitch_mm, cell_mm),
        structure_mm=float(np.hypot(shared, _CENTRE_BIAS_PX * np.median(draft.mm_per_px(seen_px[::50])))),
        to_straight=fit.to_straight,
        lens=fit.lens,
        covariance=fit.covariance * growth,
    )
    return replace(draft, accuracy=accuracy, notes=_notes(photo, lattice, level, shared))


def _notes(photo: Photo, lattice: Lattice, level: Level, shared_mm: float) -> tuple[Note, ...]:
    notes = []
    if level.doubt:
        notes.append(
            Note(
                "pitch-doubtful",
                f"{photo.name} shows lines of more than one spacing. "
                f"Neighbouring lines were taken to be {lattice.pitch_mm:g} mm apart: check the size of the piece.",
            )
        )
    unlike = _heavy_step_doubt(lattice)
    if unlike:
        notes.append(Note("pitch-doubtful", f"In {photo.name} {unlike}"))
    if shared_mm > _NOT_EVEN_MM:
        notes.append(
            Note(
                "mat-not-even",
                f"The grid in {photo.name} bends by about {2 * shared_mm:.1f} mm in places. "
                "Lay the mat on a flat table, let it warm until it lies flat, and photograph it again.",
            )
        )
    return tuple(notes)


def known_object_doubt(photo: Photo, view: MatView) -> tuple[Note, ...]:
    """What a bank card, an A4 or a Letter sheet lying by itself on the mat says against the pitch told."""
    scale = max(photo.size_px) / _KNOWN_LONGEST_PX * float(np.median(view.mm_per_px(view.seen_px[::50])))
    known = find_known_object(flatten(photo, view, mm_per_px=scale), usual_pitches_mm=USUAL_PITCHES_MM)
    if known is None:
        return ()
    note = pitch_evidence(known, view.lattice.pitch_mm)
    return (note,) if note.code == "pitch-doubtful" else ()


def _heavy_step_doubt(lattice: Lattice) -> str:
    """What the step between heavier lines says against the pitch told: tens are centimetres, dozens inches."""
    inches = lattice.pitch_mm / (MM_PER_INCH / 4)
    told_inches = abs(inches - round(inches)) < 1e-3 * inches
    if told_inches and lattice.heavy_every in _DECIMAL_STEPS:
        kind, other = "a centimetre mat", "1 cm"
    elif not told_inches and lattice.heavy_every in _INCH_STEPS:
        kind, other = "an inch mat", "1 inch"
    else:
        return ""
    return (
        f"every {lattice.heavy_every}th line is heavier, which is usual on {kind}, but the grid was said to be "
        f"{lattice.pitch_mm:g} mm. Measure it with a rule: is it {other}?"
    )
