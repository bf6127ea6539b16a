"""Corners that mark where a cutting plane ends: two short strokes of the edges' pen in the open, square to each other.

ISO 128-3 and ASME Y14.3 end a cutting plane in a short thick stroke and a leg that points the way one looks, often with
an arrowhead. The plane between its ends is often not drawn, so that no chain line tells what they are. Section lines
end on edges alone, and where one does the barb it makes is taken for a head.
"""

import math

import numpy as np

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role

LEG_MM = (2.0, 8.0)
"""How long the two strokes are; a shorter stroke beside them is a crumb."""
MEET_MM = 0.8
"""Strokes that come no nearer do not meet."""
SQUARE = math.sin(math.radians(3.0))


def find_cutting_ends(page: Page) -> None:
    """Give the cutting role to both strokes of corners that nothing else meets or, of the thick pen, one has a head."""
    legs = {k for k in page.unknown() if _may_be_leg(page, k)}
    headed = {head.piece for head in page.heads if page.pens.parting is not None}
    for one in sorted(legs):
        met = _met(page, one)
        for other in sorted(met & legs):
            corner = {one, other}
            if _square(page.pieces[one], page.pieces[other], page.px(MEET_MM)):
                beside = met | _met(page, other)
                cut = any(page.roles[n] is Role.HATCH for n in beside)
                told = (bool(corner & headed) and not cut) or beside == corner
                page.give([one, other] if told else [], Role.CUTTING)


def _may_be_leg(page: Page, k: int) -> bool:
    piece, (least, most) = page.pieces[k], (page.px(each) for each in LEG_MM)
    return piece.track.kind == LINE and piece.dash == "solid" and least <= piece.length <= most and page.is_thick(k)


def _square(one: Piece, other: Piece, near_px: float) -> bool:
    """Whether two lines meet in their ends and are square to each other."""
    gap = min(math.dist(a, b) for a in (one.start, one.end) for b in (other.start, other.end))
    cosine = one.track.dx * other.track.dx + one.track.dy * other.track.dy
    return gap <= near_px and abs(cosine) <= SQUARE


def _met(page: Page, k: int) -> set[int]:
    """Numbers of a line and of all strokes that it meets, crumbs left out."""
    piece, near, least = page.pieces[k], page.px(MEET_MM), page.px(LEG_MM[0])
    places = piece.track.at(np.linspace(piece.s0, piece.s1, 1 + math.ceil(piece.length / near)))
    met = {n for x, y in places.tolist() for n in page.touching(x, y, MEET_MM)}
    return {n for n in met if page.pieces[n].length >= least}
