"""The drawing board: views at a scale, pen lines, dimension lines, leaders, lettering, all in mm of paper.

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

EXTENSION_GAP_MM = 1.2  # ASME Y14.5: a visible gap; about 1.5 mm (1/16 in) in books
EXTENSION_OVERRUN_MM = 2.2  # about 3 mm (1/8 in) beyond the dimension line
TEXT_CLEARANCE = 0.45  # of a figure's height, between figure and line
PEN_TRUNCATION = 2.5  # no draughtsman leaves a line further out than this many standard deviations
SHOULDER_MM = 4.0  # short level end of a leader
LEADER_STRETCHES = (1.0, 1.5, 2.1)
ARC_SAMPLES = 24
HATCH_CLEARANCE_MM = 0.8
HATCH_SHORTEST_MM = 0.8
SLIDES = (0.5, 0.78, 0.22, 0.95, 0.05)  # where along a broken line a figure may stand, in order of liking
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


def _xy(point: FloatArray) -> Point:
    return float(point[0]), float(point[1])


def _box_of(points: Iterable[Point] | FloatArray) -> Box:
    xy = np.asarray(list(points), dtype=np.float64)
    low, high = xy.min(axis=0), xy.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


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
        self._boxes: list[Box] = []
        self._hatching: list[tuple[str, FloatArray, float]] = []
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
        return (
            self.style.wide_mm
            if wide
            else (self.style.wide_mm + self.style.thin_mm) / 2
            if middle
            else (self.style.thin_mm)
        )

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

    def axis(self, view: View, p: Point, q: Point, overrun: float = 5.0) -> None:
        """Centre line between two part points, run out at both ends by mm of paper."""
        a, b = np.array(view.paper(*p)), np.array(view.paper(*q))
        along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
        self.stroke(tuple(a - along * overrun), tuple(b + along * overrun), "centre", view.id)

    def head(self, tip: Point, direction_deg: float) -> None:
        """Put an arrowhead."""
        tip = (float(tip[0]), float(tip[1]))
        if self.style.arrow == "hand":
            self.heads.append(_by_hand(tip, float(direction_deg), self.style.arrow_mm))
        else:
            self.heads.append(HeadMark(tip, float(direction_deg), self.style.arrow, self.style.arrow_mm))

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
        self._boxes.append(_box_of(quad))
        return quad

    def crowding(self, box: Box, margin: float = 0.8) -> float:
        """How much that is already drawn a box would hit: texts count ten, strokes one each, the sheet's edge fifty."""
        left, bottom, right, top = box[0] - margin, box[1] - margin, box[2] + margin, box[3] + margin
        texts = sum(not (b[2] < left or b[0] > right or b[3] < bottom or b[1] > top) for b in self._boxes)
        hits = segments_hit((left, bottom, right, top), np.array(self._segments).reshape(-1, 4))
        beyond = left < self.bounds[0] or bottom < self.bounds[1] or right > self.bounds[2] or top > self.bounds[3]
        return 10.0 * texts + float(hits.sum()) + (50.0 if beyond else 0.0)

    def crossing(self, p: Point, q: Point) -> float:
        """How many pieces of lettering a straight stroke would run through."""
        one = np.array([[*p, *q]])
        return float(sum(bool(segments_hit(b, one)[0]) for b in self._boxes))

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

    def linear(
        self,
        view: View,
        key: str,
        p: Point,
        q: Point,
        axis: str,
        figure: Figure,
        *,
        side: str | None = None,
        level: int = 0,
        at: float | None = None,
        extend: bool = True,
        slide: float | None = None,
        chain: str | None = None,
        shared: str | None = None,
        before: bool = False,
    ) -> None:
        """Dimension the distance of two part points along an axis ("x" or "y").

        The line lies ``level`` steps outside a ``side`` ("top", "bottom", "left", "right") of the view, or at the
        part coordinate ``at`` inside it. ``slide`` puts the figure along the line, 0.5 for its middle; by default
        it stands in the middle unless something is there. A figure that finds no room between the arrows goes beyond
        the second one, or, with ``before``, rather beyond the first.
        """
        k = 0 if axis == "x" else 1
        a, b = np.array(view.paper(*p)), np.array(view.paper(*q))
        if a[k] > b[k]:
            a, b = b, a
        across = self._dimension_line(view, axis, side, level, at)
        first, second = a.copy(), b.copy()
        first[1 - k] = second[1 - k] = across
        if extend:
            self._extension(a, first, view.id)
            self._extension(b, second, view.id)
        written, trap = self.figure_of(key, figure)
        quad = self._figure_on_line(written, first, second, k, view.id, slide, before)
        ends = ((float(a[0]), float(a[1])), (float(b[0]), float(b[1])))
        self.record(key, written, trap, quad, view.id, ends, chain, shared)

    def _dimension_line(self, view: View, axis: str, side: str | None, level: int, at: float | None) -> float:
        if at is not None:
            return view.exact(0, at)[1] if axis == "x" else view.exact(at, 0)[0]
        out = self.style.first_level_mm + level * self.style.level_mm
        left, bottom, right, top = view.box
        return {"top": top + out, "bottom": bottom - out, "left": left - out, "right": right + out}[side or "top"]

    def _extension(self, feature: FloatArray, foot: FloatArray, view: str) -> None:
        reach = foot - feature
        distance = float(np.hypot(*reach))
        if distance < EXTENSION_GAP_MM + 0.5:
            return
        along = reach / distance
        start, end = feature + along * EXTENSION_GAP_MM, foot + along * EXTENSION_OVERRUN_MM
        self.stroke(tuple(start), tuple(end), "extension", view)

    def _figure_on_line(
        self,
        figure: Figure,
        first: FloatArray,
        second: FloatArray,
        k: int,
        view: str,
        slide: float | None,
        before: bool = False,
    ) -> Quad:
        """Letter a figure on the dimension line from first to second (k = 0 level, 1 upright)."""
        laid = self.lettered(figure.text)
        angle = 90.0 if k == 1 and self.style.aligned else 0.0
        width, height = laid.size
        run = width if (k == 0 or self.style.aligned) else height
        pad = TEXT_CLEARANCE * self.style.text_mm
        room = float(second[k] - first[k])
        arrow = self.style.arrow_mm
        above = not self.style.broken and (k == 0 or self.style.aligned) and "\n" not in figure.text
        needs = run + 2 * pad + 2 * arrow + (0 if above else 2.0)
        along = np.array([1.0, 0.0]) if k == 0 else np.array([0.0, 1.0])
        if room >= needs:
            slack = (room - needs) / 2
            up = np.array([-along[1], along[0]]) * ((height / 2 + pad) if above else 0.0)
            spots = [
                (first + second) / 2 + along * (2 * s - 1) * slack for s in ((slide,) if slide is not None else SLIDES)
            ]
            crowds = [self.crowding(self._footprint(spot + up, laid, angle), 0.3) for spot in spots]
            centre = spots[int(np.argmin(crowds))]
            self._inside_arrows(first, second, along, k, view)
            return self._on_line(figure, laid, first, second, centre, run, height, along, angle, above, view)
        return self._reversed(figure, laid, first, second, along, run, height, angle, view, pad, before)

    def _inside_arrows(self, first: FloatArray, second: FloatArray, along: FloatArray, k: int, view: str) -> None:
        self.head(tuple(first), 180.0 if k == 0 else 270.0)
        self.head(tuple(second), 0.0 if k == 0 else 90.0)

    def _on_line(
        self,
        figure: Figure,
        laid: Laid,
        first: FloatArray,
        second: FloatArray,
        centre: FloatArray,
        run: float,
        height: float,
        along: FloatArray,
        angle: float,
        above: bool,
        view: str,
    ) -> Quad:
        pad = TEXT_CLEARANCE * self.style.text_mm
        if above:
            self.stroke(_xy(first), _xy(second), "dimension", view)
            up = np.array([-along[1], along[0]])
            return self.place(laid, figure.text, tuple(centre + up * (height / 2 + pad)), angle, "dimension")
        half = along * (run / 2 + pad)
        self.stroke(tuple(first), tuple(centre - half), "dimension", view)
        self.stroke(tuple(centre + half), tuple(second), "dimension", view)
        return self.place(laid, figure.text, tuple(centre), angle, "dimension")

    def _reversed(
        self,
        figure: Figure,
        laid: Laid,
        first: FloatArray,
        second: FloatArray,
        along: FloatArray,
        run: float,
        height: float,
        angle: float,
        view: str,
        pad: float,
        before: bool,
    ) -> Quad:
        """Arrows from outside; the figure between them where it fits, else beyond the freer arrow."""
        tail = along * 2.2 * self.style.arrow_mm
        k = int(along[1])
        self.head(tuple(first), 0.0 if k == 0 else 90.0)
        self.head(tuple(second), 180.0 if k == 0 else 270.0)
        self.stroke(tuple(first - tail), tuple(first), "dimension", view)
        self.stroke(tuple(second), tuple(second + tail), "dimension", view)
        if second[k] - first[k] >= run + 2.0:
            return self.place(laid, figure.text, tuple((first + second) / 2), angle, "dimension")
        reach = along * (run / 2 + pad)
        spots = [second + tail + reach, first - tail - reach]
        spots = spots[::-1] if before else spots
        up = np.array([-along[1], along[0]]) * (height / 2 + pad + 1.0)
        if k == 0 or self.style.aligned:
            spots.append((first + second) / 2 + up)
        best = min(range(len(spots)), key=lambda i: (self.crowding(self._footprint(spots[i], laid, angle)), i))
        return self.place(laid, figure.text, tuple(spots[best]), angle, "dimension")

    @staticmethod
    def _footprint(centre: FloatArray, laid: Laid, angle: float) -> Box:
        width, height = laid.size if angle == 0 else laid.size[::-1]
        x, y = float(centre[0]), float(centre[1])
        return x - width / 2, y - height / 2, x + width / 2, y + height / 2

    def leader(
        self,
        view: View,
        key: str,
        tip: Point,
        towards_deg: Iterable[float],
        figure: Figure,
        ends: tuple[Point | None, Point | None] = (None, None),
        reach: float = 14.0,
        shared: str | None = None,
        what: str = "dimension",
    ) -> None:
        """Call out a point of the paper by a leader; of the directions offered the least crowded is taken."""
        written, trap = self.figure_of(key, figure)
        laid = self.lettered(written.text)
        width = laid.size[0]
        best: tuple[float, Point, float, FloatArray] | None = None
        for order, (angle, stretch) in enumerate((a, s) for s in LEADER_STRETCHES for a in towards_deg):
            turn = np.radians(angle)
            elbow = np.array(tip) + reach * stretch * np.array([np.cos(turn), np.sin(turn)])
            way = 1.0 if np.cos(turn) >= 0 else -1.0
            centre = elbow + np.array([way * (SHOULDER_MM + 1.2 + width / 2), 0.0])
            crowd = self.crowding(self._footprint(centre, laid, 0.0)) + 8 * self.crossing(tip, tuple(elbow))
            score = crowd + 0.05 * order
            if best is None or score < best[0]:
                best = (score, (float(elbow[0]), float(elbow[1])), way, centre)
        assert best is not None
        _, elbow_at, way, centre = best
        direction = float(np.degrees(np.arctan2(tip[1] - elbow_at[1], tip[0] - elbow_at[0])))
        self.head(tip, direction)
        self.stroke(tip, elbow_at, "leader", view.id)
        self.stroke(elbow_at, (elbow_at[0] + way * SHOULDER_MM, elbow_at[1]), "leader", view.id)
        quad = self.place(laid, written.text, (float(centre[0]), float(centre[1])), 0.0, what)
        self.record(key, written, trap, quad, view.id, ends, None, shared)

    def angle(
        self, view: View, key: str, corner: Point, start_deg: float, sweep_deg: float, radius_mm: float, figure: Figure
    ) -> None:
        """Dimension an angle at a part point by an arc of ``radius_mm``; the first leg gets an extension line."""
        centre = np.array(view.paper(*corner))
        legs = np.radians([start_deg, start_deg + sweep_deg])
        rays = np.column_stack([np.cos(legs), np.sin(legs)])
        tips = centre + radius_mm * rays
        reach = rays[0] * (radius_mm + EXTENSION_OVERRUN_MM)
        self.stroke(_xy(centre + rays[0] * EXTENSION_GAP_MM), _xy(centre + reach), "extension", view.id)
        written, trap = self.figure_of(key, figure)
        laid = self.lettered(written.text)
        middle = np.radians(start_deg + sweep_deg / 2)
        out = np.array([np.cos(middle), np.sin(middle)])
        self.bow(_xy(centre), radius_mm, start_deg, sweep_deg, "dimension", view.id)
        self.head(_xy(tips[0]), start_deg - 90)
        self.head(_xy(tips[1]), start_deg + sweep_deg + 90)
        stand_off = radius_mm + np.hypot(*laid.size) / 2 + 0.8
        quad = self.place(laid, written.text, _xy(centre + out * stand_off), 0.0, "dimension")
        self.record(key, written, trap, quad, view.id, (_xy(tips[0]), _xy(tips[1])))

    def cut_mark(self, view: View, x: float, reach: float, letter: str) -> None:
        """Mark a cutting plane across a level part: a heavy dash and a letter above and below."""
        for sign in (1, -1):
            px, py = view.exact(x, sign * reach)
            foot, end = py + sign * 1.5, py + sign * 5.5
            self.stroke((px, foot), (px, end), "cutting", view.id, "solid")
            self.head((px + 3.0, end), 0.0)
            self.stroke((px, end), (px + 3.0, end), "cutting", view.id, "solid")
            laid = self.lettered(letter)
            self.place(laid, letter, (px - 2.5, end - sign * 0.5), 0.0, "note")

    def title(self, view: View, text: str, below_mm: float) -> None:
        """Letter a view's title under it."""
        laid = self.lettered(text)
        x = (view.box[0] + view.box[2]) / 2
        self.place(laid, text, (x, view.box[1] - below_mm), 0.0, "note")

    def rim_leader(
        self,
        view: View,
        key: str,
        c: Point,
        radius: float,
        towards_deg: Iterable[float],
        figure: Figure,
        reach: float = 14.0,
        shared: str | None = None,
    ) -> None:
        """Call out a circle or arc: the leader ends on its rim and points at its centre."""
        centre, drawn = np.array(view.paper(*c)), self.drawn_radius(view, c, radius)
        angles = list(towards_deg)
        turn = np.radians(angles[0])
        if len(angles) > 1:
            scores = [self._rim_crowding(centre, drawn, a, reach, figure) for a in angles]
            turn = np.radians(angles[int(np.argmin(scores))])
        out = np.array([np.cos(turn), np.sin(turn)])
        tip = centre + out * drawn
        kind = figure.values[0].kind if figure.values else "note"
        ends = (tuple(centre), tuple(tip)) if kind == "radius" else (tuple(centre - out * drawn), tuple(tip))
        self.leader(view, key, (float(tip[0]), float(tip[1])), [float(np.degrees(turn))], figure, ends, reach, shared)

    def rim_room(self, view: View, c: Point, radius: float, angle_deg: float, figure: Figure, reach: float) -> float:
        """How crowded the place of a rim leader's lettering would be, so that one of several circles can be chosen."""
        centre = np.array(view.paper(*c))
        return self._rim_crowding(centre, self.drawn_radius(view, c, radius), angle_deg, reach, figure)

    def _rim_crowding(self, centre: FloatArray, drawn: float, angle: float, reach: float, figure: Figure) -> float:
        turn = np.radians(angle)
        elbow = centre + (drawn + reach) * np.array([np.cos(turn), np.sin(turn)])
        width = 0.75 * self.style.text_mm * len(figure.text)
        way = 1.0 if np.cos(turn) >= 0 else -1.0
        x = elbow[0] + way * SHOULDER_MM
        box = (
            min(x, x + way * width),
            elbow[1] - self.style.text_mm,
            max(x, x + way * width),
            elbow[1] + self.style.text_mm,
        )
        return self.crowding(box)

    # -- hatching -----------------------------------------------------------------------------------------------
    def hatch(self, view: View, outline: Iterable[Point], slope_deg: float = 45.0) -> None:
        """Order the hatching of a closed outline of part points; `finish` draws it, round the lettering."""
        self._hatching.append((view.id, np.array([view.paper(*p) for p in outline]), slope_deg))

    def finish(self) -> None:
        """Draw the hatching that was ordered, leaving lettering free."""
        for view, ring, slope_deg in self._hatching:
            turn = np.radians(slope_deg)
            along, normal = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
            heights, spacing = ring @ normal, self.style.hatch_mm
            for level in np.arange(np.ceil(heights.min() / spacing) * spacing, heights.max(), spacing):
                for start, end in _chords(ring, normal, along, float(level)):
                    for s, e in self._around_lettering(normal * level, along, start, end):
                        self.stroke(_xy(normal * level + along * s), _xy(normal * level + along * e), "hatch", view)

    def _around_lettering(
        self, foot: FloatArray, along: FloatArray, start: float, end: float
    ) -> list[tuple[float, float]]:
        """Parts of a hatch line outside all lettering."""
        free = [(start, end)]
        for box in self._boxes:
            t0 = (np.array(box[:2]) - HATCH_CLEARANCE_MM - foot) / along
            t1 = (np.array(box[2:]) + HATCH_CLEARANCE_MM - foot) / along
            enter, leave = float(np.minimum(t0, t1).max()), float(np.maximum(t0, t1).min())
            if enter < leave:
                cut = [(s, min(e, enter)) for s, e in free] + [(max(s, leave), e) for s, e in free]
                free = [(s, e) for s, e in cut if e - s > HATCH_SHORTEST_MM]
        return free

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
    return HeadMark(tip, direction_deg, "open", length_mm * float(np.cos(spread.mean())), (_xy(left), _xy(right)))


def _chords(ring: FloatArray, normal: FloatArray, along: FloatArray, level: float) -> list[tuple[float, float]]:
    """Stretches of the line at a height along ``normal`` that lie inside a ring."""
    crossings = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        ha, hb = float(a @ normal) - level, float(b @ normal) - level
        if (ha > 0) != (hb > 0):
            crossings.append(float((a + (b - a) * ha / (ha - hb)) @ along))
    crossings.sort()
    pairs = zip(crossings[::2], crossings[1::2], strict=False)
    return [(s, e) for s, e in pairs if e - s > HATCH_SHORTEST_MM]
