"""The printed lattice found and the view fitted, against mats drawn from known numbers."""

import re
from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest

from calibration import Photo, calibrate, flatten
from calibration.ground.errors import InputError
from calibration.lattice.search import find_lattice
from calibration.view.view import MatView
from tests.calibration.render_mat import Scene, render

render = cache(render)  # several tests look at the same picture

PIECE = ((150.0, 90.0), (420.0, 100.0), (430.0, 330.0), (140.0, 320.0))
CARD = (196.0, 150.0, 96.0)


def error_mm(found: MatView, true: MatView, scene: Scene) -> tuple[float, float]:
    """Largest distance over the mat's middle after the best turn and shift, and the scale's error."""
    size = np.array(scene.cells) * scene.pitch_mm
    grid = np.stack(np.meshgrid(*(np.linspace(0.15, 0.85, 7) * size[k] for k in (0, 1))), -1).reshape(-1, 2)
    px = true.to_px(grid)
    inside = ((px > 0) & (px < np.array(scene.size_px) - 1)).all(1)
    a, b = found.to_mm(px[inside]), grid[inside]
    a, b = a - a.mean(0), b - b.mean(0)
    u, s, vt = np.linalg.svd(a.T @ b)
    turn = u @ np.diag([1.0, np.sign(np.linalg.det(u @ vt))]) @ vt
    scale = float((s * [1.0, np.sign(np.linalg.det(u @ vt))]).sum() / (a**2).sum())
    return float(np.hypot(*(a @ turn - b).T).max()), 1 / scale - 1


BASE = Scene(size_px=(1600, 1200), focal_px=1256.0, covers=((PIECE, CARD, 1.0),))
SCENES = {
    "centimetre mat": BASE,
    "steep, wide lens": replace(BASE, tilt_deg=40.0, turn_deg=-20.0, focal_px=1120.0, fill=0.7),
    "turned to the side": replace(BASE, turn_deg=97.0, fill=0.6),
    "inch mat with half lines": replace(
        BASE, pitch_mm=25.4, cells=(23, 17), heavy_every=4, half_lines=True, mat=(110.0, 120.0, 135.0)
    ),
    "half-centimetre lines": replace(
        BASE, pitch_mm=5.0, cells=(70, 50), heavy_every=2, size_px=(2000, 1500), focal_px=1570.0
    ),
    "marks, numerals, scratches, glare, lamp light": replace(
        BASE, ticks=10, numerals=True, scratches=8, wear=0.4, glare=0.5, warm=0.4, dashed=True, heavy_every=10
    ),
    "six sevenths covered, tilted": replace(
        BASE, tilt_deg=20.0, covers=((((0.0, 0.0), (540.0, 5.0), (535.0, 385.0), (5.0, 380.0)), CARD, 1.0),)
    ),
    "dark lines on cream": replace(BASE, mat=(225.0, 215.0, 190.0), ink=(120.0, 105.0, 90.0), line_mm=0.25),
    "pink, lines missing": replace(BASE, mat=(215.0, 130.0, 160.0), ink=(250.0, 245.0, 245.0), missing=0.2),
    "through tissue": replace(
        BASE, covers=((((20.0, 20.0), (560.0, 15.0), (555.0, 400.0), (10.0, 395.0)), CARD, 0.75),)
    ),
    "strong barrel": replace(BASE, lens=(-0.12, 0.03, 0.0006, -0.0005)),
    "blur and noise": replace(BASE, blur_px=1.6, noise=9.0, jpeg=70),
    "thin lines nearly drowned, heavy ones found first": replace(BASE, blur_px=2.0, noise=9.0, jpeg=70),
    "black mat": replace(BASE, mat=(28.0, 28.0, 30.0), ink=(120.0, 120.0, 120.0), heavy_every=10),
    "mat partly outside": replace(BASE, fill=1.3),
    "dots and crosses": replace(
        BASE,
        kind="dots",
        pitch_mm=25.0,
        cells=(24, 18),
        mat=(245.0, 244.0, 240.0),
        ink=(90.0, 90.0, 110.0),
        line_mm=0.45,
        diagonals=False,
    ),
}


@pytest.mark.parametrize("name", SCENES)
def test_view_is_recovered(name: str) -> None:
    """A cutter works to 1.6 mm; a tenth of a millimetre is lost in that. Scale: 0.02 % is 0.1 mm on half a metre."""
    photo, true = render(SCENES[name])
    view = calibrate(photo, pitch_mm=SCENES[name].pitch_mm)
    worst, scale = error_mm(view, true, SCENES[name])
    assert worst < 0.1
    assert abs(scale) < 2e-4
    assert view.lattice.kind == SCENES[name].kind


