"""Outline, corners, notches and holes of drawn sheets with known truth; lab scenes where there are any."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from scipy.spatial import cKDTree
from shapely.geometry import Polygon

from calibration import InputError, Photo, flatten
from calibration.ground.points import Points, closed, lengths_along, resample, signed_area
from convert.trace.paper import paper as paper_room
from convert.trace.trace import trace
from convert.trace.tracing import Tracing
from tests import lab
from tests import render_sheet as render

SHARP = [0, 2, 4, 5, 6, 7, 8, 9]  # of the bodice's corners: those that turn by 30 degrees and more
PIXEL_MM = render.MM_PER_PX


def _arc(a, b, bow: float) -> Points:
    """A parabola from ``a`` to ``b`` that bows to the right of the way by ``bow``."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    t = np.linspace(0, 1, 60)[:, None]
    right = np.array([(b - a)[1], -(b - a)[0]]) / np.hypot(*(b - a))
    return a + t * (b - a) + 4 * t * (1 - t) * bow * right


def bodice(turn_deg: float = 4.0, at=(123.7, 87.2)) -> tuple[Points, Points]:
    """A small counter-clockwise front with a curved armhole and a folded dart's cap: its ring and its true corners."""
    corners = np.array(
        [[-70, -60], [0, -60], [9, -62.5], [18, -60], [62, -57], [66, 20], [40, 62], [8, 70], [-40, 66], [-72, 30]],
        float,
    )
    parts = []
    for k, corner in enumerate(corners):
        following = corners[(k + 1) % len(corners)]
        bow = {5: -9.0, 7: -6.0}.get(k, 0.0)
        parts.append(_arc(corner, following, bow)[:-1] if bow else np.array([corner]))
    turn = np.radians(turn_deg)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return np.vstack(parts) @ spin.T + at, corners @ spin.T + at


def away(points: Points, centres: Points, radius: float) -> Points:
    return points[np.hypot(*(points[:, None] - centres[None]).transpose(2, 0, 1)).min(1) > radius]


def misses(outline: Points, truth: Points) -> np.ndarray:
    """Distances both ways between two rings."""
    a, b = resample(closed(outline), 0.1), resample(closed(truth), 0.02)
    return np.concatenate([cKDTree(b).query(a)[0], cKDTree(a).query(b[::10])[0]])


# paper, opacity, rim, mat, lines: every paper on every mat, near in colour too
PAPERS = {
    "tan tissue on green": ((226, 196, 142), 0.7, 0.6, (34, 122, 96), (214, 226, 140)),
    "white tissue on blue": ((228, 228, 226), 0.66, 0.6, (17, 50, 100), (190, 205, 220)),
    "white tissue on cream": ((178, 178, 174), 0.6, 0.6, (196, 184, 152), (110, 100, 80)),
    "brown card on green": ((232, 190, 138), 1.0, 0.0, (34, 124, 88), (214, 226, 120)),
    "kraft on pink": ((186, 148, 108), 1.0, 0.0, (222, 150, 166), (250, 236, 240)),
    "white paper on black": ((222, 216, 204), 0.95, 0.6, (44, 43, 41), (150, 150, 150)),
    "tan tissue on grey": ((214, 186, 136), 0.7, 0.0, (160, 164, 170), (226, 228, 232)),
    "old tissue on red": ((216, 186, 134), 0.72, 0.0, (172, 86, 68), (236, 200, 190)),
}


def _scene(name: str, **piece) -> tuple:
    rgb, opacity, rim, mat, line = PAPERS[name]
    drawn = render.Drawn(rgb=rgb, opacity=opacity, rim_mm=rim, **piece)
    return drawn, {"mat_rgb": mat, "line_rgb": line}


