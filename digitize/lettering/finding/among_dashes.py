"""Figures among the dashes of their own dimension line, which stand in one row with them.

A row of dashes and bits of arrowheads is no lettering; what stands between two dashes may be.
"""

from collections.abc import Sequence

from digitize.lettering.finding.placing import Placed, place
from digitize.lettering.finding.row import Row, row_of, stands_alone
from digitize.lettering.finding.sure import is_lettering


def freed_of_dashes(row: Row, usual_height: float) -> list[Row]:
    """The lettering between the dashes of a row; the row itself where there is none, or where it is lettering.

    Parameters
    ----------
    row : Row
    usual_height : float
        The sheet's usual figure height, in level pixels.
    """
    if is_lettering(row, usual_height):
        return [row]
    runs = _between_dashes(place(row.parts, row.angle_deg))
    pieces = [row_of(run, row.angle_deg, row.height) for run in runs] if len(runs) > 1 else []
    return [piece for piece in pieces if is_lettering(piece, usual_height)] or [row]


def _between_dashes(placed: Sequence[Placed]) -> list[list[Placed]]:
    """Parts in line, in runs between level bars that have nothing over or under them."""
    runs: list[list[Placed]] = [[]]
    for item in sorted(placed, key=lambda item: item.middle[0]):
        if stands_alone(item, placed):
            runs.append([])
        else:
            runs[-1].append(item)
    return [run for run in runs if run]
