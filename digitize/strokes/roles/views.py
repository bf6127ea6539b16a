"""Views: strokes that show the part from one side, and the annotation that belongs to each.

Edges, hidden edges and section lines that touch make a body; bodies whose boxes overlap or nearly touch make a view,
and so do a body and a lone edge beyond it, where the edges between may have been traced as one with extension lines.
Everything else goes to the view whose bodies it is nearest to.
"""

import numpy as np

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.joining.crossings import crossings_of
from digitize.strokes.page import Page, contacts, groups, outline
from digitize.strokes.primitives import Role
from digitize.strokes.roles.framing import box_of

Box = tuple[float, float, float, float]

BODY = (Role.VISIBLE, Role.HIDDEN, Role.HATCH, Role.BREAK, Role.PHANTOM)
JOIN_MM = 2.5
"""Bodies nearer than this are one view."""
LEAST_VIEW_MM = 4.0
CONTACT_MM = 0.6


def find_views(page: Page, tables: list[list[int]]) -> tuple[list[tuple[str, str, list[int]]], list[int]]:
    """Divide the strokes.

    Returns
    -------
    divisions : list of (id, kind, numbers)
        Views "A", "B" ... from the top left to the bottom right, then title block and tables "T1", "T2" ...
    view_of : list of int
        For every stroke the number of its division, -1 for none (the frame).
    """
    bodies = [k for k, role in enumerate(page.roles) if role in BODY]
    touching = contacts(page, bodies, CONTACT_MM)
    view_groups = _views_of(page, groups(bodies, touching + _led(page, groups(bodies, touching))))
    view_of = [-1] * len(page.pieces)
    divisions: list[tuple[str, str, list[int]]] = []
    for n, group in enumerate(view_groups):
        divisions.append((_letters(n), "view", group))
        for k in group:
            view_of[k] = n
    for n, table in enumerate(sorted(tables, key=lambda t: box_of(page, t))):
        kind = "title_block" if _on_frame(page, table) else "table"
        divisions.append((f"T{n + 1}", kind, table))
        for k in table:
            view_of[k] = len(divisions) - 1
    _assign_rest(page, view_groups, view_of)
    return divisions, view_of


def _led(page: Page, bodies: list[list[int]]) -> list[tuple[int, int]]:
    """Pairs of a line that is a body by itself and a stroke of another that extension lines at both ends lead to."""
    body_of = {k: n for n, body in enumerate(bodies) for k in body}
    found = []
    for (k,) in (body for body in bodies if len(body) == 1 and page.pieces[body[0]].track.kind == LINE):
        piece = page.pieces[k]
        first, last = (_led_from(page, end, body_of) for end in (piece.start, piece.end))
        shared = {body_of[n] for n in first} & {body_of[n] for n in last} - {body_of[k]}
        found += [(min(k, n), max(k, n)) for n in sorted(first) if body_of[n] in shared]
    return found


def _led_from(page: Page, end: tuple[float, float], body_of: dict[int, int]) -> set[int]:
    """Numbers of the strokes of bodies that an extension line at a point passes or ends at."""
    leads = [n for n in page.touching(*end, CONTACT_MM) if page.roles[n] is Role.EXTENSION]
    return {c.other for n in leads for c in crossings_of(page.table, n, page.px(CONTACT_MM)) if c.other in body_of}


def _letters(n: int) -> str:
    """A, B ... Z, AA, AB ..."""
    name = ""
    n += 1
    while n:
        n, digit = divmod(n - 1, 26)
        name = chr(ord("A") + digit) + name
    return name


def _views_of(page: Page, bodies: list[list[int]]) -> list[list[int]]:
    """Join bodies whose boxes overlap or nearly touch, until none do; sorted from the top left."""
    boxes = [box_of(page, body) for body in bodies]
    members = [list(body) for body in bodies]
    margin = page.px(JOIN_MM)
    changed = True
    while changed:
        changed = False
        for a in range(len(boxes)):
            for b in range(len(boxes) - 1, a, -1):
                if _near(boxes[a], boxes[b], margin):
                    boxes[a] = _hull(boxes[a], boxes[b])
                    members[a] += members[b]
                    del boxes[b], members[b]
                    changed = True
    least = page.px(LEAST_VIEW_MM)
    big = [(box, m) for box, m in zip(boxes, members, strict=True) if max(box[2] - box[0], box[3] - box[1]) >= least]
    return [sorted(m) for _, m in sorted(big, key=lambda item: (item[0][0] + item[0][1], item[0]))]


def _near(a: Box, b: Box, margin: float) -> bool:
    return a[0] - margin <= b[2] and b[0] - margin <= a[2] and a[1] - margin <= b[3] and b[1] - margin <= a[3]


def _hull(a: Box, b: Box) -> Box:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


def _on_frame(page: Page, table: list[int]) -> bool:
    """Whether a table ends on the frame."""
    frame = {k for k, role in enumerate(page.roles) if role == Role.BORDER}
    ends = [end for k in table for end in (page.pieces[k].start, page.pieces[k].end)]
    return any(n in frame and n not in table for x, y in ends for n in page.touching(x, y, 1.0))


def _assign_rest(page: Page, views: list[list[int]], view_of: list[int]) -> None:
    """Give dimension lines the view of their extension lines, and everything else the nearest view."""
    if not views:
        return
    boxes = np.array([box_of(page, v) for v in views])
    rest = [k for k, n in enumerate(view_of) if n < 0 and page.roles[k] != Role.BORDER]
    for k in rest:
        if page.roles[k] != Role.DIMENSION:
            view_of[k] = _nearest(boxes, outline(page.pieces[k]))
    for k in rest:
        if page.roles[k] == Role.DIMENSION:
            view_of[k] = _of_its_extensions(page, k, view_of, boxes)


def _of_its_extensions(page: Page, k: int, view_of: list[int], boxes: np.ndarray) -> int:
    """The view that most strokes at a dimension line's tips belong to."""
    votes: dict[int, int] = {}
    for head in page.heads:
        if head.piece == k:
            for n in page.touching(head.x, head.y, 0.6):
                if n != k and view_of[n] >= 0:
                    votes[view_of[n]] = votes.get(view_of[n], 0) + 1
    if votes:
        return min(votes, key=lambda n: (-votes[n], n))
    return _nearest(boxes, outline(page.pieces[k]))


def _nearest(boxes: np.ndarray, points: np.ndarray) -> int:
    """Number of the box nearest to any of some points; of boxes that hold them the one with the nearest middle."""
    x, y = points[:, None, 0], points[:, None, 1]
    dx = np.maximum(np.maximum(boxes[:, 0] - x, x - boxes[:, 2]), 0.0)
    dy = np.maximum(np.maximum(boxes[:, 1] - y, y - boxes[:, 3]), 0.0)
    distance = np.hypot(dx, dy).min(axis=0)
    middle = np.hypot(boxes[:, [0, 2]].mean(axis=1) - x.mean(), boxes[:, [1, 3]].mean(axis=1) - y.mean())
    return int(np.lexsort((middle, np.round(distance, 3)))[0])
