"""Flattening: the picture redrawn as the mat lies, at a stated number of millimetres per pixel."""

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.errors import Note
from calibration.ground.points import Points, as_point, frozen
from calibration.lattice.mat import Lattice
from calibration.picture.photo import Photo
from calibration.sheet.scan_frame import ScanFrame
from calibration.view.view import MatView

_COARSE_PX = 16  # the map is computed on every 16th pixel and interpolated: exact to 0.01 px for a phone's lens
_MARGIN_MM = 20.0  # of mat shown beyond the lattice that was seen
_BIGGEST_PX = 60_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlatSheet:
    """A flat raster in the mat frame.

    Attributes
    ----------
    pixels : (height, width, 3) uint8
        Red, green, blue; row 0 is the top, that is the largest y.
    seen : (height, width) bool
        False where the picture shows nothing (outside the photograph).
    mm_per_px : float
        The raster's scale, both ways.
    origin_mm : (2,)
        Mat position of the centre of the top-left pixel.
    lattice : Lattice or None
        What is printed underneath; None on a scan.
    views : tuple of MatView
        The pictures it was made from, for uncertainty; empty on a scan.
    scans : tuple of ScanFrame
        The scans it was made from; empty for photographs.
    placed : tuple of (3, 3)
        For each view (or scan) the rigid move from this sheet's mm to its own mm; empty: they are the same.
    seam_mm : float
        How far joined pictures disagree where they overlap; 0 for a single one.
    notes : tuple of Note
        Doubts about how the sheet was made.
    """

    pixels: npt.NDArray[np.uint8]
    seen: npt.NDArray[np.bool_]
    mm_per_px: float
    origin_mm: Points
    lattice: Lattice | None = None
    views: tuple[MatView, ...] = ()
    placed: tuple[npt.NDArray[np.float64], ...] = ()
    seam_mm: float = 0.0
    notes: tuple[Note, ...] = ()
    scans: tuple[ScanFrame, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "origin_mm", as_point(self.origin_mm))
        object.__setattr__(self, "placed", tuple(frozen(move) for move in self.placed))

    def to_mm(self, px: npt.ArrayLike) -> Points:
        """Raster pixels (N, 2), x right, y down -> mat mm (N, 2), y up."""
        return self.origin_mm + np.atleast_2d(np.asarray(px, float)) * [self.mm_per_px, -self.mm_per_px]

    def to_px(self, mm: npt.ArrayLike) -> Points:
        """Mat mm (N, 2) -> raster pixels (N, 2)."""
        return (np.atleast_2d(np.asarray(mm, float)) - self.origin_mm) / [self.mm_per_px, -self.mm_per_px]

    def uncertainty_mm(self, mm: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Radius (N,) round each point that holds the truth in 95 of 100 cases: of the view that knows it best.

        The disagreement of joined pictures is part of it. On a scan nothing else is known.
        """
        at = np.atleast_2d(np.asarray(mm, float))
        radii = [view.uncertainty_mm(own) for view, own in self._in_views(at)]
        best = np.min(radii, axis=0) if radii else np.zeros(len(at))
        return np.asarray(np.hypot(best, self.seam_mm), float)

    def trusted(self, mm: npt.ArrayLike) -> npt.NDArray[np.bool_]:
        """Whether each point (N,) is near enough to lattice that some view saw; always on a scan."""
        at = np.atleast_2d(np.asarray(mm, float))
        near = [view.trusted(own) for view, own in self._in_views(at)]
        return np.any(near, axis=0) if near else np.ones(len(at), bool)

    def _in_views(self, mm: Points) -> list[tuple[MatView, Points]]:
        """Each view with the points in its own mat frame."""
        if not self.views:
            return []
        moves = self.placed or (np.eye(3),) * len(self.views)
        return [(view, mm @ m[:2, :2].T + m[:2, 2]) for view, m in zip(self.views, moves, strict=True)]


def flatten(
    photo: Photo, view: MatView, *, mm_per_px: float | None = None, crop_mm: npt.ArrayLike | None = None
) -> FlatSheet:
    """The picture as the mat lies.

    Parameters
    ----------
    mm_per_px : float, optional
        Scale of the raster; by default about that of the photograph on the lattice that was seen.
    crop_mm : (2, 2), optional
        Lower left and upper right corner on the mat; by default the lattice seen and a margin round it.
    """
    scale = mm_per_px or round(float(np.median(view.mm_per_px(view.seen_px))), 3)
    low, high = np.asarray(crop_mm, float) if crop_mm is not None else _extent_mm(view)
    width, height = np.ceil((high - low) / scale).astype(int) + 1
    if width * height > _BIGGEST_PX:
        scale *= float(np.sqrt(width * height / _BIGGEST_PX))
        width, height = np.ceil((high - low) / scale).astype(int) + 1
    origin = np.array([low[0], high[1]])
    x, y = _photo_maps(view, origin, scale, int(width), int(height))
    pixels = cv2.remap(photo.pixels, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    seen = (x >= 0) & (y >= 0) & (x <= view.size_px[0] - 1) & (y <= view.size_px[1] - 1)
    return FlatSheet(
        pixels=pixels.astype(np.uint8, copy=False),
        seen=seen,
        mm_per_px=scale,
        origin_mm=origin,
        lattice=view.lattice,
        views=(view,),
    )


def coarser(sheet: FlatSheet, longest_px: int) -> FlatSheet:
    """The sheet with at least ``longest_px`` pixels along its longer side, for what needs no detail."""
    step = max(sheet.pixels.shape[:2]) // longest_px
    if step < 2:
        return sheet
    height, width = (size // step for size in sheet.pixels.shape[:2])
    pixels = cv2.resize(sheet.pixels[: height * step, : width * step], (width, height), interpolation=cv2.INTER_AREA)
    return replace(
        sheet,
        pixels=pixels.astype(np.uint8, copy=False),
        seen=sheet.seen[step // 2 : height * step : step, step // 2 : width * step : step],
        mm_per_px=sheet.mm_per_px * step,
        origin_mm=sheet.to_mm([[(step - 1) / 2, (step - 1) / 2]])[0],
    )


def _extent_mm(view: MatView) -> Points:
    """Lower left and upper right of the lattice seen, with a margin."""
    return np.array([view.seen_mm.min(0) - _MARGIN_MM, view.seen_mm.max(0) + _MARGIN_MM])


def _photo_maps(
    view: MatView, origin: Points, scale: float, width: int, height: int
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """For each raster pixel the photo pixel it shows, x and y (height, width)."""
    columns = np.arange(0, width + _COARSE_PX, _COARSE_PX)
    rows = np.arange(0, height + _COARSE_PX, _COARSE_PX)
    grid = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)
    coarse = view.to_px(origin + grid * [scale, -scale]).reshape(len(rows), len(columns), 2).astype(np.float32)
    at_x = np.arange(width, dtype=np.float32) / _COARSE_PX
    at_y = np.arange(height, dtype=np.float32) / _COARSE_PX
    fine_x, fine_y = np.meshgrid(at_x, at_y)
    both = cv2.remap(coarse, fine_x, fine_y, cv2.INTER_LINEAR)
    return both[..., 0].astype(np.float32, copy=False), both[..., 1].astype(np.float32, copy=False)
