"""Pixels as every reader gives them: 8-bit red, green, blue, of a size that can be measured and held."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError

if TYPE_CHECKING:
    from PIL import Image

Pixels = npt.NDArray[np.uint8]

LEAST_MEGAPIXELS = 0.3  # below it a centimetre of mat has too few pixels to be worth a tenth of a millimetre
MOST_MEGAPIXELS = 100.0  # above it a picture is a slip or an attack: the largest phones and A3 scans stay below


def check_size(size: tuple[int, int], name: str) -> None:
    """Neither too small to measure nor too large to hold."""
    width, height = size
    mega = width * height / 1e6
    if mega > MOST_MEGAPIXELS:
        raise InputError(f"{name} has {mega:.0f} megapixels ({width} × {height}).", smaller(f"{mega:.0f} megapixels"))
    if mega < LEAST_MEGAPIXELS or min(width, height) < 100:
        raise InputError(
            f"{name} is too small to measure: {width} × {height} pixels.",
            "Give the photograph in its full size, as the phone took it, not a copy made small for a message.",
        )


def smaller(found: str) -> str:
    """The remedy for a picture that is too large."""
    return f"Save it with at most {MOST_MEGAPIXELS:.0f} megapixels instead of {found}."


def as_rgb(image: Image.Image) -> Pixels:
    """8-bit red, green, blue (height, width, 3) from any of Pillow's modes."""
    from PIL import Image

    if image.mode.startswith("I;16"):
        grey = (np.asarray(image).astype(np.uint16) >> 8).astype(np.uint8)
        return np.repeat(grey[..., None], 3, axis=2)
    if image.mode in ("I", "F"):
        values = np.nan_to_num(np.asarray(image, np.float64))
        top = next((limit for limit in (1.0, 255.0, 65535.0) if values.max() <= limit), float(values.max()))
        grey = np.clip(values / top * 255.0 + 0.5, 0, 255).astype(np.uint8)
        return np.repeat(grey[..., None], 3, axis=2)
    if image.has_transparency_data:
        clear = image.convert("RGBA")
        white = Image.new("RGBA", clear.size, "white")
        image = Image.alpha_composite(white, clear)
    return np.asarray(image.convert("RGB"), np.uint8)
