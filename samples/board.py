"""The drawing board: views at a scale, pen lines, arrowheads and lettering, all in mm of paper.

Glossary
--------
board
    What is drawn so far on one sheet.
view
    A frame on the board: part coordinates (in the sheet's unit) to mm of paper, with the draughtsman's error. Each
    station (a coordinate along x or y) is set off once, so that lines which meet in the part meet on the paper.
level
    How far out a dimension line lies from the outline of its view: 0 is the nearest.
crowding
    How much of what is already drawn a new piece of lettering would hit.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from samples.lettering import Hand, Laid, lay_out
from samples.notation import Figure, Notation
from samples.truth import ArcMark, DimensionMark, HeadMark, LineMark, Point, Quad, TextMark, ViewMark

FloatArray = NDArray[np.float64]
Rng = np.random.Generator
Box = tuple[float, float, float, float]

PEN_TRUNCATION = 2.5  # no draughtsman leaves a line further out than this many standard deviations
ARC_SAMPLES = 24
HAND_SPREAD_DEG, HAND_SPREAD_STD_DEG, HAND_LENGTH_STD = (25.0, 45.0), 4.0, 0.12
"""Angle of hand-drawn barbs to their line, and by how much the two differ (seen in prints before 1930)."""
LETTER_PEN = 0.1  # pen width to cap height: ISO 3098 type B


@dataclass(frozen=True)
class Style:
    """A sheet's drafting habits; pens and heights in mm of paper.

    ``broken`` dimension lines are interrupted for the figure; otherwise it stands above the line. ``aligned`` figures
    follow their line; otherwise all stand upright. ``dashed`` dimension and extension lines are an old habit.
    ``arrow`` is a form of arrowhead, or "hand" for small open ones of quick strokes.
    ``pen_error_mm`` is the standard deviation of a drawn length.
    """

    notation: Notation
    hand: Hand
    text_mm: float = 3.2
    wide_mm: float = 0.6
    thin_mm: float = 0.25
    arrow: str = "filled"
    arrow_mm: float = 3.0
    broken: bool = True
    aligned: bool = True
    dashed: bool = False
    pen_error_mm: float = 0.0
    hatch_mm: float = 2.2

    @property
    def first_level_mm(self) -> float:
        """Distance of the nearest dimension line from its view."""
        return 3.0 * self.text_mm

    @property
    def level_mm(self) -> float:
        """Distance between neighbouring dimension lines."""
        return 2.9 * self.text_mm


@dataclass
class View:
    """A view's frame: part point (in the sheet's unit) to mm of paper."""

    id: str
    origin: Point
    mm_per_unit: float
    scale: float
    pen_std_mm: float
    rng: Rng
    box: Box
    not_to_scale: bool = False
    stretch: Point = (1.0, 1.0)
    stations: dict[tuple[str, float], float] = field(default_factory=dict)

    def slip(self, axis: str, coordinate: float) -> float:
        """The draughtsman's error at a station, in mm of paper."""
        key = (axis, round(coordinate, 4))
        if key not in self.stations:
            draw = float(np.clip(self.rng.normal(), -PEN_TRUNCATION, PEN_TRUNCATION))
            self.stations[key] = draw * self.pen_std_mm
        return self.stations[key]

    def length(self, units: float) -> float:
        """Length on paper, in mm, of a length in the part."""
        return units * self.mm_per_unit

    def exact(self, x: float, y: float) -> Point:
        """Where a part point belongs on the paper."""
        k = self.mm_per_unit
        return self.origin[0] + x * k * self.stretch[0], self.origin[1] + y * k * self.stretch[1]

    def paper(self, x: float, y: float) -> Point:
        """Where a part point was drawn."""
        px, py = self.exact(x, y)
        return px + self.slip("x", x), py + self.slip("y", y)


def xy(point: FloatArray) -> Point:
    """A point as plain numbers."""
    return float(point[0]), float(point[1])


def box_of(points: Iterable[Point] | FloatArray) -> Box:
    """Left, bottom, right, top of points."""
    xy = np.asarray(list(points), dtype=np.float64)
    low, high = xy.min(axis=0), xy.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def footprint(centre: FloatArray, laid: Laid, angle_deg: float) -> Box:
    """Box that lettering takes, level or upright, about its middle."""
    width, height = laid.size if angle_deg == 0 else laid.size[::-1]
    x, y = float(centre[0]), float(centre[1])
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2


