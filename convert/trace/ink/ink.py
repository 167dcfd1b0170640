"""How much ink lies on each pixel of a piece: printing told from paper, shadow, crease and what shows through."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet

RIM_MM = 1.6  # left out along the paper's edge: the printed cut line's inner half and the edge's own shadow
_COARSE_MM = 0.6  # paper colour is estimated on pixels of about this size
_NEIGHBOURHOOD_MM = 9.0  # over which the bare paper's colour is averaged
_DARK = 0.25  # share of the paper's light a pixel must swallow to help tell the ink's colour
_THING_MM = 5.0  # printing holds no disc of this size; what does is a thing lying on the paper, or a shadow
_ROW = 256
_LINE_MM = 1.2  # no printed line holds a disc of this radius
_SHADE_MM = 14.0  # a thing's shadow reaches no further
_AROUND_MM = 2.5  # left out around things and their shadows
_SMOOTH_MM = 0.3  # of the Gaussian that precedes line finding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ink:
    """Ink on a piece, on a crop of the sheet's raster.

    Attributes
    ----------
    share : (h, w) float32
        About 1 in the middle of solid printing, 0 on bare paper, smoothed by ``smooth_px``; 0 where not readable.
    readable : (h, w) bool
        Paper, away from its rim and from things lying on it.
    corner_px : (2,)
        Column and row of the crop's first pixel in the sheet's raster.
    colour : (3,) float64
        Share of red, green and blue that full ink swallows; zeros where nothing dark was found.
    """

    sheet: FlatSheet
    share: npt.NDArray[np.float32]
    readable: npt.NDArray[np.bool_]
    corner_px: npt.NDArray[np.int64]
    colour: npt.NDArray[np.float64]
    smooth_px: float

    @property
    def mm_per_px(self) -> float:
        """Scale of the raster."""
        return self.sheet.mm_per_px

    def to_mm(self, px: npt.ArrayLike) -> Points:
        """Crop pixels (N, 2), x right, y down -> mat mm."""
        return self.sheet.to_mm(np.atleast_2d(np.asarray(px, float)) + self.corner_px)

    def to_px(self, mm: npt.ArrayLike) -> Points:
        """Mat mm (N, 2) -> crop pixels."""
        return self.sheet.to_px(mm) - self.corner_px

    def sample(self, mm: Points) -> npt.NDArray[np.float64]:
        """Ink share (N,) at mat points, bilinear; 0 outside the crop."""
        if not len(mm):
            return np.zeros(0)
        px = self.to_px(mm).astype(np.float32)
        rows = -(-len(px) // _ROW)
        px = np.pad(px, ((0, rows * _ROW - len(px)), (0, 0))).reshape(rows, _ROW, 2)  # no side may exceed 32767
        out = cv2.remap(self.share, px[..., 0], px[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
        return np.asarray(out, np.float64).ravel()[: len(mm)]


def find_ink(sheet: FlatSheet, paper: npt.NDArray[np.bool_], *, rim_mm: float = RIM_MM) -> Ink:
    """Ink on the paper that ``paper`` (height, width) marks on the sheet's raster.

    Ink swallows a share of the light that the bare paper round it sends back; the shares of red, green and blue tell
    its colour, and each pixel is weighed by how much of that colour's shadow lies on it.
    """
    paper = paper & sheet.seen
    if not paper.any():
        raise ValueError("the paper covers no pixel that the picture shows")
    x, y, w, h = cv2.boundingRect(paper.astype(np.uint8))
    pixels = sheet.pixels[y : y + h, x : x + w]
    mask = paper[y : y + h, x : x + w].astype(np.uint8)
    step = max(1, round(_COARSE_MM / sheet.mm_per_px))
    coarse_mm = sheet.mm_per_px * step
    size = (max(1, w // step), max(1, h // step))
    coarse = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    inside = _shrunk(cv2.resize(mask, size, interpolation=cv2.INTER_NEAREST), rim_mm / coarse_mm)
    bare = _bare_paper(coarse, inside, coarse_mm)
    things = _things(coarse, bare, inside, coarse_mm)
    colour = _ink_colour(pixels, bare, inside & (1 - things), step)
    weights = _weights(colour)
    paper_colour = np.maximum(np.array([np.median(bare[..., c][inside > 0]) for c in range(3)]), 1.0)
    mix = (weights / paper_colour).astype(np.float32)
    smooth_px = max(0.7, _SMOOTH_MM / sheet.mm_per_px)
    light = cv2.GaussianBlur(_mixed(pixels, mix), (0, 0), smooth_px)
    ground = cv2.resize(np.maximum(bare @ mix, 1e-3), (w, h), interpolation=cv2.INTER_LINEAR)
    readable = _shrunk(mask, rim_mm / sheet.mm_per_px) > 0
    readable &= cv2.resize(things, (w, h), interpolation=cv2.INTER_NEAREST) == 0
    share = np.asarray(cv2.divide(light, ground, light, -weights.sum()), np.float32)
    share += np.float32(weights.sum())
    share[~readable] = 0.0
    return Ink(
        sheet=sheet,
        share=share,
        readable=readable,
        corner_px=np.array([x, y]),
        colour=colour,
        smooth_px=smooth_px,
    )


def _disc(radius_px: float) -> npt.NDArray[np.uint8]:
    side = 2 * max(1, round(radius_px)) + 1
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)).astype(np.uint8)


def _mixed(pixels: npt.NDArray[np.uint8], mix: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Weighted sum (h, w) of red, green and blue."""
    red, green, blue = (cv2.extractChannel(pixels, c) for c in range(3))
    first = cv2.addWeighted(red, float(mix[0]), green, float(mix[1]), 0.0, dtype=cv2.CV_32F)
    return np.asarray(cv2.addWeighted(first, 1.0, blue.astype(np.float32), float(mix[2]), 0.0), np.float32)


