"""Linear and angular dimensions: extension lines, arrows inside or reversed, the figure in, above or beyond the line.

Glossary
--------
run
    A dimension line's two ends on the paper, where its arrows point.
setting
    A figure as lettered for one run, not yet placed.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samples.board import Board, FloatArray, View, footprint, xy
from samples.lettering import Laid
from samples.notation import Figure
from samples.truth import Point, Quad

EXTENSION_GAP_MM = 1.2  # ASME Y14.5: a visible gap; about 1.5 mm (1/16 in) in books
EXTENSION_OVERRUN_MM = 2.2  # about 3 mm (1/8 in) beyond the dimension line
TEXT_CLEARANCE = 0.45  # of a figure's height, between figure and line
SLIDES = (0.5, 0.78, 0.22, 0.95, 0.05)  # where along a broken line a figure may stand, in order of liking
BROKEN_LEAST_MM = 2.0  # of a broken dimension line, both sides of its figure together
TAIL_ARROWS = 2.2  # length of a line that carries a reversed arrow, to the arrow's
OVER_ARROWS_MM = 1.0  # more clearance of a figure above a run whose arrows are reversed
CROWDING_MARGIN_MM = 0.3
TEXT_OFF_ARC_MM = 0.8


@dataclass(frozen=True)
class Run:
    """From ``first`` to ``second``, level (``axis`` 0) or upright (1), in a view."""

    first: FloatArray
    second: FloatArray
    axis: int
    view: str

    @property
    def along(self) -> FloatArray:
        """Unit vector from the first end to the second."""
        return np.array([1.0, 0.0]) if self.axis == 0 else np.array([0.0, 1.0])

    @property
    def up(self) -> FloatArray:
        """Unit vector towards the side on which a figure stands above its line."""
        along = self.along
        return np.array([-along[1], along[0]])

    @property
    def heading_deg(self) -> float:
        """Direction from the first end to the second."""
        return 90.0 * self.axis

    @property
    def middle(self) -> FloatArray:
        """Half way."""
        return np.asarray((self.first + self.second) / 2, dtype=np.float64)

    @property
    def length_mm(self) -> float:
        """From end to end."""
        return float(self.second[self.axis] - self.first[self.axis])


@dataclass(frozen=True)
class Setting:
    """A figure's lettering; ``reach_mm`` is its size along the run, ``follows`` says that it is turned with it."""

    text: str
    laid: Laid
    follows: bool
    angle_deg: float
    pad_mm: float

    @property
    def reach_mm(self) -> float:
        """Size along the run."""
        return self.laid.size[0] if self.follows else self.laid.size[1]

    @property
    def above_mm(self) -> float:
        """From a line to the middle of a figure that stands above it."""
        return self.laid.size[1] / 2 + self.pad_mm


