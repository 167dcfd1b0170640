"""A picture of a mat becomes millimetres: the lattice found without clicks, homography and lens fitted together."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from calibration.doubts.doubts import doubts
from calibration.doubts.known_object import USUAL_PITCHES_MM, find_known_object, pitch_evidence
from calibration.ground.errors import InputError, Note
from calibration.lattice.centres import LineCentres, measure_centres, measure_spots
from calibration.lattice.levels import WIDEST_VIEW_MM, Level, heavy_level, pitch_level
from calibration.lattice.search import NO_LATTICE, FoundLattice, Lines, find_lattice
from calibration.lattice.spacing import Spacing, line_spacing
from calibration.picture.photo import Photo
from calibration.sheet.flatten import flatten
from calibration.view.fit import LineFit, fit_lines
from calibration.view.lens import Lens
from calibration.view.mat_frame import in_mat_frame
from calibration.view.told import ToldPoint, check_told, told_lattice
from calibration.view.view import MatView

_FEWEST_LINES = 4  # each way
_FEWEST_POINTS = 60
_FEW_POINTS = 600
_ENOUGH_POINTS = 1500  # clear ones: then faint ones are not asked for
_NEAR_CELLS = 0.1
_FEWEST_BETWEEN = 0.1  # of the points on a line found first, that a finer line between must show
_WELL_EXPLAINED = 0.55  # less, and most of what is printed lies beside the lines: they may not be the ones told of
_LEAST_EXPLAINED = 0.4  # of all that is printed along the lattice, that must lie on its lines where few are seen
_END_SHARE = 0.35  # of a usual line's points and strength, that the outermost line must have
_ALL_SHARE = 0.9  # of all points seen on lines: then nothing is printed at the other places
_BORDER_STRENGTH = 0.5  # of a usual line's, that one more line at the border must have
_BORDER_SPREAD = 1.0  # of what the points used are off, that its points may be off one another
_WORST_RMS_CELLS = 0.06
_KNOWN_LONGEST_PX = 1500  # of the picture: fine enough for a bank card's edges to a few tenths of a millimetre
_LEAST_VIEW_MM = 300.0  # a picture of a pattern piece shows more
_MAT_SCALES = (0.95, 1.05)  # a print off by more is no mat that was meant to be right


@dataclass(frozen=True, slots=True, kw_only=True)
class _Finer:
    """Whether finer lines were seen between those found first, and whether either could be the ones told of."""

    seen: bool = False
    unsure: bool = False


def calibrate(
    photo: Photo,
    *,
    pitch_mm: float,
    told: Sequence[ToldPoint] = (),
    mat_scale: tuple[float, float] = (1.0, 1.0),
) -> MatView:
    """Find the printed lattice and fit the map from pixels to millimetres.

    Parameters
    ----------
    photo : Photo
    pitch_mm : float
        Distance between neighbouring lines or dots of the lattice, as told. It is never corrected here.
    told : sequence of (x px, y px, x mm, y mm), optional
        Four or more crossings of the lattice told by hand: where they lie in the upright picture, to a few pixels, and
        which crossing each one is, in whole pitches, x to the right and y up. They replace the search, and their frame
        is kept.
    mat_scale : (x, y), optional
        What a steel rule reads for each mm that the mat's print claims, along the lattice lines that run across the
        picture and along those that run up it: a mat whose 50 cm read 49.9 cm has 0.998.

    Raises
    ------
    InputError
        If no regular lattice is seen, or too little of one, or the points told do not fit one.

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
    view = fit_view(photo, pitch_mm=pitch_mm, told=told, mat_scale=mat_scale)
    return replace(view, notes=(*view.notes, *known_object_doubt(photo, view)))


