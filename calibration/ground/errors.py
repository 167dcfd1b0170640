"""What can go wrong, said so that a maker can act on it; and doubts that travel with a result."""

from dataclasses import dataclass


class OwnblockError(Exception):
    """A problem that a person can do something about.

    Parameters
    ----------
    problem : str
        What was expected and what was found, with the numbers seen, in one sentence.
    remedy : str
        What to do about it, in one sentence.
    """

    exit_code = 3

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(f"{problem} {remedy}")
        self.problem = problem
        self.remedy = remedy


class WordsError(OwnblockError):
    """The words of a command can't be followed (exit code 2)."""

    exit_code = 2


class InputError(OwnblockError):
    """A picture, card, job or other input can't be used (exit code 3)."""

    exit_code = 3


class OutputError(OwnblockError):
    """A result can't be written (exit code 4)."""

    exit_code = 4


@dataclass(frozen=True, slots=True)
class Note:
    """A doubt or a repair that travels with a result.

    ``code`` is a short stable word such as ``pitch-doubtful``; ``text`` is a sentence for the maker.
    """

    code: str
    text: str
