"""Circles of small drawn sheets: what they tell of across against up, and what must not pass for one."""

import json
import re
from dataclasses import replace

import cv2
import numpy as np
import pytest
import tifffile
from typer.testing import CliRunner

from calibrate.__main__ import app
from calibrate.files.resolution import stated, unknown
from calibrate.level import calibrate_sheet
from calibrate.scaling.circles import circles_record, circles_words, told_by, with_circles
from calibrate.scaling.ring_fit import Ring
from calibrate.scaling.rings import find_rings
from calibrate.scaling.stretching import OUT_OF_ROUND_PX, ROUND_STD
from tests.calibrate import drawn

FINER = 8
"""Curves are drawn on a raster so much finer and then averaged: their places hold to a hundredth of a pixel."""
ISOMETRIC = 0.5774
"""Minor over major axis of a circle in isometric projection: tan 30 deg (ISO 5456-3, from memory)."""
CIRCLES = ((1080, 300, 190), (1080, 300, 90), (400, 425, 70), (640, 340, 45))
"""Middle and radius of circles on `drawn.sheet`, in pixels: two of one view, two inside the square one."""


def with_ovals(grey, ovals, width_px=2.6):
    """Draw ovals: middle x and y, half axes across and up, turn in degrees, and the arc drawn, in degrees."""
    out = grey.astype(np.float64)
    for x, y, across, up, turn_deg, drawn_deg in ovals:
        t = np.radians(np.linspace(0, drawn_deg, 2000))
        turn = np.radians(turn_deg)
        u, v = across * np.cos(t), up * np.sin(t)
        points = np.stack([x + u * np.cos(turn) - v * np.sin(turn), y + u * np.sin(turn) + v * np.cos(turn)], axis=1)
        low = np.floor(points.min(axis=0)).astype(int) - 6
        wide, high = np.ceil(points.max(axis=0)).astype(int) + 7 - low
        fine = np.zeros((high * FINER, wide * FINER), np.uint8)
        places = np.round(((points - low + 0.5) * FINER - 0.5) * 16).astype(np.int32)
        cv2.polylines(fine, [places], drawn_deg == 360, 255, round(width_px * FINER), cv2.LINE_8, 4)
        ink = cv2.resize(fine, (wide, high), interpolation=cv2.INTER_AREA) / 255
        part = out[low[1] : low[1] + high, low[0] : low[0] + wide]
        np.minimum(part, 245 - 215 * ink, out=part)
    return np.round(out).astype(np.uint8)


def circle(x, y, radius, wider=1.0):
    return x, y, radius * wider**0.5, radius / wider**0.5, 0, 360


@pytest.fixture
def calibrated(tmp_path):
    def calibrate(grey, dpi=(200, 200)):
        tifffile.imwrite(tmp_path / "print.tif", grey, resolution=dpi, resolutionunit="INCH")
        return calibrate_sheet(tmp_path / "print.tif", by_circles=True)

    return calibrate


@pytest.mark.parametrize("wider", [1.0, 1.01, 1.03, 1 / 1.03])
@pytest.mark.parametrize("seed", [1, 2])
def test_circles_tell_how_much_wider_than_high_they_came_out(wider, seed, calibrated):
    grey = with_ovals(drawn.sheet(), [circle(*each, wider) for each in CIRCLES])
    said = calibrated(drawn.noisy(grey, seed)).circles
    assert (said.circles, said.places, said.agree) == (4, 3, True)
    assert abs(said.stretch - np.log(wider)) < 3 * said.std
    assert said.std < 0.001


@pytest.mark.parametrize("wider", [1.03, 1 / 1.03])
def test_a_quarter_turn_and_a_small_one_change_nothing_that_is_told(wider, calibrated):
    grey = with_ovals(drawn.sheet(), [circle(*each, wider) for each in CIRCLES])
    turned = calibrated(np.rot90(grey))
    assert turned.orientation_deg == 270
    assert turned.circles.stretch == pytest.approx(np.log(wider), abs=3e-4)
    small = cv2.warpAffine(grey, drawn.turning(2.0)[:2], grey.shape[::-1], flags=cv2.INTER_CUBIC, borderValue=245)
    assert calibrated(small).circles.stretch == pytest.approx(np.log(wider), abs=5e-4)


@pytest.mark.parametrize(
    ("ovals", "what"),
    [
        ([], "no curve"),
        ([(1080, 300, 200, 200 * ISOMETRIC, turn, 360) for turn in (0, 30, -30)], "isometric circles"),
        ([(1080, 300, 200, 200 * 0.79, 18, 360), (400, 425, 70, 55, 18, 360)], "oblique circles"),
        ([(1080, 300, 180, 180, 0, 190)], "half a circle"),
        ([(1080, 300, 190 + 9 * k, 190 + 9 * k, 0, 80) for k in range(6)], "arcs about one middle"),
    ],
)
def test_what_is_no_circle_tells_nothing(ovals, what, calibrated):
    sheet = calibrated(with_ovals(drawn.sheet(), ovals))
    assert find_rings(sheet) == (), what
    assert sheet.circles is None
    assert not any("Circles" in warning for warning in sheet.warnings)


