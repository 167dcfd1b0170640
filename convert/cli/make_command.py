"""``ownblock make``: a job folder becomes a block."""

from pathlib import Path

import click

from convert.cli.options import Voice, leave_strictly, overwrite_option, quiet_option, strict_option


@click.command("make")
@click.argument("folder", type=click.Path(path_type=Path), metavar="JOBFOLDER")
@overwrite_option
@strict_option
@quiet_option
def command(folder: Path, overwrite: bool, strict: bool, quiet: bool) -> int:
    """Make a block from JOBFOLDER, which holds job.toml, maker.toml and the pictures.

    Everything goes into JOBFOLDER/out. What an earlier run wrote there is replaced, unless somebody has changed it
    since.

    \b
    Example:
      ownblock make sample_scans/wardrobe
    """
    from convert.cli.making import make_files

    notes = make_files(folder, voice=Voice(quiet=quiet), overwrite=overwrite)
    return leave_strictly(strict, notes)
