"""The values of one piece of lettering are one reading: what the drawing shows to be misread in part is not agreed."""

from collections.abc import Sequence
from dataclasses import replace

from digitize.dimensions.reasons import Reason, quoted
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.table import State


def of_one_reading(judged: Sequence[Judged]) -> tuple[Judged, ...]:
    """Take back the agreement of values beside which the same lettering says what is not drawn.

    A value that is disputed was read surely, and the rest of its callout with it; one that is unread because the
    drawing contradicts it shows that the lettering was parted or read wrongly, and so does one that the drawing alone
    prefers to what the reader saw first.

    Parameters
    ----------
    judged : sequence of Judged

    Returns
    -------
    tuple of Judged
        In the same order.
    """
    misread = {
        item.entry.text: item.chosen.text
        for item in judged
        if item.measured is not None and item.chosen is not None
        if item.state is State.UNREAD or item.chosen != item.entry.options[0]
    }
    return tuple(
        replace(
            item,
            state=State.UNPROVEN,
            reasons=(*item.reasons, Reason.OF_ONE_READING.say(text=quoted(misread[item.entry.text]))),
        )
        if item.state is State.AGREED and item.entry.text in misread
        else item
        for item in judged
    )
