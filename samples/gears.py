"""Spur gears on paper: front view with teeth in full or by circles, and the sectional side view."""

from dataclasses import replace
from fractions import Fraction

import numpy as np

from samples.board import Board, View
from samples.dimensioning import linear
from samples.gear_data import NOTE_SHARE, NOTE_WORDS, data_note, data_rows, decidable, truth
from samples.gear_design import Gear, design
from samples.leaders import leader, rim_leader
from samples.notation import Figure, Notation, Value, joined, length
from samples.parts import PartPlan, Rng, ViewPlan, pick
from samples.sections import hatch

Xy = tuple[float, float]


def involute_flank(gear: Gear) -> list[tuple[float, float]]:
    """(radius, half tooth angle in rad) from the base (or root) to the tip of a flank, tooth axis at 0."""
    pressure = np.radians(float(gear.system.angle))
    pitch_r = float(gear.pitch_diameter) / 2
    base, tip, root = pitch_r * np.cos(pressure), float(gear.outside) / 2, float(gear.root) / 2
    involute = np.tan(pressure) - pressure
    flank = []
    for r in np.linspace(max(base, root), tip, 3):
        at = np.arccos(min(1.0, base / r))
        flank.append((float(r), float(np.pi / 2 / gear.teeth + involute - (np.tan(at) - at))))
    return flank


def _arc_through(a: Xy, b: Xy, c: Xy) -> tuple[Xy, float, float, float]:
    """Centre, radius, start and sweep (deg) of the arc from a over b to c."""
    m = 2 * np.array([[b[0] - a[0], b[1] - a[1]], [c[0] - a[0], c[1] - a[1]]])
    square = [p[0] ** 2 + p[1] ** 2 for p in (a, b, c)]
    x, y = np.linalg.solve(m, [square[1] - square[0], square[2] - square[0]])
    start, end = (float(np.degrees(np.arctan2(p[1] - y, p[0] - x))) for p in (a, c))
    turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    sweep = (end - start) % 360 if turn > 0 else -((start - end) % 360)
    return (float(x), float(y)), float(np.hypot(a[0] - x, a[1] - y)), start, sweep


def draw_teeth(gear: Gear, board: Board, view: View, teeth: range) -> None:
    """Draw teeth by number, the first at the top, counter-clockwise.

    Tip and root arcs, flanks as the draughtsman's one arc, radial below the base circle.
    """
    cx, cy = view.paper(0, 0)
    k = view.mm_per_unit
    flank, root = involute_flank(gear), float(gear.root) / 2
    half_tip, half_base = flank[-1][1], flank[0][1]
    step = 2 * np.pi / gear.teeth

    def point(r: float, angle: float) -> Xy:
        return cx + k * r * float(np.cos(angle)), cy + k * r * float(np.sin(angle))

    for tooth in teeth:
        middle = np.pi / 2 + tooth * step
        tip = np.degrees(middle - half_tip), np.degrees(2 * half_tip)
        board.bow((cx, cy), k * flank[-1][0], *tip, "visible", view.id)
        gap = step - 2 * half_base
        if len(teeth) == gear.teeth or tooth != teeth[-1]:
            board.bow((cx, cy), k * root, np.degrees(middle + half_base), np.degrees(gap), "visible", view.id)
        for side in (1, -1):
            points = [point(r, middle + side * a) for r, a in flank]
            centre, radius, start, sweep = _arc_through(*points)
            if sweep < 0:
                start, sweep = start + sweep, -sweep
            board.bow(centre, radius, start, sweep, "visible", view.id)
            board.stroke(point(root, middle + side * half_base), points[0], "visible", view.id)


def front(gear: Gear, board: Board, view: View) -> None:
    """Draw the front view."""
    in_full = gear.in_full and view.length(float(np.pi * gear.pitch)) > 4.0
    if in_full:
        draw_teeth(gear, board, view, range(gear.teeth))
    else:
        _rims(gear, board, view)
    board.circle(view, (0, 0), float(gear.pitch_diameter) / 2, "centre")
    if gear.web:
        board.circle(view, (0, 0), float(gear.recess) / 2)
    board.circle(view, (0, 0), float(gear.hub) / 2)
    _bore(gear, board, view)
    board.cross(view, (0, 0), view.length(float(gear.outside) / 2) + 5)


