"""The one place where stages are put in order: pictures -> sheet -> tracings -> pieces -> block."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from calibration.calibrate import fit_view, known_object_doubt
from calibration.doubts.known_object import USUAL_PITCHES_MM, find_known_object, pitch_evidence
from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points
from calibration.joining.join import join
from calibration.picture.photo import Photo, read_photo
from calibration.scan import flatten_scan
from calibration.sheet.flatten import FlatSheet, coarser, flatten
from calibration.sheet.lift import lift_doubt, lowering
from calibration.sheet.on_sheet import cropped, pictures_on
from calibration.view.told import ToldPoint
from calibration.view.view import MatView
from convert.block.block import Block
from convert.block.compared.compare import Comparison, compare
from convert.block.compared.drafted import Drafted, Hints, drafted_for
from convert.block.measured.measure import measure
from convert.block.measured.on_paper import measure_paper
from convert.block.solved.least_moves import Solved
from convert.block.solved.solve import suggest_near
from convert.body.card import Card
from convert.body.fill import fill_missing
from convert.body.read_card import require_measured
from convert.body.size_notes import chart_notes, size_notes
from convert.body.slips import question_notes
from convert.body.survey import WAIST_TO_HIP_MM
from convert.job.job import Job, PieceJob
from convert.job.mat import MatCheck
from convert.job.on_mat import corrections_on_mat, told_crossings, told_on_mat
from convert.job.told import Pixel
from convert.piece.allowance.alike import alike_of, seams_apart
from convert.piece.names.kinds import KINDS
from convert.piece.names.told import NOTHING_TOLD, Told
from convert.piece.piece import EdgeName, Piece, PieceKind
from convert.piece.plausible import size_doubt
from convert.piece.read import piece_from
from convert.piece.together.agreeing import seams_from
from convert.piece.together.laid import Laid
from convert.piece.together.together import together
from convert.pipeline.readings import Reading, readings_of
from convert.redrawn.redrawn import read_drawing, redrawn_block
from convert.trace.printed.with_print import with_print
from convert.trace.told.corrected import Corrections, corrected, meant_by, told_alone
from convert.trace.trace import trace_with_print
from convert.trace.tracing import Tracing, moved, scaled

Progress = Callable[[str], None]
MAT_PRINT = 0.001  # half-width of 95 %, relative: a mat nobody laid a rule on; our choice, for no maker states it
SCAN_SCALE = 0.003  # the same, of a scanner whose resolution is what the file says

# a block's lengths are the body's own: what room they need comes from girths and armhole (common practice)
_NO_EASE = dict.fromkeys(
    ("back waist length", "front waist length", "shoulder length", "bust height", "bust point distance", "arm length"),
    0.0,
)
_AT_ONCE = 2  # pictures read at the same time: each needs about half a gigabyte
_KNOWN_LONGEST_PX = 1500  # fine enough for a bank card's edges to a few tenths of a millimetre


def silent(stage: str) -> None:
    """No progress."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """The pictures of one piece, and how to read them.

    ``pitch_mm`` is the grid's; None for flatbed scans, whose ``dpi`` may be told. ``lattices`` and ``crops`` hold for
    each picture the crossings and the two corners of what to look at, if any were told. ``outline_told`` keeps pieces
    whose outline is told apart from those that are read off the same pictures. ``mat`` is
    what a steel rule read along the grid.
    """

    paths: tuple[Path, ...]
    pitch_mm: float | None
    dpi: float | None = None
    rotate_deg: int = 0
    lattices: tuple[tuple[ToldPoint, ...], ...] = ()
    crops: tuple[tuple[Pixel, ...] | None, ...] = ()
    outline_told: bool = False
    mat: MatCheck | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetRead:
    """Flat paper, with the photographs and views it came from (no views on a scan).

    ``scale_uncertainty`` is the relative half-width of 95 % that the mat's print or the scanner leaves.
    """

    sheet: FlatSheet
    photos: tuple[Photo, ...]
    views: tuple[MatView, ...]
    notes: tuple[Note, ...]
    scale_uncertainty: float = MAT_PRINT


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceRead:
    """A piece with everything it was read from."""

    piece: Piece
    tracing: Tracing
    read: SheetRead


def read_sheet(pictures: Pictures, *, progress: Progress = silent) -> SheetRead:
    """Read, calibrate, flatten, join."""
    photos: list[Photo] = []
    views: list[MatView] = []
    sheets: list[FlatSheet] = []
    none_told = ((),) * len(pictures.paths)
    lattices, crops = pictures.lattices or none_told, pictures.crops or none_told
    for number, (path, told, crop) in enumerate(zip(pictures.paths, lattices, crops, strict=True), 1):
        which = f", picture {number} of {len(pictures.paths)}" if len(pictures.paths) > 1 else ""
        progress(f"reading {path.name}{which}")
        photos.append(read_photo(path, rotate_deg=pictures.rotate_deg))
        if pictures.pitch_mm is None:
            scan = flatten_scan(photos[-1], dpi=pictures.dpi)
            sheets.append(cropped(scan, crop) if crop else scan)
            continue
        progress(f"finding the mat's lines{which}")
        mat_scale = pictures.mat.scale if pictures.mat else (1.0, 1.0)
        view = fit_view(photos[-1], pitch_mm=pictures.pitch_mm, told=told, mat_scale=mat_scale)
        with ThreadPoolExecutor(max_workers=1) as beside:
            doubt = beside.submit(known_object_doubt, photos[-1], view)
            sheet = flatten(photos[-1], view)
            sheet = cropped(sheet, crop) if crop else sheet
        views.append(replace(view, notes=(*view.notes, *doubt.result())))
        sheets.append(replace(sheet, views=(views[-1],)))
    if len(sheets) > 1:
        progress("joining the pictures")
    sheet = join(sheets)
    noted = [note for view in views for note in view.notes] + [note for one in sheets for note in one.notes]
    notes = tuple(dict.fromkeys([*noted, *sheet.notes]))
    mat_print = pictures.mat.uncertainty if pictures.mat else MAT_PRINT
    return SheetRead(
        sheet=sheet,
        photos=tuple(photos),
        views=tuple(views),
        notes=notes,
        scale_uncertainty=mat_print if views else SCAN_SCALE,
    )


def pitch_notes(read: SheetRead) -> tuple[Note, ...]:
    """What a known object lying by itself on the mat says of the grid's pitch, for it or against it."""
    if read.sheet.lattice is None:
        return ()
    known = find_known_object(coarser(read.sheet, _KNOWN_LONGEST_PX), usual_pitches_mm=USUAL_PITCHES_MM)
    return () if known is None else (pitch_evidence(known, read.sheet.lattice.pitch_mm),)


