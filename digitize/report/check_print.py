"""The check print: the marked sheet as a picture and as a page that opens from disk without a network."""

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from string import ascii_uppercase
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import GreyImage, LevelSheet, ResolutionStatus
from digitize.dimensions.linking.zones import COLUMNS, ROWS
from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.gears.identifying.finding import GearFinding
from digitize.pages import template
from digitize.redraw.report import PartReport
from digitize.report import marks
from digitize.report.cautions import CAUTIONS
from digitize.report.frame import main_scale
from digitize.report.paper import Paper
from digitize.report.picture import bounded, encode_jpeg, encode_png, level_quad, sixteen_greys
from digitize.report.place_marks import PlaceMark, counted_meanings
from digitize.report.residuals import ResidualMap, residual_map
from digitize.report.wording import (
    dimension_view,
    gear_view,
    headline,
    paper_lines,
    scale_lines,
)

PNG_PIXELS = 16e6  # an A3 sheet at 300 dpi keeps its own pixels
PAGE_PIXELS = 6e6  # the page's picture: enough to read figures, small enough to mail
JPEG_QUALITY = 80
_WEAK_CONFIDENCE = 0.97  # an agreed value under this is listed with what is to be checked
_SUBPIXEL_BITS = 4  # cv2 draws at 1/16 px
_LEAST_PEN_PX = 1.0
_FONT_PX = 21.0  # height of cv2's plain capitals at size 1
_ZONE_INK = (120, 120, 120)


@dataclass(frozen=True)
class Marked:
    """A row with its mark."""

    dimension: Dimension
    mark: marks.Mark


def marked(sheet: LevelSheet, dimensions: Sequence[Dimension]) -> tuple[Marked, ...]:
    """Make each row's mark, in level pixels."""
    own = (marks.mark(level_quad(sheet, each), each.state) for each in dimensions)
    return tuple(Marked(each, mark.within(sheet.grey.shape)) for each, mark in zip(dimensions, own, strict=True))


def write_png(path: Path, sheet: LevelSheet, rows: Sequence[Marked], places: Sequence[PlaceMark] = ()) -> None:
    """Write the level sheet in grey with the marks of the rows and of places, and the zones."""
    grey, factor = bounded(sheet.grey, PNG_PIXELS)
    grey = sixteen_greys(grey)
    picture = np.asarray(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR), dtype=np.uint8)
    for each in rows:
        _draw(picture, each.mark, factor)
    for place in places:
        _draw_place(picture, place, factor)
    _draw_zones(picture)
    path.write_bytes(encode_png(picture))


def _bgr(colour: str) -> tuple[int, int, int]:
    red, green, blue = bytes.fromhex(colour.removeprefix("#"))
    return blue, green, red


def _draw_place(picture: NDArray[np.uint8], place: PlaceMark, factor: float) -> None:
    ink, pen = _bgr(place.colour), max(1, round(place.pen_px * factor))
    paths = [np.round(path * factor * 2**_SUBPIXEL_BITS).astype(np.int32) for path in place.paths]
    cv2.polylines(picture, paths, False, ink, pen, cv2.LINE_AA, _SUBPIXEL_BITS)
    at = round(place.text_at[0] * factor), round(place.text_at[1] * factor)
    size = place.height_px * factor / _FONT_PX
    cv2.putText(picture, place.words, at, cv2.FONT_HERSHEY_SIMPLEX, size, ink, max(1, round(pen / 2)), cv2.LINE_AA)


def _draw(picture: NDArray[np.uint8], mark: marks.Mark, factor: float) -> None:
    """Draw a mark as ink on ink: the darker of the two stays, so that a figure is never hidden."""
    pen = max(_LEAST_PEN_PX, mark.width_px * factor)
    points = np.vstack(mark.paths) * factor
    reach = int(pen) + 2
    left, top = np.maximum(np.floor(points.min(axis=0)).astype(int) - reach, 0)
    right, bottom = np.ceil(points.max(axis=0)).astype(int) + reach
    window = picture[top:bottom, left:right]
    if window.size == 0:
        return
    layer = np.full_like(window, 255)
    for path in mark.paths:
        shifted = np.round((path * factor - (left, top)) * 2**_SUBPIXEL_BITS).astype(np.int32)
        cv2.polylines(layer, [shifted], False, _bgr(marks.COLOURS[mark.state]), round(pen), cv2.LINE_AA, _SUBPIXEL_BITS)
    np.minimum(window, layer, out=window)


def _draw_zones(picture: NDArray[np.uint8]) -> None:
    height, width = picture.shape[:2]
    size = max(width, height) / 3000
    thickness = max(1, round(2 * size))
    tick = round(30 * size)
    for name, x, y in _zone_labels(width, height, 22 * size):
        (wide, high), _ = cv2.getTextSize(name, cv2.FONT_HERSHEY_SIMPLEX, size, thickness)
        at = (round(x - wide / 2), round(y + high / 2))
        cv2.putText(picture, name, at, cv2.FONT_HERSHEY_SIMPLEX, size, _ZONE_INK, thickness, cv2.LINE_AA)
    for column in range(1, COLUMNS):
        x_px = round(width * column / COLUMNS)
        for y0, y1 in ((0, tick), (height - tick, height)):
            cv2.line(picture, (x_px, y0), (x_px, y1), _ZONE_INK, thickness)
    for row in range(1, ROWS):
        y_px = round(height * row / ROWS)
        for x0, x1 in ((0, tick), (width - tick, width)):
            cv2.line(picture, (x0, y_px), (x1, y_px), _ZONE_INK, thickness)


