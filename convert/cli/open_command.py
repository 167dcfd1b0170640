"""``ownblock open``: the whole job on a page in the browser."""

from pathlib import Path

import click


@click.command("open")
@click.argument("folder", required=False, type=click.Path(path_type=Path), metavar="[FOLDER]")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, help="Where the page is reached; any free port if left out."
)
@click.option("--no-browser", is_flag=True, help="Print the page's address, open no browser.")
def command(folder: Path | None, port: int, no_browser: bool) -> int:
    """Do the whole job on a page in the browser, by looking and pointing.

    FOLDER is a job, or a folder of jobs; left out, it is the folder “ownblock” in your home. Nothing leaves this
    machine: the page can be reached from here only. Stop with Ctrl+C; everything is kept as you go.

    \b
    Example:
      ownblock open sample_scans/wardrobe
    """
    from convert.cli.opening import open_page

    return open_page(folder, port=port, browser=not no_browser)
