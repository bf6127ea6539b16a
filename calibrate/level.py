"""The whole of calibration: a file and a page become a level sheet."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from calibrate.files.load import load_page
from calibrate.one_thread import on_one_thread
from calibrate.restoring.restore import restore
from calibrate.scaling.circles import with_circles
from calibrate.scaling.known import KnownLength, with_known
from calibrate.scaling.witnesses import known_witness, paper_witnesses
from calibrate.sheet import KnownOf, LevelSheet
from calibrate.straightening.straighten import straighten


@on_one_thread
def calibrate_sheet(
    path: Path | str,
    page: int = 1,
    known: Sequence[KnownLength] = (),
    known_of: KnownOf = KnownOf.PART,
    orientation_deg: int | None = None,
    *,
    by_circles: bool = False,
    over: bool | None = None,
) -> LevelSheet:
    """Load, restore and straighten one page of a print.

    Parameters
    ----------
    path : Path or str
        TIFF, PNG, JPEG, JPEG 2000 or PDF.
    page : int
        1-based.
    known : sequence of KnownLength
        Lengths that a person gives, if any.
    known_of : KnownOf
        What these are lengths of.
    orientation_deg : int, optional
        Quarter turns, counter-clockwise as seen, that are known to bring the page upright; else its letters tell.
    by_circles : bool
        Whether to look for drawn circles, which tell across from up; `digitize` measures those of its strokes instead.
    over : bool, optional
        Whether the page is known to show its sheet in mirror image; else its letters tell.

    Returns
    -------
    LevelSheet

    Raises
    ------
    InputError
        Where the file or page can't be used, or a known length can't be true.
    """
    loaded = load_page(path, page)
    restored = restore(loaded)
    quad_px = restored.sheet_quad_px
    sheet = straighten(loaded, restored, orientation_deg, over)
    del loaded, restored  # large pictures
    sheet = with_circles(sheet) if by_circles else sheet
    sheet = with_known(sheet, known, known_of) if known else sheet
    return replace(sheet, witnesses=(*paper_witnesses(sheet, quad_px), *known_witness(sheet)))