def trace_sheet(read: SheetRead, *, size: int | str | None = None, progress: Progress = silent) -> tuple[Tracing, ...]:
    """Every piece on the sheet, from left to right, with what is printed on it, as large as the paper truly is."""
    progress("tracing the paper and what is printed on it")
    sheet, reads = _at_likely_scale(read)
    down = lowering(read.sheet)
    return tuple(moved(scaled(tracing, reads), down) for tracing in trace_with_print(sheet, size=size))


def _at_likely_scale(read: SheetRead) -> tuple[FlatSheet, float]:
    """The sheet as large as it most likely is, and by what factor lengths told differ from that.

    Notches, holes and stitching are known by their size. Where a known object contradicts the pitch told, they are
    looked for at the scale that it gives; what comes out is kept at the scale that was told.
    """
    lattice = read.sheet.lattice
    if lattice is None or not any(note.code == "pitch-doubtful" for note in read.notes):
        return read.sheet, 1.0
    known = find_known_object(coarser(read.sheet, _KNOWN_LONGEST_PX), usual_pitches_mm=USUAL_PITCHES_MM)
    if known is None:
        return read.sheet, 1.0
    return (
        replace(
            read.sheet,
            mm_per_px=read.sheet.mm_per_px / known.reads,
            origin_mm=read.sheet.origin_mm / known.reads,
            lattice=replace(lattice, pitch_mm=lattice.pitch_mm / known.reads),
            views=(),
        ),
        known.reads,
    )


