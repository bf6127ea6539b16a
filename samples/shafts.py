"""Stepped shafts: side view with lengths in a chain or from a base line, diameters, keyseat, thread, chamfers."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from samples.board import Board, View
from samples.dimensioning import linear
from samples.leaders import leader
from samples.notation import Figure, Notation, Value, cut_size, fitted, joined, length, limits, plus_minus
from samples.parts import PartPlan, Rng, ViewPlan, key_inch, key_metric, nearest, pick, stepped, threads
from samples.sections import cut_mark, hatch

FIT_INCH = (Fraction(-1, 1000), Fraction(-2, 1000))  # running fit on a journal, common practice, no source
FIT_MM = (Fraction(-2, 100), Fraction(-5, 100))
CHAMFER_INCH, CHAMFER_MM = Fraction(1, 16), Fraction(2)


@dataclass(frozen=True)
class Shaft:
    """Lengths and diameters of the steps from left to right, in the sheet's unit, and what is cut into them."""

    lengths: tuple[Fraction, ...]
    diameters: tuple[Fraction, ...]
    chamfer: Fraction | None
    keyseat: tuple[int, Fraction, Fraction, Fraction] | None  # step, offset from its left end, length, width
    thread: str | None  # on the last step
    fitted: int | None
    baseline: bool
    overall: bool

    @property
    def stations(self) -> list[Fraction]:
        """Positions of the shoulders from the left end."""
        return [sum(self.lengths[:k], Fraction(0)) for k in range(len(self.lengths) + 1)]


def design(rng: Rng, notation: Notation) -> Shaft:
    """Choose a shaft."""
    inch = notation.unit == "in"
    grain = notation.grain
    base = float(stepped(rng, 0.75, 2.5, Fraction(1, 8))) if inch else float(stepped(rng, 20, 60, Fraction(2)))
    count = int(rng.integers(3, 6))
    peak = int(rng.integers(1, count - 1)) if count > 3 else 1
    factors = [1.0 - 0.2 * abs(k - peak) + 0.04 * rng.uniform(-1, 1) for k in range(count)]
    diameters = [nearest(base * max(0.4, f), grain) for f in factors]
    for k in range(1, count):  # neighbouring steps differ, or there would be no shoulder
        if diameters[k] == diameters[k - 1]:
            diameters[k] += notation.coarse if k <= peak else -notation.coarse
    lengths = [nearest(base * rng.uniform(0.6, 2.2), notation.half_grain if inch else grain) for _ in range(count)]
    thread = None
    if rng.random() < 0.5:
        major, pitch = min(threads(notation.unit), key=lambda row: abs(row[0] - diameters[-1]))
        if major < diameters[-2]:
            diameters[-1] = major
            thread = f"{pitch} THDS." if inch else f"M{major}"
    step = peak if rng.random() < 0.7 else 0
    width = key_inch(diameters[step]) if inch else key_metric(diameters[step])[0]
    room = lengths[step]
    seat = nearest(float(room) * rng.uniform(0.45, 0.65), grain)
    seat_at = nearest(float(room - seat) / 2, notation.half_grain)
    keyseat = (step, seat_at, seat, width) if rng.random() < 0.6 and seat + seat_at < room and seat > width else None
    return Shaft(
        tuple(lengths),
        tuple(diameters),
        (CHAMFER_INCH if inch else CHAMFER_MM) if rng.random() < 0.5 else None,
        keyseat,
        thread,
        int(rng.integers(count)) if rng.random() < 0.5 else None,
        bool(rng.random() < 0.35),
        bool(rng.random() < 0.85),
    )


def outline(shaft: Shaft, board: Board, view: View) -> None:
    """Draw the side view."""
    at = [float(v) for v in shaft.stations]
    radii = [float(d) / 2 for d in shaft.diameters]
    cut = float(shaft.chamfer or 0)
    last = len(radii) - 1
    for k, r in enumerate(radii):
        left = at[k] + (cut if k == 0 else 0)
        right = at[k + 1] - (cut if k == last else 0)
        board.line(view, (left, r), (right, r))
        board.line(view, (left, -r), (right, -r))
    _ends(board, view, at, radii, cut)
    for k in range(1, len(radii)):
        r = max(radii[k - 1], radii[k])
        board.line(view, (at[k], -r), (at[k], r))
    board.axis(view, (at[0], 0), (at[-1], 0))
    if shaft.thread:
        root = radii[-1] * 0.86
        for sign in (1, -1):
            board.line(view, (at[-2], sign * root), (at[-1] - cut, sign * root), "hidden")
    if shaft.keyseat:
        _seat(shaft, board, view, at)


