"""A job's pieces read, each with what the others show; parts laid together."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from convert.job.job import Job
from convert.piece.allowance.alike import alike_of, seams_apart
from convert.piece.names.told import Told
from convert.piece.piece import EdgeName, Piece
from convert.piece.together.agreeing import seams_from
from convert.piece.together.laid import Laid
from convert.piece.together.together import together
from convert.pipeline.look import Pictures, Progress, SheetRead, look_at, pictures_of, silent
from convert.pipeline.name import PieceRead, read_piece, told_of, tracing_of
from convert.trace.tracing import Tracing

_AT_ONCE = 2  # pictures read at the same time: each needs about half a gigabyte


def laid_together(job: Job, reads: Sequence[PieceRead]) -> tuple[Laid, ...]:
    """A job's pieces as plain ones: parts laid together, tucks folded out.

    Raises
    ------
    InputError
        If a part is missing, or parts can't be laid together.
    """
    return together([one.piece for one in reads], unit=job.maker.unit)


def read_job_pieces(job: Job, *, progress: Progress = silent) -> tuple[PieceRead, ...]:
    """Every piece of a job, two pictures at a time; a picture that holds several pieces is read once."""
    wanted = {pictures_of(piece): piece for piece in job.pieces}

    def look(key: tuple[Pictures, int | str | None]) -> tuple[SheetRead, tuple[Tracing, ...]]:
        return look_at(wanted[key], progress=lambda stage: progress(f"{wanted[key].kind}: {stage}"))

    with ThreadPoolExecutor(max_workers=_AT_ONCE) as pool:
        looked = dict(zip(wanted, pool.map(look, wanted), strict=True))
    reads, told = [], []
    for piece in job.pieces:
        read, tracings = looked[pictures_of(piece)]
        told.append(replace(told_of(piece, read), unit=job.maker.unit))
        reads.append(read_piece(tracing_of(piece, read, tracings), read, piece.kind, told[-1]))
    return looked_at_together(tuple(reads), told)


def looked_at_together(reads: tuple[PieceRead, ...], told: Sequence[Told]) -> tuple[PieceRead, ...]:
    """The pieces of one pattern with what each shows of the others; seams that differ are noted.

    Panels agree where their seam begins, and allowances that one piece shows speak for the others.
    """

    def named(place: int, begins_on: EdgeName) -> Piece:
        one = reads[place]
        return read_piece(one.tracing, one.read, one.piece.kind, replace(told[place], seam_from=begins_on)).piece

    begins = seams_from([one.piece for one in reads], named)
    told = [replace(said, seam_from=begins.get(k, said.seam_from)) for k, said in enumerate(told)]
    reads = tuple(
        read_piece(one.tracing, one.read, one.piece.kind, told[k]) if k in begins else one
        for k, one in enumerate(reads)
    )
    pieces = [one.piece for one in reads]
    unit = told[0].unit
    out = []
    for one, said in zip(reads, told, strict=True):
        alike = alike_of(one.piece, pieces, unit=unit)
        read = one
        if alike:
            read = read_piece(one.tracing, one.read, one.piece.kind, replace(said, alike=alike))
        out.append(read)
    apart = seams_apart([one.piece for one in out], unit=unit)
    if apart:
        first = out[0]
        out[0] = replace(first, piece=replace(first.piece, notes=(*first.piece.notes, *apart)))
    return tuple(out)
