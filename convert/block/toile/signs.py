"""What a sign on the toile may come from: two or three usual causes, each with the change that would mend it.

A fitter tries them with pins, in this order; none is done by itself. Source: common practice throughout. One table for
every kind of piece: a garment's own signs are a further row.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from convert.block.toile.places import Way


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One thing that a sign may come from.

    Attributes
    ----------
    why
        The cause, and how pins show that it is this one.
    place, way
        What would be changed (:func:`convert.block.toile.places.toile_places`), and which way; no place where it is
        only sewn in another way.
    on
        The pieces it is done on; those the place usually means if empty.
    """

    why: str
    place: str = ""
    way: Way | None = None
    on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """What is seen where: any of ``seen`` at any of the sets of words ``where``; an empty set is anywhere."""

    seen: tuple[str, ...]
    where: tuple[frozenset[str], ...]
    causes: tuple[Cause, ...]


def _cause(why: str, place: str, way: Way, *on: str) -> Cause:
    return Cause(why=why, place=place, way=way, on=on)


def _sign(seen: str, where: str, *causes: Cause) -> Sign:
    sets = tuple(frozenset(part for part in one.strip().split("+") if part) for one in where.split("|"))
    return Sign(seen=tuple(one.strip() for one in seen.split("|")), where=sets, causes=causes)


