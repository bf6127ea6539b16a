"""Invented prints, written by hand as the stages before redraw would hand them on: no scan behind them.

All are drawn on blank sheets at 10 pixels a millimetre of paper, at full or half size; `Print.wobble` moves each
stroke the way a pen does.
"""

import math
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np

from calibrate.sheet import FloatArray, GreyImage, LevelSheet, Polarity, Resolution, ResolutionStatus
from digitize.dimensions.scales.projection import view_extents
from digitize.dimensions.table import Dimension, Measured, Reconciled, State, ViewScale
from digitize.gears.cuts import standard_cuts
from digitize.gears.identifying.finding import Candidate, GearFinding
from digitize.lettering.text import Kind, Unit
from digitize.strokes.primitives import Arc, Arrowhead, Dash, Line, Role, Strokes, ToothRing, View

PX_PER_MM = 10.0
WIDTH_PX, HEIGHT_PX = 2970, 2100
Point = tuple[float, float]


@dataclass
class Print:
    """Collects strokes and rows; coordinates are mm of part, y up, origin at the sheet's lower-left corner."""

    part_per_paper: float = 1.0
    x_shrink: float = 1.0
    y_shrink: float = 1.0
    unit: Unit = Unit.MM
    wobble_mm: float = 0.0
    seed: int = 0
    lines: list[Line] = field(default_factory=list)
    arcs: list[Arc] = field(default_factory=list)
    arrowheads: list[Arrowhead] = field(default_factory=list)
    dimensions: list[Dimension] = field(default_factory=list)
    tooth_rings: list[ToothRing] = field(default_factory=list)
    view: str = "V1"

    def __post_init__(self) -> None:
        self.random = np.random.default_rng(self.seed)

    @property
    def x_mm_per_px(self) -> float:
        return self.part_per_paper / PX_PER_MM / self.x_shrink

    @property
    def y_mm_per_px(self) -> float:
        return self.part_per_paper / PX_PER_MM / self.y_shrink

    def px(self, point: Point) -> Point:
        return point[0] / self.x_mm_per_px - 0.5, HEIGHT_PX - 0.5 - point[1] / self.y_mm_per_px

    def _wobble_px(self) -> float:
        return float(self.random.normal(0.0, self.wobble_mm)) * PX_PER_MM if self.wobble_mm else 0.0

    def line(self, start: Point, end: Point, role: Role = Role.VISIBLE, dash: Dash = Dash.SOLID) -> int:
        (x0, y0), (x1, y1) = self.px(start), self.px(end)
        length = math.hypot(x1 - x0, y1 - y0)
        shift = self._wobble_px()
        dx, dy = -(y1 - y0) / length * shift, (x1 - x0) / length * shift
        self.lines.append(Line((x0 + dx, y0 + dy), (x1 + dx, y1 + dy), 4.0, dash=dash, role=role, view=self.view))
        return len(self.lines) - 1

    def path(self, *points: Point, closed: bool = False, role: Role = Role.VISIBLE) -> None:
        ends = [*points[1:], points[0]] if closed else points[1:]
        for start, end in zip(points, ends, strict=False):
            self.line(start, end, role)

    def arc(
        self, centre: Point, radius: float, start_deg: float = 0.0, sweep_deg: float = 360.0,
        role: Role = Role.VISIBLE, dash: Dash = Dash.SOLID,
    ) -> int:  # fmt: skip
        """A compass arc; as the stroke stage would, a circle is fitted to what shrinkage has made of it."""
        (x, y), shift = self.px(centre), self._wobble_px()
        radius_px = radius / self.part_per_paper * PX_PER_MM * (self.x_shrink + self.y_shrink) / 2
        place = (x + self._wobble_px(), y + self._wobble_px())
        self.arcs.append(Arc(place, radius_px + shift, start_deg, sweep_deg, 4.0, dash=dash, role=role, view=self.view))
        return len(self.arcs) - 1

    def row(
        self, text: str, value: Fraction | None, kind: Kind, at: Point, first: Point | None = None,
        second: Point | None = None, *, state: State = State.AGREED, unit: Unit | None = None,
        arcs: tuple[int, ...] = (), lines: tuple[int, ...] = (), measured: float | None = None, **more: object,
    ) -> None:  # fmt: skip
        """A row of the table with the geometry it measures, and its arrows."""
        x, y = self.px(at)
        half, tall = 14.0 * max(len(text), 2), 18.0
        quad = ((x - half, y - tall), (x + half, y - tall), (x + half, y + tall), (x - half, y + tall))
        geometry = None
        if first is not None and second is not None:
            a, b = self.px(first), self.px(second)
            size = math.dist(a, b)
            geometry = Measured(kind, a, b, size, 0.5, (x, y), arcs, lines)
            if kind is not Kind.RADIUS and not arcs:
                self._dimension_line(first, second)
        self.dimensions.append(
            Dimension(
                id=f"C4.{len(self.dimensions) + 1}", zone="C4", view=self.view, kind=kind, callout=None, text=text,
                value=value, unit=unit or self.unit, upper=None, lower=None,
                measured=float(value) + 0.01 if measured is None and value is not None else measured,
                measured_std=0.1, state=state, confidence=0.995 if state is State.AGREED else 0.6,
                quad_px=quad, alternatives=(), evidence=("reads " + text,) if text else ("lettering found",),
                geometry=geometry, **more,
            )
        )  # fmt: skip

    def _dimension_line(self, first: Point, second: Point) -> None:
        index = self.line(first, second, Role.DIMENSION)
        (x0, y0), (x1, y1) = self.px(first), self.px(second)
        angle = math.degrees(math.atan2(-(y1 - y0), x1 - x0))
        self.arrowheads.append(Arrowhead((x1, y1), angle, 30.0, line=index))
        self.arrowheads.append(Arrowhead((x0, y0), angle + 180, 30.0, line=index))

    def strokes(self) -> Strokes:
        return Strokes(
            tuple(self.lines), tuple(self.arcs), tuple(self.arrowheads),
            tuple(View(name, "view", self._box(name)) for name in self.views()), tuple(self.tooth_rings),
        )  # fmt: skip

    def views(self) -> list[str]:
        return sorted({each.view or "" for each in (*self.lines, *self.arcs)} | {"V1"})

    def _box(self, view: str) -> tuple[float, float, float, float]:
        """The whole sheet for a view by itself, else what the view's own visible strokes fill."""
        if len(self.views()) == 1:
            return 0.0, 0.0, WIDTH_PX, HEIGHT_PX
        sheet = View(view, "view", (0.0, 0.0, WIDTH_PX, HEIGHT_PX))
        return view_extents(Strokes(tuple(self.lines), tuple(self.arcs), (), (sheet,)))[view]

    def scale(self, view: str = "V1", **more: object) -> ViewScale:
        values = {"known": "11 dimensions agree on it"} | more
        values["part_per_paper"] = self.part_per_paper
        return ViewScale(view, self.x_mm_per_px, self.y_mm_per_px, 2e-5, 2e-5, 11, 0.12, **values)  # type: ignore[arg-type]

    def reconciled(self, **more: object) -> Reconciled:
        title_block = {"scale": "FULL SIZE" if self.part_per_paper == 1 else "HALF SIZE"}
        values = {"scales": tuple(map(self.scale, self.views())), "unit": self.unit, "title_block": title_block} | more
        return Reconciled(tuple(self.dimensions), **values)  # type: ignore[arg-type]


