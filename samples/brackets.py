"""Brackets: a plate with a cut corner, a rounded one, holes from base lines, and its edge view."""

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from samples.board import Board, View
from samples.dimensioning import angular, linear
from samples.leaders import rim_leader
from samples.notation import Figure, Notation, angle, joined, length
from samples.parts import PartPlan, Rng, ViewPlan, any_angle, drills, nearest, pick, stepped

Xy = tuple[float, float]

TWICE_SHARE = 0.4
"""Share of brackets whose height is given in both views."""
LEAST_ARC_MM = 14.0


@dataclass(frozen=True)
class Bracket:
    """A plate ``width`` by ``height``: upper right corner cut at ``cut_deg`` from ``cut`` before the corner, upper
    left rounded by ``radius``; holes are (x, y, diameter), the larger one first. ``twice`` repeats the height.

    ``lower_cut``, of the lower right corner, is its height and its angle to the right edge. ``turned`` are more of the
    small holes: their distance from the large one, and the angles from the level to the first and on to the next.
    """

    width: Fraction
    height: Fraction
    thickness: Fraction
    cut: Fraction
    cut_deg: Fraction
    radius: Fraction
    holes: tuple[tuple[Fraction, Fraction, Fraction], ...]
    chained: bool
    twice: bool
    lower_cut: tuple[Fraction, Fraction] | None = None
    turned: tuple[Fraction, tuple[Fraction, ...]] | None = None

    @property
    def drop(self) -> float:
        """How far the cut comes down the right edge."""
        return float(self.cut) * float(np.tan(np.radians(float(self.cut_deg))))

    @property
    def lower(self) -> tuple[float, float]:
        """How much of the lower and of the right edge the lower cut takes; nothing where there is none."""
        rise, degrees = self.lower_cut or (Fraction(0), Fraction(0))
        return float(rise) * float(np.tan(np.radians(float(degrees)))), float(rise)

    @property
    def turned_holes(self) -> list[Xy]:
        """Centres of the holes at angles about the large one."""
        if self.turned is None:
            return []
        radius, angles = float(self.turned[0]), np.radians(np.cumsum([float(each) for each in self.turned[1]]))
        x, y = float(self.holes[0][0]), float(self.holes[0][1])
        return [(x + radius * float(np.cos(a)), y + radius * float(np.sin(a))) for a in angles]


def design(rng: Rng, notation: Notation) -> Bracket:
    """Choose a bracket."""
    inch = notation.unit == "in"
    grain = notation.grain
    coarse = notation.grain_or_none or (Fraction(1, 4) if inch else Fraction(5))
    width = stepped(rng, 4, 9, coarse) if inch else stepped(rng, 90, 220, coarse)
    height = nearest(float(width) * rng.uniform(0.5, 0.8), grain * 2)
    cut = nearest(float(width) * rng.uniform(0.16, 0.26), grain)
    degrees = Fraction(int(pick(rng, (30, 45, 45, 60))))
    if float(cut) * np.tan(np.radians(float(degrees))) > 0.5 * float(height):
        degrees = Fraction(30)
    drill = pick(rng, [d for d in drills(notation.unit) if 0.03 < float(d / width) < 0.09] or drills(notation.unit)[:1])
    radius = nearest(float(height) * rng.uniform(0.14, 0.26), grain)
    x1 = nearest(float(width) * rng.uniform(0.18, 0.24), grain)
    x2 = nearest(float(width) * rng.uniform(0.62, 0.72), grain)
    y1 = nearest(float(height) * rng.uniform(0.22, 0.3), grain)
    y2 = nearest(float(height) * rng.uniform(0.55, 0.64), grain)
    big = nearest(float(height) * rng.uniform(0.2, 0.28), grain)
    level = y2 if rng.random() < 0.4 else y1 + (y2 - y1) / 2 // grain * grain
    places = [(x2, level, big), (x1, y1, drill), (x1, y2, drill)]
    thickness = nearest(float(width) * rng.uniform(0.06, 0.1), grain)
    chained = bool(rng.random() < 0.4)
    twice = bool(rng.spawn(1)[0].random() < TWICE_SHARE)  # a stream of its own leaves all that is drawn later alone
    bracket = Bracket(width, height, thickness, cut, degrees, radius, tuple(places), chained, twice)
    return _angled(bracket, rng, grain) if notation.angled else bracket


