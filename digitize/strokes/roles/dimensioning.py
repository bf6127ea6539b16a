"""Dimension lines, extension lines and leaders, told by their arrowheads.

Glossary
--------
tails
    Two lines on one track whose heads point at each other: a dimension drawn from outside.
shoulder
    The short level end of a leader, beside its note.
bow
    A thin arc with two heads along it that point opposite ways: the dimension line of an angle.
"""

import math
from dataclasses import replace

import numpy as np

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.heads.head import Head
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role
from digitize.strokes.roles.headed import (
    ON_LINE_MM,
    WIDEST_FIGURE_MM,
    Ended,
    collinear,
    headed_lines,
    pairs_within,
)
from digitize.strokes.table import s_at

ACROSS_SINE = 0.4
"""An extension line stands across its dimension line at more than about 24 degrees."""
OVERRUN_MM = 6.0
TIP_REACH_MM = 0.5
FARTHEST_EXTENSION_MM, FARTHEST_LEADER_MM = 60.0, 6.0
SHOULDER_MM = 15.0
BOW_TURN_DEG = 20.0
"""A head at the end of an arc is drawn straight, its tip on the arc: it leans from the tangent by this at most."""


def find_dimensions(page: Page) -> None:
    """Give dimension, extension and leader roles by arrowheads."""
    ended = headed_lines(page)
    by_piece: dict[int, list[Ended]] = {}
    for e in ended:
        by_piece.setdefault(e.piece, []).append(e)
    facing = _tails(page, ended)
    for piece, ends in sorted(by_piece.items()):
        if len(ends) == 1 and page.pieces[piece].dash in ("chain", "double_chain"):
            continue
        if len({e.at_end for e in ends}) == 2 or piece in facing or _has_upright_tip(page, ends[0]):
            page.give([piece], Role.DIMENSION)
    for piece, ends in sorted(by_piece.items()):
        if page.roles[piece] is None and page.pieces[piece].dash == "solid":
            page.give([piece], Role.LEADER)
            _shoulder(page, piece, ends[0])
    for e in ended:
        if (role := page.roles[e.piece]) is not None:
            page.give(_under_head(page, e), role)
    for e in ended + _bows(page):
        if page.roles[e.piece] == Role.DIMENSION:
            _extensions(page, e)


def carry_on(page: Page) -> None:
    """Give extension and leader roles on to what other strokes cut off such lines."""
    _continue(page, Role.EXTENSION, FARTHEST_EXTENSION_MM)
    _continue(page, Role.LEADER, FARTHEST_LEADER_MM)


def _bows(page: Page) -> list[Ended]:
    """Give the dimension role to bows; return their ends."""
    by_arc: dict[int, list[Ended]] = {}
    for e in heads_along_arcs(page):
        if page.is_thin(e.piece):
            by_arc.setdefault(e.piece, []).append(e)
    bows = {k: ends for k, ends in sorted(by_arc.items()) if sorted(e.at_end for e in ends) == [False, True]}
    page.give(list(bows), Role.DIMENSION)
    return [e for ends in bows.values() for e in ends]


def heads_along_arcs(page: Page) -> list[Ended]:
    """All arcs that are no full circles with the heads that lie and point along them."""
    found, reach = [], page.px(TIP_REACH_MM)
    for n, head in enumerate(page.heads):
        # Beyond its end an arc may lie off a tip by the reach along it and across.
        for k in page.table.near(head.x, head.y, 1.5 * reach).tolist():
            piece = page.pieces[k]
            if piece.track.kind == ARC and not piece.closed and (way := _way_along(page, k, n)):
                found.append(Ended(k, n, way > 0))
    return found


def _way_along(page: Page, k: int, n: int) -> int:
    """Which way a head on an arc points along it: 1 with growing s, -1 against it, 0 where it is not along the arc."""
    piece, head = page.pieces[k], page.heads[n]
    middle = 0.5 * (piece.s0 + piece.s1)
    s = s_at(page.table.rows[k], head.x, head.y, middle)
    reach = page.px(TIP_REACH_MM)
    if abs(s - middle) > 0.5 * piece.length + reach or math.dist(piece.track.point(s), (head.x, head.y)) > reach:
        return 0
    hx, hy = piece.track.heading(s)
    cosine = hx * head.dx + hy * head.dy
    return 0 if abs(cosine) < math.cos(math.radians(BOW_TURN_DEG)) else int(math.copysign(1, cosine))


def _continue(page: Page, role: Role, farthest_mm: float) -> None:
    """Give a role on to thin solid lines that carry on a line of that role beyond a stroke that covers or cuts it."""
    if page.pens.parting is None:
        return
    known = [k for k, given in enumerate(page.roles) if given == role and page.pieces[k].track.kind == LINE]
    for n in known:
        line = page.pieces[n]
        longer = replace(line, s0=line.s0 - page.px(farthest_mm), s1=line.s1 + page.px(farthest_mm))
        page.give([k for k in page.table.along(longer, page.px(ON_LINE_MM)) if _carries_on(page, line, k)], role)


