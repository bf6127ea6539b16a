"""What the tolerances of a chain's links leave for its total.

Notes
-----
With deviations u and l of each link, and its sign s in the chain (1 where it opens, -1 where it closes it):

    worst case        upper = sum of u where s = 1, of -l where s = -1; lower likewise
    root sum square   +- sqrt(sum of ((u - l) / 2)^2) about the middle of the worst case
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Link:
    """Deviations of one link, and 1 or -1 as it adds to the total or takes from it."""

    upper: Fraction
    lower: Fraction
    sign: int = 1


@dataclass(frozen=True)
class Stack:
    """What links allow together: worst-case deviations, and half the band that is left when errors are by chance."""

    upper: Fraction
    lower: Fraction
    root_sum_square: float

    @property
    def middle(self) -> Fraction:
        """Where the middle of the band lies, beside the sum of the nominal values."""
        return (self.upper + self.lower) / 2

    @property
    def half(self) -> Fraction:
        """Half of the worst-case band."""
        return (self.upper - self.lower) / 2


def stack(links: Sequence[Link]) -> Stack:
    """Add the tolerances of links.

    Parameters
    ----------
    links : sequence of Link

    Examples
    --------
    >>> added = stack([Link(Fraction(3, 10), Fraction(-3, 10)), Link(Fraction(2, 5), Fraction(0), -1)])
    >>> str(added.upper), str(added.lower), round(added.root_sum_square, 4)
    ('3/10', '-7/10', 0.3606)
    """
    upper = sum((link.upper if link.sign > 0 else -link.lower for link in links), Fraction(0))
    lower = sum((link.lower if link.sign > 0 else -link.upper for link in links), Fraction(0))
    halves = [float(link.upper - link.lower) / 2 for link in links]
    return Stack(upper, lower, math.hypot(*halves))
