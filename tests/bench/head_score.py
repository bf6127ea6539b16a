"""Arrowheads found against those drawn, in level pixels: each of one is paired with at most one of the other."""

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from calibrate.sheet import LevelSheet, apply_homography
from digitize.found import NAME, load
from digitize.strokes.primitives import Arrowhead
from tests.bench.records import Case, FloatArray, Record

REACH_MM, TURN_DEG = 1.0, 20.0
"""A found head is a drawn one where its tip lies this near and it points the same way, give or take."""
WITHOUT_DIRECTION = "tick", "dot"
SAME_PX, SAME_DEG = 1.0, 1.0
"""Two drawn heads this alike lie on one another."""


@dataclass(frozen=True)
class SheetHeads:
    """How many were drawn and found, and how far off the tips of those paired lie, in px."""

    true: int = 0
    found: int = 0
    tips_px: tuple[float, ...] = ()


@dataclass(frozen=True)
class _Drawn:
    tip: FloatArray
    direction_deg: float
    form: str


def score_heads(case: Case) -> SheetHeads:
    """Compare the arrowheads of one sheet; a result without `found.json` has none to compare."""
    path = case.folder / NAME
    if not path.is_file():
        return SheetHeads()
    found = load(path)
    drawn = drawn_heads(case.truth, found.sheet)
    heads = found.strokes.arrowheads
    far = 10.0 * REACH_MM / found.sheet.paper_mm_per_px
    away = np.array([[_away(d, h, far) for h in heads] for d in drawn]).reshape(len(drawn), len(heads))
    rows, columns = linear_sum_assignment(away)
    pairs = away[rows, columns]
    return SheetHeads(len(drawn), len(heads), tuple(float(a) for a in pairs if a <= 0.1 * far))


def drawn_heads(truth: Record, sheet: LevelSheet) -> list[_Drawn]:
    """The heads of a truth file in the level frame, each once."""
    level_from_paper = sheet.level_from_source @ np.array(truth["source_from_paper"], dtype=np.float64)
    drawn: list[_Drawn] = []
    for head in truth["arrowheads"]:
        turn = math.radians(head["direction_deg"])
        back = np.array(head["tip"]) - [math.cos(turn), math.sin(turn)]
        tip, tail = apply_homography(level_from_paper, np.array([head["tip"], back], dtype=np.float64))
        direction = math.degrees(math.atan2(tail[1] - tip[1], tip[0] - tail[0]))
        if not any(math.dist(tip, d.tip) < SAME_PX and _turn(direction, d.direction_deg) < SAME_DEG for d in drawn):
            drawn.append(_Drawn(tip, direction, head["form"]))
    return drawn


def _turn(a_deg: float, b_deg: float) -> float:
    return abs((a_deg - b_deg + 180.0) % 360.0 - 180.0)


def _away(drawn: _Drawn, head: Arrowhead, far: float) -> float:
    """Distance of the tips in px; ``far`` where the heads are not the same."""
    pointed = drawn.form not in WITHOUT_DIRECTION and head.form not in WITHOUT_DIRECTION
    turned = pointed and _turn(drawn.direction_deg, head.direction_deg) > TURN_DEG
    distance = math.dist(drawn.tip, head.tip)
    return far if turned or distance > 0.1 * far else distance
