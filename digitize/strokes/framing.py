"""The sheet's frame, and the rules of title block and tables.

Glossary
--------
frame
    The long level and upright lines nearest to the sheet's four sides.
rules
    Level and upright lines that end on each other and part lettering into cells.
"""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.page import Page, contacts, groups
from digitize.strokes.primitives import Role

FRAME_SHARE = 0.6
"""A side of the frame is at least this long compared with the sheet."""
FRAME_DEPTH = 0.2
"""It lies at most this far in, compared with the sheet."""
FRAME_REACH_MM = 0.8
LEAST_RULES = 4
LETTERING_SHARE = 0.012
"""Ink of lettering within a table, compared with its area."""
STRANGER_MM = 6.0
"""What lies in a table besides its rules is at most a scrap of a letter this long."""
END_CONTACTS = 0.75
"""Share of a table's rule ends that meet another rule."""


def find_frame(page: Page) -> list[int]:
    """Find the frame's sides; a side drawn twice counts with both."""
    rows, columns = page.ground.ink.shape
    sides = []
    for k in page.unknown():
        piece = page.pieces[k]
        if piece.dash != "solid":
            continue
        middle_x, middle_y = piece.middle
        if page.is_level(k) and piece.length >= FRAME_SHARE * columns:
            depth = min(middle_y, rows - middle_y) / rows
        elif page.is_upright(k) and piece.length >= FRAME_SHARE * rows:
            depth = min(middle_x, columns - middle_x) / columns
        else:
            continue
        if depth <= FRAME_DEPTH:
            sides.append(k)
    closed = [k for k in sides if any(n in sides for n in _at_ends(page, k))]
    return closed if len(closed) >= 2 else []


def _at_ends(page: Page, k: int) -> list[int]:
    """Strokes at either end of a stroke."""
    piece = page.pieces[k]
    return [n for x, y in (piece.start, piece.end) for n in page.touching(x, y, FRAME_REACH_MM) if n != k]


def find_tables(page: Page, frame: list[int]) -> list[list[int]]:
    """Find the rules of title block and tables, one list each."""
    sides = set(frame)
    loose = [k for k in page.unknown() if k not in sides]
    ruled = [k for k in loose if page.pieces[k].dash == "solid" and (page.is_level(k) or page.is_upright(k))]
    rules = set(ruled)
    foreign = np.array([k for k in loose if k not in rules], np.int64)
    tables = []
    for group in groups(ruled, contacts(page, ruled)):
        if len(group) >= LEAST_RULES and _is_table(page, group, frame, foreign):
            tables.append(group)
    return tables


def _is_table(page: Page, group: list[int], frame: list[int], foreign: NDArray[np.int64]) -> bool:
    """Whether a group of rules is closed, holds lettering and touches nothing else."""
    members = set(group) | set(frame)
    met = sum(_ends_met(page, k, members) for k in group)
    if met < END_CONTACTS * 2 * len(group):
        return False
    left, top, right, bottom = box_of(page, group)
    boxes = page.boxes[foreign]
    inner = foreign[
        (boxes >= [left, top, -np.inf, -np.inf]).all(axis=1) & (boxes <= [np.inf, np.inf, right, bottom]).all(axis=1)
    ]
    if any(page.pieces[k].length > page.px(STRANGER_MM) or page.pieces[k].dash != "solid" for k in inner):
        return False
    if any(left < head.x < right and top < head.y < bottom for head in page.heads):
        return False
    (left, top), (right, bottom) = page.ground.in_picture(np.array([[left, top], [right, bottom]]))
    inside = page.ground.lettering[max(int(top), 0) : int(bottom) + 1, max(int(left), 0) : int(right) + 1]
    return inside.size > 0 and float(inside.mean()) >= LETTERING_SHARE


def _ends_met(page: Page, k: int, members: set[int]) -> int:
    """Count the ends of a rule that meet another one."""
    ends = (page.pieces[k].start, page.pieces[k].end)
    return sum(any(n in members and n != k for n in page.touching(x, y, FRAME_REACH_MM)) for x, y in ends)


def box_of(page: Page, numbers: list[int]) -> tuple[float, float, float, float]:
    """Box round some strokes in the working frame: left, top, right, bottom."""
    boxes = [page.extent(k) for k in numbers]
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def frame_and_tables(page: Page) -> list[list[int]]:
    """Give border and table roles; returns the rules of each table, thick outer rules of the title block included."""
    frame = find_frame(page)
    tables = find_tables(page, frame)
    page.give(frame, Role.BORDER)
    for table in tables:
        on_frame = {k for k in table if any(n in frame for n in _at_ends(page, k))}
        outer = [k for k in table if page.pens.parting is not None and page.is_thick(k)]
        if on_frame:
            page.give(outer, Role.BORDER)
        page.give(table, Role.TABLE)
    return tables