@pytest.mark.parametrize("name", PAPERS)
def test_every_paper_on_every_mat(name: str) -> None:
    ring, corners = bodice()
    cuts = (render.triangle(ring, 106.0, width=6, depth=5), render.triangle(ring, 118.0, width=6, depth=5))
    tabs = (render.triangle(ring, 180.0, width=8, depth=-6),)
    drawn, colours = _scene(name, cut_line=ring, cuts=cuts, tabs=tabs)
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), **colours)))
    marks = np.array([t[:2].mean(0) for t in (*cuts, *tabs)])

    off = misses(away(traced.outline, marks, 6.0), ring)[: len(traced.outline)]
    assert np.sqrt((off**2).mean()) < 0.5 * PIXEL_MM  # half a pixel, all along, corners and all
    assert np.percentile(off, 95) < PIXEL_MM
    found = traced.outline[traced.corners]
    missed = cKDTree(found).query(corners)[0]
    assert missed[SHARP].max() < (1.3 if name == "white tissue on cream" else 0.6)  # true corners, not rounded
    assert missed.max() < 1.5  # where a dart's cap begins the edge turns by 15 degrees only
    assert len(found) <= len(corners) + 2  # beside a line of the mat a tight curve may be taken for a kink
    notches = np.array([m.at for m in traced.marks if m.kind == "notch"])
    assert len(notches) == 3
    assert cKDTree(notches).query(marks)[0].max() < 1.0
    assert not [m for m in traced.marks if m.kind == "hole"]
    assert traced.complete
    assert not traced.inferred.any()


def test_ring_is_what_it_promises() -> None:
    ring, _ = bodice()
    drawn, colours = _scene("tan tissue on green", cut_line=ring)
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), **colours)))
    assert signed_area(traced.outline) > 0
    assert np.diff(lengths_along(closed(traced.outline))).max() <= 0.5 + 1e-6
    assert abs(signed_area(traced.outline) / signed_area(ring) - 1) < 0.001
    assert 0.05 < traced.uncertainty_mm < 0.3


@pytest.mark.parametrize("turn_deg", [0.0, 33.0, 90.0, 181.0])
def test_turning_the_paper_changes_no_length(turn_deg: float) -> None:
    ring, _ = bodice(turn_deg)
    drawn, colours = _scene("white tissue on blue", cut_line=ring)
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), **colours)))
    assert lengths_along(closed(traced.outline))[-1] == pytest.approx(lengths_along(closed(ring))[-1], abs=0.6)


def test_edge_along_a_line_of_the_mat() -> None:
    """A square whose sides lie on lattice lines: nothing tells paper from line but the lattice that is known."""
    square = np.array([[30, 30], [150, 30], [150, 130], [30, 130]], float) + [0.0, 0.15]
    drawn, colours = _scene("brown card on green", cut_line=square)
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), **colours)))
    off = misses(traced.outline, square)
    assert np.percentile(off, 95) < render.HEAVY_MM  # somewhere under the line, no better
    assert len(traced.corners) == 4


def test_holes_are_found_and_sized() -> None:
    ring, _ = bodice()
    holes = tuple((np.array([x, y]), d) for x, y, d in [(80, 70, 4.5), (90, 70, 4.5), (120, 110, 6.5), (150, 80, 6.5)])
    drawn, colours = _scene("old tissue on red", cut_line=ring, holes=holes)
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), **colours)))
    found = [m for m in traced.marks if m.kind == "hole"]
    assert len(found) == len(holes)
    for centre, diameter in holes:
        nearest = min(found, key=lambda m: np.hypot(*(m.at - centre)))
        assert np.hypot(*(nearest.at - centre)) < 0.5
        assert nearest.size_mm == pytest.approx(diameter, abs=0.8)


def _square(x: float, y: float, side: float = 90.0) -> Points:
    return np.array([[x, y], [x + side, y + 2], [x + side - 1, y + side], [x + 1, y + side]], float)


