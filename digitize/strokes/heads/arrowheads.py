"""Arrowheads on their lines: filled, open, blank, oblique ticks, dots.

An arrowhead is looked for where a line ends or meets another stroke, since that is where a drafter points at. What is
tested is the ink on both sides of the line behind such a point.

Glossary
--------
tip candidate
    See `tips`.
stranger
    See `strangers`; what lies under its ink is unknown.
"""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.ground import Ground
from digitize.strokes.heads.barbed_heads import DOUBT, SPREAD_DOUBT, Barbed, barbed_from, best_tips
from digitize.strokes.heads.blank_heads import blank_heads
from digitize.strokes.heads.borne_out import Shape
from digitize.strokes.heads.dots import dots_at
from digitize.strokes.heads.fellows import with_fellows
from digitize.strokes.heads.flank_fits import LONGEST_MM, SHORTEST_MM
from digitize.strokes.heads.head import Head, are_mates, each_once, face_each_other, of_one_hand
from digitize.strokes.heads.shafts import LEAST_SHAFT, reach_behind, shaft_of
from digitize.strokes.heads.shapes import may_be_heads, shape_at
from digitize.strokes.heads.standing_heads import standing_heads
from digitize.strokes.heads.strangers import strangers_near
from digitize.strokes.heads.ticks import CROSSING_SLACK_MM, ticks_on, weighed_ticks
from digitize.strokes.heads.tips import clear_of_others, reached_from, tip_candidates, tips_ahead, touching
from digitize.strokes.joining.crossings import PARALLEL_SINE, holds, meets
from digitize.strokes.pieces import Piece
from digitize.strokes.table import Table, s_at
from digitize.strokes.widths import Pens, pens_of

FloatArray = NDArray[np.float64]

SHAFTLESS_DOUBT = 0.3
"""Without a shaft along its axis a head may be a barb of another, and a rival goes before it."""
LEAST_FLARE = 1.35
"""A head's half width over that of a piece that seems thick; less, and the piece is an edge."""
THIN_SPREAD = 1.25
"""Lines of the thin pen are at most this much wider than its usual width."""
STUMP_MM = 2.0 * LONGEST_MM
"""Of a line shorter than two heads one may be the greater part."""
SET_MM, SET_SHARE = 0.28, 0.1
"""A tip is set on a stroke this near, and by this share of its head's length: flanks tell a tip no worse. (From
trials: right moves took .85 of it at most, tips sent on to the stroke behind 1.06 of it.)"""

OWN_SIDE = 1.5
"""A stroke that leans from the axis of a blank head no more than so many times as its sides do is one of them."""


def find_heads(ground: Ground, pieces: list[Piece]) -> list[Head]:
    """Find all arrowheads, each once.

    Returns
    -------
    list of Head
        In the order of their tips (x, then y).
    """
    table = Table(pieces)
    pens = pens_of(table.width, table.s1 - table.s0)
    slack = ground.px(CROSSING_SLACK_MM)
    numbers = [k for k, piece in enumerate(pieces) if _may_have_heads(ground, pens, piece)]
    reached = {k: reached_from(ground, table, k, slack) for k in numbers}
    crossings = {k: touching(table, pieces[k], reached[k], slack, slack) for k in numbers}
    places = [
        (k, s, sign)
        for k in numbers
        for s, sign in tip_candidates(pieces[k], crossings[k], slack) + tips_ahead(ground, pieces[k], reached[k], slack)
    ]
    places = clear_of_others(table, places, slack)
    found = [_set_on_stroke(ground, table, head) for head in _heads_at(ground, table, pens, places)]
    on_lines = {k: met for k, met in crossings.items() if pieces[k].track.kind == LINE}
    found += [tick for k, met in on_lines.items() for tick in ticks_on(ground, table, k, met)]
    found += dots_at(ground, table, on_lines)
    found += [_set_on_stroke(ground, table, head) for head in blank_heads(ground, table, numbers)]
    standing = [
        _from_barbs(barbed, (x, y), (dx, dy), -1, 0.0) for x, y, dx, dy, barbed in standing_heads(ground, table, pens)
    ]
    paired = [
        head
        for head in standing
        if any(are_mates(ground, head, other) for other in found + standing)
        or any(face_each_other(ground, head, other) for other in found)
    ]
    found += paired
    return with_fellows(ground, of_one_hand(ground, each_once(ground, weighed_ticks(ground, table, found))))


def _may_have_heads(ground: Ground, pens: Pens, piece: Piece) -> bool:
    """Whether a piece is long enough and of the thin pen, or may seem thick only by its head."""
    thin = pens.parting is None or not pens.is_thick(piece.width) or _is_stump(ground, piece)
    return thin and piece.length >= ground.px(SHORTEST_MM)


def _is_stump(ground: Ground, piece: Piece) -> bool:
    """Whether a piece may seem thick only because most of it is its own arrowhead."""
    return piece.track.kind == LINE and piece.length <= ground.px(STUMP_MM)


