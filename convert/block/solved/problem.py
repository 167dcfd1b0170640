"""Moves with unknown amounts, and what the set of pieces measures after them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from convert.block.measured.measure import measure_shapes
from convert.block.moves import bodice, sleeve
from convert.block.moves import dress as dress_moves
from convert.block.moves.change import Rule
from convert.block.moves.skirt import skirt_rules
from convert.block.moves.trousers import trousers_rules
from convert.block.shape import dress, trousers
from convert.block.shape.landmarks import across, net, underarm, width_below_waist
from convert.block.shape.shape import Shape, coarse
from convert.block.shape.truing import Corner, true_corners, true_dart_legs

Amounts = npt.NDArray[np.float64]
Shapes = Mapping[str, Shape]

LEAST_INTAKE = 6.0  # mm: our choice, because a narrower waist dart is hard to sew to a point
WIDER_DART = 50.0  # mm more than the pattern's, at most, in each waist dart


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One move of the list: its rule, the least and the most of it (mm), how dear a millimetre of it is.

    ``serves`` names the kind of change it makes; front and back steps that serve the same share a change.
    """

    kind: str
    rule: Rule
    least: float
    most: float
    cost: float = 1.0
    serves: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Problem:
    """Pieces (after the bust alteration), steps in the order in which a cutter takes them, corner angles to keep."""

    shapes: Shapes
    steps: tuple[Step, ...]
    angles: Mapping[str, Mapping[Corner, float]]
    waist_to_hip: float | None
    drawn: frozenset[str] = frozenset()

    def moved(self, amounts: Amounts, *, only: str | None = None, rest: Shapes | None = None) -> dict[str, Shape]:
        """Shapes after all moves and the truing; with ``only`` one kind anew, the others taken from ``rest``."""
        out = dict(rest or {})
        for kind in self.shapes if only is None else (only,):
            shape = self.shapes[kind]
            for step, amount in zip(self.steps, amounts, strict=True):
                if step.kind == kind and amount != 0.0:
                    shape = step.rule.make(shape, float(amount)).after
            out[kind] = self.trued(kind, shape)
        return out

    def coarse(self) -> "Problem":
        """The same with fewer points where the lines are drawn anew afterwards: quicker to solve."""
        thin = {kind: coarse(shape) if kind in self.drawn else shape for kind, shape in self.shapes.items()}
        return replace(self, shapes=thin)

    def trued(self, kind: str, shape: Shape) -> Shape:
        """Dart legs made equal; corners kept too on a piece whose lines are not drawn anew afterwards."""
        legs = true_dart_legs(shape)
        return legs if kind in self.drawn else true_corners(legs, self.angles[kind])

    def found(self, shapes: Shapes) -> dict[str, float]:
        """All measurements and pairs of a set of shapes."""
        return {**measure_shapes(shapes, waist_to_hip=self.waist_to_hip), **pairs(shapes), **self._halves(shapes)}

    def _halves(self, shapes: Shapes) -> dict[str, float]:
        return half_girths(shapes, self.waist_to_hip)


def pairs(shapes: Shapes) -> dict[str, float]:
    """Differences between seams that are sewn to each other, mm."""
    out = {}
    if {"bodice front", "bodice back"} <= set(shapes):
        front, back = shapes["bodice front"], shapes["bodice back"]
        out["shoulder, back longer"] = net(back, "shoulder") - net(front, "shoulder")
        out["side seam, back longer"] = net(back, "side seam") - net(front, "side seam")
    if {dress.FRONT, dress.BACK} <= set(shapes):
        front, back = shapes[dress.FRONT], shapes[dress.BACK]
        out["shoulder, back longer"] = net(back, "shoulder") - net(front, "shoulder")
        out["dress side, back longer"] = net(back, "side seam") - net(front, "side seam")
        above = dress.side_to_waist(back) - dress.side_to_waist(front)
        if np.isfinite(above):
            out["dress side above the waist, back longer"] = above
    if "sleeve" in shapes:
        seams = [net(shapes["sleeve"], f"underarm seam {side}") for side in ("front", "back")]
        out["underarm seams, back longer"] = seams[1] - seams[0]
    if {"skirt front", "skirt back"} <= set(shapes):
        front, back = shapes["skirt front"], shapes["skirt back"]
        out["skirt side, back longer"] = net(back, "side seam") - net(front, "side seam")
    if {trousers.FRONT, trousers.BACK} <= set(shapes):
        front, back = shapes[trousers.FRONT], shapes[trousers.BACK]
        out["trousers side, back longer"] = net(back, "side seam") - net(front, "side seam")
        out["inseam, back longer"] = net(back, "inseam") - net(front, "inseam")
    if {"bodice front", "bodice back", "skirt front", "skirt back"} <= set(shapes):
        skirt, bodices = (
            sum(net(shapes[f"{what} {side}"], "waist") for side in ("front", "back")) for what in ("skirt", "bodice")
        )
        out["skirt waist minus bodice waist"] = 2.0 * (skirt - bodices)
    elif lone := _lone_skirt(shapes):
        out[f"{lone} waist minus bodice waist"] = net(shapes[lone], "waist") - net(shapes[_above(lone)], "waist")
    return out


