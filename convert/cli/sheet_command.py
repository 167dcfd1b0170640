"""``ownblock sheet``: a grid to print."""

from pathlib import Path

import click

from convert.cli.options import Voice, may_write, overwrite_option, quiet_option


@click.command("sheet")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE.pdf")
@click.option("--paper", default="A4", show_default=True, metavar="PAPER", help="A4, A3, A2, A1, A0, Letter, Tabloid.")
@overwrite_option
@quiet_option
def command(file: Path, paper: str, overwrite: bool, quiet: bool) -> None:
    """Write a centimetre grid to FILE.pdf, to lay small pieces on when there is no cutting mat.

    Print it at 100 %. Lay a rule on both rulers of the sheet: only if they are right may the grid be used.

    \b
    Example:
      ownblock sheet grid.pdf --paper A3
    """
    from calibration.ground.files import write_atomically
    from calibration.printed_grid import draw_sheet

    may_write(file, overwrite=overwrite)
    write_atomically(file, draw_sheet(paper))
    Voice(quiet=quiet).done(f"A centimetre grid on {paper}: {file}. Print it at 100 % and measure its two rulers.")
