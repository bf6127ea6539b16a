"""What stands around blocks of a sheet, each looked at once however many ask for it."""

from dataclasses import dataclass

import numpy as np

from calibrate.sheet import FloatArray, InkImage, LevelSheet
from digitize.lettering.crops import INK_BELOW, crop_frame, cut
from digitize.lettering.text import TextBlock

LOOK_HEIGHTS = 1.7
"""How far round a block ink is looked at, in figure heights: a whole figure and the paper round it."""


@dataclass(frozen=True)
class Look:
    """A block and what stands around it, turned level.

    Attributes
    ----------
    ink : ndarray, bool, shape (h, w)
    crop_from_level : ndarray, float64, shape (3, 3)
        Level pixels to its pixels.
    """

    ink: InkImage
    crop_from_level: FloatArray


class Surroundings:
    """Looks at blocks of a sheet.

    Parameters
    ----------
    sheet : LevelSheet
    """

    def __init__(self, sheet: LevelSheet) -> None:
        self.sheet = sheet
        self._seen: dict[TextBlock, Look] = {}

    def of(self, block: TextBlock) -> Look:
        """A block with what stands around it."""
        if block not in self._seen:
            ink = np.asarray(cut(self.sheet, block, LOOK_HEIGHTS) < INK_BELOW)
            self._seen[block] = Look(ink, crop_frame(block, LOOK_HEIGHTS)[0])
        return self._seen[block]