def choose(tracings: tuple[Tracing, ...], at: str | int | None, where: str) -> Tracing:
    """The one piece meant, where several lie in one picture.

    Raises
    ------
    InputError
        If there are several and none was said, or there is none at that place.
    """
    if at is None:
        if len(tracings) > 1:
            raise InputError(
                f"{len(tracings)} pieces lie in {where}.",
                'Say which one: at = "left", "right", or its number from the left.',
            )
        return tracings[0]
    if len(tracings) == 1 and not (isinstance(at, int) or at.isdigit()):
        seen = Note(
            "one-piece-seen",
            f"Only one piece was seen in {where}, and it was taken for the one on the {at}. Look at the drawing: if "
            "another piece lies there, its colour is too much like the mat's.",
        )
        return replace(tracings[0], notes=(*tracings[0].notes, seen))
    middles = np.array([(one.outline.min(0) + one.outline.max(0)) / 2 for one in tracings])
    if isinstance(at, int) or at.isdigit():
        number = int(at)
        if not 1 <= number <= len(tracings):
            raise InputError(
                f"There is no piece number {number} in {where}: {len(tracings)} can be seen.",
                "Count them from the left, beginning with 1.",
            )
        return tracings[int(np.argsort(middles[:, 0])[number - 1])]
    by_place = {"left": -middles[:, 0], "right": middles[:, 0], "top": middles[:, 1], "bottom": -middles[:, 1]}
    return tracings[int(np.argmax(by_place[at]))]


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


def laid_together(job: Job, reads: Sequence[PieceRead]) -> tuple[Laid, ...]:
    """A job's pieces as plain ones: parts laid together, tucks folded out.

    Raises
    ------
    InputError
        If a part is missing, or parts can't be laid together.
    """
    above = {KINDS[piece.kind].whole: piece.dart_above_mm for piece in job.pieces if piece.dart_above_mm}
    return together([one.piece for one in reads], unit=job.maker.unit, darts_above=above)


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
        card=job.maker,
        drafted_for=job.pattern.drafted_for() or None,
        ease={**_NO_EASE, **job.ease.mm},
        choices=job.choices,
        near=near,
    )
    for drawing in job.drawn:
        block = redrawn_block(block, read_drawing(drawing), source=drawing.name).block
    return block, solved


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
        ease={**_NO_EASE, **job.ease.mm},
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


def look_at(piece: PieceJob, *, progress: Progress = silent) -> tuple[SheetRead, tuple[Tracing, ...]]:
    """A job's piece's pictures read, and every piece on them; none where its outline is told and none can be read."""
    pictures, size = pictures_of(piece)
    read = read_sheet(pictures, progress=progress)
    try:
        return read, trace_sheet(read, size=size, progress=progress)
    except InputError:
        if corrections_of(piece, read).outline is None:
            raise
        return read, ()


def pictures_of(piece: PieceJob) -> tuple[Pictures, int | str | None]:
    """What has to be looked at for a piece: pieces with the same answer share one reading."""
    on = [piece.on.get(name) for name in piece.names]
    pitch_mm = piece.pitch_mm or 0.0
    pictures = Pictures(
        paths=piece.pictures,
        pitch_mm=None if piece.scan else piece.pitch_mm,
        dpi=piece.dpi,
        rotate_deg=piece.rotate_deg,
        mat=piece.mat,
        lattices=tuple(() if one is None else told_crossings(one, pitch_mm) for one in on),
        crops=tuple(None if one is None else one.crop for one in on),
        outline_told=any(one is not None and one.outline is not None for one in on),
    )
    return pictures, piece.size


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
