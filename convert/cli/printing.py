"""What ``ownblock print`` does; imported only then."""

import datetime
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

from calibration.ground.errors import InputError, WordsError
from calibration.ground.files import write_atomically
from calibration.ground.units import parse_length_mm
from convert.block.block import Block
from convert.block.record import from_record
from convert.body.wording import date_in_words
from convert.cli.options import known
from convert.job.fittings import TOILE_FILE
from convert.job.told import edge_name
from convert.paper.output import print_sheets
from convert.paper.report.report_content import check_sentence
from convert.paper.sheets.papers import paper_named
from convert.paper.sheets.printer import Printer
from convert.paper.sheets.toile_cut import SEAMS
from convert.pipeline.history import block_after, made_record, version_words
from convert.redrawn.redrawn import read_drawing, redrawn_block

MOST_MM = 150.0  # deeper hems than this are facings


def print_block(
    place: Path,
    out: Path,
    *,
    paper: str,
    scale: float,
    kinds: tuple[str, ...],
    allowance: tuple[str, ...],
    drawn: Path | None,
    square: str | None,
    fitting: int | None,
    say: Callable[[str], None],
) -> str:
    """Write the PDF; what was made, in one line. What an edited drawing changed is said with ``say``."""
    block, version, after = chosen_state(place, fitting)
    if drawn is not None:
        block = edited(block, drawn, say)
    block = only(block, kinds)
    data = print_sheets(
        block,
        date=date_in_words(datetime.date.today()),
        version=version,
        paper=paper_named(paper),
        scale=scale,
        printer=printer_of(square),
        outward_mm=outward_of(allowance),
    )
    write_atomically(out, data)
    what = f"The block of {block.maker.name}{after}"
    return f"{what}: {out}. Print it at 100 % and measure the test square on the first sheet."


def chosen_state(place: Path, fitting: int | None) -> tuple[Block, str, str]:
    """The block after a fitting of its toile (the newest if None), its version, and the fitting in words.

    Raises
    ------
    InputError
        If there is no block, or no such fitting.
    """
    if not place.is_dir():
        if fitting is not None:
            raise InputError(f"{place} is one state of a block.", "Give the job's folder to choose among its fittings.")
        return read_block(place), "1", ""
    if fitting is None and not (place / TOILE_FILE).is_file():
        return read_block(place), "1", ""
    block, state = block_after(place, fitting)
    return block, version_words(state), f" after fitting {state.number}" if state.number else ""


def read_block(place: Path) -> Block:
    """The block of a job folder, or of a block.json.

    Raises
    ------
    InputError
        If there is none, or it can't be read.
    """
    return from_record(made_record(place))


def edited(block: Block, drawn: Path, say: Callable[[str], None]) -> Block:
    """The block with pieces from an edited SVG; what changed, and what no longer holds, is said.

    Raises
    ------
    InputError
        If the file can't be read or understood.
    """
    found = redrawn_block(block, read_drawing(drawn), source=drawn.name)
    for sentence in found.sentences or (f"Nothing was moved in {drawn.name}.",):
        say(sentence)
    held = {(check.check, check.where) for check in block.checks if not check.sound}
    for check in found.block.checks:
        if not check.sound and (check.check, check.where) not in held:
            say(f"Please check: {check_sentence(check)}")
    return found.block


def only(block: Block, kinds: Iterable[str]) -> Block:
    """The block with some of its pieces."""
    there = [piece.kind for piece in block.pieces]
    wanted = [known(kind, there, "piece of this block") for kind in kinds]
    return replace(block, pieces=tuple(piece for piece in block.pieces if not wanted or piece.kind in wanted))


def outward_of(said: tuple[str, ...]) -> dict[str, float] | None:
    """Allowances to add, as ``15mm`` for all seams or ``hem=5cm`` for one edge; None where nothing was said.

    Raises
    ------
    WordsError
        If an edge or a length can't be understood.
    """
    widths: dict[str, float] = {}
    for text in said:
        name, equals, length = text.rpartition("=")
        try:
            mm = parse_length_mm(length)
            widths[edge_name(name, kind=None, where="--allowance") if equals else SEAMS] = mm
        except InputError as err:
            raise WordsError(err.problem, err.remedy) from err
        if not 0.0 <= mm <= MOST_MM:
            raise WordsError(
                f"An allowance of {mm:g} mm can't be added.", "Give a width from 0 to 15 cm, such as 15mm."
            )
    return widths or None


def printer_of(square: str | None) -> Printer:
    """What the test square measured, as ``98.5`` or ``98.5,99``.

    Raises
    ------
    WordsError
        If that is not one or two numbers.
    """
    if square is None:
        return Printer()
    try:
        numbers = [float(part) for part in square.replace("mm", "").split(",")]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 2):
        raise WordsError(f"“{square}” is not what a square can measure.", "Write --square 98.5, or --square 98.5,99.")
    return Printer(square_x=numbers[0], square_y=numbers[-1])
