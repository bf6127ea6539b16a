"""Sheets without pixels: strokes and readings of known dimensions, as a perfect tracer would give them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from calibrate.sheet import LevelSheet, Polarity, Resolution, ResolutionStatus
from digitize.lettering.text import Layout, Reading, Text, TextBlock
from digitize.strokes.primitives import Arc, Arrowhead, Line, Point, Role, Strokes, View

MM_PER_PX = 25.4 / 300
HEIGHT_PX = 40.0
ARROW_PX = 35.0
EXTENT_PX = 3000


@dataclass(frozen=True)
class Drawn:
    """A dimension from ``first`` to ``second`` (level px, the lengths as drawn) whose figure has these readings."""

    first: Point
    second: Point
    readings: tuple[Reading, ...]


def sure(text: str) -> tuple[Reading, ...]:
    """A reading the reader has hardly a doubt of."""
    return (Reading(text, 0.998),)


def level_sheet(size_px: int = EXTENT_PX) -> LevelSheet:
    """A blank sheet at 300 dpi with identity transforms."""
    blank = np.full((size_px, size_px), 255, dtype=np.uint8)
    ink = np.zeros((size_px, size_px), dtype=bool)
    resolution = Resolution(ResolutionStatus.STATED, 300.0, 300.0, "as stated")
    return LevelSheet(
        Path("none.png"), "0" * 64, 1, 1, (size_px, size_px), Polarity.DARK_ON_LIGHT, resolution,
        blank, ink, blank, ink,
        np.eye(3), np.eye(3), 0, 0.0, 0.001, False, MM_PER_PX, 4.0,
    )  # fmt: skip


def block_at(centre: Point, text: str, angle_deg: float = 0.0) -> TextBlock:
    """A figure of usual height centred on a point."""
    half, tall = 0.35 * HEIGHT_PX * len(text), 0.5 * HEIGHT_PX
    along = math.cos(math.radians(angle_deg)), -math.sin(math.radians(angle_deg))
    down = -along[1], along[0]
    corners = [
        (centre[0] + a * half * along[0] + b * tall * down[0], centre[1] + a * half * along[1] + b * tall * down[1])
        for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    layout = Layout.STACK if "/" in text or "\n" in text else Layout.ROW
    return TextBlock((corners[0], corners[1], corners[2], corners[3]), angle_deg, HEIGHT_PX, layout)


def draw(dimensions: Sequence[Drawn]) -> tuple[Strokes, tuple[Text, ...]]:
    """Dimension lines with arrowheads, extension lines square to them, and figures at their middles."""
    lines: list[Line] = []
    heads: list[Arrowhead] = []
    texts: list[Text] = []
    for item in dimensions:
        angle_deg = math.degrees(math.atan2(item.first[1] - item.second[1], item.second[0] - item.first[0]))
        u = math.cos(math.radians(angle_deg)), -math.sin(math.radians(angle_deg))
        lines.append(Line(item.first, item.second, 3.0, 0.05, role=Role.DIMENSION, view="A"))
        shaft = len(lines) - 1
        heads.append(Arrowhead(item.first, angle_deg + 180, ARROW_PX, line=shaft))
        heads.append(Arrowhead(item.second, angle_deg, ARROW_PX, line=shaft))
        for end in (item.first, item.second):
            over = end[0] - 20 * u[1], end[1] + 20 * u[0]
            back = end[0] + 200 * u[1], end[1] - 200 * u[0]
            lines.append(Line(over, back, 3.0, 0.05, role=Role.EXTENSION, view="A"))
        middle = (item.first[0] + item.second[0]) / 2, (item.first[1] + item.second[1]) / 2
        shown = item.readings[0].text if item.readings else "?"
        texts.append(Text(block_at(middle, shown, angle_deg), item.readings, "drawn"))
    view = View("A", "view", (0, 0, EXTENT_PX, EXTENT_PX))
    return Strokes(tuple(lines), (), tuple(heads), (view,)), tuple(texts)


def circle(centre: Point, radius_px: float) -> Arc:
    """A full visible circle."""
    return Arc(centre, radius_px, 0.0, 360.0, 5.0, 0.02, 0.02, view="A")
