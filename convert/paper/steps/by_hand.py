"""The moves as a cutter does them: what happens at one place is one step, flat paper only, small things at the end.

A move that slashes the paper is a step of its own; moves that draw edges anew are joined by the place where they work.
What changes less than 2 mm waits for the closing step of its piece, which trues and cuts. The points of all states
correspond, so that steps may be done in another order than the moves were found: the last state is the block exactly.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from convert.block.block import Move
from convert.block.shape.shape import shape_of
from convert.body.card import LengthUnit
from convert.body.wording import format_fine_mm
from convert.paper.steps.marked import LEAST_MM, Shift, dart_places, dart_sentences, largest_mm, shifts
from convert.paper.steps.slashed import Slashed, slashed
from convert.paper.steps.upper_arm import upper_arm_laid
from convert.paper.steps.words import closing_sentences, cut_words, move_title
from convert.piece.piece import Dart, Edge, Piece, PieceKind

SMALL_MM = 2.0  # below, a change waits for the closing step: about two pencil lines, our choice
UPPER_ARM = "upper arm"
EVERY_LINE = "every line"
# words in a move's place, and the step that such moves are joined into; the first that fits counts
_PLACES = (
    ("every line", EVERY_LINE),
    ("wrist", "wrist"),
    ("waist, at the side seam", "side seam"),
    ("at the fork", "crotch seam and inseam"),
    ("both seams", "side seam and inseam"),
    ("underarm point", "shoulder and armhole"),
    ("side seam", "side seam"),
    ("dart", "darts"),
    ("neckline", "neckline"),
    ("shoulder", "shoulder and armhole"),
    ("side neck point", "shoulder and armhole"),
    ("lengthwise through the cap", UPPER_ARM),
    ("across the cap", UPPER_ARM),
)
_SLASHED = (
    "bust alteration",
    "sway back",
    "round or straight back",
    "lengthen or shorten the crotch at the waist",
    "lengthen or shorten the leg",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HandStep:
    """One thing to do at the table: the paper before and after, in words, with the points that go and how far.

    ``laid`` says how slashed paper lies, None where lines are drawn anew. ``amount`` is how
    far slashed paper parts, ``told_once`` whether that holds for all its cuts. ``closing`` marks a piece's last step.
    """

    piece: PieceKind
    title: str
    sentences: tuple[str, ...]
    before: Piece
    after: Piece
    marked: tuple[Shift, ...] = ()
    laid: Slashed | None = None
    amount: str = ""
    told_once: bool = False
    closing: bool = False


def steps_by_hand(moves: Sequence[Move], unit: LengthUnit = "cm") -> tuple[HandStep, ...]:
    """The moves of a block as steps, piece by piece; each piece ends with truing."""
    kinds = list(dict.fromkeys(move.piece for move in moves))
    return tuple(step for kind in kinds for step in _of_piece([move for move in moves if move.piece == kind], unit))


def _of_piece(moves: list[Move], unit: LengthUnit) -> list[HandStep]:
    if place_of(moves[-1]) == EVERY_LINE:
        return _cut_then_drawn(moves, unit)
    steps: list[HandStep] = []
    small: list[Move] = []
    for stretch in _stretches(moves):
        state = stretch[0].before
        for place, group in _groups(stretch):
            after = _moved(state, group) if _alike(group[0].before, group[0].after) else group[-1].after
            if largest_mm(state, after) < SMALL_MM:
                small += group
                continue
            steps.append(_step(place, group, state, after, unit))
            state = after
    last = moves[-1].after
    begun = steps[-1].after if steps else moves[0].before
    before = begun if _alike(begun, last) else moves[-1].before
    return [*steps, replace(_closing(before, last), marked=shifts(before, last, unit) if small else ())]


def _closing(before: Piece, after: Piece) -> HandStep:
    return HandStep(
        piece=after.kind,
        title="Redraw and true",
        sentences=closing_sentences(after),
        before=before,
        after=after,
        closing=True,
    )


def _cut_then_drawn(moves: list[Move], unit: LengthUnit) -> list[HandStep]:
    """Where every line is drawn anew at the end: the paper is cut and laid first, then each line is drawn once."""
    steps: list[HandStep] = []
    state, drawn = moves[0].before, []
    for stretch in _stretches(moves):
        if not _alike(state, stretch[0].before):
            state = stretch[0].before
        for place, group in _groups(stretch):
            corresponding = _alike(group[0].before, group[0].after) and _alike(state, group[0].before)
            after = _moved(state, group) if corresponding else group[-1].after
            step = _step(place, group, state, after, unit) if largest_mm(state, after) >= SMALL_MM else None
            if step is None or step.laid is None:
                drawn += group
                continue
            steps.append(step)
            state = after
    begun, last = (steps[-1].after if steps else moves[0].before), moves[-1].after
    return [*steps, *_drawn_once(begun, last, drawn, unit), _closing(last, last)]


def _drawn_once(before: Piece, after: Piece, moves: Sequence[Move], unit: LengthUnit) -> list[HandStep]:
    """The outline as it will be, then the darts on it."""
    marked = shifts(before, after, unit, of="outline")
    bare = replace(after, darts=())
    steps = []
    if marked:
        steps.append(
            HandStep(
                piece=after.kind,
                title="Draw the outline anew",
                sentences=(
                    *_held(moves),
                    *(one.sentence for one in marked),
                    "Mark these points and draw the new lines through them.",
                ),
                before=replace(before, darts=()),
                after=bare,
                marked=marked,
            )
        )
    if after.darts:
        told = (*dart_places(after, unit), "Mark ends and point, and draw the legs.")
        title = "Draw the darts" if len(after.darts) > 1 else "Draw the dart"
        steps.append(HandStep(piece=after.kind, title=title, sentences=told, before=bare, after=after))
    return steps


def _held(moves: Sequence[Move]) -> tuple[str, ...]:
    """What the drawing takes in, by the names that the report uses."""
    names = dict.fromkeys(
        move_title(move) for move in moves if abs(move.amount_mm) >= SMALL_MM and place_of(move) != EVERY_LINE
    )
    return (f"At once: {', '.join(names)}.",) if names else ()


def _alike(one: Piece, other: Piece) -> bool:
    return len(one.edges) == len(other.edges) and all(
        a.points.shape == b.points.shape for a, b in zip(one.edges, other.edges, strict=True)
    )


def _stretches(moves: list[Move]) -> list[list[Move]]:
    """Runs of moves whose outlines have the same points; a move that puts points in begins a new one."""
    out: list[list[Move]] = [[moves[0]]]
    for move in moves[1:]:
        if _alike(out[-1][-1].after, move.before) and _alike(move.before, move.after):
            out[-1].append(move)
        else:
            out.append([move])
    return out


def _groups(moves: list[Move]) -> list[tuple[str, list[Move]]]:
    """Slashes first, as they were made, then each place with all that is done there."""
    slashes: list[tuple[str, list[Move]]] = []
    places: dict[str, list[Move]] = {}
    for move in moves:
        place = place_of(move)
        if place:
            places.setdefault(place, []).append(move)
        else:
            slashes.append((move.move, [move]))
    return [*slashes, *places.items()]


def place_of(move: Move) -> str:
    """The place whose step a move belongs to; empty for one that slashes the paper by itself."""
    if move.move in _SLASHED or move.where.startswith("straight across between"):
        return ""
    for words, place in _PLACES:
        if words in move.where:
            return place
    return ""


def _moved(piece: Piece, moves: Sequence[Move]) -> Piece:
    """A piece with all that some moves did to its points done to it."""
    for move in moves:
        piece = replace(
            piece,
            edges=tuple(
                _edge(now, old, new)
                for now, old, new in zip(piece.edges, move.before.edges, move.after.edges, strict=True)
            ),
            darts=_darts(piece, move),
        )
    return piece


def _edge(now: Edge, old: Edge, new: Edge) -> Edge:
    points = now.points + new.points - old.points
    return replace(now, points=points, cut_points=points)


def _darts(piece: Piece, move: Move) -> tuple[Dart, ...]:
    if not len(piece.darts) == len(move.before.darts) == len(move.after.darts):
        return move.after.darts
    return tuple(
        replace(now, apexes=now.apexes + new.apexes - old.apexes, legs=now.legs + new.legs - old.legs)
        for now, old, new in zip(piece.darts, move.before.darts, move.after.darts, strict=True)
    )


def _step(place: str, group: list[Move], before: Piece, after: Piece, unit: LengthUnit) -> HandStep:
    first = replace(group[0], before=before, after=after)
    if place == UPPER_ARM:
        return _upper_arm(group, before, after, unit)
    if len(group) == 1 and not place_of(group[0]):
        laid = slashed(first)
        if laid is not None and laid.flat:
            where = cut_words(first, unit)
            return HandStep(
                piece=after.kind,
                title=move_title(group[0]).capitalize(),
                sentences=(group[0].sentence, *((where,) if where else ()), *dart_sentences(before, after, unit)),
                before=before,
                after=after,
                laid=laid,
                amount=format_fine_mm(abs(group[0].amount_mm), unit),
            )
    return _redrawn(place, before, after, unit)


def _redrawn(place: str, before: Piece, after: Piece, unit: LengthUnit) -> HandStep:
    darts = place == "darts"
    marked = shifts(before, after, unit, of="darts" if darts else "all")
    told = [one.sentence for one in marked if not one.name.startswith("leg of")]
    if darts:
        title = "Darts" if len(after.darts) > 1 else "Dart"
        told = [
            *dart_sentences(before, after, unit),
            *told,
            "Mark points and legs as in the picture and draw the legs.",
        ]
    else:
        title = f"Draw anew: {place}"
        told.append("Mark these points and draw the new line through them.")
    return HandStep(piece=after.kind, title=title, sentences=tuple(told), before=before, after=after, marked=marked)


def _upper_arm(group: list[Move], before: Piece, after: Piece, unit: LengthUnit) -> HandStep:
    """The four hinged parts, and the cap drawn anew over them."""
    wide = [move for move in group if "upper arm" in move.move]
    amount = sum(move.amount_mm for move in wide)
    found = None
    if wide and abs(amount) >= SMALL_MM:
        found = upper_arm_laid(replace(wide[0], before=before, after=after, amount_mm=amount))
    if found is None or not found[0].flat:
        return replace(_redrawn("cap", before, after, unit), title="Draw anew: cap")
    laid, through = found
    by, way = format_fine_mm(abs(amount), unit), "open" if amount > 0 else "lap"
    cut = (
        "Cut from the top of the cap down the middle, to a hinge at the wrist."
        if through
        else "Cut from the wrist up the middle, and across from underarm to underarm. Leave a hinge at each of the "
        "four ends."
    )
    return HandStep(
        piece=after.kind,
        title=f"{'Widen' if amount > 0 else 'Narrow'} the upper arm",
        sentences=(
            cut,
            f"{way.capitalize()} it by {by} along the underarm line."
            + ("" if through else f" The cut across {'laps' if amount > 0 else 'gapes'} by itself as you do."),
            "Then draw the cap anew, as in the picture: full line.",
        ),
        before=before,
        after=after,
        laid=laid,
        amount=by,
        told_once=True,
        marked=_cap_top(laid, after, unit),
    )


def _cap_top(laid: Slashed, after: Piece, unit: LengthUnit) -> tuple[Shift, ...]:
    """From the top of the cap as it lies to where it is drawn."""
    frame = shape_of(after).frame
    ends = [frame.to_local(np.array(part.exterior.coords)) for part in laid.parts]
    top = max((part[int(np.argmax(part[:, 1]))] for part in ends), key=lambda at: float(at[1]))
    cap = frame.to_local(after.edge("cap").points)
    new = cap[int(np.argmax(cap[:, 1]))]
    rise = float(new[1] - top[1])
    if abs(rise) < LEAST_MM[unit]:
        return ()
    start, end = frame.to_paper(np.array([[new[0], top[1]], new]))
    words = f"{format_fine_mm(abs(rise), unit)} {'up' if rise > 0 else 'down'}"
    return (Shift(name="top of the cap", start=start, end=end, words=words),)
