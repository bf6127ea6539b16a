"""What one phrase means: from a branch of the parsed text to typed values."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from lark import Token, Tree

from digitize.lettering.meaning import numbers
from digitize.lettering.meaning.lengths import length, number_of
from digitize.lettering.meaning.numbers import Refused
from digitize.lettering.meaning.shop_sizes import named_drill, taper, thread
from digitize.lettering.text import Kind, TypedValue, Unit

WIDEST_DEVIATION = Fraction(1, 2)
"""A deviation is smaller than this share of its size."""
NAMES = {
    "TAPDRILL": "tap_drill",
    "DRILL": "drill",
    "REAM": "ream",
    "BORE": "bore",
    "C'BORE": "counterbore",
    "CBORE": "counterbore",
    "COUNTERBORE": "counterbore",
    "C'SINK": "countersink",
    "CSINK": "countersink",
    "CSK": "countersink",
    "COUNTERSINK": "countersink",
    "CORE": "core",
    "PUNCH": "punch",
    "SF": "spot_face",
    "SPOTFACE": "spot_face",
    "SQ": "square",
    "SQUARE": "square",
    "HEX": "hexagon",
    "A/F": "across_flats",
    "AF": "across_flats",
    "ACROSSFLATS": "across_flats",
    "DEEP": "depth",
    "DEPTH": "depth",
    "THICK": "thickness",
    "THK": "thickness",
    "LONG": "length",
    "LG": "length",
    "WIDE": "width",
    "FACE": "face_width",
    "NECK": "neck",
    "ARC": "arc",
    "ONARC": "arc",
    "⌒": "arc",
    "CHORD": "chord",
    "APART": "centre_distance",
    "CRS": "centre_distance",
    "CTRS": "centre_distance",
    "CTOC": "centre_distance",
    "CENTRES": "centre_distance",
    "CENTERS": "centre_distance",
}
REMARKS = {"REFERENCE": "reference", "NOT_TO_SCALE": "not_to_scale", "KEY": "key", "SET_SCREW": "set_screw"}
KIND_OF_WORD = {
    "DIAMETER": Kind.DIAMETER,
    "DIAMETER_SIGN": Kind.DIAMETER,
    "BOLT_CIRCLE": Kind.DIAMETER,
    "HOLE_WORD": Kind.DIAMETER,
    "AMP_HOLE": Kind.DIAMETER,
    "RADIUS": Kind.RADIUS,
    "CHAMFER": Kind.CHAMFER,
    "SQUARE": Kind.LINEAR,
    "LENGTH_WORD": Kind.LINEAR,
    "TAP": Kind.THREAD,
}


@dataclass(frozen=True)
class Phrase:
    """A parsed phrase: its values, and whether each says by itself what it is of."""

    what: str
    values: tuple[TypedValue, ...]
    qualified: bool = True


def phrase_of(tree: Tree[Token], comma: bool) -> Phrase:
    """Read one branch of the parsed text."""
    name = str(tree.data)
    if name == "product":
        return _product(tree, comma)
    words = " ".join(str(token) for token in tree.children)
    if name == "count":
        count = numbers.integer(re.match(r"\d+", words)[0])  # type: ignore[index]  # the terminal begins with figures
        said = "required" if re.search(r"REQ|OFF", words) else None
        return Phrase(name, (TypedValue(Kind.COUNT, count.value, Unit.COUNT, name=said, count=int(count.value)),))
    if name == "thread":
        return Phrase(name, (thread(tree, comma),))
    if name == "drill_name":
        return Phrase(name, (named_drill(words),))
    if name == "taper":
        return Phrase(name, (taper(words),))
    kinds = [item.type for item in tree.children if isinstance(item, Token)]
    return Phrase(REMARKS.get(kinds[0], "remark") if kinds else "remark", ())


def _product(tree: Tree[Token], comma: bool) -> Phrase:
    factors = [item for item in tree.children if isinstance(item, Tree)]
    angles = [item for item in factors if item.data == "angle"]
    if len(factors) == 1:
        value = _angle(factors[0]) if angles else _size(factors[0], comma)
        plain = value.kind is Kind.LINEAR and value.name is None
        return Phrase("product", (value,), not plain)
    if angles:
        return Phrase("product", _chamfer(factors, comma))
    sizes = tuple(_size(item, comma) for item in factors)
    if sizes[0].style == "integer" and sizes[0].name is None and sizes[0].kind is Kind.LINEAR:
        signs = [_signs_before(item) for item in factors[1:]]
        if len(sizes) == 2 and signs[0]:
            count = int(sizes[0].nominal or 0)
            return Phrase("product", (replace(sizes[1], count=count),))
        if any(size.kind is not Kind.LINEAR for size in sizes[1:]) and sizes[0].unit is Unit.UNMARKED:
            raise Refused("The first figure may be a count or a size.")
    return Phrase("product", sizes, any(size.name or size.kind is not Kind.LINEAR for size in sizes))


def _signs_before(size: Tree[Token]) -> bool:
    """Whether a size is opened by Ø or R."""
    for item in size.children:
        if isinstance(item, Tree) and item.data == "before":
            return item.children[0].type in ("DIAMETER_SIGN", "RADIUS")  # type: ignore[union-attr]
    return False


def _chamfer(factors: Sequence[Tree[Token]], comma: bool) -> tuple[TypedValue, ...]:
    values = [_angle(item) if item.data == "angle" else _size(item, comma) for item in factors]
    kinds = [value.kind for value in values]
    if len(values) != 2 or Kind.ANGLE not in kinds or not {Kind.LINEAR, Kind.CHAMFER} & set(kinds):
        raise Refused("A chamfer is one size by one angle.")
    return tuple(replace(value, kind=Kind.CHAMFER) if value.kind is Kind.LINEAR else value for value in values)


def _angle(tree: Tree[Token]) -> TypedValue:
    tokens = [item for item in tree.children if isinstance(item, Token)]
    number = numbers.angle(next(str(token) for token in tokens if token.type == "ANGLE"))
    value = TypedValue(Kind.ANGLE, number.value, Unit.DEGREE, place=number.place, style="angle")
    for item in tree.children:
        if isinstance(item, Tree):
            allowed = numbers.angle(str(item.children[0])).value
            value = replace(value, upper=allowed, lower=-allowed)
    return replace(value, reference=any(token.type in ("REFERENCE", "OPEN") for token in tokens))


def _size(tree: Tree[Token], comma: bool) -> TypedValue:
    written = next(item for item in tree.children if isinstance(item, Tree) and item.data == "length")
    value = length(written, comma)
    words = [item.children[0] for item in tree.children if isinstance(item, Tree) and item.data in ("before", "after")]
    tokens = [word for word in words if isinstance(word, Token)]
    value = _with_words(value, tokens)
    if value.kind is Kind.DIAMETER and re.match(r"\d+-\d+/", _first_figures(written)):
        raise Refused("The first figure may be a count or part of the size.")
    if any(isinstance(item, Token) and item.type == "OPEN" for item in tree.children):
        value = replace(value, reference=True)
    for item in tree.children:
        if isinstance(item, Tree) and item.data == "tolerance":
            value = _with_tolerance(value, item, comma)
    return value


def _first_figures(length: Tree[Token]) -> str:
    return next((str(token) for token in length.scan_values(lambda item: isinstance(item, Token))), "")


def _with_words(value: TypedValue, tokens: Sequence[Token]) -> TypedValue:
    kinds = {KIND_OF_WORD[token.type] for token in tokens if token.type in KIND_OF_WORD}
    if len(kinds) > 1:
        raise Refused(f"A size cannot be {' and '.join(sorted(kinds))} at once.")
    names = [_name(token) for token in tokens]
    known = [name for name in names if name]
    if any(token.type == "TAP" for token in tokens):
        known = ["tap"]
    return replace(
        value,
        kind=next(iter(kinds), Kind.LINEAR),
        name=known[-1] if known else None,
        reference=any(token.type == "REFERENCE" for token in tokens),
    )


def _name(token: Token) -> str | None:
    if token.type == "BOLT_CIRCLE":
        return "bolt_circle"
    if token.type not in ("HOLE_WORD", "AMP_HOLE", "SQUARE", "LENGTH_WORD"):
        return None
    bare = re.sub(r"[\s.:&-]", "", str(token)).replace("□", "SQ")
    for ending in ("", "ED", "D"):
        if (stem := bare.removesuffix(ending)) in NAMES:
            return NAMES[stem]
    return None


def _with_tolerance(value: TypedValue, tree: Tree[Token], comma: bool) -> TypedValue:
    if value.upper is not None:
        raise Refused("A size has one tolerance.")
    signed = [item for item in tree.children if isinstance(item, Token) and item.type in ("SIGNED", "ZERO")]
    if signed:
        deviations = sorted(numbers.signed(str(token), comma) for token in signed)
    else:
        allowed = number_of(next(item for item in tree.children if isinstance(item, Tree)), comma).value
        deviations = [-allowed, allowed]
    lower, upper = deviations
    if upper == lower or max(abs(upper), abs(lower)) >= WIDEST_DEVIATION * (value.nominal or 0):
        raise Refused("The tolerance does not fit its size.")
    return replace(value, upper=upper, lower=lower)
