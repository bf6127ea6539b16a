"""What a sheet says once too often: closed chains.

Two figures more than one row needs, with none of them in brackets or marked REF (ISO 129-1: each dimension once,
auxiliary ones in brackets; from memory).
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from digitize.dimensions.figures_written import plain
from digitize.dimensions.reasons import Reason
from digitize.dimensions.table import Dimension, State
from digitize.dimensions.witnesses.chain_sums import closes
from digitize.dimensions.witnesses.chain_tolerance import Link, stack
from digitize.dimensions.witnesses.chains import Interval, find_chains
from digitize.lettering.text import Kind, Unit


def find_excess(rows: Sequence[Dimension], unit: Unit, mm_per_px: float) -> tuple[str, ...]:
    """Closed chains, each in a sentence: all links and the total are given, add up, and none is for reference."""
    intervals = [
        Interval(i, row.geometry.first, row.geometry.second, row.view)
        for i, row in enumerate(rows)
        if row.geometry is not None and row.geometry.lines and row.kind in (Kind.LINEAR, Kind.DIAMETER)
    ]
    values = {i: row.typed for i, row in enumerate(rows) if row.typed is not None}
    found = []
    for chain in find_chains(intervals, mm_per_px):
        members = [rows[i] for i in (*chain.parts, chain.total)]
        free = any(row.state is State.UNREAD or row.typed is None or row.typed.reference for row in members)
        # One that does not add up has a wrong figure in it, which says so itself, and none too many.
        if free or closes(chain, values, unit) != 0:
            continue
        terms = [plain(row.value or Fraction(0), row.style) for row in members]
        words = [Reason.EXCESS.say(terms=" + ".join(terms[:-1]), total=terms[-1]), *_added_up(members)]
        found.append("; ".join(words))
    return tuple(dict.fromkeys(found))


def _added_up(members: Sequence[Dimension]) -> Iterator[str]:
    """What the tolerances of a chain's links leave, beside that of its total; nothing where one has none."""
    links = [Link(row.upper, row.lower) for row in members if row.upper is not None and row.lower is not None]
    if len(links) < len(members) or len({row.unit for row in members}) > 1:
        return
    added, total = stack(links[:-1]), links[-1]
    yield Reason.ADDED_UP.say(
        worst=_deviations(added.upper, added.lower),
        chance=f"{added.root_sum_square:.2g}",
        own=_deviations(total.upper, total.lower),
        unit=members[-1].unit.value,
    )


def _deviations(upper: Fraction, lower: Fraction) -> str:
    return f"{float(upper):+g} {float(lower):+g}"
