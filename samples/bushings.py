"""Bushings: section with limits on bore and outside, a head on some, and an end view."""

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from samples.board import Board, View
from samples.dimensioning import linear
from samples.notation import Figure, Notation, cut_size, deviations, fitted, length, limits, plus_minus
from samples.parts import PartPlan, Rng, ViewPlan, nearest, pick, stepped
from samples.sections import hatch

Xy = tuple[float, float]
BORE_INCH, BORE_MM = (Fraction(1, 1000), Fraction(0)), (Fraction(3, 100), Fraction(0))
PRESS_INCH, PRESS_MM = (Fraction(2, 1000), Fraction(1, 1000)), (Fraction(5, 100), Fraction(3, 100))
FORMS = ("limits", "deviations", "plus_minus", "plain")


@dataclass(frozen=True)
class Bushing:
    """Diameters and lengths in the sheet's unit; ``head`` is (diameter, thickness)."""

    bore: Fraction
    outside: Fraction
    long: Fraction
    head: tuple[Fraction, Fraction] | None
    chamfer: Fraction
    bore_form: str
    outside_form: str
    twice: bool


def design(rng: Rng, notation: Notation) -> Bushing:
    """Choose a bushing."""
    inch = notation.unit == "in"
    grain = notation.grain
    bore = stepped(rng, 0.75, 3, grain) if inch else stepped(rng, 20, 70, grain)
    outside = bore + max(2 * notation.coarse, nearest(float(bore) * rng.uniform(0.25, 0.4), grain))
    long = nearest(float(bore) * rng.uniform(1.2, 2.2), grain)
    head = None
    if rng.random() < 0.6:
        head = outside + nearest(float(outside) * 0.3, grain * 2), nearest(float(long) * 0.18, grain)
    chamfer = Fraction(1, 16) if inch else Fraction(1)
    return Bushing(bore, outside, long, head, chamfer, pick(rng, FORMS), pick(rng, FORMS), bool(rng.random() < 0.5))


def toleranced(notation: Notation, size: Fraction, form: str, band: tuple[Fraction, Fraction]) -> Figure:
    """A diameter with the tolerance written in one of the forms."""
    if notation.fit is not None:
        return fitted(notation, size)
    places = 3 if notation.unit == "in" else 2
    if form == "limits":
        return limits(notation, size, band[1], band[0], places, "diameter")
    if form == "deviations":
        return deviations(notation, size, band[0], band[1], places, "diameter")
    if form == "plus_minus":
        return plus_minus(notation, size, band[0], places, "diameter")
    return length(notation, size, "diameter")


def outside_figure(bushing: Bushing, notation: Notation) -> Figure:
    """The outside diameter as written."""
    band = PRESS_INCH if notation.unit == "in" else PRESS_MM
    return toleranced(notation, bushing.outside, bushing.outside_form, band)


def metal(bushing: Bushing) -> float:
    """Area of cut metal above the axis."""
    x, y = np.array(half_section(bushing)).T
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2


def outlines(bushing: Bushing, notation: Notation) -> tuple[tuple[str, float], ...]:
    """Area within each view's outer outline, in the sheet's unit squared, as it is to be cut."""
    cut = replace(bushing, outside=cut_size(outside_figure(bushing, notation)))
    if cut.head:
        cut = replace(cut, head=(cut_size(fitted(notation, cut.head[0])), cut.head[1]))
    section = 2 * (metal(cut) + float(cut.bore) / 2 * float(cut.long))
    return ("section", section), ("end", np.pi * float(cut.head[0] if cut.head else cut.outside) ** 2 / 4)


def half_section(bushing: Bushing) -> list[Xy]:
    """Cut metal above the axis, head at the left."""
    bore, out, n, c = (float(v) for v in (bushing.bore / 2, bushing.outside / 2, bushing.long, bushing.chamfer))
    tail = [(n - c, out), (n, out - c), (n, bore)]
    if bushing.head is None:
        return [(0, bore), (0, out), *tail]
    top, thick = float(bushing.head[0]) / 2, float(bushing.head[1])
    return [(0, bore), (0, top), (thick, top), (thick, out), *tail]


