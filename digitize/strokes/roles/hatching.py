"""Section lines: thin, parallel, evenly spaced, oblique, ended by the outline."""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.page import Page
from digitize.strokes.primitives import Role
from digitize.strokes.table import S0, S1, Cells, noted_along, point_on

FloatArray = NDArray[np.float64]

ANGLE_DEG = 3.0
CLOSEST_MM, WIDEST_MM = 0.5, 7.0
"""Spacing of section lines on paper (common practice, no source)."""
FARTHEST_ALONG_MM = 0.5 * WIDEST_MM
"""A section line that lettering or a hole has cut may end so far ahead of where the next one begins."""
SPACING_RATIO = 1.7
LEAST_LINES, LEAST_NEIGHBOURS = 4, 2
OBLIQUE_DEG = 8.0


def find_hatching(page: Page) -> None:
    """Give the hatch role to every line with parallel neighbours at the spacing of its field."""
    lines = [k for k in page.unknown() if _may_be_hatch(page, k)]
    if len(lines) < LEAST_LINES:
        return
    angle = np.array([page.direction_deg(k) for k in lines])
    order = np.argsort(angle, kind="stable")
    turned = np.concatenate([angle[order] - 180.0, angle[order], angle[order] + 180.0])
    free = np.ones(len(lines), bool)
    for seed in order:
        first, end = np.searchsorted(turned, [angle[seed] - ANGLE_DEG, angle[seed] + ANGLE_DEG], side="left")
        alike = order[np.arange(first, end) % len(lines)]
        group = np.sort(alike[free[alike]])
        if free[seed] and len(group) >= LEAST_LINES:
            field = group[_even(page, np.array(lines)[group], float(np.radians(angle[seed] - page.turn_deg)))]
            free[field] = False
            page.give([lines[n] for n in field.tolist()], Role.HATCH)


def _may_be_hatch(page: Page, k: int) -> bool:
    """Thin, solid, straight, and neither level nor upright."""
    piece = page.pieces[k]
    if piece.track.kind != LINE or piece.dash != "solid" or not page.is_thin(k):
        return False
    angle = page.direction_deg(k) % 90.0
    return min(angle, 90.0 - angle) >= OBLIQUE_DEG


def _even(page: Page, group: NDArray[np.int64], angle: float) -> NDArray[np.bool_]:
    """Which of some parallel lines at an angle (radians, counter-clockwise as seen) have neighbours evenly spaced."""
    step, neighbours = _nearest_beside(page.table.rows, page.table.cells, group, angle, page.px(1.0))
    known = np.isfinite(step)
    usual = float(np.median(step[known])) if known.any() else np.inf
    even = (step <= SPACING_RATIO * usual) & (neighbours >= LEAST_NEIGHBOURS)
    return even if even.sum() >= LEAST_LINES else np.zeros(len(group), bool)


@compiled
def _nearest_beside(
    rows: FloatArray, cells: Cells, group: NDArray[np.int64], angle: float, mm: float
) -> tuple[FloatArray, NDArray[np.int64]]:
    """For each of some parallel lines how far off the nearest one beside it lies, and how many do; ``mm`` is in px."""
    ux, uy = math.cos(angle), -math.sin(angle)
    place = np.full(len(rows), -1)
    low, high, across = np.empty(len(group)), np.empty(len(group)), np.empty(len(group))
    for n in range(len(group)):
        place[group[n]] = n
        row = rows[group[n]]
        (ax, ay), (bx, by) = point_on(row, row[S0], 0.0), point_on(row, row[S1], 0.0)
        low[n], high[n] = min(ax * ux + ay * uy, bx * ux + by * uy), max(ax * ux + ay * uy, bx * ux + by * uy)
        across[n] = 0.5 * ((ay + by) * ux - (ax + bx) * uy)
    step, neighbours = np.full(len(group), np.inf), np.zeros(len(group), np.int64)
    for n in range(len(group)):
        for k in noted_along(rows, cells, group[n], math.hypot(WIDEST_MM, FARTHEST_ALONG_MM) * mm):
            m = place[k]
            if m < 0 or min(high[n], high[m]) - max(low[n], low[m]) <= -FARTHEST_ALONG_MM * mm:
                continue
            gap = abs(across[m] - across[n])
            if gap > 1.0 and CLOSEST_MM * mm <= gap <= WIDEST_MM * mm:
                step[n] = min(step[n], gap)
                neighbours[n] += 1
    return step, neighbours
