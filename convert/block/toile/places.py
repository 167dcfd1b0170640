"""Where a toile is pinned, let out, lengthened or moved, and which moves on which pieces that means.

The words are the trade's. Which way of counting an amount goes with which place is our own convention and is said back
to the maker: at a seam or a mark it is what the pins show, on each piece and alike on both sides of the body; at a
level (bust, waist, hip, upper arm, wrist, across back, across chest) it is the whole measurement.
"""

from collections.abc import Mapping

from convert.block.moves import bodice, posture, sleeve
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.skirt import skirt_rules
from convert.block.toile.leg_places import leg_places
from convert.block.toile.pinch import pinch
from convert.block.toile.place import Place, Way, on, phrases
from convert.block.toile.rules import drop_centre, shorten_darts
from convert.piece.piece import PieceKind

FRONT: tuple[PieceKind, ...] = ("bodice front",)
BACK: tuple[PieceKind, ...] = ("bodice back",)
BODICE: tuple[PieceKind, ...] = FRONT + BACK
SKIRT: tuple[PieceKind, ...] = ("skirt front", "skirt back")
SLEEVE: tuple[PieceKind, ...] = ("sleeve",)


def toile_places(hip: float) -> Mapping[str, Place]:
    """Every place by name, for a body whose hip lies ``hip`` mm below the waist."""
    bodice_and_skirt = (*_seams(hip), *_girths(hip), *_lengths(hip), *_shoulders_and_neck(), *_darts())
    places = (*bodice_and_skirt, *_sleeve(), *leg_places(hip))
    return {place.name: place for place in places}


def _seams(hip: float) -> tuple[Place, ...]:
    waist, wide, _, _ = skirt_rules(hip)
    out: tuple[Way, ...] = ("out",)
    inwards: tuple[Way, ...] = ("in",)
    underarm = on(BODICE, bodice.WIDEN_AT_UNDERARM)
    at_waist, skirt_waist = on(BODICE, bodice.WIDEN_AT_WAIST), on(SKIRT, waist)
    at_hip = on(SKIRT, wide)
    return (
        Place(
            name="side seam",
            said=phrases("side seam", "side"),
            more=out,
            less=inwards,
            parts=underarm + at_waist + skirt_waist + at_hip,
        ),
        Place(
            name="side seam at the underarm",
            said=phrases("side seam+underarm", "side seam+bust"),
            more=out,
            less=inwards,
            parts=underarm,
        ),
        Place(
            name="side seam at the waist",
            said=phrases("side seam+waist"),
            more=out,
            less=inwards,
            parts=at_waist + skirt_waist,
        ),
        Place(
            name="side seam at the hip", said=phrases("side seam+hip", "side+hip"), more=out, less=inwards, parts=at_hip
        ),
        Place(
            name="side seam from waist to hip",
            said=phrases("side seam+waist+hip"),
            more=out,
            less=inwards,
            parts=at_waist + skirt_waist + at_hip,
            usual=SKIRT,
        ),
        Place(
            name="side seam from underarm to waist",
            said=phrases("side seam+underarm+waist"),
            more=out,
            less=inwards,
            parts=underarm + at_waist,
        ),
        Place(
            name="armhole",
            said=phrases("armhole", "armhole+underarm", "underarm"),
            more=("down",),
            less=("up",),
            parts=on(BODICE, bodice.LOWER_ARMHOLE),
            most_mm=60.0,
        ),
        *(
            Place(
                name=f"{edge} pinched",
                phrase=edge,
                said=phrases(edge, f"{edge}+underarm") if edge == "armhole" else phrases(edge),
                more=("pinched",),
                less=("slashed",),
                parts=on(BODICE, pinch(edge)),
                usual=FRONT,
                most_mm=30.0,
            )
            for edge in ("neckline", "armhole")
        ),
    )


