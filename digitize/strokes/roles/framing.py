"""The sheet's frame, and the rules of title block and tables.

Glossary
--------
frame
    The long level and upright lines nearest to the sheet's four sides.
rules
    Level and upright lines that end on each other and part lettering into cells.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.page import Page, contacts, groups
from digitize.strokes.primitives import Role
from digitize.strokes.table import waypoints

Box = tuple[float, float, float, float]

FRAME_SHARE, SHARE_IN_PARTS = 0.6, 0.75
"""The ink of a side of the frame is at least this long compared with the sheet; of one in parts so long,
for the rules of two tables may lie in line."""
FRAME_DEPTH = 0.2
"""It lies at most this far in, compared with the sheet."""
FRAME_REACH_MM = 0.8
LEAST_PART, ON_SIDE_MM, LONGEST_DROPOUT_MM = 0.15, 0.3, 15.0
"""Of a side that damage has cut, one part is so long, compared with the sheet; the others lie this near to its line,
and each begins so near to the one before."""
LEAST_RULES = 4
LETTERING_SHARE = 0.012
"""Ink of lettering within a table, compared with its area."""
PARTED_MM, TALLEST_ROW_MM = 3.0, 15.0
"""An outer rule that damage has parted from its table ends so near to the table's sides, one row away."""
STRANGER_MM = 6.0
"""What lies in a table besides its rules is at most a scrap of a letter this long."""
END_CONTACTS = 0.75
"""Share of a table's rule ends that meet another rule."""


def find_frame(page: Page) -> list[int]:
    """Find the frame's sides; a side drawn twice counts with both, one that damage has cut with all its parts."""
    rows, columns = page.ground.ink.shape
    sides: list[set[int]] = []
    for k in sorted(page.unknown(), key=lambda k: (-page.pieces[k].length, k)):
        x, y = page.pieces[k].middle
        if page.pieces[k].dash != "solid" or any(k in side for side in sides):
            continue
        if page.is_level(k):
            span, depth = columns, min(y, rows - y) / rows
        elif page.is_upright(k):
            span, depth = rows, min(x, columns - x) / columns
        else:
            continue
        if depth <= FRAME_DEPTH and page.pieces[k].length >= LEAST_PART * span:
            side = _with_its_parts(page, k)
            share = FRAME_SHARE if len(side) == 1 else SHARE_IN_PARTS
            if sum(page.pieces[n].inked for n in side) >= share * span:
                sides.append(side)
    every = {k for side in sides for k in side}
    closed = [side for side in sides if any(n in every - side for k in side for n in _at_ends(page, k))]
    # Where damage has cut all corners no side meets another, but one lies along each side of the sheet.
    told = closed if len(closed) >= 2 else sides if len({_side_of(page, min(side)) for side in sides}) == 4 else []
    return sorted({k for side in told for k in side})


def _side_of(page: Page, k: int) -> tuple[bool, bool]:
    """Which side of the sheet a level or upright line lies along."""
    (x, y), (rows, columns) = page.pieces[k].middle, page.ground.ink.shape
    level = page.is_level(k)
    return level, (y > rows / 2 if level else x > columns / 2)


def _with_its_parts(page: Page, part: int) -> set[int]:
    """A part of a side of the frame and all others, which dropouts may have made dashes of."""
    line = page.pieces[part]
    sheet = float(np.hypot(*page.ground.ink.shape))
    near = page.table.along(replace(line, s0=line.s0 - sheet, s1=line.s1 + sheet), page.px(ON_SIDE_MM))
    lines = [k for k in near if page.pieces[k].track.kind == LINE and page.roles[k] is None]
    ends = np.array([(page.pieces[k].start, page.pieces[k].end) for k in lines])
    along, off = line.track.place(ends)
    on_it = np.abs(off).max(axis=1) <= page.px(ON_SIDE_MM)
    order = np.argsort(along.min(axis=1))
    first, last = along.min(axis=1)[order], np.maximum.accumulate(np.where(on_it, along.max(axis=1), -np.inf)[order])
    parted = np.append(0, np.cumsum(first[1:] - last[:-1] > page.px(LONGEST_DROPOUT_MM)))
    number = dict(zip(np.array(lines)[order].tolist(), parted.tolist(), strict=True))
    return {k for k, is_on in zip(lines, on_it.tolist(), strict=True) if is_on and number[k] == number[part]}


def _at_ends(page: Page, k: int) -> list[int]:
    """Strokes at either end of a stroke."""
    piece = page.pieces[k]
    return [n for x, y in (piece.start, piece.end) for n in page.touching(x, y, FRAME_REACH_MM) if n != k]


def find_tables(page: Page, frame: list[int]) -> list[list[int]]:
    """Find the rules of title block and tables, one list each."""
    sides = set(frame)
    loose = [k for k in page.unknown() if k not in sides]
    # Dropouts make dashes of a rule here and there.
    ruled = [k for k in loose if page.is_level(k) or page.is_upright(k)]
    rules = set(ruled)
    foreign = np.array([k for k in loose if k not in rules], np.int64)
    tables = []
    for group in groups(ruled, contacts(page, ruled)):
        solid = sum(page.pieces[k].dash == "solid" for k in group)
        if solid >= LEAST_RULES and _is_table(page, group, frame, foreign):
            table = _within(page, np.array(ruled, np.int64), box_of(page, group), FRAME_REACH_MM).tolist()
            tables.append([*table, *_parted_sides(page, ruled, box_of(page, table))])
    return tables