def fit_view(
    photo: Photo,
    *,
    pitch_mm: float,
    told: Sequence[ToldPoint] = (),
    mat_scale: tuple[float, float] = (1.0, 1.0),
) -> MatView:
    """:func:`calibrate` without the look for a known object, which can go on beside other work."""
    if not pitch_mm > 0:
        raise ValueError("pitch_mm must be positive")
    if not all(_MAT_SCALES[0] <= scale <= _MAT_SCALES[1] for scale in mat_scale):
        raise InputError(
            f"The mat's print is said to be off by a factor of {mat_scale[0]:.4g} and {mat_scale[1]:.4g}.",
            "Lay the steel rule along the grid again: a mat's print is right to a few millimetres in half a metre.",
        )
    found = told_lattice(photo, told, pitch_mm=pitch_mm) if told else find_lattice(photo)
    grey = cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY).astype(np.uint8, copy=False)
    found, centres, fit, finer = _evenly_spaced(photo, grey, found, pitch_mm)
    if told:
        check_told(photo, told, fit, pitch_mm=pitch_mm / found.told_step)
    lines = _lines_present(centres, fit, found.lines)
    level = _level(photo, found, centres.only(fit.used), fit, lines, pitch_mm, finer)
    view, shared_mm = in_mat_frame(photo, found, centres, fit, lines, level, pitch_mm=pitch_mm, mat_scale=mat_scale)
    return replace(view, notes=doubts(photo, grey, view, level, pitch_mm=pitch_mm, shared_mm=shared_mm))


def _evenly_spaced(
    photo: Photo, grey: npt.NDArray[np.uint8], found: FoundLattice, pitch_mm: float
) -> tuple[FoundLattice, LineCentres, LineFit, _Finer]:
    """The lattice with all its lines, no more and no fewer, the fit, and what lies between the lines found first."""
    if found.kind == "dots":
        centres = _measure(grey, found)
        every, first = _only_every(centres)
        if every > 1:
            found = found.respaced(every, first)
            centres = _measure(grey, found)
        return found, centres, _fit_cells(photo, found, centres), _Finer()
    wide = False
    times = 0.0
    try:
        centres, fit = _measured_fit(photo, grey, found)
    except InputError:  # perhaps because what was counted is not what is printed
        centres = _measure(grey, found, faint=True)
        spacing = line_spacing(grey, found.to_px, centres, found.lines, light=found.light, rough=True)
        if spacing.cells == 1.0 or found.told_step:
            raise
    else:
        spacing = line_spacing(grey, fit.to_px, centres.only(fit.used), found.lines, light=found.light)
        if spacing.explained < _LEAST_EXPLAINED and fit.used.sum() < _FEW_POINTS and not found.told_step:
            raise InputError(f"What was found in {photo.name} does not repeat as the lines of a grid do.", NO_LATTICE)
        times = 1 / spacing.cells
        cells_across = photo.size_px[0] / max(fit.cell_px(), 1.0)
        too_fine = times > 2 and cells_across * times * pitch_mm > WIDEST_VIEW_MM
        if spacing.cells == 1.0 or (times % 1 == 0 and too_fine) or (times % 1 and found.told_step):
            every, first = _only_every(centres.only(fit.used))
            if every > 1 and not found.told_step:
                found = found.respaced(every, first)
                return found, *_measured_fit(photo, grey, found), _Finer()
            beside = spacing.explained < _WELL_EXPLAINED and not found.told_step
            return found, centres, fit, _Finer(seen=False, unsure=bool(too_fine or beside))
        wide = times >= 4 and cells_across * pitch_mm > _LEAST_VIEW_MM
        if found.told_step:  # places told stay lines
            spacing = replace(spacing, first=(0.0, 0.0))
    respaced = found.respaced(spacing.cells, spacing.first)
    finer, finer_fit = _measured_fit(photo, grey, respaced)
    if times > 1 and times % 1 == 0 and _between(finer.only(finer_fit.used), spacing) < _FEWEST_BETWEEN:
        return found, centres, fit, _Finer()
    return respaced, finer, finer_fit, _Finer(seen=spacing.cells < 1, unsure=wide)


def _between(centres: LineCentres, spacing: Spacing) -> float:
    """How many points a line between those found first shows, as a share of theirs, in the family that shows more."""
    shares = []
    for family, start in enumerate(spacing.first):
        place = start + centres.line[centres.family == family] * spacing.cells
        first = np.abs(place - np.round(place)) < spacing.cells / 4
        shares.append((~first).sum() / max(first.sum(), 1) / (1 / spacing.cells - 1))
    return float(max(shares))


def _measured_fit(photo: Photo, grey: npt.NDArray[np.uint8], found: FoundLattice) -> tuple[LineCentres, LineFit]:
    """Centres of the lines, the clear ones or, if these do not do, the faint ones as well; and the fit to them."""
    tried = []
    problem: InputError | None = None
    for faint in (False, True):
        centres = _measure(grey, found, faint=faint)
        try:
            fit = _fit_cells(photo, found, centres)
        except InputError as refusal:
            problem = refusal
            continue
        tried.append((fit.spread_px / np.sqrt(fit.used.sum()), centres, fit))
        if len(centres) >= _ENOUGH_POINTS:
            break
    if not tried:
        assert problem is not None
        raise problem
    return min(tried, key=lambda one: one[0])[1:]


