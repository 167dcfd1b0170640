"""``ownblock card``: an empty measurement card."""

from pathlib import Path

import click

from convert.cli.options import Voice, overwrite_option, quiet_option


@click.command("card")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--name", default="", metavar="NAME", help="Whose card it is.")
@click.option("--unit", type=click.Choice(["cm", "in"]), default="cm", show_default=True, help="What you measure in.")
@overwrite_option
@quiet_option
def command(file: Path, name: str, unit: str, overwrite: bool, quiet: bool) -> None:
    """Write an empty measurement card to FILE, with how to take each measurement above its row.

    Measurements are personal: they stay in this file, on this machine.

    \b
    Example:
      ownblock card maker.toml --name "maker B"
    """
    from convert.body.read_card import write_card
    from convert.cli.options import may_write

    may_write(file, overwrite=overwrite)
    write_card(file, name=name, unit="in" if unit == "in" else "cm", overwrite=overwrite)
    Voice(quiet=quiet).done(f"An empty card: {file}. Open it in any text editor and fill in what you can measure.")
