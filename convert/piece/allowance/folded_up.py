"""A hem that is folded up on the paper: its edge bears no print, while the other edges do."""

from collections.abc import Mapping

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.points import nearest_on_line, resample
from convert.piece.allowance.stitching import Stitching
from convert.piece.names.naming import NamedPiece
from convert.piece.piece import Allowance, EdgeName

_NEAR_MM = 2.0  # of the bare edge, as it was measured, from the edge's own line
_MOST = 0.7  # of the edge, that is bare
_DOUBT_MM = 2.0  # where exactly the fold lies beside the hem's line, common practice
_HEMS: tuple[EdgeName, ...] = ("hem", "wrist")


def folded_up(
    named: NamedPiece, stitching: Mapping[EdgeName, Stitching]
) -> tuple[dict[EdgeName, Allowance], list[Note]]:
    """The hems that are folded up, without allowance as they lie, and what is to be said of them."""
    bare = [line.points for line in named.tracing.lines if line.kind == "bare edge"]
    found: dict[EdgeName, Allowance] = {}
    notes = []
    for edge in named.edges:
        if edge.name not in _HEMS or edge.name in stitching or not bare:
            continue
        there = resample(edge.points, 5.0)
        near = [min(nearest_on_line(line, point)[2] for line in bare) < _NEAR_MM for point in there]
        if np.mean(near) < _MOST:
            continue
        why = (
            "No line is printed along it, as along the other edges: it is folded up, and the fold is taken for the hem."
        )
        found[edge.name] = Allowance(mm=0.0, evidence="deduced", uncertainty_mm=_DOUBT_MM, why=why)
        text = (
            f"The {edge.name} bears no printed line, as the other edges do: it seems to be folded up. The piece is "
            "measured to the fold, without hem allowance. Unfold it and take the picture again if the fold is not "
            f"where the hem is finished, or tell the allowance of the {edge.name}."
        )
        notes.append(Note("hem-folded-up", text))
    return found, notes
