"""All sources of the scale side by side, each with its standard error, and whether they agree."""

import math
from collections.abc import Sequence
from dataclasses import replace

from calibrate.scaling.scale import fit_scale
from calibrate.scaling.stretching import STRETCH_PRIOR
from calibrate.sheet import KnownOf, LevelSheet, ScaleWitness
from digitize.dimensions.scales.given import GivenLength
from digitize.dimensions.scales.scaled import Scaled

CONTRADICTION_STDS = 3.0
"""Two sources contradict each other when they differ by more standard errors than these on an axis ..."""
LEAST_CONTRADICTION = 0.01
"""... and by more than this part: less is within what paper and scanners do."""
CONTRADICTS = (
    "The {source} ({note}) contradicts the dimensions: {its:.5g} and {theirs:.5g} mm of part a pixel {along},"
    " {percent:.1f} % apart. {which}"
)
DIMENSIONS_HOLD = "The dimensions are believed; check the {source}."
NEITHER = "Neither is believed alone."
Pair = tuple[float, float]


def scale_witnesses(
    sheet: LevelSheet, scaled: Scaled, main: int | None, noted: float | None, bars: Sequence[GivenLength] = ()
) -> tuple[ScaleWitness, ...]:
    """Collect the sources of the scale of the main view.

    Parameters
    ----------
    sheet : LevelSheet
    scaled : Scaled
    main : int or None
        Scale group of the main view.
    noted : float or None
        Part mm per mm of paper by the scale note.
    bars : sequence of GivenLength
        Drawn scale bars.

    Returns
    -------
    tuple of ScaleWitness
        With ``agrees`` set on each that can be compared with the dimensions of the main view by themselves; on these,
        by whether none of the others contradicts them. Nothing else speaks of a view that is marked not to scale.
    """
    dimensions = None if main is None else _by_dimensions(scaled, main, sheet.paper_mm_per_px)
    others = [*sheet.witnesses, *_note(sheet, noted), *_bars(bars)]
    if dimensions is None:
        return tuple(others)
    if all(view in scaled.marked for view, group in scaled.group_of.items() if group == main):
        return (dimensions, *others)
    judged = [replace(each, agrees=_agrees(each, dimensions, noted)) for each in others]
    said = [each.agrees for each in judged if each.agrees is not None]
    return (replace(dimensions, agrees=all(said) if said else None), *judged)


def contradictions(witnesses: Sequence[ScaleWitness], known: bool, noted: float | None) -> tuple[str, ...]:
    """Say which sources contradict the dimensions.

    Parameters
    ----------
    witnesses : sequence of ScaleWitness
        From `scale_witnesses`.
    known : bool
        Whether the dimensions make a scale that is believed.
    noted : float or None
        Part mm per mm of paper by the scale note.
    """
    dimensions = next((each for each in witnesses if each.source == "dimensions"), None)
    said = []
    for each in witnesses:
        if dimensions is None or each.agrees is not False or each.source == "dimensions":
            continue
        its = _of_part(each, noted) or each.mm_per_px
        off = [math.log(a / b) for a, b in zip(its, dimensions.mm_per_px, strict=True)]
        axis = 0 if abs(off[0]) >= abs(off[1]) else 1
        which = DIMENSIONS_HOLD.format(source=each.source) if known else NEITHER
        said.append(
            CONTRADICTS.format(
                source=each.source,
                note=each.note,
                its=its[axis],
                theirs=dimensions.mm_per_px[axis],
                along=("across", "up")[axis],
                percent=100 * abs(math.expm1(off[axis])),
                which=which,
            )
        )
    return tuple(said)


def _by_dimensions(scaled: Scaled, main: int, mm_per_px: float) -> ScaleWitness | None:
    """What the dimensions say by themselves, without note, given lengths or scale bar."""
    alone = [
        length for place, length in enumerate(scaled.lengths) if place not in scaled.others and length.group == main
    ]
    if not alone:
        return None
    if len(alone) == len(scaled.lengths) and scaled.fit is not None and len(scaled.starts) == 1:
        fit = scaled.fit
    else:
        alone = [replace(length, group=0) for length in alone]
        fit = fit_scale(alone, 1, [scaled.starts[main]], scaled.stretch)
    (x, x_std), (y, y_std) = fit.log_scale(0, 1.0), fit.log_scale(0, -1.0)
    values = math.exp(x) * mm_per_px, math.exp(y) * mm_per_px
    stds = values[0] * x_std, values[1] * y_std
    count = fit.carriers(alone, 0)
    return ScaleWitness(
        "dimensions", KnownOf.PART, values, stds, f"{count} of {len(alone)} dimensions of the main scale"
    )


def _note(sheet: LevelSheet, noted: float | None) -> tuple[ScaleWitness, ...]:
    """The scale note over what is known of the paper."""
    paper = next((each for each in sheet.witnesses if each.of is KnownOf.PAPER), None)
    if noted is None or paper is None:
        return ()
    values = paper.mm_per_px[0] * noted, paper.mm_per_px[1] * noted
    stds = paper.std[0] * noted, paper.std[1] * noted
    return (ScaleWitness("scale note", KnownOf.PART, values, stds, f"{noted:g} to 1 on the {paper.source}"),)


def _bars(bars: Sequence[GivenLength]) -> tuple[ScaleWitness, ...]:
    return tuple(
        ScaleWitness("scale bar", KnownOf.PART, (each, each), (std, std), f"{bar.value_mm:g} mm drawn as a bar")
        for bar in bars
        for each in [bar.value_mm / math.dist(bar.first_px, bar.second_px)]
        for std in [each * math.hypot(bar.relative_std, STRETCH_PRIOR / 2)]
    )


def _of_part(witness: ScaleWitness, noted: float | None) -> Pair | None:
    """A witness's mm of part per pixel; None where nothing ties its paper to the part."""
    if witness.of is KnownOf.PART:
        return witness.mm_per_px
    return None if noted is None else (witness.mm_per_px[0] * noted, witness.mm_per_px[1] * noted)


def _agrees(witness: ScaleWitness, dimensions: ScaleWitness, noted: float | None) -> bool | None:
    its = _of_part(witness, noted)
    if its is None:
        return None
    # What the drawing and the paper went through since: its figures were drawn before the paper shrank.
    shrink = 0.0 if witness.of is KnownOf.PART and witness.source != "scale note" else STRETCH_PRIOR
    for value, std, seen, theirs, their_std in zip(
        its, witness.std, witness.mm_per_px, dimensions.mm_per_px, dimensions.std, strict=True
    ):
        off = abs(math.log(value / theirs))
        spread = math.sqrt((std / seen) ** 2 + (their_std / theirs) ** 2 + shrink**2)
        if off > max(LEAST_CONTRADICTION, CONTRADICTION_STDS * spread):
            return False
    return True
