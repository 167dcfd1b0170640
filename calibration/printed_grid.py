"""Our own ruled sheet for those without a mat: a grid to print, and rules that show if the printer kept its scale."""

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from calibration.ground.errors import InputError
from calibration.ground.units import MM_PER_INCH

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Paper = Literal["A4", "A3", "A2", "A1", "A0", "Letter", "Tabloid"]

PITCH_MM = 10.0
HEAVY_EVERY = 5
LINE_MM, HEAVY_MM = 0.35, 0.8
RULE_MM = 100.0  # length of both rules: any ruler at home reaches it, and 1 % is a whole millimetre

# ISO 216:2007; ANSI/ASME Y14.1 (Letter is A, Tabloid is B)
PAPERS_MM: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
    "Letter": (8.5 * MM_PER_INCH, 11 * MM_PER_INCH),
    "Tabloid": (11 * MM_PER_INCH, 17 * MM_PER_INCH),
}
_RIM_MM = 12.0  # that no home printer needs for itself
_FOOT_MM = 34.0  # for the words and the level rule
_SIDE_MM = 22.0  # for the upright rule
_POINTS_PER_MM = 72.0 / MM_PER_INCH
_INK = (0.10, 0.22, 0.42)  # dark on white, and unlike the brown and grey of paper patterns


@dataclass(frozen=True, slots=True, kw_only=True)
class RuledSheet:
    """A page and the grid on it: millimetres, y up, from the page's lower left corner."""

    width_mm: float
    height_mm: float
    left_mm: float
    bottom_mm: float
    columns: int
    rows: int

    @property
    def right_mm(self) -> float:
        return self.left_mm + self.columns * PITCH_MM

    @property
    def top_mm(self) -> float:
        return self.bottom_mm + self.rows * PITCH_MM


def plan_sheet(paper: str) -> RuledSheet:
    """Where the grid lies on a page: as many whole centimetres as fit, in the middle.

    Raises
    ------
    InputError
        If the paper is not known.
    """
    known = {name.lower(): size for name, size in PAPERS_MM.items()}
    if paper.strip().lower() not in known:
        raise InputError(f"“{paper}” is not a paper known here.", f"Choose one of {', '.join(PAPERS_MM)}.")
    width, height = known[paper.strip().lower()]
    columns = int((width - 2 * _RIM_MM - _SIDE_MM + 1e-6) // PITCH_MM)
    rows = int((height - 2 * _RIM_MM - _FOOT_MM + 1e-6) // PITCH_MM)
    left = _RIM_MM + _SIDE_MM + (width - 2 * _RIM_MM - _SIDE_MM - columns * PITCH_MM) / 2
    bottom = _RIM_MM + _FOOT_MM + (height - 2 * _RIM_MM - _FOOT_MM - rows * PITCH_MM) / 2
    return RuledSheet(width_mm=width, height_mm=height, left_mm=left, bottom_mm=bottom, columns=columns, rows=rows)


def draw_sheet(paper: str = "A4") -> bytes:
    """A printable ruled sheet as a PDF: lines every centimetre, heavier every fifth.

    An arrow in the lower left corner of the grid shows which way is up. A level and an upright rule of 10 cm outside
    the grid are measured with a ruler after printing, for printers that shrink one way or both.

    Parameters
    ----------
    paper : str
        A4, A3, A2, A1, A0, Letter or Tabloid.

    Raises
    ------
    InputError
        If the paper is not known.

    Examples
    --------
    >>> draw_sheet("A4")[:4]
    b'%PDF'
    """
    from reportlab.pdfgen.canvas import Canvas

    plan = plan_sheet(paper)
    out = io.BytesIO()
    page = (plan.width_mm * _POINTS_PER_MM, plan.height_mm * _POINTS_PER_MM)
    canvas = Canvas(out, pagesize=page, invariant=1)
    canvas.setTitle(f"Ruled sheet, 1 cm, {paper}")
    canvas.setCreator("ownblock")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.scale(_POINTS_PER_MM, _POINTS_PER_MM)
    canvas.setStrokeColorRGB(*_INK)
    canvas.setFillColorRGB(*_INK)
    canvas.setLineCap(0)
    _draw_grid(canvas, plan)
    _draw_arrow(canvas, plan)
    _draw_rules(canvas, plan)
    _draw_words(canvas, plan)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw_grid(canvas: "Canvas", plan: RuledSheet) -> None:
    for k in range(plan.columns + 1):
        canvas.setLineWidth(LINE_MM if k % HEAVY_EVERY else HEAVY_MM)
        x = plan.left_mm + k * PITCH_MM
        canvas.line(x, plan.bottom_mm, x, plan.top_mm)
    for k in range(plan.rows + 1):
        canvas.setLineWidth(LINE_MM if k % HEAVY_EVERY else HEAVY_MM)
        y = plan.bottom_mm + k * PITCH_MM
        canvas.line(plan.left_mm, y, plan.right_mm, y)
    canvas.setFont("Helvetica", 3.2)
    for k in range(0, plan.columns + 1, HEAVY_EVERY):
        canvas.drawCentredString(plan.left_mm + k * PITCH_MM, plan.bottom_mm - 4.6, str(k))
    for k in range(0, plan.rows + 1, HEAVY_EVERY):
        canvas.drawString(plan.right_mm + 1.6, plan.bottom_mm + k * PITCH_MM - 1.1, str(k))


def _draw_arrow(canvas: "Canvas", plan: RuledSheet) -> None:
    """A solid arrow in the first cell of the grid: it tells this corner from the three others."""
    x, y = plan.left_mm + PITCH_MM / 2, plan.bottom_mm + PITCH_MM / 2
    path = canvas.beginPath()
    path.moveTo(x - 2.6, y - 2.4)
    path.lineTo(x + 2.6, y - 2.4)
    path.lineTo(x, y + 3.0)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_rules(canvas: "Canvas", plan: RuledSheet) -> None:
    """Two rules of 10 cm outside the grid, level and upright."""
    left, low = plan.left_mm, plan.bottom_mm - 15.0
    canvas.setLineWidth(LINE_MM)
    canvas.line(left, low, left + RULE_MM, low)
    side = plan.left_mm - 8.0
    canvas.line(side, plan.bottom_mm, side, plan.bottom_mm + RULE_MM)
    for k in range(11):
        tick = 4.0 if k % 5 == 0 else 2.4
        at = k * RULE_MM / 10
        canvas.line(left + at, low, left + at, low + tick)
        canvas.line(side, plan.bottom_mm + at, side - tick, plan.bottom_mm + at)
    canvas.setFont("Helvetica", 3.2)
    canvas.drawString(left + RULE_MM + 3.0, low, "this line is 10 cm long")
    canvas.saveState()
    canvas.translate(side + 3.6, plan.bottom_mm + 4.0)
    canvas.rotate(90)
    canvas.drawString(0, 0, "this line is 10 cm long")
    canvas.restoreState()


def _draw_words(canvas: "Canvas", plan: RuledSheet) -> None:
    y = plan.bottom_mm - 22.5
    canvas.setFont("Helvetica-Bold", 4.2)
    canvas.drawString(plan.left_mm, y, "ownblock sheet, 1 cm")
    canvas.setFont("Helvetica", 3.4)
    canvas.drawString(
        plan.left_mm, y - 5.0, "Print at 100 %, not “fit to page”. Then measure both 10 cm lines with a ruler."
    )
    canvas.drawString(
        plan.left_mm, y - 9.4, "If they are not 10 cm long, print again; or tell ownblock what they measure."
    )
