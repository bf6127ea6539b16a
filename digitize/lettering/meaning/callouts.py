"""Which phrases make sense together: from a text in capitals to the values of one callout."""

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from importlib.resources import files

from lark import Lark, Token, Tree

from digitize.lettering.meaning.dual import dual_values
from digitize.lettering.meaning.numbers import Refused
from digitize.lettering.meaning.phrases import Phrase, phrase_of
from digitize.lettering.text import Kind, TypedValue, Unit

WORDED_LIMITS = re.compile(r"(.+?) ?(MAX|MIN)\.?\n(.+?) ?(?!\2)(MAX|MIN)\.?")
"""Limits on two lines, each with its word (BS 308, from memory)."""
WIDEST_LIMITS = Fraction(2, 100)
"""Two figures over each other are limits where they differ by less (common practice, no source)."""

SEVERAL = "Several sizes stand together and nothing says what each is of."


@cache
def _parser() -> Lark:
    text = files("digitize.lettering").joinpath("grammar.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr")


def callout_values(text: str, comma: bool) -> tuple[TypedValue, ...]:
    """The values of one callout.

    Parameters
    ----------
    text : str
        In capitals, one space between words.
    comma : bool
        Whether a comma before three figures is a decimal comma.

    Raises
    ------
    Refused
        Where the phrases make no sense together, or a figure breaks the rules of `digitize.lettering.meaning.numbers`.
    lark.exceptions.LarkError
        Where the text is not written as sizes are.
    """
    if (worded := WORDED_LIMITS.fullmatch(text)) is not None:
        return (_worded_limits(worded, comma),)
    if (dual := dual_values(text, comma, callout_values)) is not None:
        return dual
    callout = _parser().parse(text).children[0]
    assert isinstance(callout, Tree)
    if _has_count_for_size(callout):
        raise Refused("The size of the drill is missing before the count of its holes.")
    phrases = [phrase_of(item, comma) for item in callout.children if isinstance(item, Tree)]
    breaks = [item.type for item in callout.children if isinstance(item, Token)]
    if _is_pair(phrases) and breaks == ["NL"]:
        return (_limits(phrases[0].values[0], phrases[1].values[0]),)
    if "ON" not in breaks and len(_signed_alone(phrases)) > 1:
        raise Refused(SEVERAL)
    return _together(phrases)


def _has_count_for_size(callout: Tree[Token]) -> bool:
    """Whether words open a bare number before HOLES: two holes are not a two-inch drill, and no size is left.

    After Ø it is a size all the same.
    """
    tokens = tuple(callout.scan_values(lambda item: isinstance(item, Token)))
    return any(
        word.type != "DIAMETER_SIGN" and number.type == "INTEGER" and what.startswith("HOLE")
        for word, number, what in zip(tokens, tokens[1:], tokens[2:], strict=False)
    )


def _together(phrases: Sequence[Phrase]) -> tuple[TypedValue, ...]:
    """Values of the phrases of one callout, or a refusal where they do not belong together."""
    sized = [phrase for phrase in phrases if phrase.what == "product"]
    if len(sized) > 1 and not all(phrase.qualified for phrase in sized):
        raise Refused(SEVERAL)
    counts = [phrase.values[0].count for phrase in phrases if phrase.what == "count"]
    if len(counts) > 1:
        raise Refused("Two counts stand in one callout.")
    values = [value for phrase in phrases for value in phrase.values]
    what = {phrase.what for phrase in phrases}
    if "key" in what:
        values = _key_sizes(values)
    if "set_screw" in what and any(value.kind is not Kind.THREAD for value in values):
        raise Refused("A set-screw goes by its thread; a size alone does not name it.")
    if counts:
        values = [_counted(value, counts[0]) for value in values]
    if "reference" in what:
        values = [replace(value, reference=True) for value in values]
    if "not_to_scale" in what:
        values = [replace(value, not_to_scale=True) for value in values]
    if not values:
        name = "not_to_scale" if "not_to_scale" in what else "words"
        values = [TypedValue(Kind.NOTE, None, Unit.NONE, name=name, not_to_scale="not_to_scale" in what)]
    return tuple(values)


def _signed_alone(phrases: Sequence[Phrase]) -> list[TypedValue]:
    """Sizes of which Ø or R is all that is said: beside another such, each is of something else."""
    values = (value for phrase in phrases if phrase.what == "product" for value in phrase.values)
    return [value for value in values if value.kind in (Kind.DIAMETER, Kind.RADIUS) and value.name is None]


def _counted(value: TypedValue, count: int | None) -> TypedValue:
    is_hole = value.kind in (Kind.DIAMETER, Kind.THREAD, Kind.RADIUS) and value.name != "bolt_circle"
    return replace(value, count=count) if is_hole else value


def _key_sizes(values: Sequence[TypedValue]) -> list[TypedValue]:
    plain = [value for value in values if value.kind is Kind.LINEAR and value.name is None]
    if len(plain) > 3:
        raise Refused("A key has three sizes at most.")
    names = iter(("key_width", "key_depth", "key_length"))
    return [replace(value, name=next(names)) if value in plain else value for value in values]


def _is_pair(phrases: Sequence[Phrase]) -> bool:
    return [phrase.what for phrase in phrases] == ["product", "product"] and all(
        len(phrase.values) == 1 and phrase.values[0].kind in (Kind.LINEAR, Kind.DIAMETER, Kind.RADIUS)
        for phrase in phrases
    )


def _worded_limits(worded: re.Match[str], comma: bool) -> TypedValue:
    """Limits that are named: what is called the larger must be so."""
    sizes = {worded[2]: callout_values(worded[1], comma), worded[4]: callout_values(worded[3], comma)}
    if any(len(values) != 1 for values in sizes.values()):
        raise Refused("A limit is one size.")
    (most,), (least,) = sizes["MAX"], sizes["MIN"]
    if (most.nominal or 0) <= (least.nominal or 0):
        raise Refused("The maximum is no larger than the minimum.")
    return _limits(most, least)


def _limits(first: TypedValue, second: TypedValue) -> TypedValue:
    """Two sizes over each other: the larger, with the other as its lower deviation."""
    kinds = {value.kind for value in (first, second)} - {Kind.LINEAR}
    units = {value.unit for value in (first, second)} - {Unit.UNMARKED}
    names = {value.name for value in (first, second)} - {None}
    if max(len(kinds), len(units), len(names)) > 1 or first.upper is not None or second.upper is not None:
        raise Refused("Two sizes of different sorts stand over each other.")
    styles = {first.style, second.style}
    if not any(style.startswith("decimal") for style in styles) or "fraction" in styles or "feet" in styles:
        raise Refused("Limits are written as decimals.")
    low, high = sorted((first.nominal or Fraction(0), second.nominal or Fraction(0)))
    if not 0 < high - low < WIDEST_LIMITS * high:
        raise Refused("Two sizes over each other differ too much, or not at all, to be limits.")
    return replace(
        first,
        kind=next(iter(kinds), Kind.LINEAR),
        unit=next(iter(units), Unit.UNMARKED),
        name=next(iter(names), None),
        nominal=high,
        upper=Fraction(0),
        lower=low - high,
        place=min(first.place, second.place),
        style="limits",
        reference=first.reference or second.reference,
    )
