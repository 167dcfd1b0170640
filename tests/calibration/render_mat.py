"""Photographs of a gridded mat drawn from known numbers: lattice, pose, lens, cover, light, noise."""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
import numpy.typing as npt

from calibration.lattice.mat import Lattice
from calibration.picture.photo import Photo
from calibration.view.accuracy import Accuracy
from calibration.view.lens import Lens
from calibration.view.view import MatView
from tests.calibration.mat_print import printed, printed_extras

Rgb = tuple[float, float, float]
Cover = tuple[tuple[tuple[float, float], ...], Rgb, float]

_COARSE_PX = 4  # the map is worked out this far apart and drawn straight between: less than 0.001 mm off
_STRIPE_PX = 600  # rows drawn at once, so that fifty megapixels fit in memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A mat on a table, seen by a camera. Lengths in mm, angles in degrees, the mat's lower left line at (0, 0).

    ``half_lines`` draws fainter lines half-way; ``ticks`` counts the marks to a pitch along the border; ``covers`` are
    polygons (K, 2) on the mat with colour and opacity; ``missing`` is the share of lines worn off altogether, ``wear``
    how much the others fade in places; ``supersample`` draws each pixel from so many by so many.
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
    dashed: bool = False
    diagonals: bool = True
    ticks: int = 0
    numerals: bool = False
    scratches: int = 0
    mat: Rgb = (30.0, 120.0, 105.0)
    ink: Rgb = (230.0, 235.0, 200.0)
    table: Rgb = (170.0, 140.0, 110.0)
    covers: tuple[Cover, ...] = ()
    missing: float = 0.0
    wear: float = 0.0
    shadow: float = 0.25
    glare: float = 0.0
    warm: float = 0.0
    blur_px: float = 0.6
    noise: float = 3.0
    jpeg: int = 88
    bend_mm: float = 0.0
    supersample: int = 1
    seed: int = 1


def camera_view(scene: Scene) -> MatView:
    """The view that a perfect calibration would give."""
    width, height = scene.size_px
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
        to_straight=_homography(scene),
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
    code, view = render_jpeg(scene)
    pixels = cv2.imdecode(code, cv2.IMREAD_COLOR)
    assert pixels is not None
    return Photo(pixels=np.ascontiguousarray(pixels[..., ::-1]).astype(np.uint8, copy=False), name="a drawn mat"), view


def render_jpeg(scene: Scene) -> tuple[npt.NDArray[np.uint8], MatView]:
    """The photograph as a JPEG file's bytes, and its true view."""
    picture, view, rng = bare_mat(scene)
    for ring, colour, opacity in scene.covers:
        _lay(picture, view, np.array(ring), colour, opacity)
    return as_photographed(picture, scene, rng), view


def bare_mat(scene: Scene) -> tuple[npt.NDArray[np.float32], MatView, np.random.Generator]:
    """The mat on its table before anything lies on it and before light falls; its true view; what draws chance."""
    view = camera_view(scene)
    rng = np.random.default_rng(scene.seed)
    width, height = scene.size_px
    picture = np.empty((height, width, 3), np.float32)
    worn = (rng.random(scene.cells[0] + 1) < scene.missing, rng.random(scene.cells[1] + 1) < scene.missing)
    fading = cv2.GaussianBlur(rng.standard_normal((60, 80), np.float32), (0, 0), 2.0)
    scratches = rng.uniform(0, 1, (scene.scratches, 2, 2)) * np.array(scene.cells) * scene.pitch_mm
    for top in range(0, height, _STRIPE_PX):
        picture[top : top + _STRIPE_PX] = _stripe(scene, view, top, worn, fading)
    printed_extras(picture, scene, view, scratches)
    return picture, view, rng


def as_photographed(picture: npt.NDArray[np.float32], scene: Scene, rng: np.random.Generator) -> npt.NDArray[np.uint8]:
    """Light, the lens's blur and the sensor's noise laid over a picture; the JPEG file's bytes."""
    _light(picture, scene, rng)
    pixels = np.clip(picture, 0, 255, out=picture).astype(np.uint8)
    return cv2.imencode(".jpg", pixels[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, scene.jpeg])[1].ravel()


