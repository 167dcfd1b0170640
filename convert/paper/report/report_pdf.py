"""The report as a PDF: the same content as the page, tagged, with title, language, bookmarks and embedded type.

Laid out with reportlab, which the sheets use already: it needs nothing outside Python, and gives the same bytes for the
same report. Our pictures are replayed as vectors.
"""

import io
from collections.abc import Sequence
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, KeepTogether, PageTemplate, Paragraph, Spacer, Table

from convert.paper.draw.lettering import font_name, kept_together, writable
from convert.paper.files.pdf import UNITS_PER_MM as MM
from convert.paper.files.svg_on_canvas import SvgPicture
from convert.paper.files.tagged import Role, Tagged, TaggedCanvas
from convert.paper.report.report_content import Figure, Photograph, ReportContent
from convert.paper.sheets.papers import Paper, paper_named

MARGIN, FOOT, GAP = 18.0 * MM, 10.0 * MM, 6.0 * MM
TYPE = 11.5
INK, QUIET, RULE = HexColor("#1c1a17"), HexColor("#4d473d"), HexColor("#8a8171")
WARN = HexColor("#fff1d0")


def write_report_pdf(content: ReportContent, *, paper: Paper | None = None) -> bytes:
    """The report on a paper that home printers take (A4 unless told otherwise; larger papers fall back to A4)."""
    page = paper_named("Letter") if paper is not None and paper.name in ("Letter", "Tabloid") else paper_named("A4")
    wide, high = page.width * MM, (page.height or 0.0) * MM
    stream = io.BytesIO()
    document = _Document(
        stream,
        pagesize=(wide, high),
        title=content.title,
        author=content.maker,
        subject="What was read, compared and changed",
        creator="ownblock",
        lang="en",
        invariant=1,
        pageCompression=1,
        displayDocTitle=True,
    )
    room = wide - 2 * MARGIN
    frame = Frame(MARGIN, MARGIN, room, high - 2 * MARGIN, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
    foot = f"{content.title}, {content.date}"
    document.addPageTemplates(
        PageTemplate(frames=[frame], onPage=lambda canvas, _: _running_foot(canvas, foot, wide), pagesize=(wide, high))
    )
    document.build(_story(content, room), canvasmaker=TaggedCanvas)
    return stream.getvalue()


class _Document(BaseDocTemplate):
    """Headings become bookmarks."""

    def afterFlowable(self, flowable: Flowable) -> None:
        """A bookmark for each heading, as deep as its rank."""
        if isinstance(flowable, Tagged) and flowable.element.role in ("H1", "H2", "H3"):
            level = int(flowable.element.role[1]) - 1
            text = flowable.element.text
            key = f"h{self.seq.nextf('heading')}"
            self.canv.bookmarkPage(key)
            self.canv.addOutlineEntry(text, key, level, closed=level > 0)


def _running_foot(canvas: TaggedCanvas, words: str, wide: float) -> None:
    canvas.begin_artifact()
    canvas.setFont(font_name(), 9)
    canvas.setFillColor(QUIET)
    canvas.drawString(MARGIN, FOOT, writable(words))
    canvas.drawRightString(wide - MARGIN, FOOT, str(canvas.getPageNumber()))
    canvas.end()


def _style(size: float, *, bold: bool = False, before: float = 0.0, after: float = 4.0, **more: Any) -> ParagraphStyle:
    return ParagraphStyle(
        "words",
        fontName=font_name(bold),
        fontSize=size,
        leading=1.45 * size if size < 15 else 1.2 * size,
        spaceBefore=before,
        spaceAfter=after,
        textColor=more.pop("textColor", INK),
        splitLongWords=0,
        allowWidows=0,
        allowOrphans=0,
        **more,
    )


def _words(text: str, role: Role, style: ParagraphStyle, lead: str = "") -> Tagged:
    """Words as one element; ``lead`` stands before them in bold."""
    strong = f'<font name="{font_name(True)}">{escape(writable(lead, True))}</font> ' if lead else ""
    return Tagged(Paragraph(strong + escape(writable(kept_together(text))), style), role, text=f"{lead} {text}".strip())


def _h2(text: str) -> Tagged:
    style = _style(17, bold=True, before=20, after=6, borderColor=RULE)
    return _words(text, "H2", style)


def _h3(text: str) -> Tagged:
    return _words(text, "H3", _style(12.5, bold=True, before=8, after=3))


def _p(text: str, lead: str = "", *, quiet: bool = False) -> Tagged:
    return _words(text, "P", _style(TYPE, textColor=QUIET if quiet else INK), lead)


def _check(text: str, lead: str) -> Tagged:
    return _words(text, "P", _style(TYPE, before=4, after=8, backColor=WARN, borderPadding=5), lead)


def _items(lines: Sequence[str]) -> list[Flowable]:
    style = _style(TYPE, after=3, leftIndent=12, bulletIndent=2)
    return [
        Tagged(Paragraph(escape(writable(kept_together(line))), style, bulletText="•"), "LI", text=line)
        for line in lines
    ]


class _Picture(Flowable):
    """A picture of ours or a photograph, as large as its room allows."""

    def __init__(self, room: float, tallest: float, *, svg: str = "", photograph: Photograph | None = None) -> None:
        super().__init__()
        self._drawing = SvgPicture(svg) if svg else None
        self._image = None if photograph is None else ImageReader(io.BytesIO(photograph.picture))
        wide, tall = self._drawing.size if self._drawing else self._image.getSize()  # type: ignore[union-attr]
        self._scale = min(room / wide, tallest / tall)
        self.width, self.height, self._room = wide * self._scale, tall * self._scale, room

    @property
    def words(self) -> str:
        """What the picture shows."""
        return self._drawing.title if self._drawing else ""

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Its room's width and its own height."""
        return self._room, self.height

    def draw(self) -> None:
        """Centred in its room."""
        left = (self._room - self.width) / 2
        if self._drawing is not None:
            self._drawing.draw(self.canv, left, 0.0, self._scale)
        else:
            self.canv.drawImage(self._image, left, 0.0, self.width, self.height)


def _figure(figure: Figure, room: float, tallest: float, heading: str = "") -> list[Flowable]:
    picture = _Picture(room, tallest, svg=figure.svg)
    parts: list[Flowable] = [_h3(heading)] if heading else []
    parts += [Tagged(picture, "Figure", alt=picture.words), Spacer(0, 3)]
    parts.append(_p(figure.sentence, "" if heading else f"{figure.title}."))
    return [*parts, *(_p(line, quiet=True) for line in figure.more)]


def _photograph(photograph: Photograph, room: float, tallest: float) -> list[Flowable]:
    picture = _Picture(room, tallest, photograph=photograph)
    alt = f"{photograph.title}: the photograph with what was read drawn over it"
    return [Tagged(picture, "Figure", alt=alt), Spacer(0, 3), _p(photograph.caption, f"{photograph.title}.")]


def _in_two(cells: Sequence[list[Flowable]], room: float) -> list[Flowable]:
    """Cells two to a row; a row stays on one page."""
    half = (room - GAP) / 2
    out: list[Flowable] = []
    for k in range(0, len(cells), 2):
        row = [cells[k], "", cells[k + 1] if k + 1 < len(cells) else ""]
        table = Table([row], colWidths=[half, GAP, half], spaceAfter=8)
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0),
                        ("RIGHTPADDING", (0, 0), (-1, -1), 0), ("TOPPADDING", (0, 0), (-1, -1), 0),
                        ("BOTTOMPADDING", (0, 0), (-1, -1), 4)])  # fmt: skip
        out.append(table)
    return out