def _angled(bracket: Bracket, rng: Rng, grain: Fraction) -> Bracket:
    """The bracket with any angles at its cuts, a second cut, and small holes at angles about the large one."""
    (x, y, big), (_, _, drill) = bracket.holes[:2]
    steepest = float(np.degrees(np.arctan(0.5 * float(bracket.height / bracket.cut))))
    rise = nearest(float(bracket.height) * rng.uniform(0.12, 0.2), grain)
    flattest = float(np.degrees(np.arctan(0.18 * float(bracket.width / rise))))
    more = replace(
        bracket,
        cut_deg=any_angle(rng, 15, min(65.0, steepest)),
        lower_cut=(rise, any_angle(rng, 15, min(65.0, flattest))),
    )
    away = big / 2 + nearest(1.6 * float(drill), grain)
    room = min(x - bracket.holes[1][0], bracket.width - x, y, bracket.height - y) - drill
    if float(away) > float(room):
        return more
    angles = tuple(any_angle(rng, 25, 65) for _ in range(int(rng.integers(1, 4))))
    fitting = [n for n in range(len(angles), 0, -1) if _inside(replace(more, turned=(away, angles[:n])))]
    return replace(more, turned=(away, angles[: fitting[0]])) if fitting else more


def _inside(bracket: Bracket) -> bool:
    """Whether all holes at angles lie in the metal left by the upper cut."""
    c, w, h = float(bracket.cut), float(bracket.width), float(bracket.height)
    along = np.array([c, -bracket.drop]) / np.hypot(c, bracket.drop)
    inwards = np.array([along[1], -along[0]])
    depths = [float(inwards @ np.subtract(centre, (w - c, h))) for centre in bracket.turned_holes]
    return all(depth > float(bracket.holes[1][2]) for depth in depths)


def front(bracket: Bracket, board: Board, view: View) -> None:
    """Draw the plate."""
    w, h, r, c = (float(v) for v in (bracket.width, bracket.height, bracket.radius, bracket.cut))
    along, rise = bracket.lower
    foot = [(w - along, 0), (w, rise)] if bracket.lower_cut else [(w, 0)]
    board.path(view, [(0, h - r), (0, 0), *foot, (w, h - bracket.drop), (w - c, h), (r, h)])
    board.arc(view, (r, h - r), r, 90, 90)
    for centre in bracket.turned_holes:
        board.circle(view, centre, float(bracket.holes[1][2]) / 2)
    for x, y, d in bracket.holes:
        board.circle(view, (float(x), float(y)), float(d) / 2)
        board.cross(view, (float(x), float(y)), view.length(float(d) / 2) + 2.5)


def edge(bracket: Bracket, board: Board, view: View) -> None:
    """Draw the edge view, hidden edges of the holes included."""
    t, h = float(bracket.thickness), float(bracket.height)
    board.path(view, [(0, 0), (t, 0), (t, h), (0, h)], closed=True)
    board.line(view, (0, h - bracket.drop), (t, h - bracket.drop))
    if bracket.lower_cut:
        board.line(view, (0, bracket.lower[1]), (t, bracket.lower[1]))
    for _, y, d in dict.fromkeys((0, y, d) for _, y, d in bracket.holes):
        for sign in (1, -1):
            at = float(y) + sign * float(d) / 2
            board.line(view, (0, at), (t, at), "hidden")
        board.axis(view, (0, float(y)), (t, float(y)), 3.0)


