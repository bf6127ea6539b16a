from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from calibrate.record import calibration_record
from calibrate.restoring.restore import restore
from calibrate.scaling.witnesses import paper_witnesses
from calibrate.sheet import ResolutionStatus, apply_homography
from calibrate.straightening.bars import Bars
from calibrate.straightening.camera import camera_of
from calibrate.straightening.perspective import FINDING, REFINING, from_lines, from_quad
from calibrate.straightening.proportion import in_proportion
from calibrate.straightening.straighten import straighten
from tests.calibrate import drawn
from tests.calibrate.test_straighten import page_of

PICTURE = (1300, 1700)
FOCUS = 0.9
MIDDLE_WEIGHT = 1.15
STRAY_LIMIT = 0.0125
"""Four standard errors of a side of the square, relative, per pixel that the ends of the 50 lines stray."""


def camera(tilt_x_deg, tilt_y_deg, roll_deg, width=float(drawn.WIDTH), height=float(drawn.HEIGHT)):
    """Homography from a flat sheet's pixels to a photograph: pinhole, square pixels, axis in the middle."""
    rows, columns = PICTURE
    turns = [np.radians(v) * axis for v, axis in zip((tilt_x_deg, tilt_y_deg, roll_deg), np.eye(3), strict=True)]
    rotation = np.linalg.multi_dot([cv2.Rodrigues(turn)[0] for turn in turns])
    lens = np.array([[FOCUS * columns, 0, (columns - 1) / 2], [0, FOCUS * columns, (rows - 1) / 2], [0, 0, 1]])
    unit = np.array([[1 / width, 0, -0.5], [0, 1 / width, -height / width / 2], [0, 0, 1]])
    return lens @ np.column_stack([rotation[:, :2], [0, 0, MIDDLE_WEIGHT]]) @ unit


def corners(width=drawn.WIDTH, height=drawn.HEIGHT):
    return np.array([[0.0, 0], [width, 0], [width, height], [0, height]])


def photograph(matrix, table=70, seed=0):
    size = PICTURE[::-1]
    paper = cv2.warpPerspective(drawn.sheet(), matrix, size, flags=cv2.INTER_AREA)
    inside = cv2.warpPerspective(np.ones((drawn.HEIGHT, drawn.WIDTH), np.float32), matrix, size)
    return drawn.noisy(np.round(paper * inside + table * (1 - inside)).astype(np.uint8), seed, 3.0)


def ruled(matrix, stray_px, seed):
    """Level and upright bars as the camera sees them: lengths mixed, ends straying, one in ten drawn slanting."""
    rng = np.random.default_rng(seed)
    found = []
    for turn in (False, True):
        middle = rng.uniform([300, 300], [1100, 700], (25, 2))
        half = rng.uniform(40, 280, 25)[:, None] * [1, 0]
        ends = np.stack([middle - half, middle + half], axis=1) + rng.normal(0, stray_px, (25, 2, 2))
        ends[:2, 1, 1] += 12.0
        ends = ends[..., ::-1] if turn else ends
        found.append(Bars(apply_homography(matrix, ends.reshape(-1, 2)).reshape(-1, 2, 2), np.full(25, 0.002)))
    return found


TILTED = st.tuples(st.floats(8, 25), st.floats(8, 25), st.floats(-8, 8))


