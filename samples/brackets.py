"""Brackets: a plate with a cut corner, a rounded one, holes from base lines, and its edge view."""

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from samples.board import Board, View
from samples.dimensioning import angular, linear
from samples.leaders import rim_leader
from samples.notation import Figure, Notation, angle, joined, length
from samples.parts import PartPlan, Rng, ViewPlan, drills, nearest, pick, stepped

Xy = tuple[float, float]

TWICE_SHARE = 0.4
"""Share of brackets whose height is given in both views."""


@dataclass(frozen=True)
class Bracket:
    """A plate ``width`` by ``height``: upper right corner cut at ``cut_deg`` from ``cut`` before the corner, upper
    left rounded by ``radius``; holes are (x, y, diameter), the larger one first. ``twice`` repeats the height."""

    width: Fraction
    height: Fraction
    thickness: Fraction
    cut: Fraction
    cut_deg: Fraction
    radius: Fraction
    holes: tuple[tuple[Fraction, Fraction, Fraction], ...]
    chained: bool
    twice: bool

    @property
    def drop(self) -> float:
        """How far the cut comes down the right edge."""
        return float(self.cut) * float(np.tan(np.radians(float(self.cut_deg))))


def design(rng: Rng, notation: Notation) -> Bracket:
    """Choose a bracket."""
    inch = notation.unit == "in"
    grain = Fraction(1, 8) if inch else Fraction(1)
    width = stepped(rng, 4, 9, Fraction(1, 4)) if inch else stepped(rng, 90, 220, Fraction(5))
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
    return Bracket(width, height, thickness, cut, degrees, radius, tuple(places), chained, twice)


def front(bracket: Bracket, board: Board, view: View) -> None:
    """Draw the plate."""
    w, h, r, c = (float(v) for v in (bracket.width, bracket.height, bracket.radius, bracket.cut))
    board.path(view, [(0, h - r), (0, 0), (w, 0), (w, h - bracket.drop), (w - c, h), (r, h)])
    board.arc(view, (r, h - r), r, 90, 90)
    for x, y, d in bracket.holes:
        board.circle(view, (float(x), float(y)), float(d) / 2)
        board.cross(view, (float(x), float(y)), view.length(float(d) / 2) + 2.5)


def edge(bracket: Bracket, board: Board, view: View) -> None:
    """Draw the edge view, hidden edges of the holes included."""
    t, h = float(bracket.thickness), float(bracket.height)
    board.path(view, [(0, 0), (t, 0), (t, h), (0, h)], closed=True)
    board.line(view, (0, h - bracket.drop), (t, h - bracket.drop))
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
    main = (float(bx), float(by))
    linear(board, view, "X1", (0, 0), low, "x", length(notation, x1), level=0, chain="across", side=bottom)
    if bracket.chained:
        linear(board, view, "X2", low, main, "x", length(notation, bx - x1), level=0, chain="across", side=bottom)
        rest = length(notation, bracket.width - bx)
        linear(board, view, "X3", main, (w, 0), "x", rest, level=0, chain="across", side=bottom)
        whole = length(notation, bracket.width)
        linear(board, view, "W", (0, 0), (w, 0), "x", whole, level=1, chain="across:sum", side=bottom)
    else:
        linear(board, view, "X2", (0, 0), main, "x", length(notation, bx), level=1, side=bottom)
        linear(board, view, "W", (0, 0), (w, 0), "x", length(notation, bracket.width), level=2, side=bottom)
    linear(board, view, "Y1", (0, 0), low, "y", length(notation, y1), level=0, side=left)
    linear(board, view, "Y2", (0, 0), up, "y", length(notation, y2), level=1, side=left)
    tall = length(notation, bracket.height)
    linear(board, view, "Y", (0, 0), (r, h), "y", tall, level=2, side=left, shared="height")
    if by not in (y1, y2):
        linear(board, view, "Y3", (w, 0), main, "y", length(notation, by), side="right", level=0)
    linear(board, view, "C", (w - c, h), (w, h - bracket.drop), "x", length(notation, bracket.cut), side="top", level=1)
    reach = max(14.0, 0.55 * view.length(c))
    angular(board, view, "A", (w - c, h), 0.0, -float(bracket.cut_deg), reach, angle(bracket.cut_deg))
    _callouts(bracket, notation, board, view, big, drill)


def _callouts(bracket: Bracket, notation: Notation, board: Board, view: View, big: Fraction, drill: Fraction) -> None:
    h, r = float(bracket.height), float(bracket.radius)
    (bx, by, _), _, (x1, y2, _) = bracket.holes
    rim_leader(board, view, "R", (r, h - r), r, (120, 135, 105), length(notation, bracket.radius, "radius"), 12)
    out = view.length(h - float(y2)) + 12
    drilled, bored = hole_note(2, drill, notation, "DRILL"), hole_note(1, big, notation, "BORE")
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
    return outline_area(bracket) - sum(float(np.pi) / 4 * float(d) ** 2 for _, _, d in bracket.holes)


def outline_area(bracket: Bracket) -> float:
    """Area within the plate's outline, in square units."""
    full = float(bracket.width * bracket.height) - float(bracket.cut) * bracket.drop / 2
    corner = (1 - np.pi / 4) * float(bracket.radius) ** 2
    return full - corner


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
