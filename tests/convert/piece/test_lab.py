"""Tracings made from the truth of the sample pictures: edges, darts, holes and seam line as drafted.

Needs a folder of scenes with a truth.json each (OWNBLOCK_LAB, else sample_scans/).
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.spatial import cKDTree

from calibration.ground.points import closed, lengths_along, resample
from convert.piece.names.kinds import KINDS
from convert.piece.names.told import Told
from convert.piece.piece import PieceKind
from convert.piece.read import piece_from
from convert.trace.tracing import TracedLine, TracedMark, Tracing
from tests.convert.piece.shapes import laid
from tests.lab import LAB

NAMES = {
    "centre-front": "centre front", "centre-back": "centre back", "side-seam": "side seam", "sleeve-cap": "cap",
    "underarm-seam-front": "underarm seam front", "underarm-seam-back": "underarm seam back",
}  # fmt: skip
TURN, SHIFT = 217.0, np.array([300.0, 250.0])


def kind_of(truth: dict[str, Any]) -> PieceKind:
    """``front bodice`` is called bodice front here; parts have one name in both."""
    kind = truth["piece"]["kind"]
    return kind if kind in KINDS else " ".join(reversed(kind.split()))


SCENES = [path for path in sorted(LAB.rglob("truth*.json")) if kind_of(json.loads(path.read_text())) in KINDS]


def name_of(edge: dict[str, Any], kind: PieceKind) -> str:
    name = NAMES.get(edge["name"], edge["name"].replace("-", " "))
    return "wrist" if name == "hem" and kind == "sleeve" else name


def drafted(path: Path, truth: dict[str, Any]) -> list[dict[str, Any]]:
    """The edges as drafted; of a front with a cut-on facing those that are left when that is cut off."""
    rows: list[dict[str, Any]] = truth["piece"]["edges"]
    if "facing" not in truth["piece"]:
        return rows
    widths = {row["name"]: row["allowance"] for row in rows}
    whole = json.loads((path.parent / "joined.json").read_text())["piece"]["edges"]
    return [{**row, "allowance": widths.get(row["name"])} for row in whole]


def there(points: Any) -> Any:
    return laid(np.asarray(points, float), TURN, False, SHIFT)


def traced(truth: dict[str, Any]) -> Tracing:
    """What a perfect tracing of the scene sees; a hem that was folded up is let down."""
    piece, seen = truth["piece"] | truth["piece"].get("unfolded", {}), truth.get("visible", {})
    ring = resample(closed(np.array(piece["cut_line"])), 0.5)[:-1]
    corners = [int(np.argmin(np.hypot(*(ring - e["cut_from"]).T))) for e in piece["edges"]]
    lines = []
    if not piece["holes"]:
        if seen.get("grainline"):
            lines.append(TracedLine(kind="grainline", points=there(piece["grainline"])))
        if seen.get("seam_line"):
            for e in piece["edges"]:
                if not e["on_fold"]:
                    lines.append(TracedLine(kind="stitching", points=there(e["seam_points"]), dashed=True))
        for line in piece.get("inside_lines", []):
            hole = line["name"].startswith("buttonhole")
            lines.append(TracedLine(kind="buttonhole" if hole else "other", points=there(line["points"])))
        if seen.get("dart"):
            for d in piece["darts"]:
                lines += [TracedLine(kind="dart", points=there([d[k], d["apex"]])) for k in ("leg_a", "leg_b")]
    marks = [TracedMark(kind="notch", at=there([n["at"]])[0], size_mm=n["depth"]) for n in piece["notches"]]
    marks += [TracedMark(kind="hole", at=there([h["at"]])[0], size_mm=h["diameter"]) for h in piece["holes"]]
    return Tracing(
        outline=there(ring),
        corners=np.array(sorted(corners), np.int64),
        inferred=np.zeros(len(ring), bool),
        lines=tuple(lines),
        marks=tuple(marks),
    )


@pytest.mark.skipif(not SCENES, reason="no scenes with truth")
@pytest.mark.parametrize("path", SCENES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_told_allowances_give_the_drafted_seam_line(path: Path) -> None:
    truth = json.loads(path.read_text())
    kind, rows = kind_of(truth), drafted(path, truth)
    fold = next((name_of(e, kind) for e in rows if e["on_fold"]), "none")
    told = Told(
        fold=fold,
        allowances={name_of(e, kind): e["allowance"] for e in rows if not e["on_fold"] and e["allowance"] is not None},
    )
    piece = piece_from(traced(truth), kind, told)
    assert piece.placement is not None
    for e in rows:
        found = piece.edge(name_of(e, kind)).points
        want = piece.placement.to_piece(there(e["seam_points"]))
        # the truth follows the peak of a dart where the edge here goes straight across its mouth
        assert np.median(cKDTree(resample(found, 0.1)).query(want)[0]) < 0.15
        assert (
            np.hypot(*(found[[0, -1]] - piece.placement.to_piece(there([e["seam_from"], e["seam_to"]]))).T).max() < 1.0
        )
    net = {name_of(e, kind): e["net_seam_length"] for e in rows}
    for one in truth["piece"].get("gathers", []):  # what is gathered or tucked is still there
        net[name_of({"name": one["edge"]}, kind)] += one["gathered_mm"]
    for tuck in truth["piece"].get("tucks", []):
        net["waist"] += tuck["taken_mm"]
    for edge in piece.edges:
        mouths = sum(dart.intake for dart in piece.darts if dart.on == edge.name)
        assert lengths_along(edge.points)[-1] - mouths == pytest.approx(net[edge.name], abs=0.8)


@pytest.mark.skipif(not SCENES, reason="no scenes with truth")
@pytest.mark.parametrize("path", SCENES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_allowances_read_from_the_paper_are_never_measured_wrong(path: Path) -> None:
    truth = json.loads(path.read_text())
    kind = kind_of(truth)
    piece = piece_from(traced(truth), kind)
    for e in drafted(path, truth):
        found = piece.edge(name_of(e, kind)).allowance
        if e["allowance"] is not None and found.evidence in ("measured", "deduced"):
            assert found.mm == pytest.approx(e["allowance"], abs=0.5)
    meanings = {"leg": "dart leg", "line": "dart line", "apex": "dart point"}
    holes = [mark for mark in piece.marks if mark.kind == "hole"]
    for mark, hole in zip(holes, truth["piece"]["holes"], strict=True):
        what, _, of = hole["purpose"].split(":")[0].partition("-")
        assert mark.meaning.startswith(meanings[of.split("-")[0]] if what == "dart" else what)
