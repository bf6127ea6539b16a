"""Sizes that no sheet of its size could show: a figure or its point was lost before them or in them."""

import math
from collections.abc import Sequence

from digitize.dimensions.linking.entries import Entry, in_mm
from digitize.dimensions.table import ViewScale
from digitize.lettering.text import Kind, Unit

MOST_BROKEN = 4.0
"""A length over a break may be drawn so many times shorter than it is (no source); what is round is not broken."""
ROUND = (Kind.DIAMETER, Kind.CHAMFER)


def longest_mm(views: Sequence[ViewScale], shape_px: tuple[int, int]) -> float | None:
    """The longest length in mm of the part that the sheet has room for; None where no scale is known.

    Parameters
    ----------
    views : sequence of ViewScale
    shape_px : (int, int)
        Height and width of the level picture.
    """
    scales = [max(view.x_mm_per_px, view.y_mm_per_px) for view in views if view.known]
    return math.hypot(*shape_px) * max(scales) if scales else None


def is_too_large(entry: Entry, room_mm: float | None, unit: Unit, unit_sure: bool) -> bool:
    """Does an entry say more than the sheet has room for?

    A radius may be struck from far off the sheet.
    """
    value = entry.value
    if room_mm is None or value is None or value.kind not in (*ROUND, Kind.LINEAR) or value.not_to_scale:
        return False
    if value.unit is Unit.UNMARKED and not unit_sure:
        return False
    length_mm = in_mm(value, unit)
    most_mm = room_mm * (1.0 if value.kind in ROUND else MOST_BROKEN)
    return length_mm is not None and float(length_mm) > most_mm
