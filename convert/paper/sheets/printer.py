"""A printer that shrinks or stretches, and how its sheets are corrected."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.errors import WordsError
from calibration.ground.points import Points
from convert.paper.sheets.furniture import SQUARE_MM

SQUARE_LEAST_MM, SQUARE_MOST_MM = 90.0, 110.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """What the 100 mm square measured on this printer, across and up the sheet."""

    square_x: float = SQUARE_MM
    square_y: float = SQUARE_MM

    def __post_init__(self) -> None:
        for way, value in (("across", self.square_x), ("up", self.square_y)):
            if not SQUARE_LEAST_MM <= value <= SQUARE_MOST_MM:
                raise WordsError(
                    f"The 100 mm test square is said to measure {value:g} mm {way}.",
                    "Set the print window to 100 %, print the first sheet again and measure the square marked 100 mm: "
                    "from 90 to 110 mm can be corrected.",
                )

    @property
    def correction(self) -> Points:
        """Factors across and up by which everything is drawn larger."""
        return np.array([SQUARE_MM / self.square_x, SQUARE_MM / self.square_y])

    @property
    def corrects(self) -> bool:
        """Whether anything is corrected."""
        return bool((self.correction != 1.0).any())

    @property
    def words(self) -> str:
        """The correction as a sentence, empty where there is none."""
        if not self.corrects:
            return ""
        return (
            f"Corrected for a printer whose 100 mm square measured {self.square_x:g} mm across and "
            f"{self.square_y:g} mm up. On this print the squares must be right."
        )

    @property
    def short_words(self) -> str:
        """The correction in a few words, empty where there is none."""
        return f"Corrected for a square of {self.square_x:g} by {self.square_y:g} mm." if self.corrects else ""
