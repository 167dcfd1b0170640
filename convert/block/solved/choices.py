"""What a maker may decide of her block herself: the amount of any move, and where the front's fullness goes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

from calibration.ground.errors import InputError
from convert.block.drafts.draft import DRAFTABLE
from convert.block.moves import bodice, dress, posture, sleeve
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import Rule
from convert.block.moves.skirt import ROUND_HIP, skirt_rules
from convert.block.moves.trousers import LENGTHEN_LEG, trousers_rules
from convert.block.solved.problem import Step
from convert.body.definitions import closest, plain
from convert.body.survey import WAIST_TO_HIP_MM
from convert.piece.piece import PieceKind

DartPlace = Literal["waist", "side seam", "shoulder", "waist and side seam"]
BackDartPlace = Literal["shoulder", "neckline", "armhole"]
BACK_DART_PLACES: tuple[str, ...] = get_args(BackDartPlace)
DART_PLACES: tuple[str, ...] = get_args(DartPlace)
_DART_WORDS = {"side": "side seam", "bust": "side seam", "waist and side": DART_PLACES[3], "both": DART_PLACES[3]}

_FRONT, _BACK = ("bodice front",), ("bodice back",)
# moves that the measurements alone never ask for: what a fitting or a look in the mirror tells
ONLY_TOLD: tuple[tuple[Rule, tuple[str, ...], float], ...] = (
    (bodice.SLOPE_SHOULDER, _FRONT + _BACK, 40.0),
    (bodice.DEEPEN_NECK, _FRONT + _BACK, 50.0),
    (bodice.LOWER_ARMHOLE, _FRONT + _BACK, 40.0),
    (posture.SWAY_BACK, _BACK, 40.0),
    (posture.ROUND_BACK, _BACK, 40.0),
    (ROUND_HIP, ("skirt front", "skirt back"), 20.0),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figure:
    """What is said of a figure: the move it means, which way, and on which pieces, each with its own sign there."""

    rule: Rule
    way: float
    on: Mapping[PieceKind, float]


_WHOLE_FRONT: Mapping[PieceKind, float] = {"bodice front": 1.0}
_WHOLE_BACK: Mapping[PieceKind, float] = {"bodice back": 1.0}
_WHOLE_BODICE: Mapping[PieceKind, float] = {"bodice front": 1.0, "bodice back": 1.0}
_WHOLE_SKIRT: Mapping[PieceKind, float] = {"skirt front": 1.0, "skirt back": 1.0}


def _both_ways(rule: Rule, more: str, less: str, on: Mapping[PieceKind, float]) -> dict[str, _Figure]:
    return {more: _Figure(rule=rule, way=1.0, on=on), less: _Figure(rule=rule, way=-1.0, on=on)}


_FIGURES: Mapping[str, _Figure] = {
    "forward shoulder": _Figure(rule=bodice.SLOPE_SHOULDER, way=1.0, on={"bodice front": 1.0, "bodice back": -1.0}),
    "sway back": _Figure(rule=posture.SWAY_BACK, way=1.0, on=_WHOLE_BACK),
    **_both_ways(posture.ROUND_BACK, "round back", "straight back", _WHOLE_BACK),
    **_both_ways(bodice.SLOPE_SHOULDER, "sloping shoulder", "square shoulder", _WHOLE_BODICE),
    **_both_ways(bodice.LOWER_ARMHOLE, "lower armhole", "higher armhole", _WHOLE_BODICE),
    **_both_ways(bodice.DEEPEN_NECK, "deeper neck", "higher neck", _WHOLE_FRONT),
    **_both_ways(bodice.WIDEN_NECK, "wider neck", "narrower neck", _WHOLE_BODICE),
    **_both_ways(bodice.BROADEN_ACROSS, "broad back", "narrow back", _WHOLE_BACK),
    **_both_ways(bodice.BROADEN_ACROSS, "broad chest", "narrow chest", _WHOLE_FRONT),
    **_both_ways(bodice.LENGTHEN_SHOULDER, "longer shoulder", "shorter shoulder", _WHOLE_BODICE),
    **_both_ways(ROUND_HIP, "fuller hip", "flatter hip", _WHOLE_SKIRT),
    **_both_ways(ALTER_BUST, "full bust alteration", "small bust alteration", _WHOLE_FRONT),
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

    ``darts`` is where all the fullness of the front goes, ``back_darts`` where the dart of the shoulder blade does;
    None leaves them where the pattern has them. ``draft`` names what may be drafted where it was not photographed: all
    of it unless told otherwise, so that a maker gets a whole set.
    """

    moves: tuple[ToldMove, ...] = ()
    darts: DartPlace | None = None
    back_darts: BackDartPlace | None = None
    draft: tuple[str, ...] = DRAFTABLE

    def amount_mm(self, move: str, piece: str) -> float | None:
        """The amount told of a move on a piece."""
        told = [one.amount_mm for one in self.moves if (one.move, one.piece) == (move, piece)]
        return told[-1] if told else None


NOTHING_CHOSEN = Choices()


