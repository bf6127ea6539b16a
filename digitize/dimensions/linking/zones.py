"""Zones of a sheet, as on a map: letters from the top, numbers from the left (ISO 5457 habit, from memory)."""

from string import ascii_uppercase

COLUMNS = 8
"""Zones across the sheet."""
ROWS = 6
"""Zones down the sheet."""


def zone_of(x_px: float, y_px: float, width_px: int, height_px: int) -> str:
    """Name the zone that a point of the level sheet lies in.

    Examples
    --------
    >>> zone_of(0, 0, 800, 600), zone_of(799, 599, 800, 600)
    ('A1', 'F8')
    """
    column = min(max(int(x_px * COLUMNS / width_px), 0), COLUMNS - 1)
    row = min(max(int(y_px * ROWS / height_px), 0), ROWS - 1)
    return f"{ascii_uppercase[row]}{column + 1}"