def _ends(board: Board, view: View, at: list[float], radii: list[float], cut: float) -> None:
    for x, r, way in ((at[0], radii[0], 1), (at[-1], radii[-1], -1)):
        board.line(view, (x, -(r - cut)), (x, r - cut))
        if cut:
            board.line(view, (x + way * cut, -r), (x + way * cut, r))
            for sign in (1, -1):
                board.line(view, (x, sign * (r - cut)), (x + way * cut, sign * r))


def _seat(shaft: Shaft, board: Board, view: View, at: list[float]) -> None:
    assert shaft.keyseat is not None
    step, offset, seat, width = shaft.keyseat
    x0, half = at[step] + float(offset), float(width) / 2
    x1 = x0 + float(seat)
    board.line(view, (x0 + half, half), (x1 - half, half))
    board.line(view, (x0 + half, -half), (x1 - half, -half))
    board.arc(view, (x0 + half, 0), half, 90, 180)
    board.arc(view, (x1 - half, 0), half, -90, 180)


def _diameter_figure(shaft: Shaft, k: int, notation: Notation) -> Figure:
    size = shaft.diameters[k]
    if k != shaft.fitted or notation.fit is not None:
        return fitted(notation, size)
    if notation.unit == "mm":
        return limits(notation, size, FIT_MM[1], FIT_MM[0], 2, "diameter")
    if k % 2:
        return plus_minus(notation, size, Fraction(1, 1000), 3, "diameter")
    return limits(notation, size, FIT_INCH[1], FIT_INCH[0], 3, "diameter")


def dimensions(shaft: Shaft, notation: Notation, cut: bool, board: Board, view: View) -> None:
    """Dimension the side view; ``cut`` marks the plane of a cross-section through the keyseat."""
    _lengths(shaft, notation, board, view)
    _seat_dimensions(shaft, notation, cut, board, view)
    _diameters(shaft, notation, board, view)
    _callouts(shaft, notation, board, view)


def _lengths(shaft: Shaft, notation: Notation, board: Board, view: View) -> None:
    at = shaft.stations
    count = len(shaft.lengths)
    low = [-float(d) / 2 for d in shaft.diameters]
    feet = [low[0], *[min(low[k - 1], low[k]) for k in range(1, count)], low[-1]]
    order = range(count) if shaft.baseline else sorted(range(count), key=lambda k: -shaft.lengths[k])
    for k in order:  # the roomy links of a chain first: the tight ones then find what is left
        if shaft.baseline:
            figure = length(notation, at[k + 1])
            p, q = (0.0, feet[0]), (float(at[k + 1]), feet[k + 1])
            linear(board, view, f"L{k}", p, q, "x", figure, side="bottom", level=k)
        else:
            figure = length(notation, shaft.lengths[k])
            p, q = (float(at[k]), feet[k]), (float(at[k + 1]), feet[k + 1])
            linear(board, view, f"L{k}", p, q, "x", figure, side="bottom", level=0, chain="lengths", before=k == 0)
    if shaft.overall and not shaft.baseline:
        ends = (0.0, feet[0]), (float(at[-1]), feet[-1])
        linear(board, view, "L", *ends, "x", length(notation, at[-1]), side="bottom", level=1, chain="lengths:sum")


def _diameters(shaft: Shaft, notation: Notation, board: Board, view: View) -> None:
    at = [float(v) for v in shaft.stations]
    last = len(shaft.diameters) - 1
    for k in range(last + 1):
        r = float(shaft.diameters[k]) / 2
        figure = _diameter_figure(shaft, k, notation)
        if k == last and shaft.thread:
            continue
        if k in (0, last):
            x, side = (at[0], "left") if k == 0 else (at[-1], "right")
            inset = float(shaft.chamfer or 0) * (1 if k == 0 else -1)
            linear(board, view, f"D{k}", (x + inset, -r), (x + inset, r), "y", figure, side=side)
        else:
            middle = (at[k] + at[k + 1]) / 2
            _body_diameter(shaft, k, middle, figure, board, view)