def hole_note(count: int, size: Fraction, notation: Notation, word: str) -> Figure:
    """Callout of holes of one size."""
    figure = length(notation, size, "diameter" if notation.diameter == "Ø" else "linear", count=count)
    values = tuple(replace(v, kind="diameter") for v in figure.values)
    several = f"{count} HOLES" if count > 1 else ""
    text = Figure(figure.text, values)
    if notation.diameter == "Ø":
        return joined(several, text) if several else text
    return joined(text, word, several) if several else joined(text, word)


def front_dimensions(bracket: Bracket, notation: Notation, board: Board, view: View) -> None:
    """Dimension the plate: sizes, hole places from the left and lower edges, radius, cut, callouts."""
    w, h, r, c = (float(v) for v in (bracket.width, bracket.height, bracket.radius, bracket.cut))
    (bx, by, big), (x1, y1, drill), (_, y2, _) = bracket.holes
    bottom, left = "bottom", "left"
    low, up = (float(x1), float(y1)), (float(x1), float(y2))
    main, corner = (float(bx), float(by)), (w, bracket.lower[1])
    linear(board, view, "X1", (0, 0), low, "x", length(notation, x1), level=0, chain="across", side=bottom)
    if bracket.chained:
        linear(board, view, "X2", low, main, "x", length(notation, bx - x1), level=0, chain="across", side=bottom)
        rest = length(notation, bracket.width - bx)
        linear(board, view, "X3", main, corner, "x", rest, level=0, chain="across", side=bottom)
        whole = length(notation, bracket.width)
        linear(board, view, "W", (0, 0), corner, "x", whole, level=1, chain="across:sum", side=bottom)
    else:
        linear(board, view, "X2", (0, 0), main, "x", length(notation, bx), level=1, side=bottom)
        linear(board, view, "W", (0, 0), corner, "x", length(notation, bracket.width), level=2, side=bottom)
    linear(board, view, "Y1", (0, 0), low, "y", length(notation, y1), level=0, side=left)
    linear(board, view, "Y2", (0, 0), up, "y", length(notation, y2), level=1, side=left)
    tall = length(notation, bracket.height)
    linear(board, view, "Y", (0, 0), (r, h), "y", tall, level=2, side=left, shared="height")
    if by not in (y1, y2):
        linear(board, view, "Y3", (w - bracket.lower[0], 0), main, "y", length(notation, by), side="right", level=0)
    linear(board, view, "C", (w - c, h), (w, h - bracket.drop), "x", length(notation, bracket.cut), side="top", level=1)
    reach = max(LEAST_ARC_MM, 0.55 * view.length(c))
    written = angle(bracket.cut_deg, notation.decimal)
    angular(board, view, "A", (w - c, h), 0.0, -float(bracket.cut_deg), (reach,), written, extend=True)
    _angles(bracket, notation, board, view)
    _callouts(bracket, notation, board, view, big, drill)


def _angles(bracket: Bracket, notation: Notation, board: Board, view: View) -> None:
    """Dimension the lower cut and the holes at angles."""
    if bracket.lower_cut:
        (along, rise), (high, degrees) = bracket.lower, bracket.lower_cut
        w = float(bracket.width)
        level = int(bracket.holes[0][1] not in (bracket.holes[1][1], bracket.holes[2][1]))
        feet = (w - along, 0.0), (w, rise)
        linear(board, view, "CL", *feet, "y", length(notation, high), side="right", level=level)
        reach = max(LEAST_ARC_MM, 0.8 * view.length(rise)), 1.4 * max(LEAST_ARC_MM, 0.8 * view.length(rise))
        written = angle(degrees, notation.decimal)
        angular(board, view, "AL", feet[1], -90.0, -float(degrees), reach, written, extend=True)
    if bracket.turned is None:
        return
    x, y, _ = bracket.holes[0]
    away, drill = view.length(float(bracket.turned[0])), view.length(float(bracket.holes[1][2]))
    radii = tuple(away + drill + board.style.text_mm * k for k in (1.0, 2.5, 4.0))
    board.axis(view, (float(x), float(y)), (float(x + bracket.turned[0]), float(y)), max(radii) - away)
    turn = 0.0
    for k, (degrees, centre) in enumerate(zip(bracket.turned[1], bracket.turned_holes, strict=True)):
        board.ray(view, (float(x), float(y)), centre, 0.0, max(radii))
        written = angle(degrees, notation.decimal)
        angular(board, view, f"AT{k}", (float(x), float(y)), turn, float(degrees), radii, written)
        turn += float(degrees)


