"""How a block is lettered: pen, spacing, slant, the look of its fractions, how far a hand strays from its face."""

from dataclasses import dataclass

import numpy as np

from digitize.lettering.training.faces import Face

Rng = np.random.Generator
LOOSE_GROUPS = ("own", "hand", "stroke")
SPACE = 0.55  # figure heights between words, before tracking
DOUBLED = ("hershey-rowmand", "hershey-rowmant", "hershey-timesrb", "hershey-timesib")  # strokes drawn twice or thrice
AXIS = 0.5  # height of the fraction bar above the base line
SMALL_FIGURES, SMALL_FIGURES_SHARE = (0.75, 0.95), 0.15  # of capitals' height; of hands
LEVEL_SHARE = 0.12  # of hands that letter the whole number level with the denominator, or higher than the middle


@dataclass(frozen=True)
class Variety:
    """How far a hand strays from its face, in figure heights or as shares; the splits that are scored stay by theirs.

    ``proportions`` moves waists and bars up or down and makes glyphs wider or narrower, ``gaps`` sets glyphs unevenly
    apart, and ``figures`` is the height of figures beside capitals.
    """

    proportions: float = 0.0
    gaps: float = 0.0
    figures: float = 1.0


@dataclass(frozen=True)
class Manner:
    """How one block is lettered, in figure heights and degrees.

    ``engraved`` blocks set their marks as plates do: small, high, apart. The splits that are scored hold none: a crop
    does not always tell a mark that stands away from its figure from what else lies there.
    """

    face: Face
    pen: float
    tracking: float
    space: float
    looseness: float
    warp: float
    slant_deg: float
    fraction_scale: float
    fraction_gap: float
    whole_gap: float
    bar_tilt_deg: float
    bar_overhang: float
    stack_scale: float
    stack_gap: float
    mark_place: str
    marks_raised: bool
    axis: float
    variety: Variety
    engraved: bool


def manner(rng: Rng, face: Face) -> Manner:
    """Draw a manner that suits the face."""
    loose = face.group in LOOSE_GROUPS
    old = face.group == "own" and rng.random() < 0.25
    slanted = face.group in ("own", "stroke", "technical", "book") and rng.random() < (
        0.15 if face.group == "technical" else 0.5
    )
    return Manner(
        face=face,
        pen=float(rng.uniform(0.05, 0.1 if face.name in DOUBLED else 0.165)),
        tracking=float(rng.uniform(0.86, 1.2) if rng.random() < 0.9 else rng.uniform(1.2, 1.5)),
        space=_pitch(face) or float(rng.uniform(0.75, 1.5)) * SPACE,
        warp=float(rng.exponential(0.02 if loose else 0.006)),
        looseness=float(rng.exponential(0.026)) if loose else float(rng.exponential(0.004)),
        slant_deg=float(rng.uniform(0, 25)) if slanted else float(rng.normal(0, 1.5)),
        fraction_scale=float(rng.uniform(0.55, 0.85) if rng.random() < 0.75 else rng.uniform(0.85, 1.05)),
        fraction_gap=float(rng.uniform(-0.03, 0.2)),
        whole_gap=float(rng.uniform(0.0, 0.32)),
        bar_tilt_deg=float(rng.uniform(8, 35)) if old else float(rng.normal(0, 2.0)),
        bar_overhang=float(rng.uniform(-0.05, 0.25)),
        stack_scale=float(rng.uniform(0.6, 1.0)),
        stack_gap=float(rng.uniform(0.14, 0.55)),
        mark_place=str(rng.choice(("right", "over", "high", "row"), p=(0.48, 0.18, 0.18, 0.16))),
        marks_raised=bool(rng.random() < 0.28),
        axis=float(rng.uniform(0.25, 1.0) if rng.random() < LEVEL_SHARE else rng.normal(AXIS, 0.04)),
        variety=_variety(rng) if loose and face.split == "train" else Variety(),
        engraved=face.split == "train",
    )


def _variety(rng: Rng) -> Variety:
    return Variety(
        proportions=float(rng.exponential(0.05)),
        gaps=float(rng.exponential(0.04)),
        figures=float(rng.uniform(*SMALL_FIGURES)) if rng.random() < SMALL_FIGURES_SHARE else 1.0,
    )


def _pitch(face: Face) -> float | None:
    """The advance that all characters share on a typewriter, the space too; None where they have their own."""
    advances = {face.glyphs[char].advance for char in "IlMW." if char in face.glyphs}
    return advances.pop() if len(advances) == 1 else None
