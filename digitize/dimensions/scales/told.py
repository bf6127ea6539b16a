"""What is told of a sheet's scales besides its figures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from calibrate.scaling.stretching import Stretch
from digitize.dimensions.scales.given import GivenLength


@dataclass(frozen=True)
class Told:
    """Notes, marks and lengths that speak of scales.

    Attributes
    ----------
    note : float or None
        Part mm per paper mm by the sheet's scale note; only where the resolution is trusted.
    bordered : sequence of float
        As ``note``, for each standard frame that the drawn one may be, where the resolution is not trusted.
    stretch : Stretch
        What the circles say of it.
    level_with : mapping of view to views
        Which views each is projected from.
    marked : frozenset of str
        Views that the print says are not to scale: they keep a scale of their own, or have none.
    given : sequence of GivenLength
        Lengths from elsewhere than the figures.
    ratios : mapping of view to float
        How the scale of a view differs from the sheet's by its own note; heeded where its figures bear it out.
    bent : bool
        True where the standard errors of lengths are those that a bend leaves.
    """

    note: float | None = None
    bordered: Sequence[float] = ()
    stretch: Stretch = field(default_factory=Stretch)
    level_with: Mapping[str, Sequence[str]] = field(default_factory=dict)
    marked: frozenset[str] = frozenset()
    given: Sequence[GivenLength] = ()
    ratios: Mapping[str, float] = field(default_factory=dict)
    bent: bool = False
