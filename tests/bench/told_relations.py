"""What figures say of a sheet's true strokes, and what a drafter keeps without one (see `told`)."""

import math
from collections.abc import Iterable, Iterator

import numpy as np

from calibrate.sheet import FloatArray
from tests.bench.records import Record, project
from tests.bench.told_stations import SAME_MM, Knowns, laid, radius_of

FINEST_MM = 0.02  # of paper, for a pen without error
CHAMFER_MM = 0.5  # of paper: how near the legs of an edge come to a chamfer's figure
ANGLE_DEG = 3.0  # how near an edge stands to the angle that a figure says
ROUND = ("diameter", "thread")
Middle = tuple[int, float]
"""A centre line: 0 for an upright one, 1 for a level one, and where it stands."""


def tangents(knowns: Knowns, view: str, strokes: list[Record]) -> None:
    """An arc that runs out into a level or upright line lies its radius away from it."""
    for arc in (each for each in strokes if each["type"] == "arc" and abs(each["sweep_deg"]) < 360):
        ends = [laid(arc).coords[k] for k in (0, -1)]
        for line in (each for each in strokes if each["type"] == "line"):
            if any(math.dist(end, at) <= SAME_MM for end in ends for at in (line["p0"], line["p1"])):
                for axis, what in enumerate("xy"):
                    place, other = line["p0"][axis], line["p1"][axis]
                    off = place - arc["centre"][axis]
                    if abs(place - other) < FINEST_MM and abs(abs(off) - arc["radius"]) < 2 * SAME_MM:
                        terms = {knowns.at(view, what, arc["centre"][axis]): 1.0, knowns.at(view, what, place): -1.0}
                        knowns.say(terms | {radius_of(knowns, view, arc): math.copysign(1.0, off)})


def middles_of(strokes: list[Record]) -> Iterator[Middle]:
    """The level and upright centre lines."""
    for each in (one for one in strokes if one["role"] == "centre" and one["type"] == "line"):
        yield from ((axis, each["p0"][axis]) for axis in (0, 1) if abs(each["p0"][axis] - each["p1"][axis]) < FINEST_MM)


def figures(knowns: Knowns, truth: Record, edges: dict[str, list[Record]], middles: dict[str, list[Middle]]) -> None:
    """What the figures of all views say."""
    paper_from_source = np.linalg.inv(np.array(truth["source_from_paper"]))
    for each in (one for one in truth["dimensions"] if one["view"] in edges):
        view = next(one for one in truth["views"] if one["id"] == each["view"])
        size_mm = (each["value"] or 0.0) * (25.4 if each["unit"] == "in" else 1.0) / view["scale"]
        slants = [s for s in edges[view["id"]] if s["type"] == "line" and _slanted(s)]
        if each["kind"] == "chamfer":
            _chamfers(knowns, view["id"], slants, size_mm)
        elif each["kind"] == "angle":
            _angles(knowns, view["id"], slants, each["value"])
        elif each["first_px"] is not None:
            first, second = project(paper_from_source, [each["first_px"], each["second_px"]])
            across = _span(knowns, view["id"], edges[view["id"]], first, second, size_mm)
            if across is not None and each["kind"] in ROUND:
                _about_axis(knowns, view["id"], *across, middles[view["id"]])


def _slanted(line: Record) -> bool:
    return all(abs(a - b) > FINEST_MM for a, b in zip(line["p0"], line["p1"], strict=True))


def _chamfers(knowns: Knowns, view: str, slants: list[Record], size_mm: float) -> None:
    for line in slants:
        legs = [abs(a - b) for a, b in zip(line["p0"], line["p1"], strict=True)]
        if max(abs(leg - size_mm) for leg in legs) <= CHAMFER_MM:
            for axis, what in enumerate("xy"):
                ends = (knowns.at(view, what, line[end][axis]) for end in ("p0", "p1"))
                knowns.say({next(ends): 1.0, next(ends): -1.0})


