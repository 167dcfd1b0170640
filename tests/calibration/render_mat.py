"""Photographs of a gridded mat drawn from known numbers: lattice, pose, lens, cover, light, noise."""

from dataclasses import dataclass, field
from itertools import pairwise

import cv2
import numpy as np
import numpy.typing as npt

from calibration.accuracy import Accuracy
from calibration.lens import Lens
from calibration.mat import Lattice
from calibration.photo import Photo
from calibration.view import MatView

Rgb = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A mat on a table, seen by a camera. Lengths in mm, angles in degrees, the mat's lower left line at (0, 0).

    ``half_lines`` draws fainter lines half-way; ``covers`` are polygons (K, 2) on the mat with colour and opacity.
    """

    size_px: tuple[int, int] = (2000, 1500)
    focal_px: float = 1570.0
    tilt_deg: float = 8.0
    tilt_towards_deg: float = 30.0
    turn_deg: float = 5.0
    fill: float = 0.85
    lens: tuple[float, float, float, float] = (0.03, -0.02, 0.0002, -0.0001)
    centre_off_px: tuple[float, float] = (4.0, -3.0)
    kind: str = "lines"
    pitch_mm: float = 10.0
    cells: tuple[int, int] = (57, 42)
    line_mm: float = 0.35
    heavy_mm: float = 0.8
    heavy_every: int = 5
    half_lines: bool = False
    diagonals: bool = True
    mat: Rgb = (30.0, 120.0, 105.0)
    ink: Rgb = (230.0, 235.0, 200.0)
    table: Rgb = (170.0, 140.0, 110.0)
    covers: tuple[tuple[tuple[tuple[float, float], ...], Rgb, float], ...] = ()
    missing: float = 0.0
    shadow: float = 0.25
    blur_px: float = 0.6
    noise: float = 3.0
    jpeg: int = 88
    bend_mm: float = 0.0
    seed: int = field(default=1)


def camera_view(scene: Scene) -> MatView:
    """The view that a perfect calibration would give."""
    width, height = scene.size_px
    matrix = _homography(scene)
    k1, k2, p1, p2 = scene.lens
    centre = np.array([(width - 1) / 2 + scene.centre_off_px[0], (height - 1) / 2 + scene.centre_off_px[1]])
    lens = Lens(centre_px=centre, scale_px=scene.focal_px, k1=k1, k2=k2, p1=p1, p2=p2)
    lattice = Lattice(
        kind="dots" if scene.kind == "dots" else "lines",
        pitch_mm=scene.pitch_mm,
        last_x=scene.cells[0],
        last_y=scene.cells[1],
    )
    seen = np.array([[0.0, 0.0], [scene.cells[0] * scene.pitch_mm, scene.cells[1] * scene.pitch_mm]])
    return MatView(
        to_straight=matrix,
        lens=lens,
        lattice=lattice,
        size_px=scene.size_px,
        seen_px=np.zeros((2, 2)),
        seen_mm=seen,
        accuracy=Accuracy(rms_mm=0.0, seen_mm=seen, reach_mm=1e6),
    )


def _homography(scene: Scene) -> npt.NDArray[np.float64]:
    """Mat mm to straight pixels for a camera that looks at the mat's middle."""
    width, height = scene.size_px
    mat = np.array(scene.cells) * scene.pitch_mm
    tilt, towards, turn = np.radians([scene.tilt_deg, scene.tilt_towards_deg, scene.turn_deg])
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    axis = np.array([np.cos(towards), np.sin(towards), 0.0])
    lean = cv2.Rodrigues(axis * tilt)[0]
    turned = np.diag([1.0, -1.0, -1.0]) @ lean @ spin
    reach = max(mat[0] / (scene.fill * width), mat[1] / (scene.fill * height)) * scene.focal_px
    pose = np.column_stack(
        [turned[:, 0], turned[:, 1], turned @ np.array([-mat[0] / 2, -mat[1] / 2, 0.0]) + [0, 0, reach]]
    )
    centre = [(width - 1) / 2 + scene.centre_off_px[0], (height - 1) / 2 + scene.centre_off_px[1]]
    matrix = np.array([[scene.focal_px, 0, centre[0]], [0, scene.focal_px, centre[1]], [0, 0, 1]]) @ pose
    return matrix / matrix[2, 2]


