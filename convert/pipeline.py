"""The one place where stages are put in order: pictures -> sheet -> tracings -> pieces -> block."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from calibration.calibrate import calibrate
from calibration.errors import InputError, Note
from calibration.flatten import FlatSheet, flatten
from calibration.join import join
from calibration.known_object import USUAL_PITCHES_MM, find_known_object, pitch_evidence
from calibration.photo import Photo, read_photo
from calibration.points import Points
from calibration.scan import flatten_scan
from calibration.view import MatView
from convert.block.on_paper import measure_paper
from convert.piece.piece import Piece, PieceKind
from convert.piece.read import piece_from
from convert.piece.told import NOTHING_TOLD, Told
from convert.trace.trace import trace
from convert.trace.tracing import Tracing
from convert.trace.with_print import with_print

Progress = Callable[[str], None]
PAPER_LIFT = 0.0007  # half-width of 95 %, relative: paper 0.3 to 1 mm above the mat, the camera about 0.6 to 1.5 m
MAT_PRINT = 0.001  # the same, of a printed mat that nobody has laid a steel rule on; common practice
SCAN_SCALE = 0.003  # the same, of a scanner whose resolution is what the file says


def silent(stage: str) -> None:
    """No progress."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """The pictures of one piece, and how to read them.

    ``pitch_mm`` is the grid's; None for flatbed scans, whose ``dpi`` may be told.
    """

    paths: tuple[Path, ...]
    pitch_mm: float | None
    dpi: float | None = None
    rotate_deg: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetRead:
    """Flat paper, with the photographs and views it came from (no views on a scan)."""

    sheet: FlatSheet
    photos: tuple[Photo, ...]
    views: tuple[MatView, ...]
    notes: tuple[Note, ...]


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
    for number, path in enumerate(pictures.paths, 1):
        which = f", picture {number} of {len(pictures.paths)}" if len(pictures.paths) > 1 else ""
        progress(f"reading {path.name}{which}")
        photos.append(read_photo(path, rotate_deg=pictures.rotate_deg))
        if pictures.pitch_mm is None:
            sheets.append(flatten_scan(photos[-1], dpi=pictures.dpi))
            continue
        progress(f"finding the mat's lines{which}")
        views.append(calibrate(photos[-1], pitch_mm=pictures.pitch_mm))
        sheets.append(flatten(photos[-1], views[-1]))
    if len(sheets) > 1:
        progress("joining the pictures")
    sheet = join(sheets)
    noted = [note for view in views for note in view.notes] + [note for one in sheets for note in one.notes]
    notes = tuple(dict.fromkeys([*noted, *sheet.notes]))
    return SheetRead(sheet=sheet, photos=tuple(photos), views=tuple(views), notes=notes)


def pitch_notes(read: SheetRead) -> tuple[Note, ...]:
    """What a bank card, an A4 or a Letter sheet lying by itself on the mat says of the grid's pitch."""
    if read.sheet.lattice is None:
        return ()
    known = find_known_object(read.sheet, usual_pitches_mm=USUAL_PITCHES_MM)
    return () if known is None else (pitch_evidence(known, read.sheet.lattice.pitch_mm),)


def trace_sheet(read: SheetRead, *, size: int | str | None = None, progress: Progress = silent) -> tuple[Tracing, ...]:
    """Every piece on the sheet, from left to right, with what is printed on it."""
    progress("tracing the paper")
    tracings = trace(read.sheet, size=size)
    progress("reading what is printed")
    return tuple(with_print(read.sheet, tracing) for tracing in tracings)


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
    """Name the edges, find the seam line, and say how far the whole can be trusted."""
    mat = max((float(np.median(view.uncertainty_mm(tracing.outline[::50]))) for view in read.views), default=0.0)
    piece = piece_from(
        tracing,
        kind,
        told,
        uncertainty_mm=float(np.hypot(mat, read.sheet.seam_mm)),
        scale_uncertainty=float(np.hypot(PAPER_LIFT, MAT_PRINT)) if read.views else SCAN_SCALE,
    )
    return PieceRead(piece=piece, tracing=tracing, read=read)


def seam_on_mat(read: PieceRead) -> Points:
    """The seam line (N, 2) where it lies on the mat."""
    if read.piece.placement is None:
        raise ValueError("a piece that was read knows how it lay")
    return read.piece.placement.to_mat(read.piece.seam_line)


def measured(piece: Piece) -> list[dict[str, float | str]]:
    """What one piece measures as it lies on the paper: half widths on half pieces."""
    return [{"name": one.name, "mm": one.mm, "uncertainty_mm": one.uncertainty_mm} for one in measure_paper(piece)]
