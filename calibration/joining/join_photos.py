"""Photographs of one piece on a mat made into one sheet, whether the camera moved or the piece was slid."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points
from calibration.joining.aligning import align
from calibration.joining.composite import Grey, canvas_for, composite, depth_inside
from calibration.joining.matching import Mask, Matches, Matrix, find_features, match, moved, rigid
from calibration.joining.overlaps import Told, all_notes, find_overlaps, require_connected, seam_notes, settle
from calibration.joining.placing import Pair, Placement, chained, seams_of
from calibration.lattice.mat import Lattice
from calibration.sheet.cover import Cover, find_cover
from calibration.sheet.flatten import FlatSheet
from calibration.sheet.lattice_out import without_lattice

_NUMERAL_MM = 8.0  # printing on the mat is thinner than this, a piece is not
_EDGE_MM = 2.5  # of the paper kept clear of when its features are sought: shadow, mat and edge mix there
_SNAP_TURN = np.radians(0.4)  # a move turned by less may be a step of the lattice
_SAME_MM = 1.5  # mat and paper moved alike if they agree to this
_SURELY_SAME_MM = 0.4  # the same, where only the paper was recognised
_UNLIKE_SHARE = 0.04  # of the overlap that may be paper in one picture and mat in the other
_BAND_MM = 2.0  # of real mat kept round a slid piece
_FADE_MM = 1.5  # over which it fades into paint


def join_photos(sheets: Sequence[FlatSheet], *, told: Told | None = None) -> FlatSheet:
    """See :func:`calibration.join.join`."""
    covers = [_cover_of(sheet, k) for k, sheet in enumerate(sheets)]
    paper = [_paper(cover, sheet) for cover, sheet in zip(covers, sheets, strict=True)]
    steps = None if told else _lattice_steps(sheets, covers, paper)
    if steps is not None:
        return _joined_on_lattice(sheets, steps, paper)
    return _joined_by_paper(sheets, covers, paper, told)


def _cover_of(sheet: FlatSheet, k: int) -> Cover:
    try:
        return find_cover(sheet)
    except ValueError as err:
        raise InputError(
            f"Picture {k + 1} shows too little bare mat for several pictures to be joined.",
            "Leave a hand's breadth of bare mat on at least two sides of the piece in every picture.",
        ) from err


def _paper(cover: Cover, sheet: FlatSheet) -> Mask:
    """Where a piece lies (height, width of the sheet), without the mat's own printing."""
    wide = int(_NUMERAL_MM / cover.mm_per_px) | 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (wide, wide))
    opened = cv2.morphologyEx(cover.covered.astype(np.uint8), cv2.MORPH_OPEN, disc)
    corners = (cv2.dilate(opened, disc) > 0) & cover.covered  # opening rounds them off
    closed = cv2.morphologyEx(corners.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    return cover.on(sheet, closed > 0) > 0


# --- the camera moved: the lattice is shared ----------------------------------------------------------------------


def _lattice_steps(sheets: Sequence[FlatSheet], covers: Sequence[Cover], paper: Sequence[Mask]) -> list[Matrix] | None:
    """The move of each sheet to the first in whole steps of the lattice; None if the piece did not lie still."""
    pitches = np.array([sheet.lattice.pitches_mm for sheet in sheets if sheet.lattice is not None])
    if np.ptp(pitches, axis=0).max() > 1e-6:
        return None
    rng = np.random.default_rng(7)
    on_mat = [find_features(sheet, ~on) for sheet, on in zip(sheets, paper, strict=True)]
    on_paper = [find_features(sheet, _well_within(on, sheet)) for sheet, on in zip(sheets, paper, strict=True)]
    found: dict[Pair, Matches] = {}
    for i, j in combinations(range(len(sheets)), 2):
        of_mat, of_paper = match(on_mat[i], on_mat[j], rng), match(on_paper[i], on_paper[j], rng)
        seen = of_mat or of_paper
        if seen is None:
            continue
        step = _step_of_pair(of_mat, of_paper, pitches[0], covers[i], covers[j])
        if step is None:
            return None
        found[i, j] = replace(seen, move=step)
    require_connected(len(sheets), found)
    return [np.round(move, 9) for move in chained(len(sheets), found)]


def _step_of_pair(
    of_mat: Matches | None, of_paper: Matches | None, pitch: Points, first: Cover, second: Cover
) -> Matrix | None:
    """The step of the lattice that brings both mat and paper together, if one does."""
    seen = of_mat or of_paper
    step = None if seen is None else _nearest_step(seen, pitch)
    if step is None:
        return None
    if of_paper is None:  # nothing on the paper is recognised: at least its outline must not have moved
        return step if _covers_agree(first, second, step) else None
    limit = _SAME_MM if of_mat is not None else _SURELY_SAME_MM
    return step if _left_by(of_paper, step) <= limit else None


def _nearest_step(seen: Matches, pitch: Points) -> Matrix | None:
    """The whole step of the lattice (quarter turns, whole pitches) that a move comes near to, or None."""
    turn = np.arctan2(seen.move[1, 0], seen.move[0, 0])
    quarter = np.round(turn / (np.pi / 2)) * (np.pi / 2)
    spin = np.round(rigid(quarter, (0.0, 0.0)))
    shift = np.median(seen.a_mm - moved(seen.b_mm, spin), axis=0)
    spin[:2, 2] = np.round(shift / pitch) * pitch
    return spin if abs(turn - quarter) < _SNAP_TURN and _left_by(seen, spin) <= _SAME_MM else None


def _left_by(seen: Matches, move: Matrix) -> float:
    """Median distance that a move leaves between what two sheets share."""
    return float(np.median(np.hypot(*(seen.a_mm - moved(seen.b_mm, move)).T)))


def _covers_agree(first: Cover, second: Cover, move: Matrix) -> bool:
    """Whether what covers the mat lies at the same place in both pictures, where both show it."""
    ends = np.array([[0.0, 0.0], [1000.0, 0.0], [0.0, 1000.0]])
    flip = np.array([1.0, -1.0])
    there = moved(second.origin_mm + ends * flip * second.mm_per_px, move)
    affine = np.linalg.solve(np.column_stack([ends, np.ones(3)]), (there - first.origin_mm) * flip / first.mm_per_px).T
    size = (first.bare.shape[1], first.bare.shape[0])
    covered, ruled = (
        cv2.warpAffine(mask.astype(np.uint8), affine, size, flags=cv2.INTER_NEAREST) > 0
        for mask in (second.covered, second.ruled)
    )
    both = first.ruled & ruled
    either = both & (first.covered | covered)
    return bool(either.any() and (both & (first.covered ^ covered)).sum() <= _UNLIKE_SHARE * either.sum())


def _joined_on_lattice(sheets: Sequence[FlatSheet], moves: Sequence[Matrix], paper: Sequence[Mask]) -> FlatSheet:
    """Sheets laid over each other on the lattice they share; what is on the paper says how well they agree."""
    found: dict[Pair, Matches] = {}
    for i, j in combinations(range(len(sheets)), 2):
        try:
            found[i, j] = align(sheets[i], sheets[j], np.linalg.inv(moves[i]) @ moves[j], paper[i], paper[j])
        except ValueError:
            continue  # these two do not overlap, or show nothing but plain paper there
    placement = Placement(moves=tuple(moves), seams=seams_of(found, moves))
    depths = [depth_inside(sheet.seen, sheet.mm_per_px) for sheet in sheets]
    return _drawn(sheets, placement, depths, lattice=_whole_lattice(sheets, moves), notes=seam_notes(placement))


def _whole_lattice(sheets: Sequence[FlatSheet], moves: Sequence[Matrix]) -> Lattice | None:
    """The first sheet's lattice, as far as any of the sheets saw it."""
    first = sheets[0].lattice
    if first is None:
        return None
    corners = []
    for sheet, move in zip(sheets, moves, strict=True):
        one = sheet.lattice or first
        ends = np.array([[one.first_x, one.first_y], [one.last_x, one.last_y]], float) * one.pitches_mm
        corners.append(moved(ends, move) / first.pitches_mm)
    low, high = np.round(np.min(corners, axis=(0, 1))), np.round(np.max(corners, axis=(0, 1)))
    return replace(first, first_x=int(low[0]), first_y=int(low[1]), last_x=int(high[0]), last_y=int(high[1]))


# --- the piece was slid: only what is on the paper is shared ------------------------------------------------------


def _joined_by_paper(
    sheets: Sequence[FlatSheet], covers: Sequence[Cover], paper: Sequence[Mask], told: Told | None
) -> FlatSheet:
    """Sheets joined by what is on the paper; lattice taken out, mat painted over but for a band round the paper."""
    cleaned, usable = [], []
    for sheet, cover, on in zip(sheets, covers, paper, strict=True):
        bare = cover.on(sheet, cover.bare) > 0
        cleaned.append(replace(sheet, pixels=without_lattice(sheet, (bare & ~on, on))))
        usable.append(sheet.seen & (cover.on(sheet, cover.ruled) > 0))
    inside = [_well_within(on & use, sheet) for on, use, sheet in zip(paper, usable, sheets, strict=True)]
    found = find_overlaps(cleaned, inside, told=told)
    placement = settle(len(sheets), found)
    painted = [
        replace(sheet, pixels=_painted(sheet, cover, on))
        for sheet, cover, on in zip(cleaned, covers, paper, strict=True)
    ]
    depths = [depth_inside(use, sheet.mm_per_px) for use, sheet in zip(usable, sheets, strict=True)]
    slid = Note(
        "piece-slid",
        "The piece lay elsewhere on the mat in each picture, so the pictures are joined by what is on the paper.",
    )
    return _drawn(painted, placement, depths, lattice=None, notes=(slid, *seam_notes(placement)))


def _well_within(on: Mask, sheet: FlatSheet) -> Mask:
    """A mask without a rim."""
    size = 2 * int(_EDGE_MM / sheet.mm_per_px) + 1
    return np.asarray(cv2.erode(on.astype(np.uint8), np.ones((size, size), np.uint8)) > 0)


def _painted(sheet: FlatSheet, cover: Cover, on: Mask) -> npt.NDArray[np.uint8]:
    """The sheet with the mat's plain colour everywhere but on the paper and in a band round it."""
    far = cv2.distanceTransform((~on).astype(np.uint8), cv2.DIST_L2, 3) * sheet.mm_per_px
    paint = np.clip((far - _BAND_MM) / _FADE_MM, 0.0, 1.0)[..., None].astype(np.float32)
    plain = cover.on(sheet, cover.mat_colour)
    return np.asarray(sheet.pixels * (1 - paint) + plain * paint + 0.5, np.uint8)


# --- both ---------------------------------------------------------------------------------------------------------


def _drawn(
    sheets: Sequence[FlatSheet],
    placement: Placement,
    depths: Sequence[Grey],
    *,
    lattice: Lattice | None,
    notes: tuple[Note, ...],
) -> FlatSheet:
    """The placed sheets as one."""
    canvas = canvas_for(sheets, placement.moves)
    pixels, seen = composite(sheets, placement.moves, depths, canvas)
    back = [np.asarray(np.linalg.inv(move), np.float64) for move in placement.moves]
    return FlatSheet(
        pixels=pixels,
        seen=seen,
        mm_per_px=canvas.mm_per_px,
        origin_mm=canvas.origin_mm,
        lattice=lattice,
        views=tuple(view for sheet in sheets for view in sheet.views),
        placed=tuple(move for sheet, move in zip(sheets, back, strict=True) for _ in sheet.views),
        seam_mm=placement.worst_mm,
        notes=all_notes(sheets) + notes,
    )
