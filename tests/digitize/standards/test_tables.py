"""The standard tables load exactly, cite their sources, and agree with what is published elsewhere."""

from fractions import Fraction
from itertools import pairwise
from math import sqrt

import pytest

from digitize import standards
from digitize.standards import INCH_MM


def all_rows():
    return (
        *standards.drills(),
        *standards.thread_table(),
        *standards.parallel_keys(),
        *standards.inch_key_depths(),
        *standards.woodruff_keys(),
        *standards.scale_notes(),
        *standards.sheet_sizes(),
        *standards.abbreviations(),
    )


def test_every_row_names_a_known_source():
    known = standards.sources()
    missing = {name for row in all_rows() for name in row.source.split(";") if name not in known}
    assert not missing


def test_a_seen_source_has_an_address():
    for source in standards.sources().values():
        assert bool(source.address) == (source.provenance == "seen"), source.id


def test_drills_get_larger_without_a_gap_in_number():
    sizes = [row.diameter_in for row in standards.drills()]
    assert sizes == sorted(sizes)
    assert len(standards.drills()) == 80 + 26


def test_sixteenths_that_fall_on_a_letter_drill():
    # ANSI B94.11M, from memory: letter E is exactly 1/4 in.
    assert standards.drill("E").diameter_in == Fraction(1, 4)


@pytest.mark.parametrize(
    ("written", "designation"),
    [("#7", "#7"), ("NO. 7", "#7"), ("No 7", "#7"), ("7", "#7"), ("LETTER F", "F"), ("f", "F"), ("NO.30", "#30")],
)
def test_drill_spellings(written, designation):
    found = standards.drill(written)
    assert found is not None
    assert found.designation == designation


@pytest.mark.parametrize("written", ["", "#0", "#81", "AA", "1/4", "LETTER", "Ä"])
def test_no_such_drill(written):
    assert standards.drill(written) is None


@pytest.mark.parametrize(
    ("written", "major_in", "tpi"),
    [
        # ASA B1.1 coarse and fine, from memory.
        ("1/4-20 UNC", "1/4", 20),
        ("1/4-20 N.C.-2", "1/4", 20),
        ("1/4 - 28", "1/4", 28),
        ("3/8-16 UNC-2B", "3/8", 16),
        ("10-24", "19/100", 24),
        ("#10-32 NF", "19/100", 32),
        ("NO. 10-32", "19/100", 32),
        ("1 1/8-7 NC", "9/8", 7),
        ("1-14 NF", "1", 14),
        # BS 84, from memory: half-inch Whitworth has 12 threads to the inch.
        ("1/2 BSW", "1/2", 12),
        ("1/2 B.S.F.", "1/2", 16),
        ("1/2 USS", "1/2", 13),
    ],
)
def test_inch_threads(written, major_in, tpi):
    found = standards.thread(written)
    assert found is not None
    assert found.major_in == Fraction(major_in)
    assert found.pitch_mm == INCH_MM / tpi


@pytest.mark.parametrize("written", ["1/2", "1/4-21", "M10X9", "1/4-20 XYZ", "M3,7", "", "13 BA", "5/7-20", "#99-20"])
def test_no_such_thread(written):
    assert standards.thread(written) is None


def test_a_size_with_two_pitches_is_not_decided():
    found = standards.threads("1/4")
    assert {row.threads_per_inch for row in found} >= {Fraction(20), Fraction(28), Fraction(26)}


def test_metric_and_association_threads():
    # ISO 261 coarse series, from memory.
    assert standards.thread("M8").pitch_mm == Fraction(5, 4)
    assert standards.thread("m8 x 1.25").major_mm == 8
    assert standards.thread("M2,5").pitch_mm == Fraction(9, 20)
    assert standards.thread("2BA").pitch_mm == Fraction(81, 100)


def test_association_diameter_follows_its_formula():
    # BA-FORM (seen): D = 6 p^1.2 mm with p = 0.9^k mm, both rounded in the published table.
    for row in standards.thread_table():
        if row.series == "BA":
            number = int(row.designation.split()[0])
            assert float(row.pitch_mm) == pytest.approx(0.9**number, abs=0.0051)
            assert float(row.major_mm) == pytest.approx(6 * 0.9 ** (1.2 * number), abs=0.051)


