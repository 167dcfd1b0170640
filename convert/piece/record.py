"""The piece as it is written to ``piece.json``, and read back."""

from collections.abc import Iterable, Mapping
from typing import Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points, lengths_along
from convert.piece.outline.fit import fit_path
from convert.piece.outline.path import Path
from convert.piece.outline.placement import Placement
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, Evidence, Mark, Piece, PieceKind
from convert.trace.tracing import Tracing

FORMAT, VERSION = "ownblock-piece", 1
CURVE_TOLERANCE_MM = 0.15
"""How closely the lines and cubics written for drawing follow the points."""
DECIMALS = 4

Pair = tuple[float, float]


def to_record(
    piece: Piece, *, measurements: Iterable[Mapping[str, Any]] = (), notes: Iterable[Note] = (), curves: bool = True
) -> dict[str, Any]:
    """A piece as plain values for JSON, in the ``ownblock-piece`` format, version 1.

    ``measurements`` are mappings with ``name``, ``mm`` and ``uncertainty_mm``; ``curves`` adds the cut line and the
    seam line as lines and cubics.
    """
    record: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "piece": piece.kind,
        "y": "up",
        "complete": piece.complete,
        "cut_line": _pairs(piece.cut_line),
        "seam_line": _pairs(piece.seam_line),
        "grainline": None if piece.grainline is None else _pairs(piece.grainline),
        "edges": [_edge_record(edge) for edge in piece.edges],
        "darts": [
            {"on": dart.on, "apexes": _pairs(dart.apexes), "legs": _pairs(dart.legs), "evidence": dart.evidence}
            | ({} if dart.cap is None else {"cap": _pairs(dart.cap)})
            for dart in piece.darts
        ],
        "marks": [_mark_record(mark) for mark in piece.marks],
        "measurements": [dict(measurement) for measurement in measurements],
        "notes": [{"code": note.code, "text": note.text} for note in (*piece.notes, *notes)],
        "uncertainty_mm": piece.uncertainty_mm,
        "scale_uncertainty": piece.scale_uncertainty,
    }
    if piece.placement is not None:
        there = piece.placement
        record["placement"] = {
            "turn_deg": there.turn_deg,
            "shift": _pairs(there.shift[None])[0],
            "mirrored": there.mirrored,
        }
    if curves:
        seam = _curves(piece, cut=False)
        bare = all(np.array_equal(edge.points, edge.cut_points) for edge in piece.edges)
        record["curves"] = {"cut_line": seam if bare else _curves(piece, cut=True), "seam_line": seam}
    return record


def _pairs(points: Points) -> list[list[float]]:
    pairs: list[list[float]] = np.round(points, DECIMALS).tolist()
    return pairs


def _edge_record(edge: Edge) -> dict[str, Any]:
    return {
        "name": edge.name,
        "allowance": round(edge.allowance.mm, DECIMALS),
        "evidence": edge.allowance.evidence,
        "uncertainty_mm": round(edge.allowance.uncertainty_mm, DECIMALS),
        "why": edge.allowance.why,
        "on_fold": edge.on_fold,
        "points": _pairs(edge.points),
        "cut_points": _pairs(edge.cut_points),
    }


def _mark_record(mark: Mark) -> dict[str, Any]:
    record: dict[str, Any] = {"kind": mark.kind, "at": _pairs(mark.at[None])[0]}
    if mark.on is not None:
        record["on"] = mark.on
    if mark.meaning:
        record["meaning"] = mark.meaning
    if mark.seam_at is not None:
        record["seam_at"] = _pairs(mark.seam_at[None])[0]
    if mark.evidence != "measured":
        record["evidence"] = mark.evidence
    if mark.confidence < 1.0:
        record["confidence"] = round(float(mark.confidence), 3)
    return record


def _curves(piece: Piece, *, cut: bool) -> list[dict[str, Any]]:
    out = []
    for edge in piece.edges:
        points = edge.cut_points if cut else edge.points
        legs = [dart.legs for dart in piece.darts if dart.on == edge.name]
        path = edge_path(points, kinks=None if cut else legs)
        out.append({"edge": edge.name, "segments": [_pairs(segment.nodes) for segment in path.segments]})
    return out


def outline_record(tracing: Tracing, kind: PieceKind, notes: Iterable[Note]) -> dict[str, Any]:
    """What was traced of a piece that is not whole: its outline and marks in mat mm, no edges, ``complete`` false."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "piece": kind,
        "y": "up",
        "complete": False,
        "cut_line": _pairs(tracing.outline),
        "seam_line": [],
        "grainline": None,
        "edges": [],
        "darts": [],
        "marks": [
            {"kind": mark.kind, "at": _pairs(mark.at[None])[0]}
            for mark in tracing.marks
            if mark.kind in ("notch", "hole")
        ],
        "measurements": [],
        "notes": [{"code": note.code, "text": note.text} for note in notes],
    }


def edge_path(points: Points, *, kinks: list[Points] | None = None, tolerance_mm: float = CURVE_TOLERANCE_MM) -> Path:
    """An edge as lines and cubics; it may turn at the leg ends of its darts, or where it turns sharply itself."""
    if kinks:
        corners = {int(np.argmin(np.hypot(*(points - leg).T))) for legs in kinks for leg in legs}
    else:
        corners = _sharp(points)
    return fit_path(points, tuple(sorted(corners)), tolerance_mm=tolerance_mm, closed=False)


def _sharp(points: Points, *, least_deg: float = 5.0, reach_mm: float = 4.0) -> set[int]:
    """Where an open line has a kink (a folded dart's peak) rather than a bend."""
    s = lengths_along(points)
    if s[-1] < 3 * reach_mm:
        return set()
    ahead = np.column_stack([np.interp(s + reach_mm, s, points[:, i]) for i in (0, 1)]) - points
    behind = points - np.column_stack([np.interp(s - reach_mm, s, points[:, i]) for i in (0, 1)])
    turn = np.abs(
        np.degrees(np.arctan2(behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0], (behind * ahead).sum(1)))
    )
    turn[(s < reach_mm) | (s > s[-1] - reach_mm)] = 0.0
    near = np.degrees(np.interp(s, s, np.gradient(np.unwrap(np.arctan2(*np.gradient(points, axis=0).T[::-1])))))
    peaks: set[int] = set()
    for k in np.argsort(-turn):
        if turn[k] < least_deg:
            break
        if all(abs(s[k] - s[j]) > reach_mm for j in peaks) and abs(near[k]) > 0.2 * turn[k]:
            peaks.add(int(k))
    return peaks


