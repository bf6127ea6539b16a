"""Circles round the number of an item, with the line that leads from them to what it names.

ISO 6433 lets item references stand in circles, at the end of a leader line (from memory); offices marked parts and
changes so as well. Such a circle is as large as its lettering needs, holds nothing else, and no centre line crosses it.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role

RADIUS_MM = (2.0, 10.0)
LEAST_TURN = 0.9
"""So much of the circle is there."""
WITHIN = 0.88
"""Looked at is what lies within this part of its radius ..."""
DEEP, LONG = (0.3, 1.3), 1.75
"""... of which the lettering is so deep, and no longer, in radii, ..."""
OFF_CENTRE = 0.25
"""... with its middle no further from the centre, ..."""
MOST_INK = 0.004
"""... and strokes cover no more of the area than specks do."""
MEETS_MM = 0.7
"""A leader ends no further from the circle, ..."""
AIMS = 0.4
"""... and aims past its centre by no more, in radii."""
ALIKE = 0.04
"""Circles round items are drawn with one template: their radii differ by no more than this share."""


def find_item_circles(page: Page) -> None:
    """Give the leader role to circles round items, and to the lines that end on them and aim at their centres.

    A lone 1 is a stroke and not lettering: a circle as large as one that holds lettering may hold that.
    """
    circles = [k for k in page.unknown() if _may_hold_item(page, page.pieces[k])]
    lettered = [k for k in circles if _holds_figure(page, page.pieces[k], page.ground.lettering, page.ground.ink)]
    sizes = [page.pieces[k].track.radius for k in lettered]
    for k in circles:
        circle = page.pieces[k]
        alike = any(abs(circle.track.radius - size) <= ALIKE * size for size in sizes)
        if k in lettered or (alike and _holds_figure(page, circle, page.ground.ink, page.ground.lettering)):
            inside = [n for n in page.unknown() if n != k and _lies_in(page.pieces[n], circle)]
            page.give([k, *_leaders_of(page, circle), *inside], Role.LEADER)


def _may_hold_item(page: Page, circle: Piece) -> bool:
    least, most = (page.px(each) for each in RADIUS_MM)
    track = circle.track
    return track.kind == ARC and least <= track.radius <= most and circle.length >= LEAST_TURN * track.period


def _holds_figure(page: Page, circle: Piece, figure: NDArray[np.bool_], other: NDArray[np.bool_]) -> bool:
    """Does the ink of one picture lie in a circle as a figure does, and next to none of the other?"""
    radius = circle.track.radius
    x, y = page.ground.in_picture(np.array([circle.track.x, circle.track.y])).tolist()
    reach = WITHIN * radius
    left, top = math.floor(x - reach), math.floor(y - reach)
    right, bottom = math.ceil(x + reach) + 1, math.ceil(y + reach) + 1
    if left < 0 or top < 0 or bottom > len(figure) or right > figure.shape[1]:
        return False
    rows, columns = np.mgrid[top:bottom, left:right]
    inside = np.hypot(columns - x, rows - y) <= reach
    if (other[top:bottom, left:right] & inside).sum() > MOST_INK * inside.sum():
        return False
    seen = figure[top:bottom, left:right] & inside
    if not seen.any():
        return False
    ys, xs = rows[seen], columns[seen]
    short, long = sorted((np.ptp(ys) / radius, np.ptp(xs) / radius))
    middle = (xs.min() + xs.max()) / 2 - x, (ys.min() + ys.max()) / 2 - y
    fits = DEEP[0] <= long <= LONG and short <= DEEP[1]
    return bool(fits and math.hypot(*middle) <= OFF_CENTRE * radius)


def _lies_in(piece: Piece, circle: Piece) -> bool:
    track = circle.track
    places = (piece.start, piece.middle, piece.end)
    return all(math.dist(place, (track.x, track.y)) < WITHIN * track.radius for place in places)


def _leaders_of(page: Page, circle: Piece) -> list[int]:
    """Numbers of the lines that end on a circle and aim at its centre."""
    track, near = circle.track, page.px(MEETS_MM)
    found = []
    for k in page.unknown():
        line = page.pieces[k]
        if line.track.kind != LINE or line.dash != "solid":
            continue
        ends = (math.dist(end, (track.x, track.y)) for end in (line.start, line.end))
        aims = abs((track.x - line.track.x) * line.track.dy - (track.y - line.track.y) * line.track.dx)
        if min(abs(distance - track.radius) for distance in ends) <= near and aims <= AIMS * track.radius:
            found.append(k)
    return found
