"""The little drawings of the inspection sheet, as lines and words in millimetres of paper, y up.

They are drawn from the same outline that goes into a DXF, at a scale that is said under each.
"""

from math import atan2, cos, pi, sin, sqrt

import numpy as np

from digitize.gears.bore import Keyseat, chordal_height_mm
from digitize.gears.desk.bench_board import OUTLINE_ERROR_MM, PEN_MM, Board, Drawing, Floats, Stroke
from digitize.gears.desk.work import Work
from digitize.gears.teeth.arcs import bore_in_arcs, flattened, teeth_in_arcs
from digitize.gears.teeth.inspection import (
    half_thickness_angle_deg,
    over_pins_centre_mm,
    span,
    usual_span_teeth,
)
from digitize.gears.teeth.tooth import GearSpec

SHOWN_PITCHES = 0.62
"""Of the outline to either side of the tooth that is drawn by itself: the space, but not the next tooth's side."""
SCALES = (20.0, 10.0, 5.0, 4.0, 2.0, 1.0, 0.5, 0.25, 0.2, 0.1, 0.05)
"""Paper over part, largest first (ISO 5455, and 1:4)."""


def _scale(room_mm: float, size_mm: float) -> float:
    return next((scale for scale in SCALES if scale * size_mm <= room_mm), SCALES[-1])


def _turned(points: Floats, turn_rad: float) -> Floats:
    ring = (points @ np.array([1, 1j])) * np.exp(1j * turn_rad)
    return np.column_stack([ring.real, ring.imag])


def _free_scale(largest: float) -> float:
    """A scale of a detail, which nobody lays a part on: to a tenth."""
    return max(int(10 * largest), 1) / 10


def tooth_drawing(gear: GearSpec, width_mm: float, height_mm: float) -> Drawing:
    """One tooth with its chordal thickness and addendum."""
    half = np.radians(half_thickness_angle_deg(gear))
    chord = gear.pitch_radius_mm * sin(half)
    level = gear.pitch_radius_mm * cos(half)
    depth = gear.tip_radius_mm - gear.root_radius_mm
    scale = _free_scale(min(0.32 * width_mm / (pi * gear.module_mm / 2), (height_mm - 10) / depth))
    top = (height_mm + scale * depth) / 2
    board = Board(width_mm, height_mm, scale, (0.42 * width_mm, top - scale * gear.tip_radius_mm))
    board.line(_near_the_top(gear, board, scale), width_mm=PEN_MM)
    board.line([(-chord, level), (chord, level)])
    low = level - 0.25 * gear.module_mm
    board.measure((-chord, low), (chord, low), "thickness", -1.0)
    away = chord + 1.1 * gear.module_mm
    board.line([(chord, level), (away + 0.1 * gear.module_mm, level)])
    board.line([(0, gear.tip_radius_mm), (away + 0.1 * gear.module_mm, gear.tip_radius_mm)])
    board.measure((away, level), (away, gear.tip_radius_mm), "addendum", 1.0)
    return board.done("Chordal thickness and addendum")


def _near_the_top(gear: GearSpec, board: Board, scale: float) -> Floats:
    """The run of the outline that lies inside the box, left to right."""
    points = flattened(teeth_in_arcs(gear), OUTLINE_ERROR_MM / scale)
    angles = np.arctan2(-points[:, 0], points[:, 1])
    reach = SHOWN_PITCHES * 2 * pi / gear.teeth
    near = np.abs(angles) < reach
    return points[near][np.argsort(angles[near])]


def gear_drawing_for_bench(work: Work, width_mm: float, height_mm: float, pin_mm: float | None) -> Drawing:
    """The whole gear with span, pins and the places of run-out."""
    gear, body = work.gear, work.body
    scale = _scale(min(width_mm, height_mm) - 16, 2 * gear.tip_radius_mm)
    board = Board(width_mm, height_mm, scale, (width_mm / 2, height_mm / 2 - 1))
    k = usual_span_teeth(gear)
    turn = 0.0 if k % 2 else pi / gear.teeth
    board.line(_turned(flattened(teeth_in_arcs(gear), OUTLINE_ERROR_MM / scale), turn), width_mm=PEN_MM, closed=True)
    board.circle((0, 0), gear.pitch_radius_mm, dashed=True)
    if body.bore_mm is not None:
        bore = flattened(bore_in_arcs(body.bore_mm, body.keyseat), OUTLINE_ERROR_MM / scale)
        board.line(bore, width_mm=PEN_MM, closed=True)
    if body.hub_mm is not None:
        board.circle((0, 0), body.hub_mm / 2)
    _add_span(board, gear, k)
    if pin_mm is not None:
        _add_pins(board, gear, pin_mm, turn)
    _add_letters(board, work)
    return board.done("Span, pins and places of run-out")


