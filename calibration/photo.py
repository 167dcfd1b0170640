"""Reading a picture: upright pixels, and the resolution the file states, if any."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Photo:
    """An upright picture.

    Attributes
    ----------
    pixels : (height, width, 3) uint8
        Red, green, blue.
    dpi : (x, y) or None
        What the file says: a hint, never a scale.
    name : str
        Where it came from, for messages.
    """

    pixels: npt.NDArray[np.uint8]
    dpi: tuple[float, float] | None = None
    name: str = "picture"

    def __post_init__(self) -> None:
        if self.pixels.ndim != 3 or self.pixels.shape[2] != 3 or self.pixels.dtype != np.uint8:
            raise ValueError("pixels must be uint8 of shape (height, width, 3)")
        view = self.pixels.view()
        view.setflags(write=False)
        object.__setattr__(self, "pixels", view)

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height."""
        return self.pixels.shape[1], self.pixels.shape[0]