def test_two_pieces_from_left_to_right() -> None:
    scenes = [_scene("white tissue on blue", cut_line=_square(x, 40.0)) for x in (132.0, 12.0)]
    traced = trace(render.draw(render.Scene(pieces=tuple(s[0] for s in scenes), **scenes[0][1])))
    assert [t.label for t in traced] == ["left", "right"]
    assert traced[0].outline[:, 0].max() < traced[1].outline[:, 0].min()


def test_pieces_that_touch_are_said() -> None:
    scenes = [_scene("white tissue on blue", cut_line=_square(x, y)) for x, y in ((12.0, 20.0), (101.0, 95.0))]
    traced = trace(render.draw(render.Scene(pieces=tuple(s[0] for s in scenes), **scenes[0][1])))
    (note,) = [n for t in traced for n in t.notes if n.code == "pieces-touch"]
    assert "apart" in note.text
    assert not all(t.complete for t in traced)


def test_a_piece_that_lies_over_another_is_said() -> None:
    """One wide patch of paper without a neck: the corners that point inwards tell."""
    left, right = (
        np.array([[x, 20.0], [x + 90.0, 20.0], [x + 90.0, y], [x, y]]) for x, y in ((30.0, 150.0), (95.0, 110.0))
    )
    right = right - [0.0, 12.0]
    pieces = (render.Drawn(cut_line=left), render.Drawn(cut_line=right))
    (traced,) = trace(render.draw(render.Scene(pieces=pieces)))
    assert not traced.complete
    said = next(note.text for note in traced.notes if note.code == "pieces-touch")
    assert "touch or overlap near 1" in said


def test_a_square_neckline_is_one_piece() -> None:
    ring = np.array([[40, 30], [180, 30], [180, 140], [110, 140], [110, 100], [40, 100]], float)
    (traced,) = trace(render.draw(render.Scene(pieces=(render.Drawn(cut_line=ring),))))
    assert traced.complete


def test_paper_that_leaves_the_picture_is_not_whole() -> None:
    drawn, colours = _scene("tan tissue on green", cut_line=_square(190.0, 60.0))
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), **colours)))
    assert not traced.complete
    (note,) = traced.notes
    assert note.code == "runs-off"
    assert "right" in note.text
    assert traced.inferred.any()


def test_glare_on_the_mat_beside_the_paper_is_no_paper() -> None:
    """White light added to a red mat makes it as pale and yellow as kraft paper; its lines still show in it."""
    ring, _ = bodice()
    drawn = render.Drawn(cut_line=ring, rgb=(196, 150, 106), opacity=1.0)
    sheet = render.draw(render.Scene(pieces=(drawn,), mat_rgb=(162, 50, 48), line_rgb=(244, 176, 140)))
    rows, columns = np.indices(sheet.pixels.shape[:2])
    middle = sheet.to_px(np.array([[ring[:, 0].min() - 8.0, ring[:, 1].mean()]]))[0]
    far_mm = np.hypot(columns - middle[0], rows - middle[1]) * sheet.mm_per_px
    light = (sheet.pixels / 255.0) ** 2.2 + 0.16 * np.exp(-0.5 * (far_mm / 45.0) ** 2)[..., None]
    pixels = np.clip(255.0 * light ** (1 / 2.2), 0, 255).astype(np.uint8)
    (traced,) = trace(replace(sheet, pixels=pixels))
    assert traced.complete
    assert [note.code for note in traced.notes] == []
    assert np.sqrt((misses(traced.outline, ring) ** 2).mean()) < 0.2


def test_an_uncut_sheet_may_run_off_the_mat_where_the_printed_line_does_not() -> None:
    paper = np.array([[20.0, 15], [330, 10], [330, 170], [110, 168], [90, 160], [70, 171], [25, 165]])
    sheet = render.draw(render.Scene(pieces=(render.Drawn(cut_line=paper, rgb=(235, 232, 226), opacity=1.0),)))
    line = np.array([[40.0, 35], [200, 35], [205, 110], [150, 118], [120, 150], [45, 150]])
    pixels = sheet.pixels.copy()
    cv2.polylines(pixels, [np.rint(sheet.to_px(line)).astype(np.int32)], True, (56, 52, 54), 4, cv2.LINE_AA)
    (traced,) = trace(replace(sheet, pixels=pixels))
    assert traced.complete
    assert traced.notes == ()
    assert np.sqrt((misses(traced.outline, line) ** 2).mean()) < 0.2


