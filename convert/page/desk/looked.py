"""What was read off a piece's pictures, small enough to keep: views and tracings, the flat picture as a JPEG."""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from convert.pipeline.look import Look, SheetRead
from convert.trace.tracing import Tracing

_QUALITY = 92


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Looked:
    """Pictures read and traced.

    ``read`` is without its pixels; ``jpeg`` is the flat picture of ``size_px`` (width, height), ``seen`` a PNG of what
    the pictures show. ``photo_sizes_px`` are those of the upright photographs.
    """

    read: SheetRead
    tracings: tuple[Tracing, ...]
    size_px: tuple[int, int]
    jpeg: bytes
    seen: bytes
    photo_sizes_px: tuple[tuple[int, int], ...]

    def look(self, *, pixels: bool) -> Look:
        """As the pipeline looked at them; with ``pixels`` again, as far as a JPEG keeps them."""
        return Look(read=self._whole() if pixels else self.read, tracings=self.tracings)

    def _whole(self) -> SheetRead:
        bgr = cv2.imdecode(np.frombuffer(self.jpeg, np.uint8), cv2.IMREAD_COLOR)
        mask = cv2.imdecode(np.frombuffer(self.seen, np.uint8), cv2.IMREAD_GRAYSCALE)
        if bgr is None or mask is None:
            raise ValueError("the flat picture that was kept can't be decoded")
        pixels = np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB), np.uint8)
        return replace(self.read, sheet=replace(self.read.sheet, pixels=pixels, seen=mask > 0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sizes:
    """A sheet with several sizes inside one another, none chosen yet: as each reads, the innermost first."""

    looks: tuple[Looked, ...]


def kept(looks: tuple[Look, ...]) -> Looked | Sizes:
    """The small form of what was looked at; several looks are the sizes on one sheet."""
    small = _small(looks[0])
    if len(looks) == 1:
        return small
    return Sizes(looks=tuple(replace(small, tracings=one.tracings) for one in looks))


def _small(look: Look) -> Looked:
    read = look.read
    height, width = read.sheet.pixels.shape[:2]
    bgr = cv2.cvtColor(read.sheet.pixels, cv2.COLOR_RGB2BGR)
    _, jpeg = cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    _, seen = cv2.imencode(".png", read.sheet.seen.astype(np.uint8) * 255, [cv2.IMWRITE_PNG_COMPRESSION, 1])
    none = np.zeros((1, 1, 3), np.uint8)
    small = replace(read.sheet, pixels=none, seen=np.zeros((1, 1), bool))
    return Looked(
        read=replace(read, sheet=small, photos=()),
        tracings=look.tracings,
        size_px=(width, height),
        jpeg=jpeg.tobytes(),
        seen=seen.tobytes(),
        photo_sizes_px=tuple(photo.size_px for photo in read.photos),
    )
