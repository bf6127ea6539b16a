"""Whether a picture shows its sheet in mirror image, a tracing scanned from its back or a negative laid the wrong way,
or the sheet's back shines through.

Letters tell: hardly one resembles a letter in the mirror as well as it does one as it is. Which way up the sheet lies
is not known yet, so a letter is compared as it stands and on its head, both ways.
"""

from dataclasses import replace

import numpy as np

from calibrate.sheet import FloatArray
from calibrate.straightening.bars import Bars
from calibrate.straightening.letters import Letters
from calibrate.straightening.likeness import SURE_Z, sum_in_stds, true_margin
from calibrate.straightening.perspective import Flat
from calibrate.transforms import mirroring

TURNED_OVER = (
    "The sheet's letters read only in a mirror: it was scanned from its back, or a negative lay the wrong way. It was"
    " turned over; check that its words read rightly on the check print."
)
BACK_SHOWS = (
    "A row of letters reads only in a mirror: the sheet's back shines through. What of it is as dark as ink can't be"
    " told from the drawing and is traced with it; where a line makes no sense, look at the print, or scan it in grey"
    " over black paper."
)
MIRRORED_ROW_Z = 2.5
"""Standard deviations by which a row must read better in a mirror: seven letters of one mind, or more of less. On 75
sheets rows of the front came to 1.7."""


def reads_in_mirror(letters: Letters) -> bool:
    """Tell whether letters surely resemble those of the alphabet better in a mirror than as they are."""
    return sum_in_stds(true_margin(letters.read_along)) <= -SURE_Z


def has_mirrored_row(letters: Letters) -> bool:
    """Tell whether some row of letters reads only in a mirror, as what stands on the sheet's back does."""
    margin, row = true_margin(letters.read_along), letters.row_read
    return any(sum_in_stds(margin[row == one]) <= -MIRRORED_ROW_Z for one in np.unique(row))


def turned_over(flat: Flat) -> Flat:
    """The same sheet, and the lines measured on it, seen from its other side: left and right exchanged."""
    mirror = mirroring(flat.grey.shape[1])
    ruled = flat.ruled
    return replace(
        flat,
        grey=np.ascontiguousarray(flat.grey[:, ::-1]),
        ink=np.ascontiguousarray(flat.ink[:, ::-1]),
        ruled=replace(
            ruled,
            coarse_deg=-ruled.coarse_deg,
            level=_from_left(ruled.level.mapped(mirror)),
            upright=ruled.upright.mapped(mirror),
        ),
        matrix=mirror @ flat.matrix,
    )


def _from_left(bars: Bars) -> Bars:
    """Bars that begin where they ended."""
    ends: FloatArray = bars.ends[:, ::-1]
    return replace(bars, ends=ends, tracks=bars.tracks[:, ::-1])
