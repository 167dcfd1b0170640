"""What is torn, and what only bends."""

import numpy as np

from calibration.ground.points import Points, as_point, closed, resample
from convert.trace.edge.ring import STEP_MM
from convert.trace.paper.raster import WorkRaster
from convert.trace.unseen.damage import Damage, find_damage


def judged(outline: Points, corners: Points) -> Damage:
    """The damage of an outline whose edge was drawn with these corners; its mask says nothing more."""
    ring = resample(closed(outline), STEP_MM)[:-1]
    index = np.array(sorted({int(np.argmin(((ring - c) ** 2).sum(1))) for c in corners}), np.int64)
    mask = np.ones((10, 10), bool)
    work = WorkRaster(
        pixels=np.zeros((10, 10, 3), np.uint8), seen=mask, mm_per_px=0.5, origin_mm=as_point([-999.0, -999.0])
    )
    return find_damage(ring, index, mask, work)


def test_a_tight_neckline_drawn_with_many_small_corners_is_not_torn() -> None:
    turn = np.linspace(np.pi, 1.5 * np.pi, 7)
    neck = np.array([200.0, 200.0]) + 40 * np.column_stack([np.cos(turn), np.sin(turn)])
    outline = np.vstack([[[0, 0], [200, 0]], neck[::-1], [[100, 210], [0, 200]]])
    assert not judged(outline, outline).torn.any()


def test_teeth_close_together_are_torn() -> None:
    teeth = np.array([[120, 200], [117, 195], [113, 199], [109, 193], [104, 198], [100, 200]], float)
    outline = np.vstack([[[0, 0], [200, 0], [200, 200]], teeth, [[0, 200]]])
    found = judged(outline, outline)
    assert found.torn.any()
    assert np.hypot(*(found.places[0] - [110, 197])) < 6.0