def test_drawing_is_true_to_fine_sampling() -> None:
    """What a pixel's share of a line is worked out to be is what 16 samples in it show."""
    scene = Scene(size_px=(300, 220), focal_px=240.0, cells=(14, 10), tilt_deg=35.0, noise=0.0, blur_px=0.0, jpeg=100)
    quick, fine = (render(s)[0].pixels.astype(float) for s in (scene, replace(scene, supersample=4)))
    wider = render(replace(scene, line_mm=scene.line_mm + 0.1))[0].pixels.astype(float)
    assert np.abs(quick - fine).mean() < 0.5 * np.abs(quick - wider).mean()


def test_there_and_back() -> None:
    photo, _ = render(BASE)
    view = calibrate(photo, pitch_mm=10.0)
    px = np.array([[240.0, 160.0], [1450.0, 1120.0], [800.0, 20.0]])
    assert np.abs(view.to_px(view.to_mm(px)) - px).max() < 1e-4


def test_mat_frame_reads_like_the_picture() -> None:
    photo, _ = render(BASE)
    view = calibrate(photo, pitch_mm=10.0)
    middle = np.array([[800.0, 600.0]])
    right = view.to_mm(middle + [100.0, 0.0]) - view.to_mm(middle)
    up = view.to_mm(middle - [0.0, 100.0]) - view.to_mm(middle)
    assert right[0, 0] > abs(right[0, 1])
    assert up[0, 1] > abs(up[0, 0])


@pytest.mark.parametrize("quarter_turns", [1, 2, 3])
def test_turning_the_photo_changes_no_length(quarter_turns: int) -> None:
    photo, true = render(replace(BASE, fill=0.6))
    ends = true.to_px(np.array([[100.0, 60.0], [480.0, 350.0]]))
    upright = calibrate(photo, pitch_mm=10.0).to_mm(ends)
    width, height = photo.size_px
    turned = Photo(pixels=np.rot90(photo.pixels, -quarter_turns).copy())
    for _ in range(quarter_turns):
        ends = np.column_stack([height - 1 - ends[:, 1], ends[:, 0]])
        width, height = height, width
    after = calibrate(turned, pitch_mm=10.0).to_mm(ends)
    assert np.hypot(*np.diff(after, axis=0)[0]) == pytest.approx(np.hypot(*np.diff(upright, axis=0)[0]), abs=0.02)


def test_heavy_and_half_lines_are_told() -> None:
    inch = SCENES["inch mat with half lines"]
    lattice = calibrate(render(inch)[0], pitch_mm=25.4).lattice
    assert (lattice.divisions, lattice.heavy_every) == (2, 4)
    assert (lattice.last_x - lattice.first_x, lattice.last_y - lattice.first_y) == inch.cells
    centimetre = calibrate(render(BASE)[0], pitch_mm=10.0).lattice
    assert (centimetre.divisions, centimetre.heavy_every) == (1, 5)
    assert (centimetre.last_x - centimetre.first_x, centimetre.last_y - centimetre.first_y) == BASE.cells


def test_uncertainty_grows_away_from_the_lattice() -> None:
    photo, _ = render(replace(BASE, fill=0.6))
    view = calibrate(photo, pitch_mm=10.0)
    near, far = view.uncertainty_mm([[200.0, 200.0], [-400.0, 800.0]])
    assert 0 < near < 0.1
    assert far > 5 * near
    assert list(view.trusted([[200.0, 200.0], [-400.0, 800.0]])) == [True, False]


def test_a_bent_mat_is_noted() -> None:
    photo, _ = render(replace(BASE, bend_mm=1.5))
    view = calibrate(photo, pitch_mm=10.0)
    assert "mat-not-even" in [note.code for note in view.notes]


@pytest.mark.parametrize(
    ("scene", "told_mm", "doubted"),
    [
        (BASE, 10.0, False),
        (BASE, 25.4, True),
        (SCENES["inch mat with half lines"], 25.4, False),
        (SCENES["inch mat with half lines"], 10.0, True),
    ],
)
def test_heavy_lines_contradict_a_wrong_pitch(scene: Scene, told_mm: float, doubted: bool) -> None:
    view = calibrate(render(scene)[0], pitch_mm=told_mm)
    assert view.lattice.pitch_mm == told_mm  # what was told is kept
    assert ("pitch-doubtful" in [note.code for note in view.notes]) == doubted


MARKED = replace(BASE, ticks=10, heavy_every=0, numerals=True)