def _above(skirt: str) -> str:
    """The half bodice that a half skirt is sewn to."""
    return skirt.replace("skirt", "bodice")


def _lone_skirt(shapes: Shapes) -> str | None:
    """A half skirt without the other, if the half bodice that it is sewn to is there."""
    halves = [kind for kind in ("skirt front", "skirt back") if kind in shapes]
    return halves[0] if len(halves) == 1 and _above(halves[0]) in shapes else None


def half_girths(shapes: Shapes, waist_to_hip: float | None) -> dict[str, float]:
    """Half widths of pieces whose partner is missing, by level and kind."""
    out = {}
    for kind, shape in shapes.items():
        what, _, side = kind.partition(" ")
        partner = f"{what} {'back' if side == 'front' else 'front'}"
        if what == "sleeve" or partner in shapes:
            continue
        if what == "bodice":
            out[f"bust of the {kind}"] = across(shape, underarm(shape))
            out[f"waist of the {kind}"] = net(shape, "waist")
            out[f"neck of the {kind}"] = net(shape, "neckline")
        if what == "dress":
            out[f"bust of the {kind}"] = across(shape, underarm(shape))
            out[f"neck of the {kind}"] = net(shape, "neckline")
            level = dress.waist_level(shape)
            if np.isfinite(level):
                out[f"waist of the {kind}"] = dress.width_at(shape, level)
                if waist_to_hip:
                    out[f"hip of the {kind}"] = dress.width_at(shape, level - waist_to_hip)
        if what == "trousers":
            out |= trousers.half_of_leg(shape, waist_to_hip)
        if what == "skirt":
            if kind != _lone_skirt(shapes):  # whose waist is the bodice's
                out[f"waist of the {kind}"] = net(shape, "waist")
            if waist_to_hip:
                out[f"hip of the {kind}"] = width_below_waist(shape, waist_to_hip)
    return out


def steps_for(shapes: Shapes, *, hip: float, apex_moves: bool) -> tuple[Step, ...]:
    """Steps for a set of pieces, in the order of the trade: lengths, widths, girths, sleeve, skirt."""
    bodices = [kind for kind in ("bodice front", "bodice back") if kind in shapes]
    steps: list[Step] = []
    steps += [s for rule, least, most, cost, serves in _BODICE for s in _on(bodices, rule, least, most, cost, serves)]
    if apex_moves:
        down, out = bodice.BUST_POINT_DOWN, bodice.BUST_POINT_OUT
        steps.append(Step(kind="bodice front", rule=down, least=-80, most=90))
        steps.append(Step(kind="bodice front", rule=out, least=-60, most=60))
    steps += [_darts(kind, shapes[kind]) for kind in bodices if shapes[kind].darts_on("waist")]
    steps += _dress_steps(shapes, hip)
    if "sleeve" in shapes:
        steps += [
            Step(kind="sleeve", rule=rule, least=least, most=most, cost=cost) for rule, least, most, cost in _SLEEVE
        ]
    skirts = [kind for kind in ("skirt front", "skirt back") if kind in shapes]
    waist, wide, long, side = skirt_rules(hip)
    for rule, least, most, cost, serves in (
        (long, -300, 500, 1.0, "skirt length"),
        (wide, -110, 170, 1.0, "hip side"),
        (waist, -130, 170, 1.0, "skirt waist side"),
        (side, -25, 35, 1.0, "skirt side height"),
    ):
        steps += _on(skirts, rule, least, most, cost, serves)
    steps += [_darts(kind, shapes[kind]) for kind in skirts if shapes[kind].darts_on("waist")]
    return (*steps, *_trousers_steps(shapes, hip))


def _trousers_steps(shapes: Mapping[str, Shape], hip: float) -> list[Step]:
    """Steps on trousers: depth and length of the crotch, hip, waist, the leg's widths, its length."""
    legs = [kind for kind in (trousers.FRONT, trousers.BACK) if kind in shapes]
    rules = trousers_rules(hip)
    steps = [
        one for serves, least, most, cost in _TROUSERS for one in _on(legs, rules[serves], least, most, cost, serves)
    ]
    return steps + [_darts(kind, shapes[kind]) for kind in legs if shapes[kind].darts_on("waist")]