def section(bushing: Bushing, board: Board, view: View) -> None:
    """Draw the section."""
    ring = half_section(bushing)
    n, bore = float(bushing.long), float(bushing.bore) / 2
    for sign in (1, -1):
        half = [(x, sign * y) for x, y in ring]
        board.path(view, half, closed=True)
        hatch(board, view, half)
    for x in (0.0, n):
        board.line(view, (x, -bore), (x, bore))
    board.axis(view, (0, 0), (n, 0))


def end(bushing: Bushing, board: Board, view: View) -> None:
    """Draw the end view."""
    largest = bushing.head[0] if bushing.head else bushing.outside
    board.circle(view, (0, 0), float(largest) / 2)
    if bushing.head:
        board.circle(view, (0, 0), float(bushing.outside) / 2, "hidden")
    board.circle(view, (0, 0), float(bushing.bore) / 2)
    board.cross(view, (0, 0), view.length(float(largest) / 2) + 5)


def section_dimensions(bushing: Bushing, notation: Notation, board: Board, view: View) -> None:
    """Dimension the section."""
    bore, out, n, c = (float(v) for v in (bushing.bore / 2, bushing.outside / 2, bushing.long, bushing.chamfer))
    bore_band = BORE_INCH if notation.unit == "in" else BORE_MM
    inner, outer = toleranced(notation, bushing.bore, bushing.bore_form, bore_band), outside_figure(bushing, notation)
    linear(board, view, "B", (n, -bore), (n, bore), "y", inner, side="right")
    linear(board, view, "O", (n - c, -out), (n - c, out), "y", outer, side="right", level=2)
    if bushing.head is None:
        linear(board, view, "L", (0, -out), (n, -out + c), "x", length(notation, bushing.long), side="bottom")
    else:
        top, thick = float(bushing.head[0]) / 2, float(bushing.head[1])
        linear(
            board,
            view,
            "T",
            (0, -top),
            (thick, -top),
            "x",
            length(notation, bushing.head[1]),
            side="bottom",
            chain="long",
            before=True,
        )
        linear(
            board,
            view,
            "S",
            (thick, -top),
            (n, -out + c),
            "x",
            length(notation, bushing.long - bushing.head[1]),
            side="bottom",
            chain="long",
        )
        linear(
            board,
            view,
            "L",
            (0, -top),
            (n, -out + c),
            "x",
            length(notation, bushing.long),
            side="bottom",
            level=1,
            chain="long:sum",
        )
        linear(
            board,
            view,
            "HD",
            (0, -top),
            (0, top),
            "y",
            fitted(notation, bushing.head[0]),
            side="left",
            shared="head",
        )


def end_dimensions(bushing: Bushing, notation: Notation, board: Board, view: View) -> None:
    """Dimension the end view where the head's diameter is repeated."""
    if bushing.head and bushing.twice:
        r = float(bushing.head[0]) / 2
        linear(
            board,
            view,
            "HE",
            (-r, 0),
            (r, 0),
            "x",
            fitted(notation, bushing.head[0]),
            side="top",
            shared="head",
        )


def plan(rng: Rng, notation: Notation) -> PartPlan:
    """A bushing, ready to be drawn."""
    bushing = design(rng, notation)
    r, n = float(bushing.head[0] if bushing.head else bushing.outside) / 2, float(bushing.long)
    views = (
        ViewPlan("section", (0.0, -r, n, r), (28.0, 32.0, 52.0, 14.0),
                 lambda board, at: section(bushing, board, at),
                 lambda board, at: section_dimensions(bushing, notation, board, at)),
        ViewPlan("end", (-r, -r, r, r), (10.0, 16.0, 16.0, 26.0),
                 lambda board, at: end(bushing, board, at),
                 lambda board, at: end_dimensions(bushing, notation, board, at)),
    )  # fmt: skip
    unit_mm2 = 25.4**2 if notation.unit == "in" else 1.0
    title = pick(rng, ("BUSHING", "BEARING BUSH", "LOOSE PULLEY BUSH", "GUIDE BUSH"))
    return PartPlan(
        "bushing",
        title,
        notation,
        views,
        areas=(("section", metal(bushing) * unit_mm2),),
        outlines=tuple((view, area * unit_mm2) for view, area in outlines(bushing, notation)),
        material=pick(rng, ("BRONZE", "PHOS. BRONZE", "BRASS", "C.I.")),
    )
