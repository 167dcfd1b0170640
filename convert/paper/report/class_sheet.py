"""One sheet for many makers: who has a block, which checks hold, what to look at; the pictures once for all."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from convert.paper.report.look import pages
from convert.paper.report.report_content import Photograph


@dataclass(frozen=True, slots=True, kw_only=True)
class MakerLine:
    """One maker on the sheet: ``made`` whether there is a block, ``sound`` whether every check holds.

    ``look_at`` are sentences: checks that do not hold, doubts, or why there is no block and what to do.
    """

    name: str
    made: bool
    sound: bool = False
    report: str = ""
    look_at: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    title: str
    makers: tuple[dict[str, Any], ...]


def write_class_sheet(
    lines: Sequence[MakerLine],
    *,
    title: str,
    date: str,
    doubts: Sequence[str] = (),
    photographs: Sequence[Photograph] = (),
) -> str:
    """The sheet as one self-contained HTML page that also prints.

    Parameters
    ----------
    lines
        The makers; those without a block come first, then those with something to look at.
    title
        Of the job.
    date
        Written out.
    doubts
        What is to be checked on the pattern, for all.
    photographs
        What was read.
    """
    without = [line for line in lines if not line.made]
    unsound = [line for line in lines if line.made and not line.sound]
    asked = [line for line in lines if line.made and line.sound and line.look_at]
    plain = [line for line in lines if line.made and line.sound and not line.look_at]
    groups = [
        _group("No block yet", without, "There is no block."),
        _group("A check does not hold", unsound, "The block is made."),
        _group("Every check holds, something to ask", asked, "The block is made, every check holds."),
        _group("Every check holds", plain, "The block is made, every check holds."),
    ]
    made = len(lines) - len(without)
    summary = [f"{_count(made)} made from one pattern, whose pictures were read once."]
    summary += [f"{_cards(len(without))} no block: look at these first."] if without else []
    page = {
        "title": f"Blocks for a class: {title}",
        "date": date,
        "summary": summary,
        "groups": [group for group in groups if group.makers],
        "doubts": list(dict.fromkeys(doubts)),
        "photographs": list(photographs),
    }
    return pages().get_template("class.html").render(page=page)


def _count(blocks: int) -> str:
    return "One block" if blocks == 1 else f"{blocks} blocks"


def _cards(cards: int) -> str:
    return "One card gave" if cards == 1 else f"{cards} cards gave"


def _group(title: str, lines: Sequence[MakerLine], state: str) -> _Group:
    makers: tuple[dict[str, Any], ...] = tuple(
        {"name": line.name, "state": state, "report": line.report, "look_at": line.look_at}
        for line in sorted(lines, key=lambda line: line.name.lower())
    )
    return _Group(title=title, makers=makers)
