"""The patch of a picture that shows one thing, with the thing drawn on it."""

import cv2
import numpy as np

from calibration.ground.points import Points
from calibration.picture.photo import Photo
from calibration.sheet.on_sheet import PictureOnSheet

LONGEST_PX = 220
_SMALLEST_PX = 60  # of picture that is cut out at least, so that one sees where it is
_QUALITY = 78
_WHITE, _INK = (255, 255, 255), (212, 0, 106)


def patch(
    photo: Photo,
    picture: PictureOnSheet,
    box_px: tuple[int, int, int, int],
    points: Points,
    *,
    closed: bool = False,
    longest_px: int = LONGEST_PX,
) -> bytes:
    """A JPEG of a box of a photograph, at most ``longest_px`` long.

    ``points`` (N, 2) in the sheet's mm are drawn as a ring round a single point, else as a line, open or ``closed``.
    """
    left, top, right, bottom = _at_least(box_px, photo.size_px)
    part = photo.pixels[top : bottom + 1, left : right + 1]
    share = longest_px / max(part.shape[:2])
    how = cv2.INTER_AREA if share < 1 else cv2.INTER_CUBIC
    shown = np.asarray(cv2.resize(part, None, fx=share, fy=share, interpolation=how), np.uint8)
    at = (picture.to_px(points) - [left, top] + 0.5) * share - 0.5
    fixed = np.round(at * 16).astype(np.int32)
    for colour, width in ((_WHITE, 4), (_INK, 2)):
        if len(points) == 1:
            cv2.circle(shown, (int(fixed[0, 0]), int(fixed[0, 1])), 16 * longest_px // 6, colour, width, cv2.LINE_AA, 4)
        else:
            cv2.polylines(shown, [fixed], closed, colour, width, cv2.LINE_AA, 4)
    written, code = cv2.imencode(".jpg", shown[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    if not written:
        raise ValueError("the patch could not be coded as JPEG")
    return code.tobytes()


def _at_least(box: tuple[int, int, int, int], size_px: tuple[int, int]) -> tuple[int, int, int, int]:
    """The box made no smaller than can be recognised, inside the picture."""
    out = []
    for low, high, size in ((box[0], box[2], size_px[0]), (box[1], box[3], size_px[1])):
        short = max(0, _SMALLEST_PX - (high - low))
        low, high = low - short // 2, high + short - short // 2
        out.append((max(0, min(low, size - 2)), min(size - 1, max(high, 1))))
    return out[0][0], out[1][0], out[0][1], out[1][1]
