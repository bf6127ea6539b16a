"""Arrowheads given back to their lines: barbs taken out, shafts run to the tip.

Glossary
--------
shaft
    The line that an arrowhead ends.
barb
    A piece that lies wholly within an arrowhead: a side of an open head, or a scrap of a filled one's skeleton.
"""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.ground import Ground
from digitize.strokes.heads.flanks import INK, STEP_PX
from digitize.strokes.heads.head import Head, are_mates, face_each_other, is_tip_to_tip
from digitize.strokes.pieces import Piece
from digitize.strokes.table import Table

FloatArray = NDArray[np.float64]

LEAST_SHAFT = 1.3
"""A shaft reaches this many lengths of its head behind the tip; a piece that reaches less far may be a barb."""
LEAST_TAIL = 1.15
"""A shaft that reaches so little beyond its head is one where another head faces it."""
NO_SHAFT, NO_HEAD = -1, -2
PLAIN_DOUBT, PLAIN_MM = 0.35, 2.0
"""A head without a shaft is plain where it is no more doubtful than this, nor shorter (from trials)."""
FARTHEST_MM, LEAST_SEEN_PENS, SIDE_PENS = 2.5, 2.0, 1.5
"""Behind a gap a shaft goes on so near, is seen over so many pen widths, and has paper so far to both sides."""
CUT_OFF_DOUBT = 0.45
GAP_PX = 1.5
"""The blurred edge of a head's tail reaches so far."""
ON_AXIS_MM = 0.12
SHAFT_TURN_DEG = 6.0
BARB_MARGIN_MM = 0.2
BARB_SHARE = 1.25
"""A barb is at most this much longer than its head."""
BARB_PLACES = 7
"""A barb is looked at in so many places."""


def heads_on_shafts(ground: Ground, pieces: list[Piece], heads: list[Head]) -> tuple[list[Piece], list[Head]]:
    """Find each head's shaft, run it to the tip, and drop barbs.

    Returns
    -------
    pieces, heads
        Remaining pieces in their old order, and heads whose ``piece`` counts in that list (-1 where none is left).
    """
    table = Table(pieces)
    owners = [shaft_of(ground, table, head) for head in heads]
    owners = [k if k < 0 or _is_shaft(pieces[k], head) else NO_HEAD for k, head in zip(owners, heads, strict=True)]
    # a head may stand without a traced shaft where it is plain, cut off from it, or another is its fellow
    may_be = [n for n, head in enumerate(heads) if owners[n] != NO_HEAD or _is_within(pieces[head.piece], head)]
    for n in may_be:
        fellows = [heads[k] for k in may_be]
        alone = owners[n] == NO_HEAD
        if alone and (
            _is_plain(ground, heads[n]) or _is_cut_off(ground, heads[n]) or _is_paired(ground, heads[n], fellows)
        ):
            has_tail = reach_behind(pieces[heads[n].piece], heads[n]) >= LEAST_TAIL * heads[n].length
            owners[n] = heads[n].piece if has_tail else NO_SHAFT
    sound = [n for n, k in enumerate(owners) if k != NO_HEAD]
    heads, owners = [heads[n] for n in sound], [owners[n] for n in sound]
    owned = set(owners)
    barbs = {k for head in heads for k in _barbs(ground, table, head, heads) if k not in owned}
    run = {k: piece for k, piece in enumerate(pieces) if k not in barbs}
    for head, owner in zip(heads, owners, strict=True):
        if owner in run:
            run[owner] = _to_tip(run[owner], head)
    place = {k: n for n, k in enumerate(run)}
    return list(run.values()), [replace(h, piece=place.get(k, -1)) for h, k in zip(heads, owners, strict=True)]


def _is_within(piece: Piece, head: Head) -> bool:
    """Whether a piece reaches hardly beyond the head that was found on it, so that its shaft may be one not traced."""
    return piece.track.kind == LINE and reach_behind(piece, head) <= LEAST_SHAFT * head.length


def _is_plain(ground: Ground, head: Head) -> bool:
    """Whether flanks are so straight and long that nothing but a filled head has them.

    A dashed line may leave a gap behind its head, and the arc of an angle has none behind those that point inwards.
    """
    return head.form == "filled" and head.doubt <= PLAIN_DOUBT and head.length >= ground.px(PLAIN_MM)


def _is_cut_off(ground: Ground, head: Head) -> bool:
    """Whether a head that was read from its flanks stands before a gap in its shaft."""
    (x, y), (dx, dy) = ground.in_picture(np.array([[head.x, head.y], [head.dx, head.dy]])).tolist()
    return head.doubt <= CUT_OFF_DOUBT and shaft_goes_on(ground, x, y, dx, dy, head.length)


