"""What ``ownblock practice`` does; imported only then."""

import datetime
import json
from pathlib import Path

import click

from calibration.ground.errors import InputError
from convert.block.block import Block
from convert.body.wording import date_in_words
from convert.cli.class_making import TAKEN
from convert.cli.options import Voice
from convert.cli.printing import chosen_state, read_block
from convert.paper.cautions import BLADES
from convert.paper.output import write_files
from convert.paper.practice.booklet import SCALES, write_booklet
from convert.paper.sheets.papers import paper_named

BOOKLET = "booklet.pdf"


def practise(folder: Path, *, scale: str, paper: str, as_json: bool, overwrite: bool, quiet: bool) -> tuple[Path, ...]:
    """Write a booklet beside every block of a job: its own, and each maker's of a class; the files.

    Raises
    ------
    InputError
        If there is no block yet, or a piece is larger than the page.
    """
    voice = Voice(quiet=quiet)
    blocks = _blocks(folder)
    on, today = paper_named(paper), date_in_words(datetime.date.today())
    files: list[Path] = []
    for place, block in blocks:
        voice.progress(f"drawing the booklet of {block.maker.name}")
        data = write_booklet(block, date=today, scale=SCALES[scale], paper=on)
        files += write_files(place, {BOOKLET: data}, overwrite=overwrite)
    if as_json:
        click.echo(json.dumps({"booklets": [str(file) for file in files]}))
    what = f"The booklet is {files[0]}" if len(files) == 1 else f"{len(files)} booklets, the first is {files[0]}"
    voice.done(f"{what}. Print at 100 %. {BLADES}")
    return tuple(files)


def _blocks(folder: Path) -> list[tuple[Path, Block]]:
    """The folder that each block lies in, and the block."""
    out = folder / "out"
    found = [(out, chosen_state(folder, None)[0])] if (out / "block.json").is_file() else []
    others = sorted(file.parent for file in out.glob("*/block.json") if file.parent.name not in TAKEN)
    found += [(place, read_block(place / "block.json")) for place in others]
    if not found:
        raise InputError(f"There is no block in {folder}.", f"Make one first: ownblock make {folder}")
    return found
