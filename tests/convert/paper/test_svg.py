"""SVG true to size, read back by svgelements (CSS: 1 in = 96 px = 25.4 mm)."""

import io

import numpy as np
import pytest
import svgelements

from convert.paper.draw.draw_piece import PieceWords, cut_words, draw_piece
from convert.paper.draw.svg import svg_page
from tests.convert.paper.plain_pieces import bodice

PX_PER_MM = 96 / 25.4
WORDS = PieceWords(
    whose="Block of maker A",
    cut="Cut 1",
    allowance="No seam allowance",
    ease=("Ease: bust 6 cm",),
    date="25 November 2026",
    version="Version 1",
)


def read_back(text: str) -> svgelements.SVG:
    return svgelements.SVG.parse(io.StringIO(text))


def ring_of(svg: svgelements.SVG, title: str, group: str) -> np.ndarray:
    """Points in mm, y up, of the path with that title."""
    for found in svg.elements(lambda e: isinstance(e, svgelements.Path)):
        element = found.values.get("id", "")
        if element == f"{group}-{title}":
            points = [(p.x, -p.y) for p in (segment.end for segment in found) if p is not None]
            return np.array(points) / PX_PER_MM
    raise AssertionError(f"no path {title} in {group}")


@pytest.mark.parametrize("scale", [1.0, 0.5, 0.25])
def test_seam_line_is_true_to_size(scale: float) -> None:
    piece = bodice()
    svg = read_back(svg_page([draw_piece(piece, WORDS, scale=scale)], title="t"))
    ring = ring_of(svg, "seam-line-outline", "bodice-front")
    size = ring.max(0) - ring.min(0)
    assert size == pytest.approx(np.array([250.0, 420.0]) * scale, abs=0.02)
    # the straight centre front of exactly 342 mm
    steps = np.hypot(*np.diff(np.vstack([ring, ring[:1]]), axis=0).T)
    assert np.abs(steps - 342.0 * scale).min() < 0.02


def test_page_is_as_large_as_it_says() -> None:
    text = svg_page([draw_piece(bodice(), WORDS), draw_piece(bodice("bodice back"), WORDS)], title="two pieces")
    svg = read_back(text)
    assert svg.width / PX_PER_MM == pytest.approx(svg.viewbox.width, abs=1e-3)
    # two pieces 250 mm wide, 20 mm between them, 10 mm round them, and the paper half a line's width beyond the line
    assert svg.viewbox.width == pytest.approx(250 * 2 + 20 + 20, abs=3)
    assert svg.viewbox.height == pytest.approx(420 + 20, abs=3)


def test_layers_have_plain_names_and_ids_occur_once() -> None:
    text = svg_page([draw_piece(bodice(), WORDS), draw_piece(bodice("bodice back"), WORDS)], title="two pieces")
    for layer in ("seam line", "fold", "darts", "grainline", "notches", "bust, waist and hip lines", "words"):
        assert f'inkscape:label="{layer}"' in text
    ids = [part.split('"')[0] for part in text.split(' id="')[1:]]
    assert len(ids) == len(set(ids))


def test_y_up_stands_up() -> None:
    """The neckline is above the waist: in SVG, where y goes down, its y is smaller."""
    svg = read_back(svg_page([draw_piece(bodice(), WORDS)], title="t"))
    ring = ring_of(svg, "seam-line-outline", "bodice-front")
    top = ring[np.argmax(ring[:, 1])]
    assert top[0] - ring[:, 0].min() == pytest.approx(72.0, abs=0.1)  # the side neck point


def test_cut_words_say_the_fold() -> None:
    assert cut_words(bodice(fold=True)) == "Cut 1, centre front on the fold"
    assert cut_words(bodice(fold=False)).startswith("Cut 2")
