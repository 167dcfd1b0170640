"""The editor's paper as a value: what a change does to the edge, and what of it is told."""

from typing import Any

import numpy as np
import pytest
from svgelements import CubicBezier

RING = """
const node = (id, x, y, more = {}) => ({ id, x, y, in: null, out: null, corner: true, edge: null, ...more });
const nodes = [
  node("a", 0, 0), node("b", 100, 0, { out: [120, 20] }), node("c", 100, 80, { in: [130, 60] }),
  node("d", 50, 90), node("e", 0, 80),
];
const doc = { nodes, notches: [], holes: [], darts: [], names: [], fold: null, grain: null, centre: null };
"""


def run(page: Any, body: str) -> Any:
    return page.evaluate(
        f"""async () => {{
            const model = await import("/static/editor/model.js");
            const curve = await import("/static/editor/curve.js");
            const {{ History }} = await import("/static/editor/history.js");
            {RING}
            {body}
        }}"""
    )


def test_a_new_point_leaves_the_curve_where_it_was(modules: Any) -> None:
    """Against the outside: a cubic evaluated by svgelements."""
    halves = run(
        modules,
        """const made = model.addNode(doc, { k: 1, t: 0.3 });
           const at = (k) => Array.from({ length: 21 }, (_, i) => curve.onCubic(curve.stretch(made.nodes, k), i / 20));
           return [...at(1), ...at(2)];""",
    )
    whole = CubicBezier(complex(100, 0), complex(120, 20), complex(130, 60), complex(100, 80))
    truth = np.array([[p.x, p.y] for p in (whole.point(t) for t in np.linspace(0, 1, 20001))])
    for point in halves:
        assert np.min(np.hypot(*(truth - point).T)) < 0.005


def test_moving_a_point_tells_only_its_own_stretch(modules: Any) -> None:
    parts = run(
        modules,
        """const moved = model.moveNode(doc, 3, [52, 95]);
           return model.toldOf(moved, doc, {}).outline_parts;""",
    )
    (part,) = parts
    assert part["points"][0] == [100, 80]
    assert part["points"][-1] == [0, 80]
    assert [52, 95] in part["points"]
    assert len(part["points"]) == 3


def test_what_is_taken_back_is_no_longer_told(modules: Any) -> None:
    told = run(
        modules,
        """const history = new History(doc);
           for (let i = 0; i < 500; i += 1) history.put(model.moveNode(history.doc, i % 5, [i, -i]));
           let undone = 0;
           while (history.undo()) undone += 1;
           const back = model.toldOf(history.doc, doc, {});
           let redone = 0;
           while (history.redo()) redone += 1;
           return { undone, redone, same: history.doc.nodes[4].x === 499, told: Object.values(back) };""",
    )
    assert told["undone"] == told["redone"] == 500
    assert told["same"]
    assert set(told["told"]) == {None}


def test_earlier_parts_are_kept(modules: Any) -> None:
    parts = run(
        modules,
        """const before = [{ points: [[0, 0], [1, 1]] }];
           const untouched = model.toldOf(doc, doc, { outline_parts: before }).outline_parts;
           const moved = model.toldOf(model.moveNode(doc, 3, [52, 95]), doc, { outline_parts: before }).outline_parts;
           return [untouched, moved.length, moved[0]];""",
    )
    assert parts == [[{"points": [[0, 0], [1, 1]]}], 2, {"points": [[0, 0], [1, 1]]}]


def test_a_notch_lies_on_the_edge(modules: Any) -> None:
    at = run(modules, 'return model.addMark(doc, "notch", [40, -7]).notches[0].at;')
    assert at == pytest.approx([40, 0])


def test_a_smooth_point_keeps_its_handles_in_line(modules: Any) -> None:
    node = run(
        modules,
        """const smooth = model.setCorner(doc, 2, false);
           return model.moveHandle(smooth, 2, "out", [90, 120]).nodes[2];""",
    )
    into, out = np.array(node["in"]) - [100, 80], np.array(node["out"]) - [100, 80]
    assert out == pytest.approx([-10, 40])
    assert into[0] * out[1] - into[1] * out[0] == pytest.approx(0, abs=1e-9)
    assert into @ out < 0


def test_an_edge_named_twice_has_one_name(modules: Any) -> None:
    names = run(
        modules,
        """let now = model.nameEdge(doc, [50, 0], "waist", "hem");
           now = model.nameEdge(now, [50, 0], "hem", "waist");
           return model.toldOf(now, doc, { edges: [{ name: "waist", at: [1, 1] }] }).edges;""",
    )
    assert names == [{"name": "hem", "at": [50, 0]}]
