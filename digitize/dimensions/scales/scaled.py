"""How well the scale of each group of views is known, and what may be agreed on it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from calibrate.scaling.nominal import Length, without
from calibrate.scaling.scale import ScaleFit, fit_scale
from calibrate.scaling.settle import CARRIES
from calibrate.scaling.stretching import Stretch
from digitize.dimensions.scales.stretch import undecided

STRENGTH = 12.5
"""Nats against chance that a scale needs: four or five lengths drawn by a usual pen, or four exact ones, three where
circles tell the stretch."""
AMPLE_STRENGTH = 17.5
"""Nats from which `FULL_BOUND` is enough. Between the two the pen hides more misprints of a step: of simulated figures
agreed there 40 of 11,368 are not what the print or the drawing says, by `STRICT_BOUND` 15 of 10,099; on stronger scales
15 of 7,600 (`tests.bench.few_lengths`)."""
FREE = 2
"""Lengths that a scale and a stretch fit whatever they are ..."""
FREE_IF_TOLD = 1
"""... and a scale alone, where circles tell the stretch."""
WELL_TOLD = 0.002
"""Circles tell the stretch where its standard error is no larger: a pen's error over a usual length."""
CHANCE_PEN_MM = 0.03
"""However well lengths agree, they are no better witnesses than with this pen error: two make no scale."""
LOG_RANGE = 4.6
"""A wrong ratio may lie anywhere within a factor of a hundred."""
WITHIN_Z = 3.0
"""A length carries the scale when it lies within this many standard errors."""
SCALE_NOTE, BORDER_NOTE = "scale note", "scale note on the frame of a standard sheet"
"""What stands for a length among those of the figures."""
NOTE_ENOUGH = {SCALE_NOTE: 2, BORDER_NOTE: 3}
"""Inlying lengths that make a scale with a scale note, over a trusted resolution or a standard sheet's frame."""
BY_PERSON, BY_PERSON_ENOUGH = "given length", 1
"""How a length that a person measured is called, and the inlying lengths that make a scale with it: it may be wrong."""
FULL_BOUND = 0.003
"""Largest posterior error of an agreed value whose scale stands on its lengths alone, and amply (simulated)."""
STRICT_BOUND = 0.001
"""... and whose scale stands on few of them, leans on the note (simulated), or lies on a sheet that is not flat."""
CROOKED_STRENGTH = 26.0
"""... that the scale of a sheet needs which does not lie flat, nobody knows how, each length with the error of the bow
(on twelve such sheets nothing wrong was agreed of 51, nor of 68 at two thirds of it). Lines engraved by hand bow on
sheets that are flat."""
SUSPECT_STRENGTH = 10.0
"""Nats of a scale from which a figure far off it is wrong, though none may be agreed: three lengths that fit ..."""
SUSPECT_SHARE = 0.05
"""... so far off, for one of them may be wrong by little, and which of them all is can't be told (no source)."""
SHAPE_SHARE = 0.12
"""Paper whose stretch or bend is not known changes no length by more of itself (twice the worst stretch that is
weighed)."""
NEGLIGIBLE = 0.001
"""An unusual stretch that is less probable than this with all lengths is not weighed again without one of them."""


