"""Parallel and half-round keys, and how deep their keyseats are."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from digitize.standards.tables import INCH_MM, Row, mixed_number, standard_rows

DIN = "DIN 6885-1"


@dataclass(frozen=True)
class Key:
    """A parallel key for shafts over ``shaft_over`` and up to ``shaft_to``; lengths in ``unit`` ("in" or "mm").

    ``shaft_depth`` and ``hub_depth`` are depths of the keyseat as its standard measures them (`on_middle_line`), for
    the square key where the table has one, else for the rectangular one.
    """

    standard: str
    unit: str
    shaft_over: Fraction
    shaft_to: Fraction
    width: Fraction
    height_square: Fraction | None
    height_rectangular: Fraction | None
    shaft_depth: Fraction
    hub_depth: Fraction
    source: str
    provenance: str
    note: str

    @property
    def mm_per_unit(self) -> Fraction:
        """Millimetres of one of its units."""
        return INCH_MM if self.unit == "in" else Fraction(1)

    @property
    def on_middle_line(self) -> bool:
        """Whether its standard measures a keyseat's depth on the middle line, as t1 and t2 of DIN 6885-1; else at the
        keyseat's side.

        Notes
        -----
        DIN 6885-1 by its table (DIN6885-A, seen). ANSI B17.1 at the side: its S and T are that depth and the chordal
        height (MHPC-B17, seen). BS 46 at the side: from memory.
        """
        return self.standard == DIN


@dataclass(frozen=True)
class KeyDepths:
    """Keyseat depths published for one inch shaft (ANSI B17.1), in inches.

    ``s_*``: bottom of the shaft keyseat to the opposite side of the shaft; ``t_*``: top of the hub keyseat to the
    opposite side of the bore, with 0.005 in clearance. ``chordal_height`` is computed, the others are as printed.
    """

    shaft_in: Fraction
    width_in: Fraction
    height_square_in: Fraction
    height_rectangular_in: Fraction
    chordal_height_in: Fraction
    s_square_in: Fraction
    s_rectangular_in: Fraction
    t_square_in: Fraction
    t_rectangular_in: Fraction
    source: str
    provenance: str


@dataclass(frozen=True)
class WoodruffKey:
    """A half-round (Woodruff) key by its number, lengths in inches.

    ``height_in`` is the most that the key is high, ``centre_below_top_in`` how far its round's centre lies under its
    flat top. Keyseats are measured at the side, like those of parallel keys.
    """

    number: str
    width_in: Fraction
    diameter_in: Fraction
    height_in: Fraction
    centre_below_top_in: Fraction
    shaft_depth_in: Fraction
    hub_depth_in: Fraction
    source: str
    provenance: str


@cache
def parallel_keys() -> tuple[Key, ...]:
    """Parallel keys: ANSI B17.1 and BS 46 in inches, then DIN 6885-1 in millimetres."""
    inch = tuple(_inch_key(row) for row in standard_rows("keys_inch.csv"))
    return inch + tuple(_metric_key(row) for row in standard_rows("keys_metric.csv"))


def _height(text: str) -> Fraction | None:
    return mixed_number(text) if text else None


def _inch_key(row: Row) -> Key:
    square, rectangular = _height(row["height_square"]), _height(row["height_rect"])
    height = square or rectangular
    assert height is not None, f"key row {row['width']} has no height"
    return Key(
        row["standard"],
        "in",
        mixed_number(row["shaft_over"]),
        mixed_number(row["shaft_to_incl"]),
        mixed_number(row["width"]),
        square,
        rectangular,
        height / 2,
        height / 2,
        row["source"],
        row["provenance"],
        row["note"],
    )


def _metric_key(row: Row) -> Key:
    width, height = Fraction(row["b_mm"]), Fraction(row["h_mm"])
    return Key(
        DIN,
        "mm",
        Fraction(row["shaft_over_mm"]),
        Fraction(row["shaft_to_incl_mm"]),
        width,
        height if height == width else None,
        None if height == width else height,
        Fraction(row["t1_shaft_mm"]),
        Fraction(row["t2_hub_mm"]),
        row["source"],
        row["provenance"],
        "depths on the centre line",
    )


@cache
def inch_key_depths() -> tuple[KeyDepths, ...]:
    """Published keyseat depths S and T by shaft diameter (ANSI B17.1)."""
    return tuple(
        KeyDepths(
            Fraction(row["shaft_in"]),
            mixed_number(row["W"]),
            mixed_number(row["H_square"]),
            mixed_number(row["H_rect"]),
            Fraction(row["chordal_height_Y"]),
            Fraction(row["S_square_pub"]),
            Fraction(row["S_rect_pub"]),
            Fraction(row["T_square_pub"]),
            Fraction(row["T_rect_pub"]),
            row["source"],
            row["provenance"],
        )
        for row in standard_rows("keys_inch_depth.csv")
    )


@cache
def woodruff_keys() -> tuple[WoodruffKey, ...]:
    """Half-round keys by number."""
    return tuple(
        WoodruffKey(
            row["key_no"],
            mixed_number(row["width"]),
            mixed_number(row["diameter"]),
            Fraction(row["height_C_max_in"]),
            mixed_number(row["centre_below_top_E"]),
            Fraction(row["shaft_keyseat_depth_in"]),
            Fraction(row["hub_keyseat_depth_in"]),
            row["source"],
            row["provenance"],
        )
        for row in standard_rows("keys_woodruff.csv")
    )


def key_for_shaft(diameter_mm: Fraction, standard: str = "ANSI B17.1") -> Key | None:
    """The parallel key a standard gives for a shaft, or None outside its table.

    Examples
    --------
    >>> key_for_shaft(INCH_MM).width, key_for_shaft(Fraction(25), DIN).hub_depth
    (Fraction(1, 4), Fraction(33, 10))
    """
    for row in parallel_keys():
        if row.standard == standard and row.shaft_over < diameter_mm / row.mm_per_unit <= row.shaft_to:
            return row
    return None


def woodruff_key(number: str) -> WoodruffKey | None:
    """The half-round key of a number such as ``404``, or None."""
    wanted = number.strip().lstrip("#0") or "0"
    return next((row for row in woodruff_keys() if row.number == wanted), None)