def test_weight_over_the_edge_is_run_under() -> None:
    ring, _ = bodice(0.0)
    drawn, colours = _scene("tan tissue on green", cut_line=ring)
    weight = (np.array([53.7, 72.2]), 18.0)  # on the straight side at the left
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), weights=(weight,), **colours)))
    assert traced.inferred.any()
    assert np.sqrt((misses(traced.outline, ring) ** 2).mean()) < 0.15
    assert [n.code for n in traced.notes] == ["under-weight"]


@pytest.mark.parametrize(("mat", "said"), [((56, 52, 54), True), ((34, 122, 96), False)])
def test_a_mat_of_the_inks_colour_is_said(mat: tuple[int, int, int], *, said: bool) -> None:
    """Half a printed cut line on the paper's edge would not show on it."""
    cut, _ = bodice()
    sheet = render.draw(
        render.Scene(pieces=(render.Drawn(cut_line=cut, rgb=(235, 232, 226), opacity=1.0),), mat_rgb=mat)
    )
    pixels = sheet.pixels.copy()
    line = np.array(Polygon(cut).buffer(-12.0).exterior.coords)
    cv2.polylines(pixels, [np.rint(sheet.to_px(line)).astype(np.int32)], True, (56, 52, 54), 4, cv2.LINE_AA)
    (traced,) = trace(replace(sheet, pixels=pixels))
    assert (traced.uncertainty_mm > 0.3) == said
    assert [note.code for note in traced.notes] == (["mat-like-ink"] if said else [])


def test_tear_is_bridged_and_said() -> None:
    ring, _ = bodice(0.0)
    slot = np.array([[190.2, 63.2], [190.7, 69.2], [175.7, 73.2], [169.7, 77.2], [173.7, 70.2], [181.7, 65.7]], float)
    drawn, colours = _scene("old tissue on red", cut_line=ring, cuts=(slot,))
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), **colours)))
    assert "torn" in [n.code for n in traced.notes]
    assert traced.inferred.any()
    assert misses(traced.outline, ring).max() < 2.0


def test_something_small_lying_beside_is_no_piece() -> None:
    ring, _ = bodice()
    drawn, colours = _scene("white tissue on blue", cut_line=ring)
    card = render.Drawn(
        cut_line=np.array([[202, 4], [238, 4], [238, 58], [202, 58]], float), rgb=(200, 80, 70), opacity=1.0
    )
    traced = trace(render.draw(render.Scene(pieces=(drawn, card), **colours)))
    assert len(traced) == 1


def test_no_paper() -> None:
    with pytest.raises(InputError, match="No paper was found") as caught:
        trace(render.draw(render.Scene()))
    assert "mat of another colour" in caught.value.remedy


def test_paper_of_the_mats_colour() -> None:
    ring, _ = bodice()
    drawn = render.Drawn(cut_line=ring, rgb=(35, 123, 97), opacity=1.0)
    with pytest.raises(InputError, match="mat's own colour"):
        trace(render.draw(render.Scene(pieces=(drawn,))))


def test_paper_whose_edge_is_lost_in_the_mat_is_said_and_not_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """Odd pixels enough for paper, and yet no patch that surely is: grey tissue on a grey mat."""
    ring, _ = bodice()
    monkeypatch.setattr(paper_room, "_pieces", lambda *_: ())
    with pytest.raises(InputError, match="edge can't be told from the mat") as caught:
        trace(render.draw(render.Scene(pieces=(render.Drawn(cut_line=ring),))))
    assert "coloured paper under it" in caught.value.remedy