# ---------------------------------------------------------------- reading back


class _Strict(BaseModel):
    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)


class _EdgeModel(_Strict):
    name: EdgeName
    allowance: float = Field(ge=0, le=300)
    evidence: Evidence = "told"
    uncertainty_mm: float = 0.0
    why: str = ""
    on_fold: bool = False
    points: list[Pair] = Field(min_length=2)
    cut_points: list[Pair] | None = None


class _DartModel(_Strict):
    on: EdgeName | None = None
    apexes: list[Pair] = Field(min_length=1, max_length=2)
    legs: list[Pair] = Field(min_length=2, max_length=2)
    evidence: Evidence = "told"
    cap: list[Pair] | None = None


class _MarkModel(_Strict):
    kind: Literal["notch", "hole", "grain-end"]
    at: Pair
    on: EdgeName | None = None
    meaning: str = ""
    confidence: float = 1.0
    seam_at: Pair | None = None
    evidence: Evidence = "measured"


class _NoteModel(_Strict):
    code: str
    text: str


class _PlacementModel(_Strict):
    turn_deg: float = 0.0
    shift: Pair = (0.0, 0.0)
    mirrored: bool = False


class _PieceModel(_Strict):
    format: Literal["ownblock-piece"]
    version: Literal[1]
    piece: PieceKind
    y: Literal["up"] = "up"
    complete: bool = True
    grainline: list[Pair] | None = Field(default=None, min_length=2, max_length=2)
    edges: list[_EdgeModel] = Field(min_length=3)
    darts: list[_DartModel] = []
    marks: list[_MarkModel] = []
    notes: list[_NoteModel] = []
    uncertainty_mm: float = Field(default=0.0, ge=0)
    scale_uncertainty: float = Field(default=0.0, ge=0)
    placement: _PlacementModel | None = None


def from_record(record: Mapping[str, Any]) -> Piece:
    """A piece from what ``to_record`` wrote.

    Raises
    ------
    InputError
        If something is missing, of the wrong kind, or the edges don't join.
    """
    try:
        model = _PieceModel.model_validate(record)
    except ValidationError as err:
        first = err.errors()[0]
        where = " › ".join(str(part) for part in first["loc"]) or "the whole"
        raise InputError(
            f"This is not a piece that can be read: {where}: {first['msg'][:1].lower()}{first['msg'][1:]}.",
            "Take a piece.json that ownblock trace has written, or mend that entry.",
        ) from err
    _check_joined(model)
    return Piece(
        kind=model.piece,
        edges=tuple(_edge_value(edge) for edge in model.edges),
        darts=tuple(
            Dart(
                on=d.on,
                apexes=np.array(d.apexes),
                legs=np.array(d.legs),
                evidence=d.evidence,
                cap=None if not d.cap else np.array(d.cap),
            )
            for d in model.darts
        ),
        marks=tuple(_mark_value(mark) for mark in model.marks),
        grainline=None if model.grainline is None else np.array(model.grainline),
        uncertainty_mm=model.uncertainty_mm,
        scale_uncertainty=model.scale_uncertainty,
        complete=model.complete,
        notes=tuple(Note(note.code, note.text) for note in model.notes),
        placement=None
        if model.placement is None
        else Placement(
            turn_deg=model.placement.turn_deg,
            shift=np.array(model.placement.shift),
            mirrored=model.placement.mirrored,
        ),
    )


def _edge_value(edge: _EdgeModel) -> Edge:
    return Edge(
        name=edge.name,
        points=np.array(edge.points),
        cut_points=np.array(edge.cut_points if edge.cut_points is not None else edge.points),
        allowance=Allowance(
            mm=edge.allowance, evidence=edge.evidence, uncertainty_mm=edge.uncertainty_mm, why=edge.why
        ),
        on_fold=edge.on_fold,
    )


def _mark_value(mark: _MarkModel) -> Mark:
    return Mark(
        kind=mark.kind,
        at=np.array(mark.at),
        on=mark.on,
        meaning=mark.meaning,
        confidence=mark.confidence,
        seam_at=None if mark.seam_at is None else np.array(mark.seam_at),
        evidence=mark.evidence,
    )


def _check_joined(model: _PieceModel) -> None:
    ends = [(edge.name, edge.points[0], edge.points[-1]) for edge in model.edges]
    for (name, _, end), (after, start, _) in zip(ends, ends[1:] + ends[:1], strict=True):
        gap = float(np.hypot(end[0] - start[0], end[1] - start[1]))
        if gap > 0.01:
            raise InputError(
                f"The {name} and the {after} of this piece don't join: their ends lie {gap:.2f} mm apart.",
                "Take a piece.json that ownblock trace has written, or mend those points.",
            )
