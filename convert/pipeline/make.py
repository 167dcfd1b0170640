"""Pieces and card -> block."""

from dataclasses import dataclass

from calibration.ground.errors import Note
from convert.block.block import Block
from convert.block.solved.least_moves import Solved
from convert.block.solved.solve import suggest_near
from convert.body.fill import fill_missing
from convert.body.read_card import require_measured
from convert.body.slips import question_notes
from convert.job.job import Job
from convert.piece.piece import Piece
from convert.piece.together.laid import Laid
from convert.pipeline.compared import NO_EASE, drafted_of, maker_notes
from convert.pipeline.look import Progress, silent
from convert.pipeline.name import PieceRead
from convert.pipeline.together import laid_together, read_job_pieces
from convert.redrawn.redrawn import read_drawing, redrawn_block


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Made:
    """A job done: its pieces as they were read, as they were laid together, and the block."""

    job: Job
    reads: tuple[PieceRead, ...]
    laid: tuple[Laid, ...]
    block: Block
    notes: tuple[Note, ...]

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """The plain pieces, before any move."""
        return tuple(one.piece for one in self.laid)


def make(job: Job, *, progress: Progress = silent) -> Made:
    """The whole way, from a job folder's pictures to the block.

    Raises
    ------
    InputError
        If a picture, a piece or a measurement can't be used; it names which.
    """
    require_measured(job.maker)
    reads = read_job_pieces(job, progress=progress)
    progress("fitting the block")
    return make_from(job, reads)


def make_from(job: Job, reads: tuple[PieceRead, ...]) -> Made:
    """The same from pieces that were read."""
    laid = laid_together(job, reads)
    block, asked = fitted_block(job, tuple(one.piece for one in laid))
    notes = [*job.notes, *asked, *(note for one in laid for note in one.piece.notes)]
    notes += [note for one in reads for note in one.read.notes]
    return Made(job=job, reads=reads, laid=laid, block=block, notes=tuple(dict.fromkeys([*notes, *block.notes])))


def fitted_block(job: Job, pieces: tuple[Piece, ...]) -> tuple[Block, tuple[Note, ...]]:
    """A job's block from its pieces, and what its maker should know; its pictures are not looked at.

    Raises
    ------
    InputError
        If no moves lead from these pieces to this maker.
    """
    block = fitted_near(job, pieces)[0]
    return block, (*question_notes(job.maker), *maker_notes(job, drafted_of(job, pieces)))


def fitted_near(job: Job, pieces: tuple[Piece, ...], near: Solved | None = None) -> tuple[Block, Solved]:
    """A job's block and where its solution lies; found quickly from one nearby.

    Raises
    ------
    InputError
        As :func:`fitted_block`.
    """
    require_measured(job.maker)
    block, solved = suggest_near(
        pieces,
        card=fill_missing(job.maker, like=drafted_of(job, pieces).body or None),
        drafted_for=job.pattern.drafted_for() or None,
        ease={**NO_EASE, **job.ease.mm},
        choices=job.choices,
        near=near,
    )
    for drawing in job.drawn:
        block = redrawn_block(block, read_drawing(drawing), source=drawing.name).block
    return block, solved