class TestProportion:
    @given(TILTED, st.floats(0.5, 2.0))
    def test_a_camera_tilted_both_ways_tells_its_focus_and_the_proportion(self, tilts, ratio):
        matrix = camera(*tilts) @ np.diag([ratio, 1.0, 1.0])
        found = camera_of(matrix, PICTURE)
        assert found.stretch == pytest.approx(np.log(ratio), abs=1e-3)
        assert found.focus == pytest.approx(FOCUS, rel=0.03)

    @given(st.floats(-12, 12), st.floats(-12, 12), st.floats(0.5, 1.6), st.tuples(st.floats(-1, 1), st.floats(-1, 1)))
    def test_its_standard_error_covers_other_lenses_and_cut_pictures(self, tilt_x, tilt_y, focus, cut):
        """Truth: a camera of another focus whose axis lies off the middle by up to 2 % of the longer side."""
        lens = np.diag([focus / FOCUS, focus / FOCUS, 1.0])
        middle = np.array([[1, 0, (PICTURE[1] - 1) / 2], [0, 1, (PICTURE[0] - 1) / 2], [0, 0, 1.0]])
        shift = np.array([[1, 0, 0.02 * PICTURE[1] * cut[0]], [0, 1, 0.02 * PICTURE[1] * cut[1]], [0, 0, 1.0]])
        matrix = middle @ shift @ lens @ np.linalg.inv(middle) @ camera(tilt_x, tilt_y, 0.0)
        found = camera_of(matrix, PICTURE)
        assert abs(found.stretch) < 3.5 * found.stretch_std + 1e-4

    def test_a_stated_focal_length_tells_what_one_tilt_leaves_open(self):
        matrix = camera(15, 0, 0)
        alone, told = camera_of(matrix, PICTURE), camera_of(matrix, PICTURE, FOCUS)
        assert told.stretch_std < 0.7 * alone.stretch_std
        assert abs(told.stretch) < 1e-3

    def test_the_edges_of_a_standard_sheet_make_the_proportion_surer(self):
        """ISO 216: A3 is 420 x 297 mm."""
        matrix = camera(10, 2, 0, 1000.0, 1000 * 297 / 420)
        quad = apply_homography(matrix, corners(1000.0, 1000 * 297 / 420))
        flat = np.linalg.inv(matrix) * 1.0
        _, alone = in_proportion(flat, PICTURE, None, None)
        both, surer = in_proportion(flat, PICTURE, quad, None)
        assert surer.std < alone.std
        assert "paper" in surer.note
        assert both[0, 0] / flat[0, 0] == pytest.approx(1, abs=2 * surer.std)

    @given(TILTED)
    def test_from_quad_agrees_with_opencv_on_exact_points(self, tilts):
        """Outside witness: cv2.findHomography on a grid of exact points of the sheet."""
        quad = apply_homography(camera(*tilts), corners())
        grid = np.random.default_rng(0).uniform(0, 1, (20, 2))
        seen = apply_homography(camera(*tilts), grid * [drawn.WIDTH, drawn.HEIGHT])
        theirs, _ = cv2.findHomography(seen, grid)
        assert apply_homography(from_quad(quad), seen) == pytest.approx(apply_homography(theirs, seen), abs=1e-4)


class TestMisleadingEdges:
    def test_lines_that_lie_flat_overrule_edges_of_the_paper_that_converge(self):
        """A torn or stained corner: the paper's left edge is found three degrees askew; the drawing is a flat scan."""
        page = page_of(drawn.noisy(drawn.sheet(1.0), 3, 3.0))
        restored = restore(page)
        askew = np.array([[0.0, 30], [drawn.WIDTH - 1, 5], [drawn.WIDTH - 1, drawn.HEIGHT - 1], [50, drawn.HEIGHT - 1]])
        sheet = straighten(page, replace(restored, sheet_quad_px=askew))
        assert not sheet.rectified
        assert sheet.skew_deg == pytest.approx(1.0, abs=0.01)
        assert sheet.resolution.status is ResolutionStatus.STATED
        assert not any(source.source == "sheet size" for source in paper_witnesses(sheet, askew))


