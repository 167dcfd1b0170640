"""The amounts of all moves together: the block, measured again, is the maker's measurement plus the block's ease."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from calibration.ground.errors import InputError, Note
from convert.block.block import Block, Level, Measured, Move
from convert.block.compared.targets import HELD, PRIORITY, Row, Wanted, wanted_levels
from convert.block.drafts.draft import draft_missing
from convert.block.measured.measure import measure
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import Change, Rule, outline_is_simple, recorded
from convert.block.shape.shape import Shape, piece_of, shape_of
from convert.block.shape.trousers import require_pair
from convert.block.shape.truing import corner_angles, true_dart_legs
from convert.block.solved.checks import check_block
from convert.block.solved.choices import NOTHING_CHOSEN, Choices, decided_levels, with_told
from convert.block.solved.dart_places import place_back_dart, place_darts
from convert.block.solved.least_moves import Solved, least_moves, values
from convert.block.solved.notches import walk_notches
from convert.block.solved.problem import Amounts, Problem, steps_for
from convert.block.solved.rows import rows_of
from convert.block.solved.strained import strained
from convert.block.trued.pieces import Asked, true_pieces
from convert.block.trued.plan import drawable
from convert.block.trued.true import GROUPS
from convert.body.card import Card
from convert.body.definitions import body_name
from convert.body.survey import WAIST_TO_HIP_MM
from convert.body.wording import format_body_mm, format_paper_mm, listed
from convert.piece.piece import Piece

_TOLD_MM = 0.5  # a larger miss is told
_REFUSED_MM = 8.0  # a larger miss of a first-priority level: the measurements are out of reach
_NOTHING_MM = 1e-6
_UNALTERED_MM = 10.0  # on each half front: from there a dress without its bust alteration is said to be so
_SHOWN_MM = 0.5  # a smaller move is made but no line of the list: nobody cuts half a millimetre


def suggest(
    pieces: Sequence[Piece],
    *,
    card: Card,
    drafted_for: Mapping[str, float] | None,
    ease: Mapping[str, float],
    choices: Choices = NOTHING_CHOSEN,
) -> Block:
    """A starting block: the pattern's pieces after the smallest moves that make them fit.

    Parameters
    ----------
    pieces
        Whole pieces on their seam line, at most one of each kind.
    card
        The maker. Levels that it does not have keep the pattern's shape.
    drafted_for
        The body (mm) that the pattern's size was drafted for, any subset; None if not known.
    ease
        The block's ease by level, mm; levels not named keep the pattern's own, within reason
        (:mod:`convert.block.targets`).
    choices
        Amounts of moves that the maker has fixed, round which the others are solved; where the fullness goes.

    Raises
    ------
    InputError
        If a piece is not whole, two are of one kind, or no moves reach the measurements; it names what to check.
    """
    return suggest_near(pieces, card=card, drafted_for=drafted_for, ease=ease, choices=choices)[0]


def suggest_near(
    pieces: Sequence[Piece],
    *,
    card: Card,
    drafted_for: Mapping[str, float] | None,
    ease: Mapping[str, float],
    choices: Choices = NOTHING_CHOSEN,
    near: Solved | None = None,
) -> tuple[Block, Solved]:
    """:func:`suggest`, with where its solution lies.

    Amounts told are solved from the solution without them, which ``near`` gives if it is known: a few rounds do.
    """
    if choices.moves and near is None:
        plain = replace(choices, moves=())
        near = suggest_near(pieces, card=card, drafted_for=drafted_for, ease=ease, choices=plain)[1]
    near = near if choices.moves else None
    _require_usable(pieces)
    asked = _AskedFor(card=card, size=dict(drafted_for or {}), ease=ease, choices=choices, near=near)
    return _drawn_as_far_as_can_be(pieces, asked)


def _drawn_as_far_as_can_be(pieces: Sequence[Piece], asked: "_AskedFor") -> tuple[Block, Solved]:
    """The block with as many of its groups of pieces drawn anew as meet their lengths; the others are named.

    Lines drawn anew leave less to give than the pattern's own: an extreme body may be met by moves alone.
    """
    groups: tuple[str, ...] = GROUPS
    while True:
        try:
            block, solved, left = _solved(pieces, asked, groups)
        except InputError:
            if not groups:
                raise
            groups = ()
            continue
        if not left:
            break
        groups = tuple(group for group in groups if group not in left)
    there = {piece.kind.split()[0] for piece in block.pieces}
    kept = [group for group in there if group not in groups]
    said = (_lines_kept(sorted(set(kept))),) if kept else strained(block.checks)
    return replace(block, notes=(*block.notes, *said)), solved


def _lines_kept(groups: list[str]) -> Note:
    """Which pieces keep the pattern's own bends, and what is to be done about it."""
    what = listed(groups, "and")
    return Note(
        "lines-kept",
        f"The lines of the {what} could not be drawn anew for these measurements and keep the pattern's own bends: "
        "fold each dart, lay the seams together and draw the edges smooth by hand before you cut.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _AskedFor:
    """What :func:`suggest_near` was asked for."""

    card: Card
    size: Mapping[str, float]
    ease: Mapping[str, float]
    choices: Choices
    near: Solved | None


def _solved(
    pieces: Sequence[Piece], asked_for: _AskedFor, groups: Sequence[str]
) -> tuple[Block, Solved, frozenset[str]]:
    """The block, these groups of pieces drawn anew as at the table, and those of them that could not be."""
    card, size, ease, choices = asked_for.card, asked_for.size, asked_for.ease, asked_for.choices
    hip_here = size.get("waist to hip") or card.mm("waist to hip") or WAIST_TO_HIP_MM
    pattern = {one.name: one for one in measure(pieces, waist_to_hip=hip_here)}
    wanted = wanted_levels({name: one.mm for name, one in pattern.items()}, card, size, ease)
    shapes: dict[str, Shape] = {piece.kind: true_dart_legs(shape_of(piece)) for piece in pieces}
    altered = _altered_bust(shapes, wanted, card, choices)
    placed = _placed_darts({**shapes, **altered.shapes}, choices, card)
    problem = _problem({**shapes, **altered.shapes, **placed.shapes}, shapes, choices, wanted, card, hip_here)
    problem = replace(problem, drawn=frozenset(kind for kind in problem.drawn if kind.split()[0] in groups))
    rows, notes = rows_of(problem, shapes, wanted, card, size)
    decided = decided_levels(choices)
    rows = [row for row in rows if row.name not in decided]
    solved = least_moves(problem.coarse(), rows, asked_for.near)
    made, moves = _perform(pieces, problem, solved.amounts, choices, card)
    drafts = draft_missing(made, card, ease, choices.draft)
    hip = problem.waist_to_hip or card.mm("waist to hip") or hip_here
    asked = Asked(
        rows=[*rows, *_as_decided(problem, made, decided)], drafted=drafts.mm, hip_mm=hip, darts=choices.darts
    )
    found = true_pieces((*made, *drafts.pieces), asked, groups, unit=card.unit)
    made = found.pieces
    after: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in made}
    notes += _missed(problem, rows, after, card, refuse=not choices.moves)
    notes += _bust_of_a_dress(shapes, wanted, card)
    made, walked = walk_notches(made, (*pieces, *drafts.pieces), unit=card.unit)
    wanted = replace(wanted, mm={**wanted.mm, **_without_cap(drafts.mm)}, ease={**wanted.ease, **drafts.ease})
    block = {one.name: one for one in measure(made, waist_to_hip=hip)}
    levels = tuple(_level(pattern.get(name), block[name], card, size, wanted) for name in block)
    notes += [_decided(level, card) for level in levels if level.name in decided and _is_off(level)]
    block_made = Block(
        maker=card,
        pieces=made,
        levels=levels,
        moves=(*altered.moves, *placed.moves, *moves, *found.moves),
        checks=check_block(made, levels, waist_to_hip=hip),
        notes=(*wanted.notes, *notes, *drafts.notes, *walked),
    )
    return block_made, solved, found.left


