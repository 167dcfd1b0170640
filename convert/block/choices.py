"""What a maker may decide of her block herself: the amount of any move, and where the front's fullness goes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

from calibration.errors import InputError
from convert.block.draft import DRAFTABLE
from convert.block.moves import bodice, posture, sleeve
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import Rule
from convert.block.moves.skirt import skirt_rules
from convert.block.problem import Step
from convert.block.targets import WAIST_TO_HIP_MM
from convert.body.definitions import closest, plain
from convert.piece.piece import PieceKind

DartPlace = Literal["waist", "side seam", "shoulder", "waist and side seam"]
DART_PLACES: tuple[str, ...] = get_args(DartPlace)
_DART_WORDS = {"side": "side seam", "bust": "side seam", "waist and side": DART_PLACES[3], "both": DART_PLACES[3]}

_FRONT, _BACK = ("bodice front",), ("bodice back",)
# moves that the measurements alone never ask for: what a fitting or a look in the mirror tells
ONLY_TOLD: tuple[tuple[Rule, tuple[str, ...], float], ...] = (
    (bodice.SLOPE_SHOULDER, _FRONT + _BACK, 40.0),
    (bodice.DEEPEN_NECK, _FRONT, 50.0),
    (bodice.LOWER_ARMHOLE, _FRONT + _BACK, 40.0),
    (posture.SWAY_BACK, _BACK, 40.0),
    (posture.ROUND_BACK, _BACK, 40.0),
)
_SAID: Mapping[str, tuple[str, float]] = {
    "round back": (posture.ROUND_BACK.name, 1.0),
    "straight back": (posture.ROUND_BACK.name, -1.0),
    "sloping shoulder": (bodice.SLOPE_SHOULDER.name, 1.0),
    "square shoulder": (bodice.SLOPE_SHOULDER.name, -1.0),
    "lower armhole": (bodice.LOWER_ARMHOLE.name, 1.0),
    "higher armhole": (bodice.LOWER_ARMHOLE.name, -1.0),
    "deeper neck": (bodice.DEEPEN_NECK.name, 1.0),
    "wider neck": (bodice.WIDEN_NECK.name, 1.0),
    "full bust alteration": (ALTER_BUST.name, 1.0),
    "small bust alteration": (ALTER_BUST.name, -1.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldMove:
    """A move whose amount (mm, positive the first way its name says) the maker has fixed."""

    move: str
    piece: PieceKind
    amount_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the maker decided; what is not here is solved from the measurements.

    ``darts`` is where all the fullness of the front goes; None leaves it where the pattern has it. ``draft`` names what
    may be drafted where it was not photographed: all of it unless told otherwise, so that a maker gets a whole set.
    """

    moves: tuple[ToldMove, ...] = ()
    darts: DartPlace | None = None
    draft: tuple[str, ...] = DRAFTABLE

    def amount_mm(self, move: str, piece: str) -> float | None:
        """The amount told of a move on a piece."""
        told = [one.amount_mm for one in self.moves if (one.move, one.piece) == (move, piece)]
        return told[-1] if told else None


NOTHING_CHOSEN = Choices()


def known_moves() -> tuple[str, ...]:
    """Names of all moves that can be told an amount."""
    rules = [rule for name in (bodice, sleeve) for rule in vars(name).values() if isinstance(rule, Rule)]
    rules += [*skirt_rules(WAIST_TO_HIP_MM), posture.SWAY_BACK, posture.ROUND_BACK, ALTER_BUST]
    return tuple(rule.name for rule in rules)


def dart_place(text: str) -> DartPlace:
    """Where the fullness goes, as a person writes it.

    Raises
    ------
    InputError
        If there is no such place.
    """
    word = plain(text)
    word = _DART_WORDS.get(word, word)
    for place in get_args(DartPlace):
        if word == place:
            found: DartPlace = place
            return found
    raise InputError(f"The front's fullness can't go to “{text}”.", f"Choose one of: {', '.join(DART_PLACES)}.")


def told_move(text: str, piece: PieceKind, amount_mm: float) -> ToldMove:
    """A move as a person names it: by its name, or in short, such as round back or square shoulder.

    Raises
    ------
    InputError
        If no move has that name.
    """
    word = plain(text)
    known = known_moves()
    name, sign = _SAID.get(word, (word, 1.0))
    if name in known:
        return ToldMove(move=name, piece=piece, amount_mm=sign * amount_mm)
    near = closest(word, (*known, *_SAID), at_least=0.6)
    guess = f": did you mean {near}?" if near else "."
    raise InputError(f"There is no move “{text}”{guess}", f"Moves that are known: {', '.join((*known, *_SAID))}.")


def with_told(steps: Sequence[Step], choices: Choices, kinds: Sequence[str]) -> tuple[Step, ...]:
    """The steps with the amounts told held fast; moves that only a maker asks for come first.

    Raises
    ------
    InputError
        If a move was told of a piece that is not there or can't have it.
    """
    out = [
        step
        if (amount := choices.amount_mm(step.rule.name, step.kind)) is None
        else replace(step, least=amount, most=amount)
        for step in steps
    ]
    there = {(step.kind, step.rule.name) for step in steps}
    extra = []
    for told in choices.moves:
        if told.move == ALTER_BUST.name or (told.piece, told.move) in there:
            continue
        rule = next((rule for rule, on, _ in ONLY_TOLD if rule.name == told.move and told.piece in on), None)
        if rule is None or told.piece not in kinds:
            possible = [name for kind, name in there if kind == told.piece]
            possible += [one.name for one, on, _ in ONLY_TOLD if told.piece in on and told.piece in kinds]
            raise InputError(
                f"The move “{told.move}” can't be made on a {told.piece} of this pattern.",
                f"Moves it can have: {', '.join(sorted(possible))}."
                if possible
                else f"There is no {told.piece} among the pieces: take that move out of job.toml.",
            )
        extra.append(Step(kind=told.piece, rule=rule, least=told.amount_mm, most=told.amount_mm))
        there.add((told.piece, told.move))
    return (*extra, *out)