class TestLines:
    @settings(max_examples=15)
    @given(TILTED, st.sampled_from([0.0, 0.2]), st.integers(0, 99))
    @example((10.578125, 15.0, -7.75), 0.0, 31)
    def test_a_square_comes_out_square(self, tilts, stray_px, seed):
        """The camera's exact homography is the truth; the limit is 0.05 % of a side, or the pen."""
        matrix = camera(*tilts)
        found = from_lines(*ruled(matrix, stray_px, seed), PICTURE, FINDING)
        square = np.array([[400.0, 300], [800, 300], [800, 700], [400, 700]])
        seen = apply_homography(found, apply_homography(matrix, square))
        diagonals = np.linalg.norm(seen[[2, 3]] - seen[[0, 1]], axis=1)
        sides = np.linalg.norm(seen - np.roll(seen, -1, axis=0), axis=1)
        limit = max(5e-4, STRAY_LIMIT * stray_px)
        assert diagonals[0] == pytest.approx(diagonals[1], rel=limit)
        assert sides[0] == pytest.approx(sides[2], rel=limit)
        assert sides[1] == pytest.approx(sides[3], rel=limit)

    def test_three_lines_better_what_the_edges_of_the_paper_left(self):
        """Both borders and one more line upright: too few to find a perspective by, enough to refine one."""
        matrix = camera(0.1, 0.15, 0.0)
        level, upright = ruled(matrix, 0.0, 3)
        few = Bars(upright.ends[2:5], upright.std_deg[2:5])
        assert from_lines(level, few, PICTURE, FINDING) is None
        square = np.array([[400.0, 300], [800, 300], [800, 700], [400, 700]])
        seen = apply_homography(from_lines(level, few, PICTURE, REFINING), apply_homography(matrix, square))
        sides = np.linalg.norm(seen - np.roll(seen, -1, axis=0), axis=1)
        assert sides[[0, 1]] == pytest.approx(sides[[2, 3]], rel=1e-5)

    def test_parallel_lines_are_no_perspective(self):
        assert from_lines(*ruled(np.eye(3), 0.1, 1), PICTURE, FINDING) is None

    @settings(max_examples=40)
    @given(st.floats(0.3, 1.5), st.sampled_from([0.0, 0.2]), st.integers(0, 99), st.sampled_from([0, 1]))
    def test_two_turned_sheets_are_no_perspective(self, turn_deg, stray_px, seed, axis):
        """Side by side, or one above the other: the second is ruled as the first is, and turned."""
        cosine, sine = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
        beside = np.eye(3)
        beside[axis, 2] = PICTURE[1 - axis]
        turned = beside @ np.array([[cosine, sine, 0], [-sine, cosine, 0], [0, 0, 1.0]])
        both = [ruled(matrix, stray_px, seed + n) for n, matrix in enumerate((np.eye(3), turned))]
        level, upright = (first.joined(second) for first, second in zip(*both, strict=True))
        shape = (PICTURE[0] * (1 + axis), PICTURE[1] * (2 - axis))
        assert from_lines(level, upright, shape, FINDING) is None

    @settings(max_examples=15)
    @given(TILTED, st.integers(0, 99), st.floats(0.1, 0.3))
    def test_lines_drawn_slanting_are_left_out(self, tilts, seed, share):
        """Up to three lines in ten slant by up to 60 px over their length."""
        matrix = camera(*tilts)
        rng = np.random.default_rng(seed)
        found = []
        for bars, axis in zip(ruled(np.eye(3), 0.0, seed), (1, 0), strict=True):
            ends = bars.ends.copy()
            count = round(share * bars.count)
            ends[:count, 1, axis] += rng.uniform(-60, 60, count)
            seen = apply_homography(matrix, ends.reshape(-1, 2)).reshape(-1, 2, 2)
            found.append(Bars(seen, bars.std_deg))
        square = np.array([[400.0, 300], [800, 300], [800, 700], [400, 700]])
        seen = apply_homography(from_lines(*found, PICTURE, FINDING), apply_homography(matrix, square))
        sides = np.linalg.norm(seen - np.roll(seen, -1, axis=0), axis=1)
        assert sides[[0, 1]] == pytest.approx(sides[[2, 3]], rel=5e-4)