def test_a_polygon_and_a_cam_are_no_circles(calibrated):
    t = np.linspace(0, 2 * np.pi, 8, endpoint=False)
    octagon = [(1080 + 180 * np.cos(a), 300 + 180 * np.sin(a)) for a in t]
    cam = [
        (400 + (80 + 6 * np.cos(3 * a)) * np.cos(a), 425 + (80 + 6 * np.cos(3 * a)) * np.sin(a))
        for a in np.arange(0, 6.3, 0.05)
    ]
    grey = drawn.sheet()
    for outline in (octagon, cam):
        cv2.polylines(grey, [np.round(np.array(outline) * 16).astype(np.int32)], True, 30, 3, cv2.LINE_AA, 4)
    assert find_rings(calibrated(grey)) == ()


def test_one_view_with_tilted_circles_does_not_outweigh_the_others(calibrated):
    tilted = (1080, 300, 190, 190 * 0.965, 0, 360), (1080, 300, 90, 90 * 0.965, 0, 360)
    grey = with_ovals(drawn.sheet(), [*tilted, *(circle(*each) for each in CIRCLES[2:])])
    said = calibrated(grey).circles
    assert (said.circles, said.places, said.agree) == (2, 2, True)
    assert said.stretch == pytest.approx(0, abs=5e-4)


def test_two_places_that_contradict_each_other_say_nothing(calibrated):
    grey = with_ovals(drawn.sheet(), [(1080, 300, 190, 184, 0, 360), circle(*CIRCLES[2])])
    sheet = calibrated(grey)
    assert not sheet.circles.agree
    assert circles_words(sheet.circles) == (
        "circles: 2 circles at 2 places, flattened unlike one another; they say nothing of across against up"
    )
    assert circles_record(sheet.circles)["wider_than_high_percent"] is None
    assert not any("Circles" in warning for warning in sheet.warnings)


@pytest.mark.parametrize(("wider", "told"), [(1.0, False), (1.01, False), (1.03, True)])
def test_more_than_paper_does_is_a_clear_statement(wider, told, calibrated):
    sheet = calibrated(with_ovals(drawn.sheet(), [circle(*each, wider) for each in CIRCLES]))
    said = [warning for warning in sheet.warnings if warning.startswith("Circles come out")]
    assert len(said) == told
    if told:
        assert said[0].startswith("Circles come out 3.0 % wider than high (standard error 0.0")
        assert "the scanner's feed may be off" in said[0]
        assert "tilted" not in said[0]


def test_one_view_alone_may_show_them_tilted(calibrated):
    sheet = calibrated(with_ovals(drawn.sheet(), [circle(*each, 1.03) for each in CIRCLES[:2]]))
    assert "All stand in one view, and one that shows them tilted would look the same" in sheet.warnings[-1]


def test_pixels_that_the_file_states_to_be_oblong_are_no_stretch(calibrated):
    grey = with_ovals(drawn.sheet(), [circle(*each, 204 / 196) for each in CIRCLES])
    sheet = calibrated(grey, dpi=(204, 196))
    assert sheet.circles.stretch == pytest.approx(0, abs=3e-4)
    unlike = with_circles(replace(sheet, resolution=stated(200, 200, "TIFF tags")))
    assert unlike.circles.stretch == pytest.approx(np.log(204 / 196), abs=3e-4)
    assert with_circles(replace(sheet, resolution=unknown(""))).circles.stretch == unlike.circles.stretch


def test_the_error_covers_circles_that_scatter():
    values = (0.006, -0.006, 0.003, -0.003)
    said = told_by([Ring(500 * k, 0, 50, value, 1e-5) for k, value in enumerate(values)])
    assert said.circles == 4
    assert said.std == pytest.approx(np.std(values, ddof=1) / 2, rel=0.15)
    one_more = told_by([Ring(500 * k, 0, 50, 0.001, 1e-5) for k in range(4)])
    assert one_more.std == pytest.approx(np.hypot(ROUND_STD, 2 * OUT_OF_ROUND_PX / 50) / 2, rel=0.01)


def test_the_command_tells_it_and_a_known_length_is_carried_to_the_other_axis(tmp_path):
    grey = with_ovals(drawn.sheet(), [circle(*each, 1.03) for each in CIRCLES])
    tifffile.imwrite(tmp_path / "print.tif", grey, resolution=(200, 200), resolutionunit="INCH")
    known = ["--known", "100mm", "250,250", "800,250"]
    for name, options in (("plain", []), ("known", known)):
        result = CliRunner().invoke(app, [str(tmp_path / "print.tif"), "--out", str(tmp_path / name), *options])
        assert result.exit_code == 0, result.output
        line = next(line for line in result.output.splitlines() if line.startswith("  circles:"))
        assert re.fullmatch(
            r"  circles: (2\.99|3\.0\d) % wider than high, \+- 0\.\d\d % \(95 %\); 4 circles at 3 places", line
        )
        record = json.loads((tmp_path / name / "sheet.json").read_text())
        assert record["circles"]["wider_than_high_percent"] == pytest.approx(3.0, abs=0.03)
        assert (record["circles"]["circles"], record["circles"]["places"]) == (4, 3)
    x, y = record["scale"]["part_mm_per_px"]
    assert x == pytest.approx(100 / 550, rel=0.005)
    assert y / x == pytest.approx(1.03, abs=0.002)


def test_digitizing_does_not_look_for_them(tmp_path):
    tifffile.imwrite(tmp_path / "print.tif", with_ovals(drawn.sheet(), [circle(*CIRCLES[0])]))
    assert calibrate_sheet(tmp_path / "print.tif").circles is None
