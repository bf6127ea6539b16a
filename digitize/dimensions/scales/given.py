"""Lengths of the part that no figure gives, as witnesses of the scale beside the dimensions."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from calibrate.sheet import KnownOf, LevelSheet
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.linking.tied import view_at
from digitize.dimensions.scales.scaled import BY_PERSON
from digitize.dimensions.table import Point
from digitize.strokes.primitives import Strokes


@dataclass(frozen=True)
class GivenLength:
    """A length that a person measured, or that a drawn scale bar shows; its ends in level pixels."""

    view: str | None
    value_mm: float
    relative_std: float
    first_px: Point
    second_px: Point
    source: str = BY_PERSON


def given_by_person(sheet: LevelSheet, strokes: Strokes) -> tuple[GivenLength, ...]:
    """Lengths of the part that a person gave, each in the view that its middle lies in."""
    if sheet.known is None or sheet.known.of is not KnownOf.PART:
        return ()
    return tuple(
        GivenLength(
            view_at(((span.first_px[0] + span.second_px[0]) / 2, (span.first_px[1] + span.second_px[1]) / 2), strokes),
            span.value_mm,
            span.std_mm / span.value_mm,
            span.first_px,
            span.second_px,
        )
        for span in sheet.known.spans
    )


def of_main_view(length: GivenLength, entries: Sequence[Entry]) -> GivenLength:
    """Let a length that stands beside the views speak for the one that most figures measure."""
    views = Counter(entry.view for entry in entries if entry.measured is not None and entry.view is not None)
    return replace(length, view=max(sorted(views), key=lambda view: views[view], default=None))
