"""The inspection sheet as a PDF on A4 or letter paper, its drawings at the scale they state."""

from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from digitize.gears.desk.bench_board import TEXT_MM, Drawing
from digitize.gears.desk.bench_html import MARGIN_MM, PAPERS_MM
from digitize.gears.desk.bench_sheet import FILLED_IN, BenchSheet, Block

FONT, BOLD = "Helvetica", "Helvetica-Bold"
FRAME_PADDING = 6
"""Points that the library keeps free inside each margin."""
COLUMN_SHARES = (0.24, 0.13, 0.22, 0.13, 0.28)
"""Of the sheet's width: size, nominal, usual, measured, how."""
DASHES_MM = (4, 1, 0.4, 1)
_TITLE = ParagraphStyle("title", fontName=BOLD, fontSize=15, leading=18)
_PLAIN = ParagraphStyle("plain", fontName=FONT, fontSize=9.5, leading=12)
_SMALL = ParagraphStyle("small", fontName=FONT, fontSize=8.5, leading=10.5)
_HEAD = ParagraphStyle("head", fontName=BOLD, fontSize=10.5, leading=13, spaceBefore=3 * mm, spaceAfter=1 * mm)
_BANNER = ParagraphStyle(
    "banner",
    fontName=BOLD,
    fontSize=9.5,
    leading=12,
    borderWidth=1,
    borderColor=colors.black,
    borderPadding=4,
    leftIndent=4,
    rightIndent=4,
)
_GRID = TableStyle(
    [
        ("GRID", (0, 0), (-1, -1), 0.5, colors.black),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
)
_BARE = TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)])


class _Picture(Flowable):
    """A drawing with its caption, in true millimetres."""

    def __init__(self, drawing: Drawing) -> None:
        super().__init__()
        self.drawing = drawing
        self.width, self.height = drawing.width_mm * mm, (drawing.height_mm + 4) * mm

    def draw(self) -> None:
        """Draw it, the caption under it."""
        canvas = self.canv
        canvas.setFont(FONT, 8)
        canvas.drawString(0, 1 * mm, self.drawing.caption)
        canvas.translate(0, 4 * mm)
        canvas.setLineJoin(1)
        for stroke in self.drawing.strokes:
            path = canvas.beginPath()
            (x, y), *rest = stroke.points
            path.moveTo(x * mm, y * mm)
            for x, y in rest:
                path.lineTo(x * mm, y * mm)
            if stroke.closed:
                path.close()
            canvas.setLineWidth(stroke.width_mm * mm)
            canvas.setDash([each * mm for each in DASHES_MM] if stroke.dashed else [])
            canvas.drawPath(path, stroke=1, fill=int(stroke.filled))
        canvas.setDash([])
        for label in self.drawing.labels:
            canvas.setFont(BOLD if label.bold else FONT, TEXT_MM * mm)
            place = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
            place[label.anchor](label.x * mm, label.y * mm, label.text)


def sheet_pdf(sheet: BenchSheet, paper: str) -> bytes:
    """The sheet as a PDF for a paper, "A4" or "letter"; the same sheet gives the same bytes."""
    width, height = PAPERS_MM[paper]
    buffer = BytesIO()
    document = SimpleDocTemplate(
        buffer,
        pagesize=(width * mm, height * mm),
        leftMargin=MARGIN_MM * mm,
        rightMargin=MARGIN_MM * mm,
        topMargin=MARGIN_MM * mm,
        bottomMargin=MARGIN_MM * mm,
        title=sheet.title,
        invariant=1,
    )
    document.build(_story(sheet, (width - 2 * MARGIN_MM) * mm - 2 * FRAME_PADDING))
    return buffer.getvalue()


def _story(sheet: BenchSheet, measure: float) -> list[Any]:
    story: list[Any] = [
        _said(sheet.title, _TITLE),
        _said(sheet.subtitle, _PLAIN),
        Spacer(0, 2.5 * mm),
        _said(sheet.banner, _BANNER),
        Spacer(0, 2.5 * mm),
        _said(" ".join(sheet.cautions), _SMALL),
        Spacer(0, 2 * mm),
        _blanks(measure),
        Spacer(0, 3 * mm),
        _pictures(sheet, measure),
    ]
    for block in sheet.blocks:
        story.append(KeepTogether([_said(block.title, _HEAD), _table(block, measure)]))
    story.append(_said("Notes", _HEAD))
    story += [_said(f"\N{BULLET} {each}", _SMALL) for each in sheet.notes]
    return [*story, Spacer(0, 2 * mm), _Picture(sheet.bar)]


def _said(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(text), style)


def _blanks(measure: float) -> Table:
    """A row to fill in: of which part, by whom, when."""
    cells = [_said(name, _SMALL) for name in FILLED_IN]
    return Table(
        [cells], colWidths=[measure / len(cells)] * len(cells), rowHeights=[8 * mm], style=_GRID, hAlign="LEFT"
    )


def _pictures(sheet: BenchSheet, measure: float) -> Table:
    """The gear on the left, the details one over the other on the right."""
    first, *rest = (_Picture(drawing) for drawing in sheet.drawings)
    side = max((one.width for one in rest), default=0.0)
    return Table([[first, rest]], colWidths=[measure - side, side], style=_BARE, hAlign="LEFT")


def _table(block: Block, measure: float) -> Table:
    head = [_said(name, _SMALL) for name in ("size", "nominal", "usual", "measured", "how")]
    rows = [
        [_said(text, _SMALL) for text in (line.name, line.nominal, line.usual, "", line.remark)] for line in block.lines
    ]
    return Table([head, *rows], colWidths=[share * measure for share in COLUMN_SHARES], style=_GRID, hAlign="LEFT")