def mat_map(
    scene: Scene, view: MatView, top: int, rows: int, fine: int = 1
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """Mat mm (rows * fine, W * fine, 2) at the pixels of a stripe, and the mm that a pixel spans each way."""
    width, step = scene.size_px[0], _COARSE_PX
    x, y = np.arange(-step, width + 2 * step, step), np.arange(top - step, top + rows + 2 * step, step)
    at = np.stack(np.meshgrid(x, y), -1).reshape(-1, 2).astype(float)
    here = view.to_mm(at)
    if scene.bend_mm:
        here = here + scene.bend_mm * np.sin(here[:, ::-1] / [90.0, 110.0])
    coarse = here.reshape(len(y), len(x), 2)
    spans = np.hypot(np.gradient(coarse, axis=1), np.gradient(coarse, axis=0)) / step / fine
    within = (np.arange(fine, dtype=np.float32) + 0.5) / fine - 0.5
    columns = ((np.arange(width, dtype=np.float32)[:, None] + within).ravel() + step) / step
    lines = ((np.arange(rows, dtype=np.float32)[:, None] + within).ravel() + step) / step
    at_x, at_y = np.meshgrid(columns, lines)
    both = np.concatenate([coarse, spans], -1)
    # single precision to a thousandth of a mm over two metres; cv2.remap's weights are exact at quarters, eighths
    drawn = cv2.remap(both.astype(np.float32), at_x, at_y, cv2.INTER_LINEAR)
    return drawn[..., :2], drawn[..., 2:]


def _stripe(
    scene: Scene,
    view: MatView,
    top: int,
    worn: tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]],
    fading: npt.NDArray[np.float32],
) -> npt.NDArray[np.float32]:
    rows, fine = min(_STRIPE_PX, scene.size_px[1] - top), scene.supersample
    mm, span = mat_map(scene, view, top, rows, fine)
    size = np.array(scene.cells, np.float32) * np.float32(scene.pitch_mm)
    inked = printed(scene, mm, span, worn)
    if scene.wear:
        where = (mm / size * [78, 58]).astype(np.float32)
        faded = cv2.remap(fading, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        inked = inked * np.clip(1 - scene.wear * (0.5 + 4 * faded), 0, 1)
    on_mat = ((mm > -15) & (mm < size + 15)).all(-1)
    ground = np.where(on_mat[..., None], np.float32(scene.mat), np.float32(scene.table))
    ground += inked[..., None] * (np.float32(scene.ink) - ground)
    if fine > 1:
        ground = cv2.resize(ground, (scene.size_px[0], rows), interpolation=cv2.INTER_AREA)
    return ground


def _lay(
    picture: npt.NDArray[np.float32], view: MatView, ring: npt.NDArray[np.float64], colour: Rgb, opacity: float
) -> None:
    """A sheet of paper over the mat."""
    ends = np.vstack([ring, ring[:1]])
    dense = np.vstack([np.linspace(a, b, 60, endpoint=False) for a, b in pairwise(ends)])
    mask = np.zeros(picture.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round(view.to_px(dense) * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    rows = np.flatnonzero(mask.any(1))
    if len(rows):
        part = slice(int(rows[0]), int(rows[-1]) + 1)
        share = mask[part, :, None] * np.float32(opacity / 255)
        picture[part] += share * (np.float32(colour) - picture[part])


def _light(picture: npt.NDArray[np.float32], scene: Scene, rng: np.random.Generator) -> None:
    """Shadow, glare and warm light; the lens's blur; the sensor's noise."""
    height, width = picture.shape[:2]
    across, down = np.linspace(0, 1, width, dtype=np.float32), np.linspace(0, 1, height, dtype=np.float32)
    colour = np.float32([1.0, 1 - 0.25 * scene.warm, 1 - 0.6 * scene.warm])
    if scene.glare:
        place = rng.uniform(0.15, 0.85, 2)
    for top in range(0, height, _STRIPE_PX):
        part = picture[top : top + _STRIPE_PX]
        part *= (1 - scene.shadow * across[None, :, None] ** 2) * colour
        if scene.glare:
            y = down[top : top + len(part), None]
            spot = np.exp(-((across[None] - place[0]) ** 2 + (0.75 * (y - place[1])) ** 2) / 0.025)
            part += scene.glare * spot[..., None].astype(np.float32) * (255 - part)
    if scene.blur_px:
        cv2.GaussianBlur(picture, (0, 0), scene.blur_px, dst=picture)
    for top in range(0, height, _STRIPE_PX):
        part = picture[top : top + _STRIPE_PX]
        part += np.float32(scene.noise) * rng.standard_normal(part.shape, np.float32)
