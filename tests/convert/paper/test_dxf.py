"""DXF read back by ezdxf: audit, units, layer numbers of ASTM D6673, lengths."""

import io

import ezdxf
import numpy as np
import pytest

from convert.paper.draw.draw_piece import draw_piece
from convert.paper.files.dxf import write_dxf
from convert.paper.files.png import preview_png
from convert.piece.allowance.offset import add_allowance
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_svg import WORDS


def read_back(data: bytes) -> ezdxf.document.Drawing:
    return ezdxf.read(io.StringIO(data.decode("cp1252")))


def two_pieces() -> bytes:
    return write_dxf([draw_piece(bodice(kind), WORDS) for kind in ("bodice front", "bodice back")])


def test_audit_and_units() -> None:
    document = read_back(two_pieces())
    audit = document.audit()
    assert not audit.errors
    assert document.dxfversion == "AC1015"  # R2000
    assert document.header["$INSUNITS"] == 4  # millimetres


def test_one_block_per_piece_on_numbered_layers() -> None:
    document = read_back(two_pieces())
    assert [ref.dxf.name for ref in document.modelspace().query("INSERT")] == ["Bodice front", "Bodice back"]
    layers = {entity.dxf.layer for entity in document.blocks["Bodice front"]}
    # ASTM D6673: 1 boundary, 4 notches, 6 mirror line, 7 grain, 8 internal, 13 drill holes, 14 sew line, 15 text
    assert layers == {"1", "4", "6", "7", "8", "13", "14", "15"}


def test_lengths_are_millimetres() -> None:
    block = read_back(two_pieces()).blocks["Bodice front"]
    (fold,) = [entity for entity in block.query("LWPOLYLINE") if entity.dxf.layer == "6"]
    ends = np.array([point[:2] for point in fold.get_points()])
    assert len(ends) == 2, "a mirror line is two points"
    assert np.hypot(*(ends[-1] - ends[0])) == pytest.approx(342.0, abs=0.01)


def test_a_toile_has_its_boundary_outside_the_sew_line() -> None:
    piece = bodice()
    drawing = draw_piece(piece, WORDS, cut_ring=add_allowance(piece, 15.0))
    block = read_back(write_dxf([drawing])).blocks["Bodice front"]
    heights = {
        entity.dxf.layer: np.ptp(np.array([point[:2] for point in entity.get_points()])[:, 1])
        for entity in block.query("LWPOLYLINE")
        if entity.closed
    }
    assert heights["14"] == pytest.approx(420.0, abs=0.05)
    assert heights["1"] > 435.0


def test_the_header_says_where_the_drawing_lies() -> None:
    """Readers that fit a drawing to a page go by the header's extents."""
    header = read_back(two_pieces()).header
    low, high = np.array(header["$EXTMIN"])[:2], np.array(header["$EXTMAX"])[:2]
    assert high - low == pytest.approx([250.0 * 2 + 20.0, 420.0], abs=3.0)


def test_same_block_same_file() -> None:
    assert two_pieces() == two_pieces()


def test_preview_is_a_picture() -> None:
    assert preview_png([draw_piece(bodice(), WORDS)], px_per_mm=1.0).startswith(b"\x89PNG")
