"""A traced outline cut in two along a line; the larger part is kept."""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, Polygon

from calibration.ground.plane import point_at, unit
from calibration.ground.points import Points, closed, lengths_along, resample
from convert.piece.outline.meeting import stretch
from convert.trace.tracing import TracedLine, Tracing

STEP_MM = 0.4  # about between points of a traced outline
FAR_MM = 5000.0  # longer than any pattern piece
LEAST_MM = 1.0  # a line nowhere further inside the outline cuts nothing off
AT_END_MM = 4.0  # a notch so near the line's end marks the line
ON_LINE_MM = 1.5  # a printed line so near all along is the line itself
SHORT_MM = 5.0  # of a printed line cut by the line, shorter rests are left out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutOff:
    """A tracing cut along ``line`` (N, 2), in the order of its outline, and the outline ``beyond`` (M, 2) that was cut
    off, from the line's first point round to its last."""

    tracing: Tracing
    line: Points
    beyond: Points

    @property
    def widths(self) -> Points:
        """How far (M,) the outline beyond lay from the line, mm."""
        return np.asarray(shapely.distance(LineString(self.line), shapely.points(self.beyond)))


def cut_along(tracing: Tracing, line: Points) -> CutOff | None:
    """The tracing cut along a line (K, 2), carried straight on to the outline; None if that cuts nothing off."""
    chord = _chord(tracing.outline, line)
    if chord is None:
        return None
    ring = closed(tracing.outline)
    ends = shapely.line_locate_point(LineString(ring), shapely.points(chord[[0, -1]]))
    sides = [(_round(ring, ends[0], ends[1]), chord[::-1]), (_round(ring, ends[1], ends[0]), chord)]
    areas = [Polygon(np.vstack([way, across[1:-1]])).area for way, across in sides]
    kept, cut = (0, 1) if areas[0] >= areas[1] else (1, 0)
    way, across = sides[kept]
    beyond = sides[cut][0]
    off = CutOff(tracing=_rest(tracing, way, across), line=across, beyond=beyond)
    return off if off.widths.max() > LEAST_MM else None


def _chord(outline: Points, line: Points) -> Points | None:
    """The stretch of a line, carried on at both ends, that lies inside an outline about the line's own middle."""
    before, after = line[0] - FAR_MM * unit(line[1] - line[0]), line[-1] + FAR_MM * unit(line[-1] - line[-2])
    inside = shapely.intersection(LineString(np.vstack([before, line, after])), Polygon(outline))
    runs = [one for one in shapely.get_parts(inside) if one.geom_type == "LineString"]
    if not runs:
        return None
    middle = shapely.points(point_at(line, float(lengths_along(line)[-1]) / 2))
    nearest = min(runs, key=lambda run: float(shapely.distance(run, middle)))
    return resample(shapely.get_coordinates(nearest), STEP_MM)


def _round(ring: Points, start: float, end: float) -> Points:
    """A closed ring's stretch from one arc length on to another."""
    if start < end:
        return stretch(ring, start, end)
    return np.vstack([stretch(ring, start, float(lengths_along(ring)[-1]))[:-1], stretch(ring, 0.0, end)])


def _rest(tracing: Tracing, way: Points, across: Points) -> Tracing:
    """What is kept of a tracing: its outline runs along ``way`` (N, 2) and back ``across`` (M, 2)."""
    outline = np.vstack([way, across[1:-1]])
    tree = shapely.STRtree(shapely.points(tracing.outline))
    same = np.asarray(tree.nearest(shapely.points(way)))
    fresh = np.zeros(len(across) - 2, bool)
    corner = np.zeros(len(tracing.outline), bool)
    corner[tracing.corners] = True
    gaps = np.hypot(*(way - tracing.outline[same]).T)
    found = np.flatnonzero(corner[same] & (gaps < 1e-6))
    corners = [int(k) for k in found if 0 < k < len(way) - 1]
    kept = Polygon(outline).buffer(AT_END_MM)
    ends = across[[0, -1]]
    return replace(
        tracing,
        outline=outline,
        corners=np.array(sorted({0, *corners, len(way) - 1}), np.int64),
        inferred=np.concatenate([tracing.inferred[same], fresh]),
        told=None if tracing.told is None else np.concatenate([tracing.told[same], fresh]),
        lines=tuple(part for line in tracing.lines for part in _clipped(line, Polygon(outline), across)),
        marks=tuple(
            mark
            for mark in tracing.marks
            if kept.contains(shapely.points(mark.at))
            and not (mark.kind == "notch" and np.hypot(*(ends - mark.at).T).min() < AT_END_MM)
        ),
    )


def _clipped(line: TracedLine, kept: Polygon, across: Points) -> tuple[TracedLine, ...]:
    """A printed line's longest stretch on the part that is kept, if there is any to speak of."""
    if len(line.points) < 2:
        return (line,)
    inside = shapely.intersection(LineString(line.points), kept.buffer(ON_LINE_MM))
    runs = [one for one in shapely.get_parts(inside) if one.geom_type == "LineString" and one.length > SHORT_MM]
    if not runs:
        return ()
    points = shapely.get_coordinates(max(runs, key=lambda run: float(run.length)))
    if shapely.distance(LineString(across), shapely.points(points)).max() < ON_LINE_MM:
        return ()
    return (replace(line, points=points),)


__all__ = ["CutOff", "cut_along"]
