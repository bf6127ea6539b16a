"""Small arrowheads whose shaft was not traced: a blot with a dash behind it, or ink that was taken for lettering.

The line that such a head points at was traced. So ink is followed along both sides of every traced stroke, and where it
stands on the stroke like a shaft a head is looked for.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.heads.barbed_heads import Barbed, barbed_from, best_tips
from digitize.strokes.heads.barbs import INK
from digitize.strokes.table import S0, S1, WIDTH, Table, point_on
from digitize.strokes.widths import Pens

FloatArray = NDArray[np.float64]

BESIDE_PENS = (2.0, 3.0, 4.0)
"""A shaft is ink at all these distances from the stroke that it stands on."""
STEP_PX = 1.0
WIDEST_PENS = 2.5
"""A shaft with a bit of its barbs is no wider than this."""


def standing_heads(ground: Ground, table: Table, pens: Pens) -> list[tuple[float, float, float, float, Barbed]]:
    """Find small heads by what stands on the traced strokes, lettering or not.

    Returns
    -------
    list of (x, y, dx, dy, Barbed)
        Tip on the stroke, in the frame of the pieces, and unit direction.
    """
    picture, dark, thin = ground.picture_from_round, ground.all_dark, pens.thin
    shafts = _shafts_on(table.rows, picture, dark, thin)
    rays = np.column_stack([shafts, np.full(len(shafts), thin)])
    tips = best_tips(table.rows, table.cells, picture, dark, rays, ground.px(1.0))
    return [
        (x, y, dx, dy, barbed_from(ahead, best))
        for (x, y, dx, dy), (ahead, *best) in zip(shafts.tolist(), tips.tolist(), strict=True)
        if not math.isnan(ahead)
    ]


@compiled
def _shafts_on(rows: FloatArray, picture: FloatArray, dark: ByteImage, pen: float) -> FloatArray:
    """Places along all strokes where ink stands on them like a shaft: point, and direction from the shaft to it."""
    found = []
    for k in range(len(rows)):
        row = rows[k]
        for side in (-1.0, 1.0):
            first = -1
            count = math.ceil((row[S1] - row[S0]) / STEP_PX)
            for n in range(count + 1):
                inked = n < count and _is_beside(row, picture, dark, pen, row[S0] + n * STEP_PX, side)
                if inked and first < 0:
                    first = n
                elif not inked and first >= 0:
                    if (n - first) * STEP_PX <= WIDEST_PENS * pen:
                        s = row[S0] + 0.5 * (first + n - 1) * STEP_PX
                        x, y = point_on(row, s, 0.0)
                        far_x, far_y = point_on(row, s, side)
                        found.append((x, y, x - far_x, y - far_y))
                    first = -1
    return np.array(found).reshape(-1, 4) if len(found) else np.zeros((0, 4))


@compiled
def _is_beside(row: FloatArray, picture: FloatArray, dark: ByteImage, pen: float, s: float, side: float) -> bool:
    """Whether there is ink at all of `BESIDE_PENS` to one side of a stroke."""
    for pens_off in BESIDE_PENS:
        x, y = point_on(row, s, side * (0.5 * row[WIDTH] + pens_off * pen))
        column = round(picture[0, 0] * x + picture[0, 1] * y)
        line = round(picture[1, 0] * x + picture[1, 1] * y)
        if not (0 <= line < dark.shape[0] and 0 <= column < dark.shape[1]) or dark[line, column] < INK:
            return False
    return True
