"""What must follow when one of two seams that are sewn to each other has changed: its partner.

After a fitting the side seams, the shoulders, the sleeve's cap and the armhole, the bodice's and the skirt's waist
shall fit each other as they did before. The amounts are found together (Newton's method on differences of length).
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from convert.block.moves import bodice, sleeve
from convert.block.moves.change import Rule
from convert.block.moves.skirt import skirt_rules
from convert.block.shape.landmarks import across_level, armhole_width, cap_height, net, wrist_middle
from convert.block.shape.shape import Shape
from convert.block.shape.truing import corner_angles, true_corners, true_dart_legs
from convert.block.solved.problem import LEAST_INTAKE
from convert.block.toile.rules import LENGTHEN_SIDE
from convert.piece.piece import PieceKind

Shapes = Mapping[str, Shape]
_ROUNDS, _STEP_MM, _MET_MM = 8, 0.25, 1e-3
PAIRS: Mapping[str, tuple[str, ...]] = {
    "bodice side seams": ("bodice front", "bodice back"),
    "shoulders": ("bodice front", "bodice back"),
    "cap and armhole": ("sleeve", "bodice front", "bodice back"),
    "front waists": ("bodice front", "skirt front"),
    "back waists": ("bodice back", "skirt back"),
    "skirt side seams": ("skirt front", "skirt back"),
    "underarm seams": ("sleeve",),
}
"""Seams that are sewn to each other, and the pieces they lie on."""


SLEEVE_LENGTH = "sleeve length"


@dataclass(frozen=True, slots=True, kw_only=True)
class Following:
    """A move that makes a seam follow its partner: the pair or length it serves, and what that shall measure, mm."""

    pair: str
    kind: PieceKind
    rule: Rule
    aim: float


def pair_differences(shapes: Shapes) -> dict[str, float]:
    """By how much the second seam of each pair is longer than the first, mm; darts closed."""
    out = {}
    for pair, kinds in PAIRS.items():
        if any(kind not in shapes for kind in kinds):
            continue
        first, *rest = (shapes[kind] for kind in kinds)
        if pair == "cap and armhole":
            out[pair] = sum(net(one, "armhole") for one in rest) - net(first, "cap")
        elif pair == "underarm seams":
            out[pair] = net(first, "underarm seam back") - net(first, "underarm seam front")
        else:
            edge = {"shoulders": "shoulder", "front waists": "waist", "back waists": "waist"}.get(pair, "side seam")
            out[pair] = net(rest[0], edge) - net(first, edge)
    return out


def lengths_to_keep(shapes: Shapes) -> dict[str, float]:
    """Every pair's difference, and the lengths that following moves might change besides, mm."""
    out = pair_differences(shapes)
    if "sleeve" in shapes:
        one = shapes["sleeve"]
        out[SLEEVE_LENGTH] = cap_height(one) - wrist_middle(one)
    for kind, name in (("bodice back", "across back"), ("bodice front", "across chest")):
        if kind in shapes:
            out[name] = armhole_width(shapes[kind], across_level(shapes[kind]))
    return out


def followers(
    before: Shapes,
    after: Shapes,
    *,
    told: Collection[str],
    left: Collection[str],
    places: Collection[str],
    aims: Mapping[str, float],
    hip: float,
) -> tuple[Following, ...]:
    """Which pieces have to follow, and by which move.

    Parameters
    ----------
    told
        Pieces on which something was told: their partners follow, and the partners of these.
    left
        Pairs that were to be left as they are.
    places
        Names of the places told: where the waist was changed in its darts the other waist changes in its own; where the
        shoulder was not told it keeps its length.
    aims
        Lengths that were told themselves ("across back"), mm on the half piece.
    hip
        Height from waist to hip, mm.
    """
    aim = lengths_to_keep(before)
    out: list[Following] = []
    touched, pairs = set(told), [pair for pair in aim if pair in PAIRS and pair not in left]
    while True:
        reached = [pair for pair in pairs if touched & set(PAIRS[pair])]
        if not reached:
            break
        pair = reached[0]
        pairs.remove(pair)
        rank = {kind: (kind in told) + (kind in touched) for kind in PAIRS[pair]}
        move, kind = _follower(pair, after, rank, places, aim[pair], hip)
        out.append(Following(pair=pair, kind=_kind(kind), rule=move, aim=aim[pair]))
        touched.add(kind)
    if any(move.rule is sleeve.RAISE_CROWN for move in out):  # below, the sleeve keeps the length that it now has
        now = lengths_to_keep(after)[SLEEVE_LENGTH]
        out.append(Following(pair=SLEEVE_LENGTH, kind="sleeve", rule=sleeve.LENGTHEN_SLEEVE, aim=now))
    for name, mm in aims.items():
        kind = "bodice back" if name == "across back" else "bodice front"
        out.append(Following(pair=name, kind=_kind(kind), rule=bodice.BROADEN_ACROSS, aim=mm))
    return tuple(out)


