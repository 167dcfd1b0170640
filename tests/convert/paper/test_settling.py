"""A layout moved as a whole: joins off the points that must be met, no sheet for a strip, never a sheet more."""

import numpy as np
import pytest
from shapely import Polygon, box, unary_union

from convert.paper.draw.drawing import turn
from convert.paper.sheets.joined import lay_tiles
from convert.paper.sheets.packing import Grid, Group, Place, sheets_used
from convert.paper.sheets.settling import CLEAR_MM, near_joins, settled, strips

GRID = Grid(step_x=180.0, step_y=267.0, overlap=10.0)


def group_of(ring: np.ndarray, shift: tuple[float, float]) -> Group:
    place = Place(angle_deg=0.0, shift=np.array(shift))
    return Group(places={0: place}, used=sheets_used([Polygon(turn(ring, 0.0, place.shift))], GRID))


def test_a_point_on_a_join_is_moved_off_it() -> None:
    ring = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, -200.0], [0.0, -200.0]])
    dart = np.array([[172.0, -90.0]])
    before = group_of(ring, (12.0, -20.0))
    assert near_joins(dart + [12.0, -20.0], GRID) == 1, "4 mm from the join at 180 mm"
    after = settled(before, [ring], [dart], GRID)
    (x, y) = (dart + after.places[0].shift)[0]
    assert min(abs(x - 180.0), abs(y), abs(y + 267.0)) >= CLEAR_MM
    assert len(after.used) <= len(before.used)


def test_a_strip_of_paper_is_spared() -> None:
    ring = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, -100.0], [0.0, -100.0]])
    before = group_of(ring, (-22.0, -20.0))
    count = strips(before, [ring], GRID)
    assert count >= 1
    after = settled(before, [ring], [np.array([[100.0, -50.0]])], GRID)
    assert len(after.used) <= len(before.used)
    assert strips(after, [ring], GRID) < count


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_pieces_stay_whole_and_apart_and_take_no_sheet_more(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rings, marks = [], []
    for _ in range(3):
        wide, high = rng.uniform(150.0, 400.0, 2)
        rings.append(np.array([[0.0, 0.0], [wide, 0.0], [wide * 0.8, high], [0.0, high]]))
        marks.append(rng.uniform(20.0, 140.0, (6, 2)))
    plain, moved = lay_tiles(rings, GRID), lay_tiles(rings, GRID, marks)
    assert sum(len(one.used) for one in moved) <= sum(len(one.used) for one in plain)

    def near(groups: tuple[Group, ...]) -> int:
        laid = [turn(marks[i], p.angle_deg, p.shift) for one in groups for i, p in one.places.items()]
        return near_joins(np.vstack(laid), GRID)

    assert near(moved) <= near(plain)
    for one in moved:
        shapes = [Polygon(turn(rings[i], p.angle_deg, p.shift)) for i, p in one.places.items()]
        shown = unary_union([box(*GRID.window(*cell)) for cell in one.used])
        assert all(shape.difference(shown).area < 1e-6 for shape in shapes)
        assert all(a.intersection(b).area < 1e-6 for k, a in enumerate(shapes) for b in shapes[:k])
