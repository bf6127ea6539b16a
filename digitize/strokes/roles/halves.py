"""Dimension lines that their figure breaks: two halves put together, dashed ones told by the figure.

Glossary
--------
halves
    Two lines on one track, each with a head at its outer end, parted by the figure: one dimension line.
"""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece, with_runs
from digitize.strokes.primitives import Role
from digitize.strokes.roles.headed import (
    ON_LINE_MM,
    WIDEST_FIGURE_MM,
    Ended,
    collinear,
    collinear_with,
    headed_lines,
    pairs_within,
)
from digitize.strokes.runs import run_extents
from digitize.strokes.tracks import Track

WIDE_GAP, LEAST_FIGURE_MM = 1.5, 1.5
"""A gap that a figure makes in a dashed line is wider than those between dashes, and holds at least a small figure."""
LEAST_LETTERING_SHARE = 0.08


def join_halves(page: Page) -> Page:
    """Make one line of the two halves of every dimension line that its figure breaks."""
    pairs = _halves(page)
    if not pairs:
        return page
    gone = {b: a for a, b in pairs}
    pieces = list(page.pieces)
    for a, b in pairs:
        pieces[a] = _one_line(pieces[a], pieces[b])
    kept = [k for k in range(len(pieces)) if k not in gone]
    place = {k: n for n, k in enumerate(kept)}
    heads = [replace(h, piece=place[gone.get(h.piece, h.piece)], s=h.s) if h.piece >= 0 else h for h in page.heads]
    joined = Page(page.ground, [pieces[k] for k in kept], heads, page.turn_deg, [page.roles[k] for k in kept])
    for k in kept:
        if k in gone.values():
            joined.give([place[k]], Role.DIMENSION)
    return joined


def _halves(page: Page) -> list[tuple[int, int]]:
    """Pairs of lines that are halves of one: each with one head, pointing away from the other, lettering between."""
    ended = headed_lines(page)
    count: dict[int, int] = {}
    for e in ended:
        count[e.piece] = count.get(e.piece, 0) + 1
    single = [e for e in ended if count[e.piece] == 1]
    inner = [page.pieces[e.piece].start if e.at_end else page.pieces[e.piece].end for e in single]
    options = []
    for n, m in pairs_within(inner, page.px(WIDEST_FIGURE_MM + ON_LINE_MM)):
        gap = _gap_between(page, single[n], single[m])
        if gap is not None:
            options.append((gap, single[n].piece, single[m].piece))
    pairs, used = [], set()
    for _, a_piece, b_piece in sorted(options):
        if a_piece not in used and b_piece not in used:
            used |= {a_piece, b_piece}
            pairs.append((a_piece, b_piece))
    return pairs


def _gap_between(page: Page, a: Ended, b: Ended) -> float | None:
    """Length of the gap between two halves; None where they are none."""
    first, second = page.pieces[a.piece], page.pieces[b.piece]
    if a.piece == b.piece or not collinear(page, first, second):
        return None
    inner_a = first.start if a.at_end else first.end
    inner_b = second.start if b.at_end else second.end
    tip_a, tip_b = page.heads[a.head], page.heads[b.head]
    ux, uy = tip_b.x - tip_a.x, tip_b.y - tip_a.y
    whole = math.hypot(ux, uy)
    if whole < 1.0:
        return None
    ux, uy = ux / whole, uy / whole
    if tip_b.dx * ux + tip_b.dy * uy < 0.5 or tip_a.dx * ux + tip_a.dy * uy > -0.5:
        return None
    gap = (inner_b[0] - inner_a[0]) * ux + (inner_b[1] - inner_a[1]) * uy
    if not -1.0 <= gap <= page.px(WIDEST_FIGURE_MM):
        return None
    return gap if _holds_lettering(page, inner_a, inner_b) else None


