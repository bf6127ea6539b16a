"""The part on paper, to lay on the part or over the old print: SVG and PDF with a bar to check the printer.

Read back from the DXF itself, so that what is laid on the part is what will be cut.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

import numpy as np
from ezdxf import path as dxf_path
from ezdxf.document import Drawing
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.filemanagement import readfile
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfgen.canvas import Canvas

from calibrate.sheet import apply_homography
from digitize.lettering.text import Unit
from digitize.redraw.dxf import INCHES, group_name, layer_name, per_mm
from digitize.redraw.report import PlacedView
from digitize.redraw.writing.layers import HIDDEN_SCALED, OPEN_END
from digitize.strokes.primitives import Point, Role

CHAINED = layer_name(Role.CENTRE)
LEFT_OUT = frozenset({OPEN_END, HIDDEN_SCALED, layer_name(Role.HIDDEN)})
SHAPES = frozenset({"LINE", "ARC", "CIRCLE", "LWPOLYLINE", "SPLINE", "ELLIPSE", "POLYLINE"})
"""Entities that are lines of the part; figures and dimensions would hide the print they are laid on."""
FLAT_MM = 0.01
"""A curve is drawn by chords that leave it by no more: far under a pen's width."""
MARGIN_MM = 12.0
BAR_MM = {Unit.MM: 100.0, Unit.INCH: 101.6}
"""Length of the checking bar: 100 mm, or 4 in."""
BAR_ROOM_MM = 25.0
"""For the bar and four lines of words above it."""
TEXT_MM, LINE_MM = 3.0, 4.2
WORDS_MM = 5.0
"""From the bar to the lowest line of words, clear of its ticks."""
PEN_MM = 0.25
CHAIN_MM = tuple(pens * PEN_MM for pens in (24.0, 3.0, 0.5, 3.0))
"""Dash, gap, dot and gap of a centre line (ISO 128-2 table 1, in pen widths)."""
FONT, WIDER = "Helvetica", 1.1
"""A viewer's own sans-serif letters may be a tenth wider than these."""
LARGEST_PAGE_MM = 5080.0
"""Readers of PDF stop at 200 inches a side."""
CAUTION = "Print at 100 %, without fitting to the page, and check the bar with a rule first."


@dataclass(frozen=True)
class Page:
    """Polylines on a page, in mm from its lower left corner, y up; ``chains`` are centre lines."""

    width_mm: float
    height_mm: float
    lines: tuple[tuple[Point, ...], ...]
    bar_mm: float
    caption: str
    chains: tuple[tuple[Point, ...], ...] = ()


@dataclass(frozen=True)
class _Drawn:
    """A line of the part in millimetres of part, with its layer."""

    layer: str
    points: tuple[Point, ...]


def true_size(dxf_file: Path, caption: str) -> Page | None:
    """Lay all of a DXF on a page as large as the part.

    Parameters
    ----------
    dxf_file : Path
    caption : str
        What the page is for, for the person who prints it.

    Returns
    -------
    Page or None
        None where nothing is drawn, or it would be larger than a page can be.
    """
    drawing = readfile(dxf_file)
    return _page(list(_lines(drawing, drawing.modelspace(), FLAT_MM)), _unit(drawing), caption)


def over_print(dxf_file: Path, views: Sequence[PlacedView], paper_mm_per_px: float, caption: str) -> Page | None:
    """Lay the views of a DXF on a page as the print shows them: each at its place and at its own scale.

    Paper does not shrink alike along and across, and views of one sheet are drawn at several scales: what covers the
    print is the part as the print's own pixels would show it, at the size that these have on paper.

    Parameters
    ----------
    dxf_file : Path
        Each view is its GROUP.
    views : sequence of PlacedView
    paper_mm_per_px : float
        Millimetres of paper, or of what the page is to be laid on, for one level pixel.
    caption : str

    Returns
    -------
    Page or None
        As of `true_size`; what the print does not show is left out.
    """
    drawing = readfile(dxf_file)
    laid: list[_Drawn] = []
    for view in views:
        group = drawing.groups.get(group_name(view.name)) or ()
        level_from_part = np.asarray(np.linalg.inv(view.frame.mm_from_level), dtype=np.float64)
        for each in _lines(drawing, group, FLAT_MM * view.frame.paper_mm):
            on_level = apply_homography(level_from_part, np.array(each.points))
            paper = on_level * [paper_mm_per_px, -paper_mm_per_px]
            laid.append(_Drawn(each.layer, tuple((float(x), float(y)) for x, y in paper)))
    return _page(laid, _unit(drawing), caption)


def _unit(drawing: Drawing) -> Unit:
    return Unit.INCH if drawing.header.get("$INSUNITS") == INCHES else Unit.MM