def _level(
    photo: Photo,
    found: FoundLattice,
    used: LineCentres,
    fit: LineFit,
    lines: Lines,
    pitch_mm: float,
    finer: _Finer,
) -> Level:
    """Which of the lines found are a pitch apart, and which of these are heavier."""
    if found.kind == "dots":
        return Level(step=1, first=(0, 0) if found.told_step else (lines[0][0], lines[1][0]))
    if found.told_step:
        return heavy_level(used, lines, step=found.told_step, first=(0, 0))
    across = photo.size_px[0] / max(fit.cell_px(), 1.0)
    level = pitch_level(used, lines, pitch_mm=pitch_mm, cells_across=across, faint_between=finer.seen)
    return replace(level, doubt=level.doubt or finer.unsure)


def _measure(grey: npt.NDArray[np.uint8], found: FoundLattice, *, faint: bool = False) -> LineCentres:
    if found.kind == "dots":
        return measure_spots(255 - grey if found.light else grey, found.to_px, found.lines)
    return measure_centres(grey, found.to_px, found.lines, light=found.light, faint=faint)


def _only_every(centres: LineCentres) -> tuple[int, tuple[int, int]]:
    """At every how many of the places counted a line is printed (1: at all), and one such line of each family."""
    for every in (5, 3, 2):
        shares = [np.bincount(centres.line[centres.family == k] % every, minlength=every) for k in (0, 1)]
        if all(len(one) and one.max() >= _ALL_SHARE * one.sum() > 0 for one in shares):
            return every, (int(shares[0].argmax()), int(shares[1].argmax()))
    return 1, (0, 0)


def _fit_cells(photo: Photo, found: FoundLattice, centres: LineCentres) -> LineFit:
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
    if fit.used.sum() < _FEWEST_POINTS or fit.spread_px > _WORST_RMS_CELLS * fit.cell_px():
        raise InputError(
            f"The lines found in {photo.name} do not make one even, flat grid ({fit.spread_px:.1f} pixels off).",
            NO_LATTICE,
        )
    return fit


def _lines_present(centres: LineCentres, fit: LineFit, lines: Lines) -> Lines:
    """First and last line of each family; at the ends, what is seen or printed too little is no line of the lattice."""
    out = []
    for family, (first, last) in enumerate(lines):
        own = fit.used & (centres.family == family)
        often = np.bincount(centres.line[own] - first, minlength=last - first + 1)
        usual_count, usual = float(np.median(often[often > 0])), float(np.median(centres.strength[own]))
        seen = first + np.flatnonzero(often >= _END_SHARE * usual_count)
        strong = [k for k in seen if np.median(centres.strength[own & (centres.line == k)]) > _END_SHARE * usual]
        low, high = int(min(strong)), int(max(strong))
        near = (centres.family == family) & (np.abs(fit.residual_px) < _NEAR_CELLS * fit.cell_px())
        low -= _is_border(centres, fit, near & (centres.line == low - 1), usual_count, usual)
        high += _is_border(centres, fit, near & (centres.line == high + 1), usual_count, usual)
        out.append((low, high))
    return out[0], out[1]


def _is_border(
    centres: LineCentres, fit: LineFit, own: npt.NDArray[np.bool_], usual_count: float, usual: float
) -> bool:
    """Whether points that the fit left out are one more line: marks that stand on it pull its centre aside, evenly."""
    if own.sum() < _END_SHARE * usual_count or np.median(centres.strength[own]) < _BORDER_STRENGTH * usual:
        return False
    off = fit.residual_px[own]
    return float(np.median(np.abs(off - np.median(off)))) < _BORDER_SPREAD * fit.spread_px


def known_object_doubt(photo: Photo, view: MatView) -> tuple[Note, ...]:
    """What a bank card, an A4 or a Letter sheet lying by itself on the mat says against the pitch told."""
    scale = max(photo.size_px) / _KNOWN_LONGEST_PX * float(np.median(view.mm_per_px(view.seen_px[::50])))
    known = find_known_object(flatten(photo, view, mm_per_px=scale), usual_pitches_mm=USUAL_PITCHES_MM)
    if known is None:
        return ()
    note = pitch_evidence(known, view.lattice.pitch_mm)
    return (note,) if note.code == "pitch-doubtful" else ()
