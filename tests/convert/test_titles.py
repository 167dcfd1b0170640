"""The printed title of a piece, read where it shows and offered as its kind."""

import sys

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from calibration.sheet.flatten import FlatSheet
from convert.piece.names.title import title_of
from convert.piece.piece import PieceKind
from convert.trace.ink.wording import printed_lines
from tests.convert.piece.shapes import Drawn, draw

MM_PER_PX = 0.25


def outline(kind: PieceKind) -> Drawn:
    return draw(kind, np.random.default_rng(4))


@pytest.mark.parametrize(
    ("said", "drawn", "kind"),
    [
        (["FRONT"], "bodice front", "bodice front"),
        (["FRONT"], "skirt front", "skirt front"),
        (["Skirt Back", "cut 1"], "skirt back", "skirt back"),
        (["BACK", "CUT 2"], "bodice back", "bodice back"),
        (["SLEEVE"], "sleeve", "sleeve"),
        (["UPPER SLEEVE"], "sleeve", "upper sleeve"),
        (["Under sleeve"], "sleeve", "under sleeve"),
        (["SIDE FRONT"], "bodice front", "bodice front, side"),
        (["FRONT YOKE"], "bodice front", "bodice front yoke"),
        (["Lower back"], "bodice back", "bodice back, lower"),
        (["Rückenteil"], "bodice back", "bodice back"),
        (["Jupe devant"], "skirt front", "skirt front"),
    ],
)
def test_a_title_means_a_kind(said: list[str], drawn: PieceKind, kind: PieceKind) -> None:
    found = title_of([(text, 8.0 - n) for n, text in enumerate(said)], outline(drawn).tracing)
    assert found is not None
    assert found.kind == kind
    assert found.text == said[0]


def test_small_words_beside_an_edge_are_no_title() -> None:
    """CENTRE FRONT is printed along a fold too; a cut's own words are higher."""
    found = title_of([("BACK", 8.0), ("PLACE ON FOLD CENTRE FRONT", 3.0)], outline("bodice back").tracing)
    assert found is not None
    assert found.kind == "bodice back"


@pytest.mark.parametrize("words", [[], [("SIZE 12", 8.0)], [("FRONT AND BACK FACING", 8.0)], [("POCKET", 8.0)]])
def test_what_names_no_piece_is_no_title(words: list[tuple[str, float]]) -> None:
    assert title_of(words, outline("bodice front").tracing) is None


def sheet_with(words: str, turn_deg: float, *, mirrored: bool) -> tuple[FlatSheet, np.ndarray]:
    """Tan paper on a green mat, printed in letters of about 9 mm, lying turned; and its outline, mm."""
    page = Image.new("RGB", (1000, 1000), (222, 205, 170))
    ImageDraw.Draw(page).multiline_text((330, 420), words, fill=(40, 36, 30), font=ImageFont.load_default(46))
    pixels = np.asarray(page, np.uint8)
    pixels = pixels[:, ::-1] if mirrored else pixels
    turn = cv2.getRotationMatrix2D((500, 500), turn_deg, 1.0)
    turned = cv2.warpAffine(np.ascontiguousarray(pixels), turn, (1000, 1000), borderValue=(30, 90, 60))
    sheet = FlatSheet(
        pixels=np.asarray(turned, np.uint8),
        seen=np.ones((1000, 1000), bool),
        mm_per_px=MM_PER_PX,
        origin_mm=np.array([0.0, 250.0]),
    )
    corners = np.array([[150.0, 150.0], [850.0, 150.0], [850.0, 850.0], [150.0, 850.0]])
    return sheet, sheet.to_mm(corners @ turn[:, :2].T + turn[:, 2])


@pytest.mark.parametrize(("turn_deg", "mirrored"), [(0.0, False), (117.0, False), (-64.0, True)])
def test_print_is_read_whichever_way_the_paper_lies(turn_deg: float, mirrored: bool) -> None:
    sheet, ring = sheet_with("SLEEVE\nCUT 2", turn_deg, mirrored=mirrored)
    lines = printed_lines(sheet, ring, up_deg=90.0 + turn_deg, mirrored=mirrored)
    assert {line.text.replace(" ", "") for line in lines} == {"SLEEVE", "CUT2"}
    assert 5.0 < lines[0].high_mm < 16.0


def test_the_reader_is_loaded_only_when_it_is_asked() -> None:
    """Neither naming nor the command's words bring it."""
    import subprocess

    code = "import sys, convert.cli.main, convert.pipeline.titles; print('rapidocr' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"
