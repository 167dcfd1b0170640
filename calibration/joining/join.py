"""Several pictures of one piece made into one sheet: tiles of a scan, or photographs that overlap."""

from collections.abc import Sequence

import numpy as np

from calibration.ground.errors import InputError
from calibration.joining.composite import canvas_for, composite, depth_inside
from calibration.joining.join_photos import join_photos
from calibration.joining.overlaps import Told, all_notes, find_overlaps, seam_notes, settle
from calibration.sheet.flatten import FlatSheet


def join(sheets: Sequence[FlatSheet], *, told: Told | None = None) -> FlatSheet:
    """One sheet from several that show one piece, each only turned and shifted, never scaled.

    Tiles of a scan may come in any order and lie at any angle; all seams are closed together. Photographs of a piece
    that lay still are laid over each other on the mat's lattice. When the piece was slid along the mat they are joined
    by what is on the paper; the lattice is then taken out and the mat round the paper painted over.

    Parameters
    ----------
    sheets : sequence of FlatSheet
        All scans (no lattice) or all photographs (a lattice each). The first one's frame is kept.
    told : mapping, optional
        ``{(i, j): (points on sheet i, points on sheet j)}``, mm, at least two pairs of places told to be the same.

    Returns
    -------
    FlatSheet
        ``seam_mm`` is the largest disagreement at a seam; ``notes`` say how well the pictures fit, and what is
        doubtful; ``seen`` is False where no picture shows anything that can be used.

    Raises
    ------
    InputError
        If scans and photographs are mixed, or a picture shares too little with the others.
    """
    if not sheets:
        raise ValueError("there is nothing to join")
    if len(sheets) == 1:
        return sheets[0]
    ruled = [sheet.lattice is not None for sheet in sheets]
    if all(ruled):
        return join_photos(sheets, told=told)
    if any(ruled):
        raise InputError(
            "Scans and photographs are mixed for one piece.", "Give either all its scans or all its photographs."
        )
    return join_tiles(sheets, told=told)


def join_tiles(sheets: Sequence[FlatSheet], *, told: Told | None = None) -> FlatSheet:
    """Scans that overlap made into one; see :func:`join`."""
    found = find_overlaps(sheets, [None] * len(sheets), told=told, same_glass=True)
    placement = settle(len(sheets), found)
    canvas = canvas_for(sheets, placement.moves)
    depths = [depth_inside(sheet.seen, sheet.mm_per_px) for sheet in sheets]
    pixels, seen = composite(sheets, placement.moves, depths, canvas)
    return FlatSheet(
        pixels=pixels,
        seen=seen,
        mm_per_px=canvas.mm_per_px,
        origin_mm=canvas.origin_mm,
        scans=tuple(scan for sheet in sheets for scan in sheet.scans),
        placed=tuple(np.asarray(np.linalg.inv(move), float) for move in placement.moves),
        seam_mm=placement.worst_mm,
        notes=all_notes(sheets) + seam_notes(placement),
    )
