"""Each thing that was read of a piece: what it is, where, how sure, and the patch of picture that shows it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from calibration.ground.points import Points, as_points, nearest_on_line
from calibration.sheet.on_sheet import PictureOnSheet, pictures_on
from convert.block.measured.on_paper import measure_paper
from convert.piece.names.kinds import KINDS
from convert.piece.piece import Dart, Edge, EdgeName, Evidence, Piece
from convert.piece.record import DECIMALS
from convert.pipeline.name import PieceRead
from convert.trace.tracing import TracedLine, Tracing

_AROUND_MM = 9.0  # of picture shown round a thing
_SURE = ((0.85, "Clearly seen."), (0.6, "Seen fairly well."), (0.0, "Seen faintly: please check."))
_DEDUCED = 0.6  # confidence in a dart that shows only by its peak: our choice, because a peak may be wear
_NEAR_MM = 8.0  # a printed leg or a hole so near a dart's point belongs to it
_LINE_NAMES = {
    "stitching": "stitching line",
    "grainline": "grainline",
    "fold": "fold bracket",
    "lengthen": "lengthen or shorten line",
    "buttonhole": "buttonhole",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """One thing read of a piece.

    Attributes
    ----------
    kind
        cut line, notch, hole, dart, or a printed line's name (stitching line, grainline, fold bracket, lengthen or
        shorten line).
    what
        In words: the edge it stands on, what a hole means.
    points : (N, 2)
        Where it lies, in the sheet's mm.
    confidence
        0 to 1; of a cut line the share of it that was seen.
    evidence
        Measured on the paper, told, or deduced.
    picture
        Which picture shows it best, counted from 0; -1 if none does.
    box_px : (left, top, right, bottom)
        The patch that shows it, in that picture's pixels.
    """

    kind: str
    what: str
    points: Points
    confidence: float
    evidence: Evidence = "measured"
    picture: int = -1
    box_px: tuple[int, int, int, int] = (0, 0, 0, 0)

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))

    @property
    def name(self) -> str:
        """What it is, for a reader: "double notch on the armhole", "grainline"."""
        if self.kind == "dart":
            return f"{self.what} dart" if self.what == "double-pointed" else f"dart {self.what}"
        if self.kind == "hole":
            return "hole" if self.what in ("", "unknown") else f"hole: {self.what}"
        if self.what.startswith("along "):
            return f"{self.kind} {self.what}"
        return self.what if self.kind == "notch" else self.kind

    @property
    def how_sure(self) -> str:
        """How sure it is, in words."""
        if self.evidence == "told":
            return "Told by you."
        if self.evidence == "deduced":
            return "Worked out from the shape: please check."
        return next(words for least, words in _SURE if self.confidence >= least)

    @property
    def drawn(self) -> Points:
        """The line to draw (N, 2): a dart's legs run through its points."""
        if self.kind != "dart":
            return self.points
        if len(self.points) == 3:
            return self.points[[0, 2, 1]]
        return self.points[[0, 2, 1, 3, 0]]


def readings(read: PieceRead) -> tuple[Reading, ...]:
    """Everything read of a piece: its edges in order, then darts, notches, holes and printed lines.

    Each with how sure it is, and the patch of picture that shows it.
    """
    piece, tracing = read.piece, read.tracing
    pictures = pictures_on(read.read.sheet)
    place = piece.placement
    if place is None:
        raise ValueError("a piece that was read knows how it lay")
    found = [_cut_line(edge, place.to_mat(edge.cut_points), tracing) for edge in piece.edges]
    for dart in piece.darts:
        points = np.vstack([place.to_mat(dart.legs), place.to_mat(dart.apexes)])
        found.append(_dart(dart, points, tracing))
    for mark in piece.marks:
        if mark.kind != "grain-end":
            what = f"{mark.meaning} notch on the {mark.on}" if mark.kind == "notch" else mark.meaning
            at = place.to_mat(mark.at[None])
            found.append(
                Reading(kind=mark.kind, what=what, points=at, confidence=mark.confidence, evidence=mark.evidence)
            )
    edges = {edge.name: place.to_mat(edge.cut_points) for edge in piece.edges}
    found += [_line(line, edges) for line in tracing.lines if line.kind in _LINE_NAMES]
    return tuple(_shown(one, pictures) for one in found)


def _cut_line(edge: Edge, points: Points, tracing: Tracing) -> Reading:
    """An edge's part of the cut line; its confidence is the share that was seen or told."""
    gaps = np.hypot(*(tracing.outline[:, None] - points[None, ::8]).transpose(2, 0, 1)).min(1)
    own = gaps < 5.0
    told = np.zeros(len(own), bool) if tracing.told is None else tracing.told
    seen = float(1.0 - (tracing.inferred & ~told)[own].mean()) if own.any() else 0.0
    evidence: Evidence = "told" if own.any() and told[own].mean() > 0.5 else "measured" if seen > 0.5 else "deduced"
    return Reading(kind="cut line", what=edge.name, points=points, confidence=seen, evidence=evidence)


