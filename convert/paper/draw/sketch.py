"""Small SVG parts for pictures that explain: lines, words, hatching, in mm, y down, in two sets of colours.

``ON_PAGE`` takes its colours from the page around it (CSS variables with fallbacks), so that it reads on light and
dark; ``ON_PAPER`` has its own, for a file that stands alone. Kinds are told apart by pattern, never by colour alone.
"""

from dataclasses import dataclass
from xml.sax.saxutils import escape

from calibration.ground.points import Points
from convert.paper.draw.lettering import FALLBACKS, FAMILY, wrap
from convert.paper.draw.svg import number, path_data

LEADING = 1.35  # line spacing: at least 1.2 for readers with dyslexia
_WIDER = 1.16  # where the typeface is not installed, the one that stands in for it is wider by this


@dataclass(frozen=True, slots=True, kw_only=True)
class Colours:
    """Ink of words and lines, the fainter ink of what stands behind, what is measured."""

    ink: str
    faint: str
    strong: str
    paper: str


ON_PAGE = Colours(
    ink="var(--ink,#1a1a1a)", faint="var(--faint,#6b6b6b)", strong="var(--body,#3a4a7a)", paper="var(--paper,none)"
)
ON_PAPER = Colours(ink="#1a1a1a", faint="#6b6b6b", strong="#2c3e70", paper="#ffffff")


def line(
    points: Points, colour: str, width: float, *, closed: bool = False, dashes: str = "", fill: str = "none"
) -> str:
    """A line through points (N, 2), mm, y down."""
    dash = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<path d="{path_data(points, closed)}" fill="{fill}" stroke="{colour}" stroke-width="{number(width)}"{dash} '
        'stroke-linejoin="round" stroke-linecap="round"/>'
    )


def words(x: float, y: float, text: str, size: float, colour: str, *, bold: bool = False, anchor: str = "start") -> str:
    """One line of words on the baseline ``y``."""
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-family="{FAMILY}, {FALLBACKS}" font-size="{number(size)}" '
        f'fill="{colour}" text-anchor="{anchor}"{weight}>{escape(text)}</text>'
    )


def paragraph(
    x: float, y: float, text: str, size: float, room: float, colour: str, *, bold: bool = False
) -> tuple[str, float]:
    """Words broken to ``room``, first baseline at ``y``; and the height they take."""
    lines = wrap(text, _WIDER * size, room, bold)
    parts = [words(x, y + i * LEADING * size, one, size, colour, bold=bold) for i, one in enumerate(lines)]
    return "".join(parts), len(lines) * LEADING * size


def hatching(key: str, colour: str, *, lean_deg: float = 45.0, apart: float = 1.6, width: float = 0.5) -> str:
    """A pattern to fill with: ``url(#key)``."""
    return (
        f'<pattern id="{key}" width="{apart}" height="{apart}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({number(lean_deg)})"><path d="M0 0V{apart}" stroke="{colour}" '
        f'stroke-width="{width}"/></pattern>'
    )


def inline(wide: float, tall: float, title: str, body: str) -> str:
    """A picture to stand in a page."""
    label = escape(title, {'"': "&quot;"})
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(wide)} {number(tall)}" role="img" '
        f'aria-label="{label}"><title>{escape(title)}</title>{body}</svg>'
    )


def alone(wide: float, tall: float, title: str, body: str) -> str:
    """A picture as a file, true to size in mm."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{number(wide)}mm" height="{number(tall)}mm" '
        f'viewBox="0 0 {number(wide)} {number(tall)}" xml:lang="en">\n<title>{escape(title)}</title>\n'
        f'<rect width="{number(wide)}" height="{number(tall)}" fill="{ON_PAPER.paper}"/>\n{body}\n</svg>\n'
    )