def test_tap_drills_leave_a_thread_to_cut():
    # A tap drill lies between the thread's minor diameter less a little and its major diameter (common practice).
    for row in standards.thread_table():
        if row.tap_drill_mm is not None:
            engagement = (row.major_mm - row.tap_drill_mm) / (Fraction(13, 10) * row.pitch_mm)
            assert Fraction(1, 2) < engagement < 1, row


def test_tap_drill_named_in_the_drill_table():
    for row in standards.thread_table():
        if (named := standards.drill(row.tap_drill)) is not None:
            assert row.tap_drill_mm == named.diameter_mm


def test_key_ranges_join():
    for standard in ("ANSI B17.1", "BS 46", "DIN 6885-1"):
        rows = [row for row in standards.parallel_keys() if row.standard == standard]
        assert all(a.shaft_to == b.shaft_over for a, b in pairwise(rows))


def test_key_for_shaft_ends_of_range():
    # B17.1 (seen): 7/8 over to 1 1/4 takes 1/4; 7/8 itself takes 3/16.
    assert standards.key_for_shaft(Fraction(7, 8) * INCH_MM).width == Fraction(3, 16)
    assert standards.key_for_shaft(Fraction(5, 4) * INCH_MM).width == Fraction(1, 4)
    assert standards.key_for_shaft(Fraction(1, 16) * INCH_MM) is None


def test_published_key_depths_follow_the_chord():
    # MHPC-B17 (seen): S = D - Y - H/2, T = D - Y + H/2 + 0.005 in, Y = (D - sqrt(D^2 - W^2))/2.
    for row in standards.inch_key_depths():
        shaft, width = float(row.shaft_in), float(row.width_in)
        chord = (shaft - sqrt(shaft**2 - width**2)) / 2
        assert float(row.chordal_height_in) == pytest.approx(chord, abs=6e-6)
        half = float(row.height_square_in) / 2
        assert float(row.s_square_in) == pytest.approx(shaft - chord - half, abs=0.0011)
        assert float(row.t_square_in) == pytest.approx(shaft - chord + half + 0.005, abs=0.0011)


def test_key_depth_table_uses_the_keys_of_the_size_table():
    for row in standards.inch_key_depths():
        key = standards.key_for_shaft(row.shaft_in * INCH_MM)
        assert key is not None
        assert (key.width, key.height_rectangular) == (row.width_in, row.height_rectangular_in)


def test_woodruff_number_tells_its_size():
    # B17.2 (seen): the last two figures are eighths of diameter, those before are thirty-seconds of width.
    for row in standards.woodruff_keys():
        number = int(row.number)
        assert row.diameter_in == Fraction(number % 100, 8)
        assert row.width_in == Fraction(number // 100, 32)
    assert standards.woodruff_key("404").diameter_in == Fraction(1, 2)
    assert standards.woodruff_key("#999") is None


@pytest.mark.parametrize(
    ("written", "ratio"),
    [
        ("HALF SIZE", "1/2"),
        ("Scale: half size", "1/2"),
        ('3" = 1\'-0"', "1/4"),
        ('SCALE 1 1/2"=1\'-0"', "1/8"),
        ("1:2.5", "2/5"),
        ("FULL SIZE", "1"),
        ("SCALE 1:4", "1/4"),
    ],
)
def test_scale_notes(written, ratio):
    found = standards.scale_note(written)
    assert found is not None
    assert found.drawn_over_real == Fraction(ratio)
    assert found.kind != "ambiguous"


def test_ambiguous_scale_stays_ambiguous():
    assert standards.scale_note("SCALE 1/4").kind == "ambiguous"
    assert standards.scale_note("SCALE 7/9") is None
    assert standards.scale_note('1 1/2" 1\'-0"') is None  # without its sign and its word


def test_a_scale_note_whose_sign_is_worn_is_one():
    worn, sound = (standards.scale_note(f'SCALE 1 1/2"{sign} 1\'-0"') for sign in ("", " ="))
    assert worn == sound
    assert worn.drawn_over_real == Fraction(1, 8)


def test_iso_sheets_halve():
    # ISO 216 (seen): each sheet is half of the one before, to a millimetre.
    sizes = [row for row in standards.sheet_sizes() if row.series == "ISO 216"]
    for larger, smaller in pairwise(sizes):
        assert smaller.long_mm == larger.short_mm
        assert abs(larger.long_mm / 2 - smaller.short_mm) <= 1
    assert next(row for row in standards.sheet_sizes() if row.name == "D").long_mm == 34 * INCH_MM
