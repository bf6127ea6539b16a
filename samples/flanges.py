"""Flanges: front view with a bolt circle, section with hub, thickness and hatching."""

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from samples.board import Board, View
from samples.dimensioning import angular, linear
from samples.leaders import rim_leader, rim_room
from samples.notation import Figure, Notation, angle, cut_size, fitted, joined, length
from samples.parts import PartPlan, Rng, ViewPlan, any_angle, drills, nearest, pick, stepped
from samples.sections import hatch

Xy = tuple[float, float]

UNEQUAL = 0.2
"""Holes at angles of their own lie so much nearer or wider, in shares of an equal spacing, at most."""


@dataclass(frozen=True)
class Flange:
    """Diameters and lengths in the sheet's unit; ``height`` is over all, ``twice`` repeats the outside diameter.

    ``apart_deg`` are the angles from each hole to the next but for the last, clockwise, where they are unlike.
    """

    outside: Fraction
    bore: Fraction
    hub: Fraction
    bolt_circle: Fraction
    holes: int
    drill: Fraction
    thickness: Fraction
    height: Fraction
    twice: bool
    apart_deg: tuple[Fraction, ...] = ()


def design(rng: Rng, notation: Notation) -> Flange:
    """Choose a flange."""
    inch = notation.unit == "in"
    grain = notation.grain
    coarse = notation.grain_or_none or (Fraction(1, 4) if inch else Fraction(5))
    outside = stepped(rng, 3.5, 9, coarse) if inch else stepped(rng, 90, 240, coarse)
    bore = nearest(float(outside) * rng.uniform(0.22, 0.32), grain)
    hub = nearest(float(bore) * rng.uniform(1.5, 1.7), grain)
    bolt = nearest((float(outside) * 0.98 + float(hub)) / 2, grain * 2)
    sizes = [d for d in drills(notation.unit) if 0.045 < float(d / outside) < 0.11] or drills(notation.unit)[:1]
    thickness = nearest(float(outside) * rng.uniform(0.09, 0.14), grain)
    height = thickness + nearest(float(outside) * rng.uniform(0.15, 0.3), grain)
    flange = Flange(
        outside,
        bore,
        hub,
        bolt,
        int(pick(rng, (4, 6, 6, 8))),
        pick(rng, sizes),
        thickness,
        height,
        bool(rng.random() < 0.45),
    )
    return replace(flange, apart_deg=_spacing(rng, flange.holes)) if notation.angled else flange


def _spacing(rng: Rng, holes: int) -> tuple[Fraction, ...]:
    """Angles between neighbouring holes, each near to an equal share, the last one left over."""
    share = 360.0 / holes
    return tuple(any_angle(rng, (1 - UNEQUAL) * share, (1 + UNEQUAL) * share) for _ in range(holes - 1))


def hole_centres(flange: Flange) -> list[Xy]:
    """Centres of the bolt holes, the first to the right of the upright centre line."""
    r = float(flange.bolt_circle) / 2
    first = np.pi / 2 - (np.pi / 4 if flange.holes == 4 else 0.0)
    angles = first - 2 * np.pi * np.arange(flange.holes) / flange.holes
    if flange.apart_deg:
        angles = first - np.radians([0.0, *np.cumsum([float(each) for each in flange.apart_deg])])
    return [(float(r * np.cos(a)), float(r * np.sin(a))) for a in angles]


def front(flange: Flange, board: Board, view: View) -> None:
    """Draw the front view."""
    for diameter in (flange.outside, flange.hub, flange.bore):
        board.circle(view, (0, 0), float(diameter) / 2)
    board.circle(view, (0, 0), float(flange.bolt_circle) / 2, "centre")
    for centre in hole_centres(flange):
        board.circle(view, centre, float(flange.drill) / 2)
        board.cross(view, centre, view.length(float(flange.drill) / 2) + 2.0)
    board.cross(view, (0, 0), view.length(float(flange.outside) / 2) + 5)


