"""Places of a toile of trousers: what its fitting shows at crotch, seat, leg and hem (the trade's usual words)."""

from convert.block.moves.bodice import TAKE_IN_DARTS
from convert.block.moves.trousers import trousers_rules
from convert.block.toile.place import Place, Way, on, phrases
from convert.block.toile.rules import shorten_darts
from convert.piece.piece import PieceKind

FRONT: tuple[PieceKind, ...] = ("trousers front",)
BACK: tuple[PieceKind, ...] = ("trousers back",)
_LEG = phrases("leg", "leg+length", "trousers", "trousers+length", "hem")
LEGS: tuple[PieceKind, ...] = FRONT + BACK


def leg_places(hip: float) -> tuple[Place, ...]:
    """Every place of trousers whose hip lies ``hip`` mm below the waist."""
    rules = trousers_rules(hip)
    lengths: tuple[tuple[str, str, tuple[frozenset[str], ...], tuple[Way, ...], str], ...] = (
        (
            "crotch depth",
            "crotch",
            phrases("crotch", "crotch+length"),
            ("down", "longer"),
            "crotch depth",
        ),
        (
            "leg length",
            "leg",
            phrases("leg", "leg+length", "trousers", "trousers+length", "hem"),
            ("longer", "down"),
            "leg length",
        ),
    )
    at_seams = (
        ("trousers side seam", "side seam", phrases("side seam", "side seam+hip"), "trousers hip side"),
        ("trousers waist at the side", "side seam at the waist", phrases("side seam+waist"), "trousers waist side"),
        ("fork", "fork", phrases("fork", "inseam", "inseam+fork", "crotch+fork"), "fork"),
    )
    girths = (
        ("trousers waist", "waist", phrases("waist"), "trousers waist side"),
        ("seat", "seat", phrases("seat", "hip"), "trousers hip side"),
        ("thigh", "thigh", phrases("thigh"), "fork"),
    )
    return (
        *(
            Place(
                name=name,
                phrase=phrase,
                said=words,
                more=more,
                less=("up", "shorter") if more[0] == "down" else ("shorter", "up"),
                parts=on(LEGS, rules[serves]),
                most_mm=400.0 if name == "leg length" else 60.0,
            )
            for name, phrase, words, more, serves in lengths
        ),
        *(
            Place(name=name, phrase=phrase, said=words, more=("out",), less=("in",), parts=on(LEGS, rules[serves]))
            for name, phrase, words, serves in at_seams
        ),
        *(
            Place(
                name=name,
                phrase=phrase,
                said=words,
                more=("out",),
                less=("in",),
                parts=on(LEGS, rules[serves], share=2.0 if name == "thigh" else 1.0),
                counts="whole",
                most_mm=200.0,
            )
            for name, phrase, words, serves in girths
        ),
        Place(
            name="knee",
            said=phrases("knee"),
            more=("out",),
            less=("in",),
            parts=on(LEGS, rules["leg"], share=2.0),
            counts="whole",
            most_mm=200.0,
        ),
        Place(
            name="leg hem",
            phrase="hem of the leg",
            said=phrases("hem", "leg+hem", "ankle"),
            more=("out",),
            less=("in",),
            parts=on(LEGS, rules["leg hem"], share=2.0),
            counts="whole",
            most_mm=300.0,
        ),
        Place(
            name="centre back of the trousers",
            phrase="centre back at the waist",
            said=phrases("centre back+waist", "seat+length"),
            more=("longer", "up"),
            less=("shorter", "down"),
            parts=on(BACK, rules["tilt"]),
            most_mm=60.0,
        ),
        Place(
            name="centre front of the trousers",
            phrase="centre front at the waist",
            said=phrases("centre front+waist"),
            more=("longer", "up"),
            less=("shorter", "down"),
            parts=on(FRONT, rules["tilt"]),
            most_mm=60.0,
        ),
        Place(
            name="trousers waist darts",
            phrase="waist darts",
            said=phrases("waist dart"),
            more=("in", "down"),
            less=("out", "up"),
            parts=on(LEGS, TAKE_IN_DARTS),
            counts="every dart",
            most_mm=50.0,
        ),
        Place(
            name="trousers dart point",
            phrase="waist dart point",
            said=phrases("waist dart", "waist dart+point"),
            more=("shorter",),
            less=("longer",),
            parts=on(LEGS, shorten_darts("waist")),
        ),
    )