def _page(drawn: Sequence[_Drawn], unit: Unit, caption: str) -> Page | None:
    if not drawn:
        return None
    xs, ys = zip(*(point for each in drawn for point in each.points), strict=True)
    left, low = min(xs) - MARGIN_MM, min(ys) - MARGIN_MM - BAR_ROOM_MM
    width, height = max(xs) - left + MARGIN_MM, max(ys) - low + MARGIN_MM
    if max(width, height) > LARGEST_PAGE_MM:
        return None
    moved = [(each.layer, tuple((x - left, y - low) for x, y in each.points)) for each in drawn]
    chains = tuple(line for layer, line in moved if layer == CHAINED)
    lines = tuple(line for layer, line in moved if layer != CHAINED)
    return Page(max(width, BAR_MM[unit] + 2 * MARGIN_MM), height, lines, BAR_MM[unit], caption, chains)


def _lines(drawing: Drawing, entities: Iterable[DXFEntity], flat_mm: float) -> Iterator[_Drawn]:
    """All that is seen of the part; the rings that mark gaps are none of it."""
    file_per_mm = per_mm(_unit(drawing))
    for entity in entities:
        if isinstance(entity, DXFGraphic) and entity.dxftype() in SHAPES and entity.dxf.layer not in LEFT_OUT:
            curve = dxf_path.make_path(entity).flattening(flat_mm * file_per_mm)
            line = tuple((point.x / file_per_mm, point.y / file_per_mm) for point in curve)
            if line:  # what has no length has no points
                yield _Drawn(entity.dxf.layer, line)


def write_svg(path: Path, page: Page) -> None:
    """Write a page as SVG whose units are millimetres."""
    height = page.height_mm
    shapes = "\n".join(f'<polyline points="{_points(line, height)}"/>' for line in (*page.lines, *_bar(page)))
    dashes = " ".join(f"{each:g}" for each in CHAIN_MM)
    chains = "\n".join(f'<polyline points="{_points(line, height)}"/>' for line in page.chains)
    text = "".join(f'<text x="{MARGIN_MM}" y="{height - y:.4f}">{escape(words)}</text>' for y, words in _words(page))
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{page.width_mm:.4f}mm" height="{height:.4f}mm" '
        f'viewBox="0 0 {page.width_mm:.4f} {height:.4f}">\n'
        f'<g fill="none" stroke="#000" stroke-width="{PEN_MM}" stroke-linejoin="round">\n{shapes}\n'
        f'<g stroke-dasharray="{dashes}">\n{chains}\n</g>\n</g>\n'
        f'<g font-family="sans-serif" font-size="{TEXT_MM}">{text}</g>\n</svg>\n',
        encoding="utf-8",
    )


def _points(line: Sequence[Point], height: float) -> str:
    return " ".join(f"{x:.4f},{height - y:.4f}" for x, y in line)


def write_pdf(path: Path, page: Page) -> None:
    """Write a page as a PDF of exactly its size."""
    canvas = Canvas(str(path), (page.width_mm * mm, page.height_mm * mm), invariant=1)
    canvas.setTitle(page.caption)
    canvas.setLineWidth(PEN_MM * mm)
    canvas.setLineJoin(1)
    _draw(canvas, (*page.lines, *_bar(page)))
    canvas.setDash([each * mm for each in CHAIN_MM])
    _draw(canvas, page.chains)
    canvas.setFont(FONT, TEXT_MM * mm)
    for y, words in _words(page):
        canvas.drawString(MARGIN_MM * mm, y * mm, words)
    canvas.save()


def _draw(canvas: Canvas, lines: Sequence[Sequence[Point]]) -> None:
    for line in lines:
        drawn = canvas.beginPath()
        drawn.moveTo(line[0][0] * mm, line[0][1] * mm)
        for x, y in line[1:]:
            drawn.lineTo(x * mm, y * mm)
        canvas.drawPath(drawn)


def _words(page: Page) -> list[tuple[float, str]]:
    """The words above the bar, in lines no longer than the page is wide, and how high each stands on it in mm."""
    length = "4 in" if page.bar_mm == BAR_MM[Unit.INCH] else f"{page.bar_mm:g} mm"
    whole = f"{page.caption} The bar is {length} long. {CAUTION}"
    room = (page.width_mm - 2 * MARGIN_MM) * mm
    lines = simpleSplit(whole, FONT, TEXT_MM * mm * WIDER, room)
    return [(MARGIN_MM + WORDS_MM + LINE_MM * (len(lines) - n), each) for n, each in enumerate(lines, start=1)]


def _bar(page: Page) -> tuple[tuple[Point, ...], ...]:
    """The checking bar: its line and a tick at each quarter."""
    low, tick = MARGIN_MM, 3.0
    ends = (MARGIN_MM, low), (MARGIN_MM + page.bar_mm, low)
    ticks = tuple(
        ((MARGIN_MM + share * page.bar_mm, low), (MARGIN_MM + share * page.bar_mm, low + tick))
        for share in (0.0, 0.25, 0.5, 0.75, 1.0)
    )
    return ends, *ticks
