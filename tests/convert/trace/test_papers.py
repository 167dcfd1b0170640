"""Papers as they are: two kinds in one picture, pencil on a torn sheet, ends beyond the mat."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree

from calibration.ground.points import Points, closed, resample
from convert.pipeline.look import choose
from convert.trace.nest import nest
from convert.trace.trace import trace, trace_with_print
from tests import render_sheet as render

CARD = {"rgb": (205, 160, 110), "opacity": 1.0}
THIN = {"rgb": (225, 228, 226), "opacity": 0.72}
SLEEVE = np.array([[12, 14], [126, 10], [132, 110], [74, 168], [8, 118]], float)
BODICE = np.array([[146, 12], [246, 16], [240, 150], [200, 168], [142, 160]], float)


def _off(found: Points, truth: Points) -> float:
    return float(np.sqrt((cKDTree(resample(closed(truth), 0.05)).query(found)[0] ** 2).mean()))


def _both(**more: object) -> render.Scene:
    pieces = (render.Drawn(cut_line=SLEEVE, **THIN), render.Drawn(cut_line=BODICE, **CARD))
    return render.Scene(pieces=pieces, mat_rgb=(70, 160, 146), size_mm=(300.0, 230.0), **more)  # type: ignore[arg-type]


def test_a_thin_sleeve_beside_a_card_bodice_is_a_piece_of_its_own() -> None:
    traced = trace(render.draw(_both()))
    assert len(traced) == 2
    for place, truth in (("left", SLEEVE), ("right", BODICE)):
        assert _off(choose(traced, place, "a.jpg").outline, truth) < render.MM_PER_PX
    assert [one.label for one in traced] == ["left", "right"]


@pytest.mark.parametrize(
    "thing",
    [
        np.array([[15, 20], [45, 20], [45, 178], [15, 178]], float),  # a wooden rule
        np.array([40, 100]) + 33 * np.column_stack([f(np.linspace(0, 2 * np.pi, 60)[:-1]) for f in (np.cos, np.sin)]),
    ],
)
def test_a_rule_and_a_cushion_are_no_pieces(thing: Points) -> None:
    lying = render.Drawn(cut_line=thing, rgb=(60, 90, 180), opacity=1.0)
    scene = render.Scene(pieces=(lying, render.Drawn(cut_line=BODICE, **CARD)), size_mm=(300.0, 230.0))
    (traced,) = trace(render.draw(scene))
    assert _off(traced.outline, BODICE) < render.MM_PER_PX


def test_one_piece_where_one_of_several_was_asked_for_is_said() -> None:
    scene = render.Scene(pieces=(render.Drawn(cut_line=BODICE, **CARD),), size_mm=(300.0, 230.0))
    traced = trace(render.draw(scene))
    assert [note.code for note in choose(traced, "left", "a.jpg").notes] == ["one-piece-seen"]
    assert not choose(traced, None, "a.jpg").notes


def test_a_pencil_outline_is_followed_though_the_torn_edge_looks_printed() -> None:
    sheet = np.array([[8, 6], [252, 2], [256, 178], [4, 182]], float)
    outline = np.array([[40, 30], [215, 28], [220, 120], [160, 150], [38, 148]], float)
    ticks = (np.array([[33.0, 90], [46, 90]]), np.array([[120.0, 22], [120, 36]]))
    drawn = render.Drawn(
        cut_line=sheet, rgb=(214, 188, 150), opacity=0.75, rim_mm=0.35, pencil=(closed(outline), *ticks)
    )
    scene = render.Scene(pieces=(drawn,), mat_rgb=(190, 40, 96), line_rgb=(240, 220, 230), size_mm=(310.0, 240.0))
    (traced,) = trace_with_print(render.draw(scene))
    assert _off(traced.outline, outline) < render.MM_PER_PX
    notches = np.array([mark.at for mark in traced.marks if mark.kind == "notch"])
    assert len(notches) == 2
    assert cKDTree(notches).query([[39.0, 90], [120, 29.1]])[0].max() < 1.0


def test_paper_that_runs_off_at_both_ends_is_said_to() -> None:
    long = np.array([[-40, 50], [320, 46], [322, 120], [-40, 124]], float)
    drawn = render.Drawn(cut_line=long, rgb=(226, 196, 142), opacity=0.9)
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,))))
    (note,) = [note for note in traced.notes if note.code == "runs-off"]
    assert "on the left and on the right" in note.text
    assert not traced.complete


@pytest.mark.parametrize("halo", [(0.0, 0.8), (1.2, 0.8)])
def test_an_edge_that_is_folded_under_is_told_by_its_missing_print(halo: tuple[float, float]) -> None:
    skirt = np.array([[30, 30], [180, 26], [176, 150], [60, 156], [34, 120]], float)
    under = np.array([[20, 36], [20, 20], [190, 16], [190, 32]], float)
    drawn = render.Drawn(cut_line=skirt, rgb=(222, 190, 140), opacity=0.85, rim_mm=0.6, folded=under)
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), halo=halo)))
    (bare,) = [line.points for line in traced.lines if line.kind == "bare edge"]
    assert (
        np.abs(bare[:, 1] - np.interp(bare[:, 0], [30, 180], [30, 26])).max() < 7.0
    )  # and round both corners, as far as there is no print
    assert np.ptp(bare[:, 0]) > 130.0
    (whole,) = trace(render.draw(render.Scene(pieces=(replace(drawn, folded=None),), halo=halo)))
    assert not [line for line in whole.lines if line.kind == "bare edge"]


def test_a_cut_piece_with_a_line_that_is_lost_is_not_refused_but_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thin tissue that waves: size 1 of 1, followed for part of its way, is nothing that a maker asked for."""
    monkeypatch.setattr(nest, "_LEAST_INKED", 1.01)  # no drawing here is so faint as that
    piece = np.array([[20, 12], [236, 16], [232, 176], [24, 170]], float)
    line = np.array([[60, 150], [44, 40], [120, 28], [212, 44], [220, 110]], float)
    drawn = render.Drawn(cut_line=piece, rgb=(226, 196, 142), opacity=0.9, pencil=(closed(line),))
    scene = render.Scene(pieces=(drawn,), mat_rgb=(190, 40, 96), size_mm=(300.0, 230.0))
    (traced,) = trace(render.draw(scene))
    assert _off(traced.outline, piece) < render.MM_PER_PX
    assert [note.code for note in traced.notes] == ["printed-line-lost"]
