"""Section lines: thin, parallel, evenly spaced, oblique, ended by the outline."""

import numpy as np

from digitize.strokes.fit import LINE
from digitize.strokes.page import Page
from digitize.strokes.primitives import Role

ANGLE_DEG = 3.0
CLOSEST_MM, WIDEST_MM = 0.5, 7.0
"""Spacing of section lines on paper (common practice, no source)."""
SPACING_RATIO = 1.7
LEAST_LINES = 4
OBLIQUE_DEG = 8.0


def find_hatching(page: Page) -> None:
    """Give the hatch role to every line with parallel neighbours at the spacing of its field."""
    lines = [k for k in page.unknown() if _may_be_hatch(page, k)]
    if len(lines) < LEAST_LINES:
        return
    angle = np.array([page.direction_deg(k) for k in lines])
    taken: set[int] = set()
    for seed in np.argsort(angle):
        turn = np.abs((angle - angle[seed] + 90.0) % 180.0 - 90.0)
        group = [lines[n] for n in np.flatnonzero(turn <= ANGLE_DEG) if lines[n] not in taken]
        if len(group) < LEAST_LINES:
            continue
        for field in _fields(page, group, float(np.radians(angle[seed] - page.turn_deg))):
            taken.update(field)
            page.give(field, Role.HATCH)


def _may_be_hatch(page: Page, k: int) -> bool:
    """Thin, solid, straight, and neither level nor upright."""
    piece = page.pieces[k]
    if piece.track.kind != LINE or piece.dash != "solid" or not page.is_thin(k):
        return False
    angle = page.direction_deg(k) % 90.0
    return min(angle, 90.0 - angle) >= OBLIQUE_DEG


def _fields(page: Page, group: list[int], angle: float) -> list[list[int]]:
    """Fields of evenly spaced neighbours among parallel lines at an angle (radians, counter-clockwise as seen)."""
    ux, uy = np.cos(angle), -np.sin(angle)
    ends = np.array([[page.pieces[k].start, page.pieces[k].end] for k in group])
    along = ends @ np.array([ux, uy])
    across = (ends @ np.array([-uy, ux])).mean(axis=1)
    low, high = along.min(axis=1), along.max(axis=1)
    step = np.full(len(group), np.inf)
    neighbours: list[list[int]] = []
    for n in range(len(group)):
        gap = np.abs(across - across[n])
        beside = (np.minimum(high, high[n]) - np.maximum(low, low[n]) > -page.px(WIDEST_MM) * 0.5) & (gap > 1.0)
        near = np.flatnonzero(beside & (gap >= page.px(CLOSEST_MM)) & (gap <= page.px(WIDEST_MM)))
        if len(near):
            step[n] = gap[near].min()
        neighbours.append(near.tolist())
    usual = float(np.median(step[np.isfinite(step)])) if np.isfinite(step).any() else np.inf
    even = [bool(step[n] <= SPACING_RATIO * usual and len(neighbours[n]) >= 2) for n in range(len(group))]
    field = [group[n] for n in range(len(group)) if even[n]]
    return [field] if len(field) >= LEAST_LINES else []
