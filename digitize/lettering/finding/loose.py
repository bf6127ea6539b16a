"""Parts that no row has claimed, found by where they stand."""

from collections.abc import Sequence

import numpy as np

from digitize.lettering.finding.parts import Part


class Loose:
    """Parts that are there to be taken.

    Parameters
    ----------
    parts : sequence of Part
    """

    def __init__(self, parts: Sequence[Part]) -> None:
        self._parts = dict(enumerate(parts))
        self._index = {part.label: index for index, part in enumerate(parts)}
        self._centres = np.array([part.centre for part in parts]).reshape(-1, 2)

    def near(self, place: tuple[float, float], reach_px: float) -> list[Part]:
        """Those whose middle lies nearer than this to a place, in their order."""
        off = self._centres - place
        near = np.flatnonzero((off * off).sum(axis=1) < reach_px * reach_px)
        return [self._parts[index] for index in near.tolist() if index in self._parts]

    def take(self, part: Part) -> None:
        """Take a part away."""
        del self._parts[self._index[part.label]]