def _section(heading: str, opening: str, cells: Sequence[list[Flowable]], room: float) -> list[Flowable]:
    """A heading and what opens it stay with the first row."""
    rows = _in_two(cells, room)
    start: list[Flowable] = [_h2(heading), *([_p(opening)] if opening else []), *rows[:1]]
    return [KeepTogether(start), *rows[1:]]


KEY = "Slanted lines: paper added. Crossed lines: paper taken away. Dashed outline: before. Full outline: after."


def _story(content: ReportContent, room: float) -> list[Flowable]:
    half = (room - GAP) / 2
    story: list[Flowable] = [
        _words(content.title, "H1", _style(24, bold=True, after=2)),
        _p(f"For {content.maker}, {content.date}"),
        _h2("What you get"),
        *(_p(sentence) for sentence in content.summary),
        *(_p(file.what, f"{file.name}:") for file in content.files),
        *(_check(doubt, "Please check:") for doubt in content.doubts),
    ]
    if content.photographs:
        cells = [_photograph(photograph, half, 95 * MM) for photograph in content.photographs]
        story += _section("The photographs, with what was read", "", cells, room)
    if content.allowances:
        story += _allowances(content)
    if content.overlays:
        cells = [_figure(figure, half, 90 * MM) for figure in content.overlays]
        story += _section("The pattern against your block", KEY, cells, room)
    if content.comparison:
        cells = [_figure(figure, half, 60 * MM, figure.title) for figure in content.comparison]
        story += _section("The comparison", content.comparison_key, cells, room)
    if content.moves:
        opening = f"This is what was done to the paper, in order. Each can be done by hand. {KEY}"
        cells = [_figure(one, half, 52 * MM, f"{n}. {one.title}") for n, one in enumerate(content.moves, 1)]
        story += _section("The moves, one by one", opening, cells, room)
    return [*story, *_closing(content)]


def _allowances(content: ReportContent) -> list[Flowable]:
    story: list[Flowable] = [
        _h2("Seam allowance, edge by edge"),
        _p("The allowance was taken off, so that the block ends on the seam line."),
    ]
    for piece in content.allowances:
        lines = [
            _p(f"{edge.width}: {edge.evidence}. {edge.why}".rstrip(), f"{edge.edge.capitalize()}:")
            for edge in piece.edges
        ]
        story.append(KeepTogether([_h3(piece.piece.capitalize()), *lines]))
    return story


def _closing(content: ReportContent) -> list[Flowable]:
    story: list[Flowable] = []
    if content.block_sentences:
        story += [_h2("What your block measures"), *_items(content.block_sentences)]
    if content.checks:
        sound = [check.sentence for check in content.checks if check.sound]
        all_of = "All" if len(sound) == len(content.checks) else "The other"
        story.append(_h2("Is the block sound?"))
        story += [_check(check.sentence, "Not sound.") for check in content.checks if not check.sound]
        story += [_p(f"{all_of} {len(sound)} checks hold."), *_items(sound)] if sound else []
    story += [_h2("Before you cut"), *_items(content.cautions)]
    if content.measure_next:
        opening = (
            "These were estimated from a size chart. Measure them when you can, one at a time, and write them on your "
            "card."
        )
        story += [_h2("What to measure next"), _p(opening), *_items(content.measure_next)]
    return [*story, _h2("How accurate it all is"), *_items(content.accuracy)]
