"""What may be taken from ink when it is thinned, by the eight neighbours of a pixel."""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled

ByteImage = NDArray[np.uint8]

INKED = np.uint8(1)
"""The bit of a pixel that says that it is ink."""


@compiled
def around(flat: ByteImage, at: int, columns: int) -> int:
    """Eight neighbours in a flat picture as bits, from the one above clockwise."""
    above, below = at - columns, at + columns
    return (
        int(flat[above] & INKED)
        | int(flat[above + 1] & INKED) << 1
        | int(flat[at + 1] & INKED) << 2
        | int(flat[below + 1] & INKED) << 3
        | int(flat[below] & INKED) << 4
        | int(flat[below - 1] & INKED) << 5
        | int(flat[at - 1] & INKED) << 6
        | int(flat[above - 1] & INKED) << 7
    )


def _thinning_table() -> ByteImage:
    """What may be taken from a neighbourhood: bit 0 and 1 in the two half-steps of thinning, bit 2 when made strict.

    Half-steps after Guo and Hall, Communications of the ACM 32 (1989) 359 (from memory), which, unlike the better known
    ones of Zhang and Suen, keep a sloping line of even width; the strict step removes a pixel whose neighbours stay
    joined without it and that is no end.
    """
    table = np.zeros(256, np.uint8)
    for code in range(256):
        p = [code >> k & 1 for k in range(8)]
        count = sum(p)
        north, north_east, east, south_east, south, south_west, west, north_west = p
        pairs = [(p[k] | p[k + 1]) for k in range(0, 8, 2)], [(p[k - 1] | p[k]) for k in range(0, 8, 2)]
        joined = sum(not p[k] and (p[(k + 1) % 8] or p[(k + 2) % 8]) for k in range(0, 8, 2))
        if joined == 1 and 2 <= min(sum(pairs[0]), sum(pairs[1])) <= 3:
            first = not ((south or south_west or not north_west) and west)
            second = not ((north or north_east or not south_east) and east)
            table[code] |= np.uint8(first) | np.uint8(second) << 1
        if count >= 2 and _groups(p) == 1 and not (p[0] and p[2] and p[4] and p[6]):
            table[code] |= 4
    return table


def _groups(p: list[int]) -> int:
    """Count the 8-connected groups in a ring of neighbours whose even places are the direct ones."""
    ring = list(p)
    for k in range(1, 8, 2):
        if p[k - 1] and p[(k + 1) % 8]:
            ring[k] = 1
    rises = sum(ring[k] == 0 and ring[(k + 1) % 8] == 1 for k in range(8))
    return rises if rises or not any(ring) else 1


THINNING = _thinning_table()
