"""Every file of a block, and writing them so that nothing that a person changed is lost."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from calibration.ground.errors import Note, OutputError
from calibration.ground.files import write_atomically
from calibration.ground.points import Points
from convert.block.block import Block
from convert.block.compared.compare import Comparison
from convert.block.record import to_record
from convert.block.shape.landmarks import bust_point
from convert.block.shape.shape import shape_of
from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm
from convert.paper.draw.draw_piece import PieceWords, cut_words, draw_piece, level_lines
from convert.paper.draw.drawing import Drawing
from convert.paper.draw.sewn_to import edge_words
from convert.paper.draw.svg import slug, svg_page
from convert.paper.files.dxf import write_dxf
from convert.paper.files.pdf import write_pdf
from convert.paper.files.png import preview_png
from convert.paper.report.report import write_report
from convert.paper.report.report_content import FileLine, Photograph, report_content
from convert.paper.report.report_pdf import write_report_pdf
from convert.paper.sheets.papers import Paper, paper_named
from convert.paper.sheets.printer import Printer
from convert.paper.sheets.sheets import Sheet, make_sheets
from convert.paper.sheets.toile_cut import Outward, toile_ring, toile_widths, toile_words
from convert.paper.steps.steps import write_steps
from convert.piece.piece import Piece
from convert.piece.together.laid import Laid

MANIFEST = ".written.json"
_EASE_ON: Mapping[str, tuple[str, ...]] = {
    "bodice": ("bust", "waist"),
    "sleeve": ("upper arm",),
    "skirt": ("waist", "hip"),
    "dress": ("bust", "waist", "hip"),
}
_MEASURED_ON: Mapping[str, tuple[str, ...]] = {
    "bodice": ("bust", "waist", "across back", "across chest", "back waist length", "front waist length", "neck")
    + ("shoulder length", "bust height", "bust point distance"),
    "sleeve": ("upper arm", "arm length", "wrist"),
    "skirt": ("waist", "hip", "skirt length"),
    "dress": ("bust", "waist", "hip"),
}
_ABOUT: Mapping[str, str] = {
    "block.pdf": "The block to print, with test squares and a map of the sheets on the first sheet.",
    "practice.pdf": "The block at quarter scale, to practise with on small paper.",
    "toile.pdf": "The block with seam allowance, to cut a trial garment from.",
    "steps.pdf": "What to do with paper and scissors to make the block from the paper pattern, step by step.",
    "block.svg": "The block at full size for a drawing program, all pieces.",
    "block.dxf": "The block for a cutting room, in millimetres.",
    "block.png": "A small picture of the pieces.",
    "report.pdf": "This report, to print or to keep.",
    "block.json": "The block as numbers, for other programs.",
    "pieces.json": "The pattern's pieces as numbers, parts laid together, before any move.",
}


def draw_block(
    block: Block,
    *,
    date: str,
    version: str = "1",
    scale: float = 1.0,
    outward_mm: Outward | None = None,
) -> tuple[Drawing, ...]:
    """All pieces of a block at a scale; with ``outward_mm`` as toile pieces with that allowance round them.

    Parameters
    ----------
    outward_mm
        One width for every seam, or widths by edge name, as :func:`convert.paper.toile_cut.toile_widths` takes them.
    """
    unit = block.maker.unit
    drawings = []
    at_edges = edge_words(block.pieces, unit)
    for piece in block.pieces:
        bust = bust_point_of(piece)
        words = PieceWords(
            whose=f"Block of {block.maker.name}",
            cut=cut_words(piece),
            allowance=allowance_words(outward_mm, unit),
            ease=(*ease_words(block, piece), *estimated_words(block, piece)),
            date=date,
            version=f"Version {version}",
            edges=at_edges[piece.kind],
            bust_point=bust,
        )
        ring = None if outward_mm is None else toile_ring(piece, toile_widths(piece, outward_mm))
        levels = level_lines(piece, waist_to_hip=block.maker.mm("waist to hip"), bust=bust)
        drawings.append(draw_piece(piece, words, scale=scale, cut_ring=ring, levels=levels))
    return tuple(drawings)


def allowance_words(outward_mm: Outward | None, unit: LengthUnit = "cm") -> str:
    """The allowance as it stands on every sheet."""
    if outward_mm is None:
        return "No seam allowance"
    return toile_words(outward_mm, unit)


def ease_words(block: Block, piece: Piece) -> tuple[str, ...]:
    """The block's ease at the levels that run through a piece, in one line."""
    wanted = _EASE_ON.get(piece.kind.split()[0], ())
    parts = [
        f"{level.name} {format_paper_mm(level.ease_mm, block.maker.unit)}"
        for level in block.levels
        if level.name in wanted
    ]
    return (f"Ease: {', '.join(parts)}",) if parts else ()


