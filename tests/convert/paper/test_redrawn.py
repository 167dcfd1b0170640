"""A block's SVG edited by hand comes back as the block: edges by name, marks, measured and checked again."""

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing

from calibration.ground.errors import InputError
from calibration.ground.points import length
from convert.block.block import Block, Level
from convert.block.measured.measure import measure
from convert.block.solved.checks import check_block
from convert.body.card import BodyMeasurement, Card
from convert.paper.draw.curves import CURVE_KEEP_MM
from convert.paper.draw.svg import svg_page
from convert.paper.output import draw_block
from convert.redrawn.redrawn import MOVE, read_drawing, redrawn_block
from tests.convert.paper.plain_pieces import bodice


def block(wider: float = 0.0) -> Block:
    pieces = (bodice("bodice front", wider=wider), bodice("bodice back", wider=wider))
    levels = tuple(
        Level(
            name=one.name,
            pattern_mm=one.mm,
            pattern_uncertainty_mm=1.0,
            drafted_for_mm=None,
            pattern_ease_mm=None,
            body_mm=one.mm - 60.0,
            body_is_estimated=False,
            ease_mm=60.0,
            target_mm=one.mm,
            block_mm=one.mm,
            uncertainty_mm=1.0,
        )
        for one in measure(pieces)
        if one.name in ("bust", "waist")
    )
    card = Card(name="maker A", measurements={"bust": BodyMeasurement(mm=940.0)})
    return Block(maker=card, pieces=pieces, levels=levels, checks=check_block(pieces, levels))


def svg_of(made: Block, *kinds: str) -> str:
    drawings = [d for d in draw_block(made, date="25 November 2026") if not kinds or d.name.lower() in kinds]
    return svg_page(drawings, title="t")


def nodes_moved(text: str, name: str, move: Callable[[np.ndarray], np.ndarray]) -> str:
    """The SVG with the points of one path's data moved, as a drawing program's node tool does."""
    data = re.search(rf'<path id="{name}" d="([^"]*)"', text)
    assert data is not None
    made = ""
    for command, numbers in re.findall("([MLC])([^MLCZ]*)", data[1]):
        points = move(np.array(numbers.split(), float).reshape(-1, 2))
        made += command + " ".join(f"{x:.4f} {y:.4f}" for x, y in points)
    return text.replace(data[1], made + "Z")


def test_an_untouched_drawing_changes_nothing() -> None:
    before = block()
    back = redrawn_block(before, svg_of(before))
    assert back.block is before
    assert back.sentences == ()


@given(st.floats(3.0, 60.0), st.floats(-180.0, 180.0))
@settings(max_examples=12, deadline=None)
def test_a_wider_piece_comes_back_however_it_lies(wider: float, turned: float) -> None:
    """The side seam moved outwards by a known amount, the piece turned and shifted on the page as well."""
    before, wanted = block(), block(wider)
    text = svg_of(wanted, "bodice front").replace(
        '<g id="bodice-front" ', f'<g id="bodice-front" transform="translate(40,-25) rotate({turned:.3f})" '
    )
    after = redrawn_block(before, text).block
    front, true = after.pieces[0], wanted.pieces[0]
    assert after.pieces[1] is before.pieces[1]
    assert [edge.name for edge in front.edges] == [edge.name for edge in true.edges]
    for edge, other in zip(front.edges, true.edges, strict=True):
        assert length(edge.points) == pytest.approx(length(other.points), abs=0.1), edge.name
        assert edge.on_fold == other.on_fold
    # laid on the truth by its corner at centre and waist, it lies as closely as a curve may
    shift = true.edge("centre front").points[-1] - front.edge("centre front").points[-1]
    off = LinearRing(front.seam_line + shift).hausdorff_distance(LinearRing(true.seam_line))
    assert off < 0.5 + 2 * CURVE_KEEP_MM  # half a millimetre, should it have been turned by a thousandth
    assert front.darts[0].on == "waist"
    assert front.darts[0].intake == pytest.approx(39.0, abs=0.02)
    assert [mark.on for mark in front.marks] == ["side seam", "armhole"]


