"""Views out of the survey that once went wrong in silence."""

import numpy as np
import pytest

from calibration import calibrate
from tests.bench.views import errors_mm, everyday_scene, picture, random_scene


@pytest.mark.parametrize(
    ("seed", "what"),
    [(1080, "diagonals' crossings between lines"), (1143, "pale half lines"), (1297, "every other place empty")],
)
def test_lines_are_counted_as_printed(seed: int, what: str) -> None:
    scene, told_mm = random_scene(seed)
    photo, true = picture(scene, seed, None)
    off, *_ = errors_mm(calibrate(photo, pitch_mm=told_mm), true, scene)
    assert np.max(off) < 0.1, what


def test_lines_miscounted_one_way_are_doubted() -> None:
    """Of dashed lines only the heavy ones show one way: six places are counted where five are."""
    scene, told_mm = random_scene(1146)
    photo, true = picture(scene, 1146, None)
    view = calibrate(photo, pitch_mm=told_mm)
    off, *_ = errors_mm(view, true, scene)
    assert np.max(off) < 0.5 or any("longer one way" in note.text for note in view.notes)


@pytest.mark.parametrize(("seed", "what"), [(70000, "every third inch counted"), (70027, "the tiles of the floor")])
def test_a_grid_too_small_for_a_pattern_piece_is_doubted(seed: int, what: str) -> None:
    """Paper covers nearly all of the mat: what else repeats in the picture is taken for its lines."""
    scene, told_mm = everyday_scene(seed)
    photo, true = picture(scene, seed, None)
    view = calibrate(photo, pitch_mm=told_mm)
    off, *_ = errors_mm(view, true, scene)
    assert np.max(off) < 0.5 or any("little for a pattern piece" in note.text for note in view.notes), what
