"""Pieces beside the maker: what they were drafted for, what they measure, what she needs."""

from dataclasses import dataclass

from calibration.ground.errors import Note
from convert.block.compared.compare import Comparison, compare
from convert.block.compared.drafted import Drafted, Hints, drafted_for
from convert.block.measured.measure import measure
from convert.body.card import Card
from convert.body.fill import fill_missing
from convert.body.size_notes import chart_notes, size_notes
from convert.body.slips import question_notes
from convert.body.survey import WAIST_TO_HIP_MM
from convert.job.job import Job
from convert.piece.piece import Piece
from convert.pipeline.look import Progress, silent
from convert.pipeline.name import PieceRead
from convert.pipeline.together import laid_together, read_job_pieces

# a block's lengths are the body's own: what room they need comes from girths and armhole (common practice)
NO_EASE = dict.fromkeys(
    ("back waist length", "front waist length", "shoulder length", "bust height", "bust point distance", "arm length"),
    0.0,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MakerCompared:
    """A job's pieces compared with the maker: ``card`` is hers with estimates, ``drafted`` what the pattern was for.

    ``pieces`` are the plain ones: parts laid together.
    """

    job: Job
    reads: tuple[PieceRead, ...]
    pieces: tuple[Piece, ...]
    card: Card
    drafted: Drafted
    comparison: Comparison
    notes: tuple[Note, ...]


def compare_job(job: Job, *, progress: Progress = silent) -> MakerCompared:
    """From a job folder's pictures to the comparison of pattern and maker.

    Raises
    ------
    InputError
        As :func:`make`.
    """
    return compare_pieces(job, read_job_pieces(job, progress=progress))


def compare_pieces(job: Job, reads: tuple[PieceRead, ...]) -> MakerCompared:
    """The same from pieces that were read; any subset of a garment."""
    pieces = tuple(one.piece for one in laid_together(job, reads))
    drafted, card, comparison = compared_with(job, pieces)
    notes = (
        *job.notes,
        *question_notes(job.maker),
        *maker_notes(job, drafted),
        *(note for piece in pieces for note in piece.notes),
        *(note for one in reads for note in one.read.notes),
        *comparison.notes,
    )
    return MakerCompared(
        job=job,
        reads=reads,
        pieces=pieces,
        card=card,
        drafted=drafted,
        comparison=comparison,
        notes=tuple(dict.fromkeys(notes)),
    )


def compared_with(job: Job, pieces: tuple[Piece, ...]) -> tuple[Drafted, Card, Comparison]:
    """Pieces beside a job's maker: what they were drafted for, her card with estimates, the comparison."""
    drafted = drafted_of(job, pieces)
    card = fill_missing(job.maker, like=drafted.body or None)
    comparison = compare(
        pieces,
        card=card,
        drafted_for=drafted.body or None,
        ease={**NO_EASE, **job.ease.mm},
        assumed=drafted.assumed,
    )
    return drafted, card, comparison


def drafted_of(job: Job, pieces: tuple[Piece, ...]) -> Drafted:
    """What a job's pattern was drafted for: as told, or the likeliest chart row and ease together."""
    found = measure(pieces, waist_to_hip=job.maker.mm("waist to hip") or WAIST_TO_HIP_MM)
    hints = Hints(size=job.pattern.size if job.pattern.chart is None else None, year=job.pattern.year)
    return drafted_for(found, told=job.pattern.drafted_for(), hints=hints, unit=job.maker.unit)


def maker_notes(job: Job, drafted: Drafted) -> tuple[Note, ...]:
    """What a maker should know of the size: that it was guessed, and which one she would start from, and why."""
    guessed = [Note("size-guessed", drafted.sentence)] if drafted.sentence else []
    known = (*guessed, *chart_notes(job.pattern.chart))
    if not any(piece.kind.startswith(("bodice", "dress")) for piece in job.pieces):
        return known
    nested = any(piece.size is not None for piece in job.pieces)
    return (*known, *size_notes(job.maker, job.pattern.chart, job.pattern.size, several=nested))