def estimated_words(block: Block, piece: Piece) -> tuple[str, ...]:
    """Measurements of this piece that were taken from a size chart, not from the maker, in one line."""
    wanted = _MEASURED_ON.get(piece.kind.split()[0], ())
    names = [level.name for level in block.levels if level.name in wanted and level.body_is_estimated]
    return (f"Estimated from a size chart, measure next: {', '.join(names)}",) if names else ()


def bust_point_of(piece: Piece) -> Points | None:
    """Bust point (2,) of a front on its paper; None where no dart shows it."""
    if piece.kind not in ("bodice front", "dress front") or not any(dart.on for dart in piece.darts):
        return None
    shape = shape_of(piece)
    return np.asarray(shape.frame.to_paper(bust_point(shape)[None])[0])


def print_sheets(
    block: Block,
    *,
    date: str,
    version: str = "1",
    paper: Paper | None = None,
    scale: float = 1.0,
    printer: Printer | None = None,
    outward_mm: Outward | None = None,
) -> bytes:
    """The block as a PDF on a paper, at a scale, with or without allowance."""
    sheets = block_sheets(
        block,
        date=date,
        version=version,
        paper=paper,
        scale=scale,
        printer=printer,
        outward_mm=outward_mm,
    )
    return _pdf(sheets, block, outward_mm)


def block_sheets(
    block: Block,
    *,
    date: str,
    version: str = "1",
    paper: Paper | None = None,
    scale: float = 1.0,
    printer: Printer | None = None,
    outward_mm: Outward | None = None,
) -> tuple[Sheet, ...]:
    """The sheets that :func:`print_sheets` writes, to be looked at beforehand."""
    drawings = draw_block(block, date=date, version=version, scale=scale, outward_mm=outward_mm)
    return _sheets(drawings, block, date=date, paper=paper, scale=scale, printer=printer, outward_mm=outward_mm)


def _title(block: Block, outward_mm: Outward | None) -> str:
    return f"{'Block' if outward_mm is None else 'Toile'} of {block.maker.name}"


def _sheets(
    drawings: Sequence[Drawing],
    block: Block,
    *,
    date: str,
    paper: Paper | None = None,
    scale: float = 1.0,
    printer: Printer | None = None,
    outward_mm: Outward | None = None,
) -> tuple[Sheet, ...]:
    return make_sheets(
        drawings,
        paper or paper_named("A4"),
        title=_title(block, outward_mm),
        date=date,
        scale=scale,
        printer=printer,
        note=allowance_words(outward_mm, block.maker.unit),
        unit=block.maker.unit,
    )


def _pdf(sheets: Sequence[Sheet], block: Block, outward_mm: Outward | None = None) -> bytes:
    note = allowance_words(outward_mm, block.maker.unit)
    return write_pdf(sheets, title=_title(block, outward_mm), author=block.maker.name, subject=note)


