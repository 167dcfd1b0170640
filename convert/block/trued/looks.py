"""The shape of a block looked at as a cutter does: darts folded, seams laid together, lines followed with the eye."""

from collections.abc import Mapping, Sequence

import numpy as np

from calibration.ground.points import Points, lengths_along, nearest_on_line
from convert.block.block import Check
from convert.block.shape.landmarks import net, side_at
from convert.block.shape.shape import Shape
from convert.block.trued.laid import (
    LONG_MM,
    SHORT_MM,
    corner_deg,
    headings,
    off_chord,
    stretches,
    surplus,
    turns,
    way,
)
from convert.block.trued.limits import BETWEEN, DARTS, JOINS, LINES, SECOND_BEND_DEG, SKIRT_DARTS_MM, SQUARE
from convert.piece.piece import Piece

Shapes = Mapping[str, Shape]
_PARTNERS = ("bodice", "skirt", "dress")
_OVER = {
    "neckline": ("shoulder",),
    "armhole": ("shoulder", "side seam"),
    "waist": ("side seam",),
    "hem": ("side seam",),
}
_BEFORE = {
    "neckline": "centre",
    "shoulder": "neckline",
    "armhole": "shoulder",
    "side seam": "armhole",
    "waist": "centre",
    "hem": "centre",
    "cap": "underarm seam front",
}
_LEAST_MM = 20.0  # a shorter stretch has no bend that could be judged


def between(check: str, value: float, low: float, high: float, where: str, unit: str = "mm") -> Check:
    """A check of a value between two ends; its limit is the end that it is nearer to."""
    value = float(value)
    limit = low if abs(value - low) < abs(value - high) and low != 0.0 else high
    return Check(check=check, value=value, limit=limit, where=where, sound=bool(low <= value <= high), unit=unit)


def listed(check: str, value: float, where: str, unit: str = "mm") -> Check:
    """A check whose limits stand in the table."""
    return between(check, value, *BETWEEN[check], where, unit)


def shape_checks(shapes: Shapes) -> list[Check]:
    """All that can be seen of the shape of these pieces."""
    out = _joins(shapes)
    for kind, shape in shapes.items():
        out += _lines(kind, shape)
        if kind != "sleeve":
            out += _corners(kind, shape) + _darts(kind, shape)
    front, back = shapes.get("bodice front"), shapes.get("bodice back")
    if front is not None and back is not None:
        out += _bodice(front, back)
    if "skirt front" in shapes and "skirt back" in shapes:
        out += _skirt(shapes)
    return out + _on_each_other(shapes)


def meets(shape: Shape, one: str, other: str) -> bool:
    """Whether two edges of a piece share a corner."""
    if not (shape.has(one) and shape.has(other)):
        return False
    gap = abs(shape.names.index(one) - shape.names.index(other))
    return gap in (1, len(shape.names) - 1)


def _worse(values: Sequence[float], limits: tuple[float, float]) -> tuple[float, float]:
    """Of the values over 15 and over 50 mm the one further out of its limit, with that limit."""
    k = int(np.argmax([abs(value) / limit for value, limit in zip(values, limits, strict=True)]))
    return values[k], limits[k]


def _bend(check: str, values: Sequence[float], limits: tuple[float, float], where: str) -> Check:
    value, limit = _worse(values, limits)
    return Check(check=check, value=value, limit=limit, where=where, sound=abs(value) <= limit, unit="degrees")


def _joins(shapes: Shapes) -> list[Check]:
    out = []
    for what in _PARTNERS:
        halves = [shapes[f"{what} {side}"] for side in ("front", "back") if f"{what} {side}" in shapes]
        for edge, seams in _OVER.items() if len(halves) == 2 else ():
            for seam in seams:
                if all(meets(half, edge, seam) for half in halves):
                    bends = [sum(corner_deg(h, edge, seam, r) for h in halves) - 180.0 for r in (SHORT_MM, LONG_MM)]
                    out.append(_bend(f"{edge} smooth across the {seam}", bends, JOINS[edge], f"{what} {seam}"))
    sleeve = shapes.get("sleeve")
    for edge in ("cap", "wrist", "hem") if sleeve is not None else ():
        if sleeve is not None and all(meets(sleeve, edge, f"underarm seam {side}") for side in ("front", "back")):
            bends = [
                sum(corner_deg(sleeve, edge, f"underarm seam {side}", reach) for side in ("front", "back")) - 180.0
                for reach in (SHORT_MM, LONG_MM)
            ]
            name = "wrist" if edge == "hem" else edge
            out.append(_bend(f"{edge} smooth across the underarm seam", bends, JOINS[name], "sleeve"))
    return out