def linear(
    board: Board,
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
    first, second = a.copy(), b.copy()
    first[1 - k] = second[1 - k] = _across(board, view, axis, side, level, at)
    if extend:
        _extension(board, a, first, view.id)
        _extension(board, b, second, view.id)
    written, trap = board.figure_of(key, figure)
    quad = _with_figure(board, Run(first, second, k, view.id), written, slide, before)
    board.record(key, written, trap, quad, view.id, (xy(a), xy(b)), chain, shared)


def _across(board: Board, view: View, axis: str, side: str | None, level: int, at: float | None) -> float:
    """Where the line lies across its axis, in mm of paper."""
    if at is not None:
        return view.exact(0, at)[1] if axis == "x" else view.exact(at, 0)[0]
    out = board.style.first_level_mm + level * board.style.level_mm
    left, bottom, right, top = view.box
    return {"top": top + out, "bottom": bottom - out, "left": left - out, "right": right + out}[side or "top"]


def _extension(board: Board, feature: FloatArray, foot: FloatArray, view: str) -> None:
    reach = foot - feature
    distance = float(np.hypot(*reach))
    if distance < EXTENSION_GAP_MM + 0.5:
        return
    along = reach / distance
    start, end = feature + along * EXTENSION_GAP_MM, foot + along * EXTENSION_OVERRUN_MM
    board.stroke(xy(start), xy(end), "extension", view)


def _with_figure(board: Board, run: Run, figure: Figure, slide: float | None, before: bool) -> Quad:
    """Draw a dimension line with its arrows and letter its figure."""
    style = board.style
    follows = run.axis == 0 or style.aligned
    angle = run.heading_deg if style.aligned else 0.0
    setting = Setting(figure.text, board.lettered(figure.text), follows, angle, TEXT_CLEARANCE * style.text_mm)
    above = not style.broken and follows and "\n" not in figure.text
    needs = setting.reach_mm + 2 * setting.pad_mm + 2 * style.arrow_mm + (0.0 if above else BROKEN_LEAST_MM)
    if run.length_mm < needs:
        return _reversed(board, run, setting, before)
    board.head(xy(run.first), run.heading_deg + 180)
    board.head(xy(run.second), run.heading_deg)
    slack = (run.length_mm - needs) / 2
    up = run.up * (setting.above_mm if above else 0.0)
    spots = [run.middle + run.along * (2 * s - 1) * slack for s in (SLIDES if slide is None else (slide,))]
    crowds = [board.crowding(footprint(spot + up, setting.laid, angle), CROWDING_MARGIN_MM) for spot in spots]
    return _between(board, run, setting, spots[int(np.argmin(crowds))], above)


def _between(board: Board, run: Run, setting: Setting, centre: FloatArray, above: bool) -> Quad:
    """The line whole with its figure above it, or broken for it."""
    if above:
        board.stroke(xy(run.first), xy(run.second), "dimension", run.view)
        return _place(board, setting, centre + run.up * setting.above_mm)
    half = run.along * (setting.reach_mm / 2 + setting.pad_mm)
    board.stroke(xy(run.first), xy(centre - half), "dimension", run.view)
    board.stroke(xy(centre + half), xy(run.second), "dimension", run.view)
    return _place(board, setting, centre)


def _reversed(board: Board, run: Run, setting: Setting, before: bool) -> Quad:
    """Arrows from outside; the figure between them where it fits, else beyond the freer arrow."""
    tail = run.along * TAIL_ARROWS * board.style.arrow_mm
    board.head(xy(run.first), run.heading_deg)
    board.head(xy(run.second), run.heading_deg + 180)
    board.stroke(xy(run.first - tail), xy(run.first), "dimension", run.view)
    board.stroke(xy(run.second), xy(run.second + tail), "dimension", run.view)
    if run.length_mm >= setting.reach_mm + BROKEN_LEAST_MM:
        return _place(board, setting, run.middle)
    reach = run.along * (setting.reach_mm / 2 + setting.pad_mm)
    spots = [run.second + tail + reach, run.first - tail - reach]
    spots = spots[::-1] if before else spots
    if setting.follows:
        spots.append(run.middle + run.up * (setting.above_mm + OVER_ARROWS_MM))
    crowds = [board.crowding(footprint(spot, setting.laid, setting.angle_deg)) for spot in spots]
    return _place(board, setting, spots[int(np.argmin(crowds))])


def _place(board: Board, setting: Setting, centre: FloatArray) -> Quad:
    return board.place(setting.laid, setting.text, xy(centre), setting.angle_deg, "dimension")


def angular(
    board: Board,
    view: View,
    key: str,
    corner: Point,
    start_deg: float,
    sweep_deg: float,
    radii_mm: Sequence[float],
    figure: Figure,
    extend: bool = False,
) -> None:
    """Dimension an angle at a part point by an arc; ``extend`` gives the first leg an extension line.

    Of the radii offered the one whose figure is least crowded is taken; a figure that finds room between the arrows
    breaks the arc where the office breaks its lines, any other stands beyond it.
    """
    centre = np.array(view.paper(*corner))
    written, trap = board.figure_of(key, figure)
    laid = board.lettered(written.text)
    ways = [_bend(board, centre, start_deg, sweep_deg, radius, laid) for radius in radii_mm]
    crowds = [board.crowding(footprint(way.figure, laid, 0.0), CROWDING_MARGIN_MM) for way in ways]
    way = ways[int(np.argmin(crowds))]
    if extend:
        ray = np.array([np.cos(np.radians(start_deg)), np.sin(np.radians(start_deg))])
        reach = ray * (way.radius_mm + EXTENSION_OVERRUN_MM)
        board.stroke(xy(centre + ray * EXTENSION_GAP_MM), xy(centre + reach), "extension", view.id)
    for start, sweep in way.bows:
        board.bow(xy(centre), way.radius_mm, start, sweep, "dimension", view.id)
    for tip, direction in zip(way.tips, way.directions_deg, strict=True):
        board.head(xy(tip), direction)
    quad = board.place(laid, written.text, xy(way.figure), 0.0, "dimension")
    board.record(key, written, trap, quad, view.id, (xy(way.tips[0]), xy(way.tips[1])))


@dataclass(frozen=True)
class Bend:
    """One way to draw the dimension line of an angle: bows as start and sweep, heads, the middle of its figure."""

    radius_mm: float
    bows: tuple[tuple[float, float], ...]
    tips: FloatArray
    directions_deg: tuple[float, float]
    figure: FloatArray


def _bend(board: Board, centre: FloatArray, start: float, sweep: float, radius: float, laid: Laid) -> Bend:
    arrow, way = board.style.arrow_mm, float(np.sign(sweep))
    degrees = float(np.degrees(1.0 / radius))  # of a mm along the arc
    long, diagonal = abs(sweep) / degrees, float(np.hypot(*laid.size))
    inside = long >= 2 * arrow + BROKEN_LEAST_MM
    lean = way * arrow * degrees / 2 * (1 if inside else -1)  # a straight head lies along its chord of the arc
    turn = -90.0 * way if inside else 90.0 * way
    directions = start + lean + turn, start + sweep - lean - turn
    gap = diagonal + 2 * TEXT_CLEARANCE * board.style.text_mm
    breaks = board.style.broken and inside and long >= gap + 2 * arrow + BROKEN_LEAST_MM
    if breaks:
        half = (sweep - way * gap * degrees) / 2
        bows: tuple[tuple[float, float], ...] = (start, half), (start + sweep - half, half)
    elif inside:
        bows = ((start, sweep),)
    else:
        tail = way * TAIL_ARROWS * arrow * degrees
        bows = (start - tail, tail), (start, sweep), (start + sweep, tail)
    out = radius if breaks else radius + diagonal / 2 + TEXT_OFF_ARC_MM
    tips = centre + radius * _rays([start, start + sweep])
    return Bend(radius, bows, tips, directions, centre + out * _rays([start + sweep / 2])[0])


def _rays(degrees: Sequence[float]) -> FloatArray:
    turns = np.radians(degrees)
    return np.column_stack([np.cos(turns), np.sin(turns)])