def _heads_at(ground: Ground, table: Table, pens: Pens, places: list[tuple[int, float, float]]) -> list[Head]:
    """Test all candidates: number of the piece, s on it, and the sign of s in which a head there points."""
    rays = np.array([_ray(pens, table.pieces[k], s, sign) for k, s, sign in places]).reshape(-1, 7)
    on = table.rows, table.cells, ground.picture_from_round
    widens = may_be_heads(*on, ground.dark, np.ascontiguousarray(rays[:, :6]), ground.px(1.0)).tolist()
    barbs = best_tips(*on, ground.all_dark, np.ascontiguousarray(rays[:, [0, 1, 2, 3, 6]]), ground.px(1.0)).tolist()
    found = []
    for place, ray, may_be_head, barbed in zip(places, rays.tolist(), widens, barbs, strict=True):
        shape = _shape_on(ground, table, ray) if may_be_head else None
        head = _barbed(table, place, barbed) if shape is None else _shaped(ground, table, place, ray, shape)
        if head is not None:
            found.append(head)
    return found


def _ray(pens: Pens, piece: Piece, s: float, sign: float) -> tuple[float, ...]:
    """A candidate as `may_be_heads` takes it, and the width of its piece."""
    (x, y), (hx, hy) = piece.track.point(s), piece.track.heading(s)
    base = 0.5 * min(piece.width, pens.thin * THIN_SPREAD)
    flare = LEAST_FLARE * 0.5 * piece.width if pens.is_thick(piece.width) else 0.0
    return x, y, sign * hx, sign * hy, base, flare, piece.width


def _shape_on(ground: Ground, table: Table, ray: list[float]) -> Shape | None:
    """The shape of a head at a candidate; the leg of a cutting plane is drawn by the thick pen up to its head."""
    x, y, dx, dy, base, flare, width = ray
    strangers = strangers_near(ground, table, x, y, dx, dy)
    shape = shape_at(ground, strangers, x, y, dx, dy, base, flare, base)
    return shape_at(ground, strangers, x, y, dx, dy, 0.5 * width, flare, base) if shape is None and flare else shape


def _shaped(
    ground: Ground, table: Table, place: tuple[int, float, float], ray: list[float], shape: Shape
) -> Head | None:
    """The head of a shape read at a candidate; None where it hardly stands out of a thick line."""
    (k, s, sign), (x, y, dx, dy, _, flare, _) = place, ray
    if shape.peak < flare:
        return None
    length = shape.tail - shape.tip
    doubt = shape.rms / shape.peak + 0.2 * abs(shape.tip) / length
    at = s - sign * shape.tip
    form = "open" if shape.is_open else "filled"
    head = Head(x - shape.tip * dx, y - shape.tip * dy, dx, dy, length, shape.peak, form, k, at, doubt)
    has_shaft = reach_behind(table.pieces[shaft_of(ground, table, head)], head) >= LEAST_SHAFT * length
    return head if has_shaft else replace(head, doubt=doubt + SHAFTLESS_DOUBT)


def _barbed(table: Table, place: tuple[int, float, float], barbed: list[float]) -> Head | None:
    """The small head drawn by hand that `best_tips` found at a candidate."""
    (k, s, sign), (ahead, *best) = place, barbed
    if math.isnan(ahead):
        return None
    track, at = table.pieces[k].track, s + sign * ahead
    hx, hy = track.heading(s)
    return _from_barbs(barbed_from(ahead, best), track.point(at), (sign * hx, sign * hy), k, at)


def _from_barbs(found: Barbed, tip: tuple[float, float], direction: tuple[float, float], piece: int, s: float) -> Head:
    """Make a head of its barbs."""
    form = "open" if found.is_open else "filled"
    doubt = DOUBT + SPREAD_DOUBT * found.half_width / found.length
    return Head(*tip, *direction, found.length, found.half_width, form, piece, s, doubt)


def _set_on_stroke(ground: Ground, table: Table, head: Head) -> Head:
    """Put a tip on the stroke that it touches, which is none of its own barbs."""
    piece, reach = table.pieces[head.piece], ground.px(SET_MM) + SET_SHARE * head.length
    best, least = head.s, reach
    least_sine = max(PARALLEL_SINE, OWN_SIDE * head.half_width / head.length if head.form == "blank" else 0.0)
    for k in table.near(head.x, head.y, reach).tolist():
        other = table.pieces[k]
        if k == head.piece or other.length <= head.length:
            continue
        for x, y, sine in meets(table.rows[head.piece], table.rows[k]).tolist():
            s = s_at(table.rows[head.piece], x, y, head.s)
            touches = sine >= least_sine and holds(table.rows[k], x, y, reach)
            if touches and abs(s - head.s) < least:
                best, least = s, abs(s - head.s)
    x, y = piece.track.point(best)
    shift = (x - head.x) * head.dx + (y - head.y) * head.dy
    return replace(head, x=x, y=y, length=head.length + shift, s=best) if least < reach else head