def _dart(dart: Dart, points: Points, tracing: Tracing) -> Reading:
    """A dart as leg, leg, apex (apex); as sure as the print or the holes it was read from."""
    sure = 1.0 if dart.evidence == "told" else _DEDUCED
    if dart.evidence == "measured":
        tips = points[2:]
        legs = [line.confidence for line in tracing.lines if line.kind == "dart" and _ends_at(line, tips)]
        holes = [
            mark.confidence
            for mark in tracing.marks
            if mark.kind != "notch" and np.hypot(*(tips - mark.at).T).min() < _NEAR_MM
        ]
        sure = float(np.mean(legs or holes or [_DEDUCED]))
    what = "double-pointed" if dart.on is None else f"on the {dart.on}"
    return Reading(kind="dart", what=what, points=points, confidence=sure, evidence=dart.evidence)


def _ends_at(line: TracedLine, tips: Points) -> bool:
    return any(nearest_on_line(line.points, tip)[2] < _NEAR_MM for tip in tips) if len(line.points) > 1 else False


def _line(line: TracedLine, edges: Mapping[EdgeName, Points]) -> Reading:
    """A printed line; a stitching line or a fold bracket with the edge along which it runs."""
    what = "dashed" if line.dashed else "printed"
    if line.kind in ("stitching", "fold"):
        middle = line.points[len(line.points) // 2]
        what = f"along the {min(edges, key=lambda name: nearest_on_line(edges[name], middle)[2])}"
    kind = _LINE_NAMES[line.kind]
    return Reading(kind=kind, what=what, points=line.points, confidence=line.confidence, evidence=line.evidence)


def _shown(one: Reading, pictures: Sequence[PictureOnSheet]) -> Reading:
    """The reading with the picture that shows it best, and where in it."""
    if not pictures:
        return one
    inside = [float(picture.inside_px(one.points).min()) for picture in pictures]
    best = int(np.argmax(inside))
    picture = pictures[best]
    low, high = one.points.min(0) - _AROUND_MM, one.points.max(0) + _AROUND_MM
    px = picture.to_px([low, [high[0], low[1]], high, [low[0], high[1]]])
    last = np.array(picture.size_px) - 1
    left, top = np.clip(np.floor(px.min(0)), 0, last).astype(int)
    right, bottom = np.clip(np.ceil(px.max(0)), 0, last).astype(int)
    return Reading(
        kind=one.kind,
        what=one.what,
        points=one.points,
        confidence=one.confidence,
        evidence=one.evidence,
        picture=best,
        box_px=(int(left), int(top), int(right), int(bottom)),
    )


def readings_record(readings: Sequence[Reading], piece: Piece, names: Sequence[str]) -> list[dict[str, Any]]:
    """Readings as plain values for ``piece.json``: places in the piece's frame, the patch in the picture's pixels."""
    place = piece.placement
    if place is None:
        raise ValueError("a piece that was read knows how it lay")
    records = []
    for one in readings:
        middle = one.points if len(one.points) <= 4 else one.points[[0, len(one.points) // 2, -1]]
        record: dict[str, Any] = {
            "kind": one.kind,
            "what": one.what,
            "at": np.round(place.to_piece(middle), DECIMALS).tolist(),
            "confidence": round(one.confidence, 3),
            "evidence": one.evidence,
        }
        if one.picture >= 0:
            record |= {"picture": names[one.picture], "box_px": list(one.box_px)}
        records.append(record)
    return records


def seam_on_mat(read: PieceRead) -> Points:
    """The seam line (N, 2) where it lies on the mat."""
    if read.piece.placement is None:
        raise ValueError("a piece that was read knows how it lay")
    return read.piece.placement.to_mat(read.piece.seam_line)


def hole_meanings(read: PieceRead) -> list[tuple[Points, str]]:
    """What each hole means, with where (2,) it lies on the mat."""
    place = read.piece.placement
    if place is None:
        raise ValueError("a piece that was read knows how it lay")
    return [(place.to_mat(mark.at[None])[0], mark.meaning) for mark in read.piece.marks if mark.kind == "hole"]


def measured(piece: Piece) -> list[dict[str, float | str]]:
    """What one whole piece measures as it lies on the paper: half widths on half pieces."""
    if KINDS[piece.kind].part is not None:  # what a part measures, its whole piece does not
        return []
    return [{"name": one.name, "mm": one.mm, "uncertainty_mm": one.uncertainty_mm} for one in measure_paper(piece)]
