"""Marks in another ink, on the check print: boxed and their colour named, since the picture itself is grey."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from calibrate.sheet import FloatArray, OtherInk
from digitize.report.place_marks import PlaceMark

COLOUR = "#8a4b08"
MEANING = "a brown dotted box: written or marked in another ink than the drawing; it may have been changed later"
TOGETHER_MM = 6.0
"""Marks closer than this are of one hand: the letters of a word."""
MOST_BOXES = 60
"""More would cover the sheet: the largest are boxed."""
ASIDE_MM, DASH_MM, PEN_MM, LETTER_MM = 0.8, 0.8, 0.35, 2.5


def ink_marks(marks: Sequence[OtherInk], paper_mm_per_px: float) -> list[PlaceMark]:
    """Make a box for each group of marks.

    Parameters
    ----------
    marks : sequence of OtherInk
        In level pixels.
    paper_mm_per_px : float
    """
    if not marks:
        return []
    aside = ASIDE_MM / paper_mm_per_px
    boxes = np.array([(*mark.least_px, *mark.most_px) for mark in marks])
    groups = _groups(boxes, TOGETHER_MM / paper_mm_per_px)
    boxed = []
    for group in range(groups.max() + 1):
        own = [int(k) for k in np.flatnonzero(groups == group)]
        box = np.concatenate([boxes[own, :2].min(axis=0) - aside, boxes[own, 2:].max(axis=0) + aside])
        colours = dict.fromkeys(marks[k].colour for k in own)
        boxed.append((box, "in " + ", ".join(colours)))
    boxed.sort(key=lambda each: -float(np.prod(each[0][2:] - each[0][:2])))
    return [_mark(box, words, paper_mm_per_px) for box, words in boxed[:MOST_BOXES]]


def _groups(boxes: FloatArray, reach_px: float) -> NDArray[np.int32]:
    """Number of the group that each box, shape (N, 4), belongs to."""
    apart = np.maximum(boxes[None, :, :2] - boxes[:, None, 2:], boxes[:, None, :2] - boxes[None, :, 2:]).max(axis=2)
    near = coo_array(apart < reach_px)
    return np.asarray(connected_components(near, directed=False)[1], np.int32)


def _mark(box: FloatArray, words: str, paper_mm_per_px: float) -> PlaceMark:
    left, top, right, bottom = box
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom), (left, top)])
    dash = DASH_MM / paper_mm_per_px
    paths = []
    for start, end in pairwise(corners):
        count = max(1, round(float(np.hypot(*(end - start))) / dash / 2))
        places = np.linspace(0.0, 1.0, 2 * count + 1)[:, None]
        points = start + places * (end - start)
        paths += [points[2 * i : 2 * i + 2] for i in range(count)]
    at = float(left), float(top) - ASIDE_MM / paper_mm_per_px
    height = LETTER_MM / paper_mm_per_px
    return PlaceMark(tuple(paths), PEN_MM / paper_mm_per_px, words, at, height, COLOUR, MEANING)