_FRONT, _BACK, _SKIRT_BACK, _SKIRT_FRONT = "bodice front", "bodice back", "skirt back", "skirt front"
_PINCH_NECK = _cause(
    "The neckline is longer than the body there. Pin a small fold from the neckline towards the bust point: if it lies "
    "flat, it is this.",
    "neckline pinched",
    "pinched",
    _FRONT,
)
_NECK_WIDE = _cause(
    "The neck is cut too wide. The neckline lies away from the neck at the side, before it gapes in front.",
    "neck width",
    "in",
)
_SLOPE = _cause(
    "The shoulder slopes more than the block. Pin a fold at the shoulder point: if the lines go, it is this.",
    "shoulder slope",
    "down",
)
_SQUARE = _cause(
    "The shoulder is squarer than the block. Open the shoulder seam at its outer end: if the lines go, it is this.",
    "shoulder slope",
    "up",
)
_BUST_ROOM = _cause(
    "The bust needs more room than the front has. The centre front pulls up and the side seam forward too.",
    "full bust",
    "out",
    _FRONT,
)
_BUST_GIRTH = _cause(
    "The whole bodice is tight at the bust, the back as well. Open the side seams there: if the lines go, it is this.",
    "bust",
    "out",
)
_ROUND = _cause(
    "The back is rounder than the block, and the cloth too short over the shoulder blades. Slash across them: if the "
    "back drops into its place, it is this.",
    "round back",
    "longer",
    _BACK,
)
_SWAY = _cause(
    "The back is hollow at the waist. Pin a fold across at the centre back, to nothing at the side: if it lies flat, "
    "it is this.",
    "sway back",
    "shorter",
    _BACK,
)
_LONG_WAIST = _cause(
    "The bodice is too long above the waist all round. A fold pinned all round must lie level.",
    "length above the waist",
    "shorter",
)
_SHORT_WAIST = _cause(
    "The bodice is too short above the waist all round. Tie a tape round the waist: the seam lies above it everywhere.",
    "length above the waist",
    "longer",
)
_ARMHOLE_LOWER = _cause(
    "The armhole is too high under the arm. Snip it there, a little at a time: if it eases, it is this.",
    "armhole",
    "down",
)
_BACK_WIDE = _cause(
    "The back is too wide from armhole to armhole. Pin an upright fold between the shoulder blades and the armhole.",
    "across back",
    "in",
    _BACK,
)
_CHEST_WIDE = _cause(
    "The front is too wide from armhole to armhole. Pin an upright fold between bust and armhole.",
    "across chest",
    "in",
    _FRONT,
)
_BUST_WIDE = _cause(
    "The whole bodice is too wide at the bust. Pin the side seams in evenly, front and back.", "bust", "in"
)
_WAIST_WIDE = _cause("There is too much round the waist. Pin the side seams in evenly, front and back.", "waist", "in")
_ARM_WIDE = _cause("The sleeve is too wide for the arm. Pin an upright fold along it.", "upper arm", "in")
_BACK_NARROW = _cause(
    "The back is too narrow from armhole to armhole. Measure it again with the arms forward.",
    "across back",
    "out",
    _BACK,
)
_CHEST_NARROW = _cause(
    "The front is too narrow from armhole to armhole. The armhole edge cuts into the arm in front.",
    "across chest",
    "out",
    _FRONT,
)
_CROWN_UP = _cause(
    "The cap is too low. Open the armhole seam over the top of the arm: if the folds go, it is this.",
    "crown",
    "up",
)
_CROWN_DOWN = _cause(
    "The cap is too high, and there is more of it than the armhole takes. Pin a fold straight across the cap.",
    "crown",
    "down",
)
_ARM_ROOM = _cause(
    "The sleeve is too tight round the upper arm. Less than two fingers go in beside the arm.",
    "upper arm",
    "out",
)
_HIP_ROOM = _cause(
    "The skirt is too tight at the hip, and climbs to where there is room. Open the side seams there: if it drops, it "
    "is this.",
    "hip",
    "out",
)
_SKIRT_LIFT_BACK = _cause(
    "The skirt is too long at the centre back above the hip. Pin a fold below the waist there: if it hangs straight, "
    "it is this.",
    "skirt waist at the centre",
    "down",
    _SKIRT_BACK,
)
_SKIRT_DROP_BACK = _cause(
    "The seat takes up length, and the waist is pulled down at the centre back. Let the skirt down from the waist "
    "there: if it hangs straight, it is this.",
    "skirt waist at the centre",
    "up",
    _SKIRT_BACK,
)
_SKIRT_DROP_FRONT = _cause(
    "The stomach takes up length, and the hem is lifted in front. Let the skirt down from the waist at the centre "
    "front: if it hangs straight, it is this.",
    "skirt waist at the centre",
    "up",
    _SKIRT_FRONT,
)
_SKIRT_DARTS_OUT = _cause(
    "The waist darts take in too much for the figure below them. Unpick one: if the lines go, it is this.",
    "waist darts",
    "out",
    _SKIRT_FRONT,
)
_HIP_LESS = _cause(
    "The skirt is too wide at the hip. Pin the side seams in evenly on both sides: if the folds go, it is this.",
    "hip",
    "in",
)
_DARTS_IN = _cause(
    "The waist darts take in too little. Pin them wider below the bust: if it lies flat, it is this.",
    "waist darts",
    "in",
    _FRONT,
)
_BUST_LESS = _cause(
    "The front has more room than the bust fills. Pinch the cloth at the bust point: if a fold stands up, it is this.",
    "full bust",
    "in",
    _FRONT,
)
_FRONT_SHORT = _cause(
    "The front is too short at the centre for the bust or the stomach below it.",
    "centre front at the waist",
    "longer",
    _FRONT,
)
_DART_SHORTER = _cause(
    "The dart ends too near the bust point. A finger's breadth or two short of it, the end lies flat.",
    "side dart point",
    "shorter",
    _FRONT,
)
_DART_LOWER = _cause(
    "The dart points beside the bust point. Mark the bust point on the toile and look.",
    "bust point down",
    "down",
    _FRONT,
)
_PINCH_ARMHOLE_FRONT = _cause(
    "The armhole is longer than the body there. Pin a small fold from it towards the bust point in front, the shoulder "
    "blade behind: if it lies flat, it is this.",
    "armhole pinched",
    "pinched",
)
_PINCH_ARMHOLE_BACK = _cause(
    "The armhole is longer than the body at the back. Pin a small fold from it towards the shoulder blade: if it lies "
    "flat, it is this.",
    "armhole pinched",
    "pinched",
    _BACK,
)
_NECK_DEEPER = _cause(
    "The neckline lies too high. Snip it a little at a time: if it drops to the hollow of the neck, it is this.",
    "neck depth",
    "down",
)
_NECK_WIDER = _cause(
    "The neck is too narrow at the sides. The seam stands up against the neck below the ear.",
    "neck width",
    "out",
)
_BACK_NECK_UP = _cause(
    "The back neck is cut too low, or too high for the nape: mark the nape on the toile and look.",
    "neck depth",
    "down",
    _BACK,
)

