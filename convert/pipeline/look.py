"""Pictures -> sheet -> tracings: the first stage, and which of the tracings is meant."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from calibration.calibrate import fit_view, known_object_doubt
from calibration.doubts.known_object import USUAL_PITCHES_MM, find_known_object, pitch_evidence
from calibration.ground.errors import InputError, Note
from calibration.joining.join import join
from calibration.picture.photo import Photo, read_photo
from calibration.scan import flatten_scan
from calibration.sheet.flatten import FlatSheet, coarser, flatten
from calibration.sheet.lift import lowering
from calibration.sheet.on_sheet import cropped
from calibration.view.told import ToldPoint
from calibration.view.view import MatView
from convert.job.job import PieceJob
from convert.job.mat import MatCheck
from convert.job.on_mat import told_crossings
from convert.job.told import Pixel
from convert.trace.trace import trace_with_print
from convert.trace.tracing import Tracing, moved, scaled

Progress = Callable[[str], None]
MAT_PRINT = 0.001  # half-width of 95 %, relative: a mat nobody laid a rule on; our choice, for no maker states it
SCAN_SCALE = 0.003  # the same, of a scanner whose resolution is what the file says
_MOST_SIZES = 20  # on one sheet; multi-size patterns have up to about a dozen
_KNOWN_LONGEST_PX = 1500  # fine enough for a bank card's edges to a few tenths of a millimetre


def silent(stage: str) -> None:
    """No progress."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """The pictures of one piece, and how to read them.

    ``pitch_mm`` is the grid's; None for flatbed scans, whose ``dpi`` may be told. ``lattices`` and ``crops`` hold for
    each picture the crossings and the two corners of what to look at, if any were told. ``mat`` is what a steel rule
    read along the grid.
    """

    paths: tuple[Path, ...]
    pitch_mm: float | None
    dpi: float | None = None
    rotate_deg: int = 0
    lattices: tuple[tuple[ToldPoint, ...], ...] = ()
    crops: tuple[tuple[Pixel, ...] | None, ...] = ()
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
class Look:
    """Pictures looked at: the flat paper, and every piece seen on it from left to right."""

    read: SheetRead
    tracings: tuple[Tracing, ...]


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


def look(
    pictures: Pictures,
    size: int | str | None = None,
    *,
    outline_told: bool = False,
    every_size: bool = False,
    progress: Progress = silent,
) -> tuple[Look, ...]:
    """Pictures read, and every piece on them.

    It is one look; with ``every_size`` there is one for each of several nested sizes, the innermost first, where none
    of them was asked for. With ``outline_told`` a look may hold no tracing: what is told stands in its place.

    Raises
    ------
    InputError
        If a picture can't be read, or no piece is seen on them.
    """
    read = read_sheet(pictures, progress=progress)
    try:
        return (Look(read=read, tracings=trace_sheet(read, size=size, progress=progress)),)
    except InputError:
        sizes = _sizes(read, progress) if every_size and size is None else ()
        if sizes:
            return sizes
        if not outline_told:
            raise
        return (Look(read=read, tracings=()),)


def _sizes(read: SheetRead, progress: Progress) -> tuple[Look, ...]:
    """Each of several nested sizes as it reads; none if there are not several."""
    looks: list[Look] = []
    while len(looks) < _MOST_SIZES:
        progress(f"finding each size’s line, {len(looks) + 1}")
        try:
            tracings = trace_sheet(read, size=len(looks) + 1)
        except InputError:
            break
        if not any(one.nested for one in tracings):
            break
        looks.append(Look(read=read, tracings=tracings))
    return tuple(looks) if len(looks) > 1 else ()


def pictures_of(piece: PieceJob) -> Pictures:
    """What has to be looked at for a piece: pieces with the same answer lie on one sheet."""
    on = [piece.on.get(name) for name in piece.names]
    pitch_mm = piece.pitch_mm or 0.0
    return Pictures(
        paths=piece.pictures,
        pitch_mm=None if piece.scan else piece.pitch_mm,
        dpi=piece.dpi,
        rotate_deg=piece.rotate_deg,
        mat=piece.mat,
        lattices=tuple(() if one is None else told_crossings(one, pitch_mm) for one in on),
        crops=tuple(None if one is None else one.crop for one in on),
    )


def outline_told(piece: PieceJob) -> bool:
    """Whether a piece's whole outline is told on one of its pictures."""
    return any(on.outline is not None for on in piece.on.values())
