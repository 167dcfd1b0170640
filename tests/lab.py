"""Pictures with exact truth beside each, from the folder named by the environment variable OWNBLOCK_LAB.

``OWNBLOCK_LAB`` holds scene folders with a ``truth.json`` each; without it sample_scans/ serves.
"""

import json
import os
from pathlib import Path
from typing import Any

import numpy as np

from calibration.lattice.mat import Lattice
from calibration.view.accuracy import Accuracy
from calibration.view.lens import Lens
from calibration.view.view import MatView

SAMPLES = Path(__file__).parents[1] / "sample_scans"
LAB = Path(os.environ.get("OWNBLOCK_LAB", SAMPLES))


def scene_folder(scene: str) -> Path:
    """Where a scene lies: in the lab, or among the samples; the lab's place (which may not exist) if nowhere."""
    places = [LAB / scene, SAMPLES / scene, SAMPLES / "wardrobe" / scene]
    return next((place for place in places if place.is_dir()), places[0])


def truth_of(scene: str, which: str = "truth.json") -> dict[str, Any]:
    """The truth of a scene."""
    truth: dict[str, Any] = json.loads((scene_folder(scene) / which).read_text())
    return truth


def view_from_truth(truth: dict[str, Any], photo: int = 0) -> MatView:
    """The view that a perfect calibration would give."""
    camera = truth["photos"][photo]["camera_as_displayed"]
    mat = truth["mat"]
    k1, k2, p1, p2 = camera["distortion_k1_k2_p1_p2"]
    lens = Lens(centre_px=np.array([camera["cx"], camera["cy"]]), scale_px=camera["fx"], k1=k1, k2=k2, p1=p1, p2=p2)
    columns, rows = mat["cells"]
    grid = np.stack(np.meshgrid(np.arange(columns + 1), np.arange(rows + 1)), axis=-1).reshape(-1, 2)
    seen_mm = grid * mat["pitch_mm"]
    lattice = Lattice(
        kind="dots" if mat.get("kind") == "dots" else "lines",
        pitch_mm=mat["pitch_mm"],
        line_width_mm=mat.get("line_width_mm", 0.4),
        heavy_width_mm=mat.get("heavy_width_mm", 0.8),
        heavy_every=mat.get("heavy_every_cells", 0),
        last_x=columns,
        last_y=rows,
    )
    bare = MatView(
        to_straight=np.array(camera["mat_mm_to_undistorted_px"]),
        lens=lens,
        lattice=lattice,
        size_px=(camera["width"], camera["height"]),
        seen_px=np.zeros((0, 2)),
        seen_mm=np.zeros((0, 2)),
        accuracy=Accuracy(rms_mm=0.02, seen_mm=seen_mm, reach_mm=60.0),
    )
    seen_px = bare.to_px(seen_mm)
    inside = ((seen_px >= 0) & (seen_px <= np.array(bare.size_px) - 1)).all(1)
    return MatView(
        to_straight=bare.to_straight,
        lens=lens,
        lattice=lattice,
        size_px=bare.size_px,
        seen_px=seen_px[inside],
        seen_mm=seen_mm[inside],
        accuracy=Accuracy(rms_mm=0.02, seen_mm=seen_mm[inside], reach_mm=60.0),
    )
