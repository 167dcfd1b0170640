"""Where on the paper each garment measurement is taken: in words, and as lines to draw on a piece."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calibration.ground.points import Points, as_points
from convert.block.shape.dress import level_line, waist_level
from convert.block.shape.landmarks import (
    across_level,
    armhole_point,
    bust_point,
    cap_height,
    side_at,
    side_neck,
    underarm,
    waist_top,
    wrist_middle,
    wrist_name,
)
from convert.block.shape.shape import Shape, shape_of
from convert.piece.piece import Piece, PieceKind


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Place:
    """A line (N, 2) on one piece, in the piece's frame, along which a measurement is taken."""

    piece: PieceKind
    points: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))


Liner = Callable[[Shape], Points]

_WORDS: Mapping[str, str] = {
    "bust": "level with the underarm, front and back, darts closed",
    "waist": "along the waist seam of front and back, darts closed",
    "skirt waist": "along the waist seam of the skirt, darts closed",
    "hip": "straight across the skirt at hip level, front and back",
    "neck": "along the neckline of front and back",
    "back waist length": "along the centre back, neck to waist",
    "front waist length": "on the front, from the side of the neck straight down to the waist",
    "shoulder length": "along the shoulder of the front",
    "across back": "straight across the back, half way down the armhole",
    "across chest": "straight across the front, half way down the armhole",
    "armhole depth": "on the back, from the neck down to the level of the underarm",
    "bust point distance": "on the front, from the centre to the point where the darts aim, both halves",
    "bust height": "on the front, from the side of the neck to the point where the darts aim",
    "armhole": "along the armholes of front and back",
    "upper arm": "straight across the sleeve from underarm to underarm",
    "wrist": "along the lower edge of the sleeve",
    "arm length": "down the middle of the sleeve, from the top of the cap to the wrist",
    "sleeve length": "down the middle of the sleeve, from the top of the cap to its lower edge",
    "sleeve hem": "along the lower edge of the sleeve",
    "cap ease": "along the cap of the sleeve, beside the armholes",
    "skirt length": "down the centre front of the skirt",
}


_ON_A_DRESS: Mapping[str, str] = {
    "waist": "straight across at the waist, front and back, darts closed",
    "hip": "straight across at hip level, front and back",
    "back waist length": "on the back, from the neck down to the waist",
    "skirt length": "down the centre front, waist to hem",
}


def where(name: str, *, dress: bool = False) -> str:
    """Where a measurement is taken on the paper, in words; ``dress`` says that it is one in one piece.

    Examples
    --------
    >>> where("bust")
    'level with the underarm, front and back, darts closed'
    """
    return _ON_A_DRESS.get(name, _WORDS.get(name, "")) if dress else _WORDS.get(name, "")


def places(pieces: Sequence[Piece], name: str, *, waist_to_hip: float | None = None) -> tuple[Place, ...]:
    """The lines along which a measurement is taken on those pieces that carry it; none where they can't tell."""
    found = []
    for piece in pieces:
        shape = shape_of(piece)
        line = _line(shape, name, waist_to_hip)
        if line is not None and np.isfinite(line).all():
            found.append(Place(piece=piece.kind, points=shape.frame.to_paper(line)))
    return tuple(found)


def _line(shape: Shape, name: str, waist_to_hip: float | None) -> Points | None:
    """The line in the shape's own frame, or None if this piece has no part in the measurement."""
    kind = shape.piece.kind
    if kind.startswith("dress"):
        return _on_dress(shape, name, waist_to_hip)
    if name == "hip":
        return None if waist_to_hip is None else _hip(shape, waist_to_hip)
    edge = _EDGES.get(name, {}).get(kind.split()[0] if name in _ON_ALL else kind)
    if edge is not None:
        return _along(shape, wrist_name(shape) if edge == "wrist" else edge)
    liner = _LINES.get(name, {}).get(kind)
    return None if liner is None else liner(shape)