def _shrunk(mask: npt.ArrayLike, by_px: float) -> npt.NDArray[np.uint8]:
    """The mask without its rim; the edge of the raster counts as an edge."""
    return np.asarray(cv2.erode(np.asarray(mask, np.uint8), _disc(by_px), borderValue=0), np.uint8)


def _bare_paper(
    coarse: npt.NDArray[np.float32], inside: npt.NDArray[np.uint8], coarse_mm: float
) -> npt.NDArray[np.float32]:
    """Colour of the paper round each coarse pixel (h, w, 3): the mean over the neighbourhood without what is dark."""
    side = 2 * max(1, round(_NEIGHBOURHOOD_MM / coarse_mm / 2)) + 1
    keep = inside.astype(np.float32)
    bare = coarse
    for _ in range(3):
        weight = cv2.blur(keep, (side, side))
        total = cv2.blur(coarse * keep[..., None], (side, side))
        everywhere = cv2.mean(coarse, mask=(keep > 0).astype(np.uint8))[:3] if keep.any() else (200.0,) * 3
        bare = (total + 1e-4 * np.array(everywhere, np.float32)) / (weight + 1e-4)[..., None]
        ratio = coarse.sum(2) / np.maximum(bare.sum(2), 1.0)
        keep = (inside > 0).astype(np.float32) * (np.abs(ratio - 1.0) < 0.08)
    return bare.astype(np.float32)


def _things(
    coarse: npt.NDArray[np.float32],
    bare: npt.NDArray[np.float32],
    inside: npt.NDArray[np.uint8],
    coarse_mm: float,
) -> npt.NDArray[np.uint8]:
    """Where something other than paper and printing lies: whatever holds a disc larger than print does."""
    paper = np.array([np.median(bare[..., c][inside > 0]) for c in range(3)], np.float32)
    tint = coarse / np.maximum(coarse.sum(2, keepdims=True), 1.0) - paper / paper.sum()
    dark = coarse.sum(2) < 0.45 * paper.sum()
    odd = ((np.abs(tint).sum(2) > 0.10) | dark).astype(np.uint8) & inside
    core = cv2.morphologyEx(odd, cv2.MORPH_OPEN, _disc(_THING_MM / 2 / coarse_mm))
    if not core.any():
        return np.asarray(core, np.uint8)
    unlike = np.asarray(np.abs(coarse.sum(2) / np.maximum(bare.sum(2), 1.0) - 1.0) > 0.10, np.uint8)
    shade = cv2.morphologyEx(unlike, cv2.MORPH_OPEN, _disc(_LINE_MM / coarse_mm))  # its shadow and its own rim
    grown = cv2.bitwise_or(core, cv2.bitwise_and(cv2.dilate(core, _disc(_SHADE_MM / coarse_mm)), shade))
    return np.asarray(cv2.dilate(grown, _disc(_AROUND_MM / coarse_mm)), np.uint8)


def _ink_colour(
    pixels: npt.NDArray[np.uint8], bare: npt.NDArray[np.float32], inside: npt.NDArray[np.uint8], step: int
) -> npt.NDArray[np.float64]:
    """Mean share of red, green and blue that dark pixels swallow; zeros if there are next to none."""
    rows, columns = np.nonzero(inside)
    centre = pixels[rows * step + step // 2, columns * step + step // 2].astype(np.float32)
    swallowed = 1.0 - centre / np.maximum(bare[rows, columns], 1.0)
    dark = swallowed[swallowed.mean(1) > _DARK]
    if len(dark) < 25:
        return np.zeros(3)
    deepest = dark[dark.mean(1) >= np.quantile(dark.mean(1), 0.6)]
    return np.asarray(np.median(deepest, axis=0), np.float64)


def _weights(colour: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Weights of the channels with which a pixel of full ink comes to 1."""
    usual = np.full(3, 0.7)  # black printing on paper, where the piece itself does not tell
    told = np.clip(colour, 0.02, 1.0) if colour.max() > _DARK else usual
    return np.asarray(told / (told**2).sum(), np.float64)
