"""Pieces of ink small enough to be lettering, and what each looks like.

Glossary
--------
part
    One connected piece of the ink that is left when long lines are gone.
free
    A part that touched no line: lettering in its usual state. The others were *freed* by taking lines away and may
    as well be bits of the drawing.
stroke length
    Half the outline of a part: the way its pen went. Divided by the part's diagonal it says how much the pen turned:
    about 1 for a bar, 1.4 for a seven, 2 and more for a three or an eight.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import Pieces, pieces_of, touched
from calibrate.sheet import FloatArray, InkImage, LevelSheet
from digitize.lettering.finding.arrow_shape import ARROW_SHORTEST_MM, is_arrow

LARGEST_PART_MM = 40.0
"""A word of joined-up script; anything longer is drawing."""
SMALLEST_PART_MM = 0.2
TURNING_GLYPH = 1.3
"""Stroke length over diagonal from which a part is a letter rather than a bar: a seven has 1.37."""
DOT_MM = 0.9
DOT_PENS = 2.2
BAR_SLENDERNESS = 2.2
ROUGH_SLENDERNESS, ROUGH_PENS = 3.5, 2.2
"""A stroke no broader than this is a bar, however long its ragged edge makes the outline."""
WEDGE_SOLIDITY = 0.82
WEDGE_FILL = 0.70
"""A triangle fills half of the rectangle round it, a bar nearly all."""
WEDGE_PENS = 1.5
WEDGE_BROAD_PENS = 2.4
WEDGE_BODY = 0.7
"""The widest circle in a triangle takes most of its base; the stroke of a one is much less than its flag."""
WEDGE_LONGEST_MM = 8.0
RING_ASPECT = 0.92
RING_ROUNDNESS = 0.06


class Look(StrEnum):
    """What a part looks like."""

    GLYPH = "glyph"
    BAR = "bar"
    DOT = "dot"
    RING = "ring"
    WEDGE = "wedge"


@dataclass(frozen=True)
class Part:
    """One part, in level pixels.

    Attributes
    ----------
    label : int
        Its number among the pieces of ink.
    box : tuple of float
        (left, top, right, bottom) edges.
    hull : ndarray, float64, shape (N, 2)
        Corners of its convex hull.
    axis_deg : float
        Direction of the longer side of the tightest rectangle, counter-clockwise as seen, in [-90, 90).
    length, thickness : float
        Sides of that rectangle.
    turning : float
        Stroke length over diagonal.
    holes : int
    area : int
        Pixels of ink.
    look : Look
    free : bool
    """

    label: int
    box: tuple[float, float, float, float]
    hull: FloatArray
    axis_deg: float
    length: float
    thickness: float
    turning: float
    holes: int
    area: int
    look: Look
    free: bool

    @property
    def centre(self) -> tuple[float, float]:
        """Middle of the box."""
        left, top, right, bottom = self.box
        return (left + right) / 2, (top + bottom) / 2

    @property
    def size(self) -> float:
        """Longer side of the box."""
        left, top, right, bottom = self.box
        return max(right - left, bottom - top)

    @property
    def way_px(self) -> float:
        """Its stroke length."""
        return self.turning * float(np.hypot(self.length, self.thickness))

    @property
    def window(self) -> tuple[slice, slice]:
        """Rows and columns of its box in the level sheet."""
        left, top, right, bottom = (round(edge) for edge in self.box)
        return slice(top, bottom + 1), slice(left, right + 1)


Found = tuple[tuple[Part, ...], Pieces]


def find_parts(sheet: LevelSheet, thinned: InkImage, before: Found | None = None) -> Found:
    """All parts of a sheet.

    Parameters
    ----------
    sheet : LevelSheet
    thinned : ndarray, bool, shape (H, W)
        Its ink without long lines.
    before : tuple of Part and Pieces, optional
        What was found before some more ink was taken away: parts that lost none of theirs look as they did.

    Returns
    -------
    tuple of Part
    Pieces
        All pieces of ink, a part's own by its label.
    """
    found = pieces_of(thinned)
    sides = found.stats[:, 2:4].max(axis=1)
    fits = (sides <= sheet.px(LARGEST_PART_MM)) & (sides >= max(sheet.px(SMALLEST_PART_MM), 2.0))
    fits[0] = False
    whole = {} if before is None else _whole_parts(found, *before)
    new = fits.copy()
    new[list(whole)] = False
    free = ~touched(found, sheet.ink, thinned, new)  # its ink has no neighbour among the ink that was taken away
    seen: dict[tuple[tuple[int, ...], bytes], Part] = {}

    def part_of(label: int) -> Part:
        """A part, which looks as another of the same ink does: specks of a scan have few shapes."""
        picture = found.picture(label)
        shape = picture.shape, picture.tobytes()
        like = seen.get(shape)
        if like is None:
            like = seen[shape] = look_at(sheet, picture)
        left, top = found.stats[label, :2].tolist()
        return _moved(like, label, left, top, bool(free[label]))

    parts = [
        replace(whole[label], label=label) if label in whole else part_of(label)
        for label in np.flatnonzero(fits).tolist()
    ]
    return tuple(parts), found


def _whole_parts(found: Pieces, parts: Sequence[Part], before: Pieces) -> dict[int, Part]:
    """Parts found before that are pieces as they were, by the number of these."""
    were = {part.label: part for part in parts}
    old = before.at(found.stats[:, 1], found.first_columns)
    pairs = enumerate(zip(old.tolist(), found.stats[:, 4].tolist(), strict=True))
    return {label: were[was] for label, (was, area) in pairs if label and was in were and were[was].area == area}


def _moved(part: Part, label: int, left: int, top: int, free: bool) -> Part:
    """A part that was looked at by itself, where it lies on the sheet."""
    _, _, right, bottom = part.box
    return Part(
        label=label,
        box=(float(left), float(top), left + right, top + bottom),
        hull=part.hull + np.array([left - 1.0, top - 1.0]),
        axis_deg=part.axis_deg,
        length=part.length,
        thickness=part.thickness,
        turning=part.turning,
        holes=part.holes,
        area=part.area,
        look=part.look,
        free=free,
    )


def look_at(sheet: LevelSheet, picture: InkImage) -> Part:
    """The part that a piece of ink is, free and by itself, its hull a pixel off."""
    height, width = picture.shape
    area = int(np.count_nonzero(picture))
    padded = np.zeros((height + 2, width + 2), np.uint8)
    padded[1:-1, 1:-1] = picture
    contours, tree = cv2.findContours(padded, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    outer = max(contours, key=len)
    hull = cv2.convexHull(outer)
    length, thickness, axis_deg = _tight_rectangle(outer)
    turning = sum(cv2.arcLength(contour, True) for contour in contours) / 2 / max(np.hypot(length, thickness), 1.0)
    holes = int(np.count_nonzero(tree[0][:, 3] >= 0))
    solidity = area / max(float(cv2.contourArea(hull)) + len(outer) / 2, 1.0)
    look = _look(sheet, padded, length, thickness, turning, holes, area, solidity)
    if look in (Look.GLYPH, Look.BAR) and holes == 0 and is_arrow(sheet, padded, axis_deg, length, thickness):
        look = Look.WEDGE
    return Part(
        label=0,
        box=(0.0, 0.0, float(width - 1), float(height - 1)),
        hull=hull.reshape(-1, 2).astype(np.float64),
        axis_deg=axis_deg,
        length=length,
        thickness=thickness,
        turning=turning,
        holes=holes,
        area=area,
        look=look,
        free=True,
    )


def _tight_rectangle(outer: NDArray[Any]) -> tuple[float, float, float]:
    """Longer side, shorter side and direction of the longer one, pixels counted as squares."""
    (_, _), (width, height), turn_deg = cv2.minAreaRect(outer)
    if width < height:
        width, height, turn_deg = height, width, turn_deg + 90.0
    axis_deg = (-turn_deg + 90.0) % 180.0 - 90.0
    return width + 1.0, height + 1.0, axis_deg


def _look(
    sheet: LevelSheet,
    ink: NDArray[np.uint8],
    length: float,
    thickness: float,
    turning: float,
    holes: int,
    area: int,
    solidity: float,
) -> Look:
    if length <= max(DOT_PENS * sheet.pen_px, sheet.px(DOT_MM)) and turning < 1.6 and length < 2.5 * thickness:
        return Look.DOT
    wedge = solidity > WEDGE_SOLIDITY and area / (length * thickness) < WEDGE_FILL and holes == 0
    wedge = wedge and sheet.px(ARROW_SHORTEST_MM) < length < sheet.px(WEDGE_LONGEST_MM)
    if wedge and thickness > WEDGE_BROAD_PENS * sheet.pen_px:
        widest = 2 * float(cv2.distanceTransform(ink, cv2.DIST_L2, 3).max()) - 1.0
        if widest > max(WEDGE_PENS * sheet.pen_px, WEDGE_BODY * thickness):
            return Look.WEDGE
    if turning < TURNING_GLYPH and length > BAR_SLENDERNESS * thickness:
        return Look.BAR
    if length > ROUGH_SLENDERNESS * thickness and thickness < ROUGH_PENS * sheet.pen_px:
        return Look.BAR
    if holes == 1 and thickness > RING_ASPECT * length and _is_round(length, turning, solidity):
        return Look.RING
    return Look.GLYPH


def _is_round(length: float, turning: float, solidity: float) -> bool:
    """Two circles, one in the other: the outlines add to just under pi diameters, and nothing sticks out."""
    ring_turning = turning * np.sqrt(2.0)
    return bool(ring_turning < np.pi * (1 + RING_ROUNDNESS) and solidity < 0.85 and length > 0)
