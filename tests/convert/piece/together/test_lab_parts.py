"""Parts with exact seam lines laid together against the pieces they make, from pictures kept outside the repository."""

import json
from typing import Any, cast

import numpy as np
import pytest

from convert.piece.piece import Allowance, Dart, Edge, InsideLine, Mark, Piece, PieceKind
from convert.piece.together.assembled import bared
from convert.piece.together.together import together
from tests.convert.piece.together.cut_up import apart_mm
from tests.lab import LAB
from tests.lab_pieces import dense, edge_name

SEAM_MM, POINT_MM, INTAKE_MM = 0.5, 3.0, 1.0

SETS = {
    "q1": (("q1_front_panels/truth.json", "q1_front_panels/truth_2.json"), "q1_front_panels"),
    "q2": (("q2_centre_back/truth.json", "q2b_side_back/truth.json"), "q2_centre_back"),
    "q3": (("q3_yoke_gathers/truth.json", "q3_yoke_gathers/truth_2.json"), "q3_yoke_gathers"),
    "q4": (("q4_waist_tucks/truth.json",), "q4_waist_tucks"),
    "q6": (("q6_two_part_sleeve/truth.json", "q6_two_part_sleeve/truth_2.json"), "q6_two_part_sleeve"),
    "q7": (("q7_gored_skirt/truth.json", "q7_gored_skirt/truth_2.json"), "q7_gored_skirt"),
}


def exact(truth: dict[str, Any]) -> Piece:
    edges = []
    for edge in truth["edges"]:
        line = dense(np.array([*edge["seam_points"], edge["seam_to"]], float))
        width = Allowance(mm=edge["allowance"], evidence="told")
        name = edge_name(edge["name"])
        edges.append(Edge(name=name, points=line, cut_points=line, allowance=width, on_fold=edge["on_fold"]))
    return Piece(
        kind=cast(PieceKind, truth["kind"]),
        edges=tuple(edges),
        darts=tuple(
            Dart(on=edge_name(d["edge"]), apexes=[d["apex"]], legs=[d["leg_a"], d["leg_b"]]) for d in truth["darts"]
        ),
        marks=tuple(
            Mark(kind="notch", at=n["at"], seam_at=np.array(n["on_seam"], float), on=edge_name(n["edge"]))
            for n in truth["notches"]
        ),
        grainline=np.array(truth["grainline"], float),
        inside=tuple(InsideLine(points=line["points"]) for line in truth.get("inside_lines", [])),
    )


@pytest.mark.parametrize("which", SETS)
def test_parts_make_the_piece_that_they_were_cut_from(which: str) -> None:
    parts, scene = SETS[which]
    if not (LAB / scene / "joined.json").is_file():
        pytest.skip("the pictures are not here")
    pieces = [exact(json.loads((LAB / name).read_text())["piece"]) for name in parts]
    true = exact(json.loads((LAB / scene / "joined.json").read_text())["piece"])
    (found,) = together(pieces)
    # the true line follows the peaks that folded darts leave, as the line to cut does
    assert apart_mm(bared(found.piece).cut_line, true.seam_line) < SEAM_MM
    assert len(found.piece.darts) == len(true.darts)
    order = {str(dart.on): dart for dart in found.piece.darts}
    for wanted in true.darts:
        dart = order[str(wanted.on)]
        assert dart.on == wanted.on
        assert abs(dart.intake - wanted.intake) < INTAKE_MM
        assert np.hypot(*(dart.apexes[0] - wanted.apexes[0])) < POINT_MM
