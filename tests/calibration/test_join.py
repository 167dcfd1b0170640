"""Joining: tiles and photographs drawn from known moves must come together within hundredths of a millimetre."""

from dataclasses import replace
from itertools import pairwise

import cv2
import numpy as np
import pytest

from calibration.ground.errors import InputError
from calibration.joining.join import join
from calibration.joining.matching import best_rigid, moved, rigid
from calibration.sheet.flatten import FlatSheet
from tests.calibration.drawn_sheets import OUTLINE, laid, mat_sheet, paper, scan_of

TILE_MM = (175.0, 125.0)
CORNERS = [(0.0, 0.0), (125.0, 3.0), (2.0, 77.0), (124.0, 75.0)]  # where each tile's lower left lies on the piece
TURNS_DEG = [0.4, -1.7, 2.3, -0.8]


def tile_move(k: int) -> np.ndarray:
    about = rigid(0.0, (90.0, 60.0)) @ rigid(np.radians(TURNS_DEG[k]), (0, 0)) @ rigid(0.0, (-90.0, -60.0))
    return about @ rigid(0.0, -np.array(CORNERS[k]))


def tiles(**options: object) -> list[FlatSheet]:
    return [scan_of(tile_move(k), TILE_MM, seed=k, **options) for k in range(4)]


def drawn_move(joined: FlatSheet, guess: np.ndarray) -> tuple[np.ndarray, float]:
    """Where the piece is drawn in a joined sheet: the rigid move found by fitting the edge along the outline.

    The edge is sought on lines across the true outline, away from corners, at half way from background to paper. The
    second value is what is left after a rigid fit, the error of shape: of three in four places, for where a line of
    the mat or printing meets the edge this simple search is misled.
    """
    ring = np.vstack([OUTLINE, OUTLINE[:1]])
    red, _, blue = np.moveaxis(joined.pixels.astype(np.float32), 2, 0)
    grey = red - blue if np.abs(red - blue).max() > 20 else red  # paper is warmer than the mat and its lines
    true, got = [], []
    for a, b in pairwise(ring):
        along = (b - a) / np.hypot(*(b - a))
        across = np.array([along[1], -along[0]])
        for share in np.linspace(0.12, 0.88, 25):
            at = a + share * (b - a)
            off = np.arange(-1.5, 1.501, 0.05)
            px = joined.to_px(moved(at + off[:, None] * across, guess)).astype(np.float32)
            line = cv2.remap(grey, px[:, :1], px[:, 1:], cv2.INTER_LINEAR).ravel()
            half = (line[:8].mean() + line[-8:].mean()) / 2
            rise = (line - half) * np.sign(line[-1] - line[0])
            ups = np.flatnonzero((rise[:-1] < 0) & (rise[1:] >= 0))
            if not len(ups):
                continue  # a line of the mat ends here
            k = int(ups[np.abs(off[ups]).argmin()])
            true.append(at)
            got.append(at + across * (off[k] - 0.05 * rise[k] / (rise[k + 1] - rise[k])))
    true, got = np.array(true), np.array(got)
    fit = best_rigid(got, true)
    apart = np.hypot(*(moved(got, fit) - true).T)
    for _ in range(5):
        fit = best_rigid(got[apart < 0.3], true[apart < 0.3])
        apart = np.hypot(*(moved(got, fit) - true).T)
    return guess @ np.linalg.inv(fit), float(np.percentile(apart, 75))


@pytest.mark.parametrize("order", [(0, 1, 2, 3), (3, 0, 2, 1)])
def test_four_tiles_in_any_order(order: tuple[int, ...]) -> None:
    all_tiles = tiles()
    joined = join([all_tiles[k] for k in order])
    move, shape_error = drawn_move(joined, tile_move(order[0]))
    assert shape_error < 0.1  # a third of what is promised: 0.3 mm
    far = np.hypot(*(moved(OUTLINE, move) - moved(OUTLINE, tile_move(order[0]))).T)
    assert far.max() < 0.15  # the first tile's frame is kept
    assert joined.lattice is None
    assert joined.seam_mm < 0.05
    assert [note.code for note in joined.notes] == ["joined"]


def test_tiles_at_quarter_turns() -> None:
    all_tiles = tiles()
    turned = all_tiles[2]
    pixels = np.ascontiguousarray(np.rot90(turned.pixels, 2))
    joined = join([all_tiles[0], all_tiles[1], replace(turned, pixels=pixels), all_tiles[3]])
    assert drawn_move(joined, tile_move(0))[1] < 0.1


def test_no_seam_shows() -> None:
    all_tiles = tiles()
    lighter = [
        replace(t, pixels=np.clip(t.pixels.astype(int) + 6 * k, 0, 255).astype(np.uint8))
        for k, t in enumerate(all_tiles)
    ]
    step = (join(lighter).pixels[..., 0].astype(np.float32) - join(all_tiles).pixels[..., 0])[300:-300, 300:-300]
    smooth = cv2.blur(step, (9, 9))
    assert np.ptp(smooth) > 8  # the light does change from tile to tile
    assert np.abs(np.diff(smooth, axis=1)).max() < 1.5  # but slowly: the steps between the tiles are 6 and 12
    assert np.abs(np.diff(smooth, axis=0)).max() < 1.5


def test_dust_on_the_glass_does_not_join_tiles_to_themselves() -> None:
    joined = join(tiles(dust=True))
    assert drawn_move(joined, tile_move(0))[1] < 0.15


