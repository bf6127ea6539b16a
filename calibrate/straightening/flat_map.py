"""What a bend does to a sheet, in words and as a map for the record."""

import numpy as np

from calibrate.straightening.bend import Bend

COLUMNS, ROWS = 9, 7
DIGITS = 2
CORRECTED = (
    "The sheet does not lie flat: ruled lines bow by up to {bow:.1f} pixels. Lengths are corrected for the bend,"
    " which leaves the lines {left:.2f} pixels from straight; lengths stay unsure by {percent:.2f} % (standard error)."
)
LENS = (
    "The camera's lens bows ruled lines by up to {bow:.1f} pixels. Lengths are corrected for it, which leaves the lines"
    " {left:.2f} pixels from straight; lengths stay unsure by {percent:.2f} % (standard error)."
)
NOT_CORRECTED = (
    "The sheet does not lie flat: ruled lines bow by up to {bow:.1f} pixels, and no smooth bend explains them. Lengths"
    " are not corrected and may be wrong by as much; they are agreed on only where enough of them tell one scale. Press"
    " the sheet flat and take the picture again."
)


def bend_words(bend: Bend) -> str:
    """Say that a sheet or a lens bends the lines, and what was done about it."""
    words = (LENS if bend.by_lens else CORRECTED) if bend.corrected else NOT_CORRECTED
    return words.format(bow=bend.bow_px, left=bend.left_px, percent=100 * bend.strain_std())


def bend_record(bend: Bend | None, shape: tuple[int, ...], mm_per_px: float | None) -> dict[str, object] | None:
    """Collect a bend in plain values: displacements from seen to flat on a grid, with standard errors, in pixels.

    Parameters
    ----------
    bend : Bend or None
    shape : tuple of int
        Of the level picture.
    mm_per_px : float or None
        Millimetres of paper per level pixel, where they are known.
    """
    if bend is None:
        return None
    x, y = np.linspace(0, shape[1] - 1, COLUMNS), np.linspace(0, shape[0] - 1, ROWS)
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    moved, std = bend.flattened(points) - points, bend.std_px(points)
    grid = (ROWS, COLUMNS)
    return {
        "of": ("lens" if bend.by_lens else "sheet") if bend.corrected else "unknown",
        "corrected": bend.corrected,
        "bow_px": round(bend.bow_px, DIGITS),
        "left_px": round(bend.left_px, DIGITS),
        "length_std_percent": round(100 * bend.strain_std(), 3),
        "mm_per_px": mm_per_px,
        "x_px": x.round(1).tolist(),
        "y_px": y.round(1).tolist(),
        "dx_px": moved[:, 0].reshape(grid).round(DIGITS).tolist(),
        "dy_px": moved[:, 1].reshape(grid).round(DIGITS).tolist(),
        "std_px": std.reshape(grid).round(DIGITS).tolist(),
    }
