"""A place of the toile: what it is called, how it is said, which way it goes, and the moves that it means."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from convert.block.moves.change import Rule
from convert.piece.piece import PieceKind

Way = Literal["out", "in", "down", "up", "longer", "shorter", "forward", "backward", "pinched", "slashed"]
Counts = Literal["each", "whole", "every dart"]

WAY_WORDS: Mapping[Way, tuple[str, ...]] = {
    "out": ("out", "wider", "widen", "widened", "broader", "broaden", "looser", "loosen", "larger", "bigger", "fuller")
    + ("increase",),
    "in": ("in", "narrower", "narrow", "narrowed", "tighter", "tighten", "smaller", "reduce"),
    "down": ("down", "lower", "lowered", "drop", "dropped", "deeper", "deepen", "downwards"),
    "up": ("up", "raise", "raised", "higher", "upwards", "lift", "lifted", "square", "squarer"),
    "longer": ("longer", "lengthen", "lengthened"),
    "shorter": ("shorter", "shorten", "shortened"),
    "forward": ("forward", "forwards"),
    "backward": ("backward", "backwards"),
    "pinched": (),
    "slashed": (),
}
"""What the trade calls each way of changing; words of several meanings stand in the vocabulary."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One move that a place means on one kind of piece; ``share`` of the amount, negative for the other way."""

    kind: PieceKind
    rule: Rule
    share: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place of the toile.

    Attributes
    ----------
    name
        What it is called.
    phrase
        How a sentence of a fitting names it; the name if empty.
    said
        Sets of words that mean it (see :mod:`convert.block.toile_words`).
    more, less
        Ways that mean a positive and a negative amount.
    parts
        The moves.
    usual
        Pieces meant where none is named; every piece it has, if empty.
    counts
        "each": what is pinned on each piece; "whole": the whole measurement, shared by the pieces; "every dart".
    most_mm
        A larger amount is refused.
    alone
        The way that is meant where none is said ("sway back: 1 cm").
    """

    name: str
    said: tuple[frozenset[str], ...]
    more: tuple[Way, ...]
    less: tuple[Way, ...]
    parts: tuple[Part, ...]
    usual: tuple[PieceKind, ...] = ()
    counts: Counts = "each"
    most_mm: float = 80.0
    alone: Way | None = None
    phrase: str = ""

    @property
    def kinds(self) -> tuple[PieceKind, ...]:
        """The pieces it can be on."""
        return tuple(dict.fromkeys(part.kind for part in self.parts))


def phrases(*sets: str) -> tuple[frozenset[str], ...]:
    """What a maker may write for a place: each a set of concepts joined by "+"."""
    return tuple(frozenset(one.split("+")) for one in sets)


def on(kinds: tuple[PieceKind, ...], *rules: Rule, share: float = 1.0) -> tuple[Part, ...]:
    """These moves on these pieces."""
    return tuple(Part(kind=kind, rule=rule, share=share) for kind in kinds for rule in rules)
