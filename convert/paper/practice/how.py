"""A figure as a small picture."""

from convert.paper.practice.figure import Figure, Look
from convert.paper.steps.pictures import INK, LOST, drawn_line, lettered, svg_picture

_MARGIN_MM, _CAPTION_MM = 12.0, 30.0
_LOOKS: dict[Look, tuple[str, float, str]] = {
    "outline": (INK, 1.9, ""),
    "dart": (INK, 1.2, ""),
    "cut": (LOST, 2.4, "9 4"),
    "stitch": (INK, 1.0, "5 4"),
    "fold": (INK, 2.6, "14 4 3 4"),
    "grain": (INK, 0.8, ""),
    "old": (INK, 0.8, "2 3"),
}


def svg_of(one: Figure, caption: str) -> str:
    """The figure as an SVG with a line of words above, cuts dashed in a colour of their own."""
    wide, tall = one.size + [2 * _MARGIN_MM, 2 * _MARGIN_MM + _CAPTION_MM]
    wide = max(float(wide), _CAPTION_MM * 0.36 * len(caption))
    body = lettered(_MARGIN_MM, 0.8 * _CAPTION_MM, caption, size=0.7 * _CAPTION_MM)
    for stroke in one.strokes:
        colour, thick, dashes = _LOOKS[stroke.look]
        points = stroke.points * [1.0, -1.0] + [_MARGIN_MM, tall - _MARGIN_MM]
        body += drawn_line(points, colour, thick, dashes=dashes)
    for word in one.words:
        x, y = word.at * [1.0, -1.0] + [_MARGIN_MM, tall - _MARGIN_MM]
        if word.ring:
            body += f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="none" stroke="{INK}" stroke-width="1.6"/>'
        body += lettered(x + 8.0, y - 8.0, word.words, size=20.0)
    return svg_picture(float(wide), float(tall), f"{one.name}. {caption}", body)
