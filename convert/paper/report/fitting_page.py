"""The page of a fitting: what was found, what was done to the block, how it stands now, and the fittings before it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from convert.block.toile.fittings import Effect, Fitting, State, shown
from convert.body.card import LengthUnit
from convert.body.wording import date_in_words, format_paper_mm
from convert.paper.report.look import pages
from convert.paper.report.report_content import CheckLine, Figure, check_sentence
from convert.paper.steps.pictures import move_picture, move_title

_LENGTHS = ("length", "height", "depth", "armhole")
_WIDTHS = ("across back", "across chest", "bust point distance", "shoulder length")


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLine:
    """One fitting in the list of all of them."""

    title: str
    what: str


def write_fitting_page(history: Sequence[State], fittings: Sequence[Fitting], *, date: str) -> str:
    """The page of a history's last state, as one self-contained HTML page; ``date`` written out."""
    state = history[-1]
    unit = state.block.maker.unit
    content: dict[str, Any] = {
        "title": state_title(state),
        "maker": state.block.maker.name,
        "date": date,
        "summary": _summary(state),
        "notes": tuple(dict.fromkeys(note.text for note in state.notes)),
        "told": state.told,
        "note": "" if state.fitting is None else state.fitting.note,
        "effects": tuple(effect_sentence(effect, unit) for effect in state.effects),
        "moves": tuple(
            Figure(
                title=f"{move_title(move).capitalize()}, {move.piece}", svg=move_picture(move), sentence=move.sentence
            )
            for move in shown(state.moves)
        ),
        "checks": tuple(CheckLine(sentence=check_sentence(check), sound=check.sound) for check in state.block.checks),
        "history": history_lines(history, fittings),
    }
    return pages().get_template("fitting.html").render(page=content)


def state_title(state: State) -> str:
    """What a state is called: ``Block after fitting 1``."""
    return "Block as it was made" if state.fitting is None else f"Block after fitting {state.number}"


def date_words(fitting: Fitting) -> str:
    """The fitting's date as it stands on paper; nothing if none was written."""
    return "" if fitting.date is None else date_in_words(fitting.date)


def _summary(state: State) -> tuple[str, ...]:
    unsound = sum(not check.sound for check in state.block.checks)
    checks = "Every check holds." if not unsound else f"Not every check holds: {unsound} below."
    if state.fitting is None:
        return ("No fitting is in this block.", checks)
    when = date_words(state.fitting)
    return (f"The fitting{f' of {when}' if when else ''} is in this block.", checks)


def effect_sentence(effect: Effect, unit: LengthUnit = "cm") -> str:
    """One changed measurement: ``Waist: 2 cm smaller, now 84 cm.``"""
    change = effect.after_mm - effect.before_mm
    long = any(word in effect.name for word in _LENGTHS)
    wide = effect.name in _WIDTHS[:3]
    more, less = ("wider", "narrower") if wide else ("longer", "shorter") if long else ("larger", "smaller")
    by, now = format_paper_mm(abs(change), unit), format_paper_mm(effect.after_mm, unit)
    return f"{effect.name.capitalize()}: {by} {more if change > 0 else less}, now {now}."


def history_lines(history: Sequence[State], fittings: Sequence[Fitting]) -> tuple[HistoryLine, ...]:
    """State 0 and every fitting, undone ones too."""
    there = {state.number: state for state in history}
    out = [HistoryLine(title="0. As it was made", what="")]
    for fitting in fittings:
        when = date_words(fitting)
        state = there.get(fitting.number)
        changes = "; ".join(fitting.changes)
        what = f"Undone: {changes}" if fitting.undone else changes
        if state is not None and not state.block.sound:
            what += ". Not every check holds."
        out.append(
            HistoryLine(title=f"{fitting.number}. {when}".rstrip(". ") if when else f"{fitting.number}.", what=what)
        )
    return tuple(out)
