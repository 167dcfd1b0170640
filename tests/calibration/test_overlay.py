"""The picture for people, and the sentence that says how far to trust a photograph."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from calibration.lattice.mat import Lattice
from calibration.overlay import accuracy_sentence, draw_lattice, png_of
from calibration.picture.photo import Photo
from calibration.view.accuracy import Accuracy
from calibration.view.lens import Lens
from calibration.view.view import MatView

WIDTH, HEIGHT = 2400, 1800
PX_PER_MM = 4.0


def view(*, off_mm: float = 0.02, slant: float = 0.0, px_per_mm: float = PX_PER_MM, columns: int = 40) -> MatView:
    """A mat of ``columns`` x 40 cells, its points off by ``off_mm``; ``slant`` is perspective per mm."""
    straight = np.array([[px_per_mm, 0, 100.0], [0, -px_per_mm, HEIGHT - 100.0], [0, slant, 1.0]])
    i, j = np.meshgrid(np.arange(columns + 1), np.arange(41))
    mm = np.column_stack([i.ravel(), j.ravel()]) * 10.0
    lens = Lens(centre_px=np.array([WIDTH / 2, HEIGHT / 2]), scale_px=2000.0)
    accuracy = Accuracy(rms_mm=off_mm, seen_mm=mm, reach_mm=30.0)
    lattice = Lattice(kind="lines", pitch_mm=10.0, last_x=columns, last_y=40)
    exact = MatView(
        to_straight=straight,
        lens=lens,
        lattice=lattice,
        size_px=(WIDTH, HEIGHT),
        seen_px=mm,
        seen_mm=mm,
        accuracy=accuracy,
    )
    turn = np.random.default_rng(1).uniform(0, 2 * np.pi, len(mm))
    seen = exact.to_px(mm + off_mm * np.column_stack([np.cos(turn), np.sin(turn)]))
    return replace(exact, seen_px=seen)


@pytest.fixture(scope="module")
def plain() -> Photo:
    return Photo(pixels=np.full((HEIGHT, WIDTH, 3), 128, np.uint8), name="a.jpg")


def near(picture: Photo, colour: tuple[int, int, int], rows: slice, columns: slice) -> float:
    away = np.abs(picture.pixels[rows, columns].astype(int) - colour).max(-1)
    return float((away < 40).mean())


def test_the_picture_shows_lines_points_and_where_not_to_trust(plain: Photo) -> None:
    picture = draw_lattice(plain, view(columns=30))
    assert picture.size_px[0] == 1600
    lattice = (slice(100, 1000), slice(100, 860))  # 30 cells of 10 mm at 4 px: up to pixel 1300 of 2400
    beyond = (slice(100, 1000), slice(1000, 1590))  # further than 30 mm from any point seen
    assert near(picture, (255, 235, 60), *lattice) > 0.05
    assert near(picture, (40, 230, 120), *lattice) > 0.005
    assert near(picture, (255, 40, 60), *lattice) == 0
    red = picture.pixels[beyond].astype(int)
    assert (red[..., 0] - red[..., 1]).mean() > 40
    assert near(picture, (255, 235, 60), *beyond) == 0


def test_what_is_left_over_changes_colour_with_its_size(plain: Photo) -> None:
    whole = (slice(0, 1200), slice(0, 1600))
    assert near(draw_lattice(plain, view(off_mm=0.2)), (255, 150, 30), *whole) > 0.005
    assert near(draw_lattice(plain, view(off_mm=0.5)), (255, 40, 60), *whole) > 0.005


def test_a_small_picture_is_not_blown_up() -> None:
    small = Photo(pixels=np.full((HEIGHT // 3, WIDTH // 3, 3), 128, np.uint8))
    assert draw_lattice(small, view(px_per_mm=PX_PER_MM / 3)).size_px[0] == WIDTH // 3


def test_png(plain: Photo) -> None:
    picture = draw_lattice(plain, view())
    again = np.asarray(Image.open(io.BytesIO(png_of(picture))).convert("RGB"))
    np.testing.assert_array_equal(again, picture.pixels)


def test_the_sentence_names_the_accuracy_and_no_more_if_all_is_well() -> None:
    assert accuracy_sentence(view(off_mm=0.12), [[100.0, 100.0]]) == (
        "The picture is accurate to about 0.3 mm over the piece."
    )  # 0.12 mm times 2.448
    assert "over the grid that was seen" in accuracy_sentence(view())
    assert "0.1 mm" in accuracy_sentence(view(off_mm=0.001))  # no more than can be meant


@pytest.mark.parametrize(
    ("piece", "side"),
    [([-150.0, 200.0], "left"), ([560.0, 200.0], "right"), ([200.0, 560.0], "upper"), ([-150.0, -150.0], "lower left")],
)
def test_the_sentence_says_where_more_mat_is_needed(piece: list[float], side: str) -> None:
    said = accuracy_sentence(view(), [[200.0, 200.0], piece])
    assert f"Its {side} part" in said
    assert "leave more bare mat there" in said


def test_the_sentence_says_what_to_do_better() -> None:
    assert "hold the phone flatter" in accuracy_sentence(view(slant=0.0015))
    assert "go nearer" in accuracy_sentence(view(px_per_mm=2.0))
    assert "more light" in accuracy_sentence(view(off_mm=0.4))
