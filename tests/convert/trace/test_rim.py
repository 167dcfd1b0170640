"""What the look of an edge says: ink, or nothing but light that a lens spread."""

import numpy as np
import numpy.typing as npt
import pytest
from scipy.special import ndtr

from convert.trace.edge.rim import fit_rim

X = np.arange(-3.0, 3.01, 0.1)
GAMMA = 2.2  # of the numbers in a file, about sRGB's (IEC 61966-2-1)


def seen(
    mat: tuple[float, ...], paper: tuple[float, ...], *, rim: float = 0.0, ink: float = 40.0, blur: float = 0.35
) -> npt.NDArray[np.float64]:
    """A profile outwards, paper ending at 0 with a rim of ink, mixed as light is and then told in numbers."""
    outer, inner = ndtr(X / blur)[:, None], ndtr((X + rim) / blur)[:, None]
    light = [(np.array(colour) / 255) ** GAMMA for colour in (mat, paper, (ink, ink, ink))]
    mixed = light[1] * (1 - inner) + light[2] * (inner - outer) + light[0] * outer
    return np.asarray(255 * mixed ** (1 / GAMMA), float)


@pytest.mark.parametrize(
    ("mat", "paper"),
    [
        ((35, 70, 140), (240, 238, 230)),  # white tissue on a blue mat
        ((35, 70, 140), (243, 243, 239)),
        ((30, 120, 105), (180, 140, 98)),  # kraft on a green one
        ((34, 34, 38), (224, 194, 146)),  # tan tissue on a black one
    ],
)
def test_light_spread_over_the_mat_is_no_rim(mat: tuple[float, ...], paper: tuple[float, ...]) -> None:
    rim, edge = fit_rim(X, seen(mat, paper), np.array(mat, float), np.array(paper, float), noise=2.0)
    assert rim.width_mm == 0.0
    assert abs(edge) < 0.35  # in numbers; measure_edge then looks at light


def test_an_inked_rim_is_found_and_the_paper_ends_at_its_outer_side() -> None:
    mat, paper = (30.0, 120.0, 105.0), (240.0, 238.0, 230.0)
    rim, edge = fit_rim(X, seen(mat, paper, rim=0.6, blur=0.25), np.array(mat), np.array(paper), noise=2.0)
    assert rim.width_mm == pytest.approx(0.6, abs=0.2)
    assert abs(edge) < 0.15


def test_a_rim_that_is_none_on_a_second_look_leaves_a_plain_edge() -> None:
    mat, paper = (35.0, 70.0, 140.0), (240.0, 238.0, 230.0)
    first = fit_rim(
        X, seen((30, 120, 105), paper, rim=0.6, blur=0.25), np.array([30.0, 120, 105]), np.array(paper), noise=2.0
    )[0]
    assert first.width_mm > 0
    again, edge = fit_rim(X, seen(mat, paper), np.array(mat), np.array(paper), noise=2.0, like=first)
    assert abs(edge) < 0.35
    assert again.width_mm == 0.0


def test_mat_in_the_shadow_of_the_paper_is_no_rim() -> None:
    """Tan tissue on a red mat, 0.7 mm of it in the paper's shadow."""
    mat, paper = np.array([168.0, 58, 55]), np.array([205.0, 175, 133])
    outer, shade = ndtr(X / 0.22)[:, None], ndtr((X - 0.7) / 0.22)[:, None]
    profile = paper * (1 - outer) + 0.93 * mat * (outer - shade) + mat * shade
    rim, edge = fit_rim(X, profile, mat, paper, noise=2.0)
    assert rim.width_mm == 0.0
    assert abs(edge) < 0.1


def test_a_thin_blue_rim_on_a_cream_mat_is_found() -> None:
    mat, paper = np.array([178.0, 157, 121]), np.array([204.0, 191, 168])
    outer, inner = ndtr(X / 0.3)[:, None], ndtr((X + 0.3) / 0.3)[:, None]
    light = [(colour / 255) ** GAMMA for colour in (mat, paper, np.array([60.0, 60, 96]))]
    mixed = light[1] * (1 - inner) + light[2] * (inner - outer) + light[0] * outer
    rim, edge = fit_rim(X, 255 * mixed ** (1 / GAMMA), mat, paper, noise=2.0)
    assert rim.width_mm > 0.15
    assert abs(edge) < 0.2
