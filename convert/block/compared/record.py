"""A comparison as numbers and sentences for other programs (JSON)."""

from collections.abc import Mapping, Sequence
from typing import Any

from calibration.ground.errors import Note
from convert.block.compared.compare import Compared, Comparison
from convert.block.compared.drafted import Drafted, DraftedRow
from convert.block.shape.places import places
from convert.body.card import Card
from convert.piece.piece import Piece

FORMAT, VERSION = "ownblock-comparison", 1


def comparison_record(
    comparison: Comparison,
    pieces: Sequence[Piece],
    *,
    card: Card,
    drafted: Drafted,
    notes: Sequence[Note] = (),
) -> dict[str, Any]:
    """The comparison as JSON: lengths in mm, girths all the way round, lines in each piece's own frame."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "maker": {"name": card.name, "unit": card.unit},
        "drafted_for": _drafted(drafted),
        "levels": [_level(level, comparison, pieces) for level in comparison.levels],
        "notes": [{"code": note.code, "text": note.text} for note in dict.fromkeys((*notes, *comparison.notes))],
    }


def _drafted(drafted: Drafted) -> dict[str, Any]:
    return {
        "evidence": drafted.evidence,
        "assumed": list(drafted.assumed),
        "body_mm": dict(drafted.body),
        "sentence": drafted.sentence,
        "sure": drafted.sure,
        "guess": None if drafted.guess is None else _row(drafted.guess),
        "alternatives": [_row(one) for one in drafted.alternatives],
    }


def _row(one: DraftedRow) -> dict[str, Any]:
    return {
        "chart": one.chart,
        "size": one.size,
        "status": one.status,
        "body_mm": dict(one.body),
        "ease_mm": dict(one.ease),
        "share": round(one.share, 3),
    }


def _level(level: Compared, comparison: Comparison, pieces: Sequence[Piece]) -> dict[str, Any]:
    lines = places(pieces, level.name, waist_to_hip=comparison.waist_to_hip_mm)
    return {
        "name": level.name,
        "sentence": level.sentence,
        "ease_sentence": level.ease_sentence,
        "pattern_mm": level.pattern_mm,
        "pattern_uncertainty_mm": level.pattern_uncertainty_mm,
        "drafted_for_mm": level.drafted_for_mm,
        "drafted_is_assumed": level.drafted_is_assumed,
        "ease_now_mm": level.ease_now_mm,
        "wearing_mm": level.wearing_mm,
        "style_mm": level.style_mm,
        "body_mm": level.body_mm,
        "body_is_estimated": level.body_is_estimated,
        "ease_wanted_mm": level.ease_wanted_mm,
        "wanted_mm": level.wanted_mm,
        "difference_mm": level.difference_mm,
        "uncertainty_mm": level.uncertainty_mm,
        "too_close": level.too_close,
        "published_ease": _band(level),
        "where": level.where,
        "lines": [{"piece": one.piece, "points": one.points.round(3).tolist()} for one in lines],
    }


def _band(level: Compared) -> Mapping[str, Any] | None:
    band = level.band
    return None if band is None else {"low_mm": band.low_mm, "high_mm": band.high_mm, "source": band.source}