def blank_sheet(grey: GreyImage | None = None, level_from_working: FloatArray | None = None) -> LevelSheet:
    """A level sheet of 297 by 210 mm at 254 dpi."""
    picture = np.full((HEIGHT_PX, WIDTH_PX), 245, dtype=np.uint8) if grey is None else grey
    dpi = 25.4 * PX_PER_MM
    return LevelSheet(
        path=Path("mill-shaft.png"), sha256="ab" * 32, page=1, page_count=1, source_shape_px=(HEIGHT_PX, WIDTH_PX),
        polarity=Polarity.DARK_ON_LIGHT, resolution=Resolution(ResolutionStatus.STATED, dpi, dpi, "from the file"),
        working_grey=picture, working_ink=picture < 128, grey=picture, ink=picture < 128,
        working_from_source=np.eye(3),
        level_from_working=np.eye(3) if level_from_working is None else level_from_working,
        orientation_deg=0, skew_deg=0.0, skew_std_deg=0.002, rectified=False, paper_mm_per_px=1 / PX_PER_MM, pen_px=4.0,
    )  # fmt: skip


def drawn_sheet(print_: Print) -> LevelSheet:
    """The print's strokes and figures as a picture, for looking at."""
    picture = np.full((HEIGHT_PX, WIDTH_PX), 245, dtype=np.uint8)
    for line in print_.lines:
        ends = [tuple(round(v) for v in point) for point in (line.start, line.end)]
        cv2.line(picture, *ends, 40, 4 if line.role is Role.VISIBLE else 2, cv2.LINE_AA)
    for arc in print_.arcs:
        centre, r = tuple(round(v) for v in arc.centre), round(arc.radius_px)
        cv2.ellipse(picture, centre, (r, r), 0, -arc.start_deg - arc.sweep_deg, -arc.start_deg, 40, 4, cv2.LINE_AA)
    for row in print_.dimensions:
        (x, _), (_, y) = row.quad_px[0], row.quad_px[3]
        cv2.putText(picture, row.text or "3%8", (round(x), round(y) - 4), cv2.FONT_HERSHEY_PLAIN, 2.6, 40, 3)
    return blank_sheet(picture)