def _holds_lettering(page: Page, start: tuple[float, float], end: tuple[float, float]) -> bool:
    """Whether the gap between two points has lettering on or beside it."""
    length = math.dist(start, end)
    if length < 1.0:
        return False
    track = Track(LINE, start[0], start[1], (end[0] - start[0]) / length, (end[1] - start[1]) / length)
    s = np.arange(0.0, length, 1.0)
    hits = np.zeros(len(s), bool)
    half = page.px(1.5)
    for offset in np.linspace(-half, half, 7):
        xy = np.rint(page.ground.in_picture(track.at(s, offset))).astype(int)
        inside = (xy >= 0).all(axis=1) & (xy[:, 0] < page.ground.ink.shape[1]) & (xy[:, 1] < page.ground.ink.shape[0])
        hits[inside] |= page.ground.lettering[xy[inside, 1], xy[inside, 0]]
    return float(hits.mean()) >= LEAST_LETTERING_SHARE


def _one_line(first: Piece, second: Piece) -> Piece:
    """Draw one line through two halves: through their outer ends, weighted by nothing but their lengths."""
    points = np.array([first.start, first.end, second.start, second.end])
    s, _ = first.track.place(points)
    a, b = points[int(np.argmin(s))], points[int(np.argmax(s))]
    length = float(np.hypot(*(b - a)))
    track = Track(LINE, float(a[0]), float(a[1]), float((b - a)[0]) / length, float((b - a)[1]) / length)
    runs = tuple(sorted(first.runs + second.runs, key=lambda run: track.s_of(*run[1])))
    turned = tuple(run if track.s_of(*run[0]) <= track.s_of(*run[2]) else run[::-1] for run in runs)
    dash = first.dash if first.dash != "solid" else second.dash
    width = max(first, second, key=lambda p: p.length).width
    line = Piece(track, 0.0, length, width, max(first.rms, second.rms), first.spans + second.spans, turned, dash)
    return replace(with_runs(line, turned), s0=0.0, s1=length)


def find_broken_dashed(page: Page) -> None:
    """Give the dimension role to broken lines that stop for a figure and go on, as they are or known, behind it.

    No hidden edge does, and of the lines in chains only those with an arrowhead; other heads may be too small to be
    found.
    """
    headed = {head.piece for head in page.heads}
    broken = [k for k in page.unknown() if page.pieces[k].dash != "solid" and page.pieces[k].track.kind == LINE]
    may_be = [k for k in broken if page.pieces[k].dash == "dashed" or k in headed]
    page.give([k for k in may_be if _passes_a_figure(page, page.pieces[k])], Role.DIMENSION)
    told = [k for k, role in enumerate(page.roles) if role is Role.DIMENSION and page.pieces[k].track.kind == LINE]
    told_ones, seeds, numbers = set(told), set(may_be), np.array(broken, np.int64)
    for a in told + may_be:
        for b in collinear_with(page, a, numbers) if a in told_ones or page.roles[a] is None else ():
            first, second = page.pieces[a], page.pieces[b]
            fits = page.roles[b] is None and (b in seeds or first.dash == second.dash)
            if fits and _is_broken_for_figure(page, first, second):
                page.give([a, b], Role.DIMENSION)


def _passes_a_figure(page: Page, piece: Piece) -> bool:
    """Whether one of a line's gaps is wider than the others and holds lettering."""
    extents = run_extents(piece.track, piece.runs)
    gaps = [(b, c) for (_, b), (c, _) in pairwise(extents)]
    usual = float(np.median([c - b for b, c in gaps])) if gaps else 0.0
    wide = [(b, c) for b, c in gaps if c - b >= WIDE_GAP * usual and c - b >= page.px(LEAST_FIGURE_MM)]
    return any(_holds_lettering(page, piece.track.point(b), piece.track.point(c)) for b, c in wide)


def _is_broken_for_figure(page: Page, first: Piece, second: Piece) -> bool:
    """Whether two lines on one track lie apart, with lettering where their nearer ends leave off."""
    inner, other = min(
        ((p, q) for p in (first.start, first.end) for q in (second.start, second.end)),
        key=lambda ends: math.dist(*ends),
    )
    s, _ = first.track.place(np.array([second.start, second.end]))
    apart = s.max() < first.s0 or s.min() > first.s1
    return bool(apart) and math.dist(inner, other) < page.px(WIDEST_FIGURE_MM) and _holds_lettering(page, inner, other)
