"""Edges, and strokes of the finer pen that no rule knows and that are none.

ISO 128 and ASME Y14.2 draw edges with a pen twice as wide as that of centre, extension and section lines.
"""

import math

import numpy as np

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.joining.crossings import crossings_of
from digitize.strokes.page import CONTACT_MM, Page
from digitize.strokes.primitives import Role
from digitize.strokes.widths import weighted_median

FINE = math.sqrt(0.5)
"""Of the edges' pen, midway between one and a half: of 2,400 drawn edges the trace had one finer, and of 230 centre,
extension and section lines by a fine pen none wider."""
OVERHANG_MM = (0.8, 6.0)
"""So far a centre line stands out beyond the edges that it crosses."""
ALIKE_MM = 1.0
"""By how much its two ends may differ in that."""


def find_edges(page: Page) -> None:
    """Give the strokes that are left their roles: edges, but for those drawn too finely for one.

    A fine line that stands out alike beyond the edges that it crosses is a centre line, and so are fine arcs, bolt
    circles more often than not; other fine strokes count as extension lines, which an edge may have been traced as one
    with.
    """
    fine = _fine_of(page, page.unknown())
    page.give([k for k in page.unknown() if k not in fine], Role.VISIBLE)
    page.give([k for k in fine if page.pieces[k].track.kind == ARC or _stands_out_alike(page, k)], Role.CENTRE)
    page.give(fine, Role.EXTENSION)


def _fine_of(page: Page, left: list[int]) -> list[int]:
    """Which of some strokes, most of which are edges, were drawn too finely for one; none where one pen drew all."""
    if page.pens.parting is None or not left:
        return []
    width, length = page.table.width[left], (page.table.s1 - page.table.s0)[left]
    order = np.argsort(width)
    fine = width < FINE * weighted_median(width[order], length[order])
    return [k for k, is_fine in zip(left, fine.tolist(), strict=True) if is_fine and page.is_thin(k)]


def _stands_out_alike(page: Page, k: int) -> bool:
    """Whether a line crosses edges and ends in the open beyond them, at both ends alike."""
    piece, slack = page.pieces[k], page.px(CONTACT_MM)
    crossed = [c.s for c in crossings_of(page.table, k, slack) if page.roles[c.other] is Role.VISIBLE]
    if len(crossed) < 2:
        return False
    near, far = min(crossed) - piece.s0, piece.s1 - max(crossed)
    least, most = (page.px(each) for each in OVERHANG_MM)
    return bool(least <= min(near, far) and max(near, far) <= most and abs(near - far) <= page.px(ALIKE_MM))