def half_section(flange: Flange) -> list[Xy]:
    """Cut metal above the axis, flange at the left."""
    bore, hub, out = (float(d) / 2 for d in (flange.bore, flange.hub, flange.outside))
    t, h = float(flange.thickness), float(flange.height)
    return [(0, bore), (0, out), (t, out), (t, hub), (h, hub), (h, bore)]


def section(flange: Flange, board: Board, view: View) -> None:
    """Draw the section: the cut runs through two opposite bolt holes."""
    ring = half_section(flange)
    t, h = float(flange.thickness), float(flange.height)
    bolt, hole = float(flange.bolt_circle) / 2, float(flange.drill) / 2
    for sign in (1, -1):
        board.path(view, [(x, sign * y) for x, y in ring], closed=True)
        for y in (bolt - hole, bolt + hole):
            board.line(view, (0, sign * y), (t, sign * y))
        board.axis(view, (0, sign * bolt), (t, sign * bolt), 3.0)
        inner = [(0, ring[0][1]), (0, bolt - hole), (t, bolt - hole), (t, ring[3][1]), ring[4], ring[5]]
        outer = [(0, bolt + hole), (0, ring[1][1]), (t, ring[1][1]), (t, bolt + hole)]
        for part in (inner, outer):
            hatch(board, view, [(x, sign * y) for x, y in part])
    bore = ring[0][1]
    for x in (0.0, h):
        board.line(view, (x, -bore), (x, bore))
    board.axis(view, (0, 0), (h, 0))


def bolt_note(flange: Flange, notation: Notation, wording: int) -> Figure:
    """The callout of the bolt holes: how many, what drill, on what circle."""
    plain = replace(notation, diameter="Ø") if notation.unit == "mm" else notation
    if notation.unit == "mm":
        hole = length(plain, flange.drill, "diameter", count=flange.holes)
        circle = length(plain, flange.bolt_circle, "diameter")
        start = f"{flange.holes} HOLES" if wording else f"{flange.holes} ×"
        return joined(start, hole, "ON", circle, "P.C.D.")
    bare = replace(notation, inch_marks=notation.inch_marks)
    size = length(bare, flange.drill, "linear")
    drill = Figure(size.text, tuple(replace(v, kind="diameter", count=flange.holes) for v in size.values))
    round_ = length(bare, flange.bolt_circle, "linear")
    circle = Figure(round_.text, tuple(replace(v, kind="diameter") for v in round_.values))
    if wording == 1:
        return joined(f"{flange.holes} HOLES", drill, "DRILL ON", circle, "B.C.")
    return joined("DRILL", drill, f"{flange.holes} HOLES", "ON", circle, "DIA. B.C.")


def front_dimensions(flange: Flange, notation: Notation, wording: int, board: Board, view: View) -> None:
    """Dimension the front view: bolt holes by a note, outside diameter where it is repeated."""
    note, drill = bolt_note(flange, notation, wording), float(flange.drill) / 2
    right = hole_centres(flange)[1 if flange.holes != 4 else 0]
    left = min(hole_centres(flange), key=lambda c: np.hypot(c[0] + right[0], c[1] - right[1]))
    reach = view.length(float(flange.outside) / 2 - float(np.hypot(*right)) / 2)
    rooms = {
        (hole, angle): rim_room(board, view, hole, drill, angle, note, reach)
        for hole, angles in ((right, (60, 45, 75)), (left, (120, 135, 105)))
        for angle in angles
    }
    hole, angle = min(rooms, key=lambda place: rooms[place])
    rim_leader(board, view, "H", hole, drill, (angle,), note, reach)
    if flange.twice:
        r = float(flange.outside) / 2
        figure = fitted(notation, flange.outside)
        linear(board, view, "OF", (0, -r), (0, r), "y", figure, side="left", shared="outside")
    if flange.apart_deg:
        _spaced(flange, notation, board, view)


