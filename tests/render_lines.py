"""Small flat sheets with printing on them, drawn from known numbers."""

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, lengths_along
from calibration.sheet.flatten import FlatSheet

MM_PER_PX = 0.2
_FINER = 4  # drawn so many times finer, then averaged down
PAPER = (214.0, 205.0, 190.0)
BLACK = (45.0, 42.0, 42.0)
RED = (150.0, 40.0, 45.0)


class Drawing:
    """A sheet of paper to draw on in millimetres, y up, origin at the lower left."""

    def __init__(self, width_mm: float, height_mm: float, *, ink: tuple[float, float, float] = BLACK) -> None:
        self.size_mm = (width_mm, height_mm)
        self.ink = ink
        self._scale = _FINER / MM_PER_PX
        self._cover = np.zeros((round(height_mm * self._scale), round(width_mm * self._scale)), np.uint8)

    def _px(self, mm: npt.ArrayLike) -> npt.NDArray[np.int32]:
        at = np.atleast_2d(np.asarray(mm, float)) * [1, -1] + [0, self.size_mm[1]]
        return np.round((at * self._scale - 0.5) * 16).astype(np.int32)

    def line(self, points: npt.ArrayLike, width_mm: float = 0.6, pattern: tuple[float, ...] = ()) -> None:
        """A line of a width; ``pattern`` is dash, gap, dash, gap ... in mm."""
        for run in dashes(np.asarray(points, float), pattern):
            cv2.polylines(self._cover, [self._px(run)], False, 255, max(1, round(width_mm * self._scale)), shift=4)

    def filled(self, points: npt.ArrayLike) -> None:
        """A filled polygon."""
        cv2.fillPoly(self._cover, [self._px(points)], 255, shift=4)

    def shape(self, rings: list[Points]) -> None:
        """A filled shape of several rings; those inside others are holes."""
        cv2.fillPoly(self._cover, [self._px(ring) for ring in rings], 255, shift=4)

    def dot(self, at: npt.ArrayLike, diameter_mm: float) -> None:
        """A filled circle."""
        turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
        self.filled(np.asarray(at, float) + diameter_mm / 2 * np.column_stack([np.cos(turn), np.sin(turn)]))

    def arrow(self, tail: npt.ArrayLike, head: npt.ArrayLike) -> None:
        """A line with a filled head at either end."""
        a, b = np.asarray(tail, float), np.asarray(head, float)
        way = (b - a) / np.hypot(*(b - a))
        self.line([a + 4 * way, b - 4 * way], 0.8)
        for tip, back in ((a, way), (b, -way)):
            base, across = tip + 7 * back, 2.3 * np.array([-back[1], back[0]])
            self.filled([tip, base + across, base - across])

    def word(self, text: str, at: npt.ArrayLike, high_mm: float = 5.0) -> None:
        """A word."""
        x, y = (self._px(at)[0] / 16).astype(int)
        cv2.putText(self._cover, text, (x, y), 0, high_mm * self._scale / 22, 255, round(0.7 * self._scale))

    def sheet(self, seed: int = 0) -> FlatSheet:
        """The sheet as a camera would flatten it: averaged down, a little blurred, uneven light, noise."""
        high, wide = self._cover.shape
        cover = cv2.resize(self._cover, (wide // _FINER, high // _FINER), interpolation=cv2.INTER_AREA) / 255.0
        cover = cv2.GaussianBlur(cover, (0, 0), 0.8)[..., None]
        random = np.random.default_rng(seed)
        light = np.linspace(0.85, 1.05, cover.shape[1])[None, :, None]
        pixels = light * (np.array(PAPER) * (1 - cover) + np.array(self.ink) * cover)
        pixels = np.clip(pixels + random.normal(0, 3, pixels.shape), 0, 255).astype(np.uint8)
        origin = [MM_PER_PX / 2, self.size_mm[1] - MM_PER_PX / 2]
        return FlatSheet(
            pixels=pixels, seen=np.ones(pixels.shape[:2], bool), mm_per_px=MM_PER_PX, origin_mm=np.array(origin)
        )


def dashes(points: Points, pattern: tuple[float, ...]) -> list[Points]:
    """The inked stretches of a polyline."""
    if not pattern:
        return [points]
    along = lengths_along(points)
    out, at, k = [], 0.0, 0
    while at < along[-1]:
        step = pattern[k % len(pattern)]
        if k % 2 == 0:
            inner = along[(along > at) & (along < at + step)]
            s = np.concatenate([[at], inner, [min(at + step, along[-1])]])
            out.append(np.column_stack([np.interp(s, along, points[:, c]) for c in (0, 1)]))
        at, k = at + step, k + 1
    return out


def paper_of(sheet: FlatSheet, ring: npt.ArrayLike) -> npt.NDArray[np.bool_]:
    """Mask of the paper inside a ring, mm."""
    mask = np.zeros(sheet.pixels.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round(sheet.to_px(ring)).astype(np.int32)], 1)
    return mask.astype(bool)