SHAFT_LENGTHS = (Fraction(40), Fraction(90), Fraction(30))
SHAFT_DIAMETERS = (Fraction(30), Fraction(50), Fraction(20))


def stepped_shaft(**more: object) -> Print:
    """Side view of a shaft with three steps, fully dimensioned: 40, 90, 30 long on 30, 50, 20 diameter."""
    print_ = Print(**more)  # type: ignore[arg-type]
    x, axis, xs = 60.0, 120.0, [60.0]
    upper: list[Point] = []
    for length, diameter in zip(SHAFT_LENGTHS, SHAFT_DIAMETERS, strict=True):
        half = float(diameter) / 2
        upper += [(x, axis + half), (x + float(length), axis + half)]
        x += float(length)
        xs.append(x)
    lower = [(px, 2 * axis - py) for px, py in reversed(upper)]
    print_.path(*upper, *lower, closed=True)
    for shoulder, half in ((xs[1], 15.0), (xs[2], 10.0)):
        print_.line((shoulder, axis - half), (shoulder, axis + half))
    print_.line((xs[0] - 8, axis), (xs[3] + 8, axis), Role.CENTRE, Dash.CHAIN)
    for first, second, length in zip(xs, xs[1:], SHAFT_LENGTHS, strict=False):
        print_.row(str(length), length, Kind.LINEAR, ((first + second) / 2, 80), (first, 80), (second, 80))
    for x_at, diameter in zip((45.0, 145.0, 235.0), SHAFT_DIAMETERS, strict=True):
        half = float(diameter) / 2
        ends = (x_at, axis - half), (x_at, axis + half)
        print_.row(f"Ø{diameter}", diameter, Kind.DIAMETER, (x_at, axis + 5), *ends)
    return print_


def flange(**more: object) -> Print:
    """A flange in inches at half size: 6 in outside, 2 in bore, six 1/2 in holes on a 4 1/2 in circle."""
    print_ = Print(part_per_paper=2.0, unit=Unit.INCH, **more)  # type: ignore[arg-type]
    inch, centre = 25.4, (300.0, 210.0)
    outside, bore = print_.arc(centre, 3 * inch), print_.arc(centre, 1 * inch)
    pitch = print_.arc(centre, 2.25 * inch, role=Role.CENTRE, dash=Dash.CHAIN)
    holes = []
    for k in range(6):
        angle = math.radians(60 * k + 30)
        at = centre[0] + 2.25 * inch * math.cos(angle), centre[1] + 2.25 * inch * math.sin(angle)
        holes.append(print_.arc(at, inch / 4))
    for text, value, arc in (('6"', 6, outside), ('2"', 2, bore), ('4 1/2" B.C.', Fraction(9, 2), pitch)):
        half = float(value) * inch / 2
        ends = (centre[0] - half, centre[1]), (centre[0] + half, centre[1])
        print_.row(text, Fraction(value), Kind.DIAMETER, (480.0, 100.0 + 30 * arc), *ends, arcs=(arc,))
    hole = print_.arcs[holes[0]]
    centre_px = hole.centre
    print_.row('6 HOLES 1/2" DRILL', Fraction(1, 2), Kind.DIAMETER, (480.0, 330.0),
               _mm(print_, centre_px, -hole.radius_px), _mm(print_, centre_px, hole.radius_px),
               arcs=(holes[0],))  # fmt: skip
    return print_


def _mm(print_: Print, centre_px: Point, dx_px: float) -> Point:
    x, y = centre_px[0] + dx_px, centre_px[1]
    return (x + 0.5) * print_.x_mm_per_px, (HEIGHT_PX - 0.5 - y) * print_.y_mm_per_px


GEAR_TEETH = 42
BORE_IN, KEY_WIDTH_IN, OVER_KEY_IN = Fraction(1), Fraction(1, 4), Fraction(9, 8)


def agreed_gear(state: State = State.AGREED) -> GearFinding:
    """42 teeth, 10 diametral pitch, 14 1/2 degree full depth."""
    cut = next(each for each in standard_cuts() if each.system.id == "asa_145_full" and each.pitch.value == 10)
    best = Candidate(
        cut.system.id, cut.title, GEAR_TEETH, cut.module_mm, 10.0, 14.5, cut.outside_diameter_mm(GEAR_TEETH), 0.995,
        ("the outside diameter fits",),
    )  # fmt: skip
    return GearFinding("spur", GEAR_TEETH, state, (best,), ("42 teeth in the data block",), ())