# --------------------------------------------------------------------------- scenes with truth from elsewhere
# Allowed beyond the scene's own floor (what the paper's standing off the mat costs), as the project's targets have it.
SCENES = {
    "p01_card_front": 0.06, "p02_white_back": 0.06, "p03_tan_sleeve": 0.06, "p04_vintage_front": 0.06,
    "p05_dotted_skirt": 0.06, "p06_white_on_cream": 0.15, "p07_tilt_shadow": 0.15, "p08_crumpled_worn": 0.15,
    "p14_dot_paper": 0.06, "p16_defocus_glare": 0.15, "s1_front": 0.06,
}  # fmt: skip


def _laid_on(ring: Points, truth: Points) -> Points:
    """The ring turned and shifted onto the truth, never scaled or mirrored: the best of several starts."""
    tree = cKDTree(resample(closed(truth), 0.25))
    goal = tree.data
    best, least = ring, np.inf
    for start in np.radians(np.arange(0, 360, 15)):
        spin = np.array([[np.cos(start), -np.sin(start)], [np.sin(start), np.cos(start)]])
        moved = (ring - ring.mean(0)) @ spin.T + goal.mean(0)
        for _ in range(60):
            near = goal[tree.query(moved)[1]]
            a, b = moved - moved.mean(0), near - near.mean(0)
            u, _s, vt = np.linalg.svd(a.T @ b)
            keep = np.diag([1.0, np.sign(np.linalg.det(u @ vt))])
            moved = a @ u @ keep @ vt + near.mean(0)
        miss = float(np.sqrt((tree.query(moved)[0] ** 2).mean()))
        if miss < least:
            best, least = moved, miss
    return best


def _read(scene: str) -> tuple[dict, Tracing]:
    if not (lab.LAB / scene / "truth.json").exists():
        pytest.skip(f"{scene} is not here")
    from PIL import Image, ImageOps

    truth = lab.truth_of(scene)
    with Image.open(lab.LAB / scene / truth["photos"][0]["file"]) as picture:
        photo = Photo(pixels=np.asarray(ImageOps.exif_transpose(picture).convert("RGB")))
    (traced,) = trace(flatten(photo, lab.view_from_truth(truth)))
    return truth, traced


@pytest.mark.parametrize("scene", SCENES)
def test_scene(scene: str) -> None:
    truth, traced = _read(scene)
    piece, floor = truth["piece"], truth["photos"][0]["parallax"]["after_rigid_fit_mm"]["rms"]
    cut = np.array(piece["cut_line"])
    laid = _laid_on(traced.outline[::2], cut)
    off = cKDTree(resample(closed(cut), 0.05)).query(laid)[0]
    assert np.sqrt((off**2).mean()) < floor + SCENES[scene]
    wanted = [n for n in piece["notches"] if truth["visible"]["notch"]]
    assert len([m for m in traced.marks if m.kind == "notch"]) == len(wanted)
    assert len([m for m in traced.marks if m.kind == "hole"]) == len(piece["holes"])


def test_clear_tape_beyond_the_edge_is_no_paper() -> None:
    ring, _ = bodice()
    side = ring[np.argmax(ring[:, 0])]  # the lower end of the straight side seam
    tape = side + np.array([[-14.0, 26.0], [5.0, 26.0], [5.0, 46.0], [-14.0, 46.0]])
    drawn, colours = _scene("old tissue on red", cut_line=ring)
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), tapes=(tape,), **colours)))
    off = misses(traced.outline, ring)
    assert off.max() < 1.2
    assert np.sqrt((off**2).mean()) < 0.2
    assert "tape-at-edge" in {note.code for note in traced.notes}
    near = np.hypot(*(traced.outline - (side + [-1.0, 36.0])).T) < 6.0
    assert traced.inferred[near].any()


