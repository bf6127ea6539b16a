"""What is known of a sample sheet, and its truth file.

Paper frame: mm of paper, origin at the lower left corner of the sheet, x right, y up. Source frame: pixels of the
picture, (0, 0) the centre of the top-left pixel, x right, y down. ``skew_deg`` is how far the drawing stands turned
counter-clockwise as seen, after ``orientation_deg`` (the counter-clockwise quarter turns that make the picture
upright) has been applied.
"""

from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samples.bends import Bent, Camera, bend_of, matrix_of

FloatArray = NDArray[np.float64]
Point = tuple[float, float]
Quad = tuple[Point, Point, Point, Point]

COORDINATE_DIGITS = 5  # of mm of paper in the file: 0.01 um


@dataclass(frozen=True)
class LineMark:
    """A straight pen stroke in mm of paper."""

    p0: Point
    p1: Point
    role: str
    dash: str
    width_mm: float
    view: str | None


@dataclass(frozen=True)
class ArcMark:
    """A circular pen stroke in mm of paper, counter-clockwise from ``start_deg``."""

    centre: Point
    radius: float
    start_deg: float
    sweep_deg: float
    role: str
    dash: str
    width_mm: float
    view: str | None


@dataclass(frozen=True)
class HeadMark:
    """An arrowhead: its tip, the way it points, its form ("filled", "open", "tick", "dot") and length.

    ``barbs`` are the far ends of the two barbs where they were drawn by hand, each in its own way.
    """

    tip: Point
    direction_deg: float
    form: str
    length_mm: float
    barbs: tuple[Point, Point] | None = None


@dataclass(frozen=True)
class TextMark:
    """A piece of lettering: canonical text, its quad in reading order from the top left, its pen strokes."""

    text: str
    what: str
    quad: Quad
    angle_deg: float
    strokes: tuple[FloatArray, ...] = field(repr=False)
    width_mm: float = 0.25


@dataclass(frozen=True)
class DimensionMark:
    """One value of a figure, as written. ``first`` and ``second`` are the measured ends as drawn, in mm of paper."""

    id: str
    text: str
    kind: str
    value: float | None
    unit: str
    upper: float | None
    lower: float | None
    style: str
    quad: Quad
    view: str | None
    first: Point | None
    second: Point | None
    callout: str | None
    place: float = 1.0
    name: str | None = None
    count: int | None = None
    trap: str | None = None
    chain: str | None = None
    shared: str | None = None


@dataclass(frozen=True)
class ViewMark:
    """A view: part mm per mm of paper, and the box (left, bottom, right, top) of its outline on the paper."""

    id: str
    scale: float
    not_to_scale: bool
    box: tuple[float, float, float, float]


@dataclass(frozen=True)
class GearTruth:
    """The gear that the sheet describes; ``decidable`` says whether the sheet alone settles it."""

    teeth: int
    system: str
    module_mm: float
    diametral_pitch: float
    pressure_angle_deg: float
    decidable: bool


@dataclass(frozen=True)
class Drawing:
    """A finished drawing on its paper, before any scanner has seen it."""

    title: str
    family: str
    unit: str
    paper_mm: tuple[float, float]
    pen_error_mm: float
    views: tuple[ViewMark, ...]
    lines: tuple[LineMark, ...]
    arcs: tuple[ArcMark, ...]
    heads: tuple[HeadMark, ...]
    texts: tuple[TextMark, ...]
    dimensions: tuple[DimensionMark, ...]
    gear: GearTruth | None = None
    areas: tuple[tuple[str, float], ...] = ()
    outlines: tuple[tuple[str, float], ...] = ()
    trap: str | None = None
    scale_bar: Any = None  # samples.scale_bars.ScaleBar


@dataclass(frozen=True)
class Exposure:
    """How the paper got into the picture: geometry and metadata of the scan or photograph."""

    source_from_paper: Camera = field(repr=False)
    size_px: tuple[int, int]
    skew_deg: float
    orientation_deg: int
    polarity: str
    shrink_percent: tuple[float, float]
    dpi_true: float
    dpi_stated: float | None
    perspective: bool = False


def project(homography: Camera, points: FloatArray) -> FloatArray:
    """Map (x, y) rows by a homography, or by what a camera sees of a bent sheet."""
    if isinstance(homography, Bent):
        return project(homography.matrix, homography.bend.seen(points))
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    mapped = points @ homography[:, :2].T + homography[:, 2]
    return np.asarray(mapped[:, :2] / mapped[:, 2:3], dtype=np.float64)


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, COORDINATE_DIGITS)
    if isinstance(value, (list, tuple)):
        return [_rounded(v) for v in value]
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    return value


def _pixels(homography: Camera, points: Any) -> Any:
    if points is None:
        return None
    mapped = project(homography, np.array(points)).round(3).tolist()
    return mapped if len(mapped) > 1 else mapped[0]


def _dimension(mark: DimensionMark, homography: Camera) -> dict[str, Any]:
    row = asdict(mark)
    quad, first, second = row.pop("quad"), row.pop("first"), row.pop("second")
    value = row.pop("value")
    return {
        "value": value,
        **_rounded(row),
        "quad_px": _pixels(homography, quad),
        "first_px": _pixels(homography, first),
        "second_px": _pixels(homography, second),
    }


def truth_record(drawing: Drawing, exposure: Exposure, **header: Any) -> dict[str, Any]:
    """The truth file's content, ready for json; ``header`` holds name, seed, level, image."""
    to_source = exposure.source_from_paper
    strokes = [{"type": "line", **asdict(s)} for s in drawing.lines]
    strokes += [{"type": "arc", **asdict(s)} for s in drawing.arcs]
    texts = [
        {"text": t.text, "what": t.what, "quad_px": _pixels(to_source, t.quad), "angle_deg": t.angle_deg}
        for t in drawing.texts
    ]
    return {
        **header,
        "family": drawing.family,
        "title": drawing.title,
        "trap": drawing.trap,
        "unit": drawing.unit,
        "size_px": list(exposure.size_px),
        "paper_mm": _rounded(drawing.paper_mm),
        "source_from_paper": matrix_of(to_source).tolist(),
        **({} if (bend := bend_of(to_source)) is None else {"bend": asdict(bend)}),
        "skew_deg": exposure.skew_deg,
        "orientation_deg": exposure.orientation_deg,
        "polarity": exposure.polarity,
        "perspective": exposure.perspective,
        "shrink_percent": list(exposure.shrink_percent),
        "dpi_true": exposure.dpi_true,
        "dpi_stated": exposure.dpi_stated,
        "pen_error_mm": drawing.pen_error_mm,
        "views": [
            {"id": v.id, "scale": v.scale, "not_to_scale": v.not_to_scale, "box_paper_mm": _rounded(v.box)}
            for v in drawing.views
        ],
        "strokes": _rounded(strokes),
        "arrowheads": _rounded([{k: v for k, v in asdict(h).items() if v is not None} for h in drawing.heads]),
        "texts": _rounded(texts),
        "dimensions": [_dimension(d, to_source) for d in drawing.dimensions],
        "gear": asdict(drawing.gear) if drawing.gear else None,
        "profiles": [{"view": view, "area_mm2": area} for view, area in drawing.areas],
        "outlines": [{"view": view, "area_mm2": area} for view, area in drawing.outlines],
        **({} if drawing.scale_bar is None else {"scale_bar": _rounded(asdict(drawing.scale_bar))}),
    }
