"""An entry with its state."""

from dataclasses import dataclass

from digitize.dimensions.linking.candidates import Candidate
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.table import State


@dataclass(frozen=True)
class Judged:
    """An entry with its state, what it is believed to say, and why.

    ``chosen`` is None where nothing was read. ``measured`` is in the value's unit, with its standard error.
    ``contradicted`` is True where a person confirmed what the sheet disputes.
    """

    entry: Entry
    chosen: Candidate | None
    state: State
    confidence: float
    measured: float | None
    measured_std: float | None
    reasons: tuple[str, ...]
    rivals: tuple[str, ...]
    confirmed_by: str | None = None
    confirmed_on: str | None = None
    contradicted: bool = False
