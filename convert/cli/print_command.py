"""``ownblock print``: a block on paper."""

from pathlib import Path

import click

from convert.cli.options import Voice, may_write, overwrite_option, quiet_option

SCALES = {"full": 1.0, "half": 0.5, "quarter": 0.25}


@click.command("print")
@click.argument("block", type=click.Path(path_type=Path), metavar="BLOCK")
@click.option("--out", type=click.Path(path_type=Path), required=True, metavar="FILE.pdf", help="Where the PDF goes.")
@click.option(
    "--paper", default="A4", show_default=True, metavar="PAPER", help="A4, A3, Letter, Legal, Tabloid, A0, roll 914."
)
@click.option("--scale", type=click.Choice(list(SCALES)), default="full", show_default=True)
@click.option(
    "--piece", "kinds", multiple=True, metavar="KIND", help='Only this piece, such as "sleeve"; repeat at will.'
)
@click.option(
    "--allowance",
    multiple=True,
    metavar="[EDGE=]LENGTH",
    help="Add seam allowance, for a toile: 15mm; hem=5cm or another edge by itself; repeat at will.",
)
@click.option(
    "--from",
    "drawn",
    type=click.Path(path_type=Path),
    metavar="FILE.svg",
    help="Take pieces from this block’s SVG, edited by hand in a drawing program.",
)
@click.option(
    "--fitting",
    type=click.IntRange(min=0),
    metavar="NUMBER",
    help="The block after this fitting of the toile; 0 as it was made, the newest if left out.",
)
@click.option(
    "--square", metavar="MM[,MM]", help="What the test square measured, across and up: 98.5 or 98.5,99; or 3 15/16 in."
)
@click.option("--margin", metavar="LENGTH", help="What your printer leaves blank, if less than 10 mm: 7mm.")
@overwrite_option
@quiet_option
def command(
    block: Path,
    out: Path,
    paper: str,
    scale: str,
    kinds: tuple[str, ...],
    allowance: tuple[str, ...],
    drawn: Path | None,
    fitting: int | None,
    square: str | None,
    margin: str | None,
    overwrite: bool,
    quiet: bool,
) -> None:
    """Print BLOCK, the block.json of a job or the job's folder.

    The SVG of a block or of a piece can be edited in a drawing program and printed from: --from FILE.svg measures it
    again and says what changed. To keep the change, name the file in job.toml: [block], drawn = "FILE.svg".

    \b
    Example:
      ownblock print sample_scans/wardrobe --scale quarter --out practice.pdf
    """
    from convert.cli.printing import print_block

    may_write(out, overwrite=overwrite)
    voice = Voice(quiet=quiet)
    said = print_block(
        block,
        out,
        paper=paper,
        scale=SCALES[scale],
        kinds=kinds,
        allowance=allowance,
        drawn=drawn,
        fitting=fitting,
        square=square,
        margin=margin,
        say=voice.done,
    )
    voice.done(said)
