"""``ownblock trace``: pictures of one piece become ``piece.json``."""

from pathlib import Path
from typing import Any

import click

from convert.cli.options import (
    Voice,
    grid_option,
    leave_strictly,
    may_write,
    overwrite_option,
    quiet_option,
    strict_option,
)


@click.command("trace")
@click.argument("pictures", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="PICTURE...")
@grid_option
@click.option("--scan", is_flag=True, help="The pictures are flatbed scans, one sheet or overlapping tiles.")
@click.option("--dpi", type=float, metavar="NUMBER", help="The scanner's resolution, if you are sure of it.")
@click.option(
    "--piece",
    "kind",
    required=True,
    metavar="KIND",
    help='Such as "bodice front", sleeve, "skirt back"; or printed: as its title says.',
)
@click.option("--out", type=click.Path(path_type=Path), required=True, metavar="FILE", help="Where piece.json goes.")
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Also a drawing over the flat picture.")
@click.option("--allowance", multiple=True, metavar="[EDGE=]LENGTH", help='"15mm" or "side seam=19mm"; repeat at will.')
@click.option("--no-allowance", is_flag=True, help="The paper has no seam allowance.")
@click.option("--fold", metavar="EDGE", help='The edge that lies on the fold, or "none".')
@click.option("--centre-line", metavar="PLACES", help='Where it runs inside the piece: "x,y x,y", pixels.')
@click.option("--neck-line", metavar="PLACES", help="The neckline, where a collar is cut in one with the piece.")
@click.option("--tuck", multiple=True, metavar="PLACES", help="Two places on an edge that a tuck lays together.")
@click.option("--size", metavar="SIZE", help='Of nested sizes: 1 is the innermost; or "number 14", as printed.')
@click.option("--at", metavar="PLACE", help="left, right, top, bottom, or a number from the left.")
@click.option("--face-down/--face-up", default=None, help="Which side of the paper was photographed.")
@click.option("--rotate", type=click.Choice(["0", "90", "180", "270"]), default="0", help="Turn the picture first.")
@click.option("--mat-check", metavar="TEXT", help='What a steel rule reads along the grid: "50 cm reads 49.9 cm".')
@click.option("--check", type=click.Choice(["card", "a4", "letter"]), help="Measure a known object lying on the mat.")
@overwrite_option
@strict_option
@quiet_option
def command(pictures: tuple[Path, ...], out: Path, svg: Path | None, **said: Any) -> int:
    """Trace the pattern piece in PICTURE... (several pictures are one piece).

    \b
    Example:
      ownblock trace sample_scans/wardrobe/s1_front/photo.jpg --grid 1cm --piece "bodice front" --out front.json
    """
    from convert.cli.tracing import trace_to_files

    for target in (out, svg):
        if target is not None:
            may_write(target, overwrite=said["overwrite"])
    voice = Voice(quiet=said["quiet"])
    notes = trace_to_files(pictures, out=out, svg=svg, said=said, voice=voice)
    return leave_strictly(said["strict"], notes)
