"""``ownblock compare``: a job's pattern beside the maker's measurements."""

from pathlib import Path

import click

from convert.cli.options import (
    Voice,
    json_option,
    leave_strictly,
    may_write,
    overwrite_option,
    quiet_option,
    strict_option,
)


@click.command("compare")
@click.argument("folder", type=click.Path(path_type=Path), metavar="JOBFOLDER")
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Also a picture, its bars true to size.")
@json_option
@overwrite_option
@strict_option
@quiet_option
def command(folder: Path, svg: Path | None, as_json: bool, overwrite: bool, strict: bool, quiet: bool) -> int:
    """Compare the pattern in JOBFOLDER with the maker's measurements, one sentence each.

    Any pieces will do: what they can tell is told.

    \b
    Example:
      ownblock compare sample_scans/wardrobe
    """
    from convert.cli.comparing import compare_folder

    if svg is not None:
        may_write(svg, overwrite=overwrite)
    return leave_strictly(strict, compare_folder(folder, svg=svg, as_json=as_json, voice=Voice(quiet=quiet)))