def _on_dress(shape: Shape, name: str, waist_to_hip: float | None) -> Points | None:
    """The same on a dress in one piece, whose waist is a level and no edge."""
    waist, part = waist_level(shape), shape.piece.kind.split()[1]
    if name == "waist":
        return level_line(shape, waist)
    if name == "hip":
        return None if waist_to_hip is None else level_line(shape, waist - waist_to_hip)
    if name == "skirt length":
        low = float(shape.ring[shape.corner(shape.centre, "hem"), 1])
        return _down(0.0, waist, low) if part == "front" else None
    if name == "back waist length":
        top = float(shape.ring[shape.corner(shape.centre, "neckline"), 1])
        return _down(0.0, top, waist) if part == "back" else None
    if name == "front waist length":
        x, top = side_neck(shape)
        return _down(float(x), float(top), waist) if part == "front" else None
    edge = _EDGES.get(name, {}).get("bodice" if name in _ON_ALL else f"bodice {part}")
    if edge is not None:
        return _along(shape, edge)
    liner = _LINES.get(name, {}).get(f"bodice {part}")
    return None if liner is None else liner(shape)


def _along(shape: Shape, edge: str) -> Points:
    i = shape.names.index(edge)
    first, last = shape.starts[i], shape.starts[(i + 1) % len(shape.starts)]
    return shape.ring[np.arange(first, last + (len(shape.ring) if last <= first else 0) + 1) % len(shape.ring)]


def _hip(shape: Shape, down: float) -> Points | None:
    if not shape.piece.kind.startswith("skirt"):
        return None
    height = waist_top(shape) - down
    return np.array([[0.0, height], [side_at(shape, height), height]])


def _level(point: Points) -> Points:
    return np.array([[0.0, point[1]], point])


def _across(shape: Shape) -> Points:
    return _level(armhole_point(shape, across_level(shape)))


def _down(x: float, top: float, low: float) -> Points:
    return np.array([[x, top], [x, low]])


def _front_length(shape: Shape) -> Points:
    x, top = side_neck(shape)
    return _down(float(x), float(top), float(shape.ring[shape.corner("centre front", "waist"), 1]))


def _armhole_depth(shape: Shape) -> Points:
    nape = shape.ring[shape.corner("centre back", "neckline")]
    return _down(0.0, float(nape[1]), float(underarm(shape)[1]))


def _cap_ends(shape: Shape) -> Points:
    return shape.ring[shape.run("cap", "underarm seam front")[[0, -1]]]


def _sleeve_middle(shape: Shape) -> Points:
    return _down(0.0, cap_height(shape), wrist_middle(shape))


_ON_ALL = ("waist", "neck", "armhole", "skirt waist")
_EDGES: Mapping[str, Mapping[str, str]] = {
    "waist": {"bodice": "waist"},
    "skirt waist": {"skirt": "waist"},
    "neck": {"bodice": "neckline"},
    "armhole": {"bodice": "armhole"},
    "back waist length": {"bodice back": "centre back"},
    "shoulder length": {"bodice front": "shoulder"},
    "wrist": {"sleeve": "wrist"},
    "sleeve hem": {"sleeve": "wrist"},
    "cap ease": {"sleeve": "cap", "bodice front": "armhole", "bodice back": "armhole"},
    "skirt length": {"skirt front": "centre front"},
}
_LINES: Mapping[str, Mapping[str, Liner]] = {
    "bust": dict.fromkeys(("bodice front", "bodice back"), lambda shape: _level(underarm(shape))),
    "across back": {"bodice back": _across},
    "across chest": {"bodice front": _across},
    "front waist length": {"bodice front": _front_length},
    "armhole depth": {"bodice back": _armhole_depth},
    "bust point distance": {"bodice front": lambda shape: _level(bust_point(shape))},
    "bust height": {"bodice front": lambda shape: np.array([side_neck(shape), bust_point(shape)])},
    "upper arm": {"sleeve": _cap_ends},
    "arm length": {"sleeve": _sleeve_middle},
    "sleeve length": {"sleeve": _sleeve_middle},
}