def _carries_on(page: Page, line: Piece, k: int) -> bool:
    """Whether a stroke is a thin solid line on the track of another one, beyond its ends."""
    piece = page.pieces[k]
    if piece.track.kind != LINE or piece.dash != "solid" or not page.is_thin(k) or not collinear(page, line, piece):
        return False
    s, _ = line.track.place(np.array([piece.start, piece.end]))
    return bool(max(float(s.min()) - line.s1, line.s0 - float(s.max())) >= 0.0)


def _tails(page: Page, ended: list[Ended]) -> set[int]:
    """Lines whose heads point at each other."""
    found = set()
    heads = [page.heads[e.head] for e in ended]
    for n, m in pairs_within([(head.x, head.y) for head in heads], page.px(WIDEST_FIGURE_MM)):
        a, b = ended[n].piece, ended[m].piece
        x, y = heads[m].x - heads[n].x, heads[m].y - heads[n].y
        towards = heads[n].dx * x + heads[n].dy * y > 0 > heads[m].dx * x + heads[m].dy * y
        if a != b and towards and collinear(page, page.pieces[a], page.pieces[b]):
            found |= {a, b}
    return found


def _has_upright_tip(page: Page, e: Ended) -> bool:
    """Whether a lone head on a level or upright line stands square on a thin line, as that of a dimension does."""
    head = page.heads[e.head]
    if not (page.is_level(e.piece) or page.is_upright(e.piece)):
        return False
    return any(_is_across(page, n, head) and page.is_thin(n) for n in _at_tip(page, head, e.piece))


def _at_tip(page: Page, head: Head, owner: int) -> list[int]:
    return [n for n in page.touching(head.x, head.y, TIP_REACH_MM) if n != owner]


def _under_head(page: Page, e: Ended) -> list[int]:
    """What lies between a head's tip and its line where an edge parts the two: the head's ink makes it broad."""
    head, line = page.heads[e.head], page.pieces[e.piece]
    reach = page.px(TIP_REACH_MM)
    tip = float(line.track.place(np.array([(head.x, head.y)]))[0][0])
    low, high = (line.s1 - reach, tip + reach) if e.at_end else (tip - reach, line.s0 + reach)

    def is_between(n: int) -> bool:
        piece = page.pieces[n]
        if piece.track.kind != LINE or piece.dash != "solid" or not collinear(page, line, piece):
            return False
        s, _ = line.track.place(np.array([piece.start, piece.end]))
        return bool(low <= s.min() and s.max() <= high)

    return [n for n in _at_tip(page, head, e.piece) if is_between(n)]


def _is_across(page: Page, n: int, head: Head) -> bool:
    """Whether a stroke is a line that stands across a head's direction."""
    track = page.pieces[n].track
    return track.kind == LINE and abs(track.dx * head.dy - track.dy * head.dx) >= ACROSS_SINE


def _extensions(page: Page, e: Ended) -> None:
    """Give the extension role to the thin line at a tip, and to its parts on the same track."""
    head = page.heads[e.head]
    for n in _at_tip(page, head, e.piece):
        piece = page.pieces[n]
        if page.roles[n] is not None or not _is_across(page, n, head) or not page.is_thin(n):
            continue
        if piece.dash in ("chain", "double_chain"):
            continue
        if _ends_free(page, n, e):
            page.give([n], Role.EXTENSION)


def _ends_free(page: Page, n: int, e: Ended) -> bool:
    """Whether a line ends on nothing at one end, as an extension line does; an edge ends on other edges.

    Where one pen drew everything, the free end must lie a little past the tip.
    """
    piece, head = page.pieces[n], page.heads[e.head]
    farthest = math.inf if page.pens.parting is not None else page.px(OVERRUN_MM)
    near = [end for end in (piece.start, piece.end) if math.dist(end, (head.x, head.y)) <= farthest]
    return any(not set(page.touching(*end)) - {n, e.piece} for end in near)


def _shoulder(page: Page, piece: int, e: Ended) -> None:
    """Give the leader role to the short line at a leader's tail."""
    line = page.pieces[piece]
    x, y = line.start if e.at_end else line.end
    for n in page.touching(x, y):
        other = page.pieces[n]
        ends_here = min(math.dist((x, y), other.start), math.dist((x, y), other.end)) <= page.px(1.0)
        if n != piece and ends_here and page.is_thin(n) and other.length <= page.px(SHOULDER_MM):
            page.give([n], Role.LEADER)