def _corners(kind: str, shape: Shape) -> list[Check]:
    out = []
    named = (("neckline", shape.centre, "neckline"), ("waist", shape.centre, "waist"), ("hem", shape.centre, "hem"))
    ends = (("armhole", "shoulder", "shoulder end"), ("armhole", "side seam", "underarm"))
    for edge, other, key in named + ends:
        if meets(shape, edge, other):
            off = [corner_deg(shape, edge, other, reach) - 90.0 for reach in (SHORT_MM, LONG_MM)]
            word = "centre meets square" if key == edge else f"{key} square"
            out.append(_bend(word, off, SQUARE[key], f"{kind}, {edge}"))
    line = shape.ring[shape.run(shape.centre, shape.names[shape.names.index(shape.centre) - 1])]
    out.append(listed("centre line straight", off_chord(line), kind))
    if shape.piece.grainline is not None:
        lean = shape.frame.to_local(shape.piece.grainline)
        off_grain = float(np.degrees(np.arctan2(*(lean[1] - lean[0]))))
        out.append(listed("grain along the centre", (off_grain + 90.0) % 180.0 - 90.0, kind, "degrees"))
    return out


def _lines(kind: str, shape: Shape) -> list[Check]:
    out = []
    for edge, neighbour in _BEFORE.items():
        before = shape.centre if neighbour == "centre" and kind != "sleeve" else neighbour
        before = "waist" if edge == "side seam" and kind.startswith("skirt") else before
        if not meets(shape, edge, before):
            continue
        parts = stretches(shape, edge, before)
        if edge == "shoulder":
            out.append(listed("shoulder straight", max(off_chord(line) for line in parts.lines), kind))
            continue
        key = f"{kind.split()[0]} {edge}" if edge == "side seam" else edge
        if key in LINES:
            out += _line(kind, edge, key, [line for line in parts.lines if lengths_along(line)[-1] >= _LEAST_MM])
            if edge in ("armhole", "neckline") and not parts.darts:
                bent = turns(headings(parts.lines[0]))
                second = surplus(np.concatenate([[0.0], bent, [0.0]]), 2)
                out.append(between(f"{edge} has one bend", second, 0.0, SECOND_BEND_DEG, kind, "degrees"))
    return out


def _line(kind: str, edge: str, key: str, lines: Sequence[Points]) -> list[Check]:
    changes, back, turn, ends = LINES[key]
    if not lines:
        return []
    where = f"{kind}, {edge}"
    wave = max(surplus(headings(line), changes + 1) for line in lines)
    inner = [line for line in (_without_ends(line, ends) for line in lines) if line is not None]
    tight = max((float(turns(headings(line)).max()) for line in inner), default=0.0)
    return [
        between(f"{edge} without wave", wave, 0.0, back, where, "degrees"),
        between(f"{edge} without corner", tight, 0.0, turn, where, "degrees"),
    ]


def _without_ends(line: Points, ends: float) -> Points | None:
    along = lengths_along(line)
    if along[-1] < 20.0 + 2 * ends:
        return None
    at = np.concatenate([[ends], along[(along > ends) & (along < along[-1] - ends)], [along[-1] - ends]])
    return np.column_stack([np.interp(at, along, line[:, k]) for k in (0, 1)])


def _darts(kind: str, shape: Shape) -> list[Check]:
    out = []
    for edge, neighbour in _BEFORE.items():
        before = shape.centre if neighbour == "centre" else neighbour
        before = "waist" if edge == "side seam" and kind.startswith("skirt") else before
        if not shape.darts_on(edge) or not meets(shape, edge, before):
            continue
        parts = stretches(shape, edge, before)
        for i, (dart, near, far) in enumerate(parts.darts):
            out += _dart(kind, shape, dart, (near, far), (parts.lines[i], parts.lines[i + 1]))
    return out


