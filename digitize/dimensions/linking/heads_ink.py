"""The ink of arrowheads that end a length: beside a figure it is none, and no part of one."""

import math
from collections.abc import Sequence

import cv2
import numpy as np

from calibrate.sheet import InkImage, LevelSheet
from digitize.dimensions.linking.directions import unit
from digitize.dimensions.linking.span import Span
from digitize.strokes.primitives import Arrowhead, Strokes

BREADTH = 0.4
"""Half the breadth of an open head, in its lengths."""
RIM_PX = 1.0
CARRIED = 1.0
"""A length ends at most so far from the tip of its head, which is carried onto the line that it touches, in heads."""


def ink_of_heads(sheet: LevelSheet, strokes: Strokes, spans: Sequence[Span]) -> InkImage:
    """Where heads lie that stand in pairs, one at each end of a length (ndarray, bool, level frame)."""
    ends = [end for span in spans if span.certain for end in (span.first, span.second)]
    where = np.zeros(sheet.ink.shape, np.uint8)
    for head in strokes.arrowheads:
        if any(math.dist(head.tip, end) < CARRIED * head.length_px for end in ends):
            cv2.fillConvexPoly(where, np.rint(_corners(head)).astype(np.int32), 1)
    return where.view(np.bool_)


def _corners(head: Arrowhead) -> Sequence[tuple[float, float]]:
    (x, y), (u, v) = head.tip, unit(head.direction_deg)
    ahead, back, aside = RIM_PX, head.length_px + RIM_PX, BREADTH * head.length_px + RIM_PX
    return [
        (x + along * u - off * v, y + along * v + off * u)
        for along, off in ((ahead, -RIM_PX), (ahead, RIM_PX), (-back, aside), (-back, -aside))
    ]
