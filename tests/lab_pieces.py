"""Pieces built from a lab scene's truth: what perfect tracing, naming and seam removal would give."""

from itertools import pairwise
from typing import Any, cast

import numpy as np

from calibration.ground.points import Points
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, Mark, Piece, PieceKind
from tests.lab import truth_of

KINDS = {
    "front bodice": "bodice front",
    "back bodice": "bodice back",
    "sleeve": "sleeve",
    "front skirt": "skirt front",
    "back skirt": "skirt back",
}
BODY = {
    "back_length": "back waist length",
    "front_length": "front waist length",
    "shoulder": "shoulder length",
    "back_width": "across back",
    "chest_width": "across chest",
    "bust_points": "bust point distance",
    "bust_depth": "bust height",
    "bicep": "upper arm",
    "waist_to_hip": "waist to hip",
    "armhole_depth": "armhole depth",
    "arm_length": "arm length",
}


def edge_name(name: str) -> EdgeName:
    """The project's word for an edge of the lab's."""
    plain = name.replace("-", " ")
    return cast(EdgeName, {"sleeve cap": "cap"}.get(plain, plain))


def dense(line: Points, step: float = 0.5) -> Points:
    """Points put into every stretch longer than ``step``, its own points kept."""
    out = [line[:1]]
    for a, b in pairwise(line):
        count = max(1, int(np.ceil(np.hypot(*(b - a)) / step - 1e-9)))
        out.append(a + np.arange(1, count + 1)[:, None] / count * (b - a))
    return np.vstack(out)


def piece_from_truth(truth: dict[str, Any], *, uncertainty_mm: float = 0.0, scale_uncertainty: float = 0.0) -> Piece:
    """The truth's piece on its seam line."""
    piece = truth["piece"]
    darts = tuple(
        Dart(on=edge_name(d["edge"]), apexes=[d["apex"]], legs=[d["leg_a"], d["leg_b"]]) for d in piece["darts"]
    )
    edges = []
    for e in piece["edges"]:
        line = dense(np.array([*e["seam_points"], e["seam_to"]], float))
        edges.append(
            Edge(
                name=edge_name(e["name"]),
                points=line,
                cut_points=line,
                allowance=Allowance(mm=e["allowance"], evidence="told"),
                on_fold=e["on_fold"],
            )
        )
    marks = tuple(
        Mark(kind="notch", at=n["on_seam"], on=edge_name(n["edge"]), meaning=n["purpose"]) for n in piece["notches"]
    )
    return Piece(
        kind=cast(PieceKind, KINDS[piece["kind"]]),
        edges=tuple(edges),
        darts=darts,
        marks=marks,
        grainline=np.array(piece["grainline"], float),
        uncertainty_mm=uncertainty_mm,
        scale_uncertainty=scale_uncertainty,
    )


def lab_piece(scene: str, which: str = "truth.json") -> Piece:
    """The piece of a scene."""
    return piece_from_truth(truth_of(scene, which))


def body(measurements: dict[str, float]) -> dict[str, float]:
    """A lab body in the project's names, mm."""
    return {BODY.get(name, name): mm for name, mm in measurements.items()}
