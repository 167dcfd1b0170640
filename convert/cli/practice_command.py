"""``ownblock practice``: a booklet to learn pattern cutting with, on one's own block at a reduced scale."""

from pathlib import Path

import click

from convert.cli.options import json_option, leave_strictly, overwrite_option, quiet_option


@click.command("practice")
@click.argument("folder", type=click.Path(path_type=Path), metavar="JOBFOLDER")
@click.option("--scale", type=click.Choice(["half", "quarter", "fifth"]), default="quarter", show_default=True)
@click.option("--paper", default="A4", show_default=True, metavar="PAPER", help="A4, A3, Letter, Legal, Tabloid.")
@json_option
@overwrite_option
@quiet_option
def command(folder: Path, scale: str, paper: str, as_json: bool, overwrite: bool, quiet: bool) -> int:
    """Make the practice booklet of JOBFOLDER's block: card pieces, exercises, and what comes out to lay over.

    Of a class made with ownblock make JOBFOLDER --maker cards/ every maker gets a booklet of her own.

    \b
    Example:
      ownblock practice sample_scans/wardrobe
    """
    from convert.cli.practising import practise

    practise(folder, scale=scale, paper=paper, as_json=as_json, overwrite=overwrite, quiet=quiet)
    return leave_strictly(False, ())
