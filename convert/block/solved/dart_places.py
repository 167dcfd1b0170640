"""All the fullness of a front brought to the place that its maker wants: one dart, or two."""

import numpy as np

from convert.block.block import Move
from convert.block.moves.darts import move_dart
from convert.block.shape.shape import Shape, piece_of, shape_of
from convert.block.shape.truing import true_dart_legs
from convert.block.solved.choices import BackDartPlace, DartPlace
from convert.body.card import LengthUnit
from convert.piece.piece import EdgeName, Piece

_SHARED = 0.5  # of the waist dart's intake, that goes to the side where there is no side dart yet; common practice


def place_darts(shape: Shape, place: DartPlace, *, unit: LengthUnit = "cm") -> tuple[Shape, tuple[Move, ...]]:
    """Pivot every dart of a bodice front to the place wanted, about the bust point.

    Raises
    ------
    InputError
        If a dart can't be moved there.
    """
    piece, moves = piece_of(shape), []
    keep: tuple[EdgeName, ...] = ("waist", "side seam") if place == "waist and side seam" else (place,)
    while (dart := _elsewhere(piece, keep)) is not None:
        piece, move = move_dart(piece, dart, keep[-1], unit=unit)
        moves.append(move)
    if len(keep) == 2:
        for here, there in (keep, keep[::-1]):
            on = [i for i, one in enumerate(piece.darts) if one.on == here]
            if on and not any(one.on == there for one in piece.darts):
                widest = max(on, key=lambda i: piece.darts[i].intake)
                piece, move = move_dart(piece, widest, there, part=_SHARED, unit=unit)
                moves.append(move)
    if not moves:
        return shape, ()
    return true_dart_legs(shape_of(piece)), tuple(moves)


def place_back_dart(shape: Shape, place: BackDartPlace, *, unit: LengthUnit = "cm") -> tuple[Shape, tuple[Move, ...]]:
    """Pivot the darts of a bodice back that shape the shoulder blade to one place, about their own points.

    A back without any is left as it is: its shoulder is eased, and a dart can't be made of that.
    """
    piece, moves = piece_of(shape), []
    while True:
        others = [i for i, dart in enumerate(piece.darts) if dart.on in _UPPER and dart.on != place]
        if not others:
            break
        piece, move = move_dart(piece, others[0], place, unit=unit)
        moves.append(move)
    return (true_dart_legs(shape_of(piece)), tuple(moves)) if moves else (shape, ())


_UPPER = ("shoulder", "neckline", "armhole")


def _elsewhere(piece: Piece, keep: tuple[EdgeName, ...]) -> int | None:
    """The widest dart that is not where it shall be."""
    others = [i for i, dart in enumerate(piece.darts) if dart.on is not None and dart.on not in keep]
    return others[int(np.argmax([piece.darts[i].intake for i in others]))] if others else None
