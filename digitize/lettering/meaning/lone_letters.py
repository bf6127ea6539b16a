"""Capitals that stand alone: they name a cutting plane, a view, or a size that a table gives, and are no figures."""

from digitize.lettering.text import Text

SURE_LETTER = 0.9
"""From this probability on a lone capital is one, whatever it would read standing on its head: a B there is an 8."""


def lone_letter(text: Text) -> str | None:
    """The capital that a text reads, alone; None where it reads anything else."""
    read = text.readings[0].text.strip(".,;:") if text.readings else ""
    return read if len(read) == 1 and read.isalpha() and read.isupper() else None


def is_surely_letter(text: Text) -> bool:
    """Is it surely a lone capital, as it stands?"""
    return lone_letter(text) is not None and text.readings[0].probability >= SURE_LETTER
