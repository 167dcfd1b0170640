"""Outlines drawn by other libraries and traced back; lengths and areas against other libraries' own.

Drawn by Pillow and by scikit-image, traced beside by scikit-image's marching squares (W. Lorensen and H. Cline, 1987),
measured by shapely (GEOS) and svgpathtools.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
import svgpathtools
from PIL import Image, ImageDraw, ImageFilter
from scipy.spatial import cKDTree
from shapely.geometry import Polygon
from skimage.draw import polygon
from skimage.measure import find_contours
from skimage.transform import downscale_local_mean

from calibration.ground.points import Points, closed, length, resample
from calibration.sheet.flatten import FlatSheet
from convert.paper.draw.svg import path_data
from convert.piece.outline.fit import fit_path
from convert.piece.outline.path import Cubic
from convert.trace.trace import trace
from convert.trace.tracing import Tracing

MM_PER_PX = 0.2
FINER = 3
GAMMA = 2.2  # about sRGB, IEC 61966-2-1
SIZE_MM = (260.0, 220.0)
MAT, PAPER = np.array([40.0, 112.0, 96.0]), np.array([222.0, 214.0, 196.0])
# the right half of a plain bodice, in mm with y down as SVG has it
BODICE = "M 30 190 L 190 186 C 200 150 208 120 216 96 C 190 98 176 84 178 46 L 110 26 C 106 52 84 62 58 62 L 30 58 Z"


def bodice() -> Points:
    path = svgpathtools.parse_path(BODICE)
    fine = {svgpathtools.Line: 1, svgpathtools.CubicBezier: 30}
    at = [part.point(t) for part in path for t in np.linspace(0, 1, fine[type(part)], endpoint=False)]
    return np.column_stack([np.real(at), SIZE_MM[1] - np.imag(at)])[::-1]


def disc() -> Points:
    turn = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    return np.array([131.7, 108.3]) + 71.25 * np.column_stack([np.cos(turn), np.sin(turn)])


def square() -> Points:
    a = np.radians(13.0)
    spin = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    return np.array([[-60, -45], [60, -45], [60, 45], [-60, 45]]) @ spin.T + [129.4, 111.1]


SHAPES: dict[str, Callable[[], Points]] = {"bodice": bodice, "disc": disc, "square": square}


def by_pillow(ring: Points) -> npt.NDArray[np.float64]:
    """How much of each pixel is paper, drawn three times finer by Pillow and averaged by it."""
    size = tuple(round(side / MM_PER_PX) for side in SIZE_MM)
    fine = Image.new("L", (size[0] * FINER, size[1] * FINER), 0)
    px = (ring * [1, -1] + [0, SIZE_MM[1]]) / MM_PER_PX * FINER  # counted from a pixel's corner
    # Pillow fills every pixel that the border touches: half a fine pixel more all round
    inner = np.asarray(Polygon(px).buffer(-0.5, join_style="mitre").exterior.coords)
    ImageDraw.Draw(fine).polygon([tuple(one) for one in inner], fill=255)
    soft = fine.filter(ImageFilter.GaussianBlur(0.8 * FINER)).resize(size, Image.Resampling.BOX)
    return np.asarray(soft, float) / 255


def by_skimage(ring: Points) -> npt.NDArray[np.float64]:
    """The same by scikit-image, without blur."""
    shape = tuple(round(side / MM_PER_PX) * FINER for side in SIZE_MM[::-1])
    px = (ring * [1, -1] + [0, SIZE_MM[1]]) / MM_PER_PX * FINER - 0.5
    fine = np.zeros(shape)
    fine[polygon(px[:, 1], px[:, 0], shape)] = 1.0
    return np.asarray(downscale_local_mean(fine, (FINER, FINER)))


def sheet_of(cover: npt.NDArray[np.float64]) -> FlatSheet:
    noise = np.random.default_rng(5).normal(0, 2, (*cover.shape, 3))
    light = [(colour / 255) ** GAMMA for colour in (MAT, PAPER)]  # a lens mixes light, not the numbers in a file
    mixed = 255 * (light[0] + cover[..., None] * (light[1] - light[0])) ** (1 / GAMMA)
    pixels = np.clip(mixed + noise + 0.5, 0, 255).astype(np.uint8)
    # pixel centres: half a pixel inside the drawing's corner
    origin = [MM_PER_PX / 2, SIZE_MM[1] - MM_PER_PX / 2]
    return FlatSheet(pixels=pixels, seen=np.ones(cover.shape, bool), mm_per_px=MM_PER_PX, origin_mm=np.array(origin))


def gaps(ring: Points, truth: Points) -> npt.NDArray[np.float64]:
    return np.asarray(cKDTree(resample(closed(truth), 0.02)).query(ring)[0], float)


@pytest.fixture(scope="module", params=[*((name, by_pillow) for name in SHAPES), ("square", by_skimage)])
def drawn(request: pytest.FixtureRequest) -> tuple[Points, npt.NDArray[np.float64], Tracing]:
    name, how = request.param
    truth = SHAPES[name]()
    cover = how(truth)
    return truth, cover, trace(sheet_of(cover))[0]


def test_an_outline_drawn_elsewhere_comes_back_to_a_sixth_of_a_pixel(
    drawn: tuple[Points, npt.NDArray[np.float64], Tracing],
) -> None:
    truth, _, tracing = drawn
    off = gaps(tracing.outline, truth)
    # measured: 0.03 to 0.07 of one where the edge is clean, 0.10 to 0.15 under a blur of 0.8 pixels
    assert np.sqrt(np.mean(off**2)) < 0.16 * MM_PER_PX
    assert np.quantile(off, 0.95) < 0.4 * MM_PER_PX


def test_it_lies_where_marching_squares_put_it(drawn: tuple[Points, npt.NDArray[np.float64], Tracing]) -> None:
    """On the noiseless cover; corners, which marching squares rounds, are left out."""
    _, cover, tracing = drawn
    rows = max(find_contours(cover, 0.5), key=len)
    other = sheet_of(cover).to_mm(rows[:, ::-1])
    corners = tracing.outline[tracing.corners]
    ours = tracing.outline
    if len(corners):
        ours = ours[np.hypot(*(ours[:, None] - corners[None]).transpose(2, 0, 1)).min(1) > 2.0]
    assert np.sqrt(np.mean(gaps(ours, other) ** 2)) < 0.2 * MM_PER_PX


def test_length_and_area_as_shapely_and_svgpathtools_have_them(
    drawn: tuple[Points, npt.NDArray[np.float64], Tracing],
) -> None:
    """The traced ring by shapely; its lines and cubics, read back from path data, by svgpathtools."""
    truth, _, tracing = drawn
    true = Polygon(truth)
    ring = Polygon(tracing.outline)
    # 0.03 mm out or in all round, which is a seventh of a pixel
    assert ring.area == pytest.approx(true.area, abs=0.03 * true.length)
    assert ring.length == pytest.approx(true.length, rel=1e-3)
    assert length(closed(tracing.outline)) == pytest.approx(ring.length, rel=1e-9)
    path = fit_path(tracing.outline, tracing.corners, tolerance_mm=0.1)
    segments = [
        svgpathtools.CubicBezier(*(complex(*node) for node in one.nodes))
        if isinstance(one, Cubic)
        else svgpathtools.Line(*(complex(*node) for node in one.nodes))
        for one in path.segments
    ]
    curves = svgpathtools.Path(*segments)
    assert curves.length(error=1e-6) == pytest.approx(true.length, rel=1e-3)
    assert abs(curves.area()) == pytest.approx(true.area, abs=0.04 * true.length)
    polyline = svgpathtools.parse_path(path_data(path.points(apart_mm=0.5), closed=True))
    assert polyline.length() == pytest.approx(true.length, rel=1e-3)


def test_corners_are_true_and_straight_edges_straight() -> None:
    truth = square()
    tracing = trace(sheet_of(by_pillow(truth)))[0]
    corners = tracing.outline[tracing.corners]
    assert len(corners) == 4
    assert np.hypot(*(corners[:, None] - truth[None]).transpose(2, 0, 1)).min(0).max() < 0.1
    path = fit_path(tracing.outline, tracing.corners, tolerance_mm=0.1)
    assert len(path.segments) == 4
