"""Taking a mat's lattice out of a flat sheet, on bare mat and where it shows through paper."""

from collections.abc import Iterator

import cv2
import numpy as np
import numpy.typing as npt

from calibration.lattice.mat import Lattice
from calibration.sheet.flatten import FlatSheet

Mask = npt.NDArray[np.bool_]
Image = npt.NDArray[np.float32]

_SPILL_MM = 0.5  # how far blur and a slightly wrong place spread a line beyond its printed width
_SHORE_MM = 0.6  # width of the strips beside it that say what would be there without it
_ALONG_MM = 24.0  # over which a line looks the same: its contrast is the median over this length
_STEP_MM = 8.0  # between places along it where that is taken
_ODD = 6.0  # grey levels by which a line may look different in one place, at least
_LEAST_SHARE = 0.25  # of that length that must be of the kind looked at


def without_lattice(sheet: FlatSheet, kinds: tuple[Mask, ...]) -> npt.NDArray[np.uint8]:
    """The sheet's pixels (height, width, 3) with each lattice line's own contrast subtracted.

    What is subtracted is the median along the line, so that printing which crosses a line stays. ``kinds`` are masks
    (height, width) on which a line looks different: bare mat, and what lies on it.
    """
    if sheet.lattice is None:
        raise ValueError("the sheet has no lattice")
    out = sheet.pixels.astype(np.float32)
    height, width = sheet.seen.shape
    left, top = sheet.origin_mm / sheet.mm_per_px
    for line_px, half_px in _lines(sheet.lattice, sheet.lattice.heavy_x, left, width, sheet.mm_per_px):
        _take_out(out, kinds, line_px, half_px, sheet.mm_per_px)
    turned, kinds_turned = out.transpose(1, 0, 2), tuple(kind.T for kind in kinds)
    for line_px, half_px in _lines(sheet.lattice, sheet.lattice.heavy_y, -top, height, sheet.mm_per_px, down=True):
        _take_out(turned, kinds_turned, line_px, half_px, sheet.mm_per_px)
    return np.clip(out + 0.5, 0, 255).astype(np.uint8)


def _lines(
    lattice: Lattice, heavy_at: int, start: float, count: int, scale: float, *, down: bool = False
) -> Iterator[tuple[float, float]]:
    """Pixel position and half width of each lattice line across ``count`` pixels, the first at ``start`` pixels."""
    pitch = lattice.pitches_mm[down] / scale
    for k in range(int(np.ceil(start / pitch)), int(np.floor((start + count - 1) / pitch)) + 1):
        index = -k if down else k
        heavy = lattice.heavy_every > 0 and (index - heavy_at) % lattice.heavy_every == 0
        line = lattice.heavy_width_mm if heavy else lattice.line_width_mm
        yield k * pitch - start, (line / 2 + _SPILL_MM) / scale


def _take_out(out: Image, kinds: tuple[Mask, ...], line_px: float, half_px: float, scale: float) -> None:
    """Subtract one upright line's contrast in place."""
    shore = max(2, round(_SHORE_MM / scale))
    low, high = int(np.floor(line_px - half_px)), int(np.ceil(line_px + half_px)) + 1
    if low - shore < 0 or high + shore > out.shape[1]:
        return
    strip = out[:, low - shore : high + shore]
    before, behind = strip[:, :shore].mean(1), strip[:, -shore:].mean(1)
    share = ((np.arange(low, high) - (low - shore / 2)) / (high - low + shore))[None, :, None]
    stands_out = strip[:, shore:-shore] - (before[:, None] * (1 - share) + behind[:, None] * share)
    for kind in kinds:
        here = np.asarray(kind[:, low:high].all(axis=1))
        if here.any():
            usual = _usual_along(stands_out, here, scale)
            out[:, low:high] -= usual * here[:, None, None]


def _usual_along(stands_out: Image, here: npt.NDArray[np.bool_], scale: float) -> Image:
    """The median along the line (height, across, 3) of what stands out, running."""
    height = len(here)
    reach = _ALONG_MM / scale / 2
    places = np.arange(0, height + _STEP_MM / scale, _STEP_MM / scale)
    usual = np.full((len(places), *stands_out.shape[1:]), np.nan, np.float32)
    for n, place in enumerate(places):
        rows = slice(max(0, int(place - reach)), int(place + reach) + 1)
        some = here[rows]
        if some.sum() >= _LEAST_SHARE * 2 * reach:
            usual[n] = np.median(stands_out[rows][some], axis=0)
    known = np.flatnonzero(~np.isnan(usual[:, 0, 0]))
    if not len(known):
        return np.zeros_like(stands_out)
    everywhere = np.median(usual[known], axis=0)
    odd = np.abs(usual - everywhere).max(axis=(1, 2)) > np.maximum(_ODD, np.abs(everywhere).max())
    usual[odd] = everywhere  # a printed line that runs along the lattice line for a while: not the lattice's own
    nearest = known[np.abs(np.arange(len(places))[:, None] - known).argmin(1)]
    usual = usual[nearest]
    flat = usual.reshape(len(places), -1)
    drawn = cv2.resize(flat, (flat.shape[1], height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(drawn.reshape(stands_out.shape), np.float32)