def _cut_diameter(shaft: Shaft, k: int, notation: Notation) -> Fraction:
    threaded = shaft.thread is not None and k == len(shaft.diameters) - 1
    return shaft.diameters[k] if threaded else cut_size(_diameter_figure(shaft, k, notation))


def _body_diameter(shaft: Shaft, k: int, x: float, figure: Figure, board: Board, view: View) -> None:
    """A middle step's diameter: across the body where it is free and large, else by a leader."""
    r = float(shaft.diameters[k]) / 2
    seated = shaft.keyseat is not None and shaft.keyseat[0] == k
    roomy = view.length(2 * r) > 9 * board.style.text_mm and view.length(float(shaft.lengths[k])) > 22
    if roomy and not seated:
        linear(board, view, f"D{k}", (x, -r), (x, r), "y", figure, at=x, extend=False, slide=0.95)
        return
    px, py = view.exact(x, r)
    tip = (px + 0.2 * view.length(float(shaft.lengths[k])), py + view.slip("y", r))
    ends = (view.paper(x, -r), view.paper(x, r))
    leader(board, view, f"D{k}", tip, (60, 120, 75, 105), figure, ends)


def _seat_dimensions(shaft: Shaft, notation: Notation, cut: bool, board: Board, view: View) -> None:
    if not shaft.keyseat:
        return
    step, offset, seat, width = shaft.keyseat
    x0 = float(shaft.stations[step] + offset)
    x1, r = x0 + float(seat), float(shaft.diameters[step]) / 2
    half = float(width) / 2
    linear(board, view, "KL", (x0, half), (x1, half), "x", length(notation, seat), side="top", level=0)
    shoulder = float(shaft.stations[step])
    linear(board, view, "KX", (shoulder, r), (x0, half), "x", length(notation, offset), side="top", level=0)
    if cut:
        cut_mark(board, view, x0 + 0.5 * float(seat), r, "A")
        return
    note = joined(length(notation, width), "WIDE ×", length(notation, _seat_depth(shaft, notation)), "DEEP")
    px, py = view.exact(x1 - half * 1.5, half)
    tip = (px, py + view.slip("y", half))
    reach = (view.length(r) + board.style.first_level_mm + 7) / np.sin(np.pi / 3)
    ends = (view.paper(x0, -half), view.paper(x0, half))
    leader(board, view, "KW", tip, (60, 120, 75, 105), note, ends, reach=float(reach))


def _callouts(shaft: Shaft, notation: Notation, board: Board, view: View) -> None:
    at, r = float(shaft.stations[-1]), float(shaft.diameters[-1]) / 2
    cut = float(shaft.chamfer or 0)
    if shaft.thread:
        size = length(notation, shaft.diameters[-1])
        text = f"{size.text} - {shaft.thread}" if notation.unit == "in" else shaft.thread
        value = size.values[0]
        threaded = Value("thread", value.value, value.unit, value.style, value.place, name=text)
        x = at - 0.4 * float(shaft.lengths[-1])
        tip = (view.exact(x, r)[0], view.exact(x, r)[1] + view.slip("y", r))
        ends = (view.paper(x, -r), view.paper(x, r))
        leader(board, view, "TH", tip, (60, 45, 75), Figure(text, (threaded,)), ends)
    if shaft.chamfer:
        size = length(notation, shaft.chamfer)
        value = size.values[0]
        chamfer = Value("chamfer", value.value, value.unit, value.style, value.place)
        sharp = Value("angle", Fraction(45), "deg", "angle", Fraction(1))
        top = float(shaft.diameters[0]) / 2
        corner = np.add(view.paper(0, top - cut), view.paper(cut, top)) / 2
        figure = Figure(f"{size.text} × 45°", (chamfer, sharp))
        leader(board, view, "CH", (float(corner[0]), float(corner[1])), (125, 110, 140), figure)


def seat_section(shaft: Shaft, notation: Notation, board: Board, view: View) -> None:
    """Draw the cross-section at the keyseat."""
    assert shaft.keyseat is not None
    r, half = float(shaft.diameters[shaft.keyseat[0]]) / 2, float(shaft.keyseat[3]) / 2
    shoulder = float(np.sqrt(r * r - half * half))
    floor = _seat_floor(shaft, notation)
    open_deg = float(np.degrees(np.arcsin(half / r)))
    board.arc(view, (0, 0), r, 90 + open_deg, 360 - 2 * open_deg)
    board.path(view, [(-half, shoulder), (-half, floor), (half, floor), (half, shoulder)])
    angles = np.radians(90 + open_deg + np.linspace(0, 360 - 2 * open_deg, 60))
    rim = [(float(r * np.cos(a)), float(r * np.sin(a))) for a in angles]
    hatch(board, view, [*rim, (half, floor), (-half, floor)])
    board.cross(view, (0, 0), view.length(r) + 4)


