"""Where each picture lies on the sheet that was made of it: its own pixels to the sheet's millimetres and back."""

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError
from calibration.ground.points import Points, frozen
from calibration.sheet.flatten import FlatSheet
from calibration.sheet.scan_frame import ScanFrame
from calibration.view.view import MatView

_LEAST_CROP_PX = 50  # of the flat sheet, both ways


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PictureOnSheet:
    """One picture of a sheet.

    Attributes
    ----------
    frame : MatView or ScanFrame
        From its pixels to its own mm.
    move : (3, 3)
        Rigid, from the sheet's mm to the picture's own.
    """

    frame: MatView | ScanFrame
    move: npt.NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "move", frozen(self.move))

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the upright picture."""
        return self.frame.size_px

    def to_mm(self, px: npt.ArrayLike) -> Points:
        """Pixels (N, 2) of the upright picture, x right, y down -> the sheet's mm (N, 2), y up."""
        back = np.linalg.inv(self.move)
        return self.frame.to_mm(px) @ back[:2, :2].T + back[:2, 2]

    def to_px(self, mm: npt.ArrayLike) -> Points:
        """The sheet's mm (N, 2) -> pixels (N, 2) of the upright picture."""
        points = np.atleast_2d(np.asarray(mm, float))
        return self.frame.to_px(points @ self.move[:2, :2].T + self.move[:2, 2])

    def inside_px(self, mm: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """How far (N,) inside the picture each place lies, px; negative outside."""
        px = self.to_px(mm)
        return np.asarray(np.minimum(px, np.array(self.size_px) - 1 - px).min(1), float)


def pictures_on(sheet: FlatSheet) -> tuple[PictureOnSheet, ...]:
    """The pictures that a sheet was made of, in their order."""
    frames: tuple[MatView | ScanFrame, ...] = sheet.views or sheet.scans
    moves = sheet.placed or (np.eye(3),) * len(frames)
    return tuple(PictureOnSheet(frame=frame, move=move) for frame, move in zip(frames, moves, strict=True))


def cropped(sheet: FlatSheet, crop_px: npt.ArrayLike) -> FlatSheet:
    """A single picture's sheet with only what lies between two corners (2, 2) told in the picture's pixels.

    Raises
    ------
    InputError
        If nothing is left.
    """
    low, high = np.sort(np.asarray(crop_px, float), axis=0)
    share = np.linspace(0.0, 1.0, 33)[:-1, None]
    corners = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    ring = np.vstack([a + share * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)])
    at = sheet.to_px(pictures_on(sheet)[0].to_mm(ring))
    height, width = sheet.seen.shape
    left, top = np.clip(np.floor(at.min(0)).astype(int), 0, [width, height])
    right, bottom = np.clip(np.ceil(at.max(0)).astype(int) + 1, 0, [width, height])
    if right - left < _LEAST_CROP_PX or bottom - top < _LEAST_CROP_PX:
        raise InputError(
            f"The crop from ({low[0]:.0f}, {low[1]:.0f}) to ({high[0]:.0f}, {high[1]:.0f}) leaves nothing to read.",
            "Tell two opposite corners in pixels of the upright picture, with bare mat all round the piece.",
        )
    inside = np.zeros((bottom - top, right - left), np.uint8)
    cv2.fillPoly(inside, [np.round(at - [left, top]).astype(np.int32)], 1)
    return replace(
        sheet,
        pixels=sheet.pixels[top:bottom, left:right],
        seen=sheet.seen[top:bottom, left:right] & (inside > 0),
        origin_mm=sheet.to_mm([[float(left), float(top)]])[0],
    )
