"""The inspection sheet: its figures, its two forms, and its drawings at the scale they state."""

from dataclasses import replace
from html import unescape
from math import cos, radians

import numpy as np
import pypdfium2
import pytest

from calibrate.errors import InputError
from digitize.gears.body import GivenBody, body_from
from digitize.gears.bore import keyseat_by_centre
from digitize.gears.desk.bench_drawing import keyseat_drawing, tooth_drawing
from digitize.gears.desk.bench_html import sheet_html
from digitize.gears.desk.bench_lines import bore_lines, teeth_lines
from digitize.gears.desk.bench_pdf import sheet_pdf
from digitize.gears.desk.bench_sheet import bench_sheet
from digitize.gears.desk.processes import places, process
from digitize.gears.desk.work import Work, workpiece
from digitize.gears.identifying.identify import identify
from digitize.gears.options import BenchInput, BodyInput, DeskInput
from digitize.gears.teeth.inspection import over_pins_mm, span_mm
from digitize.gears.teeth.tooth import GearSpec
from digitize.gears.typed import evidence_from
from digitize.report.cautions import CAUTIONS

KNOWN = DeskInput(
    teeth=42,
    outside_diameter="5.500in",
    diametral_pitch="8",
    pressure_angle="14.5",
    whole_depth=".270in",
    words=("FULL DEPTH",),
    source="print",
)
BODY = BodyInput(bore="1in", key="ANSI", hub_diameter="2in")


def sheet(typed=KNOWN, body=BODY, bench=None, unit="in"):
    evidence = evidence_from(typed)
    finding = identify(evidence)
    work = workpiece(finding, evidence, body_from(body), bench or BenchInput())
    assert isinstance(work, Work)
    return bench_sheet(work, finding, unit)


def inches(line) -> float:
    return float(line.nominal.split()[0])


def by_name(lines) -> dict:
    return {line.name: line for line in lines}


def test_the_figures_of_a_known_gear():
    lines = by_name(line for block in sheet().blocks for line in block.lines)
    # Chordal figures at 1 DP over 8 (PTM-152, seen), span formula (SPAN-FORM, seen), T of a 1 in bore (MHPC-B17, seen).
    assert inches(lines["chordal thickness"]) == pytest.approx(1.5704 / 8, abs=6e-5)
    assert inches(lines["chordal addendum"]) == pytest.approx(1.0147 / 8, abs=6e-5)
    assert inches(lines["over 5 teeth"]) - inches(lines["over 4 teeth"]) == pytest.approx(
        np.pi / 8 * cos(radians(14.5)), abs=2e-4
    )
    assert inches(lines["over the keyseat"]) == pytest.approx(1.114 - 0.005, abs=1.1e-3)
    assert lines["over the keyseat"].usual == "up to 1.1141 in"
    assert inches(lines["keyseat depth at the side"]) == 0.125
    assert inches(lines["keyseat depth at the centre"]) == pytest.approx(0.125 - 0.0159, abs=5e-5)


@pytest.mark.parametrize("name", ["cut", "moulded", "printed"])
def test_usual_sizes_are_those_of_a_thinned_gear(name):
    gear, made_by = GearSpec(24, 2.0, 20.0), process(name)
    lines = by_name(teeth_lines(gear, made_by, "mm"))
    low, high = made_by.thinning_mm(gear)
    assert 0 < low < high < 0.15 * gear.module_mm
    for thinning, place in ((high, 0), (low, 1)):
        thin = replace(gear, thinning_mm=thinning)
        for label, value in (("over 3 teeth", span_mm(thin, 3)), ("over pins of 3.456 mm", over_pins_mm(thin, 3.456))):
            stated = float(lines[label].usual.split(" to ")[place].split()[0])
            assert stated == pytest.approx(value, abs=6e-4)


def test_a_printed_gear_is_allowed_more_than_a_cut_one():
    gear = GearSpec(24, 2.0, 20.0)
    assert (
        process("printed").thinning_mm(gear) > process("moulded").thinning_mm(gear) > process("cut").thinning_mm(gear)
    )
    limits = [process(name).run_out_limit_mm(gear) for name in ("cut", "moulded", "printed")]
    assert limits == sorted(limits)
    with pytest.raises(InputError, match="cut, moulded, printed"):
        process("carved")


def test_a_backlash_that_was_asked_for_lies_amid_the_usual():
    gear = GearSpec(24, 2.0, 20.0, thinning_mm=0.08)
    low, high = process("cut").thinning_mm(gear)
    assert (low + high) / 2 == pytest.approx(0.08)


