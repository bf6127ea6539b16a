"""What is struck out, or may have been changed after it was drawn, is not agreed, whatever bears it out."""

from collections.abc import Sequence
from dataclasses import replace

from digitize.dimensions.reasons import Reason
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.table import State

NEVER_AGREED = Reason.STRUCK_OUT, Reason.OTHER_INK


def held_back(judged: Sequence[Judged]) -> tuple[Judged, ...]:
    """Hold back what the drawing, formulas or tables bear out, but a person may have withdrawn.

    Parameters
    ----------
    judged : sequence of Judged

    Returns
    -------
    tuple of Judged
        In the same order.
    """
    return tuple(_held_back(item) for item in judged)


def _held_back(item: Judged) -> Judged:
    why = item.entry.part_for
    if why not in NEVER_AGREED:
        return item
    words = item.reasons if why.say() in item.reasons else (*item.reasons, why.say())
    return replace(item, state=State.UNPROVEN if item.state is State.AGREED else item.state, reasons=words)