@pytest.mark.parametrize(
    ("scene", "told_mm", "evidence"),
    [
        (MARKED, 10.0, ""),
        (MARKED, 25.4, "10 small marks .* 1 cm"),
        (MARKED, 20.0, "10 small marks .* 1 cm"),
        (MARKED, 5.0, "10 small marks .* 1 cm"),
        (replace(MARKED, pitch_mm=25.4, cells=(22, 16), ticks=8, half_lines=True), 25.4, ""),
        (replace(MARKED, pitch_mm=25.4, cells=(22, 16), ticks=16), 10.0, "16 small marks .* 1 inch"),
        (replace(MARKED, pitch_mm=5.0, cells=(70, 50), ticks=5), 12.7, "5 small marks .* 5 mm"),
    ],
)
def test_border_marks_contradict_a_wrong_pitch(scene: Scene, told_mm: float, evidence: str) -> None:
    """Marks stand a millimetre or an eighth or sixteenth of an inch apart: common practice."""
    view = calibrate(render(scene)[0], pitch_mm=told_mm)
    notes = [note.text for note in view.notes if note.code == "pitch-doubtful"]
    assert view.lattice.pitch_mm == told_mm
    assert bool(notes) == bool(evidence)
    if evidence:
        assert re.search(evidence, " ".join(notes))


DASHED = replace(BASE, half_dashed=True, heavy_every=0, diagonals=False, sharpened=0.5)


@pytest.mark.parametrize(
    ("scene", "told_mm"),
    [
        (DASHED, 10.0),
        (replace(DASHED, pitch_mm=25.4, cells=(23, 17), covers=()), 25.4),
        (replace(DASHED, cells=(24, 18), size_px=(2400, 1800), focal_px=1800.0, things=6, covers=()), 10.0),
    ],
    ids=["centimetres", "inches", "near, cards lying about"],
)
def test_dashed_half_lines_are_no_pitch(scene: Scene, told_mm: float) -> None:
    """As strong as the lines beside them, but with gaps: no mat has dashed lines at every second unit."""
    photo, true = render(scene)
    view = calibrate(photo, pitch_mm=told_mm)
    assert error_mm(view, true, scene)[0] < 0.2
    assert view.lattice.divisions == 2
    assert not view.notes


def test_lines_under_things_that_lie_about_are_not_counted_twice() -> None:
    """Edges of printed cards fall on half-way places; there is no ink along these anywhere else."""
    scene = replace(
        BASE, pitch_mm=25.4, cells=(12, 9), heavy_every=0, things=5, covers=(), diagonals=False, seed=4, fill=0.8
    )
    photo, true = render(scene)
    view = calibrate(photo, pitch_mm=25.4)
    assert error_mm(view, true, scene)[0] < 0.3
    assert view.lattice.divisions == 1


WIDE = replace(
    BASE, focal_px=710.0, lens=(-0.086, 0.009, -0.0002, 0.0003), tilt_deg=22.0, fill=0.6, table_kind="planks"
)


@pytest.mark.parametrize("table", ["planks", "tiles", "stripes"])
def test_an_ultra_wide_lens_over_a_table_with_lines_of_its_own(table: str) -> None:
    photo, true = render(replace(WIDE, table_kind=table))
    view = calibrate(photo, pitch_mm=10.0)
    assert error_mm(view, true, WIDE)[0] < 0.1
    assert not view.notes
    corners = np.array([[0.0, 0.0], [1599.0, 0.0], [1599.0, 1199.0], [0.0, 1199.0]])
    assert np.abs(view.to_px(view.to_mm(corners)) - corners).max() < 0.01


def test_the_lattice_ends_where_the_mat_does() -> None:
    """Towards the horizon of a slanting table squares grow so small that any speck lies on a line of one."""
    photo, _ = render(replace(WIDE, fill=0.85))
    ends = find_lattice(photo).lines
    assert sorted(last - first for first, last in ends) == sorted(WIDE.cells)


def test_lines_missed_one_way_are_counted_all_the_same() -> None:
    """Seen at an angle, one family's thin lines can drown so that only its heavy ones are found: cells stay square."""
    scene = Scene(
        size_px=(3200, 2400),
        focal_px=2573.0,
        tilt_deg=2.5,
        turn_deg=56.7,
        pitch_mm=5.0,
        cells=(80, 60),
        heavy_every=2,
        line_mm=0.42,
        heavy_mm=0.76,
        mat=(35.0, 70.0, 140.0),
        ink=(104.0, 139.0, 209.0),
        blur_px=1.95,
        noise=6.4,
        covers=((((6.0, 28.0), (343.0, 37.0), (336.0, 281.0), (11.0, 277.0)), (200.0, 165.0, 110.0), 0.8),),
        seed=2,
    )
    photo, true = render(scene)
    worst, _ = error_mm(calibrate(photo, pitch_mm=5.0), true, scene)
    assert worst < 0.1


