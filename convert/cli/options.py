"""Options that several commands share, and how a command speaks.

Index: ``grid_option`` ``scan_options`` ``json_option`` ``quiet_option`` ``strict_option`` ``overwrite_option``.
"""

import sys
from collections.abc import Iterable
from pathlib import Path

import click

from calibration.ground.errors import InputError, Note, OutputError, WordsError
from calibration.ground.units import parse_length_mm

UNDER_STRICT = 5


class Length(click.ParamType):
    """A length with a unit, such as 1cm, 15mm, 1/2in; becomes mm."""

    name = "length"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Millimetres; a usage error if the text is no length."""
        if isinstance(value, float):
            return value
        try:
            return parse_length_mm(str(value))
        except InputError as err:
            self.fail(f"{err.problem} {err.remedy}", param, ctx)


LENGTH = Length()

grid_option = click.option(
    "--grid",
    type=LENGTH,
    metavar="LENGTH",
    help="Distance between the mat's lines or the paper's dots: 1cm, 1in, 1/2in.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Report as JSON on standard output.")
quiet_option = click.option("-q", "--quiet", is_flag=True, help="No progress, no notes; errors only.")
strict_option = click.option("--strict", is_flag=True, help="Fail (exit code 5) if there is any doubt to note.")
overwrite_option = click.option("--overwrite", is_flag=True, help="Replace files that are already there.")


class Voice:
    """Progress and notes on standard error; silent when asked, and progress only on a terminal."""

    def __init__(self, *, quiet: bool) -> None:
        self._quiet = quiet
        self._on_terminal = sys.stderr.isatty()

    def progress(self, stage: str) -> None:
        """Name the stage that begins."""
        if self._on_terminal and not self._quiet:
            click.echo(f"{stage} …", err=True)

    def notes(self, notes: Iterable[Note]) -> None:
        """Say doubts and repairs, each once."""
        if not self._quiet:
            for text in dict.fromkeys(note.text for note in notes):
                click.echo(f"Note: {text}", err=True)

    def done(self, sentence: str) -> None:
        """The one line a run ends with."""
        if not self._quiet:
            click.echo(sentence, err=True)


def may_write(path: Path, *, overwrite: bool) -> None:
    """Refuse a target that exists, or whose folder does not.

    Raises
    ------
    OutputError
        If the file is there and was not to be replaced, or there is no such folder.
    """
    if path.exists() and not overwrite:
        raise OutputError(f"{path} is already there.", "Choose another name, or add --overwrite to replace it.")
    if not path.parent.is_dir():
        raise OutputError(f"There is no folder {path.parent}.", "Make the folder first, or choose another place.")


def leave_strictly(strict: bool, notes: Iterable[Note]) -> int:
    """Exit code once everything is written: 5 if notes count as failure and there are any."""
    return UNDER_STRICT if strict and any(True for _ in notes) else 0


def known(word: str, words: Iterable[str], what: str) -> str:
    """A word of the command line, checked.

    Raises
    ------
    WordsError
        If it is not among ``words``.
    """
    plain = " ".join(word.lower().replace("_", " ").replace("-", " ").split())
    choices = tuple(words)
    if plain not in choices:
        raise WordsError(f"“{word}” is no {what} that is known here.", f"Choose one of: {', '.join(choices)}.")
    return plain
