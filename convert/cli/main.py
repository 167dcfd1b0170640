"""The command ``ownblock``: finds a command's file, and turns every problem into one sentence and an exit code."""

import importlib
import os
import sys
from typing import Any

import click

COMMANDS = {
    "open": "the whole job on a page in the browser, by looking and pointing",
    "make": "the whole way: a job folder becomes a block, on paper and on the screen",
    "trace": "pictures of one pattern piece become its outline and marks, in millimetres",
    "compare": "the pattern beside your measurements, one sentence each",
    "print": "a block on paper: full size, half or quarter scale, any paper",
    "practice": "a booklet to learn pattern cutting with, on one's own block",
    "toile": "what the fitting of a toile showed goes back into the block",
    "card": "an empty measurement card",
    "sheet": "a grid to print for those who have no cutting mat",
}
BUG, INTERRUPTED = 1, 130


class Commands(click.Group):
    """Commands by name, each imported only when it is called: ``--help`` answers at once."""

    def list_commands(self, _ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, _ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"convert.cli.{cmd_name}_command").command
        return command

    def format_commands(self, _ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="ownblock", prog_name="ownblock")
def ownblock() -> None:
    """Turn a paper sewing pattern into a block in your own measurements.

    Photograph each piece on a gridded cutting mat, write down your measurements, and let ownblock do the sums.

    \b
    Example:
      ownblock make sample_scans/wardrobe
    """


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and leave with its exit code (see DEVELOPERS.md)."""
    sys.exit(run(arguments))


def run(arguments: list[str] | None = None) -> int:
    """Run the command line; the exit code."""
    try:
        result: Any = ownblock.main(arguments, prog_name="ownblock", standalone_mode=False)
        return result if isinstance(result, int) else 0
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except click.ClickException as problem:
        problem.show(sys.stderr)
        return problem.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped. Nothing was left half-written.", err=True)
        return INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as problem:
        return _report(problem)


def _report(problem: Exception) -> int:
    """One sentence for what went wrong and one for what to do; its exit code."""
    from calibration.ground.errors import (
        OwnblockError,
    )  # late: it brings the whole of calibration, which --help can do without

    if isinstance(problem, OwnblockError):
        click.echo(problem.problem, err=True)
        click.echo(problem.remedy, err=True)
        return problem.exit_code
    if os.environ.get("OWNBLOCK_TRACEBACK"):
        raise problem
    click.echo(f"This is a fault of ownblock, not yours: {type(problem).__name__}: {problem}", err=True)
    click.echo("Run it again with OWNBLOCK_TRACEBACK=1 set and send us what it prints.", err=True)
    return BUG


if __name__ == "__main__":
    main()
