"""What was read, drawn over the photograph it was read from."""

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.picture.photo import Photo
from calibration.sheet.on_sheet import PictureOnSheet
from calibration.view.view import MatView

LONGEST_PX = 1300
_JPEG_QUALITY = 82
_WHITE = (255, 255, 255)
_STYLES: dict[str, tuple[tuple[int, int, int], int]] = {  # colour (red, green, blue), width px
    "cut line": ((212, 0, 106), 4),
    "seam line": ((0, 75, 180), 3),
    "dart": ((150, 70, 0), 3),
    "grainline": ((0, 110, 60), 3),
}


def outline_on_photo(photo: Photo, view: MatView | PictureOnSheet, lines: dict[str, list[Points]]) -> bytes:
    """A JPEG of the photograph, at most 1300 pixels long, with lines drawn on it.

    Parameters
    ----------
    lines
        By kind ("cut line", "seam line", "dart", "grainline") polylines (N, 2) in mat mm (the sheet's, if joined).
        Seam lines and darts are dashed, so that they are told apart without colour.
    """
    share = min(1.0, LONGEST_PX / max(photo.size_px))
    picture = np.asarray(cv2.resize(photo.pixels, None, fx=share, fy=share, interpolation=cv2.INTER_AREA), np.uint8)
    for kind, (colour, width) in _STYLES.items():
        for line in lines.get(kind, []):
            at = (view.to_px(line) + 0.5) * share - 0.5
            for part in [at] if kind == "cut line" else _dashes(at, 14.0, 8.0):
                _draw(picture, part, _WHITE, width + 3)
                _draw(picture, part, colour, width)
    written, code = cv2.imencode(".jpg", picture[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    if not written:
        raise ValueError("the picture could not be coded as JPEG")
    return code.tobytes()


def _draw(picture: npt.NDArray[np.uint8], line: Points, colour: tuple[int, int, int], width: int) -> None:
    fixed = np.round(line * 16).astype(np.int32)
    cv2.polylines(picture, [fixed], False, colour, width, cv2.LINE_AA, 4)


def _dashes(line: Points, on: float, off: float) -> list[Points]:
    """A polyline cut into dashes, px."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    out = []
    for start in np.arange(0.0, along[-1], on + off):
        at = np.linspace(start, min(start + on, along[-1]), 4)
        out.append(np.column_stack([np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])]))
    return out
