"""What is asked back of a fitting: where it would be changed, as a picture, and what still has to be said."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from calibration.ground.errors import InputError
from convert.block.block import Block
from convert.block.toile.places import toile_places
from convert.block.toile.toile import tried
from convert.block.toile.words import Asked, Correction, Likely, Told, answer
from convert.body.survey import WAIST_TO_HIP_MM
from convert.paper.cautions import TO_FIT
from convert.paper.report.look import pages
from convert.paper.steps.pictures import move_picture

SHOWN_MM = 15.0  # amount in the pictures, where none was told: enough to be seen in a small picture (our choice)


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """One change that may be meant: why, what to write, on which piece, and how it would look there."""

    why: str
    question: str
    place: str
    on: tuple[str, ...]
    lines: tuple[str, ...]
    pictures: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """A sentence and what became of it: ``done`` if it can be, ``asked``, ``likely`` or ``unknown``; what is asked."""

    text: str
    becomes: str
    sentence: str
    choices: tuple[Where, ...] = ()
    passed_over: tuple[str, ...] = ()


def answered(block: Block, text: str) -> Answered:
    """What a sentence means for this block; a word that nobody knows is answered too."""
    unit, kinds = block.maker.unit, [piece.kind for piece in block.pieces]
    try:
        found = answer(text, unit=unit, kinds=kinds)
    except InputError as err:
        return Answered(text=text, becomes="unknown", sentence=f"{err.problem} {err.remedy}")
    match found:
        case Told():
            return Answered(text=text, becomes="done", sentence=found.sentence)
        case Asked():
            where = _where(block, found, "")
            return Answered(
                text=text, becomes="asked", sentence=found.question, choices=(where,), passed_over=found.passed_over
            )
        case Likely():
            choices = tuple(
                _where(block, one.asked, one.why)
                if one.asked
                else Where(why=one.why, question="", place="", on=(), lines=(), pictures=())
                for one in found.choices
            )
            words = (
                "This is a sign with more than one usual cause (common practice). Try them with pins, in this order."
            )
            return Answered(text=text, becomes="likely", sentence=words, choices=choices, passed_over=found.passed_over)


def _where(block: Block, asked: Asked, why: str) -> Where:
    place = toile_places(block.maker.mm("waist to hip") or WAIST_TO_HIP_MM)[asked.place]
    many = 2.0 * len(asked.on) if place.counts == "whole" else 1.0  # a girth is shared by the pieces
    amount = (asked.amount_mm or many * SHOWN_MM) * (1 if asked.ways[0] in place.more else -1)
    try:
        moves = tried(block, Correction(place=asked.place, amount_mm=amount, on=tuple(asked.on)))
    except InputError:
        moves = ()
    return Where(
        why=why,
        question=asked.question,
        place=asked.place,
        on=tuple(asked.on),
        lines=asked.lines,
        pictures=tuple(move_picture(move) for move in moves),
    )


def answered_text(answers: Sequence[Answered]) -> str:
    """The answers for the command line."""
    lines: list[str] = []
    for one in answers:
        lines += [f"“{one.text}”", f"   {one.sentence}", *(f"   {word}" for word in one.passed_over)]
        for number, choice in enumerate(one.choices, 1):
            lines += [f"   {number}. {choice.why}"] if choice.why else []
            lines += [f"      Write: {' or: '.join(choice.lines)}"] if choice.lines else []
    return "\n".join(lines)


def write_question_page(block: Block, answers: Sequence[Answered], *, date: str) -> str:
    """The answers with their pictures, as one self-contained HTML page; ``date`` written out."""
    content: dict[str, Any] = {
        "title": "What did the toile show?",
        "maker": block.maker.name,
        "date": date,
        "answers": tuple(answers),
        "cautions": TO_FIT,
    }
    return pages().get_template("question.html").render(page=content)
