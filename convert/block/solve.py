"""The amounts of all moves together: the block, measured again, is the maker's measurement plus the block's ease."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import lsq_linear

from calibration.errors import InputError, Note
from convert.block.block import Block, Level, Measured, Move
from convert.block.checks import check_block
from convert.block.choices import NOTHING_CHOSEN, Choices, decided_levels, with_told
from convert.block.dart_places import place_back_dart, place_darts
from convert.block.draft import draft_missing
from convert.block.measure import measure
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import Change, Rule, outline_is_simple, recorded
from convert.block.moves.shape import Shape, piece_of, shape_of
from convert.block.notches import walk_notches
from convert.block.problem import Amounts, Problem, couplings, steps_for
from convert.block.targets import CAP_EASE_MM, PRIORITY, WAIST_TO_HIP_MM, Wanted, wanted_levels
from convert.block.truing import corner_angles, true_dart_legs
from convert.body.card import Card
from convert.body.wording import format_body_mm, format_paper_mm
from convert.piece.piece import Piece

_ROUNDS = 14
_STILL_MM = 1e-4  # a smaller change of an amount moves nothing
_ROUNDS_NEAR = 6  # from a solution nearby
_ANCHOR = 0.02  # weight there of one mm of a move away from it, against one mm of a missed level
_STEP_MM = 0.25  # of a difference quotient
_MET_MM = 0.01  # a target is met: the rounds stop
_TOLD_MM = 0.5  # a larger miss is told
_REFUSED_MM = 8.0  # a larger miss of a first-priority level: the measurements are out of reach
_NOTHING_MM = 1e-6
_UNALTERED_MM = 10.0  # on each half front: from there a dress without its bust alteration is said to be so
_SHOWN_MM = 0.5  # a smaller move is made but no line of the list: nobody cuts half a millimetre
_SMALLEST = 1e-3  # weight of one mm of a move against one mm of a missed target
_HELD = 0.02  # weight of a level that nobody told: it stays as the pattern has it
_PAIR_LIMIT_MM = 10.0  # a larger difference of paired seams is not trued away: something was read wrong
_EASED_SHOULDER_MM = (1.6, 13.0)  # a back shoulder this much longer is eased in: 1/16 in is accuracy, 1/2 in the most


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    name: str
    mm: float
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solved:
    """Where a solution lies, for another one near it: each move's amount, and how each row follows it (mm per mm).

    ``moves`` are kinds and names in the order of ``amounts`` (M,) and of the columns of ``slope`` (R, M), ``rows`` the
    names of its rows. ``start`` are the pieces' shapes before these moves, ``shapes`` after them and the truing.
    """

    moves: tuple[tuple[str, str], ...]
    rows: tuple[str, ...]
    amounts: Amounts
    slope: Amounts
    start: Mapping[str, Shape]
    shapes: Mapping[str, Shape]


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
    size = dict(drafted_for or {})
    hip_here = size.get("waist to hip") or card.mm("waist to hip") or WAIST_TO_HIP_MM
    pattern = {one.name: one for one in measure(pieces, waist_to_hip=hip_here)}
    wanted = wanted_levels({name: one.mm for name, one in pattern.items()}, card, size, ease)
    shapes: dict[str, Shape] = {piece.kind: true_dart_legs(shape_of(piece)) for piece in pieces}
    altered = _altered_bust(shapes, wanted, card, choices)
    placed = _placed_darts({**shapes, **altered.shapes}, choices, card)
    problem = _problem({**shapes, **altered.shapes, **placed.shapes}, shapes, choices, wanted, card, hip_here)
    rows, notes = _rows(problem, shapes, wanted, card, size)
    decided = decided_levels(choices)
    rows = [row for row in rows if row.name not in decided]
    solved = _solve(problem, rows, near)
    amounts = solved.amounts
    made, moves = _perform(pieces, problem, amounts, choices, card)
    moves = (*altered.moves, *placed.moves, *moves)
    notes += _missed(problem, rows, solved.shapes, card, refuse=not choices.moves)
    notes += _bust_of_a_dress(shapes, wanted, card)
    drafts = draft_missing(made, card, ease, choices.draft)
    made, walked = walk_notches((*made, *drafts.pieces), pieces, unit=card.unit)
    wanted = replace(wanted, mm={**wanted.mm, **drafts.mm}, ease={**wanted.ease, **drafts.ease})
    hip = problem.waist_to_hip or card.mm("waist to hip") or hip_here
    block = {one.name: one for one in measure(made, waist_to_hip=hip)}
    levels = tuple(_level(pattern.get(name), block[name], card, size, wanted) for name in block)
    notes += [_decided(level, card) for level in levels if level.name in decided and _is_off(level)]
    block_made = Block(
        maker=card,
        pieces=made,
        levels=levels,
        moves=moves,
        checks=check_block(made, pieces, levels),
        notes=(*wanted.notes, *notes, *drafts.notes, *walked),
    )
    return block_made, solved


def _require_usable(pieces: Sequence[Piece]) -> None:
    for piece in pieces:
        if not piece.complete:
            raise InputError(
                f"The {piece.kind} was not read whole, so no block is made of it.",
                "Photograph it again with all of it in view.",
            )
        if not outline_is_simple(piece):
            _refuse_crossing(piece, ())
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
        waist_to_hip=hip if any(kind.startswith(("skirt", "dress")) for kind in shapes) else None,
    )


def _rows(
    problem: Problem, shapes: Mapping[str, Shape], wanted: Wanted, card: Card, size: Mapping[str, float]
) -> tuple[list[_Row], list[Note]]:
    """Everything the block shall meet: levels, pairs, and levels that stay."""
    now = problem.found(shapes)
    rows = [_Row(name=name, mm=mm, weight=PRIORITY[name]) for name, mm in wanted.mm.items() if name in now]
    if "skirt waist" in now and "waist" not in now and card.mm("waist") is not None:
        skirt_ease = now["skirt waist"] - size["waist"] if "waist" in size else 20.0
        rows.append(
            _Row(name="skirt waist", mm=(card.mm("waist") or 0.0) + float(np.clip(skirt_ease, 0, 25)), weight=1.0)
        )
    if "cap ease" in now:
        least, usual, most = CAP_EASE_MM
        own = now["cap ease"]
        rows.append(_Row(name="cap ease", mm=own if least <= own <= most else usual, weight=PRIORITY["cap ease"]))
    for name, value in now.items():
        level, of, _ = name.partition(" of the ")
        body = card.mm(level)
        if of and body is not None and level in size:
            rows.append(_Row(name=name, mm=value + (body - size[level]) / 4, weight=PRIORITY[level]))
    notes: list[Note] = []
    for name in now:
        if name.endswith("longer") or " minus " in name:
            mm, note = _pair_target(name, now[name])
            rows.append(_Row(name=name, mm=mm, weight=1.0))
            notes += [note] if note else []
    done = {row.name for row in rows}
    held = [name for name in (*PRIORITY, *(n for n in now if " of the " in n)) if name in now and name not in done]
    if "back waist length" in done:
        held = [name for name in held if name != "front waist length"]  # the front goes with the back
    if "skirt waist minus bodice waist" in now:
        held = [name for name in held if name != "skirt waist"]
    return rows + [_Row(name=name, mm=now[name], weight=_HELD) for name in held], notes


def _pair_target(name: str, now: float) -> tuple[float, Note | None]:
    """What the difference of two paired seams shall be: nothing, the ease the pattern has, or left if it is absurd."""
    low, high = _EASED_SHOULDER_MM
    if name == "skirt waist minus bodice waist":
        return 0.0, None
    if name.startswith("shoulder") and low <= now <= high:
        return now, None
    if abs(now) <= _PAIR_LIMIT_MM:
        return 0.0, None
    seam = name.partition(",")[0]
    return now, Note(
        "pair-unequal",
        f"The {seam} of the pattern differs by {format_paper_mm(abs(now))} between front and back: look for a dart, "
        "a fold or an edge that was read wrong.",
    )


def _solve(problem: Problem, rows: Sequence[_Row], near: Solved | None = None) -> Solved:
    """Bounded least squares, linearised anew where needed: targets by priority, then the smallest moves.

    From a solution nearby the rows' slopes are taken over, and a few rounds do: the answer is the one that leaves it
    least, so that what is tried with a slider changes smoothly.
    """
    steps = problem.steps
    amounts = np.zeros(len(steps))
    weights, aims = np.array([row.weight for row in rows]), np.array([row.mm for row in rows])
    calm = _calm(problem)
    low, high = np.array([step.least for step in steps]) - 1e-9, np.array([step.most for step in steps]) + 1e-9
    slope = np.zeros((len(rows), len(steps)))
    rest, anchor = calm, np.zeros(len(calm))
    started = near is not None and near.rows == tuple(row.name for row in rows)
    if near is not None and started:
        amounts, slope = _taken_over(problem, rows, near, low, high)
        rest, anchor = _ANCHOR * np.eye(len(steps)), _ANCHOR * amounts
    shapes = problem.moved(amounts) if near is None or not started else _moved_on(problem, amounts, near)
    before = np.inf
    for turn in range(_ROUNDS_NEAR if started else _ROUNDS):
        miss = _values(problem, rows, shapes) - aims
        size = float(np.abs(miss * weights).max(initial=0.0))
        if not started and (turn % 3 == 0 or size > 0.5 * before):
            slope = _slope(problem, rows, amounts, shapes)
        before = size
        goal = np.concatenate([weights * (slope @ amounts - miss), anchor])
        answer = lsq_linear(np.vstack([weights[:, None] * slope, rest]), goal, (low, high), method="bvls").x
        change = float(np.abs(answer - amounts).max(initial=0.0))
        if started:
            kinds = {step.kind for step, gone in zip(steps, np.abs(answer - amounts), strict=True) if gone > _STILL_MM}
            for kind in kinds:
                shapes = problem.moved(answer, only=kind, rest=shapes)
        else:
            shapes = problem.moved(answer)
        amounts = answer
        if change < _MET_MM:
            break
    amounts[np.abs(amounts) < 1e-6] = 0.0
    names = tuple((step.kind, step.rule.name) for step in steps)
    return Solved(
        moves=names,
        rows=tuple(row.name for row in rows),
        amounts=amounts,
        slope=slope,
        start=problem.shapes,
        shapes=shapes,
    )


def _moved_on(problem: Problem, amounts: Amounts, near: Solved) -> dict[str, Shape]:
    """Shapes after moves, those taken over of which nothing has changed since a solution nearby."""
    before = dict(zip(near.moves, near.amounts, strict=True))
    shapes = dict(near.shapes)
    for kind, shape in problem.shapes.items():
        own = [
            abs(amount - before.get((kind, step.rule.name), 0.0))
            for step, amount in zip(problem.steps, amounts, strict=True)
            if step.kind == kind
        ]
        old = near.start.get(kind)
        same = old is not None and old.ring.shape == shape.ring.shape and bool((old.ring == shape.ring).all())
        if not same or max(own, default=0.0) > _STILL_MM:
            shapes = problem.moved(amounts, only=kind, rest=shapes)
    return shapes


def _taken_over(
    problem: Problem, rows: Sequence[_Row], near: Solved, low: Amounts, high: Amounts
) -> tuple[Amounts, Amounts]:
    """Amounts and slopes of a solution nearby, within the bounds; slopes of moves that it did not have are measured."""
    column = {name: k for k, name in enumerate(near.moves)}
    known = [column.get((step.kind, step.rule.name)) for step in problem.steps]
    amounts = np.clip([0.0 if k is None else near.amounts[k] for k in known], low, high)
    new = [i for i, k in enumerate(known) if k is None]
    slope = np.zeros((len(rows), len(known)))
    for i, k in enumerate(known):
        if k is not None:
            slope[:, i] = near.slope[:, k]
    if new:
        measured = _slope(problem, rows, amounts, problem.moved(amounts), only=new)
        slope[:, new] = measured[:, new]
    return amounts, slope


def _calm(problem: Problem) -> Amounts:
    """Rows that keep every move small and front and back alike."""
    out = np.diag([step.cost for step in problem.steps])
    for i, j, weight in couplings(problem.steps):
        row = np.zeros(len(problem.steps))
        row[i], row[j] = weight, -weight
        out = np.vstack([out, row])
    return out * _SMALLEST


def _values(problem: Problem, rows: Sequence[_Row], shapes: Mapping[str, Shape]) -> Amounts:
    found = problem.found(shapes)
    return np.array([found.get(row.name, np.nan) for row in rows])


def _slope(
    problem: Problem,
    rows: Sequence[_Row],
    amounts: Amounts,
    shapes: Mapping[str, Shape],
    *,
    only: Sequence[int] | None = None,
) -> Amounts:
    here = _values(problem, rows, shapes)
    out = np.zeros((len(rows), len(amounts)))
    for i in range(len(amounts)) if only is None else only:
        kind = problem.steps[i].kind
        step = amounts.copy()
        step[i] += _STEP_MM
        moved = problem.moved(step, only=kind, rest=shapes)
        out[:, i] = (_values(problem, rows, moved) - here) / _STEP_MM
    return out


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
    make=lambda shape, amount: Change(after=true_dart_legs(shape)),
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
    problem: Problem, rows: Sequence[_Row], shapes: Mapping[str, Shape], card: Card, *, refuse: bool
) -> list[Note]:
    """What could not be met; refused, unless amounts were told, if it is a level that nothing else makes up for."""
    notes = []
    values = _values(problem, rows, shapes)
    for row, value in zip(rows, values, strict=True):
        if row.weight <= _HELD:
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
    body = card.measurements.get("waist" if name == "skirt waist" else name)
    drafted = size.get("waist" if name == "skirt waist" else name)
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
