"""What a print says of the gear's body, and what of it is called unproven."""

from dataclasses import replace
from fractions import Fraction

import pytest

from digitize.dimensions.table import Dimension, Measured, Reconciled, State
from digitize.gears.desk.bench_lines import bore_lines, fitting_lines
from digitize.gears.desk.processes import process
from digitize.gears.identifying.sheet_body import body_of_sheet as body_with_strokes
from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, Layout, Reading, Text, TextBlock, Unit
from digitize.strokes.primitives import Arc, Dash, Role, Strokes


def body_of_sheet(reconciled, texts, strokes=None):
    return body_with_strokes(reconciled, texts, strokes or Strokes())


QUAD = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
BORE = ('1" BORE', State.AGREED)


def rows(*callouts: tuple[str, State]) -> Reconciled:
    """A row a value of each callout, as the grammar reads it."""
    found = []
    for text, state in callouts:
        read = parse(text)
        assert read, text
        for value in read.values:
            unit = Unit.INCH if value.unit is Unit.UNMARKED else value.unit
            found.append(
                Dimension(
                    text, "A1", "A", value.kind, None, text, value.nominal, unit, None, None, None, None, state, 0.99,
                    QUAD, (), (), name=value.name, typed=value,
                )
            )  # fmt: skip
    return Reconciled(tuple(found), (), Unit.INCH, {})


def note(text: str, probability: float = 0.98) -> Text:
    return Text(TextBlock(QUAD, 0.0, 40.0, Layout.ROW), (Reading(text, probability),), "drawn")


def test_agreed_sizes_are_taken():
    body = body_of_sheet(rows(BORE, ('1/4" × 1/8" KEYSEAT', State.AGREED), ("1/4-20 SET SCREW", State.AGREED)), ())
    assert (body.bore_mm, body.keyseat.width_mm, body.keyseat.depth_at_side_mm) == (25.4, 6.35, 3.175)
    assert (body.screw.thread, body.screw.major_mm, body.unproven) == ("1/4-20", 6.35, ())


def test_a_keyseat_of_no_standard_is_left_out_since_its_depth_may_be_meant_in_three_ways():
    assert body_of_sheet(rows(BORE, ('1/4" × 7/64" KEYSEAT', State.AGREED)), ()).keyseat is None


def test_what_is_only_read_is_called_unproven_on_the_sheet():
    body = body_of_sheet(
        rows(('1" BORE', State.UNPROVEN), ("TAP FOR 5/16-18 SET SCREW", State.UNPROVEN)),
        (note("NO. 606 WOODRUFF KEYSEAT"),),
    )
    assert set(body.unproven) == {"bore", "key", "set-screw"}
    lines = (*bore_lines(body, process("cut"), "in"), *fitting_lines(body, "in"))
    marked = {line.name for line in lines if "UNPROVEN" in line.remark}
    assert marked == {line.name for line in lines}
    assert next(line.nominal for line in lines if line.name == "set-screw") == "5/16-18"


@pytest.mark.parametrize(
    "callouts",
    [
        (('1" BORE', State.AGREED), ('1 1/8" BORE', State.AGREED)),
        (('1" BORE', State.DISPUTED),),
        (('1" BORE', State.UNREAD),),
    ],
)
def test_bores_that_contradict_or_are_not_read_are_none(callouts):
    assert body_of_sheet(rows(*callouts), ()).bore_mm is None


@pytest.mark.parametrize(
    "notes",
    [
        (note("NO. 999 WOODRUFF KEY"),),
        (note("NO. 404 WOODRUFF KEY"), note("WOODRUFF KEY NO. 405")),
        (note("NO. 404 WOODRUFF KEY", 0.4),),
        (note("KEY NO. 404"),),
    ],
)
def test_half_round_keys_that_no_table_has_or_several_name_are_none(notes):
    assert body_of_sheet(rows(BORE), notes).key is None


def test_two_set_screws_are_none_and_a_thread_elsewhere_is_no_set_screw():
    both = rows(BORE, ("1/4-20 SET SCREW", State.AGREED), ("M6 SET SCREW", State.AGREED))
    assert body_of_sheet(both, ()).screw is None
    assert body_of_sheet(rows(BORE, ("1/4-20 TAP", State.AGREED)), ()).screw is None


def test_the_half_round_keyseat_is_as_deep_as_the_table_says():
    seat = body_of_sheet(rows(BORE), (note("WOODRUFF KEY NO. 606"),)).keyseat
    assert seat.depth_at_side_mm == pytest.approx(float(Fraction("0.0997")) * 25.4)  # ANSI/ASME B17.2-1967 (seen)


def test_a_bore_whose_figure_is_a_bare_diameter_is_the_innermost_circle():
    def circle(radius: float, role: Role = Role.VISIBLE, sweep: float = 360.0) -> Arc:
        dash = Dash.CHAIN if role is Role.CENTRE else Dash.SOLID
        return Arc((800.0, 800.0), radius, 0.0, sweep, 4.0, dash=dash, role=role, view="A")

    face = Strokes(arcs=(circle(390), circle(360, Role.CENTRE), circle(200), circle(100, sweep=330)))

    def diameter(text: str, arc: int) -> Dimension:
        (found,) = rows((text, State.AGREED)).dimensions
        radius = face.arcs[arc].radius_px
        return replace(found, geometry=Measured(Kind.DIAMETER, (0, 0), (1, 1), 2 * radius, 0.1, (0, 0), arcs=(arc,)))

    sheet = Reconciled((diameter('Ø 2"', 2), diameter('Ø 1"', 3)), (), Unit.INCH, {})
    assert body_of_sheet(sheet, (), face).bore_mm == 25.4
    assert body_of_sheet(sheet, ()).bore_mm is None
    hub_alone = Reconciled((diameter('Ø 2"', 2),), (), Unit.INCH, {})
    assert body_of_sheet(hub_alone, (), face).bore_mm is None