def test_it_is_measured_checked_and_told() -> None:
    before = block()
    corner = 238.0 + 10.6  # the waist's end at the side seam, in the SVG

    def out(points: np.ndarray) -> np.ndarray:
        at_corner = (np.abs(points[:, :1] - corner) < 3) & (points[:, 1:] > 400)
        return points + [10.0, 0.0] * at_corner

    back = redrawn_block(before, nodes_moved(svg_of(before, "bodice front"), "bodice-front-seam-line-outline", out))
    waist = next(level for level in back.block.levels if level.name == "waist")
    assert waist.block_mm - before.levels[1].block_mm == pytest.approx(20.0, abs=0.3)  # 1 cm on each half front
    assert waist.ease_mm == pytest.approx(80.0, abs=0.3)
    assert [move.move for move in back.block.moves] == [MOVE]
    assert "On the bodice front you moved the waist by up to 1 cm and side seam by up to 1 cm." in back.sentences
    assert any(sentence.startswith("Waist: now") and "2 cm larger" in sentence for sentence in back.sentences)
    assert any(note.code == "redrawn" for note in back.block.notes)


def test_what_no_longer_sews_is_found() -> None:
    before = block()

    def down(points: np.ndarray) -> np.ndarray:
        return points + [0.0, 8.0] * ((np.abs(points[:, :1] - 248.6) < 3) & (points[:, 1:] > 400))

    back = redrawn_block(before, nodes_moved(svg_of(before, "bodice front"), "bodice-front-seam-line-outline", down))
    unequal = next(check for check in back.block.checks if check.check == "side seams equal")
    assert not unequal.sound
    assert abs(unequal.value) == pytest.approx(8.0, abs=0.2)


def test_a_dart_and_a_notch_moved() -> None:
    before = block()
    text = svg_of(before, "bodice front")
    moved = text.replace(
        '<g id="bodice-front-darts"', '<g id="bodice-front-darts" transform="translate(12,0)"'
    ).replace('<g id="bodice-front-notches"', '<g id="bodice-front-notches" transform="translate(0,9)"')
    back = redrawn_block(before, moved)
    front = back.block.pieces[0]
    assert front.darts[0].apexes[0] - before.pieces[0].darts[0].apexes[0] == pytest.approx([12.0, 0.0], abs=0.1)
    legs = front.darts[0].legs
    assert all(np.hypot(*(front.edge("waist").points - leg).T).min() < 1e-6 for leg in legs)
    assert front.marks[0].at[1] - before.pieces[0].marks[0].at[1] == pytest.approx(-9.0, abs=0.6)
    assert "changed the darts and notches" in " ".join(back.sentences)


DPI_72 = 96 / 72


@pytest.mark.parametrize(
    ("pattern", "put", "said"),
    [
        (r'width="([\d.]+)mm"', lambda m: f'width="{float(m[1]) * DPI_72}mm"', "1.33 times"),
        (r'<g id="bodice-front" ', r'<g id="bodice-front" transform="scale(1.03)" ', "1.03 times"),
        (r'<g id="bodice-front" ', r'<g id="bodice-front" transform="scale(-1,1)" ', "mirrored"),
        (r'(?s)<g id="bodice-front-darts".*?</g>', "", "“darts” of the bodice front is missing"),
        (r'(?s)<g id="bodice-front-seam-line".*?</g>', "", "No layer named “seam line”"),
        (r'(<path id="bodice-front-seam-line-outline" d="[^"]*)L[^L"]*Z"', r'\1"', "not closed"),
        (r'id="bodice-front(["-])', r'id="hat\1', "a piece “hat”"),
        (r'(d=")M(\d)', r"\1M5 400L 300 300L\2", "crosses itself"),
    ],
)
def test_what_cannot_be_understood_is_refused_with_a_remedy(pattern: str, put: str, said: str) -> None:
    before = block()
    text = svg_of(before, "bodice front")
    if "width" in pattern:
        text = re.sub(r'height="([\d.]+)mm"', lambda m: f'height="{float(m[1]) * DPI_72}mm"', text, count=1)
    count = 0 if "hat" in str(put) else 1
    edited = re.sub(pattern, put, text, count=count)
    assert edited != text
    with pytest.raises(InputError, match=said) as caught:
        redrawn_block(before, edited)
    assert caught.value.remedy


def test_a_piece_drawn_twice_is_refused() -> None:
    before = block()
    text = svg_of(before, "bodice front")
    group = re.search(r'(?s)<g id="bodice-front" .*</g>\n</g>', text)
    assert group is not None
    with pytest.raises(InputError, match="twice"):
        redrawn_block(before, text.replace("</svg>", group[0] + "</svg>"))


def test_a_file_that_is_not_there_or_compressed(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="can’t be read"):
        read_drawing(tmp_path / "none.svg")
    (tmp_path / "small.svgz").write_bytes(b"\x1f\x8b\x08\x00\xff\xfe")
    with pytest.raises(InputError, match="plain SVG"):
        read_drawing(tmp_path / "small.svgz")
