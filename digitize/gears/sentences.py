"""Sizes and reasons in the words of the shop."""

from math import isclose

from digitize.gears.identifying.evidence import Evidence, Quantity
from digitize.gears.identifying.hypotheses import Weighed
from digitize.gears.identifying.items import AnyItem, Hypothesis, ThicknessItem
from digitize.gears.words import words_found
from digitize.standards import INCH_MM


def shop_unit(evidence: Evidence) -> str:
    """Inches or millimetres: the sheet's unit, else that of the sizes as given, else millimetres."""
    if evidence.unit in ("in", "mm"):
        return evidence.unit
    given = " ".join(size.text for size in _sizes(evidence))
    return "in" if '"' in given or "in" in given or evidence.diametral_pitch is not None else "mm"


def _sizes(evidence: Evidence) -> tuple[Quantity, ...]:
    named = (getattr(evidence, name) for name in evidence.__dataclass_fields__)
    spans = (given.size for given in evidence.spans)
    pins = (given.size for given in evidence.pins)
    return (*(value for value in named if isinstance(value, Quantity)), *spans, *pins)


def length(value_mm: float, unit: str) -> str:
    """A length with its unit, to a tenth of a thousandth of an inch or a micron.

    Examples
    --------
    >>> length(139.7, "in"), length(6.75, "mm")
    ('5.5000 in', '6.750 mm')
    """
    return f"{value_mm / float(INCH_MM):.4f} in" if unit == "in" else f"{value_mm:.3f} mm"


def size_text(value: float, item_unit: str, unit: str) -> str:
    """A value in an item's own unit: a length, a pitch or an angle."""
    if item_unit == "mm":
        return length(value, unit)
    return {"P": f"{value:.4g} P", "module": f"module {value:.4g}", "deg": angle(value)}[item_unit]


def angle(value_deg: float) -> str:
    """An angle as written: 14 1/2 deg.

    Examples
    --------
    >>> angle(14.5), angle(20.0)
    ('14 1/2 deg', '20 deg')
    """
    if isclose(value_deg % 1, 0.5):
        return f"{int(value_deg)} 1/2 deg"
    return f"{value_deg:g} deg"


def comparison(item: AnyItem, hypothesis: Hypothesis, unit: str) -> str:
    """One size against what a hypothesis gives, as a sentence."""
    if isinstance(item, ThicknessItem):
        verdict = "fits" if item.misfit(hypothesis) <= 1 else "does not fit, whatever the backlash"
        return f"{item.name}: {length(item.size.value, unit)} {verdict}"
    predicted = item.predict(hypothesis)
    given = size_text(item.size.value, item.unit, unit)
    if predicted is None:
        return f"{item.name}: {given}, of which this system says nothing"
    here = size_text(predicted, item.unit, unit)
    if item.misfit(hypothesis) <= 1:
        return f"{item.name}: {given} given, {here} here"
    off = abs(item.size.value - predicted)
    apart = length(off, unit) if item.unit == "mm" else f"{off:.4g}"
    return f"{item.name}: {given} given, {here} here, {apart} apart"


def speaks_for(weighed: Weighed, hypothesis: Hypothesis, evidence: Evidence, unit: str) -> tuple[str, ...]:
    """Every size and word that agrees with a hypothesis."""
    sizes = [comparison(item, hypothesis, unit) for item in weighed.everything if item.misfit(hypothesis) <= 1]
    words = [f"lettering says {w.word}" for w in words_found(evidence.words) if w.speaks_for(hypothesis.system)]
    return (*sizes, *words)


def speaks_against(weighed: Weighed, hypothesis: Hypothesis, evidence: Evidence, unit: str) -> tuple[str, ...]:
    """Every size, word, date and habit that does not."""
    found = [comparison(item, hypothesis, unit) for item in weighed.everything if item.misfit(hypothesis) > 1]
    system = hypothesis.system
    found += [f"lettering says {w.word}" for w in words_found(evidence.words) if not w.speaks_for(system)]
    first, last = system.era
    if evidence.year is not None and not first <= evidence.year <= last:
        found.append(f"in use from about {first} to {last}; the sheet is of {evidence.year}")
    if system.met == "seldom":
        found.append("seldom met on prints")
    if hypothesis.cut.remark:
        found.append(f"{hypothesis.cut.remark} is allowed but not usual")
    counted = evidence.teeth_counted
    if counted is not None and counted != hypothesis.teeth:
        found.append(f"{counted} teeth counted on the drawing, {hypothesis.teeth} here")
    return tuple(found)