class TestPhotograph:
    @settings(max_examples=4)
    @given(st.tuples(st.floats(-16, 16), st.floats(9, 16), st.floats(-4, 4)))
    def test_the_border_comes_out_square_and_in_proportion(self, tilts):
        matrix = camera(*tilts)
        page = page_of(photograph(matrix))
        sheet = straighten(page, restore(page))
        assert sheet.rectified
        assert any("photograph" in warning and "proportion" in warning for warning in sheet.warnings)
        assert sheet.resolution.status is ResolutionStatus.UNKNOWN
        border = apply_homography(matrix, np.array(drawn.BORDER, float))
        found = apply_homography(sheet.level_from_source, border)
        sides = np.roll(found, -1, axis=0) - found
        angles = np.degrees(np.arctan2(sides[:, 1], sides[:, 0]))
        assert angles - [0, 90, 180, -90] == pytest.approx(np.zeros(4), abs=0.03) or angles[2] < -179.9
        lengths = np.linalg.norm(sides, axis=1)
        assert lengths[0] == pytest.approx(lengths[2], rel=5e-4)
        assert abs(np.log(lengths[0] / lengths[1] * 880 / 1280)) < 3 * sheet.proportion.std
        told = calibration_record(sheet)["proportion"]
        assert told["std_percent"] == pytest.approx(100 * sheet.proportion.std, abs=1e-3)

    def test_what_the_map_has_made_level_is_not_drawn_anew(self):
        page = page_of(photograph(camera(12, 10, 2)))
        sheet = straighten(page, restore(page))
        assert sheet.rectified
        assert sheet.skew_deg == 0
        assert np.array_equal(sheet.level_from_working, np.eye(3))
        assert np.array_equal(sheet.grey, sheet.working_grey)

    def test_the_table_leaves_no_ink(self):
        matrix = camera(12, 10, 2)
        restored = restore(page_of(photograph(matrix)))
        inside = np.zeros(PICTURE, np.uint8)
        cv2.fillPoly(inside, [np.round(apply_homography(matrix, corners())).astype(np.int32)], 1)
        assert restored.sheet_quad_px == pytest.approx(apply_homography(matrix, corners()), abs=4.0)
        assert not (restored.ink & (inside == 0)).any()

    def test_lines_alone_show_a_perspective(self):
        """No edge of paper in the picture: the drawn lines have to tell."""
        matrix = camera(9, -7, 0)
        picture = cv2.warpPerspective(drawn.sheet(), matrix, PICTURE[::-1], flags=cv2.INTER_AREA, borderValue=245)
        page = page_of(picture)
        sheet = straighten(page, restore(page))
        assert sheet.rectified
        found = apply_homography(sheet.level_from_source, apply_homography(matrix, np.array(drawn.BORDER, float)))
        top, bottom = found[1] - found[0], found[2] - found[3]
        assert np.degrees(np.arctan2(top[1], top[0])) == pytest.approx(0, abs=0.05)
        assert np.degrees(np.arctan2(bottom[1], bottom[0])) == pytest.approx(0, abs=0.05)

    def test_a_camera_almost_straight_down_is_seen_through(self):
        """Its edges converge by less than edges are trusted with; the lines tell."""
        matrix = camera(0.35, 0.25, 1.0)
        page = page_of(photograph(matrix))
        sheet = straighten(page, restore(page))
        assert sheet.rectified
        found = apply_homography(sheet.level_from_source, apply_homography(matrix, np.array(drawn.BORDER, float)))
        sides = np.linalg.norm(np.roll(found, -1, axis=0) - found, axis=1)
        assert sides[0] == pytest.approx(sides[2], rel=5e-4)
        assert sides[1] == pytest.approx(sides[3], rel=5e-4)

    @pytest.mark.parametrize("skew_deg", [0.0, 3.0])
    def test_a_flat_scan_is_left_alone(self, skew_deg):
        page = page_of(drawn.noisy(drawn.sheet(skew_deg), 1))
        sheet = straighten(page, restore(page))
        assert not sheet.rectified
        assert calibration_record(sheet)["proportion"] is None

    def test_a_flat_scan_on_a_dark_lid_is_left_alone(self):
        framed = cv2.copyMakeBorder(drawn.sheet(), 80, 60, 70, 90, cv2.BORDER_CONSTANT, value=20)
        page = page_of(framed)
        restored = restore(page)
        assert restored.sheet_quad_px is not None
        assert not straighten(page, restored).rectified
        assert not restored.ink[:80].any()
        assert not restored.ink[:, :70].any()
