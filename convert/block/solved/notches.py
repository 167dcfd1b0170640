"""Notches walked round: the sleeve's cap rolled along the armhole from the underarm, a notch on both where they meet.

Below the notches cap and armhole are the same line, but for the little ease (at most 3 mm) that the pattern has there;
all other ease lies above, up to the crown's notch, which meets the shoulder seam. One notch stands for the front, two
for the back: common practice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.points import Points, lengths_along, nearest_on_line
from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm
from convert.piece.piece import Edge, Mark, Piece

_NEW_SHARE = 0.45  # of half an armhole, from the underarm: where a notch is put if neither seam has one
_APART_MM = 12.0  # between the two notches of the back
_BELOW_MM = 3.0  # most ease below the notches: cap and armhole are one line there, common practice
_TOLD_MM = 3.2  # 1/8 in: a pattern's own notches that are further off are said
_NEAR_TOP = 0.12  # share of the cap's width within which its middle notch lies from the highest point
_SIDES = ("front", "back")


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A notch as a distance (mm) from the underarm along its seam, and how many stand together."""

    mm: float
    meaning: str


def walk_notches(
    pieces: Sequence[Piece], pattern: Sequence[Piece] = (), *, unit: LengthUnit = "cm"
) -> tuple[tuple[Piece, ...], tuple[Note, ...]]:
    """The pieces with notches on cap and armhole that meet when the sleeve is set in.

    The armhole's notches stay where the moves left them, and the cap's are put to them; where one seam has none it
    takes them from the other, where both have none new ones are placed. ``pattern`` gives the ease below the notches;
    where its own notches do not meet, a note says so.
    """
    by: dict[str, Piece] = {piece.kind: piece for piece in pieces}
    sleeve, what = by.get("sleeve"), _body_of(by)
    if sleeve is None or what is None:
        return tuple(pieces), ()
    old: dict[str, Piece] = {piece.kind: piece for piece in pattern}
    side_marks: list[Mark] = []
    notes: list[Note] = []
    made: dict[str, Piece] = {}
    for side in _SIDES:
        half = by[f"{what} {side}"]
        here, there = _on_armhole(half), _on_cap(sleeve, side)
        if not here:
            here = there or _new(side, _length(half.edge("armhole")))
            made[half.kind] = _with_marks(half, "armhole", here, start=_underarm(half))
        gaps = _gaps(old, f"{what} {side}", side, len(here))
        eases = [float(np.clip(gap, 0.0, _BELOW_MM)) for gap in gaps]
        if max((abs(gap - ease) for gap, ease in zip(gaps, eases, strict=True)), default=0.0) > _TOLD_MM:
            notes.append(_unmet(side, max(gaps, key=abs), unit))
        on_cap = [replace(one, mm=one.mm + extra) for one, extra in zip(here, eases, strict=True)]
        side_marks += _marks(sleeve, "cap", on_cap, start=_underarm_of_cap(sleeve, side))
    rest = [mark for mark in sleeve.marks if mark.on != "cap" or mark.kind != "notch" or _is_top(sleeve, mark)]
    if not any(_is_top(sleeve, mark) for mark in rest if mark.on == "cap" and mark.kind == "notch"):
        rest.append(_crown(sleeve))
    made["sleeve"] = replace(sleeve, marks=(*rest, *side_marks))
    return tuple(made.get(piece.kind, piece) for piece in pieces), tuple(notes)


def _unmet(side: str, gap: float, unit: LengthUnit) -> Note:
    return Note(
        "notches-moved",
        f"On the pattern the {side} notches of sleeve and armhole do not meet: walked from the underarm they lie "
        f"{format_paper_mm(abs(gap), unit)} apart. Below the notches a block's cap and armhole are one line: the "
        "sleeve's notches were put where the armhole's are, and all the ease lies above them.",
    )


def _body_of(by: Mapping[str, Piece]) -> str | None:
    return next((what for what in ("bodice", "dress") if all(f"{what} {side}" in by for side in _SIDES)), None)


def _length(edge: Edge) -> float:
    return float(lengths_along(edge.points)[-1])


def _underarm(half: Piece) -> Points:
    """End of the armhole at the side seam (2,)."""
    ends = half.edge("armhole").points[[0, -1]]
    side = half.edge("side seam").points
    return np.asarray(min(ends, key=lambda end: float(np.hypot(*(side - end).T).min())))