def _angles(knowns: Knowns, view: str, slants: list[Record], value_deg: float) -> None:
    for line in slants:
        (x0, y0), (x1, y1) = line["p0"], line["p1"]
        turn = math.degrees(math.atan2(abs(y1 - y0), abs(x1 - x0)))
        if min(abs(turn - value_deg), abs(90 - turn - value_deg)) <= ANGLE_DEG:
            slope = (y1 - y0) / (x1 - x0)
            knowns.say({
                knowns.at(view, "y", y1): 1.0, knowns.at(view, "y", y0): -1.0,
                knowns.at(view, "x", x1): -slope, knowns.at(view, "x", x0): slope,
            })  # fmt: skip


def _span(
    knowns: Knowns, view: str, edges: list[Record], first: FloatArray, second: FloatArray, size_mm: float
) -> tuple[int, float, int, int] | None:
    """A figure from one place to another: a circle's size, or how far two stations are apart; these with their axis
    and the middle between them."""
    length, middle = math.dist(first, second), (first + second) / 2
    for arc in (each for each in edges if each["type"] == "arc"):
        at, radius = arc["centre"], arc["radius"]
        across = math.dist(at, middle) <= SAME_MM and abs(length / 2 - radius) <= SAME_MM
        out = any(math.dist(at, end) <= SAME_MM for end in (first, second)) and abs(length - radius) <= SAME_MM
        if across or out:
            knowns.say({radius_of(knowns, view, arc): 1.0})
            return None
    off = np.abs(second - first)
    axis = int(np.argmin(np.abs(off - size_mm)))
    if off[1 - axis] <= SAME_MM:
        axis = int(np.argmax(off))
    ends = [knowns.near(view, "xy"[axis], float(end[axis])) for end in (first, second)]
    if ends[0] is None or ends[1] is None or ends[0] == ends[1]:
        return None
    knowns.say({ends[1]: 1.0, ends[0]: -1.0})
    return axis, float(middle[axis]), ends[0], ends[1]


def _about_axis(
    knowns: Knowns, view: str, axis: int, middle: float, one: int, other: int, middles: list[Middle]
) -> None:
    """What a diameter measures across a view is round about the centre line there."""
    place = min((at for of, at in middles if of == axis), key=lambda at: abs(at - middle), default=None)
    if place is not None:
        knowns.say({one: 1.0, other: 1.0, knowns.at(view, "xy"[axis], place): -2.0})


def symmetry(knowns: Knowns, view: Record, middles: list[Middle], slack: float) -> None:
    """Of two stations that are each other's image in a centre line through the middle of a view, each the nearest to
    it, one is as far as the other."""
    box, name = view["box_paper_mm"], view["id"]
    for axis, middle in dict.fromkeys(middles):
        if abs(box[axis] + box[2 + axis] - 2 * middle) > slack:
            continue
        own = knowns.at(name, "xy"[axis], middle)
        places = {place: number for place, number in knowns.stations(name, "xy"[axis]).items() if number != own}
        image = {at: _nearest(2 * middle - at, places) for at in places}
        for one, other in image.items():
            if one < other and image[other] == one and abs(one + other - 2 * middle) <= slack:
                knowns.say({places[one]: 1.0, places[other]: 1.0, own: -2.0})


def _nearest(place: float, places: Iterable[float]) -> float:
    return min(places, key=lambda each: abs(each - place))


def level(knowns: Knowns, one: str, other: str, edges: dict[str, list[Record]], slack: float) -> None:
    """Two views side by side of one scale: their stations, and the tops and bottoms of circles, at one height are one,
    but for the one distance between their frames."""
    between = knowns.at(f"{one} {other}", "y", 0.0)
    mine, theirs = (_heights(knowns, view, edges[view]) for view in (one, other))
    for place, terms in mine.items():
        nearest = _nearest(place, theirs)
        if _nearest(nearest, mine) == place and abs(place - nearest) <= slack:
            knowns.say(terms | {number: -factor for number, factor in theirs[nearest].items()} | {between: 1.0})


def _heights(knowns: Knowns, view: str, edges: list[Record]) -> dict[float, dict[int, float]]:
    found = {place: {number: 1.0} for place, number in knowns.stations(view, "y").items()}
    for arc in (each for each in edges if each["type"] == "arc" and abs(each["sweep_deg"]) == 360):
        centre, radius = knowns.at(view, "y", arc["centre"][1]), radius_of(knowns, view, arc)
        found |= {arc["centre"][1] + side * arc["radius"]: {centre: 1.0, radius: side} for side in (-1.0, 1.0)}
    return found