def render(scene: Scene) -> tuple[Photo, MatView]:
    """The photograph and its true view."""
    view = camera_view(scene)
    rng = np.random.default_rng(scene.seed)
    width, height = scene.size_px
    step = 8
    columns, rows = np.arange(0, width + step, step), np.arange(0, height + step, step)
    coarse = view.to_mm(np.stack(np.meshgrid(columns, rows), -1).reshape(-1, 2).astype(float))
    coarse = coarse.reshape(len(rows), len(columns), 2).astype(np.float32)
    at_x, at_y = np.meshgrid(np.arange(width, dtype=np.float32) / step, np.arange(height, dtype=np.float32) / step)
    mm = cv2.remap(coarse, at_x, at_y, cv2.INTER_CUBIC)
    if scene.bend_mm:
        mm = mm + scene.bend_mm * np.stack([np.sin(mm[..., 1] / 90.0), np.sin(mm[..., 0] / 110.0)], -1)
    picture = _paint(scene, mm, view, rng)
    picture *= (1 - scene.shadow * (np.linspace(0, 1, width)[None, :, None] ** 2)).astype(np.float32)
    if scene.blur_px:
        picture = cv2.GaussianBlur(picture, (0, 0), scene.blur_px)
    picture += rng.normal(0.0, scene.noise, picture.shape).astype(np.float32)
    pixels = np.clip(picture, 0, 255).astype(np.uint8)
    code = cv2.imencode(".jpg", pixels[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, scene.jpeg])[1]
    return Photo(pixels=cv2.imdecode(code, cv2.IMREAD_COLOR)[..., ::-1].copy(), name="a drawn mat"), view


def _paint(
    scene: Scene, mm: npt.NDArray[np.float32], view: MatView, rng: np.random.Generator
) -> npt.NDArray[np.float32]:
    per_px = float(view.mm_per_px(np.array([[scene.size_px[0] / 2, scene.size_px[1] / 2]]))[0])
    size = np.array(scene.cells) * scene.pitch_mm
    on_mat = ((mm > -15) & (mm < size + 15)).all(-1)
    picture = np.where(on_mat[..., None], np.float32(scene.mat), np.float32(scene.table))
    inked = _dots(scene, mm, per_px) if scene.kind == "dots" else _lines(scene, mm, per_px, rng)
    inside = ((mm > -0.5) & (mm < size + 0.5)).all(-1)
    picture += (inked * inside)[..., None] * (np.float32(scene.ink) - picture)
    for ring, colour, opacity in scene.covers:
        mask = np.zeros(mm.shape[:2], np.uint8)
        cv2.fillPoly(mask, [np.round(view.to_px(_dense(np.array(ring))) * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
        picture += (mask / 255.0 * opacity)[..., None].astype(np.float32) * (np.float32(colour) - picture)
    return picture.astype(np.float32)


def _dense(ring: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    ends = np.vstack([ring, ring[:1]])
    return np.vstack([np.linspace(a, b, 60, endpoint=False) for a, b in pairwise(ends)])


def _coverage(
    distance: npt.NDArray[np.float32], width: npt.NDArray[np.float32] | float, per_px: float
) -> npt.NDArray[np.float32]:
    """How much of a pixel a line covers, for its distance from the line's middle."""
    half = np.asarray(width) / 2
    return np.clip((half - distance) / per_px + 0.5, 0, np.minimum(1.0, 2 * half / per_px)).astype(np.float32)


def _lines(
    scene: Scene, mm: npt.NDArray[np.float32], per_px: float, rng: np.random.Generator
) -> npt.NDArray[np.float32]:
    inked = np.zeros(mm.shape[:2], np.float32)
    worn = [rng.random(cells + 1) < scene.missing for cells in scene.cells]
    for axis in (0, 1):
        cell = mm[..., axis] / scene.pitch_mm
        number = np.round(cell).astype(int)
        distance = np.abs(cell - number) * scene.pitch_mm
        heavy = (number % scene.heavy_every == 0) if scene.heavy_every else np.zeros(number.shape, bool)
        width = np.where(heavy, scene.heavy_mm, scene.line_mm).astype(np.float32)
        shown = ~worn[axis][number.clip(0, scene.cells[axis])]
        inked = np.maximum(inked, _coverage(distance, width, per_px) * shown)
        if scene.half_lines:
            off = np.abs(np.abs(cell - np.floor(cell)) - 0.5) * scene.pitch_mm
            inked = np.maximum(inked, 0.5 * _coverage(off, scene.line_mm * 0.7, per_px))
    if scene.diagonals:
        for slope in (1.0, 1.7):
            off = np.abs(mm[..., 1] - slope * mm[..., 0]) / np.hypot(1, slope)
            inked = np.maximum(inked, _coverage(off, scene.line_mm, per_px))
    return inked


def _dots(scene: Scene, mm: npt.NDArray[np.float32], per_px: float) -> npt.NDArray[np.float32]:
    cell = mm / scene.pitch_mm
    number = np.round(cell)
    off = np.abs(cell - number) * scene.pitch_mm
    spot = _coverage(np.hypot(off[..., 0], off[..., 1]), 3 * scene.line_mm, per_px)
    cross = (number % scene.heavy_every == 0).all(-1) if scene.heavy_every else np.zeros(spot.shape, bool)
    arm = np.maximum(
        _coverage(off[..., 0], scene.line_mm, per_px) * (off[..., 1] < 2.5),
        _coverage(off[..., 1], scene.line_mm, per_px) * (off[..., 0] < 2.5),
    )
    return np.where(cross, np.maximum(spot, arm), spot)