def _underarm_of_cap(sleeve: Piece, side: str) -> Points:
    ends = sleeve.edge("cap").points[[0, -1]]
    seam = sleeve.edge(f"underarm seam {side}").points
    return np.asarray(min(ends, key=lambda end: float(np.hypot(*(seam - end).T).min())))


def _from(line: Points, start: Points) -> Points:
    """The line in order from its end at ``start``."""
    return line if np.hypot(*(line[0] - start)) <= np.hypot(*(line[-1] - start)) else line[::-1]


def _distances(piece: Piece, edge: str, start: Points) -> list[tuple[float, Mark]]:
    line = _from(piece.edge(edge).points, start)
    notches = [mark for mark in piece.marks if mark.kind == "notch" and mark.on == edge]
    found = [(nearest_on_line(line, mark.at if mark.seam_at is None else mark.seam_at)[1], mark) for mark in notches]
    return sorted(found, key=lambda pair: pair[0])


def _on_armhole(half: Piece) -> list[Walked]:
    return [Walked(mm=mm, meaning=mark.meaning) for mm, mark in _distances(half, "armhole", _underarm(half))]


def _on_cap(sleeve: Piece, side: str) -> list[Walked]:
    start = _underarm_of_cap(sleeve, side)
    line = _from(sleeve.edge("cap").points, start)
    top = lengths_along(line)[_top_index(sleeve, line)]
    return [
        Walked(mm=mm, meaning=mark.meaning)
        for mm, mark in _distances(sleeve, "cap", start)
        if mm < top and not _is_top(sleeve, mark)
    ]


def _heights(sleeve: Piece, points: Points) -> Points:
    """Height of points above the underarm line (N,)."""
    cap = sleeve.edge("cap").points
    way = (cap[-1] - cap[0]) / np.hypot(*(cap[-1] - cap[0]))
    off = np.asarray(points, float) - cap[0]
    return np.asarray(np.abs(off[:, 0] * way[1] - off[:, 1] * way[0]))


def _top_index(sleeve: Piece, line: Points) -> int:
    return int(np.argmax(_heights(sleeve, line)))


def _is_top(sleeve: Piece, mark: Mark) -> bool:
    """Whether a notch of the cap is the one that meets the shoulder."""
    cap = sleeve.edge("cap").points
    top = cap[_top_index(sleeve, cap)]
    return float(np.hypot(*(mark.at - top))) < _NEAR_TOP * float(np.hypot(*(cap[-1] - cap[0])))


def _crown(sleeve: Piece) -> Mark:
    """The notch that meets the shoulder, at the crown."""
    cap = sleeve.edge("cap").points
    at = cap[_top_index(sleeve, cap)]
    return Mark(kind="notch", at=at, on="cap", meaning="single", seam_at=at, evidence="deduced")


def _new(side: str, armhole: float) -> list[Walked]:
    at = _NEW_SHARE * armhole
    if side == "front":
        return [Walked(mm=at, meaning="single")]
    return [Walked(mm=at - _APART_MM / 2, meaning="double"), Walked(mm=at + _APART_MM / 2, meaning="double")]


def _gaps(old: Mapping[str, Piece], half: str, side: str, count: int) -> list[float]:
    """How much longer the pattern's cap is than its armhole from the underarm to each notch; 0 without pairs."""
    if half in old and "sleeve" in old:
        here, there = _on_armhole(old[half]), _on_cap(old["sleeve"], side)
        if len(here) == len(there) == count:
            return [b.mm - a.mm for a, b in zip(here, there, strict=True)]
    return [0.0] * count


def _marks(piece: Piece, edge: str, walked: Sequence[Walked], *, start: Points) -> list[Mark]:
    line = _from(piece.edge(edge).points, start)
    along = lengths_along(line)
    out = []
    for one in walked:
        at = np.array([np.interp(one.mm, along, line[:, axis]) for axis in (0, 1)])
        out.append(Mark(kind="notch", at=at, on=piece.edge(edge).name, meaning=one.meaning, seam_at=at))
    return out


def _with_marks(piece: Piece, edge: str, walked: Sequence[Walked], *, start: Points) -> Piece:
    return replace(piece, marks=(*piece.marks, *_marks(piece, edge, walked, start=start)))
