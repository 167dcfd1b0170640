"""A line with its darts folded shut: drawn through the folds as one curve and opened again, as at the table.

Each dart is closed by turning what lies beyond it about its point; the line is drawn on the folded paper from end to
end and crosses every fold without a corner, and both legs come out equally long.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from convert.block.trued.curve import Complex, Real, cubic_nodes, lengths, points_at, root


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fold:
    """A dart, many trials at once: its point (B,), the unit way from there to the middle of its mouth, half its angle.

    ``sense`` is +1 where the line is followed with the piece on its left, -1 with the piece on its right.
    """

    apex: Complex
    axis: Complex
    half: Real
    sense: int

    @property
    def turn(self) -> Complex:
        """What closes the dart: the turn (B,) of all that lies beyond it, as a unit complex number."""
        return np.asarray(np.exp(-2j * self.sense * self.half))

    @property
    def first_leg(self) -> Complex:
        """Unit way (B,) along the leg that is met first."""
        return np.asarray(self.axis * np.exp(-1j * self.sense * self.half))

    @property
    def second_leg(self) -> Complex:
        """Unit way (B,) along the other leg."""
        return np.asarray(self.axis * np.exp(1j * self.sense * self.half))

    def closed(self, points: Complex) -> Complex:
        """Points (B, ...) beyond the dart once it is shut."""
        return _turned(points, self.apex, self.turn)

    def opened(self, points: Complex) -> Complex:
        """The way back."""
        return _turned(points, self.apex, self.turn.conj())


def _turned(points: Complex, about: Complex, turn: Complex) -> Complex:
    if points.ndim > about.ndim:
        about, turn = about[:, None], turn[:, None]
    return np.asarray(about + (points - about) * turn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """A line of a piece on its folded paper: nodes (B, 4), its darts in order, where it crosses each (B,)."""

    nodes: Complex
    folds: tuple[Fold, ...] = ()
    crossings: tuple[Real, ...] = ()
    legs: tuple[Real, ...] = ()
    """Length (B,) of the legs of each dart."""
    sewn: Real
    """Sewn length (B,), mm."""

    def sewn_to(self, dart: int) -> Real:
        """Sewn length (B,) from the start to a dart: by chords, to about a hundredth of a millimetre."""
        t = self.crossings[dart][:, None] * np.linspace(0.0, 1.0, 49)
        return np.asarray(np.abs(np.diff(points_at(self.nodes, t), axis=1)).sum(1))

    def intake(self, dart: int) -> Real:
        """Width (B,) of a dart's mouth."""
        return np.asarray(2.0 * self.legs[dart] * np.sin(self.folds[dart].half))

    def open_points(self, t: Real, beyond: int) -> Complex:
        """Points (B, S) of the folded line where they lie on the open paper, ``beyond`` so many darts."""
        out = points_at(self.nodes, t)
        for i in range(beyond):
            out = self._flat(i).opened(out)
        return out

    def _flat(self, i: int) -> Fold:
        return self.folds[i]


def line_through(
    start: Complex,
    way_in: Complex,
    end: Complex,
    way_out: Complex,
    reach: tuple[Real, Real],
    folds: Sequence[Fold] = (),
) -> Line:
    """The line from ``start`` to ``end`` (where they lie on the open paper) as one cubic on the folded paper."""
    far, out = end, way_out
    for fold in folds[::-1]:
        far, out = fold.closed(far), out * fold.turn
    nodes = cubic_nodes(start, way_in, far, out, reach)
    return _crossed(nodes, folds)


def straight(start: Complex, end: Complex, folds: Sequence[Fold] = ()) -> Line:
    """The same, straight on the folded paper."""
    far = end
    for fold in folds[::-1]:
        far = fold.closed(far)
    return _crossed(np.stack([start, (2 * start + far) / 3, (start + 2 * far) / 3, far], axis=-1), folds)


def _crossed(nodes: Complex, folds: Sequence[Fold]) -> Line:
    crossings, legs = [], []
    for i, fold in enumerate(folds):
        apex, leg = fold.apex, fold.first_leg
        for nearer in folds[:i][::-1]:
            apex, leg = nearer.closed(apex), leg * nearer.turn
        t = root(nodes, apex, leg)
        crossings.append(t)
        legs.append(np.maximum(((points_at(nodes, t[:, None])[:, 0] - apex) * leg.conj()).real, 1.0))
    return Line(nodes=nodes, folds=tuple(folds), crossings=tuple(crossings), legs=tuple(legs), sewn=lengths(nodes))


def way_at_start(start: Complex, end: Complex, folds: Sequence[Fold] = ()) -> Complex:
    """Unit way (B,) in which a line that is straight on the folded paper leaves its start."""
    chord = end
    for fold in folds[::-1]:
        chord = fold.closed(chord)
    chord = chord - start
    return np.asarray(chord / np.abs(chord))


def way_at_end(start: Complex, end: Complex, folds: Sequence[Fold] = ()) -> Complex:
    """Unit way (B,) in which such a line reaches its end, on the open paper."""
    way = way_at_start(start, end, folds)
    for fold in folds:
        way = way * fold.turn.conj()
    return np.asarray(way)
