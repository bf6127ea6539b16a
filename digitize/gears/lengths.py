"""Lengths as a person types them at the desk, as evidence for a gear."""

from dataclasses import dataclass

from calibrate import lengths
from calibrate.lengths import exact_number
from digitize.gears.identifying.evidence import Known, Quantity

COARSEST_PLACE_MM = float(lengths.FRACTION_PLACE_IN * lengths.INCH_MM)
"""A sixty-fourth of an inch: what a rule reads to."""

__all__ = ["GivenLength", "exact_number", "parse_length"]


@dataclass(frozen=True)
class GivenLength(lengths.GivenLength):
    """A length as given, which can be taken as evidence."""

    def quantity(self, known: Known) -> Quantity:
        """The same as evidence: a person who types 5in means no length within half an inch of it."""
        place_mm = min(float(self.place_mm), COARSEST_PLACE_MM)
        return Quantity(float(self.value_mm), known, place_mm, self.std_mm, self.text)


def parse_length(text: str, name: str) -> GivenLength:
    """Read a length with its unit, as `calibrate.lengths.parse_length` does; ``name`` says what it is of.

    Raises
    ------
    InputError
        Where it is not a length above zero with a unit.
    """
    given = lengths.parse_length(text, name)
    return GivenLength(given.value_mm, given.tolerance_mm, given.place_mm, given.unit, given.text)
