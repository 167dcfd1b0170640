"""Flat sheets drawn from known numbers: a printed piece, on a scanner's lid or on a ruled mat."""

import cv2
import numpy as np
import numpy.typing as npt

from calibration.joining.matching import moved
from calibration.lattice.mat import Lattice
from calibration.sheet.flatten import FlatSheet

MASTER_MM = 0.1
PIECE_MM = (300.0, 200.0)
OUTLINE = np.array([[15, 12], [285, 20], [280, 120], [240, 185], [140, 170], [60, 188], [20, 120]], float)


def paper(seed: int = 3, *, printed: bool = True) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """A piece on a master raster (0.1 mm, top left at (0, 200) mm): grey levels, and how much paper is there."""
    width, height = (round(side / MASTER_MM) for side in PIECE_MM)
    rng = np.random.default_rng(seed)
    clouds = cv2.resize(rng.normal(0, 1, (height // 12, width // 12)).astype(np.float32), (width, height))
    grey = 190 + 5 * cv2.GaussianBlur(clouds, (0, 0), 6)
    ring = np.round((OUTLINE * [1, -1] + [0, PIECE_MM[1]]) / MASTER_MM).astype(np.int32)
    solid = cv2.fillPoly(np.zeros((height, width), np.uint8), [ring], 255)
    if printed:
        ink = np.zeros((height, width), np.uint8)
        for k in range(14):
            at = (int(rng.uniform(0.1, 0.8) * width), int(rng.uniform(0.15, 0.9) * height))
            cv2.putText(ink, f"CUT {k * 7 % 31}", at, cv2.FONT_HERSHEY_SIMPLEX, 2.2, 255, 8, cv2.LINE_AA)
        cv2.arrowedLine(ink, (300, 1000), (2600, 1100), 255, 8, cv2.LINE_AA, tipLength=0.03)
        grey = grey * (1 - 0.7 * (ink / 255.0))
    share = cv2.GaussianBlur(solid.astype(np.float32) / 255, (0, 0), 0.8)
    return grey.astype(np.float32), share


def laid(
    master: npt.NDArray[np.float32], move: npt.NDArray[np.float64], size_mm: tuple[float, float], scale: float
) -> npt.NDArray[np.float32]:
    """The master, moved by ``move`` (piece mm -> sheet mm), on a raster whose lower left pixel is at (0, 0) mm."""
    width, height = (round(side / scale) for side in size_mm)
    ends = np.array([[0.0, 0.0], [1000.0, 0.0], [0.0, 1000.0]])
    mm = ends * [scale, -scale] + [0.0, (height - 1) * scale]
    back = moved(mm, np.linalg.inv(move))
    px = (back - [0.0, PIECE_MM[1]]) / [MASTER_MM, -MASTER_MM]
    affine = np.linalg.solve(np.column_stack([ends, np.ones(3)]), px).T
    soft = cv2.GaussianBlur(master, (0, 0), 0.45 * scale / MASTER_MM)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpAffine(soft, affine, (width, height), flags=flags, borderMode=cv2.BORDER_CONSTANT))


def scan_of(
    move: npt.NDArray[np.float64],
    size_mm: tuple[float, float],
    *,
    scale: float = 0.17,
    seed: int = 1,
    printed: bool = True,
    dust: bool = False,
) -> FlatSheet:
    """A scan tile whose frame's origin is the lower left pixel; ``move`` is piece mm -> tile mm."""
    grey, share = (laid(one, move, size_mm, scale) for one in paper(printed=printed))
    rng = np.random.default_rng(seed)
    image = (238 * (1 - share) + grey * share + rng.normal(0, 1.5, grey.shape)).clip(0, 255).astype(np.uint8)
    if dust:
        specks = np.random.default_rng(99)  # the same on every tile: they are on the glass
        for _ in range(120):
            at = tuple(int(specks.uniform(0, n)) for n in grey.shape[::-1])
            cv2.ellipse(image, at, (int(specks.uniform(1, 6)), 2), specks.uniform(0, 180), 0, 360, 90, -1)
    pixels = np.repeat(image[..., None], 3, axis=2)
    return FlatSheet(
        pixels=pixels,
        seen=np.ones(grey.shape, bool),
        mm_per_px=scale,
        origin_mm=np.array([0.0, (grey.shape[0] - 1) * scale]),
    )


def mat_sheet(
    move: npt.NDArray[np.float64],
    cells: tuple[int, int],
    *,
    first: tuple[int, int] = (0, 0),
    scale: float = 0.2,
    seed: int = 1,
    printed: bool = True,
    through: float = 0.15,
) -> FlatSheet:
    """Part of a ruled mat (1 cm, numerals, a diagonal) with the piece on it, ``through`` which the mat shows a little.

    ``move`` is piece mm -> mat mm; the sheet shows ``cells`` from lattice line ``first`` on, in a frame of its own
    whose origin is that crossing. A slid piece has another ``move``, a moved camera another ``first``.
    """
    width, height = (round(n * 10 / scale) for n in cells)
    mat = np.full((height, width, 3), (40, 110, 95), np.uint8)
    top = (height - 1) * scale
    for k in range(-1, max(cells) + 2):
        for upright in (True, False):
            index = k + first[0 if upright else 1]
            thick = 4 if index % 5 == 0 else 2
            at = round(k * 10 / scale) if upright else round((top - k * 10) / scale)
            ends = ((at, 0), (at, height)) if upright else ((0, at), (width, at))
            cv2.line(mat, *ends, (215, 220, 190), thick)
    for i in range(cells[0] + 1):
        for j in range(cells[1] + 1):
            if (i + first[0]) % 5 == 0 and (j + first[1]) % 5 == 0:
                at = (round((i * 10 + 2) / scale), round((top - j * 10 - 2) / scale))
                text = f"{i + first[0]}.{j + first[1]}"
                cv2.putText(mat, text, at, cv2.FONT_HERSHEY_SIMPLEX, 0.7, (215, 220, 190), 2, cv2.LINE_AA)
    here = np.eye(3)
    here[:2, 2] = -10.0 * np.array(first)
    grey, share = (laid(one, here @ move, (cells[0] * 10, cells[1] * 10), scale) for one in paper(printed=printed))
    tan = grey[..., None] * np.array([1.05, 0.95, 0.7], np.float32)
    image = mat * (1 - share[..., None] * (1 - through)) + tan * share[..., None] * (1 - through)
    image = cv2.GaussianBlur(image, (0, 0), 0.6) + np.random.default_rng(seed).normal(0, 1.5, image.shape)
    lattice = Lattice(
        kind="lines",
        pitch_mm=10.0,
        heavy_every=5,
        heavy_x=-first[0],
        heavy_y=-first[1],
        last_x=cells[0],
        last_y=cells[1],
    )
    return FlatSheet(
        pixels=np.clip(image, 0, 255).astype(np.uint8),
        seen=np.ones((height, width), bool),
        mm_per_px=scale,
        origin_mm=np.array([0.0, top]),
        lattice=lattice,
    )
