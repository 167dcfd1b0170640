"""What a steel rule reads along the mat's grid, from the words in the job to the piece."""

import json
from pathlib import Path

import numpy as np
import pytest

from calibration.ground.errors import InputError
from convert.cli.main import run
from convert.job.mat import RULE_MM, mat_check
from convert.pipeline.look import Pictures, read_sheet, trace_sheet
from tests.calibration.render_mat import Scene, render_jpeg

FRONT = Path(__file__).parents[2] / "sample_scans/wardrobe/s1_front/photo.jpg"


@pytest.mark.parametrize(
    "told",
    [
        "50 cm reads 49.9 cm",
        "50cm read 499mm",
        "20 in is 19.96 in",
        {"across": "50 cm reads 49,9 cm"},
        {"across": "50 cm reads 49.9 cm", "up": "25 cm reads 24.95 cm"},
    ],
)
def test_what_the_rule_reads(told: object) -> None:
    check = mat_check(told, where="job.toml")
    assert check.scale == pytest.approx((0.998, 0.998), abs=1e-6)
    assert RULE_MM / 510 < check.uncertainty <= RULE_MM / 250


def test_the_two_ways_apart() -> None:
    told = {"up": "40 cm reads 40.1 cm", "across": "50 cm reads 50 cm"}
    assert mat_check(told, where="job.toml").scale == pytest.approx((1.0, 1.0025))


@pytest.mark.parametrize(
    ("told", "problem"),
    [
        ("49.9 cm", "does not say"),
        ("50 reads 49.9", "not a length with a unit"),
        ("5 cm reads 5 cm", "too little"),
        ({"sideways": "50 cm reads 50 cm"}, "not written"),
        (0.998, "not written"),
    ],
)
def test_what_cannot_be_understood(told: object, problem: str) -> None:
    with pytest.raises(InputError, match=problem) as refused:
        mat_check(told, where="job.toml")
    assert refused.value.remedy


def test_a_piece_follows_the_rule_each_way_apart() -> None:
    """The mat's print is 0.4 % short across and 0.4 % long up: the outline is measured so, and nothing is lost."""
    usual = read_sheet(Pictures(paths=(FRONT,), pitch_mm=10.0))
    check = mat_check({"across": "50 cm reads 49.8 cm", "up": "50 cm reads 50.2 cm"}, where="job.toml")
    ruled = read_sheet(Pictures(paths=(FRONT,), pitch_mm=10.0, mat=check))
    before, after = (np.ptp(trace_sheet(one)[0].outline, axis=0) for one in (usual, ruled))
    assert after / before == pytest.approx([0.996, 1.004], abs=2e-4)
    assert ruled.scale_uncertainty == pytest.approx(RULE_MM / 500)
    assert ruled.scale_uncertainty < usual.scale_uncertainty


def test_crossings_told_in_the_job_are_the_ruler(tmp_path: Path) -> None:
    """Half lines are printed; four crossings told say which lines are a pitch apart, and where the frame lies."""
    scene = Scene(size_px=(1600, 1200), focal_px=1900, pitch_mm=25.4, cells=(16, 12), half_lines=True, fill=0.9)
    code, true = render_jpeg(scene)
    (tmp_path / "mat.jpg").write_bytes(code.tobytes())
    corners = np.array([[2, 2], [12, 2], [12, 9], [2, 9]], float)
    px = true.to_px(corners * 25.4)
    told = tuple(
        (float(x), float(y), float(u) * 25.4, float(v) * 25.4) for (x, y), (u, v) in zip(px, corners - 2, strict=True)
    )
    read = read_sheet(Pictures(paths=(tmp_path / "mat.jpg",), pitch_mm=25.4, lattices=(told,)))
    at = read.views[0].to_mm(true.to_px(np.array([[100.0, 90.0]])))
    assert at == pytest.approx(np.array([[100.0, 90.0]]) - 2 * 25.4, abs=0.1)


def test_trace_takes_what_the_rule_reads(tmp_path: Path) -> None:
    words = ["trace", str(FRONT), "--grid", "1cm", "--piece", "bodice front", "--out", str(tmp_path / "p.json")]
    assert run([*words, "--mat-check", "50 cm"]) == 2
    assert run([*words, "--mat-check", "50 cm reads 49.9 cm"]) == 0
    assert json.loads((tmp_path / "p.json").read_text())["complete"]
