"""What was read off one piece, drawn in layers over the flat picture it was read from."""

import base64
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet
from convert.paper.draw.svg import number, path_data
from convert.trace.tracing import Tracing

_MARGIN_MM = 15.0
_PICTURE_PX_PER_MM = 5.0
_JPEG_QUALITY = 80
_STYLES = {
    "cut line": "fill:none;stroke:#d4006a;stroke-width:0.6",
    "inferred cut line": "fill:none;stroke:#d4006a;stroke-width:1.4;stroke-dasharray:3 2",
    "told cut line": "fill:none;stroke:#00756b;stroke-width:1.2",
    "corners": "fill:#ffffff;stroke:#d4006a;stroke-width:0.5",
    "seam line": "fill:none;stroke:#004bb4;stroke-width:0.6;stroke-dasharray:4 1.5",
    "printed lines": "fill:none;stroke:#b35900;stroke-width:0.5;stroke-dasharray:1.2 0.8",
    "notches": "fill:none;stroke:#5b00a8;stroke-width:0.8",
    "holes": "fill:none;stroke:#006b3c;stroke-width:0.8",
    "meaning of the holes": "fill:#00492a;stroke:none;font-family:sans-serif;font-size:4px",
}


def tracing_svg(
    sheet: FlatSheet,
    tracing: Tracing,
    *,
    seam_line: Points | None = None,
    meanings: Sequence[tuple[Points, str]] = (),
    title: str,
) -> str:
    """An SVG in millimetres: the flat picture below, then one layer for each kind of thing that was read.

    Parameters
    ----------
    seam_line : (N, 2), optional
        A ring in the sheet's own frame.
    meanings
        What each hole means, with its place (2,) in the sheet's own frame.
    """
    low, high = tracing.outline.min(0) - _MARGIN_MM, tracing.outline.max(0) + _MARGIN_MM
    wide, tall = high - low
    layers = [_picture_layer(sheet, low, high)]
    layers += [
        _layer(name, _STYLES[name], parts)
        for name, parts in _parts(tracing, seam_line, meanings, np.array([low[0], high[1]])).items()
        if parts
    ]
    body = "\n".join(layers)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" '
        'xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        f'version="1.1" width="{number(wide)}mm" height="{number(tall)}mm" '
        f'viewBox="0 0 {number(wide)} {number(tall)}" xml:lang="en">\n<title>{escape(title)}</title>\n{body}\n</svg>\n'
    )


def _parts(
    tracing: Tracing, seam_line: Points | None, meanings: Sequence[tuple[Points, str]], corner: Points
) -> dict[str, list[str]]:
    """SVG elements by layer, in a frame whose origin is the top left ``corner``."""

    def down(points: Points) -> Points:
        return (points - corner) * [1.0, -1.0]

    outline = down(tracing.outline)
    told = np.zeros(len(outline), bool) if tracing.told is None else tracing.told
    return {
        "printed lines": [_path(down(line.points), closed=False, name=line.kind) for line in tracing.lines],
        "seam line": [] if seam_line is None else [_path(down(seam_line), closed=True, name="seam line")],
        "cut line": [_path(outline, closed=True, name="cut line")],
        "inferred cut line": [
            _path(outline[run], closed=False, name="inferred") for run in _runs(tracing.inferred & ~told)
        ],
        "told cut line": [_path(outline[run], closed=False, name="told") for run in _runs(told)],
        "corners": [_circle(point, 1.2) for point in outline[tracing.corners]],
        "notches": [_circle(down(mark.at[None])[0], 2.5) for mark in tracing.marks if mark.kind == "notch"],
        "holes": [
            _circle(down(mark.at[None])[0], max(mark.size_mm / 2, 1.0), name=_meaning(mark.at, meanings))
            for mark in tracing.marks
            if mark.kind != "notch"
        ],
        "meaning of the holes": [_text(down(at[None])[0] + [3.0, 1.0], said) for at, said in meanings],
    }


def _meaning(at: Points, meanings: Sequence[tuple[Points, str]]) -> str:
    """What the hole at a place means; nothing if that was not said."""
    return next((said for place, said in meanings if np.hypot(*(place - at)) < 0.5), "")


def _runs(flags: npt.NDArray[np.bool_]) -> list[npt.NDArray[np.int64]]:
    """Indices of each stretch of two points or more that is flagged."""
    on = np.flatnonzero(flags)
    parts = np.split(on, np.flatnonzero(np.diff(on) > 1) + 1) if len(on) else []
    return [part for part in parts if len(part) > 1]


def _layer(name: str, style: str, parts: Iterable[str]) -> str:
    return (
        f'<g inkscape:groupmode="layer" inkscape:label={quoteattr(name)} style="{style}">\n'
        f"<title>{escape(name)}</title>\n" + "\n".join(parts) + "\n</g>"
    )


def _path(points: Points, *, closed: bool, name: str) -> str:
    return f'<path d="{path_data(points, closed)}"><title>{escape(name)}</title></path>'


def _circle(at: Points, radius: float, *, name: str = "") -> str:
    circle = f'<circle cx="{number(float(at[0]))}" cy="{number(float(at[1]))}" r="{number(radius)}"'
    return f"{circle}><title>{escape(name)}</title></circle>" if name else f"{circle}/>"


def _text(at: Points, words: str) -> str:
    return f'<text x="{number(float(at[0]))}" y="{number(float(at[1]))}">{escape(words)}</text>'


def _picture_layer(sheet: FlatSheet, low: Points, high: Points) -> str:
    """The flat picture under the piece, at most five pixels to the millimetre."""
    left, top = np.floor(sheet.to_px(np.array([[low[0], high[1]]]))[0]).astype(int).clip(0)
    right, bottom = np.ceil(sheet.to_px(np.array([[high[0], low[1]]]))[0]).astype(int)
    part = sheet.pixels[top : bottom + 1, left : right + 1]
    share = min(1.0, _PICTURE_PX_PER_MM * sheet.mm_per_px)
    small = cv2.resize(part, None, fx=share, fy=share, interpolation=cv2.INTER_AREA) if share < 1 else part
    written, code = cv2.imencode(".jpg", small[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    if not written:
        raise ValueError("the flat picture could not be coded as JPEG")
    # a pixel's place is its centre: the picture's outer edge lies half a pixel further out
    corner = sheet.to_mm(np.array([[left - 0.5, top - 0.5]]))[0]
    wide, tall = part.shape[1] * sheet.mm_per_px, part.shape[0] * sheet.mm_per_px
    data = base64.b64encode(code.tobytes()).decode()
    return (
        '<g inkscape:groupmode="layer" inkscape:label="flat picture">\n<title>flat picture</title>\n'
        f'<image x="{number(corner[0] - low[0])}" y="{number(high[1] - corner[1])}" width="{number(wide)}" '
        f'height="{number(tall)}" preserveAspectRatio="none" xlink:href="data:image/jpeg;base64,{data}"/>\n</g>'
    )