def spur_gear(**more: object) -> Print:
    """Face of a gear drawn by its circles, full size, with a 1 in bore and a 1/4 in keyseat."""
    print_ = Print(unit=Unit.INCH, **more)  # type: ignore[arg-type]
    inch, (x, y) = 25.4, (120.0, 110.0)
    print_.arc((x, y), 2.2 * inch)
    print_.arc((x, y), 2.1 * inch, role=Role.CENTRE, dash=Dash.CHAIN)
    print_.arc((x, y), (2.1 - 0.1157) * inch, role=Role.HIDDEN, dash=Dash.DASHED)
    bore, half, over = (float(v) * inch for v in (BORE_IN / 2, KEY_WIDTH_IN / 2, OVER_KEY_IN - BORE_IN / 2))
    open_deg = math.degrees(math.asin(half / bore))
    arc = print_.arc((x, y), bore, 90 + open_deg, 360 - 2 * open_deg)
    side = math.sqrt(bore**2 - half**2)
    print_.path((x - half, y + side), (x - half, y + over), (x + half, y + over), (x + half, y + side))
    for start, end in (((x - 65, y), (x + 65, y)), ((x, y - 65), (x, y + 65))):
        print_.line(start, end, Role.CENTRE, Dash.CHAIN)
    print_.row('1" BORE', BORE_IN, Kind.DIAMETER, (210.0, 150.0), (x - bore, y), (x + bore, y), arcs=(arc,))
    print_.row("1/4", KEY_WIDTH_IN, Kind.LINEAR, (x, 180.0), (x - half, 180.0), (x + half, 180.0))
    print_.row("1 1/8", OVER_KEY_IN, Kind.LINEAR, (40.0, y), (40.0, y - bore), (40.0, y + over))
    return print_


def toothed_gear(**more: object) -> Print:
    """The same gear with every tooth drawn, by its two flanks, crown and root, in place of the outside circle."""
    print_ = spur_gear(**more)
    centre, tip, root, pitch_deg = (120.0, 110.0), 2.2 * 25.4, (2.1 - 0.1157) * 25.4, 360.0 / GEAR_TEETH
    crown = [print_.arc(centre, tip, k * pitch_deg - pitch_deg / 8, pitch_deg / 4) for k in range(GEAR_TEETH)]
    print_.arcs[0] = print_.arcs[crown[-1]]  # the rows know the bore by its number
    print_.arcs.pop()

    def at(radius: float, pitches: float) -> Point:
        angle = math.radians(pitches * pitch_deg)
        return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)

    for k in range(GEAR_TEETH):
        print_.path(at(tip, k + 1 / 8), at(root, k + 3 / 8), at(root, k + 5 / 8), at(tip, k + 7 / 8))
    per_mm = PX_PER_MM / print_.part_per_paper
    print_.tooth_rings.append(ToothRing(print_.px(centre), GEAR_TEETH, tip * per_mm, root * per_mm, "V1"))
    return print_


def bushing(diameters: bool = True, **more: object) -> Print:
    """Face (V1) and section (V2) of a bushing: 60 over a flange 12 thick, body 44 and 50 long in all, bore 30.

    The diameters stand on the face alone, the lengths on the section alone.
    """
    print_ = Print(**more)  # type: ignore[arg-type]
    (x, y), left = (70.0, 110.0), 140.0
    circles = [print_.arc((x, y), radius) for radius in (30.0, 22.0, 15.0)]
    print_.line((x - 35, y), (x + 35, y), Role.CENTRE, Dash.CHAIN)
    print_.line((x, y - 35), (x, y + 35), Role.CENTRE, Dash.CHAIN)
    for number, (value, arc) in enumerate(zip((60, 44, 30), circles, strict=True)):
        if diameters:
            ends = (x - value / 2, y), (x + value / 2, y)
            at = 20.0, 40.0 + 12 * number
            print_.row(f"Ø{value}", Fraction(value), Kind.DIAMETER, at, *ends, arcs=(arc,))
    print_.view = "V2"
    right, step = left + 50, left + 12
    upper = [(left, y + 30), (step, y + 30), (step, y + 22), (right, y + 22)]
    print_.path(*upper, *((px, 2 * y - py) for px, py in reversed(upper)), closed=True)
    for side in (-1, 1):
        print_.line((left, y + 15 * side), (right, y + 15 * side))
        for k in range(5):
            foot = left + 3 + 9 * k, y + side * 18.5
            print_.line((foot[0] - 1.5, foot[1] - 1.5), (foot[0] + 1.5, foot[1] + 1.5), Role.HATCH)
    print_.line((left - 5, y), (right + 5, y), Role.CENTRE, Dash.CHAIN)
    print_.row("50", Fraction(50), Kind.LINEAR, ((left + right) / 2, 65), (left, 65), (right, 65))
    print_.row("12", Fraction(12), Kind.LINEAR, ((left + step) / 2, 152), (left, 152), (step, 152))
    return print_
