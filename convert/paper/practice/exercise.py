"""One exercise of the booklet."""

from dataclasses import dataclass

from convert.paper.practice.figure import Figure


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Exercise:
    """One exercise.

    Attributes
    ----------
    title, aim
        What is practised, and what for.
    steps
        What to do, one sentence or two each.
    pictures
        SVGs that show how.
    results
        What must have come out, drawn in a row.
    told
        What to look at on it.
    """

    title: str
    aim: str
    steps: tuple[str, ...]
    pictures: tuple[str, ...]
    results: tuple[Figure, ...]
    told: tuple[str, ...]
