"""``ownblock card``: an empty measurement card, to type in or to print."""

from pathlib import Path

import click

from convert.cli.options import Voice, may_write, overwrite_option, quiet_option


@click.command("card")
@click.argument("file", type=click.Path(path_type=Path), metavar="[FILE]", required=False)
@click.option("--name", default="", metavar="NAME", help="Whose card it is.")
@click.option("--unit", type=click.Choice(["cm", "in"]), default="cm", show_default=True, help="What you measure in.")
@click.option(
    "--form", type=click.Path(path_type=Path), metavar="FILE.pdf", help="A form to print, with a drawing for each row."
)
@click.option(
    "--paper", default="A4", show_default=True, metavar="PAPER", help="What the form is printed on: A4, Letter."
)
@overwrite_option
@quiet_option
def command(
    file: Path | None, name: str, unit: str, form: Path | None, paper: str, overwrite: bool, quiet: bool
) -> None:
    """Write an empty measurement card to FILE, with how to take each measurement above its row.

    With --form it becomes a PDF to print and to write on. Measurements are personal: they stay on this machine.

    \b
    Example:
      ownblock card maker.toml --name "maker B"
      ownblock card --form card.pdf
    """
    from calibration.ground.errors import WordsError
    from convert.cli.carding import write_cards

    if file is None and form is None:
        raise WordsError("Nothing says where the card goes.", "Write ownblock card maker.toml, or --form card.pdf.")
    for target in (file, form):
        if target is not None:
            may_write(target, overwrite=overwrite)
    said = write_cards(file, form, name=name, unit="in" if unit == "in" else "cm", paper=paper, overwrite=overwrite)
    Voice(quiet=quiet).done(said)