def _without_cap(mm: Mapping[str, float]) -> dict[str, float]:
    """Levels of drafts that are targets: the cap's ease follows armhole and arm, and its range is checked."""
    return {name: value for name, value in mm.items() if name != "cap ease"}


def _as_decided(problem: Problem, made: Sequence[Piece], decided: frozenset[str]) -> list[Row]:
    """What amounts that were told have made of their own levels: truing leaves these so."""
    found = problem.found({piece.kind: shape_of(piece) for piece in made}) if decided else {}
    return [Row(name=name, mm=found[name], weight=1.0) for name in sorted(decided) if name in found]


def _require_usable(pieces: Sequence[Piece]) -> None:
    for piece in pieces:
        if not piece.complete:
            raise InputError(
                f"The {piece.kind} was not read whole, so no block is made of it.",
                "Photograph it again with all of it in view.",
            )
        if not outline_is_simple(piece):
            _refuse_crossing(piece, ())
    require_pair(pieces)
    kinds = [piece.kind for piece in pieces]
    apart = [kind for kind in kinds if kind.startswith(("bodice", "skirt"))]
    if apart and any(kind.startswith("dress") for kind in kinds):
        raise InputError(
            f"A dress in one piece and a {apart[0]} lie in one job.",
            "Make a job of the dress, and another of the rest.",
        )
    twice = sorted({kind for kind in kinds if kinds.count(kind) > 1})
    if twice or not kinds:
        raise InputError(
            f"There are two pieces called {twice[0]}." if twice else "There is no piece to make a block of.",
            "Name one piece of each kind in job.toml.",
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _MadeFirst:
    """Moves made before the others are solved, and the shapes after them."""

    moves: tuple[Move, ...] = ()
    shapes: Mapping[str, Shape] = field(default_factory=dict)


def _altered_bust(shapes: Mapping[str, Shape], wanted: Wanted, card: Card, choices: Choices) -> _MadeFirst:
    """The bust alteration: its amount follows from the card alone, or was told."""
    front = shapes.get("bodice front")
    told = choices.amount_mm(ALTER_BUST.name, "bodice front")
    amount = wanted.bust_alteration if told is None else told
    if front is None or abs(amount) < (_SHOWN_MM if told is None else _NOTHING_MM):
        return _MadeFirst()
    change = ALTER_BUST.make(front, amount)
    move = recorded(ALTER_BUST, amount, front, change, unit=card.unit)
    if not outline_is_simple(move.after):
        _refuse_crossing(move.after, [move])
    return _MadeFirst(moves=(replace(move, told=told is not None),), shapes={"bodice front": change.after})


def _bust_of_a_dress(shapes: Mapping[str, Shape], wanted: Wanted, card: Card) -> list[Note]:
    """A dress in one piece is widened at the side instead: said, where a bodice's bust would have been altered."""
    if "dress front" not in shapes or abs(wanted.bust_alteration) < _UNALTERED_MM:
        return []
    what = "fuller" if wanted.bust_alteration > 0 else "smaller"
    amount = format_body_mm(2 * abs(wanted.bust_alteration), card.unit)
    text = (
        f"The bust is {amount} {what} than this dress was drafted for. A dress in one piece gets its width at the side "
        "seams, its darts stay as they are: look at the front's darts and length on the toile."
    )
    return [Note("bust-not-altered", text)]


def _placed_darts(shapes: Mapping[str, Shape], choices: Choices, card: Card) -> _MadeFirst:
    """The front's fullness brought where it was asked for; the sewn shape stays, so that nothing else changes."""
    front, back = shapes.get("bodice front"), shapes.get("bodice back")
    placed: dict[str, Shape] = {}
    made: tuple[Move, ...] = ()
    if front is not None and choices.darts is not None:
        placed["bodice front"], made = place_darts(front, choices.darts, unit=card.unit)
    if back is not None and choices.back_darts is not None:
        placed["bodice back"], more = place_back_dart(back, choices.back_darts, unit=card.unit)
        made += more
    return _MadeFirst(moves=tuple(replace(move, told=True) for move in made), shapes=placed)


def _problem(
    start: Mapping[str, Shape],
    shapes: Mapping[str, Shape],
    choices: Choices,
    wanted: Wanted,
    card: Card,
    hip_here: float,
) -> Problem:
    hip = card.mm("waist to hip") or hip_here
    steps = steps_for(start, hip=hip, apex_moves=bool({"bust height", "bust point distance"} & set(wanted.mm)))
    return Problem(
        shapes=start,
        steps=with_told(steps, choices, tuple(start)),
        angles={kind: corner_angles(shape) for kind, shape in shapes.items()},
        waist_to_hip=hip if any(kind.startswith(("skirt", "dress", "trousers")) for kind in shapes) else None,
        drawn=frozenset(kind for kind, shape in start.items() if drawable(shape)),
    )


def _perform(
    pieces: Sequence[Piece], problem: Problem, amounts: Amounts, choices: Choices, card: Card
) -> tuple[tuple[Piece, ...], tuple[Move, ...]]:
    """The pieces after all moves, and the list of these, in the order in which they were made."""
    shapes, moves = dict(problem.shapes), []
    for step, amount in zip(problem.steps, amounts, strict=True):
        if amount == 0.0:
            continue
        change = step.rule.make(shapes[step.kind], float(amount))
        told = choices.amount_mm(step.rule.name, step.kind) is not None
        if told or abs(amount) >= _SHOWN_MM:
            move = recorded(step.rule, float(amount), shapes[step.kind], change, unit=card.unit)
            moves.append(replace(move, told=told))
        shapes[step.kind] = change.after
    for kind, shape in shapes.items():
        trued = problem.trued(kind, shape)
        if kind in problem.drawn:
            shapes[kind] = trued
            continue
        far = float(np.hypot(*(trued.ring - shape.ring).T).max())
        if far >= _SHOWN_MM:
            moves.append(recorded(TRUE, far, shape, Change(after=trued), unit=card.unit))
        shapes[kind] = trued
    made = tuple(piece_of(shapes[piece.kind], dense=True) for piece in pieces)
    for piece in made:
        if not outline_is_simple(piece):
            _refuse_crossing(piece, moves)
    return made, tuple(moves)


_TRUED = "Make both legs of each dart equal and blend the edges into the seams again: nothing moves more than {amount}."
TRUE = Rule(
    name="true the seams",
    where="corners and dart legs",
    more=_TRUED,
    less=_TRUED,
    make=lambda shape, _amount: Change(after=true_dart_legs(shape)),
)


def _refuse_crossing(piece: Piece, moves: Sequence[Move]) -> None:
    """Name the move after which the outline crosses itself."""
    own = [move for move in moves if move.piece == piece.kind]
    guilty = next((move for move in own if not outline_is_simple(move.after)), own[-1] if own else None)
    what = f"After the move “{guilty.move}” ({format_paper_mm(abs(guilty.amount_mm))})" if guilty else "As it was read,"
    raise InputError(
        f"{what} the outline of the {piece.kind} crosses itself.",
        "Check the measurements that this move serves, and whether every edge of the piece has its right name.",
    )


def _missed(
    problem: Problem, rows: Sequence[Row], shapes: Mapping[str, Shape], card: Card, *, refuse: bool
) -> list[Note]:
    """What could not be met; refused, unless amounts were told, if it is a level that nothing else makes up for."""
    notes = []
    for row, value in zip(rows, values(problem, rows, shapes), strict=True):
        if row.weight <= HELD or row.name == "cap ease":  # the cap's ease follows armhole and arm, see the truing
            continue
        off = float(value - row.mm)
        if not np.isfinite(off) or (refuse and abs(off) > _REFUSED_MM and row.weight >= 1.0):
            if row.name not in PRIORITY:
                raise InputError(
                    f"No moves make these seams fit each other on this body ({row.name}): "
                    f"{format_paper_mm(abs(off), card.unit)} are left over.",
                    "Check the back waist length and the front waist length on the card against the tape.",
                )
            raise InputError(
                f"No moves lead from this pattern to the {row.name} wanted, {format_body_mm(row.mm, card.unit)}: "
                f"the pattern reaches {format_body_mm(value, card.unit)}.",
                f"Check the {row.name} on the card against the tape, or start from a size nearer to it.",
            )
        if abs(off) > _TOLD_MM:
            more = "more" if off > 0 else "less"
            notes.append(
                Note(
                    "target-missed",
                    f"Not everything could be met: the {row.name} of the block is "
                    f"{format_paper_mm(abs(off), card.unit)} {more} than wanted.",
                )
            )
    return notes


def _is_off(level: Level) -> bool:
    return level.target_mm is not None and abs(level.block_mm - level.target_mm) > _TOLD_MM


def _decided(level: Level, card: Card) -> Note:
    """What an amount that was told does to its own level."""
    off = level.block_mm - (level.target_mm or 0.0)
    way = "more" if off > 0 else "less"
    amount = format_paper_mm(abs(off), card.unit)
    return Note("told-decides", f"As you fixed it, the {level.name} of the block is {amount} {way} than body and ease.")


def _level(pattern: Measured | None, block: Measured, card: Card, size: Mapping[str, float], wanted: Wanted) -> Level:
    """One level compared; a piece that was drafted has no pattern."""
    name = block.name
    body = card.measurements.get(body_name(name))
    drafted = size.get(body_name(name))
    target = wanted.mm.get("waist" if name == "skirt waist" and "waist" in wanted.mm else name)
    return Level(
        name=name,
        pattern_mm=None if pattern is None else pattern.mm,
        pattern_uncertainty_mm=0.0 if pattern is None else pattern.uncertainty_mm,
        drafted_for_mm=drafted,
        pattern_ease_mm=None if drafted is None or pattern is None else pattern.mm - drafted,
        body_mm=None if body is None else body.mm,
        body_is_estimated=body is not None and body.source == "estimated",
        ease_mm=wanted.ease.get(name, 0.0 if body is None else block.mm - body.mm),
        target_mm=target,
        block_mm=block.mm,
        uncertainty_mm=block.uncertainty_mm,
    )
