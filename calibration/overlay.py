"""A picture for people: the lattice found, drawn over the photograph, and one sentence on how far to trust it."""

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.picture.photo import Photo
from calibration.view.view import MatView

_LONG_SIDE_PX = 1600
_SAMPLES = 40  # places along each lattice line: a lens bends it
_COARSE_PX = 12  # of the picture: trust is asked at every twelfth pixel
_MAGNIFIED = 40.0  # times that what is left over is drawn larger than it is
_MOST_ARROWS = 2500
_FINE_MM, _FAIR_MM = 0.1, 0.3  # left over: a tenth of a cutter's care, and what can still be worked with
_LINE = (255, 235, 60)
_GOOD, _SO_SO, _BAD = (40, 230, 120), (255, 150, 30), (255, 40, 60)
_SHADE = (200, 30, 60)
_STRIP_PX = 44
_STEEP = 1.7  # nearest to farthest scale over the lattice, at which the phone was held too slanting
_COARSE_MM_PER_PX = 0.4  # beyond it the picture was taken from too far away
_UNSURE_PX = 1.0  # left over in pixels: blur, a shaking hand, a mat that is not flat


def draw_lattice(photo: Photo, view: MatView) -> Photo:
    """The photograph, at most 1600 pixels wide, with what the calibration saw.

    Thin lines are the lattice as calibrated, dots the lattice points used; from each a stroke shows what is left over,
    magnified: green below 0.1 mm, orange below 0.3 mm, red beyond. Red shade lies where nothing should be measured.
    """
    width, height = photo.size_px
    scale = min(1.0, _LONG_SIDE_PX / max(width, height))
    size = (round(width * scale), round(height * scale))
    picture = np.array(cv2.resize(photo.pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    _shade_untrusted(picture, view, scale)
    _draw_lines(picture, view, scale)
    _draw_left_over(picture, view, scale)
    return Photo(pixels=_captioned(picture, view), name=photo.name)


def png_of(picture: Photo) -> bytes:
    """The picture as a PNG file."""
    done, data = cv2.imencode(".png", cv2.cvtColor(picture.pixels, cv2.COLOR_RGB2BGR))
    if not done:
        raise ValueError("the picture could not be coded")
    return data.tobytes()


def jpeg_of(picture: Photo) -> bytes:
    """The picture as a JPEG file, a tenth the size of a PNG."""
    done, data = cv2.imencode(".jpg", cv2.cvtColor(picture.pixels, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, 85])
    if not done:
        raise ValueError("the picture could not be coded")
    return data.tobytes()


def accuracy_sentence(view: MatView, piece_mm: npt.ArrayLike | None = None) -> str:
    """How accurate the picture is over the piece (mat mm, (N, 2)), or over the lattice seen; and what to do better.

    The figure is the radius that holds the truth in 95 of 100 cases, at the worst of 20 places.
    """
    told = piece_mm is not None
    at = np.atleast_2d(np.asarray(piece_mm if told else view.seen_mm, float))
    where = "over the piece" if told else "over the grid that was seen"
    radius = float(np.percentile(view.uncertainty_mm(at), 95))
    said = f"The picture is accurate to about {max(0.1, np.ceil(radius * 10 - 1e-9) / 10):.1f} mm {where}."
    advice = _advice(view, at)
    return f"{said} {advice}".strip()


def _advice(view: MatView, at: Points) -> str:
    """What to do better next time; nothing if nothing matters."""
    beyond = ~view.trusted(at)
    if beyond.mean() > 0.01:
        side = _side_of(at[beyond].mean(0) - view.seen_mm.mean(0))
        return f"Its {side} part lies too far from any grid that was seen: leave more bare mat there."
    scales = view.mm_per_px(view.seen_px)
    if float(np.percentile(scales, 98) / np.percentile(scales, 2)) > _STEEP:
        return "Next time hold the phone flatter, straight above the middle of the piece."
    if float(np.median(scales)) > _COARSE_MM_PER_PX:
        return "Next time go nearer, so that the mat fills the picture."
    if view.rms_mm / float(np.median(scales)) > _UNSURE_PX:
        return "Next time use more light, hold the phone still, and see that the mat lies flat."
    return ""


def _side_of(way: Points) -> str:
    """A direction on the mat as words."""
    x, y = way
    if abs(x) > 2 * abs(y):
        return "right" if x > 0 else "left"
    if abs(y) > 2 * abs(x):
        return "upper" if y > 0 else "lower"
    return f"{'upper' if y > 0 else 'lower'} {'right' if x > 0 else 'left'}"


def _shade_untrusted(picture: npt.NDArray[np.uint8], view: MatView, scale: float) -> None:
    """Red shade where no lattice was seen near enough."""
    height, width = picture.shape[:2]
    columns, rows = np.arange(0, width + _COARSE_PX, _COARSE_PX), np.arange(0, height + _COARSE_PX, _COARSE_PX)
    px = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)
    near = view.trusted(view.to_mm((px + 0.5) / scale - 0.5)).reshape(len(rows), len(columns))
    share = cv2.resize(near.astype(np.float32), (len(columns) * _COARSE_PX, len(rows) * _COARSE_PX))
    away = np.clip(1.0 - share[:height, :width], 0.0, 1.0)[..., None]
    picture[...] = (picture * (1 - 0.45 * away) + np.array(_SHADE) * 0.45 * away).astype(np.uint8)


def _small(px: Points, scale: float) -> Points:
    """Photo pixels on the small picture."""
    return (px + 0.5) * scale - 0.5


def _draw_lines(picture: npt.NDArray[np.uint8], view: MatView, scale: float) -> None:
    """The lattice as calibrated, where it was seen."""
    low, high = view.seen_mm.min(0), view.seen_mm.max(0)
    for axis, pitch in enumerate(view.lattice.pitches_mm):
        along = np.linspace(low[1 - axis], high[1 - axis], _SAMPLES)
        for k in range(int(np.ceil(low[axis] / pitch - 1e-6)), int(np.floor(high[axis] / pitch + 1e-6)) + 1):
            mm = np.empty((_SAMPLES, 2))
            mm[:, axis], mm[:, 1 - axis] = k * pitch, along
            _strokes(picture, [_small(view.to_px(mm), scale)], _LINE)


def _draw_left_over(picture: npt.NDArray[np.uint8], view: MatView, scale: float) -> None:
    """A dot at each lattice point used, and what is left over there, magnified."""
    keep = np.unique(np.linspace(0, len(view.seen_px) - 1, _MOST_ARROWS).astype(int))
    seen, mm = view.seen_px[keep], view.seen_mm[keep]
    left = np.hypot(*(view.to_mm(seen) - mm).T)
    ends = seen + (seen - view.to_px(mm)) * _MAGNIFIED
    for low, high, colour in ((0.0, _FINE_MM, _GOOD), (_FINE_MM, _FAIR_MM, _SO_SO), (_FAIR_MM, np.inf, _BAD)):
        some = (left >= low) & (left < high)
        pairs = zip(_small(seen[some], scale), _small(ends[some], scale), strict=True)
        _strokes(picture, [np.array(pair) for pair in pairs], colour)
        for x, y in _small(seen[some], scale):
            cv2.circle(picture, (round(float(x) * 8), round(float(y) * 8)), 12, colour, -1, cv2.LINE_AA, 3)


def _strokes(picture: npt.NDArray[np.uint8], lines: list[Points], colour: tuple[int, int, int]) -> None:
    """Thin lines, to an eighth of a pixel."""
    whole = [np.round(np.clip(line, -1e5, 1e5) * 8).astype(np.int32) for line in lines]
    cv2.polylines(picture, whole, False, colour, 1, cv2.LINE_AA, 3)


def _captioned(picture: npt.NDArray[np.uint8], view: MatView) -> npt.NDArray[np.uint8]:
    """A strip below that says what is what."""
    strip = np.full((_STRIP_PX, picture.shape[1], 3), 255, np.uint8)
    text = (
        f"Strokes: what is left over, {_MAGNIFIED:.0f} times larger ({view.rms_mm:.2f} mm in all). "
        "Red shade: do not measure there."
    )
    face, fit = cv2.FONT_HERSHEY_SIMPLEX, 0.62
    needed = cv2.getTextSize(text, face, fit, 1)[0][0]
    fit *= min(1.0, (picture.shape[1] - 24) / max(needed, 1))
    cv2.putText(strip, text, (12, 28), face, fit, (30, 30, 30), 1, cv2.LINE_AA)
    return np.vstack([picture, strip])
