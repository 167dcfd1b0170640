"""What a telephone and a messenger make of a picture: shadows lifted, edges sharpened to haloes, a small copy."""

from dataclasses import replace

import cv2
import numpy as np

from calibration.view.view import MatView
from tests.bench.photographed import Photographed

MESSENGER_PX, MESSENGER_QUALITY = 1600, 60  # longest side and JPEG quality of a messenger's copy


def by_phone(picture: Photographed) -> Photographed:
    """The picture as a telephone processes it: local tones evened out, then sharpened; a seed gives the same again."""
    rng = np.random.default_rng([picture.seed, 11])
    rgb = cv2.imdecode(np.asarray(picture.jpeg), cv2.IMREAD_COLOR).astype(np.float32)
    light = cv2.cvtColor(rgb, cv2.COLOR_BGR2GRAY)
    wide = cv2.GaussianBlur(light, (0, 0), 0.02 * light.shape[1])
    lifted = light - float(rng.uniform(0.1, 0.4)) * (wide - wide.mean())
    reach, strength = float(rng.uniform(1.5, 3.5)), float(rng.uniform(0.6, 1.6))
    sharp = lifted + strength * (lifted - cv2.GaussianBlur(lifted, (0, 0), reach))
    processed = np.clip(rgb + (sharp - light)[..., None], 0, 255).astype(np.uint8)
    about = f"{picture.about}, telephone {strength:.1f} over {reach:.1f} px"
    return replace(picture, jpeg=_jpeg(processed, 90), about=about)


def by_messenger(picture: Photographed) -> Photographed:
    """A messenger's copy: small, pressed hard, with nothing in it but the pixels."""
    whole = cv2.imdecode(np.asarray(picture.jpeg), cv2.IMREAD_COLOR)
    factor = MESSENGER_PX / max(whole.shape[:2])
    small = cv2.resize(whole, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    exact = np.array(small.shape[1::-1]) / np.array(whole.shape[1::-1])
    return replace(
        picture,
        jpeg=_jpeg(small, MESSENGER_QUALITY),
        view=_smaller(picture.view, exact),
        about=f"{picture.about}, messenger's copy",
    )


def _jpeg(pixels: np.ndarray, quality: int) -> np.ndarray:
    return cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, quality])[1]


def _smaller(view: MatView, factor: np.ndarray) -> MatView:
    """The view of the same picture with fewer pixels; the centre of the first pixel is the origin in both."""
    shift = (factor - 1) / 2
    scale = np.array([[factor[0], 0, shift[0]], [0, factor[1], shift[1]], [0, 0, 1.0]])
    lens = replace(view.lens, centre_px=view.lens.centre_px * factor + shift, scale_px=view.lens.scale_px * factor[0])
    return replace(
        view,
        to_straight=scale @ view.to_straight,
        lens=lens,
        size_px=tuple(np.rint(np.array(view.size_px) * factor).astype(int).tolist()),
        seen_px=view.seen_px * factor + shift,
    )
