"""Lengths as they are written: numbers with their units, feet and inches."""

import re
from fractions import Fraction

from lark import Token, Tree

from digitize.lettering.meaning import numbers
from digitize.lettering.meaning.numbers import Number, Refused
from digitize.lettering.text import Kind, TypedValue, Unit

INCHES_PER_FOOT = 12


def length(tree: Tree[Token], comma: bool) -> TypedValue:
    """A number with its unit, or feet and inches."""
    first = tree.children[0]
    if isinstance(first, Tree) and first.data == "feet":
        return _feet(first, comma)
    number = number_of(first, comma)
    unit = Unit.UNMARKED
    if len(tree.children) > 1:
        unit = _unit(tree.children[1])
    return TypedValue(Kind.LINEAR, number.value, unit, place=number.place, style=number.style)


def number_of(tree: Tree[Token] | Token, comma: bool) -> Number:
    """The number that a branch holds."""
    if not isinstance(tree, Tree):
        raise Refused(f"{tree} is no number.")
    return numbers.any_number(str(tree.children[0]), comma)


def _unit(tree: Tree[Token] | Token) -> Unit:
    token = tree.children[0] if isinstance(tree, Tree) else tree
    return Unit.MM if isinstance(token, Token) and token.type == "MM_WORD" else Unit.INCH


def _feet(tree: Tree[Token], comma: bool) -> TypedValue:
    """Feet and inches, in inches; inches below one foot may start with nought."""
    figures = re.match(r"\d+", str(tree.children[0]))
    feet = int(figures[0]) if figures else 0
    if len(tree.children) == 1:
        number = Number(Fraction(0), Fraction(INCHES_PER_FOOT), "integer")
    else:
        text = str(tree.children[1].children[0]) if isinstance(tree.children[1], Tree) else ""
        number = _inches(text, comma)
    if number.value >= INCHES_PER_FOOT:
        raise Refused("Twelve inches and more make another foot.")
    value = feet * INCHES_PER_FOOT + number.value
    if value == 0:
        raise Refused("No size is nought.")
    return TypedValue(Kind.LINEAR, value, Unit.INCH, place=number.place, style="feet")


def _inches(text: str, comma: bool) -> Number:
    """Inches after feet, where ``0`` and ``0 1/2`` are written."""
    if text == "0":
        return Number(Fraction(0), Fraction(1), "integer")
    return numbers.fraction(text[2:]) if re.match(r"0[ -]", text) else numbers.any_number(text, comma)
