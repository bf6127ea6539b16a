"""Numbers as the files spell them: the same number is always the same text."""

from fractions import Fraction

MEASURED_DIGITS = 6  # decimals of a measured length: far below any measurement's error
PIXEL_DIGITS = 2  # decimals of a pixel coordinate


def exact(value: Fraction | None) -> float | int | None:
    """A written value as a JSON number: whole numbers without a decimal point.

    Examples
    --------
    >>> exact(Fraction(11, 8)), exact(Fraction(12)), exact(None)
    (1.375, 12, None)
    """
    if value is None:
        return None
    return value.numerator if value.denominator == 1 else float(value)


def rounded(value: float | None, digits: int = MEASURED_DIGITS) -> float | None:
    """A measured value, rounded, with no negative zero.

    Examples
    --------
    >>> rounded(-1e-9), rounded(1.23456789), rounded(None)
    (0.0, 1.234568, None)
    """
    return None if value is None else round(float(value), digits) + 0.0


def significant(value: float, digits: int = 6) -> float:
    """A figure with so many significant digits.

    Examples
    --------
    >>> significant(0.0000123456789, 3), significant(0.0)
    (1.23e-05, 0.0)
    """
    return float(f"{value:.{digits}g}")
