"""Measures a written block from the points in ``block.json`` alone, by other means than the program's.

Lengths along polylines, widths by cutting with straight lines (shapely), directions by fitted parabolas. Nothing of
``convert`` is used.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from shapely import LineString, Point, Polygon

JOINS = (
    ("bodice", "neckline", "shoulder"),
    ("bodice", "armhole", "shoulder"),
    ("bodice", "armhole", "side seam"),
    ("bodice", "waist", "side seam"),
    ("skirt", "waist", "side seam"),
    ("skirt", "hem", "side seam"),
)
"""Garment, edge that shall run smooth, joined seam that it crosses."""


@dataclass(frozen=True)
class Found:
    """Lengths (girths go all round), differences of paired seams and of dart legs (mm), bends (degrees), crossings."""

    lengths: dict[str, float] = field(default_factory=dict)
    pairs: dict[str, float] = field(default_factory=dict)
    legs: dict[str, float] = field(default_factory=dict)
    bends: dict[str, float] = field(default_factory=dict)
    crossing: list[str] = field(default_factory=list)


class _Paper:
    def __init__(self, record: Mapping[str, Any]) -> None:
        self.kind: str = record["piece"]
        self.edges = {edge["name"]: np.array(edge["points"], float) for edge in record["edges"]}
        self.darts = [dart for dart in record["darts"] if dart["on"]]
        self.ring = Polygon(np.vstack([line[:-1] for line in self.edges.values()]))

    def sewn(self, edge: str) -> float:
        """Length of an edge less the mouths of its darts."""
        line = LineString(self.edges[edge])
        mouths = [[line.project(Point(leg)) for leg in dart["legs"]] for dart in self.darts if dart["on"] == edge]
        return float(line.length - sum(abs(b - a) for a, b in mouths))

    def corner(self, one: str, other: str) -> np.ndarray:
        ends = [(p, q) for p in self.edges[one][[0, -1]] for q in self.edges[other][[0, -1]]]
        return np.array(min(ends, key=lambda pair: float(np.hypot(*(pair[0] - pair[1]))))[0])

    def axes(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Lower end of the centre line, unit vectors up along it and out from it."""
        centre = self.edges[next(name for name in self.edges if name.startswith("centre"))]
        upper = self.edges["neckline" if "neckline" in self.edges else "waist"]
        low, top = sorted((centre[0], centre[-1]), key=lambda end: -float(np.hypot(*(upper - end).T).min()))
        up = (top - low) / np.hypot(*(top - low))
        out = np.array([up[1], -up[0]])
        middle = np.array(self.ring.centroid.coords[0]) - low
        return low, up, out if middle @ out > 0 else -out

    def width(self, through: np.ndarray) -> float:
        """From the centre line to a point, square to it, less what darts open there take."""
        low, up, out = self.axes()
        far = (through - low) @ out
        level = LineString([low + up * ((through - low) @ up) - 5 * out, through + 0.0 * out])
        taken = sum(level.intersection(Polygon([*dart["legs"], dart["apexes"][0]])).length for dart in self.darts)
        return float(far - taken)

    def bend(self, edge: str, seam: str) -> float:
        """Angle inside the paper between two edges at their corner, degrees."""
        at = self.corner(edge, seam)
        one, other = (_direction(self.edges[name], at) for name in (edge, seam))
        return float(np.degrees(np.arccos(np.clip(one @ other, -1, 1))))


def _direction(line: np.ndarray, at: np.ndarray, reach: float = 10.0) -> np.ndarray:
    """Unit direction in which a line leaves one of its ends: slope at nought of a parabola through its first 10 mm."""
    line = line if np.hypot(*(line[0] - at)) < np.hypot(*(line[-1] - at)) else line[::-1]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    s = np.linspace(0.0, min(reach, along[-1]), 21)
    way = np.array([np.polyfit(s, np.interp(s, along, line[:, axis]), 2)[1] for axis in (0, 1)])
    return np.asarray(way / np.hypot(*way))


def measured(record: Mapping[str, Any], waist_to_hip: float | None = None) -> Found:
    """Everything that a written set of pieces shows."""
    of = {piece["piece"]: _Paper(piece) for piece in record["pieces"]}
    found = Found()
    front, back, sleeve = of.get("bodice front"), of.get("bodice back"), of.get("sleeve")
    if front and back:
        _bodice(front, back, found)
    if sleeve:
        cap = sleeve.edges["cap"]
        ends = LineString(cap[[0, -1]])
        wrist = "wrist" if "wrist" in sleeve.edges else "hem"
        found.lengths["upper arm"], found.lengths["wrist"] = ends.length, sleeve.sewn(wrist)
        seams = [sleeve.sewn(f"underarm seam {side}") for side in ("front", "back")]
        found.pairs["underarm seams"] = seams[1] - seams[0]
        if front and back:
            found.lengths["cap ease"] = sleeve.sewn("cap") - front.sewn("armhole") - back.sewn("armhole")
    fore, aft = of.get("skirt front"), of.get("skirt back")
    if fore and aft:
        found.lengths["skirt waist"] = 2 * (fore.sewn("waist") + aft.sewn("waist"))
        found.pairs["skirt side seams"] = aft.sewn("side seam") - fore.sewn("side seam")
        if front and back:
            found.pairs["waists"] = found.lengths["skirt waist"] - found.lengths["waist"]
        if waist_to_hip:
            found.lengths["hip"] = 2 * sum(_hip(one, waist_to_hip) for one in (fore, aft))
    for garment, edge, seam in JOINS:
        two = [of.get(f"{garment} {side}") for side in ("front", "back")]
        if all(two):
            found.bends[f"{garment} {edge} across the {seam}"] = sum(p.bend(edge, seam) for p in two if p) - 180.0
    for paper in of.values():
        if not paper.ring.exterior.is_simple or not paper.ring.is_valid:
            found.crossing.append(paper.kind)
        for number, dart in enumerate(paper.darts):
            a, b = (float(np.hypot(*(np.array(leg) - dart["apexes"][0]))) for leg in dart["legs"])
            found.legs[f"{paper.kind}, {dart['on']} dart {number}"] = b - a
    return found


def _bodice(front: _Paper, back: _Paper, found: Found) -> None:
    two = (front, back)
    low, up, _ = front.axes()
    found.lengths.update(
        {
            "bust": 2 * sum(one.width(one.corner("armhole", "side seam")) for one in two),
            "waist": 2 * sum(one.sewn("waist") for one in two),
            "neck": 2 * sum(one.sewn("neckline") for one in two),
            "back waist length": back.sewn("centre back"),
            "front waist length": float((front.corner("neckline", "shoulder") - low) @ up),
            "shoulder length": front.sewn("shoulder"),
        }
    )
    found.pairs.update(
        {
            "shoulders": back.sewn("shoulder") - front.sewn("shoulder"),
            "side seams": back.sewn("side seam") - front.sewn("side seam"),
        }
    )


def _hip(skirt: _Paper, waist_to_hip: float) -> float:
    low, up, out = skirt.axes()
    centre = skirt.edges[next(name for name in skirt.edges if name.startswith("centre"))]
    top = max(float((end - low) @ up) for end in centre)
    start = low + up * (top - waist_to_hip)
    hit = LineString([start - 5 * out, start + 900 * out]).intersection(LineString(skirt.edges["side seam"]))
    return float((np.array(hit.centroid.coords[0]) - start) @ out)
