"""Values as a draughtsman writes them."""

from fractions import Fraction


def plain(nominal: Fraction, style: str) -> str:
    """A nominal value as it would be written in a style of figure.

    Examples
    --------
    >>> plain(Fraction(11, 8), "fraction"), plain(Fraction(11, 8), "decimal3")
    ('1 3/8', '1.375')
    """
    if not style.startswith(("decimal", "limits")) and nominal.denominator > 1:
        whole, rest = divmod(nominal, 1)
        return f"{whole} {rest}" if whole else str(rest)
    return f"{float(nominal):g}"
