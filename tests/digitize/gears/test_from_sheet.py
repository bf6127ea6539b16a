"""What a sheet says of its gear, on strokes and figures made by hand."""

from dataclasses import replace
from fractions import Fraction

import pytest

from digitize.dimensions.table import Dimension, Measured, Reconciled, State, ViewScale
from digitize.gears.identifying.from_sheet import gear_of_sheet
from digitize.gears.options import NOTHING_TYPED, DeskInput
from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, TypedValue, Unit
from digitize.strokes.primitives import Arc, Dash, Role, Strokes, ToothRing

QUAD = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
MM_PER_PX = 0.1


def circle(diameter_mm: float, role: Role = Role.VISIBLE, sweep: float = 360.0) -> Arc:
    dash = Dash.CHAIN if role is Role.CENTRE else Dash.SOLID
    return Arc((800.0, 800.0), diameter_mm / MM_PER_PX / 2, 0.0, sweep, 4.0, dash=dash, role=role, view="A")


# A gear of 24 teeth and module 3: outside 78, pitch circle 72, hub 40, bore 20 with its keyseat.
FACE = Strokes(arcs=(circle(78), circle(72, Role.CENTRE), circle(40), circle(20, sweep=330)))


def row(
    kind: Kind, value: str, name: str | None = None, drawn_mm: float | None = None, state: State = State.UNPROVEN
) -> Dimension:
    number = Fraction(value)
    typed = TypedValue(kind, number, Unit.UNMARKED, place=Fraction(1, 100), style="decimal2")
    size = None
    if drawn_mm is not None:
        size = Measured(kind, (0.0, 0.0), (drawn_mm / MM_PER_PX, 0.0), drawn_mm / MM_PER_PX, 0.5, (0.0, 0.0))
    return Dimension(
        value, "A1", "B", kind, None, value, number, Unit.MM, None, None, None, None, state, 0.97, QUAD, (), (),
        name=name, geometry=size, typed=typed,
    )  # fmt: skip


BLOCK = (row(Kind.GEAR_DATA, "3", "module"), row(Kind.GEAR_DATA, "20", "pressure_angle"))


def found(
    *rows: Dimension,
    strokes: Strokes = FACE,
    scales: tuple[ViewScale, ...] = (),
    typed: DeskInput = NOTHING_TYPED,
):
    return gear_of_sheet(Reconciled((*BLOCK, *rows), scales, Unit.MM, {}), strokes, (), typed)


KNOWN_SCALE = (ViewScale("A", MM_PER_PX, MM_PER_PX, 2e-5, 2e-5, 4, 0.1, known="four dimensions agree"),)


def test_without_teeth_or_diameter_nothing_is_ranked():
    assert found().candidates == ()


def test_the_figure_as_broad_as_the_outside_circle_is_the_outside_diameter():
    gear = found(row(Kind.DIAMETER, "78", drawn_mm=78.2), row(Kind.DIAMETER, "40", drawn_mm=40))
    assert gear.teeth == 24
    assert gear.state is State.UNPROVEN
    assert gear.candidates[0].module_mm == 3.0


def test_two_figures_as_broad_are_none():
    assert found(row(Kind.DIAMETER, "78", drawn_mm=78), row(Kind.DIAMETER, "75", drawn_mm=78)).candidates == ()


@pytest.mark.parametrize("ratio", [0.853, 1.12])
def test_a_view_drawn_at_another_size_is_known_by_its_other_diameters(ratio):
    rows = (row(Kind.DIAMETER, "78", drawn_mm=78 * ratio), row(Kind.DIAMETER, "40", drawn_mm=40 * ratio))
    assert found(*rows).teeth == 24
    # One diameter alone, or one that is no circle of the face, ties nothing.
    assert found(rows[0]).candidates == ()
    assert found(rows[0], row(Kind.DIAMETER, "50", drawn_mm=50 * ratio)).candidates == ()
    assert found(*rows, row(Kind.DIAMETER, "50", drawn_mm=50 * ratio)).candidates == ()


def test_a_scaled_circle_takes_the_figure_that_it_agrees_with():
    plain = found(scales=KNOWN_SCALE)
    assert plain.teeth == 24
    assert plain.candidates[0].outside_diameter_mm == pytest.approx(78)
    written = found(row(Kind.DIAMETER, "78", drawn_mm=78, state=State.AGREED), scales=KNOWN_SCALE)
    assert written.teeth == 24
    # A figure tied to the circle but far from what the scale gives is left alone.
    misread = found(row(Kind.DIAMETER, "87", drawn_mm=78), scales=KNOWN_SCALE)
    assert misread.teeth == 24


def test_drawn_teeth_are_counted():
    ring = ToothRing((800.0, 800.0), 24, 390.0, 320.0, "A")
    gear = found(strokes=replace(FACE, tooth_rings=(ring,)))
    assert gear.teeth == 24


