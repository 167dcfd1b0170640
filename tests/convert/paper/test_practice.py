"""The practice booklet: true to its scale, results that lie on the box they were drawn in, and that sew as before."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from shapely import Polygon

from calibration.ground.errors import InputError
from convert.block.block import Block
from convert.block.compared.ease import block_ease
from convert.block.moves.darts import move_dart
from convert.block.record import to_record
from convert.block.shape.landmarks import net
from convert.block.shape.shape import shape_of
from convert.block.solved.solve import suggest
from convert.cli.main import run
from convert.paper.practice.booklet import write_booklet
from convert.paper.practice.exercises import exercises
from convert.paper.practice.garments import straight
from convert.paper.practice.gathered import BESIDE_MM, gathered
from convert.paper.practice.panels import in_panels
from convert.paper.sheets.papers import paper_named
from convert.piece.piece import Piece
from tests.bench.makers import pattern
from tests.convert.block.makers import card_of, random_makers

MM = 72.0 / 25.4


@pytest.fixture(scope="module")
def block() -> Block:
    (maker,) = random_makers(1, seed=7)
    pieces, drafted = pattern(traced=False)
    return suggest(pieces, card=card_of(maker), drafted_for=drafted, ease=block_ease("usual").mm)


def piece_of(block: Block, kind: str) -> Piece:
    return next(piece for piece in block.pieces if piece.kind == kind)


def test_every_exercise_has_steps_a_result_and_something_to_look_at(block: Block) -> None:
    found = exercises(block.pieces)
    assert len(found) >= 8
    for one in found:
        assert one.steps
        assert one.results
        assert one.told
        assert one.pictures, one.title


def test_each_exercise_is_followed_by_its_result_in_the_same_box(block: Block) -> None:
    pdf = pdfium.PdfDocument(write_booklet(block, date="1 May 2026"))
    words = [page.get_textpage().get_text_bounded() for page in pdf]
    boxes = [max(_boxes(page), key=lambda one: (one[2] - one[0]) * (one[3] - one[1]), default=None) for page in pdf]
    count = len(exercises(block.pieces))
    for number in range(1, count + 1):
        (at,) = [i for i, text in enumerate(words) if f"{number}. What comes out" in text]
        assert "Draw here" in words[at - 1]
        assert boxes[at] == pytest.approx(boxes[at - 1], abs=0.01)


def _boxes(page: pdfium.PdfPage) -> list[tuple[float, float, float, float]]:
    paths = [item for item in page.get_objects() if item.type == pdfium.raw.FPDF_PAGEOBJ_PATH]
    return [item.get_bounds() for item in paths]


@pytest.mark.parametrize(("scale", "paper"), [(0.25, "A4"), (0.2, "Letter"), (0.5, "A3")])
def test_the_card_is_true_to_its_scale(block: Block, scale: float, paper: str) -> None:
    pdf = pdfium.PdfDocument(write_booklet(block, date="1 May 2026", scale=scale, paper=paper_named(paper)))
    sleeve = piece_of(block, "sleeve")
    turned = shape_of(sleeve).ring
    wide, high = (turned.max(0) - turned.min(0)) * scale * MM
    sizes = [(box[2] - box[0], box[3] - box[1]) for page in list(pdf)[1:4] for box in _boxes(page)]
    assert any(abs(w - wide) < 1.5 * MM and abs(h - high) < 1.5 * MM for w, h in sizes)


def test_a_scale_that_does_not_fit_is_refused(block: Block) -> None:
    with pytest.raises(InputError, match="larger than the page"):
        write_booklet(block, date="1 May 2026", scale=0.5)
    with pytest.raises(InputError, match="no exercise"):
        exercises([piece_of(block, "sleeve")])


def test_gathers_take_what_the_dart_took(block: Block) -> None:
    front = piece_of(block, "bodice front")
    dart = max((one for one in front.darts if one.on == "waist"), key=lambda one: one.intake)
    found = gathered(front, "waist")
    assert found.flat_mm - found.sewn_mm == pytest.approx(dart.intake, rel=0.05)
    assert found.sewn_mm == pytest.approx(2 * BESIDE_MM, abs=1.0)


def test_panels_together_are_the_front_without_its_darts(block: Block) -> None:
    front = piece_of(block, "bodice front")
    side = next(i for i, dart in enumerate(front.darts) if dart.on == "side seam")
    moved, _ = move_dart(front, side, "shoulder")
    whole = Polygon(moved.seam_line).area
    panels = sum(Polygon(one.strokes[0].points).area for one in in_panels(moved))
    mouths = sum(0.5 * dart.intake * float(np.hypot(*(dart.legs.mean(0) - _point(moved)))) for dart in moved.darts)
    assert panels == pytest.approx(whole - mouths, rel=0.01)


def _point(front: Piece) -> np.ndarray:
    from convert.block.shape.landmarks import bust_point

    shape = shape_of(front)
    return np.asarray(shape.frame.to_paper(bust_point(shape)[None])[0])


def test_a_straight_skirt_is_straight_below_the_hip_and_the_same_above(block: Block) -> None:
    skirt = piece_of(block, "skirt front")
    made = straight(skirt, 200.0)
    ring, old = shape_of(made).ring, shape_of(skirt).ring
    side = shape_of(made).run("side seam", "waist")
    below = ring[side][ring[side][:, 1] < -201.0]
    assert np.ptp(below[:, 0]) < 0.05
    above = side[old[side][:, 1] > -199.0]
    assert ring[above] == pytest.approx(old[above], abs=1e-6)
    assert net(shape_of(made), "waist") == pytest.approx(net(shape_of(skirt), "waist"), abs=1e-6)
    assert np.ptp(ring[shape_of(made).run("hem", shape_of(made).centre)][:, 1]) < 0.05


def test_the_command_writes_one_booklet_for_each_block_there_is(
    block: Block, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["practice", str(tmp_path)]) == 3
    record = json.dumps(to_record(replace(block, moves=()), curves=False))
    for place in ("out", "out/maker-b", "out/fitted"):
        (tmp_path / place).mkdir()
        (tmp_path / place / "block.json").write_text(record)
    assert run(["practice", str(tmp_path), "--json"]) == 0
    made = json.loads(capsys.readouterr().out)["booklets"]
    assert [Path(one).parent.name for one in made] == ["out", "maker-b"]
