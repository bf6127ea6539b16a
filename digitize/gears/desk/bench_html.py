"""The inspection sheet as one HTML file that prints on true paper and needs no network."""

from digitize.gears.desk.bench_board import PEN_MM, TEXT_MM, Drawing
from digitize.gears.desk.bench_sheet import FILLED_IN, BenchSheet
from digitize.pages import template

PAPERS_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN_MM = 12.0


def sheet_html(sheet: BenchSheet, paper: str) -> str:
    """The sheet as HTML for a paper, "A4" or "letter"."""
    width, height = PAPERS_MM[paper]
    return template("digitize.gears", "bench_sheet.html.j2").render(
        sheet=sheet,
        filled_in=FILLED_IN,
        drawings=[_Picture(drawing) for drawing in sheet.drawings],
        bar=_Picture(sheet.bar),
        text_mm=TEXT_MM,
        pen_mm=PEN_MM,
        paper=f"{width:g}mm {height:g}mm",
        margin_mm=MARGIN_MM,
        measure_mm=width - 2 * MARGIN_MM,
    )


class _Picture:
    """A drawing as the template wants it: y down, coordinates as text."""

    def __init__(self, drawing: Drawing) -> None:
        self.caption, self.width, self.height = drawing.caption, drawing.width_mm, drawing.height_mm
        self.strokes = [
            {
                "path": "M"
                + "L".join(f"{x:.3f} {drawing.height_mm - y:.3f}" for x, y in stroke.points)
                + ("Z" if stroke.closed else ""),
                "width": stroke.width_mm,
                "filled": stroke.filled,
                "dashed": stroke.dashed,
            }
            for stroke in drawing.strokes
        ]
        self.labels = [
            {"text": each.text, "x": each.x, "y": drawing.height_mm - each.y, "anchor": each.anchor, "bold": each.bold}
            for each in drawing.labels
        ]
