"""Parts laid together: panels of random cut, and what is said of parts that don't make a piece."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.ground.errors import InputError
from convert.piece.names.told import Told
from convert.piece.piece import Dart, EdgeName, Piece, PieceKind
from convert.piece.read import piece_from
from convert.piece.together.agreeing import seams_from
from convert.piece.together.laid import Laid
from convert.piece.together.together import together
from tests.convert.piece.together.cut_up import CutUp, apart_mm, cut_up

SEAM_MM, POINT_MM, INTAKE_MM = 0.2, 3.0, 1.0  # what a cutter can't see on paper: a pencil line is half a millimetre


def read(cut: CutUp, kinds: tuple[PieceKind, ...]) -> list[Piece]:
    def named(place: int, begins_on: EdgeName) -> Piece:
        return piece_from(cut.tracings[place], kinds[place], Told(seam_from=begins_on))

    pieces = [piece_from(tracing, kind) for tracing, kind in zip(cut.tracings, kinds, strict=True)]
    for place, begins_on in seams_from(pieces, named).items():
        pieces[place] = named(place, begins_on)
    return pieces


def laid(cut: CutUp) -> Laid:
    (one,) = together(read(cut, tuple(panel.kind for panel in cut.panels)))
    return one


@pytest.mark.parametrize("seed", range(4))
def test_panels_make_the_piece_they_were_cut_from(seed: int) -> None:
    cut = cut_up(np.random.default_rng(seed))
    found = laid(cut)
    (dart,) = [dart for dart in found.piece.darts if dart.on == "waist"]
    true = cut.whole.darts[0]
    assert apart_mm(found.piece.seam_line, cut.whole.seam_line) < SEAM_MM
    assert abs(dart.intake - true.intake) < INTAKE_MM
    legs = [float(np.hypot(*(one.apexes[0] - one.legs[0]))) for one in (dart, true)]
    assert abs(legs[0] - legs[1]) < POINT_MM
    assert not {"parts-apart", "part-turned-over", "part-swapped"} & {note.code for note in found.piece.notes}


@pytest.mark.parametrize("seed", range(3))
def test_a_dart_above_opens_as_wide_as_told_and_comes_off_the_one_below(seed: int) -> None:
    """The fullness about the bust point is one angle, however it is shared out: the law of the pivot."""
    cut = cut_up(np.random.default_rng(seed))
    pieces = read(cut, tuple(panel.kind for panel in cut.panels))
    (plain,) = together(pieces)
    (shared,) = together(pieces, darts_above={plain.piece.kind: 15.0})
    above = {dart.on: dart for dart in shared.piece.darts}[cut.begins_on]
    assert above.intake == pytest.approx(15.0, abs=0.3)

    def angle(dart: Dart) -> float:
        one, other = dart.legs - dart.apexes[0]
        return float(np.degrees(np.arccos(one @ other / np.hypot(*one) / np.hypot(*other))))

    whole = sum(angle(dart) for dart in plain.piece.darts)
    assert sum(angle(dart) for dart in shared.piece.darts) == pytest.approx(whole, abs=0.3)


def test_a_panel_that_lay_face_down_is_turned_over_and_said() -> None:
    cut = cut_up(np.random.default_rng(0), flipped=(False, True))
    found = laid(cut)
    assert "part-turned-over" in {note.code for note in found.piece.notes}
    assert apart_mm(found.piece.seam_line, cut.whole.seam_line) < SEAM_MM


def test_swapped_panels_are_said() -> None:
    cut = cut_up(np.random.default_rng(2))
    pieces = read(cut, (cut.panels[1].kind, cut.panels[0].kind))
    assert all("part-swapped" in {note.code for note in piece.notes} for piece in pieces)


def test_parts_that_do_not_belong_together_are_asked_about() -> None:
    one, other = cut_up(np.random.default_rng(4)), cut_up(np.random.default_rng(10))
    centre, side = read(one, tuple(p.kind for p in one.panels))[0], read(other, tuple(p.kind for p in other.panels))[1]
    (found,) = together([centre, side])
    assert "parts-apart" in {note.code for note in found.piece.notes}


def test_a_part_that_is_missing_or_there_twice_is_said_in_one_sentence() -> None:
    cut = cut_up(np.random.default_rng(0))
    centre, side = cut.panels
    with pytest.raises(InputError, match=f"{centre.kind} is there, but not the {side.kind}"):
        together([centre])
    with pytest.raises(InputError, match=f"{side.kind} is there twice"):
        together([centre, side, side])
    with pytest.raises(InputError, match="whole and in parts"):
        together([replace(cut.whole), centre])