def test_rows_that_contradict_each_other_are_left_out():
    gear = found(row(Kind.GEAR_DATA, "24", "teeth"), row(Kind.GEAR_DATA, "42", "teeth"))
    assert gear.candidates == ()


def test_a_weakly_read_row_speaks_but_is_no_witness():
    weak = replace(row(Kind.GEAR_DATA, "24", "teeth", state=State.UNREAD), value=None, confidence=0.45)
    gear = found(weak, row(Kind.DIAMETER, "78", drawn_mm=78))
    assert gear.teeth == 24
    assert gear.state is State.UNPROVEN
    # Where the same row was read for sure elsewhere, that counts.
    assert found(weak, row(Kind.GEAR_DATA, "26", "teeth"), row(Kind.DIAMETER, "84", drawn_mm=78)).teeth == 26


def test_a_figure_out_of_all_proportion_to_the_face_is_of_something_else():
    block = (row(Kind.GEAR_DATA, "24", "teeth"), row(Kind.GEAR_DATA, "72", "pitch_diameter"))
    stray = found(*block, row(Kind.DIAMETER, "40", drawn_mm=78))
    assert (stray.teeth, stray.state) == (24, State.UNPROVEN)
    # A tenth off is a contradiction, and is told.
    assert found(*block, row(Kind.DIAMETER, "86", drawn_mm=78)).state is State.DISPUTED


def lettered(*texts: str):
    """A finding from rows as the grammar reads them, in inches, of a sheet without strokes."""
    rows = []
    for text in texts:
        for value in parse(text).values:
            rows.append(replace(row(Kind.GEAR_DATA, "1", value.name), text=text, value=value.nominal, typed=value))
    return gear_of_sheet(Reconciled(tuple(rows), (), Unit.INCH, {}), Strokes(), ())


def test_a_pitch_of_two_numbers_names_the_two_number_stub():
    rows = ("24 TEETH", "DIAMETRAL PITCH 6/8", "OUTSIDE DIAMETER 4.250", "WHOLE DEPTH .281", "PRESSURE ANGLE 20°")
    gear = lettered(*rows)
    assert (gear.state, gear.candidates[0].title[:5]) == (State.AGREED, "6/8 P")
    # 5/6 is in no table: it says nothing.
    assert lettered("24 TEETH", "DIAMETRAL PITCH 5/6", "OUTSIDE DIAMETER 4.250").candidates[0].system != "5/6"


def test_spans_and_a_cutter_number_on_a_sheet_speak():
    """Over 4 and 5 teeth at 8 P, 42 teeth, 14 1/2 deg (derived from SPAN-FORM): 1.3589 and 1.7391 in."""
    rows = ("42 TEETH", "OUTSIDE DIAMETER 5.500", "SPAN OVER 4 TEETH 1.3589", "SPAN OVER 5 TEETH 1.7391")
    assert {c.pressure_angle_deg for c in lettered(*rows).candidates} == {14.5}
    cutter = lettered("42 TEETH", "OUTSIDE DIAMETER 5.500", "CUTTER NO. 3")
    assert sum(c.probability for c in cutter.candidates if c.pressure_angle_deg == 14.5) > 0.9


def test_no_gear_where_nothing_speaks_of_one():
    assert gear_of_sheet(Reconciled((row(Kind.DIAMETER, "78"),), (), Unit.MM, {}), FACE, ()) is None


def test_what_a_person_knows_settles_what_the_print_leaves_open():
    """24 teeth of module 3 and 20 deg are of several systems, of which DIN 867 is 2.25 modules deep (from memory). What
    is asked for is enough, and his word is told."""
    rows = (row(Kind.GEAR_DATA, "24", "teeth"), row(Kind.DIAMETER, "78", drawn_mm=78.0))
    open_ = found(*rows, scales=KNOWN_SCALE)
    assert open_.state is State.UNPROVEN
    assert open_.asked[0] == "--whole-depth LENGTH"
    settled = found(*rows, scales=KNOWN_SCALE, typed=DeskInput(whole_depth="6.75mm"))
    assert settled.state is State.AGREED
    assert settled.asked == ()
    assert settled.evidence[0] == settled.by_word == "By a person's word: whole depth 6.75mm."


def test_a_persons_word_comes_before_the_prints():
    rows = (row(Kind.GEAR_DATA, "21", "teeth"), row(Kind.DIAMETER, "78", drawn_mm=78.0))
    assert found(*rows, typed=DeskInput(teeth=24)).teeth == 24


def test_a_persons_word_makes_a_gear_of_a_sheet_that_tells_of_none():
    bare = Reconciled((), (), Unit.INCH, {})
    assert gear_of_sheet(bare, Strokes(), ()) is None
    gear = gear_of_sheet(bare, Strokes(), (), DeskInput(teeth=42, outside_diameter="5.5in"))
    assert gear is not None
    assert gear.candidates[0].diametral_pitch == 8.0