def _dart(kind: str, shape: Shape, dart: int, ends: tuple[Points, Points], sides: tuple[Points, Points]) -> list[Check]:
    on, apex = shape.piece.darts[dart].on, shape.apexes[dart]
    where = f"{kind}, {on} dart"
    arms = [apex - end for end in ends]
    legs = [float(np.hypot(*arm)) for arm in arms]
    units = [arm / leg for arm, leg in zip(arms, legs, strict=True)]
    out = [listed("dart legs equal", legs[0] - legs[1], where)]
    if min(lengths_along(side)[-1] for side in sides) > 3.0:
        bends = []
        for reach in (SHORT_MM, LONG_MM):
            meet = (way(sides[0][::-1], reach), way(sides[1], reach))
            angles = [np.degrees(np.arccos(np.clip(w @ u, -1, 1))) for w, u in zip(meet, units, strict=True)]
            bends.append(float(sum(angles)) - 180.0)
        out.append(_bend("edge runs on over the closed dart", bends, JOINS["dart"], where))
    name = _dart_name(kind, str(on))
    if name:
        least, most, widest = DARTS[name]
        angle = float(np.degrees(np.arccos(np.clip(units[0] @ units[1], -1, 1))))
        out.append(between(f"{name} taken in", float(np.hypot(*(ends[1] - ends[0]))), least, most, where))
        out.append(between(f"{name} angle", angle, 0.0, widest, where, "degrees"))
    return out


def _dart_name(kind: str, on: str) -> str:
    if kind == "bodice back":
        return "back waist dart" if on == "waist" else "shoulder blade dart"
    return {"bodice front": "bust dart", "skirt front": "skirt dart", "skirt back": "skirt dart"}.get(kind, "")


def _angle_of(shape: Shape, dart: int) -> float:
    arms = shape.ring[shape.legs[dart]] - shape.apexes[dart]
    return float(np.degrees(np.arccos(np.clip(arms[0] @ arms[1] / np.prod(np.hypot(*arms.T)), -1, 1))))


def open_above(shape: Shape) -> bool:
    """Whether a wide dart above the armhole's foot keeps breadths from being read off the flat paper."""
    upper = [i for edge in ("shoulder", "neckline", "armhole") for i in shape.darts_on(edge)]
    return any(_angle_of(shape, i) > 13.0 for i in upper)


def _bodice(front: Shape, back: Shape) -> list[Check]:
    out, leans, wide = [], {}, 0.0
    for shape in (front, back):
        kind = shape.piece.kind
        under, low = shape.ring[shape.corner("armhole", "side seam")], shape.ring[shape.corner("side seam", "waist")]
        hole = shape.ring[shape.run("armhole", "shoulder")]
        if not open_above(shape):
            hollow = hole[0, 0] - hole[:, 0].min()
            out.append(listed("armhole hollow below the shoulder end", hollow, kind))
        wide += float(under[0] - hole[:, 0].min())
        lower = [i for edge in ("waist", "side seam") for i in shape.darts_on(edge)]
        if all(_angle_of(shape, i) <= 20.0 for i in lower):
            leans[kind] = float(np.degrees(np.arctan2(under[0] - low[0], under[1] - low[1])))
            out.append(listed("side seam leans", leans[kind], kind, "degrees"))
    if len(leans) == 2:
        apart = leans["bodice front"] - leans["bodice back"]
        out.append(listed("front and back side seams lean alike", apart, "bodice side seams", "degrees"))
    holes = net(front, "armhole"), net(back, "armhole")
    out.append(listed("back armhole longer than the front's", holes[1] - holes[0], "armholes"))
    if not open_above(front) and not open_above(back):
        out.append(listed("armhole width in its length", 100.0 * wide / sum(holes), "armholes", "percent"))
    for i in back.darts_on("waist"):
        below = float(back.ring[back.corner("armhole", "side seam"), 1] - back.apexes[i, 1])
        out.append(listed("back waist dart ends below the underarm", below, "bodice back"))
    return out


def _skirt(shapes: Shapes) -> list[Check]:
    out = []
    for kind in ("skirt front", "skirt back"):
        shape = shapes[kind]
        for i in shape.darts_on("waist"):
            long = float(np.hypot(*(shape.ring[shape.legs[i]].mean(0) - shape.apexes[i])))
            out.append(between("skirt dart length", long, *SKIRT_DARTS_MM[kind], f"{kind}, waist dart"))
    return out


def hip_checks(shapes: Shapes, hip_mm: float) -> list[Check]:
    """What depends on where the hip lies, ``hip_mm`` below the waist."""
    halves = {kind: shapes[kind] for kind in ("skirt front", "skirt back") if kind in shapes}
    out = []
    taken = sum(side_at(shape, -hip_mm) - net(shape, "waist") for shape in halves.values())
    darts = 0.0
    for kind, shape in halves.items():
        for i in shape.darts_on("waist"):
            legs = shape.ring[shape.legs[i]]
            darts += float(np.hypot(*(legs[1] - legs[0])))
            out.append(listed("skirt dart ends above the hip", shape.apexes[i, 1] + hip_mm, f"{kind}, waist dart"))
    if taken > 30.0 and len(halves) == 2:
        share = 100.0 * (taken - darts) / taken
        out.append(listed("skirt shaping at the sides", share, "skirt, hip to waist", "percent"))
    return out


