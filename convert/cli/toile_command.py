"""``ownblock toile``: what a fitting showed goes back into the block."""

import datetime
from pathlib import Path

import click

from convert.cli.options import json_option, leave_strictly, overwrite_option, quiet_option, strict_option


@click.command("toile")
@click.argument("folder", type=click.Path(path_type=Path), metavar="JOBFOLDER")
@click.option(
    "--change", "changes", multiple=True, metavar="WORDS", help='"side seam, bodice back: in 1 cm"; repeat at will.'
)
@click.option("--note", default="", metavar="WORDS", help="What else is to be remembered of this fitting.")
@click.option("--date", type=click.DateTime(["%Y-%m-%d"]), metavar="2026-11-25", help="When it was; today if left out.")
@click.option("--undo", is_flag=True, help="Take back the last fitting; it is kept, marked as undone.")
@click.option("--redo", is_flag=True, help="Let the fitting that was undone hold again.")
@json_option
@overwrite_option
@strict_option
@quiet_option
def command(
    folder: Path,
    changes: tuple[str, ...],
    note: str,
    date: datetime.datetime | None,
    undo: bool,
    redo: bool,
    as_json: bool,
    overwrite: bool,
    strict: bool,
    quiet: bool,
) -> int:
    """Carry what the fitting of a toile showed into the block of JOBFOLDER.

    All changes of one call are one fitting. They are kept in JOBFOLDER/toile.toml, which can also be written by hand;
    without --change what stands there is carried into the block again, and the history is told. Each state can be
    printed: ownblock print JOBFOLDER --fitting 1 --out block.pdf (0 is the block as it was made).

    \b
    Say where, which way, how much. At a seam the amount is what the pins show on each piece, left and right alike; at a
    level (bust, waist, hip, upper arm, across back) it is the whole measurement:
      "side seam at the waist: in 1 cm"      "waist: out 2 cm"
      "above the waist: shorten 1.5 cm"      "shoulder point, bodice back: down 0.5 cm"
      "sleeve: lengthen 2 cm"                "centre back at the waist: shorten 1 cm"
    A fitter's own words will do: "the bust dart points too low, 1.5 cm". What names no amount is asked back with a
    picture of where; a sign ("the neckline gapes", "drag lines from bust to side") is answered with its usual causes,
    and nothing is changed.
    What is sewn to a changed seam follows it, unless you add “only”: "side seam, bodice back only: in 1 cm".

    \b
    Example:
      ownblock toile sample_scans/wardrobe --change "side seam, bodice back: in 1 cm"
    """
    from convert.cli.toile_run import run_toile

    notes = run_toile(
        folder,
        changes=changes,
        note=note,
        date=date,
        undo=undo,
        redo=redo,
        as_json=as_json,
        overwrite=overwrite,
        quiet=quiet,
    )
    return leave_strictly(strict, notes)
