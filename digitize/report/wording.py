"""Words and figures of the check print's page, ready for its template."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from digitize.dimensions.table import Dimension, State, ViewScale
from digitize.gears.identifying.claim import title_of
from digitize.gears.identifying.finding import Candidate, GearFinding
from digitize.lettering.text import Kind, Unit
from digitize.report.paper import Paper

UNIT_SIGNS = {Unit.MM: "mm", Unit.INCH: "in", Unit.DEGREE: "°", Unit.COUNT: "", Unit.NONE: ""}
NOTHING = "–"
_DECIMALS = {Unit.MM: 3, Unit.INCH: 4, Unit.DEGREE: 2}
_WORDS = {
    State.AGREED: "agreed",
    State.UNPROVEN: "unproven",
    State.DISPUTED: "disputed",
    State.UNREAD: "unread",
}
INTERVAL_95 = 1.96  # half width of a normal 95 % interval in standard errors


def headline(dimensions: Sequence[Dimension]) -> str:
    """One sentence on the sheet as a whole."""
    if not dimensions:
        return "No dimension was found on this sheet."
    doubtful = sum(each.state is not State.AGREED or each.contradicted for each in dimensions)
    total = "1 value" if len(dimensions) == 1 else f"{len(dimensions)} values"
    if doubtful == 0:
        return f"{total} found, all agreed by independent witnesses."
    verb = "needs" if doubtful == 1 else "need"
    return f"{total} found; {doubtful} {verb} a person's eye before use."


def plain(value: Fraction | None) -> str:
    """A written value as a decimal, as short as it is exact.

    Examples
    --------
    >>> plain(Fraction(11, 8)), plain(Fraction(12)), plain(Fraction(1, 3)), plain(None)
    ('1.375', '12', '0.333333', '–')
    """
    return NOTHING if value is None else f"{float(value):.6f}".rstrip("0").rstrip(".")


def signed(value: Fraction) -> str:
    """A deviation with its sign.

    Examples
    --------
    >>> signed(Fraction(1, 500)), signed(Fraction(-1, 4)), signed(Fraction(0))
    ('+0.002', '−0.25', '0')
    """
    if value == 0:
        return "0"
    return ("+" if value > 0 else "−") + plain(abs(value))


def _unit(dimension: Dimension, sheet_unit: Unit) -> Unit:
    return sheet_unit if dimension.unit is Unit.UNMARKED else dimension.unit


def dimension_view(dimension: Dimension, sheet_unit: Unit, picture: str | None) -> dict[str, Any]:
    """One row as the page shows it."""
    unit = _unit(dimension, sheet_unit)
    decimals = _DECIMALS.get(unit, 3)
    deviations = [signed(each) for each in (dimension.upper, dimension.lower) if each is not None]
    return {
        "id": dimension.id,
        "state": dimension.state,
        "word": _WORDS[dimension.state],
        "zone": dimension.zone,
        "kind": _kind(dimension),
        "text": dimension.text,
        "value": plain(dimension.value),
        "unit": UNIT_SIGNS.get(unit, ""),
        "deviations": " ".join(deviations),
        "measured": NOTHING if dimension.measured is None else f"{dimension.measured:.{decimals}f}",
        "measured_std": "" if dimension.measured_std is None else f"± {dimension.measured_std:.{decimals}f}",
        "residual": NOTHING if dimension.residual is None else f"{dimension.residual:+.{decimals}f}".replace("-", "−"),
        "confidence": percent(dimension.confidence),
        "evidence": dimension.evidence,
        "alternatives": dimension.alternatives,
        "picture": picture,
    }


def _kind(dimension: Dimension) -> str:
    """What a value is of: its kind, and its name where that says more than its text does."""
    name = (dimension.name or "").replace("_", " ")
    if dimension.kind is Kind.GEAR_DATA and name:
        return name
    kind = dimension.kind.value.replace("_", " ")
    return kind if not name or name in dimension.text or name == kind else f"{kind}, {name}"


def percent(probability: float) -> str:
    """A probability in per cent, never rounded up to certainty.

    Examples
    --------
    >>> percent(0.99999), percent(0.5), percent(0.0)
    ('99.9 %', '50.0 %', '0.0 %')
    """
    return f"{min(probability * 100, 99.9):.1f} %"


def scale_lines(main: ViewScale | None, scales: Sequence[ViewScale]) -> list[str]:
    """Sentences on the scale of each view."""
    if main is None:
        return ["No scale is known: too few dimensions agree on one. Lengths on this sheet prove nothing."]
    return [_scale_line(each) for each in scales]


def _scale_line(scale: ViewScale) -> str:
    if scale.not_to_scale:
        return f"View {scale.view}: not to a common scale; nothing here is measured."
    if not scale.known:
        return f"View {scale.view}: scale not known."
    halves = scale.half_width_95 or (INTERVAL_95 * scale.x_std, INTERVAL_95 * scale.y_std)
    values = zip((scale.x_mm_per_px, scale.y_mm_per_px), halves, strict=True)
    x, y = (f"{value:.6f} ± {half:.6f}" for value, half in values)
    return (
        f"View {scale.view}: {x} mm of part per pixel across, {y} up (95 % interval); {scale.known}; "
        f"{scale.witnesses} dimensions carry it; pen error {scale.pen_std_mm:.2f} mm of paper."
    )


def paper_lines(paper: Paper) -> list[str]:
    """Sentences on the nominal scale and the paper's shrink."""
    lines = []
    if paper.drawn_over_real is not None:
        lines.append(f"Drawn {_ratio(paper.drawn_over_real)}: {paper.nominal_known}.")
    else:
        lines.append(f"Nominal scale not told: {paper.nominal_known}.")
    if paper.shrink_percent is not None and paper.shrink_std_percent is not None:
        x, y = (
            f"{value:.2f} ± {INTERVAL_95 * std:.2f} %"
            for value, std in zip(paper.shrink_percent, paper.shrink_std_percent, strict=True)
        )
        lines.append(f"Paper shrunk by {x} across and {y} up, if the scan's resolution is true.".replace("-", "−"))
    elif paper.difference_percent is not None:
        lines.append(f"The paper shrank {paper.difference_percent:+.2f} % more across than up.".replace("-", "−"))
    return lines


