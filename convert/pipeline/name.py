"""A tracing -> a piece with what was told of it."""

from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from calibration.sheet.lift import lift_doubt, lowering
from calibration.sheet.on_sheet import pictures_on
from convert.block.measured.on_paper import measure_paper
from convert.job.job import PieceJob
from convert.job.on_mat import corrections_on_mat, told_on_mat
from convert.piece.names.kinds import KINDS
from convert.piece.names.told import NOTHING_TOLD, Told
from convert.piece.piece import Piece, PieceKind
from convert.piece.plausible import size_doubt
from convert.piece.read import piece_from
from convert.pipeline.look import SheetRead, choose
from convert.pipeline.readings import Reading, readings_of
from convert.trace.printed.with_print import with_print
from convert.trace.told.corrected import Corrections, corrected, meant_by, told_alone
from convert.trace.tracing import Tracing, moved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceRead:
    """A piece with everything it was read from."""

    piece: Piece
    tracing: Tracing
    read: SheetRead


def read_piece(tracing: Tracing, read: SheetRead, kind: PieceKind, told: Told = NOTHING_TOLD) -> PieceRead:
    """Name the edges, find the seam line, and say how far the whole can be trusted.

    Raises
    ------
    InputError
        If the piece was not seen whole, or its edges can't be named.
    """
    if not tracing.complete:
        said = next((note.text for note in tracing.notes), "It can't be seen whole.")
        raise InputError(f"The {kind}: {said}", "Photograph it again with all of it on the mat and in the picture.")
    piece = piece_from(
        tracing,
        kind,
        told,
        uncertainty_mm=float(np.median(read.sheet.uncertainty_mm(tracing.outline[::50]))),
        scale_uncertainty=float(np.hypot(lift_doubt(read.sheet), read.scale_uncertainty)),
    )
    lattice = read.sheet.lattice
    doubt = size_doubt(piece, pitch_mm=None if lattice is None else lattice.pitch_mm)
    return PieceRead(piece=replace(piece, notes=(*piece.notes, *doubt)), tracing=tracing, read=read)


def readings(read: PieceRead) -> tuple[Reading, ...]:
    """Each thing that was read of a piece, how sure, and the patch of picture that shows it."""
    return readings_of(read.piece, read.tracing, pictures_on(read.read.sheet))


def seam_on_mat(read: PieceRead) -> Points:
    """The seam line (N, 2) where it lies on the mat."""
    if read.piece.placement is None:
        raise ValueError("a piece that was read knows how it lay")
    return read.piece.placement.to_mat(read.piece.seam_line)


def hole_meanings(read: PieceRead) -> list[tuple[Points, str]]:
    """What each hole means, with where (2,) it lies on the mat."""
    place = read.piece.placement
    if place is None:
        raise ValueError("a piece that was read knows how it lay")
    return [(place.to_mat(mark.at[None])[0], mark.meaning) for mark in read.piece.marks if mark.kind == "hole"]


def measured(piece: Piece) -> list[dict[str, float | str]]:
    """What one whole piece measures as it lies on the paper: half widths on half pieces."""
    if KINDS[piece.kind].part is not None:  # what a part measures, its whole piece does not
        return []
    return [{"name": one.name, "mm": one.mm, "uncertainty_mm": one.uncertainty_mm} for one in measure_paper(piece)]


def told_of(piece: PieceJob, read: SheetRead) -> Told:
    """What the job tells of a piece, its pixels turned into mat millimetres."""
    return told_on_mat(piece, pictures_on(read.sheet))


def corrections_of(piece: PieceJob, read: SheetRead) -> Corrections:
    """What the job tells of a piece's outline and marks, its pixels turned into mat millimetres."""
    return corrections_on_mat(piece, pictures_on(read.sheet))


def tracing_of(piece: PieceJob, read: SheetRead, tracings: tuple[Tracing, ...]) -> Tracing:
    """The tracing meant by a job's piece among those of its sheet, put right by what the job tells of it.

    Raises
    ------
    InputError
        If there are several and none was said, or what was told is no outline.
    """
    said = corrections_of(piece, read)
    if said.outline is not None:
        own = meant_by(said.outline, tracings)
        if own is None:
            down = lowering(read.sheet)
            up = np.asarray(np.linalg.inv(down), np.float64)
            return moved(with_print(read.sheet, moved(told_alone(said), up)), down)
    else:
        own = choose(tracings, piece.at, piece.pictures[0].name)
    return corrected(own, said)