def test_places_without_a_line_are_not_counted() -> None:
    """A 2 cm mat, turned and steep, whose lines were once counted at every centimetre."""
    scene = Scene(
        size_px=(2400, 1800),
        focal_px=2000.0,
        tilt_deg=27.0,
        turn_deg=44.0,
        fill=0.98,
        pitch_mm=20.0,
        cells=(28, 20),
        line_mm=0.26,
        heavy_mm=0.91,
        mat=(170.0, 60.0, 55.0),
        ink=(250.0, 183.0, 178.0),
        blur_px=1.32,
        noise=2.2,
        covers=((PIECE, CARD, 1.0),),
        seed=41,
    )
    photo, true = render(scene)
    view = calibrate(photo, pitch_mm=20.0)
    assert error_mm(view, true, scene)[0] < 0.1
    assert view.lattice.heavy_every == 5


def test_flattened_lines_lie_where_they_should() -> None:
    photo, true = render(BASE)
    view = calibrate(photo, pitch_mm=10.0)
    sheet = flatten(photo, view)
    # the cover's corner, known on the mat, is found in the raster within a pixel of the place that to_px names
    assert np.abs(sheet.to_mm(sheet.to_px([[123.0, 45.0]])) - [[123.0, 45.0]]).max() < 1e-9
    corner = view.to_mm(true.to_px(np.array([PIECE[0]])))
    around = np.round(sheet.to_px(corner + [[6.0, 6.0]])).astype(int)[0]
    assert np.abs(sheet.pixels[around[1], around[0]].astype(float) - CARD).max() < 40


def noise_picture(sigma: float, seed: int = 3) -> Photo:
    rng = np.random.default_rng(seed)
    soft = cv2.GaussianBlur(
        rng.normal(128, 60 * max(sigma, 1), (900, 1200, 3)).astype(np.float32), (0, 0), max(sigma, 0.3)
    )
    return Photo(pixels=np.clip(soft, 0, 255).astype(np.uint8), name="holiday.jpg")


def text_page() -> Photo:
    """A page of print: even lines one way, nothing even the other."""
    rng = np.random.default_rng(5)
    page = np.full((1500, 1100), 244, np.uint8)
    for y in range(120, 1400, 34):
        words = " ".join("".join(rng.choice(list("etaoinshrdlu"), rng.integers(2, 9))) for _ in range(9))
        cv2.putText(page, words, (90, y), cv2.FONT_HERSHEY_SIMPLEX, 0.75, 30, 2, cv2.LINE_AA)
    page[:, 1010:] = 244
    return Photo(pixels=cv2.cvtColor(page, cv2.COLOR_GRAY2RGB).astype(np.uint8), name="letter.jpg")


def outdoor_picture() -> Photo:
    """Soft shapes of every size, and straight bright edges at all angles."""
    rng = np.random.default_rng(8)
    rough = rng.normal(0, 1, (900, 1200, 3))
    scale = np.hypot(*np.meshgrid(np.fft.fftfreq(1200), np.fft.fftfreq(900)))[..., None] + 1e-3
    soft = np.real(np.fft.ifft2(np.fft.fft2(rough, axes=(0, 1)) / scale, axes=(0, 1)))
    pixels = np.clip(128 + 55 * soft / soft.std(), 0, 255).astype(np.uint8)
    for ends in rng.uniform(0, 1200, (40, 4)).astype(int):
        cv2.line(pixels, tuple(ends[:2]), tuple(ends[2:]), (235, 240, 230), 2, cv2.LINE_AA)
    return Photo(pixels=pixels, name="seaside.jpg")


@pytest.mark.parametrize(
    "photo",
    [
        text_page(),
        outdoor_picture(),
        Photo(pixels=np.full((900, 1200, 3), 200, np.uint8), name="blank.jpg"),
        noise_picture(0.0),
        noise_picture(8.0),
        render(replace(BASE, cells=(2, 2), fill=0.3, diagonals=False, covers=()))[0],
    ],
    ids=["text", "outdoors", "blank", "noise", "soft blobs", "three lines each way"],
)
def test_no_lattice_is_refused_with_a_remedy(photo: Photo) -> None:
    with pytest.raises(InputError) as refused:
        calibrate(photo, pitch_mm=10.0)
    assert photo.name in refused.value.problem
    assert "grid" in refused.value.remedy or "mat" in refused.value.remedy