def test_din_keyseat_in_three_ways():
    # DIN 6885-1 (seen): 25 mm bore, 8 wide, t2 = 3.3 on the centre line, 28.3 over.
    lines = by_name(
        bore_lines(GivenBody(bore_mm=25.0, keyseat=keyseat_by_centre(25.0, 8.0, 3.3)), process("cut"), "mm")
    )
    assert lines["keyseat depth at the centre"].nominal == "3.300 mm"
    assert lines["over the keyseat"].nominal == "28.300 mm"
    assert lines["keyseat depth at the side"].nominal == "3.957 mm"


def test_pins_are_rods_that_lie_right():
    for teeth in (17, 24, 60):
        lines = by_name(teeth_lines(GearSpec(teeth, 3.0, 20.0), process("cut"), "mm"))
        rods = [name for name in lines if name.startswith("over pins")]
        assert len(rods) == 2
        assert ("nearest to opposite" in lines[rods[0]].remark) == (teeth % 2 == 1)


def test_the_places_of_run_out_are_on_the_drawing():
    found = sheet()
    letters = {label.text for label in found.drawings[0].labels if label.bold}
    assert letters == {place.letter for place in places()}
    assert any("on a true mandrel" in block.title for block in found.blocks)
    without_hub = sheet(body=BodyInput(bore="1in"))
    assert not any(label.text == "D" for label in without_hub.drawings[0].labels)


def test_the_sheet_says_what_stands_on_a_persons_word():
    finding = replace(identify(evidence_from(KNOWN)), by_word="By a person's word: teeth 42.")
    work = workpiece(finding, evidence_from(KNOWN), body_from(BODY), BenchInput())
    assert isinstance(work, Work)
    assert bench_sheet(work, finding, "in").notes[0] == "By a person's word: teeth 42."


def test_an_unproven_gear_says_so_and_what_would_settle_it():
    open_ = sheet(replace(KNOWN, words=()))
    assert open_.banner.startswith("UNPROVEN")
    assert any("settle the tooth" in note for note in open_.notes)
    assert sheet().banner.startswith("AGREED")
    assert sheet().cautions == CAUTIONS


def test_drawings_stay_in_their_boxes_and_at_their_scale():
    for drawing in sheet().drawings:
        points = np.array([point for stroke in drawing.strokes for point in stroke.points])
        assert points.min() >= -0.5
        assert (points <= np.array([drawing.width_mm, drawing.height_mm]) + 0.5).all()
    gear = next(each for each in sheet().drawings if "Span" in each.caption)
    assert gear.caption.endswith("1:2")
    outline = np.array(gear.strokes[0].points)
    # 5 1/2 in outside at half size, in millimetres of paper.
    assert np.ptp(outline[:, 1]) == pytest.approx(5.5 * 25.4 / 2, rel=2e-3)


@pytest.mark.parametrize("teeth", [6, 9, 13, 200])
def test_odd_gears_are_drawn_too(teeth):
    assert tooth_drawing(GearSpec(teeth, 2.0, 25.0, 0.8, 1.0, 0.2), 68, 46).strokes
    assert keyseat_drawing(10.0, keyseat_by_centre(10.0, 3.0, 1.4), 68, 46).labels


@pytest.mark.parametrize(("paper", "size_mm"), [("A4", (210, 297)), ("letter", (215.9, 279.4))])
def test_the_pdf_is_true_paper_and_holds_the_figures(paper, size_mm):
    content = sheet_pdf(sheet(), paper)
    with pypdfium2.PdfDocument(content) as document:
        page = document[0]
        assert [side / 72 * 25.4 for side in page.get_size()] == pytest.approx(size_mm, abs=0.05)
        text, *more = (" ".join(each.get_textpage().get_text_range().split()) for each in document)
        dark = np.asarray(page.render(scale=2).to_pil().convert("L")) < 128
    assert "0.1963 in" in text
    assert "1.1091 in" in " ".join((text, *more))
    # Whoever holds the first page alone has the cautions, and a place for name and date.
    assert all(caution in text for caution in (*CAUTIONS, "measured by", "date"))
    _rows, columns = np.nonzero(dark)
    assert min(columns) > 0.02 * dark.shape[1]
    assert max(columns) < 0.98 * dark.shape[1]
    assert sheet_pdf(sheet(), paper) == content


def test_the_html_is_whole_in_itself():
    page = unescape(sheet_html(sheet(), "A4"))
    assert "210mm 297mm" in page
    assert "0.1963 in" in page
    assert page.count("<svg") == 4
    assert "://" not in page
    assert "<script" not in page
    assert all(caution in page for caution in (*CAUTIONS, "measured by"))
