"""Wrap, button stand and cut-on facing cut off at the centre line; a cut-on collar at the neckline.

A front that buttons runs on past its centre line. The line is told, or it is printed: right through the piece along the
grain, with notches at its ends or buttonholes on it (common practice).
"""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString

from calibration.ground.errors import Note
from calibration.ground.plane import unit
from calibration.ground.points import Points, length
from convert.piece.names.kinds import KINDS, Kind
from convert.piece.names.naming import straightened
from convert.piece.names.told import EdgeTold, Told
from convert.piece.outline.cut_off import CutOff, cut_along
from convert.piece.piece import CENTRES, Allowance, EdgeName, Evidence, Piece, PieceKind
from convert.piece.width_words import Unit, format_paper_mm
from convert.trace.tracing import TracedLine, Tracing

ALONG_GRAIN_DEG = 3.0
STRAIGHT_MM = 1.0
STOPS_SHORT_MM = 32.0  # a centre line ends on the seam line or the cut line
NOTCHED_MM = 6.0  # a notch so near its end marks the centre
MOST_OFF = 0.45  # of the piece, that may lie beyond its centre


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Beyond:
    """What was cut off along an edge, and on what evidence that edge stands."""

    edge: EdgeName
    cut: CutOff
    evidence: Evidence


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """A tracing without what lies beyond its centre line and its neckline; ``told`` names the edges that are new."""

    tracing: Tracing
    told: Told
    beyond: tuple[Beyond, ...] = ()
    notes: tuple[Note, ...] = ()


def cut_at_centre(tracing: Tracing, kind: PieceKind, told: Told) -> Cut:
    """What lies beyond a told or printed centre line cut off, and what lies beyond a told neckline."""
    out = Cut(tracing=tracing, told=told)
    centre = next((name for name in KINDS[kind].edges if name in CENTRES), None)
    if told.neck_line is not None:
        out = _cut(out, told.neck_line, "neckline", "told", kind)
    if centre is None:
        return out
    if told.centre_line is not None:
        return _cut(out, straightened(told.centre_line), centre, "told", kind)
    printed, notes = _printed(out.tracing, KINDS[kind], told, centre)
    out = replace(out, notes=(*out.notes, *notes))
    return out if printed is None else _cut(out, printed, centre, "measured", kind)


def _cut(before: Cut, line: Points, edge: EdgeName, evidence: Evidence, kind: PieceKind) -> Cut:
    off = cut_along(before.tracing, line)
    if off is None:
        return before
    said = before.told
    told = replace(
        said,
        edges=(*said.edges, EdgeTold(name=edge, points=off.line[[0, -1]])),
        allowances={**said.allowances, edge: 0.0},
        fold="none" if edge in CENTRES else said.fold,
        centre_line=None if edge in CENTRES else said.centre_line,
    )
    wide = format_paper_mm(float(off.widths.max()), said.unit)
    what = "wrap, button stand or cut-on facing" if edge in CENTRES else "a collar cut in one with it"
    text = f"What lies beyond the {edge} of the {kind}, {wide} at the widest, is {what}: it is cut off."
    return Cut(
        tracing=off.tracing,
        told=told,
        beyond=(*before.beyond, Beyond(edge=edge, cut=off, evidence=evidence)),
        notes=(*before.notes, Note("cut-off-beyond", text)),
    )


def _printed(tracing: Tracing, kind: Kind, told: Told, centre: EdgeName) -> tuple[Points | None, tuple[Note, ...]]:
    """The printed centre line (2, 2), and what is said of a line that may be one."""
    if kind.garment not in ("bodice", "dress") or told.fold not in (None, "none") or centre in told.allowances:
        return None, ()
    if any(line.kind == "fold" for line in tracing.lines):
        return None, ()
    found = [
        (ends, off)
        for line in tracing.lines
        for ends in [_right_through(line, tracing)]
        if ends is not None
        for off in [cut_along(tracing, ends)]
        if off is not None and _area(off.tracing.outline) > (1 - MOST_OFF) * _area(tracing.outline)
    ]
    marked = [one for one in found if _is_marked(tracing, one[1].line)]
    if marked:
        return min(marked, key=lambda one: _area(one[1].tracing.outline))[0], ()
    if not found:
        return None, ()
    wide = format_paper_mm(float(max(off.widths.max() for _, off in found)), told.unit)
    text = (
        f"A line is printed right through the {kind.name}, {wide} inside its edge. If it is the {centre}, say so: what "
        "lies beyond it is then cut off."
    )
    return None, (Note("centre-line-likely", text),)


def _area(ring: Points) -> float:
    return float(shapely.Polygon(ring).area)


def _right_through(line: TracedLine, tracing: Tracing) -> Points | None:
    """The ends (2, 2) of a straight line that runs right through a piece along its grain; None if it does not."""
    if line.kind != "other" or len(line.points) < 2:
        return None
    ends = straightened(line.points)
    way = unit(ends[1] - ends[0])
    grains = [one.points for one in tracing.lines if one.kind == "grainline" and len(one.points) >= 2]
    aside = (line.points - ends[0]) @ np.array([-way[1], way[0]])
    if np.abs(aside).max() > STRAIGHT_MM or not grains:
        return None
    grain = straightened(max(grains, key=length))
    if abs(float(way @ unit(grain[1] - grain[0]))) < np.cos(np.radians(ALONG_GRAIN_DEG)):
        return None
    outline = shapely.LinearRing(tracing.outline)
    for end, ahead in ((ends[0], -way), (ends[1], way)):
        if shapely.distance(LineString([end, end + STOPS_SHORT_MM * ahead]), outline) > 0:
            return None
    return ends


def _is_marked(tracing: Tracing, line: Points) -> bool:
    """Whether a notch stands at an end of the line, or a buttonhole on it."""
    notches = [mark.at for mark in tracing.marks if mark.kind == "notch"]
    if any(np.hypot(*(end - at)) < NOTCHED_MM for at in notches for end in line[[0, -1]]):
        return True
    holes = [one.points for one in tracing.lines if one.kind == "buttonhole" and len(one.points) >= 2]
    return any(shapely.distance(LineString(line), LineString(one)) < NOTCHED_MM for one in holes)


def put_beyond(piece: Piece, beyond: tuple[Beyond, ...], unit: Unit) -> Piece:
    """The piece with the paper that was cut off as what its new edges have beyond the seam line."""
    for one in beyond:
        if piece.placement is None or not piece.has(one.edge):
            continue
        paper = piece.placement.to_piece(one.cut.beyond)
        ends = piece.edge(one.edge).points[[0, -1]]
        if np.hypot(*(paper[0] - ends[0])) > np.hypot(*(paper[-1] - ends[0])):
            paper = paper[::-1]
        wide = float(np.median(one.cut.widths))
        told = "was told" if one.evidence == "told" else "is printed"
        why = f"The {one.edge} {told}; what lies beyond it, {format_paper_mm(wide, unit)} mostly, is cut off."
        allowance = Allowance(mm=wide, evidence=one.evidence, uncertainty_mm=0.3, why=why)
        edges = tuple(
            replace(edge, cut_points=paper, allowance=allowance) if edge.name == one.edge else edge
            for edge in piece.edges
        )
        piece = replace(piece, edges=edges)
    return piece