def _rims(gear: Gear, board: Board, view: View) -> None:
    """Outside and root circle, broken off beside the teeth that are drawn."""
    count = gear.drawn_teeth
    if count == 0:
        board.circle(view, (0, 0), float(gear.outside) / 2)
        board.circle(view, (0, 0), float(gear.root) / 2, "hidden")
        return
    first = -(count // 2)
    draw_teeth(gear, board, view, range(first, first + count))
    step = 360.0 / gear.teeth
    start, sweep = 90.0 + (first + count - 0.5) * step, 360.0 - count * step
    board.arc(view, (0, 0), float(gear.outside) / 2, start, sweep)
    board.arc(view, (0, 0), float(gear.root) / 2, start, sweep, "hidden")


def _bore(gear: Gear, board: Board, view: View) -> None:
    r = float(gear.bore) / 2
    if gear.key is None:
        board.circle(view, (0, 0), r)
        return
    half, top = float(gear.key[0]) / 2, r + float(gear.key[1])
    open_deg = float(np.degrees(np.arcsin(half / r)))
    board.arc(view, (0, 0), r, 90 + open_deg, 360 - 2 * open_deg)
    shoulder = float(np.sqrt(r * r - half * half))
    board.path(view, [(-half, shoulder), (-half, top), (half, top), (half, shoulder)])


def half_section(gear: Gear) -> list[Xy]:
    """Outline of the cut metal above the axis, in part units."""
    f, h = float(gear.face) / 2, float(gear.hub_length)
    low = float(gear.bore) / 2 + (float(gear.key[1]) if gear.key else 0.0)
    hub, root = float(gear.hub) / 2, float(gear.root) / 2
    if gear.web is None:
        return [(-f, low), (-f, root), (f, root), (f, hub), (h - f, hub), (h - f, low)]
    w, recess = float(gear.web) / 2, float(gear.recess) / 2
    left = [(-f, low), (-f, hub), (-w, hub), (-w, recess), (-f, recess), (-f, root)]
    return [*left, (f, root), (f, recess), (w, recess), (w, hub), (h - f, hub), (h - f, low)]


def section(gear: Gear, board: Board, view: View) -> None:
    """Draw the sectional side view."""
    f, h = float(gear.face) / 2, float(gear.hub_length)
    top, root = float(gear.outside) / 2, float(gear.root) / 2
    bore = float(gear.bore) / 2
    upper = half_section(gear)
    lower = [(x, -y if y > bore + 1e-9 else -bore) for x, y in upper]
    if gear.key:
        floor = bore + float(gear.key[1])
        lower = [(x, -bore if abs(y - floor) < 1e-9 else -y) for x, y in upper]
        board.line(view, (-f, bore), (h - f, bore))
    for ring in (upper, lower):
        board.path(view, ring, closed=True)
    for sign in (1, -1):
        board.path(view, [(-f, sign * root), (-f, sign * top), (f, sign * top), (f, sign * root)])
        pitch = sign * float(gear.pitch_diameter) / 2
        board.axis(view, (-f, pitch), (f, pitch), 3.0)
    ends = [(-f, bore), (-f, -bore)], [(h - f, bore), (h - f, -bore)]
    for p, q in ends:
        board.line(view, p, q)
    if gear.key:
        for x in (-f, h - f):
            board.line(view, (x, bore), (x, floor))
    board.axis(view, (-f, 0), (h - f, 0))
    hatch(board, view, upper)
    hatch(board, view, lower)


def front_dimensions(gear: Gear, notation: Notation, board: Board, view: View) -> None:
    """Dimension the front view: bore, keyseat, hub."""
    bore = length(notation, gear.bore, "diameter")
    figure = Figure(f"{length(notation, gear.bore).text} BORE", bore.values) if notation.diameter != "Ø" else bore
    rim_leader(
        board,
        view,
        "B",
        (0, 0),
        float(gear.bore) / 2,
        (225, 315, 210, 330),
        figure,
        reach=view.length(float(gear.outside - gear.bore)) / 2 + 8,
    )
    if gear.key:
        half, top = float(gear.key[0]) / 2, float(gear.bore) / 2 + float(gear.key[1])
        tip = view.paper(half, top)
        note = joined(length(notation, gear.key[0]), "×", length(notation, gear.key[1]), "KEYSEAT")
        leader(
            board,
            view,
            "K",
            tip,
            (60, 120, 45, 135),
            note,
            (view.paper(-half, top), view.paper(half, top)),
            reach=view.length(float(gear.outside - gear.bore)) / 2 + 9,
        )


def outside_figure(gear: Gear, notation: Notation) -> Figure:
    """Outside diameter as a sheet writes it."""
    places = None if notation.unit == "mm" or gear.outside.denominator in (1, 2, 4, 8) else 3
    return length(notation, gear.outside, "diameter", places)


def section_dimensions(gear: Gear, notation: Notation, board: Board, view: View) -> None:
    """Dimension the section: face, hub length, outside, hub, web, rim."""
    f, h = float(gear.face) / 2, float(gear.hub_length)
    top, hub = float(gear.outside) / 2, float(gear.hub) / 2
    linear(board, view, "F", (-f, top), (f, top), "x", length(notation, gear.face), side="top")
    linear(board, view, "HL", (-f, -hub), (h - f, -hub), "x", length(notation, gear.hub_length), side="bottom", level=0)
    linear(board, view, "HD", (h - f, -hub), (h - f, hub), "y", length(notation, gear.hub, "diameter"), side="right")
    linear(board, view, "OD", (f, -top), (f, top), "y", outside_figure(gear, notation), side="right", level=1)
    if gear.web:
        w, y = float(gear.web) / 2, -(float(gear.recess) / 2 + hub) / 2
        linear(board, view, "W", (-w, y), (w, y), "x", length(notation, gear.web), at=y, extend=False)


INCH_SCREWS = (("#10-24", Fraction(19, 100)), ("1/4-20", Fraction(1, 4)), ("5/16-18", Fraction(5, 16)))
METRIC_SCREWS = (("M5", Fraction(5)), ("M6", Fraction(6)), ("M8", Fraction(8)))
HALF_ROUND = ("404", "606", "808")
"""Numbers of half-round keys (ANSI B17.2) for bores about 1/2, 3/4 and 1 in or more."""


def plan_of_few_teeth(rng: Rng, notation: Notation) -> PartPlan:
    """A spur gear of which a few teeth are drawn, the rest by its circles; a note names its set-screw or key."""
    drawn = int(rng.integers(3, 7))
    part = plan(rng, notation, drawn)
    thread, major = pick(rng, INCH_SCREWS if notation.unit == "in" else METRIC_SCREWS)
    notes = [("SS", _set_screw(thread, major, notation.unit))]
    if notation.unit == "in" and rng.random() < 0.5:
        notes.append(("WK", Figure(f"NO. {pick(rng, HALF_ROUND)} WOODRUFF KEY", ())))
    return replace(part, notes=(*part.notes, *notes))


def _set_screw(thread: str, major: Fraction, unit: str) -> Figure:
    place = Fraction(1, 64) if unit == "in" else Fraction(1)
    value = Value("thread", major, unit, "fraction" if unit == "in" else "integer", place, name=thread)
    return Figure(f"{thread} SET SCREW", (value,))


def plan(rng: Rng, notation: Notation, drawn_teeth: int = 0) -> PartPlan:
    """A spur gear, ready to be drawn; with ``drawn_teeth`` only so many of its teeth in any case."""
    gear = design(rng, notation)
    if drawn_teeth:
        gear = replace(gear, in_full=False, drawn_teeth=drawn_teeth)
    rows, settled = data_rows(gear, notation, rng)
    notes: tuple[tuple[str, Figure], ...] = ()
    if rng.random() < NOTE_SHARE:
        kept = tuple(row for row in rows if row.key in NOTE_WORDS)
        notes, rows = ((("GN", data_note(kept)),) if kept else ()), ()
        settled = decidable({row.key for row in kept}, gear, notation.unit)
    top, f, h = float(gear.outside) / 2, float(gear.face) / 2, float(gear.hub_length)
    views = (
        ViewPlan("front", (-top, -top, top, top), (22.0, 24.0, 16.0, 26.0),
                 lambda board, at: front(gear, board, at),
                 lambda board, at: front_dimensions(gear, notation, board, at)),
        ViewPlan("section", (-f, -top, h - f, top), (18.0, 24.0, 32.0, 22.0),
                 lambda board, at: section(gear, board, at),
                 lambda board, at: section_dimensions(gear, notation, board, at)),
    )  # fmt: skip
    unit_mm2 = 25.4**2 if notation.unit == "in" else 1.0
    ring = np.array(half_section(gear))
    x, y = ring.T
    area = abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2 * unit_mm2
    bored, toothed = float(ring[0][1]) * h, (top - float(gear.root) / 2) * 2 * f
    title = pick(rng, ("SPUR GEAR", "CHANGE WHEEL", "PINION", "FEED GEAR", "DRIVING GEAR", "BACK GEAR"))
    return PartPlan(
        "gear",
        title,
        notation,
        views,
        rows,
        notes,
        gear=truth(gear, notation, settled),
        areas=(("section", area),),
        outlines=(("section", 2 * (area + (bored + toothed) * unit_mm2)),),
        material=pick(rng, ("C.I.", "STEEL", "BRONZE", "MALLEABLE IRON")),
    )