def _seat_depth(shaft: Shaft, notation: Notation) -> Fraction:
    assert shaft.keyseat is not None
    step, _, _, width = shaft.keyseat
    return width / 2 if notation.unit == "in" else key_metric(shaft.diameters[step])[1]


def _seat_mouth(shaft: Shaft, notation: Notation) -> tuple[float, float]:
    """From where a keyseat's depth is measured: its side's corner in inches (ANSI B17.1), the crown of the shaft on its
    middle line in mm (t1 of DIN 6885-1)."""
    assert shaft.keyseat is not None
    r, half = float(shaft.diameters[shaft.keyseat[0]]) / 2, float(shaft.keyseat[3]) / 2
    return (half, float(np.sqrt(r * r - half * half))) if notation.unit == "in" else (0.0, r)


def _seat_floor(shaft: Shaft, notation: Notation) -> float:
    """Height of the keyseat's floor above the axis."""
    return _seat_mouth(shaft, notation)[1] - float(_seat_depth(shaft, notation))


def seat_section_dimensions(shaft: Shaft, notation: Notation, board: Board, view: View) -> None:
    """Dimension the cross-section: width and depth of the keyseat."""
    assert shaft.keyseat is not None
    width = shaft.keyseat[3]
    r, half = float(shaft.diameters[shaft.keyseat[0]]) / 2, float(width) / 2
    shoulder, floor = float(np.sqrt(r * r - half * half)), _seat_floor(shaft, notation)
    linear(board, view, "SW", (-half, shoulder), (half, shoulder), "x", length(notation, width), side="top")
    depth = length(notation, _seat_depth(shaft, notation))
    linear(board, view, "SD", (half, floor), _seat_mouth(shaft, notation), "y", depth, side="right")


def _section_plan(rng: Rng, shaft: Shaft, notation: Notation) -> ViewPlan | None:
    """Cross-section at the keyseat, at the sheet's scale or at twice that, on some sheets."""
    if shaft.keyseat is None or rng.random() < 0.45:
        return None
    r, twice = float(shaft.diameters[shaft.keyseat[0]]) / 2, bool(rng.random() < 0.5)
    return ViewPlan(
        "A-A", (-r, -r, r, r), (10.0, 22.0, 24.0, 22.0),
        lambda board, at: seat_section(shaft, notation, board, at),
        lambda board, at: seat_section_dimensions(shaft, notation, board, at),
        2.0 if twice else 1.0, "SECTION A-A",
    )  # fmt: skip


def plan(rng: Rng, notation: Notation) -> PartPlan:
    """A stepped shaft, ready to be drawn."""
    shaft = design(rng, notation)
    total, top = float(shaft.stations[-1]), float(max(shaft.diameters)) / 2
    levels = len(shaft.lengths) if shaft.baseline else 2
    cross = _section_plan(rng, shaft, notation)
    view = ViewPlan(
        "side",
        (0.0, -top, total, top),
        (26.0, 12.0 + 10.0 * levels, 26.0, 32.0),
        lambda board, at: outline(shaft, board, at),
        lambda board, at: dimensions(shaft, notation, cross is not None, board, at),
    )
    unit_mm2 = 25.4**2 if notation.unit == "in" else 1.0
    bevels = 4 * float(shaft.chamfer or 0) ** 2 / 2
    area = sum(float(a * b) for a, b in zip(shaft.lengths, shaft.diameters, strict=True)) - bevels
    cut = sum(float(a * _cut_diameter(shaft, k, notation)) for k, a in enumerate(shaft.lengths)) - bevels
    title = pick(rng, ("LAYSHAFT", "COUNTERSHAFT", "SPINDLE", "DRIVE SHAFT", "ROLLER SHAFT", "FEED SHAFT"))
    return PartPlan(
        "shaft",
        title,
        notation,
        (view, cross) if cross else (view,),
        areas=(("side", area * unit_mm2),),
        outlines=(("side", cut * unit_mm2),),
        material=pick(rng, ("M.S.", "C.R.S.", "STEEL", "TOOL STEEL")),
    )