def _callouts(bracket: Bracket, notation: Notation, board: Board, view: View, big: Fraction, drill: Fraction) -> None:
    h, r = float(bracket.height), float(bracket.radius)
    (bx, by, _), _, (x1, y2, _) = bracket.holes
    rim_leader(board, view, "R", (r, h - r), r, (120, 135, 105), length(notation, bracket.radius, "radius"), 12)
    out = view.length(h - float(y2)) + 12
    small = 2 + len(bracket.turned_holes)
    drilled, bored = hole_note(small, drill, notation, "DRILL"), hole_note(1, big, notation, "BORE")
    rim_leader(board, view, "H1", (float(x1), float(y2)), float(drill) / 2, (70, 60, 75), drilled, out)
    rim_leader(board, view, "H2", (float(bx), float(by)), float(big) / 2, (-35, -50, 35, 145, 215), bored, 13)


def edge_dimensions(bracket: Bracket, notation: Notation, board: Board, view: View) -> None:
    """Dimension the edge view: thickness, and the height where it is repeated."""
    t, h = float(bracket.thickness), float(bracket.height)
    linear(board, view, "T", (0, 0), (t, 0), "x", length(notation, bracket.thickness), side="bottom")
    if bracket.twice:
        linear(board, view, "YE", (t, 0), (t, h), "y", length(notation, bracket.height), side="right", shared="height")


def plate_area(bracket: Bracket) -> float:
    """Area of the plate's outline with its holes taken out, in square units."""
    more = len(bracket.turned_holes) * float(bracket.holes[1][2]) ** 2
    return outline_area(bracket) - float(np.pi) / 4 * (sum(float(d) ** 2 for _, _, d in bracket.holes) + more)


def outline_area(bracket: Bracket) -> float:
    """Area within the plate's outline, in square units."""
    cuts = float(bracket.cut) * bracket.drop / 2 + bracket.lower[0] * bracket.lower[1] / 2
    corner = (1 - np.pi / 4) * float(bracket.radius) ** 2
    return float(bracket.width * bracket.height) - cuts - corner


def plan(rng: Rng, notation: Notation) -> PartPlan:
    """A bracket, ready to be drawn."""
    bracket = design(rng, notation)
    w, h, t = float(bracket.width), float(bracket.height), float(bracket.thickness)
    views = (
        ViewPlan("front", (0.0, 0.0, w, h), (40.0, 40.0, 30.0, 30.0),
                 lambda board, at: front(bracket, board, at),
                 lambda board, at: front_dimensions(bracket, notation, board, at)),
        ViewPlan("edge", (0.0, 0.0, t, h), (12.0, 20.0, 24.0, 12.0),
                 lambda board, at: edge(bracket, board, at),
                 lambda board, at: edge_dimensions(bracket, notation, board, at)),
    )  # fmt: skip
    unit_mm2 = 25.4**2 if notation.unit == "in" else 1.0
    title = pick(rng, ("BRACKET PLATE", "GUARD BRACKET", "SHUTTLE PLATE", "GUIDE PLATE", "STOP PLATE"))
    return PartPlan(
        "bracket",
        title,
        notation,
        views,
        areas=(("front", plate_area(bracket) * unit_mm2),),
        outlines=(("front", outline_area(bracket) * unit_mm2), ("edge", t * h * unit_mm2)),
        material=pick(rng, ("M.S.", "STEEL", "BRASS")),
    )