def _dress_steps(shapes: Mapping[str, Shape], hip: float) -> list[Step]:
    """Steps on a dress in one piece: a bodice's above the underarm, below it what its own waist allows."""
    there = [kind for kind in (dress.FRONT, dress.BACK) if kind in shapes]
    steps = [
        one
        for rule, least, most, cost, serves in _BODICE
        if rule in _ABOVE_UNDERARM
        for one in _on(there, rule, least, most, cost, serves)
    ]
    waisted = [kind for kind in there if np.isfinite(dress.waist_level(shapes[kind]))]
    waist, wide, long = dress_moves.dress_rules(hip)
    for rule, least, most, serves in (
        (dress_moves.LENGTHEN_ABOVE_WAIST, -110, 130, "below"),
        (dress_moves.WIDEN_AT_UNDERARM, -70, 130, "bust side"),
        (waist, -90, 160, "waist side"),
        (wide, -110, 170, "hip side"),
        (long, -400, 500, "skirt length"),
    ):
        steps += _on(waisted, rule, least, most, 1.0, serves)
    for kind in waisted:
        wides = [float(np.hypot(*(one.legs[1] - one.legs[0]))) for one in dress.double_darts(shapes[kind])]
        if wides:
            rule, spare = dress_moves.TAKE_IN_DOUBLE_DARTS, min(wides) - LEAST_INTAKE
            narrower = -max(0.0, spare) / max(wides) * sum(wides)
            steps.append(Step(kind=kind, rule=rule, least=narrower, most=WIDER_DART * len(wides), serves="darts"))
    return steps


def couplings(steps: Sequence[Step]) -> list[tuple[int, int, float]]:
    """Pairs of steps that shall be alike, with how strongly: front as back, the side seam's upper end as its lower."""
    index = {(step.kind, step.serves): i for i, step in enumerate(steps) if step.serves}
    out = []
    for (kind, serves), i in index.items():
        if kind.endswith("front"):
            j = index.get((kind.replace("front", "back"), serves))
            if j is not None:
                out.append((i, j, 3.0))
        for upper, lower in _ALONG_A_SEAM:
            if serves == upper and (kind, lower) in index:
                out.append((i, index[kind, lower], 0.7))
    return out


_ALONG_A_SEAM = (
    ("bust side", "waist side"),
    ("hip side", "skirt waist side"),
    ("trousers hip side", "trousers waist side"),
)
_BODICE: tuple[tuple[Rule, float, float, float, str], ...] = (
    (bodice.LENGTHEN_ABOVE, -80, 110, 1.0, "above"),
    (bodice.LENGTHEN_BELOW, -110, 130, 1.0, "below"),
    (bodice.BROADEN_ACROSS, -45, 70, 1.0, "across"),
    (bodice.LENGTHEN_SHOULDER, -50, 60, 1.0, "shoulder"),
    (bodice.WIDEN_NECK, -25, 40, 1.0, "neck"),
    (bodice.WIDEN_AT_UNDERARM, -110, 130, 1.0, "bust side"),
    (bodice.WIDEN_AT_WAIST, -110, 160, 1.0, "waist side"),
)
_ABOVE_UNDERARM = (bodice.LENGTHEN_ABOVE, bodice.BROADEN_ACROSS, bodice.LENGTHEN_SHOULDER, bodice.WIDEN_NECK)
_SLEEVE: tuple[tuple[Rule, float, float, float], ...] = (
    (sleeve.LENGTHEN_SLEEVE, -450, 250, 1.0),
    (sleeve.WIDEN_UPPER_ARM, -120, 250, 1.0),
    (sleeve.WIDEN_WRIST, -120, 200, 1.0),
    (sleeve.RAISE_CROWN, -70, 90, 1.0),
    (sleeve.EVEN_SEAMS, -8, 8, 3.0),
)


_TROUSERS: tuple[tuple[str, float, float, float], ...] = (
    ("crotch depth", -90, 120, 1.0),
    ("tilt", -60, 90, 2.0),
    ("fork", -60, 90, 1.5),
    ("fork height", -25, 25, 8.0),
    ("trousers hip side", -110, 170, 1.0),
    ("trousers waist side", -130, 170, 1.0),
    ("trousers side height", -25, 35, 2.0),
    ("leg", -150, 200, 1.0),
    ("leg hem", -400, 200, 1.0),
    ("leg length", -700, 400, 1.0),
)


def _on(kinds: Sequence[str], rule: Rule, least: float, most: float, cost: float, serves: str) -> list[Step]:
    return [Step(kind=kind, rule=rule, least=least, most=most, cost=cost, serves=serves) for kind in kinds]


def _darts(kind: str, shape: Shape) -> Step:
    """Waist darts of a piece: never narrower than can be sewn, nor wider than cloth bears."""
    mouths = [shape.ring[shape.legs[i]] for i in shape.darts_on("waist")]
    intakes = np.array([float(np.hypot(*(legs[1] - legs[0]))) for legs in mouths])
    spare = float(np.clip(intakes - LEAST_INTAKE, 0.0, None).min() / max(intakes.max(), 1e-9) * intakes.sum())
    return Step(
        kind=kind, rule=bodice.TAKE_IN_DARTS, least=-spare, most=WIDER_DART * len(intakes), cost=1.0, serves="darts"
    )
