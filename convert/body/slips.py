"""Slips of the pen on a card: each entry judged against the others, the likely intended value offered, never applied.

Every way a number is written wrongly (digits swapped, inches for centimetres, ...) is a hypothesis. What it would have
meant is set against what is written: how much likelier does it make the whole card, given how women's measurements go
together? A large value alone is no slip; a value that one slip makes far likelier is asked about.

Source of the statistics: :mod:`convert.body.survey`. The survey's waist lies at the navel; a dressmaker's waist is
higher and smaller, so a card may fit either, or lie between.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from calibration.ground.errors import Note
from convert.body.card import Card, LengthUnit
from convert.body.definitions import definitions
from convert.body.slip_kinds import LOG_PRIOR, Meant, SlipKind, what_was_meant
from convert.body.survey import Array, Statistics, stored_statistics, with_own_rules
from convert.body.wording import format_body_mm

# Log odds above which a question is asked; set so that about 1.3 % of clean cards of the survey are questioned.
ASK_ABOVE = 2.0
# Other values worth offering: not much (log) behind the likeliest, and a few only.
_ALSO_WITHIN, _ALSO = 6.0, 3
# A second slip on the same card (log), against one that explains both rows; common practice.
_SECOND_SLIP = -3.0
# Half-centimetre steps of a card, and a tape in a home: a few mm of difference from a trained measurer.
_STEP_MM = 5.0
_TAPE_SD_MM: Mapping[str, float] = {"girth": 5.0, "length": 3.0, "breadth": 3.0, "height": 5.0}
# Where the waist is taken: at the survey's navel level, or higher. Shift of ln(waist) and of ln(back waist length);
# the last is the misses chart since 1968, whose waist lies 14 % below the survey's at the same bust.
_WAISTS = ((0.0, 0.0, 0.5), (-0.075, -0.02, 0.25), (-0.15, -0.03, 0.25))
# An army takes no very large women: the survey's bust spreads by 9 %, EN 13402's sizes run from 76 to 152 cm. So the
# whole body's size is let spread by this much more (standard deviation of ln bust, all else with it); how the
# measurements go together stays as surveyed.
_SIZE_SPREAD = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One thing to ask about a card.

    ``offered_mm`` is the likely intended value, None if nothing explains what is written. ``other`` is the second row
    where two were exchanged. ``log_odds`` says how much likelier the card becomes. ``also_mm`` are other values it may
    have been meant to be, likeliest first: a missing digit, for one, can be put back in several ways.
    """

    name: str
    given_mm: float
    offered_mm: float | None
    kind: SlipKind
    sentence: str
    log_odds: float
    other: str | None = None
    also_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Guess:
    """A hypothesis and how much likelier it makes the card."""

    log_odds: float
    name: str
    meant: Meant | None
    other: str | None = None
    also_mm: tuple[float, ...] = ()


def questions(card: Card, *, statistics: Statistics | None = None) -> tuple[Question, ...]:
    """What to ask about a card, most certain first; rows she has answered are not asked about again.

    Only told rows are looked at. Nothing on the card is changed.
    """
    known = with_own_rules(stored_statistics()) if statistics is None else statistics
    told = {name: mm for name, mm in card.told().items() if name in known.names}
    found: list[Question] = []
    while told:
        guess = _likeliest(known, told, card)
        if guess is None or guess.log_odds <= ASK_ABOVE:
            break
        if guess.name not in card.answered:
            found.append(_question(guess, told, card.unit))
        for name in (guess.name, guess.other):
            told.pop(name or "", None)  # what is doubtful judges no other row
    return tuple(found)


def question_notes(card: Card) -> tuple[Note, ...]:
    """The questions as notes, each with how to answer it where nobody can be asked at once."""

    def note(one: Question) -> Note:
        rows = [*card.answered, one.name, *([one.other] if one.other else [])]
        answer = ", ".join(f'"{name}"' for name in rows)
        right = "they are" if one.other else "it is"
        return Note(
            "card-question", f"{one.sentence} If {right} right, write answered = [{answer}] above [measurements]."
        )

    return tuple(note(one) for one in questions(card))


def _likeliest(known: Statistics, told: Mapping[str, float], card: Card) -> _Guess | None:
    """The likeliest slip; two rows are exchanged only if that is likelier than a slip in each."""
    guesses = list(_Model(known, told).guesses(card))
    best = max(guesses, key=lambda one: one.log_odds, default=None)
    if best is None or best.other is None:
        return best
    pair = {best.name, best.other}
    single = max((one for one in guesses if one.name in pair and not one.other), key=lambda one: one.log_odds)
    others = {name: mm for name, mm in told.items() if name != single.name}
    second = max(
        (one.log_odds for one in _Model(known, others).guesses(card) if one.name in pair and not one.other), default=0.0
    )
    return single if single.log_odds + second + _SECOND_SLIP > best.log_odds else best