def _zone_labels(width: float, height: float, inset: float) -> list[tuple[str, float, float]]:
    """Name and place of each zone letter and number on all four edges of the sheet."""
    columns = [(str(i + 1), width * (i + 0.5) / COLUMNS) for i in range(COLUMNS)]
    rows = [(ascii_uppercase[i], height * (i + 0.5) / ROWS) for i in range(ROWS)]
    across = [(name, x, y) for name, x in columns for y in (inset, height - inset)]
    return across + [(name, x, y) for name, y in rows for x in (inset, width - inset)]


def _data_url(kind: str, content: bytes) -> str:
    return f"data:image/{kind};base64,{base64.b64encode(content).decode('ascii')}"


def _sheet_picture(grey: GreyImage) -> str:
    small, _factor = bounded(grey, PAGE_PIXELS)
    return _data_url("jpeg", encode_jpeg(small, JPEG_QUALITY))


def _svg_path(mark: marks.Mark) -> str:
    return " ".join("M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in path) for path in mark.paths)


def _svg_hit(mark: marks.Mark) -> dict[str, float]:
    """Rectangle round a mark, so that the figure itself can be pointed at."""
    points = np.vstack(mark.paths)
    (left, top), (right, bottom) = points.min(axis=0), points.max(axis=0)
    keys = ("x", "y", "width", "height")
    return {key: round(float(v), 1) for key, v in zip(keys, (left, top, right - left, bottom - top), strict=True)}


def to_check_first(dimensions: Sequence[Dimension], contradicting: Sequence[str] = ()) -> list[Dimension]:
    """The rows a person should look at, most doubtful first.

    Agreed rows are among them where ``contradicting`` names them, where the sheet disputes what a person confirmed, or
    where they are agreed by little.
    """
    against = {each.id for each in dimensions if each.contradicted or each.id in contradicting}
    doubtful = [
        each
        for each in dimensions
        if each.state is not State.AGREED or each.confidence < _WEAK_CONFIDENCE or each.id in against
    ]
    return sorted(
        doubtful,
        key=lambda each: (each.id not in against, marks.URGENCY.index(each.state), each.confidence),
    )


def write_html(
    path: Path,
    sheet: LevelSheet,
    reconciled: Reconciled,
    gear: GearFinding | None,
    part: PartReport,
    paper: Paper,
    rows: Sequence[Marked],
    pictures: Mapping[str, bytes],
    places: Sequence[PlaceMark],
) -> None:
    """Write the page."""
    urls = {name: _data_url("png", png) for name, png in pictures.items()}
    views: dict[str, dict[str, Any]] = {
        each.dimension.id: dimension_view(each.dimension, reconciled.unit, urls.get(each.dimension.id))
        | {"path": _svg_path(each.mark), "pen": round(each.mark.width_px, 2), "hit": _svg_hit(each.mark)}
        for each in rows
    }
    height, width = sheet.grey.shape
    page = template("digitize.report", "check_print.html.j2").render(
        name=sheet.path.stem,
        sheet=sheet,
        width=width,
        height=height,
        picture=_sheet_picture(sheet.grey),
        headline=headline(reconciled.dimensions),
        counts=[(state, sum(d.state is state for d in reconciled.dimensions)) for state in marks.URGENCY],
        meanings=marks.MEANINGS,
        colours=marks.COLOURS,
        legend={state: _legend(state) for state in marks.URGENCY},
        first=[views[each.id] for each in to_check_first(reconciled.dimensions, part.contradicting)],
        left_out=dict(part.left_out),
        contradicting=part.contradicting,
        dimensions=list(views.values()),
        zones=_zone_labels(width, height, 0.008 * max(width, height)),
        zone_size=0.011 * max(width, height),
        columns=COLUMNS,
        zone_rows=ROWS,
        lacking=[*(each.words for each in reconciled.lacking), *reconciled.excess],
        residuals=_residuals(sheet, reconciled),
        scale=scale_lines(main_scale(reconciled), reconciled.scales),
        paper=paper_lines(paper),
        resolution_known=sheet.resolution.status is not ResolutionStatus.UNKNOWN,
        title_block=sorted(reconciled.title_block.items()),
        warnings=[*sheet.warnings, *reconciled.warnings],
        gear=None if gear is None else gear_view(gear),
        part=part,
        places=places,
        place_meanings=counted_meanings(places),
        cautions=CAUTIONS,
    )
    path.write_text(page, encoding="utf-8")


def _residuals(sheet: LevelSheet, reconciled: Reconciled) -> ResidualMap:
    scale = main_scale(reconciled)
    return residual_map(sheet, reconciled.dimensions, scale.part_per_paper) if scale else ResidualMap((), 1)


def _legend(state: State) -> dict[str, Any]:
    """A small sample of a mark, round a figure 40 by 14 units."""
    sample = marks.mark(np.array([[12.0, 8.0], [52.0, 8.0], [52.0, 22.0], [12.0, 22.0]]), state)
    return {"path": _svg_path(sample), "pen": round(sample.width_px, 2)}
