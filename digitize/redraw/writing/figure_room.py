"""Room for figures: each stands where the print has it, or as near as it does not run into another.

Glossary
--------
room
    What a figure takes up on the sheet: the box round its words, and the lines drawn with it.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely import LineString, MultiLineString, Polygon
from shapely.affinity import rotate
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from digitize.strokes.primitives import Point

ADVANCE = 0.8  # of the height of letters: how far apart they stand (ISO 3098-1, type B, about)
_STEPS = range(1, 9)  # half heights that a figure is moved by at most
_LINE_COST = 0.5  # heights of overlap that a line through a figure is as bad as, for each of its own length


@dataclass(frozen=True)
class Room:
    """Middle, size and turn of a figure's words in file units, and the lines that lead to it.

    ``in_line`` is True where they stand in a break of their dimension line and so can only be moved along it;
    ``led_from`` is where a leader begins that follows them.
    """

    at: Point
    width: float
    height: float
    turn_deg: float
    lines: tuple[tuple[Point, Point], ...]
    in_line: bool = False
    led_from: Point | None = None

    def leader(self, at: Point) -> LineString:
        """The leader, were its words at a place; empty where it has none."""
        return LineString() if self.led_from is None else LineString([self.led_from, at])

    def drawn(self, at: Point) -> BaseGeometry:
        """All its lines, were its words at a place."""
        return unary_union([self.leader(at), MultiLineString([LineString(each) for each in self.lines])])

    def box(self, at: Point) -> Polygon:
        """The box round the words, were they at a place."""
        (x, y), half, tall = at, self.width / 2, self.height / 2
        return rotate(box(x - half, y - tall, x + half, y + tall), self.turn_deg, origin=at)

    def places(self) -> Iterator[Point]:
        """Its own place, then others along its line of words and across it, the nearest first."""
        yield self.at
        turn, half = math.radians(self.turn_deg), self.height / 2
        along, across = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
        ways = (along,) if self.in_line else (along, across)
        for step in _STEPS:
            for (dx, dy), sign in ((each, sign) for each in ways for sign in (1.0, -1.0)):
                yield self.at[0] + sign * step * half * dx, self.at[1] + sign * step * half * dy


def width_of(words: str, height: float) -> float:
    """Room that a line of words takes, whatever lettering a reader of the file has."""
    return max(map(len, words.split("\n"))) * ADVANCE * height


def clear_places(rooms: Sequence[Room], edges: Sequence[BaseGeometry]) -> list[Point]:
    """A place for each figure's words at which they and their leader run into no other figure's, if one is near.

    Parameters
    ----------
    rooms : sequence of Room
        In the order in which they choose; at first each is thought to stand where the print has it.
    edges : sequence of shapely geometry
        Lines of the part: a figure stands on them only where it can't help it.
    """
    boxes = [room.box(room.at) for room in rooms]
    lines = [room.drawn(room.at) for room in rooms]
    part = unary_union(list(edges))
    places = []
    for number, room in enumerate(rooms):
        others = unary_union([each for other, each in enumerate(boxes) if other != number])
        drawn = unary_union([part, *(each for other, each in enumerate(lines) if other != number)])

        def cost(at: Point, room: Room = room, others: BaseGeometry = others, drawn: BaseGeometry = drawn) -> float:
            mine = room.box(at)
            crossed = mine.intersection(drawn).length + room.leader(at).intersection(others).length
            return float(mine.intersection(others).area) + _LINE_COST * room.height * float(crossed)

        best = min(room.places(), key=lambda at: round(cost(at) / room.height**2, 3))
        places.append(best)
        boxes[number], lines[number] = room.box(best), room.drawn(best)
    return places