def _follower(
    pair: str, shapes: Shapes, rank: Mapping[str, int], places: Collection[str], aim: float, hip: float
) -> tuple[Rule, str]:
    """The move that closes a pair's difference, and the piece it is made on: the one told and touched least."""
    waist, _, _, side = skirt_rules(hip)
    first, second = PAIRS[pair][0], PAIRS[pair][-1]
    untouched, own = (first, second) if rank[first] < rank[second] else (second, first)
    if pair == "cap and armhole":
        return sleeve.RAISE_CROWN, "sleeve"
    if pair == "underarm seams":
        return sleeve.EVEN_SEAMS, "sleeve"
    if pair == "shoulders":  # a shoulder that grew by the way shrinks again; one that was told is followed
        return bodice.LENGTHEN_SHOULDER, untouched if "shoulder length" in places else own
    if pair == "bodice side seams":
        return LENGTHEN_SIDE, untouched
    if pair == "skirt side seams":
        return side, untouched
    change = abs(pair_differences(shapes)[pair] - aim)
    if "waist darts" in places and _can_take_in(shapes[untouched], change):
        return bodice.TAKE_IN_DARTS, untouched
    return (waist if untouched.startswith("skirt") else bodice.WIDEN_AT_WAIST), untouched


def _kind(kind: str) -> PieceKind:
    kinds: tuple[PieceKind, ...] = ("bodice front", "bodice back", "skirt front", "skirt back", "sleeve")
    return next(one for one in kinds if one == kind)


def _can_take_in(shape: Shape, mm: float) -> bool:
    mouths = [shape.ring[shape.legs[i]] for i in shape.darts_on("waist")]
    intakes = [float(np.hypot(*(legs[1] - legs[0]))) for legs in mouths]
    return bool(intakes) and sum(intakes) - mm > LEAST_INTAKE * len(intakes)


def following_amounts(after: Shapes, following: Collection[Following]) -> list[float]:
    """How much each must follow so that every pair differs by what it shall, mm."""
    moves = list(following)
    amounts = np.zeros(len(moves))
    if not moves:
        return []
    aims = np.array([move.aim for move in moves])

    def differences(at: np.ndarray) -> np.ndarray:
        found = lengths_to_keep(followed(after, moves, at))
        return np.asarray(np.array([found[move.pair] for move in moves]) - aims)

    miss = differences(amounts)
    for _ in range(_ROUNDS):
        if np.abs(miss).max() < _MET_MM:
            break
        slope = np.column_stack(
            [(differences(amounts + _STEP_MM * unit) - miss) / _STEP_MM for unit in np.eye(len(moves))]
        )
        amounts = amounts - np.linalg.lstsq(slope, miss, rcond=1e-6)[0]
        miss = differences(amounts)
    return [float(amount) for amount in amounts]


def followed(shapes: Shapes, following: Collection[Following], amounts: np.ndarray) -> dict[str, Shape]:
    """Shapes after the following moves, each with its truing."""
    out = dict(shapes)
    for move, amount in zip(following, amounts, strict=True):
        if abs(amount) > 1e-9:
            out[move.kind] = trued(out[move.kind], move.rule.make(out[move.kind], float(amount)).after)
    return out


def trued(before: Shape, after: Shape) -> Shape:
    """A shape after a move, dart legs made equal and corners as they were."""
    return true_corners(true_dart_legs(after), corner_angles(before))