def segments_hit(box: Box, segments: FloatArray) -> NDArray[np.bool_]:
    """Which segments (x0, y0, x1, y1) pass through a box (slab test)."""
    if len(segments) == 0:
        return np.zeros(0, dtype=bool)
    start, step = segments[:, :2], segments[:, 2:] - segments[:, :2]
    safe = np.where(np.abs(step) < 1e-12, 1e-12, step)
    t0, t1 = (np.array(box[:2]) - start) / safe, (np.array(box[2:]) - start) / safe
    enter = np.minimum(t0, t1).max(axis=1)
    leave = np.maximum(t0, t1).min(axis=1)
    return np.asarray((enter <= leave) & (leave >= 0) & (enter <= 1), dtype=np.bool_)


class Board:
    """A sheet under the pen. ``wrong`` maps a dimension's id to the figure lettered in its stead."""

    def __init__(self, style: Style, pen: Rng, letterer: Rng, wrong: dict[str, tuple[Figure, str]]) -> None:
        self.style, self.pen, self.letterer, self.wrong = style, pen, letterer, wrong
        self.views: dict[str, View] = {}
        self.lines: list[LineMark] = []
        self.arcs: list[ArcMark] = []
        self.heads: list[HeadMark] = []
        self.texts: list[TextMark] = []
        self.dimensions: list[DimensionMark] = []
        self.right: dict[str, Figure] = {}
        self._segments: list[tuple[float, float, float, float]] = []
        self.lettering_boxes: list[Box] = []
        self.hatching: list[tuple[str, FloatArray, float]] = []
        self.bounds: Box = (-1e9, -1e9, 1e9, 1e9)

    # -- frames -------------------------------------------------------------------------------------------------
    def view(self, name: str, origin: Point, unit_mm: float, scale: float, extent: Box, **more: object) -> View:
        """Open a view with part point (0, 0) at ``origin``; ``extent`` is its outline in part units."""
        std = self.style.pen_error_mm / np.sqrt(2)
        made = View(name, origin, unit_mm / scale, scale, std, self.pen, (0, 0, 0, 0), **more)  # type: ignore[arg-type]
        low, high = made.exact(extent[0], extent[1]), made.exact(extent[2], extent[3])
        made.box = (low[0], low[1], high[0], high[1])
        self.views[name] = made
        return made

    # -- pen ----------------------------------------------------------------------------------------------------
    def _width(self, role: str) -> float:
        wide = role in ("visible", "border", "cutting")
        middle = role in ("hidden",)
        if wide:
            return self.style.wide_mm
        return (self.style.wide_mm + self.style.thin_mm) / 2 if middle else self.style.thin_mm

    def _dash(self, role: str) -> str:
        if role in ("dimension", "extension") and self.style.dashed:
            return "dashed"
        return {"hidden": "dashed", "centre": "chain", "cutting": "chain", "phantom": "double_chain"}.get(role, "solid")

    def stroke(self, p: Point, q: Point, role: str, view: str | None = None, dash: str | None = None) -> None:
        """Draw a straight line between two points of the paper."""
        if np.hypot(q[0] - p[0], q[1] - p[1]) < 0.05:
            return
        a, b = (float(p[0]), float(p[1])), (float(q[0]), float(q[1]))
        self.lines.append(LineMark(a, b, role, dash or self._dash(role), self._width(role), view))
        self._segments.append((*a, *b))

    def line(self, view: View, p: Point, q: Point, role: str = "visible") -> None:
        """Draw a straight line between two part points."""
        self.stroke(view.paper(*p), view.paper(*q), role, view.id)

    def path(self, view: View, points: Iterable[Point], role: str = "visible", closed: bool = False) -> None:
        """Draw a polyline through part points."""
        at = list(points)
        for p, q in zip(at, [*at[1:], at[0]] if closed else at[1:], strict=False):
            self.line(view, p, q, role)

    def bow(self, centre: Point, radius: float, start: float, sweep: float, role: str, view: str | None) -> None:
        """Draw an arc given in mm of paper."""
        mark = ArcMark(
            (float(centre[0]), float(centre[1])),
            float(radius),
            float(start),
            float(sweep),
            role,
            self._dash(role),
            self._width(role),
            view,
        )
        self.arcs.append(mark)
        angles = np.radians(start + np.linspace(0, sweep, ARC_SAMPLES + 1))
        xy = np.array(centre) + radius * np.column_stack([np.cos(angles), np.sin(angles)])
        self._segments += [(*map(float, a), *map(float, b)) for a, b in pairwise(xy)]  # type: ignore[misc]

    def arc(self, view: View, c: Point, radius: float, start: float, sweep: float, role: str = "visible") -> None:
        """Draw an arc given in part units; its radius has its own error."""
        at = view.paper(*c)
        drawn = view.length(radius) + view.slip(f"r{c[0]:.4f},{c[1]:.4f}", radius) / np.sqrt(2)
        self.bow(at, drawn, start, sweep, role, view.id)

    def circle(self, view: View, c: Point, radius: float, role: str = "visible") -> None:
        """Draw a full circle."""
        self.arc(view, c, radius, 0.0, 360.0, role)

    def drawn_radius(self, view: View, c: Point, radius: float) -> float:
        """Radius on paper as drawn, in mm."""
        return float(view.length(radius) + view.slip(f"r{c[0]:.4f},{c[1]:.4f}", radius) / np.sqrt(2))

    def cross(self, view: View, c: Point, reach: float) -> None:
        """Centre lines through a point, ``reach`` mm of paper beyond it on each side."""
        x, y = view.paper(*c)
        self.stroke((x - reach, y), (x + reach, y), "centre", view.id)
        self.stroke((x, y - reach), (x, y + reach), "centre", view.id)

    def ray(self, view: View, c: Point, through: Point, start_mm: float, end_mm: float) -> None:
        """Centre line from one part point through another, between two distances from the first in mm of paper."""
        a, b = np.array(view.paper(*c)), np.array(view.paper(*through))
        along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
        self.stroke(tuple(a + along * start_mm), tuple(a + along * end_mm), "centre", view.id)

    def axis(self, view: View, p: Point, q: Point, overrun: float = 5.0) -> None:
        """Centre line between two part points, run out at both ends by mm of paper."""
        a, b = np.array(view.paper(*p)), np.array(view.paper(*q))
        along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
        self.stroke(tuple(a - along * overrun), tuple(b + along * overrun), "centre", view.id)

    def head(self, tip: Point, direction_deg: float, length_mm: float | None = None) -> None:
        """Put an arrowhead, as long as the sheet's others where nothing is said."""
        tip, length_mm = (float(tip[0]), float(tip[1])), length_mm or self.style.arrow_mm
        if self.style.arrow == "hand":
            self.heads.append(_by_hand(tip, float(direction_deg), length_mm))
        else:
            self.heads.append(HeadMark(tip, float(direction_deg), self.style.arrow, length_mm))

    # -- lettering ----------------------------------------------------------------------------------------------
    def lettered(self, text: str, height: float | None = None) -> Laid:
        """Letter a text, not yet placed."""
        return lay_out(text, height or self.style.text_mm, self.style.hand, self.letterer)

    def place(self, laid: Laid, text: str, centre: Point, angle_deg: float, what: str, height: float = 0) -> Quad:
        """Put lettering with the middle of its box at a point; returns its quad."""
        left, bottom, right, top = laid.box
        turn = np.radians(angle_deg)
        rotation = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        middle = np.array([(left + right) / 2, (bottom + top) / 2])

        def put(points: FloatArray) -> FloatArray:
            return np.asarray((points - middle) @ rotation + np.array(centre), dtype=np.float64)

        corners = put(np.array([[left, top], [right, top], [right, bottom], [left, bottom]]))
        quad: Quad = tuple((float(x), float(y)) for x, y in corners)  # type: ignore[assignment]
        pen = LETTER_PEN * (height or self.style.text_mm) * (1.15 if what == "dimension" else 1.0)
        self.texts.append(TextMark(text, what, quad, angle_deg, tuple(put(s) for s in laid.strokes), pen))
        self.lettering_boxes.append(box_of(quad))
        return quad

    def crowding(self, box: Box, margin: float = 0.8) -> float:
        """How much that is already drawn a box would hit: texts count ten, strokes one each, the sheet's edge fifty."""
        left, bottom, right, top = box[0] - margin, box[1] - margin, box[2] + margin, box[3] + margin
        texts = sum(not (b[2] < left or b[0] > right or b[3] < bottom or b[1] > top) for b in self.lettering_boxes)
        hits = segments_hit((left, bottom, right, top), np.array(self._segments).reshape(-1, 4))
        beyond = left < self.bounds[0] or bottom < self.bounds[1] or right > self.bounds[2] or top > self.bounds[3]
        return 10.0 * texts + float(hits.sum()) + (50.0 if beyond else 0.0)

    def crossing(self, p: Point, q: Point) -> float:
        """How many pieces of lettering a straight stroke would run through."""
        one = np.array([[*p, *q]])
        return float(sum(bool(segments_hit(b, one)[0]) for b in self.lettering_boxes))

    def write(self, text: str, left_base: Point, what: str, height: float | None = None) -> Quad:
        """Letter a level line of text from a point on its base line."""
        size = height or self.style.text_mm
        laid = self.lettered(text, size)
        middle = ((laid.box[0] + laid.box[2]) / 2 + left_base[0], (laid.box[1] + laid.box[3]) / 2 + left_base[1])
        return self.place(laid, text, middle, 0.0, what, size)

    # -- figures ------------------------------------------------------------------------------------------------
    def figure_of(self, key: str, figure: Figure) -> tuple[Figure, str | None]:
        """The figure to letter under a key: the right one, or a wrong one with the kind of trap."""
        self.right[key] = figure
        return self.wrong.get(key, (figure, None))

    def record(
        self,
        key: str,
        figure: Figure,
        trap: str | None,
        quad: Quad,
        view: str | None,
        ends: tuple[Point | None, Point | None] = (None, None),
        chain: str | None = None,
        shared: str | None = None,
    ) -> None:
        """Note the values of a figure just lettered."""
        several = len(figure.values) > 1
        for k, value in enumerate(figure.values):
            self.dimensions.append(DimensionMark(
                id=f"{key}.{k + 1}" if several else key,
                text=figure.text, kind=value.kind, value=None if value.value is None else float(value.value),
                unit=value.unit, upper=None if value.upper is None else float(value.upper),
                lower=None if value.lower is None else float(value.lower), style=value.style, quad=quad, view=view,
                first=ends[0] if k == 0 else None, second=ends[1] if k == 0 else None,
                callout=key if several else None, place=float(value.place), name=value.name, count=value.count,
                trap=trap if k == 0 else None, chain=chain, shared=shared,
            ))  # fmt: skip

    def title(self, view: View, text: str, below_mm: float) -> None:
        """Letter a view's title under it."""
        laid = self.lettered(text)
        x = (view.box[0] + view.box[2]) / 2
        self.place(laid, text, (x, view.box[1] - below_mm), 0.0, "note")

    # -- the result ---------------------------------------------------------------------------------------------
    def view_marks(self) -> tuple[ViewMark, ...]:
        """Views as drawn."""
        return tuple(ViewMark(v.id, v.scale, v.not_to_scale, v.box) for v in self.views.values())


def _by_hand(tip: Point, direction_deg: float, length_mm: float) -> HeadMark:
    """Draw an open arrowhead with two quick strokes, which differ a little in length and spread.

    They depend on nothing but the place of the tip, so that no random stream of the sheet is used.
    """
    rng = np.random.default_rng([round(abs(1000 * tip[0])), round(abs(1000 * tip[1])), round(direction_deg) % 360])
    spread = np.radians(rng.uniform(*HAND_SPREAD_DEG) + rng.normal(0.0, HAND_SPREAD_STD_DEG, 2) * (1, -1))
    reach = length_mm * rng.normal(1.0, HAND_LENGTH_STD, 2)
    turns = np.radians(direction_deg + 180) + spread * (-1, 1)
    left, right = np.array(tip) + reach[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
    return HeadMark(tip, direction_deg, "open", length_mm * float(np.cos(spread.mean())), (xy(left), xy(right)))
