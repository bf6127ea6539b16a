"""What every stroke is for, rule by rule; the first rule that knows decides.

Order: frame and tables, ticks, halves of dimension lines, circles round items, machining marks, hatching, ends of
cutting planes, arrowheads (dimension, extension, leader), arcs of angles, centre marks of circles, what carries on
lines of known roles, dashed lines broken for a figure, dash pattern; what is left is an edge, but for what was drawn
too finely for one. What looked like a head on a section line was the edge that it ends on.
"""

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.heads.ticks import tick_strokes
from digitize.strokes.page import Page
from digitize.strokes.primitives import Role
from digitize.strokes.roles.angle_arcs import find_angle_arcs
from digitize.strokes.roles.cutting_ends import find_cutting_ends
from digitize.strokes.roles.dimensioning import carry_on, find_dimensions
from digitize.strokes.roles.edges import find_edges
from digitize.strokes.roles.finish_marks import find_finish_marks
from digitize.strokes.roles.framing import frame_and_tables
from digitize.strokes.roles.halves import find_broken_dashed, join_halves
from digitize.strokes.roles.hatching import find_hatching
from digitize.strokes.roles.item_circles import find_item_circles

CENTRE_REACH_MM = 0.6
OVERHANG = 1.0
"""A centre mark is at least as long as its circle is wide, times this."""


def give_roles(page: Page) -> tuple[Page, list[list[int]]]:
    """Give every stroke a role.

    Returns
    -------
    page : Page
        With halves of dimension lines joined and no role None.
    tables : list of list of int
        The rules of each table, as numbers in that page.
    """
    page = join_halves(page)
    tables = frame_and_tables(page)
    page.give(tick_strokes(page.ground, page.table, page.heads), Role.DIMENSION)
    find_item_circles(page)
    find_finish_marks(page)
    find_hatching(page)
    page.heads = [head for head in page.heads if head.piece < 0 or page.roles[head.piece] is not Role.HATCH]
    find_cutting_ends(page)
    find_dimensions(page)
    find_angle_arcs(page)
    _centre_marks(page)
    carry_on(page)
    find_broken_dashed(page)
    _by_dash(page)
    find_edges(page)
    return page, tables


def _by_dash(page: Page) -> None:
    """Hidden, centre, cutting and phantom lines by their pattern and pen."""
    for k in page.unknown():
        dash = page.pieces[k].dash
        if dash == "dashed":
            page.give([k], Role.HIDDEN)
        elif dash == "chain":
            thick = page.pens.parting is not None and page.is_thick(k)
            page.give([k], Role.CUTTING if thick else Role.CENTRE)
        elif dash == "double_chain":
            page.give([k], Role.PHANTOM)


def _centre_marks(page: Page) -> None:
    """Thin solid lines through the centre of a circle, from side to side."""
    if page.pens.parting is None:
        return
    for circle in page.pieces:
        track = circle.track
        if track.kind != ARC or circle.length < 0.5 * track.period:
            continue
        for k in page.table.near(track.x, track.y, page.px(CENTRE_REACH_MM)).tolist():
            piece, reach = page.pieces[k], OVERHANG * track.radius
            if piece.track.kind != LINE or piece.dash != "solid" or not page.is_thin(k):
                continue
            s = piece.track.s_of(track.x, track.y)
            if piece.s0 <= s - reach and s + reach <= piece.s1:
                page.give([k], Role.CENTRE)