def test_plain_paper_is_joined_by_its_own_clouds() -> None:
    joined = join(tiles(printed=False))
    assert drawn_move(joined, tile_move(0))[1] < 0.15


def test_tiles_that_share_nothing_are_named() -> None:
    apart = scan_of(rigid(0.0, (-400.0, -400.0)), TILE_MM, seed=9)
    with pytest.raises(InputError, match="picture 3 shares too little") as caught:
        join([*tiles()[:2], apart])
    assert "5 cm" in caught.value.remedy


def test_a_tile_of_another_scale_is_not_stretched_to_fit() -> None:
    all_tiles = tiles()
    wrong = replace(all_tiles[1], mm_per_px=all_tiles[1].mm_per_px * 1.02)
    try:
        joined = join([all_tiles[0], wrong])
    except InputError:
        return  # refused: as good
    assert joined.notes[-1].code == "join-doubtful"
    assert joined.seam_mm > 0.3


def test_told_places_join_what_can_not_be_recognised() -> None:
    a, b = tiles(printed=False)[:2]
    on_piece = np.array([[140.0, 30.0], [150.0, 110.0], [160.0, 70.0]])
    told = {(1, 0): (moved(on_piece, tile_move(1)), moved(on_piece, tile_move(0)))}
    blurred = [replace(t, pixels=cv2.GaussianBlur(t.pixels, (0, 0), 9)) for t in (a, b)]
    joined = join(blurred, told=told)
    assert joined.pixels.shape[1] * joined.mm_per_px == pytest.approx(125 + 175, abs=8)
    with pytest.raises(InputError, match="matching points"):
        join(blurred, told={(0, 1): (on_piece[:1], on_piece[:1])})


def test_one_sheet_is_itself_and_kinds_do_not_mix() -> None:
    one = tiles()[0]
    assert join([one]) is one
    with pytest.raises(InputError, match="mixed"):
        join([one, mat_sheet(rigid(0.0, (10.0, 10.0)), (20, 20))])
    with pytest.raises(ValueError, match="nothing"):
        join([])


# --- photographs on a mat -----------------------------------------------------------------------------------------

STILL = rigid(np.radians(3.0), (60.0, 20.0))


def test_the_camera_moved() -> None:
    a = mat_sheet(STILL, (24, 25), first=(0, 0), seed=1)
    b = mat_sheet(STILL, (24, 25), first=(16, 0), seed=2)
    joined = join([a, b])
    assert joined.lattice is not None
    assert (joined.lattice.first_x, joined.lattice.last_x) == (0, 40)
    move, shape_error = drawn_move(joined, STILL)
    assert shape_error < 0.15
    assert np.hypot(*(moved(OUTLINE, move) - moved(OUTLINE, STILL)).T).max() < 0.15  # on the lattice, exactly


def test_the_camera_moved_over_plain_paper() -> None:
    a = mat_sheet(STILL, (24, 25), first=(0, 0), seed=1, printed=False, through=0.0)
    b = mat_sheet(STILL, (24, 25), first=(16, 0), seed=2, printed=False, through=0.0)
    assert drawn_move(join([a, b]), STILL)[1] < 0.15


def test_the_second_picture_was_taken_from_the_other_side() -> None:
    a = mat_sheet(STILL, (24, 25), first=(0, 0), seed=1)
    b = mat_sheet(STILL, (24, 25), first=(16, 0), seed=2)
    turned = replace(b, pixels=np.ascontiguousarray(np.rot90(b.pixels, 2)), origin_mm=b.origin_mm + [b.mm_per_px] * 2)
    assert drawn_move(join([a, turned]), STILL)[1] < 0.15


@pytest.mark.parametrize("slide", [rigid(np.radians(1.6), (-113.0, 12.0)), rigid(0.0, (-100.0, 0.0))])
def test_the_piece_was_slid(slide: np.ndarray) -> None:
    """By any amount, or by whole centimetres: the mat stays where it is, and must not be followed."""
    first = rigid(np.radians(-1.0), (30.0, 25.0))
    a = mat_sheet(first, (26, 25), seed=1)
    b = mat_sheet(slide @ first, (26, 25), seed=2)
    joined = join([a, b])
    assert joined.lattice is None
    assert "piece-slid" in [note.code for note in joined.notes]
    move, shape_error = drawn_move(joined, first)
    assert shape_error < 0.2
    outside = laid(1.0 - paper()[1], move, (360.0, 250.0), 1.0)  # how far from paper: only paint there
    far = cv2.erode((outside > 0.99).astype(np.uint8), np.ones((13, 13), np.uint8)) > 0
    rows, columns = np.nonzero(far[20:-20, 20:-120])
    px = joined.to_px(np.column_stack([columns + 20.0, 249.0 - (rows + 20.0)])).round().astype(int)
    shown = joined.pixels[px[:, 1], px[:, 0]].astype(int)
    assert np.abs(shown - [40, 110, 95]).max() < 25


def test_a_slid_piece_without_anything_to_recognise_is_refused() -> None:
    first = rigid(np.radians(-1.0), (30.0, 25.0))
    a = mat_sheet(first, (26, 25), seed=1, printed=False, through=0.0)
    b = mat_sheet(rigid(np.radians(1.6), (-113.0, 12.0)) @ first, (26, 25), seed=2, printed=False, through=0.0)
    plain = [
        replace(s, pixels=np.where(s.pixels[..., :1] > 150, np.uint8([[[200, 180, 133]]]), s.pixels)) for s in (a, b)
    ]
    with pytest.raises(InputError, match="share"):
        join(plain)