DRESS_RULES = (
    dress.LENGTHEN_ABOVE_WAIST,
    dress.WIDEN_AT_UNDERARM,
    dress.TAKE_IN_DOUBLE_DARTS,
    *dress.dress_rules(WAIST_TO_HIP_MM),
)


def known_moves() -> tuple[str, ...]:
    """Names of all moves that can be told an amount."""
    rules = [rule for name in (bodice, sleeve) for rule in vars(name).values() if isinstance(rule, Rule)]
    rules += [
        *skirt_rules(WAIST_TO_HIP_MM),
        ROUND_HIP,
        *DRESS_RULES,
        *trousers_rules(WAIST_TO_HIP_MM).values(),
        posture.SWAY_BACK,
        posture.ROUND_BACK,
        ALTER_BUST,
    ]
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


def back_dart_place(text: str) -> BackDartPlace:
    """Where the back's upper dart goes, as a person writes it.

    Raises
    ------
    InputError
        If there is no such place.
    """
    word = {"neck": "neckline"}.get(plain(text), plain(text))
    for place in get_args(BackDartPlace):
        if word == place:
            found: BackDartPlace = place
            return found
    raise InputError(f"The back's dart can't go to “{text}”.", f"Choose one of: {', '.join(BACK_DART_PLACES)}.")


def told_move(text: str, piece: PieceKind, amount_mm: float) -> ToldMove:
    """A move as a person names it: by its name, or in short, such as round back or square shoulder.

    Raises
    ------
    InputError
        If no move has that name.
    """
    figure = _FIGURES.get(plain(text))
    if figure is None:
        return ToldMove(move=_known(text), piece=piece, amount_mm=amount_mm)
    return ToldMove(move=figure.rule.name, piece=piece, amount_mm=figure.way * figure.on.get(piece, 1.0) * amount_mm)


def told_moves(text: str, piece: PieceKind | None, amount_mm: float) -> tuple[ToldMove, ...]:
    """The same on every piece that a figure's word concerns, where no piece was named.

    Raises
    ------
    InputError
        If no move has that name, or it needs a piece to be named.
    """
    figure = _FIGURES.get(plain(text))
    if piece is not None:
        return (told_move(text, piece, amount_mm),)
    if figure is None:
        raise InputError(
            f"The move “{_known(text)}” does not say its piece.", 'Write piece = "bodice front", for example.'
        )
    return tuple(told_move(text, kind, amount_mm) for kind in figure.on)


def _known(text: str) -> str:
    """A move's name, checked."""
    word, known = plain(text), known_moves()
    if word in known:
        return word
    near = closest(word, (*known, *_FIGURES), at_least=0.6)
    guess = f": did you mean {near}?" if near else "."
    names = ", ".join(dict.fromkeys((*known, *_FIGURES)))
    raise InputError(f"There is no move “{text}”{guess}", f"Moves that are known: {names}.")


_, _WIDEN_HIP, _LENGTHEN_SKIRT, _ = skirt_rules(WAIST_TO_HIP_MM)
# levels that a move decides alone, or together with the same move on the other half
_DECIDES: Mapping[str, tuple[frozenset[tuple[PieceKind, str]], ...]] = {
    "across chest": (frozenset({("bodice front", bodice.BROADEN_ACROSS.name)}),),
    "across back": (frozenset({("bodice back", bodice.BROADEN_ACROSS.name)}),),
    "shoulder length": (
        frozenset({("bodice front", bodice.LENGTHEN_SHOULDER.name)}),
        frozenset({("bodice back", bodice.LENGTHEN_SHOULDER.name)}),
    ),
    "neck": (frozenset({("bodice front", bodice.WIDEN_NECK.name), ("bodice back", bodice.WIDEN_NECK.name)}),),
    "bust": (
        frozenset({("bodice front", bodice.WIDEN_AT_UNDERARM.name), ("bodice back", bodice.WIDEN_AT_UNDERARM.name)}),
    ),
    "bust height": (frozenset({("bodice front", bodice.BUST_POINT_DOWN.name)}),),
    "bust point distance": (frozenset({("bodice front", bodice.BUST_POINT_OUT.name)}),),
    "upper arm": (frozenset({("sleeve", sleeve.WIDEN_UPPER_ARM.name)}),),
    "wrist": (frozenset({("sleeve", sleeve.WIDEN_WRIST.name)}),),
    "arm length": (frozenset({("sleeve", sleeve.LENGTHEN_SLEEVE.name)}),),
    "cap ease": (frozenset({("sleeve", sleeve.RAISE_CROWN.name)}),),
    "skirt length": (frozenset({("skirt front", _LENGTHEN_SKIRT.name)}),),
    "outside leg": (frozenset({("trousers front", LENGTHEN_LEG.name)}),),
    "hip": (frozenset({("skirt front", _WIDEN_HIP.name), ("skirt back", _WIDEN_HIP.name)}),),
}


def decided_levels(choices: Choices) -> frozenset[str]:
    """Levels that follow from the amounts told: no other move is bent to reach their targets."""
    told = {(one.piece, one.move) for one in choices.moves}
    return frozenset(level for level, ways in _DECIDES.items() if any(way <= told for way in ways))


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
