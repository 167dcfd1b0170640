"""A job's pieces read, each with what the others show; parts laid together."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache

from convert.job.job import Job, PieceJob
from convert.piece.allowance.alike import alike_of, seams_apart
from convert.piece.names.kinds import KINDS
from convert.piece.piece import EdgeName
from convert.piece.together.agreeing import seams_from
from convert.piece.together.laid import Laid
from convert.piece.together.together import together
from convert.pipeline.look import Look, Pictures, Progress, look, outline_told, pictures_of, silent
from convert.pipeline.name import PieceNamed, PieceRead, name_piece, named_anew, seamed_like

_AT_ONCE = 2  # pictures read at the same time: each needs about half a gigabyte


def laid_together(job: Job, reads: Sequence[PieceRead]) -> tuple[Laid, ...]:
    """A job's pieces as plain ones: parts laid together, tucks folded out.

    Raises
    ------
    InputError
        If a part is missing, or parts can't be laid together.
    """
    above = {KINDS[piece.kind].whole: piece.dart_above_mm for piece in job.pieces if piece.dart_above_mm}
    return together([one.piece for one in reads], unit=job.maker.unit, darts_above=above)


def read_job_pieces(job: Job, *, progress: Progress = silent) -> tuple[PieceRead, ...]:
    """Every piece of a job, two pictures at a time; a picture that holds several pieces is read once.

    Raises
    ------
    InputError
        If a picture or a piece can't be used; it names which.
    """
    wanted = {_looking_for(piece): piece for piece in job.pieces}

    def look_for(piece: PieceJob) -> Look:
        pictures, size, told = _looking_for(piece)
        return look(pictures, size, outline_told=told, progress=lambda stage: progress(f"{piece.kind}: {stage}"))[0]

    with ThreadPoolExecutor(max_workers=_AT_ONCE) as pool:
        looks = dict(zip(wanted, pool.map(look_for, wanted.values()), strict=True))
    return agreed([name_piece(piece, looks[_looking_for(piece)], job.maker.unit) for piece in job.pieces])


def _looking_for(piece: PieceJob) -> tuple[Pictures, int | str | None, bool]:
    """What a look at a piece's pictures hangs on."""
    return pictures_of(piece), piece.size, outline_told(piece)


def agreed(named: Sequence[PieceNamed]) -> tuple[PieceRead, ...]:
    """The pieces of one pattern with what each shows of the others; seams that differ are noted.

    Panels agree where their seam begins, and allowances that one piece shows speak for the others.
    """

    @cache
    def beginning(place: int, begins_on: EdgeName) -> PieceNamed:
        return named_anew(named[place], begins_on)

    begins = seams_from([one.alone.piece for one in named], lambda place, on: beginning(place, on).alone.piece)
    agreeing = [beginning(k, begins[k]) if k in begins else one for k, one in enumerate(named)]
    pieces = [one.alone.piece for one in agreeing]
    unit = named[0].told.unit
    alike = [alike_of(piece, pieces, unit=unit) for piece in pieces]
    out = [seamed_like(one, said) if said else one.alone for one, said in zip(agreeing, alike, strict=True)]
    apart = seams_apart([one.piece for one in out], unit=unit)
    if apart:
        first = out[0]
        out[0] = replace(first, piece=replace(first.piece, notes=(*first.piece.notes, *apart)))
    return tuple(out)