def shaft_goes_on(ground: Ground, x: float, y: float, dx: float, dy: float, tail: float) -> bool:
    """Whether ink as narrow as a line lies behind a head that points along (dx, dy).

    (x, y) is a place in the picture, ``tail`` px behind which the head ends.
    """
    seen, s, aside = 0.0, tail + GAP_PX, SIDE_PENS * ground.pen_px
    while s <= tail + ground.px(FARTHEST_MM):
        px, py = x - s * dx, y - s * dy
        sides = [darkness_at(ground.all_dark, px - off * dy, py + off * dx) for off in (-aside, aside)]
        seen += STEP_PX * (darkness_at(ground.all_dark, px, py) >= INK > max(sides))
        s += STEP_PX
    return seen >= LEAST_SEEN_PENS * ground.pen_px


def _is_paired(ground: Ground, head: Head, others: list[Head]) -> bool:
    return any(are_mates(ground, head, other) or face_each_other(ground, head, other) for other in others)


def shaft_of(ground: Ground, table: Table, head: Head) -> int:
    """Number of the longest straight piece along a head's axis that reaches into the head or up to its tail.

    The piece that the head was found on where there is none, or where that is a bow long enough to carry it.
    """
    best, longest = head.piece, -1.0
    if table.pieces[best].track.kind == ARC and table.pieces[best].length >= LEAST_SHAFT * head.length:
        return best
    slack = ground.px(ON_AXIS_MM) + 1.0
    tail_x, tail_y = head.x - 0.9 * head.length * head.dx, head.y - 0.9 * head.length * head.dy
    for k in table.near(tail_x, tail_y, 0.6 * head.length):
        piece = table.pieces[k]
        if piece.track.kind != LINE or not _along(piece, head):
            continue
        off = abs((tail_x - piece.track.x) * piece.track.dy - (tail_y - piece.track.y) * piece.track.dx)
        if off <= slack and piece.length > longest and reach_behind(piece, head) > LEAST_SHAFT * head.length:
            best, longest = int(k), piece.length
    return best


def _is_shaft(piece: Piece, head: Head) -> bool:
    """Whether a piece can carry a head: a line along its axis that is longer, or the solid bow of a curved leader."""
    if piece.track.kind == LINE:
        return _along(piece, head) and reach_behind(piece, head) >= LEAST_SHAFT * head.length
    return piece.dash == "solid" and not piece.closed


def _along(piece: Piece, head: Head) -> bool:
    cosine = abs(piece.track.dx * head.dx + piece.track.dy * head.dy)
    return cosine >= math.cos(math.radians(SHAFT_TURN_DEG))


def reach_behind(piece: Piece, head: Head) -> float:
    """How far behind a head's tip a piece goes on, in px: along the axis, of a bow its length."""
    if piece.track.kind == ARC:
        return piece.length
    return max((head.x - x) * head.dx + (head.y - y) * head.dy for x, y in (piece.start, piece.end))


def _barbs(ground: Ground, table: Table, head: Head, heads: list[Head]) -> list[int]:
    """Numbers of the pieces that lie wholly within a head, or aslant in two tip to tip, where a barb runs on as one."""
    margin = ground.px(BARB_MARGIN_MM) + 1.0
    both = [head, *(other for other in heads if is_tip_to_tip(ground, head, other))]
    longest = BARB_SHARE * (head.length + max((other.length for other in both[1:]), default=0.0))
    middle_x, middle_y = head.x - 0.5 * head.length * head.dx, head.y - 0.5 * head.length * head.dy
    found = []
    for k in table.near(middle_x, middle_y, math.hypot(0.5 * head.length, head.half_width) + 2.0 * margin).tolist():
        piece = table.pieces[k]
        if piece.length > longest or piece.closed:
            continue
        points = np.array([piece.track.point(s) for s in np.linspace(piece.s0, piece.s1, BARB_PLACES)])
        within = both[:1] if _along(piece, head) else both
        if np.any([_holds(one, points, margin) for one in within], axis=0).all():
            found.append(k)
    return found


def _holds(head: Head, points: FloatArray, margin: float) -> NDArray[np.bool_]:
    """Which points lie within a head, give or take a margin."""
    back = -((points[:, 0] - head.x) * head.dx + (points[:, 1] - head.y) * head.dy)
    side = np.abs((points[:, 1] - head.y) * head.dx - (points[:, 0] - head.x) * head.dy)
    flank = head.half_width * np.clip(back, 0.0, None) / head.length + margin
    return np.asarray((back >= -margin) & (back <= head.length + 2.0 * margin) & (side <= flank))


def _to_tip(piece: Piece, head: Head) -> Piece:
    """Run a shaft up to the tip of its head, if it ends within the head."""
    s = piece.track.s_of(head.x, head.y)
    if piece.track.kind != LINE:
        return piece
    forward = piece.track.dx * head.dx + piece.track.dy * head.dy > 0
    if forward and abs(s - piece.s1) <= 1.2 * head.length:
        return replace(piece, s1=s) if s > piece.s0 else piece
    if not forward and abs(s - piece.s0) <= 1.2 * head.length:
        return replace(piece, s0=s) if s < piece.s1 else piece
    return piece
