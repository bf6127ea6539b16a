"""The whole of calibration: a file and a page become a level sheet."""

from pathlib import Path

from calibrate.load import load_page
from calibrate.restore import restore
from calibrate.sheet import LevelSheet
from calibrate.straighten import straighten


def calibrate_sheet(path: Path | str, page: int = 1) -> LevelSheet:
    """Load, restore and straighten one page of a print.

    Parameters
    ----------
    path : Path or str
        TIFF, PNG, JPEG, JPEG 2000 or PDF.
    page : int
        1-based.

    Returns
    -------
    LevelSheet

    Raises
    ------
    InputError
        Where the file or page can't be used.
    """
    loaded = load_page(path, page)
    return straighten(loaded, restore(loaded))