def _ratio(drawn_over_real: Fraction) -> str:
    return f"{drawn_over_real.numerator}:{drawn_over_real.denominator}"


def gear_view(gear: GearFinding) -> dict[str, Any]:
    """The gear as the page shows it."""
    return {
        "state": gear.state,
        "word": _WORDS[gear.state],
        "kind": gear.kind,
        "teeth": NOTHING if gear.teeth is None else str(gear.teeth),
        "claim": _claim(gear),
        "candidates": [_candidate_view(each) for each in gear.candidates],
        "evidence": gear.evidence,
        "measure_next": gear.measure_next,
    }


def _claim(gear: GearFinding) -> str:
    if gear.state is State.AGREED and gear.candidates:
        best = gear.candidates[0]
        return f"{title_of(gear)}: {best.teeth} teeth, {_pitch(best)}, pressure angle {_angle(best)}."
    return "The print does not decide which tooth system this is."


def _pitch(candidate: Candidate) -> str:
    return f"{candidate.diametral_pitch:.4g} diametral pitch (module {candidate.module_mm:.4g} mm)"


def _angle(candidate: Candidate) -> str:
    """Cast teeth have no pressure angle."""
    return NOTHING if candidate.pressure_angle_deg is None else f"{candidate.pressure_angle_deg:g}°"


def _candidate_view(candidate: Candidate) -> dict[str, Any]:
    return {
        "title": candidate.title,
        "teeth": candidate.teeth,
        "pitch": _pitch(candidate),
        "angle": _angle(candidate),
        "outside": f"{candidate.outside_diameter_mm:.2f} mm",
        "probability": percent(candidate.probability),
        "speaks_for": candidate.speaks_for,
        "speaks_against": candidate.speaks_against,
    }
