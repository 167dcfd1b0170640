"""A tracing -> a piece with what was told of it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.errors import InputError
from calibration.sheet.lift import lift_doubt, lowering
from calibration.sheet.on_sheet import pictures_on
from convert.body.card import LengthUnit
from convert.job.job import PieceJob
from convert.job.on_mat import corrections_on_mat, told_on_mat
from convert.piece.names.told import NOTHING_TOLD, Told
from convert.piece.piece import Allowance, EdgeName, Piece, PieceKind
from convert.piece.plausible import size_doubt
from convert.piece.read import Unseamed, seamed, unseamed_from
from convert.pipeline.look import Look, SheetRead, choose
from convert.trace.printed.with_print import with_print
from convert.trace.told.corrected import corrected, meant_by, told_alone
from convert.trace.tracing import Tracing, moved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceRead:
    """A piece with everything it was read from."""

    piece: Piece
    tracing: Tracing
    read: SheetRead


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceNamed:
    """A piece whose edges, darts and holes are known, and as it is by itself: ``alone``."""

    unseamed: Unseamed
    told: Told
    alone: PieceRead


def read_piece(tracing: Tracing, read: SheetRead, kind: PieceKind, told: Told = NOTHING_TOLD) -> PieceRead:
    """One piece by itself.

    Raises
    ------
    InputError
        As :func:`name_tracing`.
    """
    return name_tracing(tracing, read, kind, told).alone


def name_piece(piece: PieceJob, look: Look, unit: LengthUnit) -> PieceNamed:
    """A job's piece from what was seen on its pictures; ``unit`` is the one its maker reads.

    Raises
    ------
    InputError
        If there are several and none was said, what was told can't be, or as :func:`name_tracing`.
    """
    told = replace(told_on_mat(piece, pictures_on(look.read.sheet)), unit=unit)
    return name_tracing(tracing_of(piece, look), look.read, piece.kind, told)


def name_tracing(tracing: Tracing, read: SheetRead, kind: PieceKind, told: Told) -> PieceNamed:
    """Name the edges, find darts, holes and the seam line, and say how far the whole can be trusted.

    Raises
    ------
    InputError
        If the piece was not seen whole, its edges can't be named, or an allowance leaves nothing of one.
    """
    if not tracing.complete:
        said = next((note.text for note in tracing.notes), "It can't be seen whole.")
        raise InputError(f"The {kind}: {said}", "Photograph it again with all of it on the mat and in the picture.")
    unseamed = unseamed_from(tracing, kind, told)
    return PieceNamed(unseamed=unseamed, told=told, alone=_seamed(unseamed, tracing, read))


def named_anew(named: PieceNamed, seam_from: EdgeName) -> PieceNamed:
    """The same with its panel seam beginning on an edge.

    Raises
    ------
    InputError
        If it can't begin there.
    """
    one = named.alone
    return name_tracing(one.tracing, one.read, one.piece.kind, replace(named.told, seam_from=seam_from))


def seamed_like(named: PieceNamed, alike: Mapping[EdgeName, Allowance]) -> PieceRead:
    """The piece with what others say of its allowances; nothing but its seam line is looked for again."""
    return _seamed(named.unseamed, named.alone.tracing, named.alone.read, alike)


def _seamed(
    unseamed: Unseamed, tracing: Tracing, read: SheetRead, alike: Mapping[EdgeName, Allowance] | None = None
) -> PieceRead:
    piece = seamed(
        unseamed,
        alike=alike,
        uncertainty_mm=float(np.median(read.sheet.uncertainty_mm(tracing.outline[::50]))),
        scale_uncertainty=float(np.hypot(lift_doubt(read.sheet), read.scale_uncertainty)),
    )
    lattice = read.sheet.lattice
    doubt = size_doubt(piece, pitch_mm=None if lattice is None else lattice.pitch_mm)
    return PieceRead(piece=replace(piece, notes=(*piece.notes, *doubt)), tracing=tracing, read=read)


def tracing_of(piece: PieceJob, look: Look) -> Tracing:
    """The tracing meant by a job's piece among those of its sheet, put right by what the job tells of it.

    Raises
    ------
    InputError
        If there are several and none was said, or what was told is no outline.
    """
    said = corrections_on_mat(piece, pictures_on(look.read.sheet))
    if said.outline is None:
        return corrected(choose(look.tracings, piece.at, piece.pictures[0].name), said)
    own = meant_by(said.outline, look.tracings)
    if own is not None:
        return corrected(own, said)
    down = lowering(look.read.sheet)
    up = np.asarray(np.linalg.inv(down), np.float64)
    return moved(with_print(look.read.sheet, moved(told_alone(said), up)), down)
