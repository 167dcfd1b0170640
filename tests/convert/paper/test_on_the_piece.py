"""What stands on a piece for whoever sews it: bust point, levels, names of edges, what they are sewn to, ease."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon

from convert.block.block import Block
from convert.block.compared.ease import block_ease
from convert.block.shape.landmarks import net
from convert.block.shape.shape import shape_of
from convert.block.solved.solve import suggest
from convert.paper.draw.beside_edges import SIZE_MM
from convert.paper.draw.drawing import Drawing, Text
from convert.paper.draw.lettering import width
from convert.paper.draw.sewn_to import edge_words
from convert.paper.output import draw_block
from tests.bench.makers import pattern
from tests.convert.block.makers import card_of, random_makers


@pytest.fixture(scope="module")
def block() -> Block:
    (maker,) = random_makers(1, seed=11)
    pieces, drafted = pattern(traced=False)
    made = suggest(pieces, card=card_of(maker), drafted_for=drafted, ease=block_ease("usual").mm)
    return replace(made, levels=tuple(replace(one, body_is_estimated=one.name == "hip") for one in made.levels))


@pytest.fixture(scope="module")
def drawings(block: Block) -> dict[str, Drawing]:
    return {drawing.name: drawing for drawing in draw_block(block, date="1 May 2026")}


def words(drawing: Drawing) -> str:
    return " | ".join(text.words for text in drawing.texts)


def box_of(text: Text) -> Polygon:
    way = np.array([np.cos(np.deg2rad(text.angle_deg)), np.sin(np.deg2rad(text.angle_deg))])
    up = np.array([-way[1], way[0]])
    need = width(text.words, text.size)
    return Polygon([text.at, text.at + need * way, text.at + need * way + text.size * up, text.at + text.size * up])


def test_edges_say_their_name_and_partner_inside_the_piece(drawings: dict[str, Drawing]) -> None:
    said = words(drawings["Bodice front"])
    for line in ("side seam, sewn to the back", "armhole, sewn to the sleeve", "waist, sewn to the skirt front"):
        assert line in said
    for drawing in drawings.values():
        shape = Polygon(drawing.outline)
        edges = [text for text in drawing.texts if text.size == SIZE_MM and not text.movable]
        assert len(edges) >= 3, drawing.name
        boxes = [box_of(text) for text in edges]
        assert all(shape.contains(box) for box in boxes)
        assert all(not one.intersects(other) for k, one in enumerate(boxes) for other in boxes[:k])
        assert all(-90.001 < text.angle_deg <= 90.001 for text in edges), "none stands on its head"


def test_a_sleeve_tells_back_from_front_and_its_ease(block: Block, drawings: dict[str, Drawing]) -> None:
    said = words(drawings["Sleeve"])
    assert "front: underarm seam" in said
    assert "back: underarm seam" in said
    assert "eased in, most of it above the notches" in said
    shapes = {piece.kind: shape_of(piece) for piece in block.pieces}
    ease = net(shapes["sleeve"], "cap") - sum(net(shapes[f"bodice {side}"], "armhole") for side in ("front", "back"))
    assert edge_words(block.pieces)["sleeve"]["cap"].split(", ")[2].startswith(f"{round(ease / 10, 1):g} cm")


def test_bust_point_and_levels(drawings: dict[str, Drawing]) -> None:
    front, sleeve = drawings["Bodice front"], drawings["Sleeve"]
    levels = {path.name: path.points for path in front.of_kind("level") if path.name != "bust point"}
    cross = [path.points.mean(0) for path in front.of_kind("level") if path.name == "bust point"]
    assert len(cross) == 2
    assert cross[0] == pytest.approx(cross[1])
    assert levels["bust line"][:, 1] == pytest.approx(cross[0][1], abs=1e-6)
    assert levels["underarm line"][0, 1] > levels["bust line"][0, 1]
    assert {"upper arm line", "elbow line"} <= {path.name for path in sleeve.of_kind("level")}


def test_what_was_estimated_from_a_chart_is_marked(drawings: dict[str, Drawing]) -> None:
    assert "Estimated from a size chart, measure next: hip" in " ".join(
        text.words for text in drawings["Skirt front"].texts
    )
    assert "Estimated" not in words(drawings["Sleeve"])
