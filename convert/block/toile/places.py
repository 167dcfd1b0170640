"""Where a toile is pinned, let out, lengthened or moved, and which moves on which pieces that means.

The words are the trade's. Which way of counting an amount goes with which place is our own convention and is said back
to the maker: at a seam or a mark it is what the pins show, on each piece and alike on both sides of the body; at a
level (bust, waist, hip, upper arm, wrist, across back, across chest) it is the whole measurement.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from convert.block.moves import bodice, posture, sleeve
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import Rule
from convert.block.moves.skirt import skirt_rules
from convert.block.toile.pinch import pinch
from convert.block.toile.rules import drop_centre, shorten_darts
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

FRONT: tuple[PieceKind, ...] = ("bodice front",)
BACK: tuple[PieceKind, ...] = ("bodice back",)
BODICE: tuple[PieceKind, ...] = FRONT + BACK
SKIRT: tuple[PieceKind, ...] = ("skirt front", "skirt back")
SLEEVE: tuple[PieceKind, ...] = ("sleeve",)


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


def _said(*sets: str) -> tuple[frozenset[str], ...]:
    return tuple(frozenset(one.split("+")) for one in sets)


def _on(kinds: tuple[PieceKind, ...], *rules: Rule, share: float = 1.0) -> tuple[Part, ...]:
    return tuple(Part(kind=kind, rule=rule, share=share) for kind in kinds for rule in rules)


def toile_places(hip: float) -> Mapping[str, Place]:
    """Every place by name, for a body whose hip lies ``hip`` mm below the waist."""
    places = (*_seams(hip), *_girths(hip), *_lengths(hip), *_shoulders_and_neck(), *_darts(), *_sleeve())
    return {place.name: place for place in places}


def _seams(hip: float) -> tuple[Place, ...]:
    waist, wide, _, _ = skirt_rules(hip)
    out: tuple[Way, ...] = ("out",)
    inwards: tuple[Way, ...] = ("in",)
    underarm = _on(BODICE, bodice.WIDEN_AT_UNDERARM)
    at_waist, skirt_waist = _on(BODICE, bodice.WIDEN_AT_WAIST), _on(SKIRT, waist)
    at_hip = _on(SKIRT, wide)
    return (
        Place(
            name="side seam",
            said=_said("side seam", "side"),
            more=out,
            less=inwards,
            parts=underarm + at_waist + skirt_waist + at_hip,
        ),
        Place(
            name="side seam at the underarm",
            said=_said("side seam+underarm", "side seam+bust"),
            more=out,
            less=inwards,
            parts=underarm,
        ),
        Place(
            name="side seam at the waist",
            said=_said("side seam+waist"),
            more=out,
            less=inwards,
            parts=at_waist + skirt_waist,
        ),
        Place(
            name="side seam at the hip", said=_said("side seam+hip", "side+hip"), more=out, less=inwards, parts=at_hip
        ),
        Place(
            name="side seam from waist to hip",
            said=_said("side seam+waist+hip"),
            more=out,
            less=inwards,
            parts=at_waist + skirt_waist + at_hip,
            usual=SKIRT,
        ),
        Place(
            name="side seam from underarm to waist",
            said=_said("side seam+underarm+waist"),
            more=out,
            less=inwards,
            parts=underarm + at_waist,
        ),
        Place(
            name="armhole",
            said=_said("armhole", "armhole+underarm", "underarm"),
            more=("down",),
            less=("up",),
            parts=_on(BODICE, bodice.LOWER_ARMHOLE),
            most_mm=60.0,
        ),
        *(
            Place(
                name=f"{edge} pinched",
                phrase=edge,
                said=_said(edge, f"{edge}+underarm") if edge == "armhole" else _said(edge),
                more=("pinched",),
                less=("slashed",),
                parts=_on(BODICE, pinch(edge)),
                usual=FRONT,
                most_mm=30.0,
            )
            for edge in ("neckline", "armhole")
        ),
    )


def _girths(hip: float) -> tuple[Place, ...]:
    waist, wide, _, _ = skirt_rules(hip)
    levels = (
        ("bust", _said("bust"), _on(BODICE, bodice.WIDEN_AT_UNDERARM)),
        ("waist", _said("waist"), _on(BODICE, bodice.WIDEN_AT_WAIST) + _on(SKIRT, waist)),
        ("hip", _said("hip"), _on(SKIRT, wide)),
        ("full bust", _said("full bust", "bust"), _on(FRONT, ALTER_BUST)),
        ("across back", _said("across back"), _on(BACK, bodice.BROADEN_ACROSS)),
        ("across chest", _said("across chest"), _on(FRONT, bodice.BROADEN_ACROSS)),
        ("upper arm", _said("upper arm"), _on(SLEEVE, sleeve.WIDEN_UPPER_ARM)),
        ("wrist", _said("wrist"), _on(SLEEVE, sleeve.WIDEN_WRIST)),
    )
    return tuple(
        Place(
            name=name,
            said=said,
            more=("out", "slashed") if name == "full bust" else ("out",),
            less=("in",),
            parts=parts,
            counts="whole",
            most_mm=200.0,
        )
        for name, said, parts in levels
    )


def _lengths(hip: float) -> tuple[Place, ...]:
    _, _, long, _ = skirt_rules(hip)
    more: tuple[Way, ...] = ("longer",)
    less: tuple[Way, ...] = ("shorter",)
    return (
        Place(
            name="length above the waist",
            said=_said(
                "above+waist",
                "above+waist+length",
                "waist+length",
                "bodice",
                "bodice+length",
                "waist",
                "back waist length",
            ),
            more=("longer", "down"),
            less=("shorter", "up"),
            parts=_on(BODICE, bodice.LENGTHEN_BELOW),
        ),
        Place(
            name="length above the underarm",
            said=_said("above+underarm", "above+underarm+length", "above+bust", "above+armhole", "armhole+length"),
            more=more,
            less=less,
            parts=_on(BODICE, bodice.LENGTHEN_ABOVE),
            most_mm=60.0,
        ),
        Place(
            name="sway back",
            phrase="centre back at the waist",
            said=_said("centre back+waist", "sway back", "centre back+above+waist", "centre back+length+waist"),
            more=("shorter", "up"),
            less=("longer", "down"),
            parts=_on(BACK, posture.SWAY_BACK),
            most_mm=50.0,
            alone="shorter",
        ),
        Place(
            name="centre front at the waist",
            said=_said("centre front+waist", "centre front+above+waist"),
            more=("shorter", "up"),
            less=("longer", "down"),
            parts=_on(FRONT, posture.SWAY_BACK),
            most_mm=50.0,
        ),
        Place(
            name="skirt waist at the centre",
            phrase="waist at the centre",
            said=_said("centre back+waist", "centre front+waist", "waist+centre"),
            more=("shorter", "down"),
            less=("longer", "up"),
            parts=_on(SKIRT, drop_centre(hip)),
            most_mm=50.0,
        ),
        Place(
            name="round back",
            phrase="centre back at the shoulder blades",
            said=_said("centre back+shoulder blades", "shoulder blades", "round back", "round back+across back"),
            more=more,
            less=less,
            parts=_on(BACK, posture.ROUND_BACK),
            most_mm=50.0,
            alone="longer",
        ),
        Place(
            name="sleeve length",
            said=_said("sleeve", "sleeve+length", "wrist", "arm length", "sleeve+hem"),
            more=("longer", "down"),
            less=("shorter", "up"),
            parts=_on(SLEEVE, sleeve.LENGTHEN_SLEEVE),
            most_mm=300.0,
        ),
        Place(
            name="skirt length",
            said=_said("skirt", "skirt+length", "hem", "skirt+hem"),
            more=("longer", "down"),
            less=("shorter", "up"),
            parts=_on(SKIRT, long),
            most_mm=400.0,
        ),
    )


def _shoulders_and_neck() -> tuple[Place, ...]:
    slope = bodice.SLOPE_SHOULDER
    return (
        Place(
            name="shoulder length",
            said=_said("shoulder", "shoulder+length"),
            more=("longer",),
            less=("shorter",),
            parts=_on(BODICE, bodice.LENGTHEN_SHOULDER),
            most_mm=50.0,
        ),
        Place(
            name="shoulder slope",
            phrase="shoulder point",
            said=_said("shoulder", "shoulder point", "shoulder+shoulder point", "shoulder+slope"),
            more=("down",),
            less=("up",),
            parts=_on(BODICE, slope),
            most_mm=50.0,
        ),
        Place(
            name="forward shoulder",
            phrase="shoulder seam",
            said=_said("shoulder", "shoulder point", "forward shoulder"),
            more=("forward",),
            less=("backward",),
            parts=_on(BACK, slope, share=-1.0) + _on(FRONT, slope),
            most_mm=40.0,
            alone="forward",
        ),
        Place(
            name="neck width",
            phrase="neckline at the side neck point",
            said=_said("neckline", "neckline+length", "neckline+side neck point", "neckline+side", "side neck point"),
            more=("out",),
            less=("in",),
            parts=_on(BODICE, bodice.WIDEN_NECK),
            most_mm=50.0,
        ),
        Place(
            name="neck depth",
            phrase="neckline",
            said=_said("neckline", "neckline+centre front", "neckline+centre back"),
            more=("down",),
            less=("up",),
            parts=_on(BODICE, bodice.DEEPEN_NECK),
            usual=FRONT,
            most_mm=100.0,
        ),
        Place(
            name="bust point down",
            phrase="bust point",
            said=_said("bust point", "bust point+height", "side dart", "side dart+point"),
            more=("down",),
            less=("up",),
            parts=_on(FRONT, bodice.BUST_POINT_DOWN),
        ),
        Place(
            name="bust point out",
            phrase="bust point",
            said=_said("bust point"),
            more=("out",),
            less=("in",),
            parts=_on(FRONT, bodice.BUST_POINT_OUT),
            most_mm=50.0,
        ),
    )


def _darts() -> tuple[Place, ...]:
    points = (
        ("waist dart point", "waist dart", "waist", BODICE + SKIRT, BODICE),
        ("side dart point", "side dart", "side seam", FRONT, FRONT),
        ("shoulder dart point", "shoulder dart", "shoulder", BODICE, BODICE),
    )
    return (
        Place(
            name="waist darts",
            phrase="waist darts",
            said=_said("waist dart"),
            more=("in", "down"),  # a deeper dart takes in
            less=("out", "up"),
            parts=_on(BODICE + SKIRT, bodice.TAKE_IN_DARTS),
            usual=BODICE,
            counts="every dart",
            most_mm=50.0,
        ),
        *(
            Place(
                name=name,
                said=_said(said, f"{said}+point"),
                more=("shorter",),
                less=("longer",),
                parts=_on(kinds, shorten_darts(on)),
                usual=usual,
            )
            for name, said, on, kinds, usual in points
        ),
    )


def _sleeve() -> tuple[Place, ...]:
    return (
        Place(
            name="crown",
            said=_said("crown"),
            more=("up", "longer"),
            less=("down", "shorter"),
            parts=_on(SLEEVE, sleeve.RAISE_CROWN),
            most_mm=60.0,
        ),
    )