@dataclass(frozen=True)
class Scaled:
    """The fit, with what is needed to leave one length out.

    ``length_of`` maps an entry's index to its place in ``lengths``; ``group_of`` a view to its scale group. Where
    ``noted`` the last of the lengths stands for the sheet's scale note. ``stretch`` is what the circles say of it.
    ``marked`` are the views that the print says are not to scale; ``scaleless`` those whose lengths fit none.
    ``others`` maps the places in ``lengths`` of those that are no dimensions to what they are. ``crooked`` is True of a
    sheet that does not lie flat, nobody knows how. ``ratio_of`` holds views that are drawn to another scale than the
    rest of their group by the notes beside them.
    """

    lengths: tuple[Length, ...]
    length_of: dict[int, int]
    group_of: dict[str | None, int | None]
    starts: tuple[float, ...]
    fit: ScaleFit | None
    noted: bool = False
    stretch: Stretch = field(default_factory=Stretch)
    marked: frozenset[str] = frozenset()
    scaleless: frozenset[str] = frozenset()
    others: Mapping[int, str] = field(default_factory=dict)
    crooked: bool = False
    ratio_of: Mapping[str, float] = field(default_factory=dict)

    def ratio(self, view: str | None) -> float:
        """Part mm per paper mm of a view over that of its group."""
        return self.ratio_of.get(view or "", 1.0)

    def leave_out(self, entry: int) -> ScaleFit | None:
        """The fit without one entry's own length."""
        if entry not in self.length_of or self.fit is None:
            return self.fit
        rest = without(self.lengths, self.length_of[entry])
        known = self.stretch if self.fit.unusual > NEGLIGIBLE else replace(self.stretch, told=True)
        return fit_scale(rest, len(self.starts), self.starts, known) if rest else None

    def carriers(self, group: int) -> int:
        """Dimensions that carry the scale of a group; neither the note nor a given length is one."""
        return sum(place not in self.others for place in self._carrying(group))

    def also(self, group: int) -> list[str]:
        """What carries the scale of a group besides dimensions."""
        return [self.others[place] for place in self._carrying(group) if place in self.others]

    def _carrying(self, group: int) -> list[int]:
        """Places of the lengths that carry the scale of a group."""
        if self.fit is None:
            return []
        pairs = zip(self.lengths, self.fit.weights, strict=True)
        return [i for i, (length, weight) in enumerate(pairs) if length.group == group and weight > CARRIES]

    def note_holds(self, group: int) -> bool:
        """Does the scale note speak for this group, and agree with its dimensions?"""
        return (
            self.noted
            and self.fit is not None
            and self.lengths[-1].group == group
            and bool(self.fit.weights[-1] > CARRIES)
        )

    def strength(self, group: int) -> float:
        """Nats against the chance that lengths agree on a scale that is wrong.

        Each length beyond the first two, or beyond the first where circles tell the stretch, would fall within its own
        uncertainty of any scale with the chance 2 z sigma / (m ln 100); the scale note likewise.
        """
        if self.fit is None:
            return 0.0
        pen = max(self.fit.pen_std_mm, CHANCE_PEN_MM)
        nats = sorted(
            -math.log(min(1.0, 2 * WITHIN_Z * math.hypot(pen, length.std_mm) / length.measured_mm / LOG_RANGE))
            for length, weight in zip(self.lengths, self.fit.weights, strict=True)
            if length.group == group and weight > CARRIES
        )
        told = self.stretch.told and self.stretch.std <= WELL_TOLD
        return sum(nats[: -FREE_IF_TOLD if told else -FREE])

    @property
    def shape_unknown(self) -> bool:
        """Is it not known how the sheet is stretched or bent?"""
        return undecided(self.fit) or self.crooked

    def unsure_share(self, group: int) -> float:
        """By how much of itself a length may be off beyond its standard error, and yet not be contradicted."""
        strength = self.strength(group)
        if strength < SUSPECT_STRENGTH and not (self.note_holds(group) and self.carriers(group)):
            return math.inf
        shape = SHAPE_SHARE if self.shape_unknown else 0.0
        return shape if strength >= STRENGTH or self.error_bound(group) > 0 else max(shape, SUSPECT_SHARE)

    def holds(self, group: int) -> bool:
        """Do the lengths of a group agree on its scale beyond chance?"""
        return self.strength(group) >= STRENGTH

    def error_bound(self, group: int) -> float:
        """Largest posterior error that an agreed value of this group may have; 0 where none may be agreed."""
        if undecided(self.fit):
            return 0.0
        if self.crooked:
            return STRICT_BOUND if self.strength(group) >= CROOKED_STRENGTH else 0.0
        if self.holds(group):
            return FULL_BOUND if self.strength(group) >= AMPLE_STRENGTH else STRICT_BOUND
        by_note = NOTE_ENOUGH.get(self.others.get(len(self.lengths) - 1, ""), NOTE_ENOUGH[SCALE_NOTE])
        enough = [by_note] if self.note_holds(group) else []
        enough += [BY_PERSON_ENOUGH] if BY_PERSON in self.also(group) else []
        return STRICT_BOUND if enough and self.carriers(group) >= min(enough) else 0.0