def block_files(
    block: Block,
    *,
    date: str,
    version: str = "1",
    patterns: Sequence[Piece] = (),
    laid: Sequence[Laid] = (),
    paper: Paper | None = None,
    printer: Printer | None = None,
    toile_mm: Outward | None = None,
    photographs: Sequence[Photograph] = (),
    measure_next: Sequence[str] = (),
    notes: Sequence[Note] = (),
    comparison: Comparison | None = None,
) -> dict[str, bytes | str]:
    """Every file of a block by its name.

    Parameters
    ----------
    date
        Written out, as it shall stand on the paper.
    patterns
        The plain pieces, on their seam lines, for the report.
    laid
        How parts were laid together, for the report.
    toile_mm
        If given, a toile sheet with that allowance is made too.
    photographs, measure_next, notes, comparison
        For the report.
    """
    full = draw_block(block, date=date, version=version)
    title = f"Block of {block.maker.name}"
    files: dict[str, bytes | str] = {
        "block.json": json.dumps(to_record(block), ensure_ascii=False),
        "block.svg": svg_page(full, title=title, description=f"Full size, no seam allowance, {date}."),
        "block.pdf": _pdf(_sheets(full, block, date=date, paper=paper, printer=printer), block),
        "practice.pdf": print_sheets(block, date=date, version=version, scale=0.25, printer=printer),
        "block.dxf": write_dxf(full),
        "block.png": preview_png(full, px_per_mm=1.0),
    }
    if block.moves:
        files["steps.pdf"] = write_steps(block.moves, title=title, date=date, unit=block.maker.unit, paper=paper)
    for drawing in full:
        files[f"{slug(drawing.name)}.svg"] = svg_page([drawing], title=f"{drawing.name}, {title}")
    if toile_mm is not None:
        files["toile.pdf"] = print_sheets(
            block, date=date, version=version, paper=paper, printer=printer, outward_mm=toile_mm
        )
    content = report_content(
        block,
        patterns,
        laid=laid,
        title=title,
        date=date,
        photographs=photographs,
        files=[FileLine(name=name, what=_ABOUT[name]) for name in _ABOUT if name in files or name == "report.pdf"],
        measure_next=measure_next,
        notes=notes,
        comparison=comparison,
    )
    files["report.html"] = write_report(content)
    files["report.pdf"] = write_report_pdf(content, paper=paper)
    return files


def write_files(folder: Path, files: Mapping[str, bytes | str], *, overwrite: bool = False) -> tuple[Path, ...]:
    """Write files into a folder, each whole or not at all, and keep what somebody else put or changed there.

    What an earlier call wrote, and nobody changed since, is replaced; the hashes in ``.written.json`` tell.
    Everything is looked at before the first file is written.

    Raises
    ------
    OutputError
        If a file stands there that this program did not write or that was changed since, unless ``overwrite``; or if
        the folder can't be written to.
    """
    contents = {name: text.encode() if isinstance(text, str) else text for name, text in files.items()}
    known = _read_manifest(folder)
    theirs = [name for name, data in contents.items() if _is_theirs(folder / name, data, known.get(name, ()))]
    if theirs and not overwrite:
        names = ", ".join(theirs)
        raise OutputError(
            f"{names} in {folder} {'was' if len(theirs) == 1 else 'were'} changed or put there since the last run.",
            "Move or rename what you want to keep, or add --overwrite to replace it.",
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as err:
        raise OutputError(
            f"The folder {folder} could not be made: {err.strerror or err}.", "Choose another folder with --out."
        ) from err
    # Both old and new hashes are noted first, so that a run killed half-way is not taken for a person's change.
    hashes = {name: _hash(data) for name, data in contents.items()}
    both = {**known, **{name: (*known.get(name, ()), new) for name, new in hashes.items()}}
    write_atomically(folder / MANIFEST, _manifest(both))
    for name, data in contents.items():
        write_atomically(folder / name, data)
    write_atomically(folder / MANIFEST, _manifest({**known, **{name: (new,) for name, new in hashes.items()}}))
    return tuple(folder / name for name in contents)


def forget_file(folder: Path, name: str) -> None:
    """Remove a file that an earlier call of :func:`write_files` wrote and nobody changed since; leave any other."""
    path = folder / name
    try:
        ours = _hash(path.read_bytes()) in _read_manifest(folder).get(name, ())
    except OSError:
        return
    if ours:
        path.unlink(missing_ok=True)


def _hash(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _is_theirs(path: Path, new: bytes, known: Sequence[str]) -> bool:
    try:
        there = path.read_bytes()
    except FileNotFoundError:
        return False
    except OSError:
        return True
    return there != new and _hash(there) not in known


def _manifest(hashes: Mapping[str, Sequence[str]]) -> str:
    return json.dumps({name: sorted(set(some)) for name, some in sorted(hashes.items())}, indent=1)


def _read_manifest(folder: Path) -> dict[str, tuple[str, ...]]:
    """Hashes of what earlier runs wrote; none where the list is missing or spoilt (then nothing counts as ours)."""
    try:
        read = json.loads((folder / MANIFEST).read_text())
        return {str(name): tuple(str(one) for one in some) for name, some in read.items()}
    except (OSError, ValueError, AttributeError, TypeError):
        return {}
