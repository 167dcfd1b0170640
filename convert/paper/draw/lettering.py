"""The one typeface: Atkinson Hyperlegible, whose 1, l and I and whose 0 and O can't be taken for each other.

Copyright 2020 Braille Institute of America, SIL Open Font License 1.1 (fonts/OFL.txt).
"""

import re
import unicodedata
from functools import cache
from pathlib import Path

FONT_FOLDER = Path(__file__).parents[1] / "fonts"
REGULAR = FONT_FOLDER / "AtkinsonHyperlegible-Regular.ttf"
BOLD = FONT_FOLDER / "AtkinsonHyperlegible-Bold.ttf"
FAMILY = "Atkinson Hyperlegible"
FALLBACKS = "Verdana, 'DejaVu Sans', sans-serif"
# Fractions and signs that the typeface lacks, written with the signs that it has.
_WRITTEN_OUT = {
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
    "″": '"',
    "′": "'",
    "\u2009": " ",
}


_NUMBER_AND_UNIT = re.compile(r"(\d) (cm|mm|in|%)(?!\w)")
_DAY_AND_MONTH = re.compile(r"\b(\d{1,2}) (?=[A-Z][a-z]+ \d{4})")


def kept_together(words: str) -> str:
    """The same words with spaces that don't break between a number and its unit, and a day and its month."""
    return _DAY_AND_MONTH.sub("\\1\u00a0", _NUMBER_AND_UNIT.sub("\\1\u00a0\\2", words))


@cache
def font_name(bold: bool = False) -> str:
    """The name under which the face is registered with reportlab, which embeds it."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    name = "AtkinsonHyperlegible-Bold" if bold else "AtkinsonHyperlegible"
    pdfmetrics.registerFont(TTFont(name, str(BOLD if bold else REGULAR)))
    return name


@cache
def _known_signs(bold: bool) -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics

    return frozenset(pdfmetrics.getFont(font_name(bold)).face.charToGlyph)


@cache
def writable(words: str, bold: bool = False) -> str:
    """The words in signs that the typeface has: accents it lacks are dropped, signs it lacks become a dot."""
    known = _known_signs(bold)
    out = []
    for before, sign in zip(" " + words, words, strict=False):
        if ord(sign) in known:
            out.append(sign)
        elif sign in _WRITTEN_OUT:
            out.append((" " if before.isdigit() and sign in "⅛⅜⅝⅞⅓⅔" else "") + _WRITTEN_OUT[sign])
        else:
            plain = "".join(part for part in unicodedata.normalize("NFKD", sign) if ord(part) in known)
            out.append(plain or "·")
    return "".join(out)


@cache
def width(words: str, size: float, bold: bool = False) -> float:
    """Width of one line of words, in the unit of ``size``."""
    from reportlab.pdfbase import pdfmetrics

    return float(pdfmetrics.stringWidth(writable(words, bold), font_name(bold), size))


def wrap(words: str, size: float, room: float, bold: bool = False) -> tuple[str, ...]:
    """The words broken between words into lines no wider than ``room`` (a single long word may stand out)."""
    lines: list[str] = []
    for word in kept_together(words).split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, size, bold) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)
