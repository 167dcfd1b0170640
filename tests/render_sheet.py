"""Small flat sheets with known truth: a gridded mat, pieces of paper on it, blur and noise. Drawn, not photographed."""

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt
from shapely.geometry import Polygon

from calibration.ground.points import Points, closed, resample
from calibration.lattice.mat import Lattice
from calibration.sheet.flatten import FlatSheet

MM_PER_PX = 0.2
_FINER = 3  # drawn this much finer, then averaged
PITCH_MM = 10.0
LINE_MM, HEAVY_MM = 0.35, 0.8


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A piece to draw: its cut line, and what is cut out of it, stands out of it and is punched through it."""

    cut_line: Points
    cuts: tuple[Points, ...] = ()
    tabs: tuple[Points, ...] = ()
    holes: tuple[tuple[Points, float], ...] = ()
    rgb: tuple[int, int, int] = (226, 196, 142)
    opacity: float = 0.7
    rim_mm: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Scene:
    """A sheet to draw: mat and its lines, pieces, weights ((2,) centre, radius), clear tape, in millimetres, y up."""

    pieces: tuple[Drawn, ...] = ()
    mat_rgb: tuple[int, int, int] = (34, 122, 96)
    line_rgb: tuple[int, int, int] = (214, 226, 140)
    size_mm: tuple[float, float] = (280.0, 220.0)
    weights: tuple[tuple[Points, float], ...] = field(default=())
    tapes: tuple[Points, ...] = ()
    blur_mm: float = 0.2
    noise: float = 3.0
    seed: int = 1


def draw(scene: Scene) -> FlatSheet:
    """The sheet, its lattice 20 mm inside its edges with the mat's border round it."""
    width, height = scene.size_mm
    shape = (round(height / MM_PER_PX) * _FINER, round(width / MM_PER_PX) * _FINER)
    columns, rows = int((width - 40) // PITCH_MM), int((height - 40) // PITCH_MM)
    origin = np.array([-20.0, height - 20.0])
    mat = np.empty((*shape, 3), np.float32)
    mat[:] = scene.mat_rgb
    _rule(mat, scene.line_rgb, columns, rows, origin)
    for piece in scene.pieces:
        _lay(mat, piece, origin)
    for tape in scene.tapes:
        cover = np.zeros(shape, np.float32)
        _fill(cover, tape, 0.5, origin)
        mat[:] = mat * (1 - cover[..., None]) + np.array([226, 204, 156], np.float32) * cover[..., None]
    for centre, radius in scene.weights:
        at = tuple(np.rint(_px(np.array([centre]), origin)[0]).astype(int).tolist())
        cv2.circle(mat, at, round(radius / MM_PER_PX * _FINER), (176, 174, 186), cv2.FILLED)
        cv2.circle(mat, at, round(0.4 * radius / MM_PER_PX * _FINER), (140, 136, 140), cv2.FILLED)
    small = cv2.resize(mat, (shape[1] // _FINER, shape[0] // _FINER), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), scene.blur_mm / MM_PER_PX)
    noise = np.random.default_rng(scene.seed).normal(0, scene.noise, small.shape)
    lattice = Lattice(
        kind="lines",
        pitch_mm=PITCH_MM,
        line_width_mm=LINE_MM,
        heavy_width_mm=HEAVY_MM,
        heavy_every=5,
        last_x=columns,
        last_y=rows,
    )
    return FlatSheet(
        pixels=np.clip(small + noise + 0.5, 0, 255).astype(np.uint8),
        seen=np.ones(small.shape[:2], bool),
        mm_per_px=MM_PER_PX,
        origin_mm=origin,
        lattice=lattice,
    )


def _px(mm: Points, origin: Points) -> Points:
    """Places on the finer raster; a coarse pixel's centre is the middle of its finer ones."""
    coarse = (np.asarray(mm, float) - origin) / [MM_PER_PX, -MM_PER_PX]
    return (coarse + 0.5) * _FINER - 0.5


def _rule(mat: npt.NDArray[np.float32], rgb: tuple[int, int, int], columns: int, rows: int, origin: Points) -> None:
    corner = np.array([columns, rows]) * PITCH_MM
    for axis, count in ((0, columns), (1, rows)):
        for index in range(count + 1):
            half = (HEAVY_MM if index % 5 == 0 else LINE_MM) / 2
            low, high = np.zeros(2), corner.copy()
            low[axis], high[axis] = index * PITCH_MM - half, index * PITCH_MM + half
            _fill(mat, np.array([low, [high[0], low[1]], high, [low[0], high[1]]]), rgb, origin)


def _fill(image: npt.NDArray[np.float32], ring: Points, colour: object, origin: Points) -> None:
    drawn = Polygon(ring).buffer(-0.5 * MM_PER_PX / _FINER, join_style="mitre")  # fillPoly fills its border as well
    edge = np.asarray(drawn.exterior.coords)[:-1]
    cv2.fillPoly(image, [np.rint(_px(edge, origin) * 16).astype(np.int32)], colour, cv2.LINE_8, 4)


def _lay(mat: npt.NDArray[np.float32], piece: Drawn, origin: Points) -> None:
    """Draw a piece onto the mat; thin paper lets it through."""
    cover = np.zeros(mat.shape[:2], np.float32)
    rim = np.zeros(mat.shape[:2], np.float32)
    _fill(cover, piece.cut_line, 1.0, origin)
    if piece.rim_mm:
        depth = cv2.distanceTransform(cover.astype(np.uint8), cv2.DIST_L2, 5) * MM_PER_PX / _FINER
        rim = ((depth > 0) & (depth <= piece.rim_mm)).astype(np.float32)
    for ring in piece.tabs:
        _fill(cover, ring, 1.0, origin)
    for ring in piece.cuts:
        _fill(cover, ring, 0.0, origin)
    for centre, diameter in piece.holes:
        at = tuple(np.rint(_px(np.array([centre]), origin)[0]).astype(int).tolist())
        cv2.circle(cover, at, round(diameter / 2 / MM_PER_PX * _FINER), 0.0, cv2.FILLED)
    paper = np.array(piece.rgb, np.float32) * (1 - 0.72 * rim[..., None])
    through = cover[..., None] * np.maximum(piece.opacity, rim[..., None])
    mat[:] = mat * (1 - through) + paper * through


def triangle(line: Points, along_mm: float, *, width: float, depth: float) -> Points:
    """A triangle on a counter-clockwise ring, ``along_mm`` from its start, inwards; outwards if depth is negative."""
    dense = resample(closed(line), 0.05)
    index = round(along_mm / 0.05)
    half = round(width / 2 / 0.05)
    a, b = dense[index - half], dense[index + half]
    inward = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a))
    over = -0.6 * np.sign(depth) * inward  # overlap, so that no thread of paper or mat is left along the edge
    return np.array([a + over, b + over, (a + b) / 2 + depth * inward])