def _on_each_other(shapes: Shapes) -> list[Check]:
    out = []
    for side in ("front", "back"):
        top, low = shapes.get(f"bodice {side}"), shapes.get(f"skirt {side}")
        if top is None or low is None:
            continue
        where = f"bodice {side} and skirt {side}"
        out.append(listed("bodice and skirt side seams meet", net(low, "waist") - net(top, "waist"), where))
        places = [_dart_places(shape) for shape in (top, low)]
        if places[1]:
            for place in places[0]:
                near = min(abs(place - other) for other in places[1])
                out.append(listed("bodice dart meets a skirt dart", near, where))
    return out


def _dart_places(shape: Shape) -> list[float]:
    run = shape.run("waist", shape.centre)
    along = shape.net_along(run, "waist")
    return [float(along[near]) for _, near, _ in shape.mouths(run, "waist")]


def bust_checks(front: Shape, half_distance: float, height: float) -> list[Check]:
    """Darts of a front aim at the bust point of the body (half its distance, its height below the side neck, mm)."""
    neck = front.ring[front.corner("neckline", "shoulder")]
    drop = np.sqrt(max(height**2 - (half_distance - neck[0]) ** 2, 0.0))
    point = np.array([half_distance, neck[1] - drop])
    out = []
    for i, legs in enumerate(front.legs):
        if legs[0] < 0:
            continue
        axis = front.apexes[i] - front.ring[legs].mean(0)
        axis = axis / np.hypot(*axis)
        where, off = f"bodice front, {front.piece.darts[i].on} dart", point - front.apexes[i]
        out.append(listed("dart stops short of the bust point", off @ axis, where))
        out.append(listed("dart aims at the bust point", off @ np.array([-axis[1], axis[0]]), where))
    return out


def sleeve_checks(shapes: Shapes, pieces: Mapping[str, Piece]) -> list[Check]:
    """The sleeve in its armhole: how much ease, where, and how high the cap is."""
    needed = ("sleeve", "bodice front", "bodice back")
    if any(kind not in shapes for kind in needed):
        return []
    sleeve, holes = shapes["sleeve"], [net(shapes[kind], "armhole") for kind in needed[1:]]
    cap = sleeve.ring[sleeve.run("cap", "underarm seam front")]
    along, top = lengths_along(cap), int(cap[:, 1].argmax())
    marks = [mark for mark in pieces["sleeve"].marks if mark.kind == "notch" and mark.on == "cap"]
    at = sleeve.frame.to_local(np.array([mark.at for mark in marks]).reshape(-1, 2))
    gaps = np.hypot(*(at - cap[top]).T)
    crown = at[int(gaps.argmin())] if len(at) and gaps.min() < 30.0 else cap[top]
    middle = float(along[int(np.hypot(*(cap - crown).T).argmin())])
    ease = float(along[-1]) - sum(holes)
    out = [listed("cap ease", ease, "sleeve cap")]
    out.append(listed("cap height in the armhole", 100.0 * cap[top, 1] / sum(holes), "sleeve", "percent"))
    if ease > 5.0:
        share = 100.0 * (along[-1] - middle - holes[1]) / ease
        out.append(listed("back half's share of the cap ease", share, "sleeve cap", "percent"))
    return out + _below_notches(shapes, pieces, (middle, float(along[-1]) - middle))


def _below_notches(shapes: Shapes, pieces: Mapping[str, Piece], halves: tuple[float, float]) -> list[Check]:
    """Ease between the underarm and the first notch of each side."""
    out = []
    for side, half in zip(("front", "back"), halves, strict=True):
        own = _notches(shapes["sleeve"], pieces["sleeve"], "cap", f"underarm seam {side}")
        hole = _notches(shapes[f"bodice {side}"], pieces[f"bodice {side}"], "armhole", "side seam")
        own = [mm for mm in own if 10.0 < mm < half - 30.0]
        hole = [mm for mm in hole if mm > 10.0]
        if own and hole:
            out.append(listed("ease below the notches", own[0] - hole[0], f"sleeve and bodice {side}"))
    return out


def _notches(shape: Shape, piece: Piece, edge: str, start: str) -> list[float]:
    line = shape.ring[shape.run(edge, start)]
    marks = [mark for mark in piece.marks if mark.kind == "notch" and mark.on == edge]
    at = [shape.frame.to_local((mark.at if mark.seam_at is None else mark.seam_at)[None])[0] for mark in marks]
    return sorted(nearest_on_line(line, point)[1] for point in at)