def test_notch_whose_tip_lies_on_a_line_of_the_mat_is_taken_out() -> None:
    ring, _ = bodice(turn_deg=0.0, at=(120.0, 87.0))
    tab = render.triangle(ring, 243.0, width=8, depth=-5.5)
    tip = tab[2]
    ring, tab = ring + (np.rint(tip / 10.0) * 10.0 - tip), tab + (np.rint(tip / 10.0) * 10.0 - tip)
    drawn, colours = _scene("old tissue on red", cut_line=ring, tabs=(tab,))
    (traced,) = trace(render.draw(render.Scene(pieces=(drawn,), **colours)))
    notches = [mark for mark in traced.marks if mark.kind == "notch"]
    assert len(notches) == 1
    assert np.hypot(*(notches[0].at - tab[:2].mean(0))) < 1.0
    assert misses(traced.outline, ring).max() < 1.0


@pytest.mark.parametrize("name", ["tan tissue on green", "kraft on pink", "old tissue on red"])
def test_slits_are_notches_and_lines_that_end_at_the_edge_are_none(name: str) -> None:
    ring, _ = bodice()
    cuts = tuple(_slit(ring, at, lean) for at, lean in ((16.0, 0.0), (106.0, 0.25), (118.0, 0.0), (180.0, -0.2)))
    drawn, colours = _scene(name, cut_line=ring, cuts=cuts)
    sheet = render.draw(render.Scene(pieces=(drawn,), **colours))
    pixels = sheet.pixels.copy()  # a dashed line of print, from the edge far into the paper
    dense = resample(closed(ring), 0.5)
    start, inward = dense[60], np.array([-(dense[61] - dense[59])[1], (dense[61] - dense[59])[0]])
    inward /= np.hypot(*inward)
    for k in range(8):
        ends = np.array([start + (7.0 * k + 0.0) * inward, start + (7.0 * k + 5.0) * inward])
        a, b = np.rint(sheet.to_px(ends)).astype(int).tolist()
        cv2.line(pixels, a, b, (60, 50, 50), 3)
    (traced,) = trace(replace(sheet, pixels=pixels))
    notches = np.array([mark.at for mark in traced.marks if mark.kind == "notch"])
    true = np.array([cut[:2].mean(0) for cut in cuts])
    assert len(notches) == len(true)
    assert cKDTree(notches).query(true)[0].max() < 0.8


def _slit(ring: Points, along_mm: float, lean: float) -> Points:
    """A slit 0.6 mm wide and 5 mm deep, as its ring."""
    dense = resample(closed(ring), 0.05)
    at = dense[round(along_mm / 0.05)]
    way = dense[round(along_mm / 0.05) + 20] - dense[round(along_mm / 0.05) - 20]
    way /= np.hypot(*way)
    inward = np.array([-way[1], way[0]]) + lean * way
    half = 0.3 * way
    return np.array([at - half, at + half, at + half + 5.0 * inward, at - half + 5.0 * inward])


@pytest.mark.parametrize("name", ["tan tissue on green", "brown card on green"])
def test_a_pointed_corner_is_traced_to_its_point(name: str) -> None:
    """The tip of an under sleeve: 26 degrees wide, its last centimetre too thin to be told from the mat."""
    rgb, opacity, rim, mat, line = PAPERS[name]
    tip = np.array([232.0, 171.0])
    ring = np.array([[30.0, 25.0], [205.0, 28.0], [172.0, 104.0], tip, [60.0, 100.0]])
    piece = render.Drawn(cut_line=ring, rgb=rgb, opacity=opacity, rim_mm=rim)
    (traced,) = trace(render.draw(render.Scene(pieces=(piece,), mat_rgb=mat, line_rgb=line, blur_mm=0.25)))
    assert np.hypot(*(traced.outline - tip).T).min() < 1.0
    assert np.hypot(*(traced.outline[traced.corners] - tip).T).min() < 1.0
    assert not [mark for mark in traced.marks if mark.kind == "notch"]