def _girths(hip: float) -> tuple[Place, ...]:
    waist, wide, _, _ = skirt_rules(hip)
    levels = (
        ("bust", phrases("bust"), on(BODICE, bodice.WIDEN_AT_UNDERARM)),
        ("waist", phrases("waist"), on(BODICE, bodice.WIDEN_AT_WAIST) + on(SKIRT, waist)),
        ("hip", phrases("hip"), on(SKIRT, wide)),
        ("full bust", phrases("full bust", "bust"), on(FRONT, ALTER_BUST)),
        ("across back", phrases("across back"), on(BACK, bodice.BROADEN_ACROSS)),
        ("across chest", phrases("across chest"), on(FRONT, bodice.BROADEN_ACROSS)),
        ("upper arm", phrases("upper arm"), on(SLEEVE, sleeve.WIDEN_UPPER_ARM)),
        ("wrist", phrases("wrist"), on(SLEEVE, sleeve.WIDEN_WRIST)),
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
            said=phrases(
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
            parts=on(BODICE, bodice.LENGTHEN_BELOW),
        ),
        Place(
            name="length above the underarm",
            said=phrases("above+underarm", "above+underarm+length", "above+bust", "above+armhole", "armhole+length"),
            more=more,
            less=less,
            parts=on(BODICE, bodice.LENGTHEN_ABOVE),
            most_mm=60.0,
        ),
        Place(
            name="sway back",
            phrase="centre back at the waist",
            said=phrases("centre back+waist", "sway back", "centre back+above+waist", "centre back+length+waist"),
            more=("shorter", "up"),
            less=("longer", "down"),
            parts=on(BACK, posture.SWAY_BACK),
            most_mm=50.0,
            alone="shorter",
        ),
        Place(
            name="centre front at the waist",
            said=phrases("centre front+waist", "centre front+above+waist"),
            more=("shorter", "up"),
            less=("longer", "down"),
            parts=on(FRONT, posture.SWAY_BACK),
            most_mm=50.0,
        ),
        Place(
            name="skirt waist at the centre",
            phrase="waist at the centre",
            said=phrases("centre back+waist", "centre front+waist", "waist+centre"),
            more=("shorter", "down"),
            less=("longer", "up"),
            parts=on(SKIRT, drop_centre(hip)),
            most_mm=50.0,
        ),
        Place(
            name="round back",
            phrase="centre back at the shoulder blades",
            said=phrases("centre back+shoulder blades", "shoulder blades", "round back", "round back+across back"),
            more=more,
            less=less,
            parts=on(BACK, posture.ROUND_BACK),
            most_mm=50.0,
            alone="longer",
        ),
        Place(
            name="sleeve length",
            said=phrases("sleeve", "sleeve+length", "wrist", "arm length", "sleeve+hem"),
            more=("longer", "down"),
            less=("shorter", "up"),
            parts=on(SLEEVE, sleeve.LENGTHEN_SLEEVE),
            most_mm=300.0,
        ),
        Place(
            name="skirt length",
            said=phrases("skirt", "skirt+length", "hem", "skirt+hem"),
            more=("longer", "down"),
            less=("shorter", "up"),
            parts=on(SKIRT, long),
            most_mm=400.0,
        ),
    )


def _shoulders_and_neck() -> tuple[Place, ...]:
    slope = bodice.SLOPE_SHOULDER
    return (
        Place(
            name="shoulder length",
            said=phrases("shoulder", "shoulder+length"),
            more=("longer",),
            less=("shorter",),
            parts=on(BODICE, bodice.LENGTHEN_SHOULDER),
            most_mm=50.0,
        ),
        Place(
            name="shoulder slope",
            phrase="shoulder point",
            said=phrases("shoulder", "shoulder point", "shoulder+shoulder point", "shoulder+slope"),
            more=("down",),
            less=("up",),
            parts=on(BODICE, slope),
            most_mm=50.0,
        ),
        Place(
            name="forward shoulder",
            phrase="shoulder seam",
            said=phrases("shoulder", "shoulder point", "forward shoulder"),
            more=("forward",),
            less=("backward",),
            parts=on(BACK, slope, share=-1.0) + on(FRONT, slope),
            most_mm=40.0,
            alone="forward",
        ),
        Place(
            name="neck width",
            phrase="neckline at the side neck point",
            said=phrases("neckline", "neckline+length", "neckline+side neck point", "neckline+side", "side neck point"),
            more=("out",),
            less=("in",),
            parts=on(BODICE, bodice.WIDEN_NECK),
            most_mm=50.0,
        ),
        Place(
            name="neck depth",
            phrase="neckline",
            said=phrases("neckline", "neckline+centre front", "neckline+centre back"),
            more=("down",),
            less=("up",),
            parts=on(BODICE, bodice.DEEPEN_NECK),
            usual=FRONT,
            most_mm=100.0,
        ),
        Place(
            name="bust point down",
            phrase="bust point",
            said=phrases("bust point", "bust point+height", "side dart", "side dart+point"),
            more=("down",),
            less=("up",),
            parts=on(FRONT, bodice.BUST_POINT_DOWN),
        ),
        Place(
            name="bust point out",
            phrase="bust point",
            said=phrases("bust point"),
            more=("out",),
            less=("in",),
            parts=on(FRONT, bodice.BUST_POINT_OUT),
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
            said=phrases("waist dart"),
            more=("in", "down"),  # a deeper dart takes in
            less=("out", "up"),
            parts=on(BODICE + SKIRT, bodice.TAKE_IN_DARTS),
            usual=BODICE,
            counts="every dart",
            most_mm=50.0,
        ),
        *(
            Place(
                name=name,
                said=phrases(said, f"{said}+point"),
                more=("shorter",),
                less=("longer",),
                parts=on(kinds, shorten_darts(edge)),
                usual=usual,
            )
            for name, said, edge, kinds, usual in points
        ),
    )


def _sleeve() -> tuple[Place, ...]:
    return (
        Place(
            name="crown",
            said=phrases("crown"),
            more=("up", "longer"),
            less=("down", "shorter"),
            parts=on(SLEEVE, sleeve.RAISE_CROWN),
            most_mm=60.0,
        ),
    )
