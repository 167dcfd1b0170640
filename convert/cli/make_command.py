"""``ownblock make``: a job folder becomes a block."""

from pathlib import Path

import click

from convert.cli.options import Voice, leave_strictly, overwrite_option, quiet_option, strict_option


@click.command("make")
@click.argument("folder", type=click.Path(path_type=Path), metavar="JOBFOLDER")
@click.option(
    "--maker",
    "makers",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="CARD",
    help="Another maker's card, or a folder of cards; repeat at will.",
)
@overwrite_option
@strict_option
@quiet_option
def command(folder: Path, makers: tuple[Path, ...], overwrite: bool, strict: bool, quiet: bool) -> int:
    """Make a block from JOBFOLDER, which holds job.toml, maker.toml and the pictures.

    Everything goes into JOBFOLDER/out. What an earlier run wrote there is replaced, unless somebody has changed it
    since.

    With --maker the pictures are read once and a block is made for each card, in JOBFOLDER/out/NAME; out/class.html
    says who has a block and what to look at. A card that can't be used does not stop the rest (exit code 3 at the end).

    \b
    Example:
      ownblock make sample_scans/wardrobe
    """
    if makers:
        from convert.cli.class_making import make_class

        code, notes = make_class(folder, makers, voice=Voice(quiet=quiet), overwrite=overwrite)
        return code or leave_strictly(strict, notes)
    from convert.cli.making import make_files

    notes = make_files(folder, voice=Voice(quiet=quiet), overwrite=overwrite)
    return leave_strictly(strict, notes)