def _spaced(flange: Flange, notation: Notation, board: Board, view: View) -> None:
    """Dimension the angle from each hole to the next, within the bolt circle or beyond the rim."""
    hub, bolt, rim = (view.length(float(d) / 2) for d in (flange.hub, flange.bolt_circle, flange.outside))
    drill = view.length(float(flange.drill) / 2)
    radii = ((hub + bolt - drill) / 2, rim + 2 * board.style.text_mm, rim + 4 * board.style.text_mm)
    turn = float(np.degrees(np.arctan2(*hole_centres(flange)[0][::-1])))
    for centre in hole_centres(flange):
        board.ray(view, (0, 0), centre, hub, max(radii))
    for k, apart in enumerate(flange.apart_deg):
        written = angle(apart, notation.decimal)
        angular(board, view, f"A{k}", (0, 0), turn, -float(apart), radii, written)
        turn -= float(apart)


def section_dimensions(flange: Flange, notation: Notation, board: Board, view: View) -> None:
    """Dimension the section."""
    out, hub, bore = (float(d) / 2 for d in (flange.outside, flange.hub, flange.bore))
    t, h = float(flange.thickness), float(flange.height)
    plate = length(notation, flange.thickness)
    linear(board, view, "T", (0, -out), (t, -out), "x", plate, side="bottom", chain="height", before=True)
    step = length(notation, flange.height - flange.thickness)
    linear(board, view, "TH", (t, -out), (h, -hub), "x", step, side="bottom", chain="height")
    linear(
        board,
        view,
        "H2",
        (0, -out),
        (h, -hub),
        "x",
        length(notation, flange.height),
        side="bottom",
        level=1,
        chain="height:sum",
    )
    linear(board, view, "BD", (h, -bore), (h, bore), "y", fitted(notation, flange.bore), side="right")
    linear(board, view, "HD", (h, -hub), (h, hub), "y", fitted(notation, flange.hub), side="right", level=1)
    size = fitted(notation, flange.outside)
    linear(board, view, "OD", (t, -out), (t, out), "y", size, side="right", level=2, shared="outside")


def _metal(flange: Flange) -> float:
    """Area of cut metal above the axis, in square units."""
    x, y = np.array(half_section(flange)).T
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2


def plan(rng: Rng, notation: Notation) -> PartPlan:
    """A flange, ready to be drawn."""
    flange, wording = design(rng, notation), int(rng.integers(2))
    r, h = float(flange.outside) / 2, float(flange.height)
    views = (
        ViewPlan("front", (-r, -r, r, r), (22.0 if flange.twice else 12.0, 14.0, 26.0, 26.0),
                 lambda board, at: front(flange, board, at),
                 lambda board, at: front_dimensions(flange, notation, wording, board, at)),
        ViewPlan("section", (0.0, -r, h, r), (12.0, 30.0, 44.0, 12.0),
                 lambda board, at: section(flange, board, at),
                 lambda board, at: section_dimensions(flange, notation, board, at)),
    )  # fmt: skip
    unit_mm2 = 25.4**2 if notation.unit == "in" else 1.0
    bore, hub, outside = (cut_size(fitted(notation, d)) for d in (flange.bore, flange.hub, flange.outside))
    cut = replace(flange, bore=bore, hub=hub, outside=outside)
    metal = _metal(cut) * unit_mm2
    title = pick(rng, ("PIPE FLANGE", "COUPLING FLANGE", "BEARING COVER", "PULLEY FLANGE"))
    return PartPlan(
        "flange",
        title,
        notation,
        views,
        areas=(("section", _metal(flange) * unit_mm2),),
        outlines=(
            ("front", np.pi * (float(cut.outside) / 2) ** 2 * unit_mm2),
            ("section", 2 * (metal + float(cut.bore) / 2 * h * unit_mm2)),
        ),
        material=pick(rng, ("C.I.", "STEEL", "M.S.")),
    )
