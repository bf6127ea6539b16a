"""What written dimensions mean. Ways of writing from shared practice: BS 308, ASA Z14.1, ISO 129 (from memory)."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from digitize.lettering.grammar import GEAR_ROWS, NotParsed, field, parse
from digitize.lettering.meaning.labels import gear_labels, title_labels
from digitize.lettering.meaning.table_rows import SIZE_ALONE
from digitize.lettering.text import Callout, Kind, TypedValue, Unit
from digitize.standards import scale_notes

parse("1")  # builds the parser, which takes longer than one example may
POWERS = st.sampled_from([2, 4, 8, 16, 32, 64])


def values(text: str, hint: Unit | None = None) -> tuple[TypedValue, ...]:
    callout = parse(text, hint)
    assert isinstance(callout, Callout), callout
    assert callout.text == text
    return callout.values


def only(text: str, hint: Unit | None = None) -> TypedValue:
    (value,) = values(text, hint)
    return value


@st.composite
def proper_fractions(draw: st.DrawFn) -> Fraction:
    bottom = draw(POWERS)
    return Fraction(draw(st.integers(0, bottom // 2 - 1)) * 2 + 1, bottom)


@given(st.integers(1, 99), proper_fractions(), st.sampled_from(["", '"']))
def test_a_mixed_number_comes_back(whole: int, part: Fraction, mark: str) -> None:
    value = only(f"{whole} {part.numerator}/{part.denominator}{mark}")
    assert (value.kind, value.nominal, value.style) == (Kind.LINEAR, whole + part, "fraction")
    assert value.place == Fraction(1, part.denominator)
    assert value.unit is (Unit.INCH if mark else Unit.UNMARKED)


@given(
    proper_fractions(), st.sampled_from(["Ø{}", "{} DIA", "{} DIA.", "{} DRILL", "{} BORE", "R{}", "{} R", "{} RAD"])
)
def test_a_word_beside_a_fraction_gives_its_kind(part: Fraction, form: str) -> None:
    value = only(form.format(f"{part.numerator}/{part.denominator}"))
    assert value.nominal == part
    assert value.kind is (Kind.RADIUS if "R{" in form or form.endswith((" R", " RAD")) else Kind.DIAMETER)


@given(st.integers(0, 99), st.integers(1, 4), st.data())
def test_a_decimal_comes_back_with_its_places(whole: int, places: int, data: st.DataObject) -> None:
    digits = f"{data.draw(st.integers(0 if whole else 1, 10**places - 1)):0{places}d}"
    value = only((str(whole) if whole else "") + "." + digits)
    assert value.nominal == whole + Fraction(int(digits), 10**places)
    assert (value.style, value.place) == (f"decimal{places}", Fraction(1, 10**places))


@given(st.integers(0, 40), st.integers(0, 11), st.one_of(st.none(), proper_fractions()))
def test_feet_and_inches_come_back(feet: int, inches: int, part: Fraction | None) -> None:
    if feet + inches == 0 and part is None:
        return
    text = f"{feet}'-{inches}" + (f" {part.numerator}/{part.denominator}" if part else "") + '"'
    value = only(text)
    assert value.nominal == 12 * feet + inches + (part or 0)
    assert (value.unit, value.style) == (Unit.INCH, "feet")


@given(st.integers(1, 179), st.integers(0, 59))
def test_degrees_and_minutes_come_back(degrees: int, minutes: int) -> None:
    value = only(f"{degrees}°{minutes}'")
    assert (value.kind, value.unit) == (Kind.ANGLE, Unit.DEGREE)
    assert value.nominal == degrees + Fraction(minutes, 60)


@given(st.integers(500, 9000), st.integers(1, 9), st.booleans())
def test_limits_come_back_in_either_order(thousandths: int, apart: int, larger_first: bool) -> None:
    high, low = Fraction(thousandths, 1000), Fraction(thousandths - apart, 1000)
    rows = [f"{float(value):.3f}" for value in ((high, low) if larger_first else (low, high))]
    if apart * 50 >= thousandths:
        return
    value = only("\n".join(rows))
    assert (value.nominal, value.upper, value.lower, value.style) == (high, 0, low - high, "limits")


@given(st.integers(100, 9000), st.integers(0, 9), st.integers(0, 9))
def test_unequal_deviations_come_back(thousandths: int, up: int, down: int) -> None:
    if up + down == 0:
        return
    value = only(f"{thousandths / 1000:.3f} +.00{up}\n-.00{down}")
    assert (value.nominal, value.upper, value.lower) == (
        Fraction(thousandths, 1000),
        Fraction(up, 1000),
        -Fraction(down, 1000),
    )


@pytest.mark.parametrize(
    ("text", "kind", "nominal", "unit"),
    [
        ("12", Kind.LINEAR, 12, Unit.UNMARKED),
        ("12,5", Kind.LINEAR, Fraction(25, 2), Unit.UNMARKED),
        ("12 MM", Kind.LINEAR, 12, Unit.MM),
        ("7 1/2\" dia'", Kind.DIAMETER, Fraction(15, 2), Unit.INCH),
        ('2" Rad.', Kind.RADIUS, 2, Unit.INCH),
        ("14 1/2°", Kind.ANGLE, Fraction(29, 2), Unit.DEGREE),
        ("60° INCL.", Kind.ANGLE, 60, Unit.DEGREE),
        ("M12X1.75", Kind.THREAD, 12, Unit.MM),
        ("1/2-13 NC", Kind.THREAD, Fraction(1, 2), Unit.INCH),
        ("3/8 UNC", Kind.THREAD, Fraction(3, 8), Unit.INCH),
        ("5/8 WHIT", Kind.THREAD, Fraction(5, 8), Unit.INCH),
        ("3/8 - 16 THDS.", Kind.THREAD, Fraction(3, 8), Unit.INCH),
        ("1 1/4-7 NC", Kind.THREAD, Fraction(5, 4), Unit.INCH),
        ("2 REQ'D", Kind.COUNT, 2, Unit.COUNT),
        ("4 OFF", Kind.COUNT, 4, Unit.COUNT),
        ("TAPER 3/4 PER FT", Kind.NOTE, Fraction(3, 4), Unit.INCH),
        ("TAPER 1:20", Kind.NOTE, Fraction(1, 20), Unit.NONE),
        ("25 H7", Kind.LINEAR, 25, Unit.UNMARKED),
        ("1/16 CHAM.", Kind.CHAMFER, Fraction(1, 16), Unit.UNMARKED),
        ("2 FT. 3 IN.", Kind.LINEAR, 27, Unit.INCH),
        ("□1/2", Kind.LINEAR, Fraction(1, 2), Unit.UNMARKED),
        ("A.F. 3/4", Kind.LINEAR, Fraction(3, 4), Unit.UNMARKED),
        ("25,4 m/m", Kind.LINEAR, Fraction(127, 5), Unit.MM),
        ("SPHER. R 1/2", Kind.RADIUS, Fraction(1, 2), Unit.UNMARKED),
        ("SR 12", Kind.RADIUS, 12, Unit.UNMARKED),
        ("R.875", Kind.RADIUS, Fraction(7, 8), Unit.UNMARKED),
        ("R. 5", Kind.RADIUS, 5, Unit.UNMARKED),
        ("ALL FILLETS 1/8 R UNLESS NOTED", Kind.RADIUS, Fraction(1, 8), Unit.UNMARKED),
        ("TAP 1/2-13", Kind.THREAD, Fraction(1, 2), Unit.INCH),
        ("1 1/4-7 L.H.", Kind.THREAD, Fraction(5, 4), Unit.INCH),
        ("TAP DRILL 27/64", Kind.DIAMETER, Fraction(27, 64), Unit.UNMARKED),
        ("13/32 DRILL THRO'", Kind.DIAMETER, Fraction(13, 32), Unit.UNMARKED),
        ("1.000 REAM FOR PRESS FIT", Kind.DIAMETER, 1, Unit.UNMARKED),
        ("P.C.D. 74", Kind.DIAMETER, 74, Unit.UNMARKED),
        ("3/4 TAPER PER FT.", Kind.NOTE, Fraction(3, 4), Unit.INCH),
    ],
)
def test_single_values(text: str, kind: Kind, nominal: Fraction, unit: Unit) -> None:
    value = only(text)
    assert (value.kind, value.nominal, value.unit) == (kind, nominal, unit)


@pytest.mark.parametrize(
    ("drill", "inches"),
    [
        ("NO. 7 DRILL", "0.201"),  # number and letter drill sizes: digitize/standards/drills.csv
        ("#30 DRILL", "0.1285"),
        ("F DRILL", "0.257"),
        ("LETTER Z DRILL", "0.413"),
        ("DRILL NO. 7", "0.201"),
    ],
)
def test_named_drills(drill: str, inches: str) -> None:
    value = only(drill)
    assert (value.kind, value.nominal, value.unit) == (Kind.DIAMETER, Fraction(inches), Unit.INCH)


@pytest.mark.parametrize(
    "text",
    [
        "1/4-20 SET SCREW", "TAP FOR 1/4-20 SET SCREW", "1/4-20 TAP FOR SET SCREW", "1/4-20 FOR SET-SCREW",
        "DRILL & TAP 1/4-20 FOR SET SCREW",
    ],
)  # fmt: skip
def test_a_set_screw_is_a_thread(text: str) -> None:
    value = only(text)
    assert (value.kind, value.nominal, value.name) == (Kind.THREAD, Fraction(1, 4), "1/4-20")


@pytest.mark.parametrize(
    ("text", "first"), [("DIAMETRAL PITCH 8/10", 8), ("D.P. 6/8", 6), ("4/5 D.P.", 4), ("DIAMETRAL PITCH 12/14", 12)]
)
def test_a_pitch_of_two_numbers_goes_by_the_first(text: str, first: int) -> None:
    """Two-number stubs 4/5 to 12/14 (from memory): 6/8 is no three quarters."""
    value = only(text)
    assert (value.nominal, value.style, value.name) == (first, "two_numbers", "diametral_pitch")
    assert only("DIAMETRAL PITCH 3/4").nominal == Fraction(3, 4)


def test_a_span_says_over_how_many_teeth() -> None:
    value = only("SPAN OVER 4 TEETH 1.359")
    assert (value.kind, value.name, value.count, value.nominal) == (Kind.GEAR_DATA, "span", 4, Fraction("1.359"))
    assert only("OVER 5 TEETH: 41.25 MM").count == 5
    assert not parse("OVER 4 TEETH")


def test_cutter_numbers_come_in_halves() -> None:
    assert only("CUTTER NO. 3 1/2").nominal == Fraction(7, 2)


@pytest.mark.parametrize("text", ["1/4 SET SCREW", '1/4" SET SCREW', "2 SET SCREWS 1/4"])
def test_a_size_alone_names_no_set_screw(text: str) -> None:
    assert not parse(text)


@pytest.mark.parametrize(("thread", "inches"), [("#10-24 NC", "0.19"), ("NO. 6-32 NC", "0.138")])
def test_numbered_screws(thread: str, inches: str) -> None:
    assert only(thread).nominal == Fraction(inches)  # major diameters: digitize/standards/threads_inch.csv


@pytest.mark.parametrize(
    ("text", "source"),
    [
        ('1/2" B.S.P.', "BS 21, from memory: named by the bore of the pipe"),
        ("3/4 B.S.P. TAP", "BS 21, from memory"),
        ("2 1/2 PIPE TAP", "ASA B2.1, from memory"),
        ("1/4-18 N.P.T.", "ASA B2.1, from memory: 18 threads an inch on a pipe of 1/4"),
        ("1/2 GAS", "common practice, no source"),
        ("NO. 16 W.G.", "common practice, no source: wire gauge"),
        ("14 B.W.G.", "Birmingham wire gauge, from memory"),
        ("A.W.G. NO. 12", "American wire gauge, from memory"),
        ("NO. 20 S.W.G.", "BS 3737, from memory"),
        ("18 GAUGE", "common practice, no source"),
        ("NO. 3 TAPER PIN", "ASA B5.20, from memory"),
        ("TAPER PIN NO. 3", "ASA B5.20, from memory"),
    ],
)
def test_what_goes_by_a_number_is_no_size_of_what_is_drawn(text: str, source: str) -> None:
    value = only(text)
    assert (value.kind, value.nominal) == (Kind.NOTE, None), source


@pytest.mark.parametrize(("text", "inches"), [("1 1/2-4 ACME", "3/2"), ('1" ACME', "1"), ("1 1/4-5 ACME L.H.", "5/4")])
def test_an_acme_thread_goes_by_its_outside_diameter(text: str, inches: str) -> None:
    value = only(text)  # ANSI B1.5, from memory
    assert (value.kind, value.nominal, value.unit) == (Kind.THREAD, Fraction(inches), Unit.INCH)


def test_a_size_beside_a_taper_pin_is_its_length() -> None:
    value = only("NO. 3 TAPER PIN 1 1/2 LONG")
    assert (value.nominal, value.name) == (Fraction(3, 2), "length")


def test_a_ring_may_go_by_its_mean_diameter() -> None:
    value = only("12'-6\" MEAN DIAM.")
    assert (value.kind, value.nominal) == (Kind.DIAMETER, 150)


@pytest.mark.parametrize("text", ["1.250 MAX\n1.248 MIN", "1.248 MIN.\n1.250 MAX.", "1.250 MAX\n1.248MIN"])
def test_limits_on_two_lines_may_be_named(text: str) -> None:
    value = only(text)  # BS 308, from memory
    assert (value.nominal, value.lower, value.style) == (Fraction(5, 4), Fraction(-1, 500), "limits")


@pytest.mark.parametrize(
    "text", ["1.248 MAX\n1.250 MIN", "1.250 MAX\n1.248 MAX", "3 MAX\n2 MIN", "1.25 MAX\nR1.24 2 MIN"]
)
def test_named_limits_that_contradict_their_words_are_refused(text: str) -> None:
    assert isinstance(parse(text), NotParsed)


@pytest.mark.parametrize(
    "text",
    [
        "C.I.", "M.S.", "PH. BRZ.", "NO. 2 MORSE TAPER", "WOODRUFF KEY NO. 404", "NO. 404 WOODRUFF KEYSEAT",
        "TAP FOR SET SCREW", "8 T.P.I.", "8 THREADS PER INCH",
    ],
)  # fmt: skip
def test_abbreviations_and_names_are_words_without_a_size(text: str) -> None:
    """Tokens of the table of abbreviations (shared practice, AEDB-12-2 and from memory)."""
    value = only(text)
    assert (value.kind, value.nominal, value.name) == (Kind.NOTE, None, "words")


def test_a_number_of_threads_is_no_diameter() -> None:
    """1/2 - 13 THDS. of which the finder lost the size."""
    assert not parse("13 THDS.")


def test_a_count_may_follow_its_drill_after_a_hyphen() -> None:
    assert [value.count for value in values("1/2 DRILL - 6 HOLES")] == [6, 6]


def test_a_bolt_circle_callout_has_three_values() -> None:
    count, hole, circle = values("6 HOLES 13/32 DRILL ON 4 1/2 B.C.")
    assert (count.kind, count.nominal) == (Kind.COUNT, 6)
    assert (hole.kind, hole.nominal, hole.count, hole.name) == (Kind.DIAMETER, Fraction(13, 32), 6, "drill")
    assert (circle.kind, circle.nominal, circle.count, circle.name) == (
        Kind.DIAMETER,
        Fraction(9, 2),
        None,
        "bolt_circle",
    )


def test_a_chamfer_is_a_size_and_an_angle() -> None:
    size, angle = values("1/16 × 45°")
    assert (size.kind, size.nominal) == (Kind.CHAMFER, Fraction(1, 16))
    assert (angle.kind, angle.nominal) == (Kind.ANGLE, 45)


@pytest.mark.parametrize(
    "text", ["KEYWAY 3/16 X 3/32", "3/16 × 3/32 KEYSEAT", 'Key 3/16" x 3/32"', "3/16 × 3/32 KEYSEAT."]
)
def test_a_key_has_width_and_depth(text: str) -> None:
    width, depth = values(text)
    assert (width.name, width.nominal) == ("key_width", Fraction(3, 16))
    assert (depth.name, depth.nominal) == ("key_depth", Fraction(3, 32))


@pytest.mark.parametrize("text", ["(1.250)", "1.250 REF", "1.250 REF."])
def test_reference_sizes_are_marked(text: str) -> None:
    assert only(text).reference


def test_not_to_scale_is_marked() -> None:
    assert only("1.250 N.T.S.").not_to_scale
    assert only("NOT TO SCALE").not_to_scale
    assert only("NOT TO. SCALE").not_to_scale
    assert only("SECTION A-A N.T.S.").not_to_scale
    assert only("VIEW B (NOT TO SCALE)").not_to_scale
    assert not only("SECTION A-A").not_to_scale
    assert not only("DO NOT SCALE PRINTS").not_to_scale


def test_a_tolerance_follows_the_word_or_the_number() -> None:
    for text in ("1.250 DIA ±.005", "1.250 ±.005 DIA", "Ø1.250 ±.005"):
        value = only(text)
        assert (value.kind, value.upper, value.lower) == (Kind.DIAMETER, Fraction(5, 1000), Fraction(-5, 1000))


def test_the_sheet_unit_settles_a_comma_before_three_figures() -> None:
    assert not parse("1,250")
    assert only("1,250", Unit.MM).nominal == Fraction(5, 4)


@pytest.mark.parametrize(
    ("text", "key", "nominal", "unit"),
    [
        ("NO. OF TEETH 42", "teeth", 42, Unit.COUNT),
        ("NUMBER OF TEETH: 42", "teeth", 42, Unit.COUNT),
        ("42 TEETH", "teeth", 42, Unit.COUNT),
        ("DIAMETRAL PITCH 8", "diametral_pitch", 8, Unit.NONE),
        ("8 D.P.", "diametral_pitch", 8, Unit.NONE),
        ("PRESSURE ANGLE 14 1/2°", "pressure_angle", Fraction(29, 2), Unit.DEGREE),
        ("OUTSIDE DIA. 5.500", "outside_diameter", Fraction(11, 2), Unit.UNMARKED),
        ("PITCH DIA. 5 1/4", "pitch_diameter", Fraction(21, 4), Unit.UNMARKED),
        ("WHOLE DEPTH .2696", "whole_depth", Fraction(2696, 10000), Unit.UNMARKED),
        ("MODULE 2.5", "module", Fraction(5, 2), Unit.MM),
        ('Pitch of Teeth....3"', "circular_pitch", 3, Unit.INCH),
        ("FACE 1 1/2", "face_width", Fraction(3, 2), Unit.UNMARKED),
    ],
)
def test_gear_rows(text: str, key: str, nominal: Fraction, unit: Unit) -> None:
    value = only(text)
    assert (value.kind, value.name, value.nominal, value.unit) == (Kind.GEAR_DATA, key, nominal, unit)
    assert key in GEAR_ROWS


def test_gear_data_on_one_line() -> None:
    found = values("27 TEETH 6 D.P. 14 1/2° P.A.")
    assert [(value.name, value.nominal) for value in found] == [
        ("teeth", 27),
        ("diametral_pitch", 6),
        ("pressure_angle", Fraction(29, 2)),
    ]


def test_every_spelling_of_a_gear_row_is_its_own_key() -> None:
    samples = {"teeth": "42", "cutter_number": "3", "mate_teeth": "40", "tooth_form": "STUB"}
    for key, spellings in GEAR_ROWS.items():
        for spelling in spellings:
            filled = samples.get(key, "20°" if "angle" in key else "2.5")
            assert only(f"{spelling} {filled}").name == key, spelling


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ("SCALE HALF SIZE", "scale", "HALF SIZE"),
        ("Material: C.I.", "material", "C.I."),
        ("DRG. NO. A-101", "drawing_number", "A-101"),
    ],
)
def test_title_rows(text: str, key: str, words: str) -> None:
    assert field(text) is not None
    assert only(text).name == key
    found = field(text)
    assert found is not None
    assert found[0] == key
    assert found[1].upper() == words


@pytest.mark.parametrize(("text", "ratio"), [("SCALE 1:2", "1/2"), ("SCALE HALF SIZE", "1/2"), ("FULL SIZE", "1")])
def test_scales(text: str, ratio: str) -> None:
    assert only(text).nominal == Fraction(ratio)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("ALL DIMENSIONS IN INCHES", Unit.INCH),
        ("ALL DIMENSIONS IN MM", Unit.MM),
        ("DIMENSIONS IN MILLIMETRES", Unit.MM),
    ],
)
def test_notes_on_the_unit(text: str, unit: Unit) -> None:
    value = only(text)
    assert (value.name, value.unit) == ("unit", unit)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("Flange  dimensions in mm  scale 1:2", ["scale", "unit"]),
        ("SPUR GEAR SCALE: 1:2", ["scale"]),
        ("STEPPED SHAFT MAT. STEEL SCALE HALF SIZE", ["scale"]),
        ("DIMENSIONS IN INCHES SCALE 1:2", ["scale", "unit"]),
    ],
)
def test_notes_behind_other_words_on_one_line(text: str, names: list[str]) -> None:
    parsed = parse(text)
    assert isinstance(parsed, Callout)
    assert [value.name for value in parsed.values] == names
    assert parsed.values[0].nominal == Fraction(1, 2)


@pytest.mark.parametrize("text", ["DETAIL A SCALE 2:1", "PLATE 3 SCALE 1:2", "1 1/2 SCALE 1:2", "SCALE 1:2 SCALE 1:5"])
def test_notes_among_figures_or_of_one_view_are_not_the_sheets(text: str) -> None:
    parsed = parse(text)
    assert isinstance(parsed, NotParsed) or all(value.nominal is None for value in parsed.values)


@pytest.mark.parametrize(
    "text",
    [
        "", " ", '"', "+.003", "-.003", "±.003", "1.250 +.003", "1.250 ±.900", "1.250 ±.005 ±.002",
        "2/8", "3/5", "9/8", "0/4", "3/128", "1 13/6", "5/", "/8", "-1/2", "6-13/32 DRILL", "3/8\n5/8",
        "0", "012", "1.5.2", "12..5", ".", "1.25000", "1 3 8", "10 20", "1.250\n1.350", "1.250\n1.250",
        "2'-14\"", "1/2 R DIA", "45°70'", "NO. 99 DRILL", "2-45", "TEETH 4.5", "3 X DIA", "A 12 B",
    ],
)  # fmt: skip
def test_what_is_no_size_is_not_parsed(text: str) -> None:
    result = parse(text)
    assert isinstance(result, NotParsed)
    assert not result
    assert result.reason.endswith(".")


@given(st.text(alphabet="0123456789/.'\"°Ø±+- \nXRDIAHOLESCBNT#,", max_size=14))
def test_any_text_gives_an_answer(text: str) -> None:
    result = parse(text)
    assert isinstance(result, Callout | NotParsed)
    if isinstance(result, Callout):
        for value in result.values:
            assert value.nominal is None or value.nominal > 0


def test_no_label_and_no_scale_in_the_tables_is_written_as_a_size_alone() -> None:
    """What is taken for a size without a look at them may be none of theirs: each says a word or has a sign."""
    labels = (label.text for label in (*gear_labels(), *title_labels()))
    notes = (note.text for note in scale_notes() if note.kind != "ambiguous")
    assert not [text for text in (*labels, *notes) if SIZE_ALONE.fullmatch(text)]
    for text in ("1:2", "12-3-45", "12.3.45", '3" = 1 FT'):
        assert only(text).kind is Kind.NOTE


@pytest.mark.parametrize("text", ["3/8 DRILL 2 HOLES", "3/8 DRILL. 2 HOLES.", "2 HOLES.\n3/8 DRILL."])
def test_a_full_stop_ends_a_callout(text: str) -> None:
    callout = parse(text)
    assert isinstance(callout, Callout)
    assert [(v.nominal, v.count) for v in callout.values if v.kind is Kind.DIAMETER] == [(Fraction(3, 8), 2)]


@pytest.mark.parametrize("text", ["4 1/2 CRS.", "4 1/2 CTRS.", "4 1/2 C. TO C.", "C TO C 4 1/2"])
def test_a_distance_of_centres_is_named_in_several_ways(text: str) -> None:
    """Common practice, no source."""
    callout = parse(text)
    assert isinstance(callout, Callout)
    assert [(v.nominal, v.name) for v in callout.values] == [(Fraction(9, 2), "centre_distance")]