def _add_span(board: Board, gear: GearSpec, k: int) -> None:
    size = span(gear, k)
    if not size.usable or size.touch_diameter_mm is None:
        return
    half = size.value_mm / 2
    touch = sqrt(size.touch_diameter_mm**2 / 4 - half**2)
    top = gear.tip_radius_mm + 4.5 / board.scale
    for x in (-half, half):
        board.line([(x, touch - 1.5 / board.scale), (x, top)])
    board.measure((-half, top - 1 / board.scale), (half, top - 1 / board.scale), f"over {k} teeth")


def _add_pins(board: Board, gear: GearSpec, pin_mm: float, turn: float) -> None:
    radius = over_pins_centre_mm(gear, pin_mm)
    step = 2 * pi / gear.teeth
    # Spaces lie half a pitch from the tooth on the +y axis; the first pin goes into the one nearest the -x axis.
    first = pi / 2 + turn + step / 2 + step * round((pi - pi / 2 - turn - step / 2) / step)
    other = first + step * (gear.teeth // 2)
    centres = [(radius * cos(a), radius * sin(a)) for a in (first, other)]
    for centre in centres:
        board.circle(centre, pin_mm / 2, width_mm=PEN_MM)
    along = atan2(centres[1][1] - centres[0][1], centres[1][0] - centres[0][0])
    for (x, y), sign in zip(centres, (-1, 1), strict=True):
        touch = (x + sign * pin_mm / 2 * cos(along), y + sign * pin_mm / 2 * sin(along))
        reach = 0.6 * pin_mm + 2 / board.scale
        across = (-reach * sin(along), reach * cos(along))
        board.line([(touch[0] - across[0], touch[1] - across[1]), (touch[0] + across[0], touch[1] + across[1])])


def _add_letters(board: Board, work: Work) -> None:
    """Letters of the places of run-out, where the table of places says."""
    gear, gap = work.gear, 2.2 / board.scale
    turn = -pi / 5
    reach = gear.tip_radius_mm + gap
    board.word("A", reach * cos(turn), reach * sin(turn), "start", True)
    board.word("B", -reach - 0.6 * gap, -0.12 * gear.tip_radius_mm, "end", True)
    inner = gear.root_radius_mm - 1.6 * gap
    board.word("C", inner * cos(turn), inner * sin(turn) - gap / 2, "middle", True)
    hub = work.body.hub_mm
    if hub is not None:
        board.word("D", (hub / 2 + gap) * cos(turn), (hub / 2 + gap) * sin(turn) - gap / 2, "middle", True)


def keyseat_drawing(bore_mm: float, seat: Keyseat, width_mm: float, height_mm: float) -> Drawing:
    """The bore with its keyseat and the three ways of giving its depth."""
    radius = bore_mm / 2
    flat = radius - chordal_height_mm(bore_mm, seat.width_mm)
    top = flat + seat.depth_at_side_mm
    scale = _free_scale(min(0.52 * width_mm, height_mm - 16) / (radius + top))
    board = Board(width_mm, height_mm, scale, (0.42 * width_mm, height_mm / 2 - scale * (top - radius) / 2))
    board.line(flattened(bore_in_arcs(bore_mm, seat), OUTLINE_ERROR_MM / scale), width_mm=PEN_MM, closed=True)
    half, away = seat.width_mm / 2, radius + 4 / scale
    right = away + 14 / scale
    board.line([(half, top), (right + 1.5 / scale, top)])
    board.line([(half, flat), (away + 1.5 / scale, flat)])
    board.measure((away, flat), (away, top), "side", 1.0)
    board.line([(0, -radius), (right + 1.5 / scale, -radius)])
    board.measure((right, -radius), (right, top), "over", 1.0)
    left = -radius - 4 / scale
    board.line([(-half, top), (left - 1.5 / scale, top)])
    board.line([(0, radius), (left - 1.5 / scale, radius)], dashed=True)
    board.measure((left, radius), (left, top), "centre", -1.0)
    board.measure((-half, top + 3 / scale), (half, top + 3 / scale), "width")
    return board.done("Keyseat, three ways of giving its depth")


def scale_bar(length_mm: float, text: str) -> Drawing:
    """A bar that must measure what it says when the sheet was printed at its own size."""
    ticks = tuple(Stroke(((x, 1.0), (x, 4.0))) for x in (0.5, length_mm + 0.5))
    bar = Stroke(((0.5, 2.5), (length_mm + 0.5, 2.5)), PEN_MM)
    return Drawing(text, length_mm + 1, 5.0, (bar, *ticks), ())
