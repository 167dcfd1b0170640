"""What a job tells on its pictures, turned from their pixels into millimetres on the mat once these are calibrated."""

from collections.abc import Sequence

import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from calibration.sheet.on_sheet import PictureOnSheet
from calibration.view.told import ToldPoint
from convert.job.job import PieceJob
from convert.job.told import PictureTold, Pixel
from convert.piece.names.told import DartTold, EdgeTold, HolesTold, Millimetres, Told
from convert.trace.told.corrected import Corrections


def told_crossings(on: PictureTold, pitch_mm: float) -> tuple[ToldPoint, ...]:
    """Crossings told on a picture as (x px, y px, x mm, y mm)."""
    return tuple((x, y, column * pitch_mm, row * pitch_mm) for (x, y), (column, row) in on.lattice)


def told_on_mat(piece: PieceJob, pictures: Sequence[PictureOnSheet]) -> Told:
    """What is told of a piece's meaning: fold, allowances, edges, darts, grain, centre line."""
    seam = piece.seam.for_kind(piece.kind)
    edges: list[EdgeTold[Millimetres]] = []
    darts: list[DartTold[Millimetres]] = []
    holes: list[HolesTold[Millimetres]] = []
    for on, picture in _each(piece, pictures):
        edges += [EdgeTold(name=edge.name, points=picture.to_mm(edge.points)) for edge in on.edges]
        darts += [DartTold(legs=picture.to_mm(dart.legs), apexes=picture.to_mm(dart.apexes)) for dart in on.darts]
        holes += [HolesTold(at=picture.to_mm(one.at), means=one.means) for one in on.hole_meanings]
    removed = _together(piece, pictures, "remove")
    return Told(
        fold=piece.fold,
        allowance_mm=seam.mm,
        allowances={str(name): mm for name, mm in seam.edges.items()},
        face_down=piece.face_down,
        year=piece.year,
        hole_meanings=tuple(holes),
        edges=tuple(edges),
        darts=tuple(darts),
        no_darts=any(on.no_darts for on, _ in _each(piece, pictures)),
        removed=removed,
        centre_line=_once(piece, pictures, "centre_line"),
        neck_line=_once(piece, pictures, "neck_line"),
        tucks=tuple(picture.to_mm(tuck) for on, picture in _each(piece, pictures) for tuck in on.tucks),
        grain=_once(piece, pictures, "grain"),
    )


def corrections_on_mat(piece: PieceJob, pictures: Sequence[PictureOnSheet]) -> Corrections:
    """What is told of a piece's outline and marks.

    Raises
    ------
    InputError
        If the whole outline is told on two pictures.
    """
    nothing = np.zeros((0, 2))
    return Corrections(
        outline=_once(piece, pictures, "outline"),
        parts=tuple(picture.to_mm(part) for on, picture in _each(piece, pictures) for part in on.outline_parts),
        corners=_together(piece, pictures, "corners"),
        notches=_together(piece, pictures, "notches"),
        add_notches=_some(_together(piece, pictures, "add_notches"), nothing),
        holes=_together(piece, pictures, "holes"),
        add_holes=_some(_together(piece, pictures, "add_holes"), nothing),
        remove=_some(_together(piece, pictures, "remove"), nothing),
    )


def _each(piece: PieceJob, pictures: Sequence[PictureOnSheet]) -> list[tuple[PictureTold, PictureOnSheet]]:
    """What was told on each picture, with the picture."""
    return [(piece.on[name], one) for name, one in zip(piece.names, pictures, strict=True) if name in piece.on]


def _mm(points: tuple[Pixel, ...], picture: PictureOnSheet) -> Points:
    return picture.to_mm(points) if points else np.zeros((0, 2))


def _together(piece: PieceJob, pictures: Sequence[PictureOnSheet], name: str) -> Points | None:
    """Points told on all pictures; None if on none of them."""
    told = [(getattr(on, name), picture) for on, picture in _each(piece, pictures)]
    parts = [_mm(points, picture) for points, picture in told if points is not None]
    return np.vstack(parts) if parts else None


def _some(points: Points | None, nothing: Points) -> Points:
    return nothing if points is None else points


def _once(piece: PieceJob, pictures: Sequence[PictureOnSheet], name: str) -> Points | None:
    """Points that can be told on one picture only."""
    told = [(getattr(on, name), picture) for on, picture in _each(piece, pictures) if getattr(on, name) is not None]
    if len(told) > 1:
        raise InputError(
            f"job.toml: {piece.kind}: “{name}” is told on {len(told)} pictures.",
            "Keep it on one of them; of an outline, tell stretches (outline_parts) on the others.",
        )
    return _mm(*told[0]) if told else None