def _parted_sides(page: Page, ruled: list[int], box: Box) -> list[int]:
    """Outer rules that damage at both corners has parted from their table: lettering stands between."""
    (left, top, right, bottom), found = box, []
    for k in _within(page, np.array(ruled, np.int64), box, PARTED_MM + TALLEST_ROW_MM).tolist():
        x0, y0, x1, y1 = page.extent(k)
        if page.is_level(k):
            ends, strip = (x0 - left, x1 - right), (left, min(y1, bottom), right, max(y0, top))
            beyond = max(top - y1, y0 - bottom)
        else:
            ends, strip = (y0 - top, y1 - bottom), (min(x1, right), top, max(x0, left), bottom)
            beyond = max(left - x1, x0 - right)
        is_near = page.px(FRAME_REACH_MM) < beyond <= page.px(TALLEST_ROW_MM)
        if is_near and max(map(abs, ends)) <= page.px(PARTED_MM) and _lettering_share(page, strip) >= LETTERING_SHARE:
            found.append(k)
    return found


def _lettering_share(page: Page, box: Box) -> float:
    """Share of a box that is ink of lettering."""
    (left, top), (right, bottom) = page.ground.in_picture(np.array(box).reshape(2, 2))
    inside = page.ground.lettering[max(int(top), 0) : int(bottom) + 1, max(int(left), 0) : int(right) + 1]
    return float(inside.mean()) if inside.size else 0.0


def _within(page: Page, numbers: NDArray[np.int64], box: Box, margin_mm: float = 0.0) -> NDArray[np.int64]:
    """Those of some strokes that lie within a box: the rules of a table too that damage has parted from the others."""
    (left, top, right, bottom), margin = box, page.px(margin_mm)
    low, high = page.boxes[numbers, :2], page.boxes[numbers, 2:]
    inside = (low >= [left - margin, top - margin]) & (high <= [right + margin, bottom + margin])
    return numbers[inside.all(axis=1)]


def _is_table(page: Page, group: list[int], frame: list[int], foreign: NDArray[np.int64]) -> bool:
    """Whether a group of rules is closed, holds lettering and touches nothing else."""
    members = set(group) | set(frame)
    met = sum(_ends_met(page, k, members) for k in group)
    if met < END_CONTACTS * 2 * len(group):
        return False
    left, top, right, bottom = box_of(page, group)
    inner = _within(page, foreign, (left, top, right, bottom))
    if any(page.pieces[k].length > page.px(STRANGER_MM) or page.pieces[k].dash != "solid" for k in inner):
        return False
    if any(left < head.x < right and top < head.y < bottom for head in page.heads):
        return False
    return _lettering_share(page, (left, top, right, bottom)) >= LETTERING_SHARE


def _ends_met(page: Page, k: int, members: set[int]) -> int:
    """Count the ends of a rule that meet another one."""
    ends = (page.pieces[k].start, page.pieces[k].end)
    return sum(any(n in members and n != k for n in page.touching(x, y, FRAME_REACH_MM)) for x, y in ends)


def box_of(page: Page, numbers: list[int]) -> Box:
    """Box round some strokes in the working frame: left, top, right, bottom."""
    boxes = [page.extent(k) for k in numbers]
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def frame_and_tables(page: Page) -> list[list[int]]:
    """Give border and table roles; returns the rules of each table, thick outer rules of the title block included."""
    frame = find_frame(page)
    beyond = _beyond(page, frame)
    page.give(beyond, Role.BORDER)
    page.part_pens_without(beyond)
    tables = find_tables(page, frame)
    page.give(frame, Role.BORDER)
    for table in tables:
        on_frame = {k for k in table if any(n in frame for n in _at_ends(page, k))}
        outer = [k for k in table if page.pens.parting is not None and page.is_thick(k)]
        if on_frame:
            page.give(outer, Role.BORDER)
        page.give(table, Role.TABLE)
    page.give(_in_line_over(page, tables), Role.TABLE)
    return tables


def _in_line_over(page: Page, tables: list[list[int]]) -> list[int]:
    """Rules of several tables in line that were taken for one broken line: all of its ink lies within them."""
    boxes, found = np.array([box_of(page, table) for table in tables]).reshape(-1, 4), []
    boxes += page.px(FRAME_REACH_MM) * np.array([-1.0, -1.0, 1.0, 1.0])
    broken = [k for k in page.unknown() if page.pieces[k].dash != "solid"] if len(tables) > 1 else []
    for k in (k for k in broken if page.is_level(k) or page.is_upright(k)):
        ends = np.array([[run[0], run[2]] for run in page.pieces[k].runs])[:, :, None]
        outside = ((ends < boxes[:, :2]) | (ends > boxes[:, 2:])).sum(axis=(1, 3)).min(axis=1)
        if not outside.any():
            found.append(k)
    return found


def _beyond(page: Page, frame: list[int]) -> list[int]:
    """Strokes wholly beyond a side of a frame that has all four: marks of its zones, edges of the paper."""
    if not frame:
        return []
    left, top, right, bottom = box_of(page, frame)
    middle = np.array([0.5 * (left + right), 0.5 * (top + bottom)])
    sides = {(page.is_level(k), bool((np.array(page.pieces[k].middle) > middle)[int(page.is_level(k))])) for k in frame}
    places, beyond = waypoints(page.table.rows), np.zeros(len(page.pieces), bool)
    for track in (page.pieces[k].track for k in frame if len(sides) == 4):
        (_, off), (_, inwards) = track.place(places), track.place(middle)
        beyond |= (off * -np.sign(inwards) > page.px(FRAME_REACH_MM)).all(axis=1)
    return np.flatnonzero(beyond).tolist()
