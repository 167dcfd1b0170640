"""What is drawn of a set of shapes: which halves, which darts, and where the drawing starts from."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from convert.block.shape.landmarks import SHORT_OF_BUST_POINT, bust_point, cap_height, wrist_name
from convert.block.shape.shape import Shape
from convert.block.trued.bodice import DartPlan
from convert.block.trued.unknowns import Unknowns

_REACH = 0.36  # of the chord, where a line's reaches start; their scale is a quarter of it
_SHORT_MM = (15.0, 40.0)  # how far a dart stops short of the bust point: 1/2 in to 1 1/2 in, see the checks
_EDGES: Mapping[str, tuple[tuple[str, str], ...]] = {  # edges in the order they are followed, each from its neighbour
    "bodice": (
        ("neckline", "centre"),
        ("shoulder", "neckline"),
        ("armhole", "shoulder"),
        ("side seam", "armhole"),
        ("waist", "centre"),
    ),
    "skirt": (("waist", "centre"),),
}
_DEG = np.pi / 180.0
# angles inside the back at the corners that two halves share, where they start and what they cost (degrees)
_SHARED: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "bodice": {"neck": (94.0, 4.0), "tip": (90.0, 3.0), "under": (90.0, 3.0), "low": (90.0, 2.0)},
    "skirt": {"skirt side": (90.0, 2.0), "hem side": (90.0, 1.0)},
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """Unknowns of a set, and the darts to be drawn on each half; ``hip_mm`` is waist to hip."""

    shapes: Mapping[str, Shape]
    unknowns: Unknowns
    darts: Mapping[str, tuple[DartPlan, ...]]
    hip_mm: float

    def has(self, *kinds: str) -> bool:
        """Whether all these kinds are drawn."""
        return all(kind in self.darts for kind in kinds)

    def paired(self, kind: str) -> bool:
        """Whether the other half is drawn too."""
        what = kind.split()[0]
        return self.has(f"{what} front", f"{what} back")


def drawable(shape: Shape) -> bool:
    """Whether truing knows how to draw a piece of this kind anew, with darts where this one has them."""
    what = shape.piece.kind.split()[0]
    on = [dart.on for dart in shape.piece.darts if dart.on is not None]
    if what == "bodice":
        return len(shape.names) == 6
    if what == "skirt":
        return len(shape.names) == 4 and set(on) <= {"waist"}
    return what == "sleeve" and len(shape.names) == 4 and not on


def plan_for(shapes: Mapping[str, Shape], hip_mm: float) -> Plan:
    """The plan for those shapes that can be drawn."""
    drawn = {kind: shape for kind, shape in shapes.items() if drawable(shape)}
    unknowns = Unknowns()
    darts: dict[str, tuple[DartPlan, ...]] = {}
    for kind, shape in drawn.items():
        what = kind.split()[0]
        if what == "sleeve":
            _sleeve(unknowns, shape)
            darts[kind] = ()
            continue
        darts[kind] = _darts(unknowns, shape, what)
        (_bodice if what == "bodice" else _skirt)(unknowns, shape, hip_mm)
    for what, corners in _SHARED.items():
        halves = [kind for kind in drawn if kind.startswith(what)]
        for name, (start, scale) in corners.items():
            if len(halves) == 2:
                unknowns.add(name, start * _DEG, scale * _DEG)
            elif halves:
                unknowns.add(f"{halves[0]} {name}", 90.0 * _DEG, scale * _DEG)
    return Plan(shapes=drawn, unknowns=unknowns, darts=darts, hip_mm=hip_mm)


def _at(shape: Shape, one: str, other: str) -> complex:
    u, v = shape.ring[shape.corner(one, other)]
    return complex(u, v)


def _reaches(unknowns: Unknowns, name: str, chord: float) -> None:
    for end in ("in", "out"):
        unknowns.add(f"{name} {end}", _REACH * chord, 0.25 * _REACH * chord)


def _point(unknowns: Unknowns, name: str, at: complex, scale: tuple[float, float]) -> None:
    unknowns.add(f"{name} u", at.real, scale[0])
    unknowns.add(f"{name} v", at.imag, scale[1])


def _bodice(unknowns: Unknowns, shape: Shape, _hip_mm: float) -> None:
    kind, centre = shape.piece.kind, shape.centre
    neck, snp = _at(shape, centre, "neckline"), _at(shape, "neckline", "shoulder")
    tip, under = _at(shape, "shoulder", "armhole"), _at(shape, "armhole", "side seam")
    low = _at(shape, "side seam", "waist")
    unknowns.add(f"{kind} neck v", neck.imag, 5.0)
    _point(unknowns, f"{kind} snp", snp, (3.0, 5.0))
    _point(unknowns, f"{kind} tip", tip, (4.0, 4.0))
    _point(unknowns, f"{kind} under", under, (6.0, 6.0))
    _point(unknowns, f"{kind} low", low, (6.0, 5.0))
    _reaches(unknowns, f"{kind} neckline", abs(snp - neck))
    _reaches(unknowns, f"{kind} armhole", abs(under - tip))
    _reaches(unknowns, f"{kind} waist", abs(low))


def _skirt(unknowns: Unknowns, shape: Shape, hip_mm: float) -> None:
    kind, centre = shape.piece.kind, shape.centre
    low, foot = _at(shape, "waist", "side seam"), _at(shape, "side seam", "hem")
    side = shape.ring[shape.run("side seam", "waist")][::-1]
    hip = complex(float(np.interp(-hip_mm, side[:, 1], side[:, 0])), -hip_mm)
    _point(unknowns, f"{kind} low", low, (6.0, 5.0))
    unknowns.add(f"{kind} hip u", hip.real, 6.0)
    _point(unknowns, f"{kind} foot", foot, (6.0, 4.0))
    unknowns.add(f"{kind} long", -_at(shape, centre, "hem").imag, 4.0)
    unknowns.add(f"{kind} lean", np.arctan2(1.4 * max(hip.real - low.real, 0.0), hip_mm), 3.0 * _DEG)
    _reaches(unknowns, f"{kind} waist", abs(low))
    _reaches(unknowns, f"{kind} hip curve", abs(hip - low))
    _reaches(unknowns, f"{kind} hem", foot.real)


def _sleeve(unknowns: Unknowns, shape: Shape) -> None:
    wide = 2.0 * abs(_at(shape, "cap", "underarm seam front").real)
    cap = shape.ring[shape.run("cap", "underarm seam front")]
    lower = wrist_name(shape)
    cuff, low = (abs(_at(shape, lower, "underarm seam front").real), _at(shape, lower, "underarm seam front").imag)
    crown = complex(float(cap[int(cap[:, 1].argmax()), 0]), cap_height(shape))
    unknowns.add("sleeve wide", wide, 4.0)
    unknowns.add("sleeve cuff", 2.0 * cuff, 4.0)
    unknowns.add("sleeve low", low, 4.0)
    _point(unknowns, "crown", crown, (8.0, 8.0))
    for side, end in (("front", wide / 2), ("back", -wide / 2)):
        _reaches(unknowns, f"{side} cap", abs(crown - end))
    _reaches(unknowns, "seam", abs(complex(wide / 2 - cuff, -low)))
    _reaches(unknowns, "wrist", 2.0 * cuff)


def _darts(unknowns: Unknowns, shape: Shape, what: str) -> tuple[DartPlan, ...]:
    kind = shape.piece.kind
    aims = kind == "bodice front"
    out = []
    single = sum(dart.on is not None for dart in shape.piece.darts) == 1
    point = bust_point(shape) if aims else np.zeros(2)
    for edge, neighbour in _EDGES[what]:
        run = shape.run(edge, shape.centre if neighbour == "centre" else neighbour)
        for number, _, _ in shape.mouths(run, edge):
            name = f"{kind} dart {number}"
            arms = shape.ring[shape.legs[number]] - shape.apexes[number]
            short = None
            if aims:
                own = float(np.hypot(*(shape.apexes[number] - point)))
                short = SHORT_OF_BUST_POINT if single else float(np.clip(own, *_SHORT_MM))
            way = shape.ring[shape.legs[number]].mean(0) - (point if aims else shape.apexes[number])
            unknowns.add(f"{name} way", float(np.arctan2(way[1], way[0])), 3.0 * _DEG)
            unknowns.add(f"{name} half", _half_angle(arms), 1.2 * _DEG)
            if short is None:
                _point(unknowns, name, complex(*shape.apexes[number]), (6.0, 8.0))
            out.append(DartPlan(number=number, on=edge, name=name, short=short))
    if aims and out:
        _point(unknowns, f"{kind} bust", complex(*point), (3.0, 3.0))
    return tuple(out)


def _half_angle(arms: np.ndarray) -> float:
    unit = arms / np.maximum(np.hypot(*arms.T), 1e-9)[:, None]
    return float(np.arccos(np.clip(unit[0] @ unit[1], -1.0, 1.0)) / 2.0)