class _Model:
    """The card's told rows (K,) as logarithms under each place the waist may be taken at."""

    def __init__(self, known: Statistics, told: Mapping[str, float]) -> None:
        at = known.at(list(told))
        self.names = list(told)
        self.mm = np.array(list(told.values()))
        tape = np.array([_TAPE_SD_MM[definitions()[name].kind] for name in told])
        noise = (_STEP_MM**2 / 12 + tape**2) / np.exp(2 * known.mean[at])
        bust = known.names.index("bust")
        size = _SIZE_SPREAD * known.covariance[at, bust] / known.covariance[bust, bust]
        self.precision = np.linalg.inv(known.covariance[np.ix_(at, at)] + np.outer(size, size) + np.diag(noise))
        shift = {"waist": 0, "back waist length": 1}
        means = [
            [known.mean[i] + (w[shift[n]] if n in shift else 0.0) for n, i in zip(told, at, strict=True)]
            for w in _WAISTS
        ]
        self.rest = np.log(self.mm) - np.array(means)  # (3, K)
        self.pull = self.rest @ self.precision
        self.far = np.sum(self.pull * self.rest, axis=1)
        self.weight = np.log([w[2] for w in _WAISTS])
        self.clean = float(_together(self.weight - self.far / 2))

    def gain(self, i: int, log_change: Array) -> Array:
        """How much likelier (log) the card is with row ``i`` changed by each of ``log_change`` (C,)."""
        far = self.far[:, None] + 2 * self.pull[:, i, None] * log_change + self.precision[i, i] * log_change**2
        return _together(self.weight[:, None] - far / 2) - self.clean - log_change

    def surprise(self, i: int) -> float:
        """How much less likely (log) row ``i`` is than the best value it could have, given the others."""
        without = self.far - self.pull[:, i] ** 2 / self.precision[i, i]
        return float(_together(self.weight - without / 2)) - self.clean

    def exchanged(self) -> Array:
        """How much likelier (log) the card is with rows i and j exchanged, (K, K)."""
        change = np.log(self.mm)[None, :] - np.log(self.mm)[:, None]
        own = np.diag(self.precision)
        both = own[:, None] + own[None, :] - 2 * self.precision
        pull = self.pull[:, :, None] - self.pull[:, None, :]
        far = self.far[:, None, None] + 2 * change * pull + both * change**2
        return _together(self.weight[:, None, None] - far / 2) - self.clean

    def guesses(self, card: Card) -> Iterator[_Guess]:
        """The likeliest slips of each row, and the likeliest exchange.

        Rows she has answered are looked at too, so that a doubtful one judges no other, but are never exchanged.
        """
        for row, name in enumerate(self.names):
            one = definitions()[name]
            meant = [
                guess
                for guess in what_was_meant(float(self.mm[row]), unit=card.unit, girth=one.kind == "girth")
                if one.low_mm <= guess.mm <= one.high_mm
            ]
            if meant:
                gains = self.gain(row, np.log(np.array([guess.mm for guess in meant]) / self.mm[row]))
                odds = gains + np.array([guess.log_prior for guess in meant])
                order = np.argsort(-odds, kind="stable")
                best, near = order[0], order[odds[order] > odds[order[0]] - _ALSO_WITHIN]
                also = dict.fromkeys(round(meant[k].mm, 6) for k in near)
                yield _Guess(
                    log_odds=float(odds[best]), name=name, meant=meant[best], also_mm=tuple(also)[1 : 1 + _ALSO]
                )
            yield _Guess(log_odds=self.surprise(row) + LOG_PRIOR["no explanation"], name=name, meant=None)
        free = [name not in card.answered for name in self.names]
        exchange = np.where(np.triu(np.outer(free, free), 1), self.exchanged(), -np.inf)
        i, j = np.unravel_index(int(np.argmax(exchange)), exchange.shape)
        if np.isfinite(exchange[i, j]):
            prior = LOG_PRIOR["rows exchanged"]
            meant_here = Meant(mm=float(self.mm[j]), kind="rows exchanged", log_prior=prior)
            yield _Guess(
                log_odds=float(exchange[i, j]) + prior, name=self.names[i], meant=meant_here, other=self.names[j]
            )


def _together(logs: Array) -> Array:
    """Logarithm of the sum of exponentials over the first axis."""
    most = logs.max(axis=0)
    total: Array = most + np.log(np.sum(np.exp(logs - most), axis=0))
    return total


_ASKED: Mapping[str, str] = {
    "digits swapped": "Were two digits swapped?",
    "digit missing": "Is a digit missing?",
    "decimal point misplaced": "Is the decimal point in the wrong place?",
    "half girth": "Was only half measured, side to side?",
}


def _question(guess: _Guess, told: Mapping[str, float], unit: LengthUnit) -> Question:
    given = told[guess.name]
    return Question(
        name=guess.name,
        given_mm=given,
        offered_mm=guess.meant.mm if guess.meant else None,
        kind=guess.meant.kind if guess.meant else "no explanation",
        sentence=_sentence(guess, told, unit),
        log_odds=guess.log_odds,
        other=guess.other,
        also_mm=guess.also_mm,
    )


def _sentence(guess: _Guess, told: Mapping[str, float], unit: LengthUnit) -> str:
    written = f"The card says {guess.name} {format_body_mm(told[guess.name], unit)}."
    if guess.meant is None:
        unusual = "unusual beside your other measurements" if len(told) > 1 else "unusual"
        return f"{written} That is {unusual}. Please measure it once more."
    if guess.other is not None:
        other = format_body_mm(told[guess.other], unit)
        return (
            f"The card says {guess.name} {format_body_mm(told[guess.name], unit)} and {guess.other} {other}. "
            "The other way round they fit your other measurements better. Were the two rows exchanged?"
        )
    beside = "fit your other measurements better" if len(told) > 1 else "be more usual"
    fits = f"{format_body_mm(guess.meant.mm, unit)} would {beside}."
    return f"{written} {fits} {_ASKED.get(guess.meant.kind) or _of_unit(guess.meant.kind)}"


def _of_unit(kind: SlipKind) -> str:
    return f"Was it read in {kind.split()[0]}?"