_SIDE_EVEN = _cause(
    "Front and back are not shared out as on the body. Unpin the side seam and let it hang plumb: take off one "
    "what the other needs.",
    "side seam",
    "out",
    _FRONT,
)
_BACK_SEAT = _cause(
    "The seat needs more width behind. Open the side seam at the hip on the back only: if the seam hangs plumb, it is "
    "this.",
    "side seam at the hip",
    "out",
    _SKIRT_BACK,
)

_TURN_SLEEVE = Cause(
    why="The sleeve is set in with its top too far forward or too far back. Unpin it over the shoulder and turn it "
    "until its grain hangs plumb. Mark its top anew; nothing else of the paper changes.",
)

_ANY_FOLD = "fold|drag|pull|crossfold"
SIGNS_SEEN: tuple[Sign, ...] = (
    _sign("gape", "neckline", _PINCH_NECK, _NECK_WIDE, _SLOPE),
    _sign("gape", "neckline+back|centre back+neckline", _NECK_WIDE, _ROUND, _SQUARE),
    _sign(f"{_ANY_FOLD}", "neckline+back|neckline+below+back|neckline+shoulder", _SQUARE, _BACK_NECK_UP, _ROUND),
    _sign("cut in|tight|pull", "neckline", _NECK_DEEPER, _NECK_WIDER),
    _sign(
        _ANY_FOLD,
        "neckline+armhole|shoulder+armhole|shoulder|shoulder point|side neck point+armhole|side neck point+underarm|"
        "neckline+underarm|side neck point",
        _SLOPE,
        _SQUARE,
    ),
    _sign("drag|pull", "shoulder point+neckline|shoulder+neckline", _SQUARE, _SLOPE),
    _sign("ride up", "shoulder|bodice|shoulder+bodice|waist+bodice|", _SQUARE, _SHORT_WAIST, _ARMHOLE_LOWER),
    _sign(
        _ANY_FOLD,
        "bust|bust+side|bust+side seam|bust point|bust point+side seam|bust point+side|bust+underarm|"
        "bust point+underarm",
        _BUST_ROOM,
        _BUST_GIRTH,
    ),
    _sign("ride up", "front|front+waist|centre front|centre front+waist", _BUST_ROOM, _FRONT_SHORT, _SHORT_WAIST),
    _sign("bubble|baggy|fullness", "side dart|side dart+point|bust point|dart|dart+point", _DART_SHORTER, _DART_LOWER),
    _sign(
        f"{_ANY_FOLD}|gape",
        "armhole+bust point|armhole+bust|armhole+front+bust",
        _BUST_ROOM,
        _PINCH_ARMHOLE_FRONT,
        _SLOPE,
    ),
    _sign("baggy|fold|crossfold|loose|fullness", "below+bust|front+below+bust|bust+baggy", _DARTS_IN, _BUST_LESS),
    _sign("baggy|fullness|bubble", "bust|bust+front|front|across chest", _BUST_LESS, _DARTS_IN),
    _sign("gape|poke out|swing", "centre front|centre front+front", _BUST_ROOM, _FRONT_SHORT),
    _sign(
        "fold|crossfold|baggy|fullness",
        "back+waist|back+above+waist|back|centre back|centre back+waist",
        _SWAY,
        _LONG_WAIST,
    ),
    _sign("crossfold|fold|baggy", "waist|above+waist|bodice|bodice+waist", _LONG_WAIST, _SWAY),
    _sign("ride up", "back|back+waist|centre back|centre back+waist", _ROUND, _SHORT_WAIST),
    _sign("pull|drag|tight", "across back|shoulder blades|back", _BACK_NARROW, _ROUND),
    _sign("pull|drag|tight", "across chest|front", _CHEST_NARROW, _BUST_ROOM),
    _sign("arm raised", "|sleeve|bodice|armhole", _ARMHOLE_LOWER, _CROWN_DOWN, _BACK_NARROW),
    _sign("gape|baggy|fullness", "armhole|armhole+front|front+armhole+bust", _PINCH_ARMHOLE_FRONT, _BUST_ROOM, _SLOPE),
    _sign("gape|baggy|fullness", "armhole+back", _PINCH_ARMHOLE_BACK, _ROUND, _SLOPE),
    _sign(
        "cut in|tight|pull|small",
        "armhole|underarm|armhole+underarm|armhole+front",
        _ARMHOLE_LOWER,
        _CHEST_NARROW,
        _BACK_NARROW,
    ),
    _sign("swing", "side seam|side seam+front|side seam+back|side|side seam+seat", _BUST_ROOM, _BACK_SEAT, _SIDE_EVEN),
    _sign("ride up", "skirt|skirt+waist|skirt+hip|hip", _HIP_ROOM, _SKIRT_DROP_BACK),
    _sign("crossfold|fold", "skirt|skirt+waist|skirt+below+waist|below+waist|hip", _HIP_ROOM, _SKIRT_LIFT_BACK),
    _sign("dip", "hem|hem+back|skirt|skirt+back|skirt+hem+back", _SKIRT_LIFT_BACK, _HIP_ROOM),
    _sign(
        "poke out|ride up|gape",
        "hem+front|skirt+front|skirt+hem|hem|skirt+hem+front",
        _SKIRT_DROP_FRONT,
        _SKIRT_LIFT_BACK,
    ),
    _sign("ride up|poke out", "hem+back|skirt+hem+back", _SKIRT_DROP_BACK, _HIP_ROOM),
    _sign("fold|crossfold|baggy|cup", "seat|seat+back|seat+skirt", _SKIRT_LIFT_BACK, _HIP_LESS, _HIP_ROOM),
    _sign("cup", "|skirt|hip|back", _HIP_ROOM, _SKIRT_LIFT_BACK),
    _sign(
        "drag|pull|fold|crossfold|tight",
        "hip+stomach|stomach|hip|hip+side seam|skirt+stomach",
        _HIP_ROOM,
        _SKIRT_DARTS_OUT,
        _SKIRT_DROP_FRONT,
    ),
    _sign(_ANY_FOLD, "crown|sleeve|sleeve+crown|upper arm|sleeve+upper arm", _ARM_ROOM, _CROWN_DOWN, _CROWN_UP),
    _sign("drag|pull|fold", "crown+underarm|sleeve+underarm|crown+sleeve+underarm", _CROWN_UP, _ARM_ROOM),
    _sign("upfold", "back|across back|shoulder blades", _BACK_WIDE, _BUST_WIDE),
    _sign("upfold", "front|across chest|bust", _CHEST_WIDE, _BUST_WIDE, _BUST_LESS),
    _sign("upfold", "waist|back+waist|bodice", _WAIST_WIDE, _BUST_WIDE),
    _sign("upfold", "skirt|hip|seat", _HIP_LESS, _WAIST_WIDE),
    _sign("upfold", "sleeve|crown|upper arm", _ARM_WIDE, _CROWN_DOWN),
    _sign(
        "swing",
        "sleeve|sleeve+front|sleeve+back",
        _TURN_SLEEVE,
        _CROWN_UP,
    ),
    _sign("fullness|bubble|baggy|loose", "crown|sleeve|sleeve+crown", _CROWN_DOWN, _ARM_ROOM),
)
"""Signs by what is seen and where; of several that fit, the one whose place says most counts."""


def likely_causes(seen: Iterable[str], words: frozenset[str]) -> tuple[Cause, ...]:
    """The causes of the sign that fits best what is ``seen`` at a place of these ``words``; none if no sign fits."""
    there = set(seen)
    fitting = [
        (len(where), -number, sign.causes)
        for number, sign in enumerate(SIGNS_SEEN)
        if there & set(sign.seen)
        for where in sign.where
        if where <= words
    ]
    return max(fitting, key=lambda one: one[:2])[2] if fitting else ()
