from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.transform import radon

from calibrate.files.resolution import stated
from calibrate.restoring.restore import restore
from calibrate.sheet import PageImage, Polarity, ResolutionStatus, apply_homography
from calibrate.straightening.bar_finding import sheared
from calibrate.straightening.bars import Bars
from calibrate.straightening.skew import Ruled, combined_skew, find_ruled
from calibrate.straightening.straighten import straighten
from calibrate.transforms import levelling, quarter_turn
from tests.calibrate import drawn


def page_of(pixels, resolution=None):
    return PageImage(pixels, Path("sheet.png"), "", 1, 1, resolution or stated(drawn.DPI, drawn.DPI, "test"))


def level(pixels):
    page = page_of(pixels)
    return straighten(page, restore(page))


@pytest.mark.parametrize("slope", [-0.07, -0.0003, 0.0, 0.012, 0.14])
def test_columns_slide_as_opencv_shears(slope):
    """Outside witness: OpenCV's warpAffine, but for columns that slide by half a pixel, which it rounds coarser."""
    image = np.random.default_rng(7).integers(0, 2, (150, 260), np.uint8)
    level = sheared(image, slope)
    matrix = np.array([[1.0, 0, 0], [slope, 1, max(0.0, -slope * 259)]])
    warped = cv2.warpAffine(image, matrix, level.shape[::-1], flags=cv2.INTER_NEAREST)
    half = np.abs((slope * np.arange(260) + matrix[1, 2]) % 1 - 0.5) < 0.03
    assert np.array_equal(level[:, ~half], warped[:, ~half])
    assert level.sum() == image.sum()


class TestSkew:
    @pytest.mark.parametrize("skew_deg", [-4.1, -0.62, 0.0, 0.03, 1.37, 5.5])
    def test_drawn_skew_is_found(self, skew_deg):
        restored = restore(page_of(drawn.noisy(drawn.sheet(skew_deg), seed=3)))
        found = combined_skew(find_ruled(restored.grey, restored.ink, restored.pen_px))
        assert found.skew_deg == pytest.approx(skew_deg, abs=0.003)
        assert found.std_deg < 0.003

    def test_agrees_with_a_radon_transform(self):
        """Outside witness: scikit-image's Radon transform, sharpest where it looks along the ruled lines."""
        picture = drawn.sheet(1.37, words=False)
        small = 255.0 - cv2.resize(picture, None, fx=0.35, fy=0.35, interpolation=cv2.INTER_AREA)
        square = np.zeros((490, 490))
        square[70:420] = small
        y, x = np.mgrid[0:490, 0:490] - 245
        square[np.hypot(x, y) > 244] = 0.0
        angles = np.arange(0.9, 1.9, 0.1)
        sharpness = np.square(radon(square, theta=angles + 90.0, circle=True)).sum(axis=0)
        restored = restore(page_of(picture))
        found = combined_skew(find_ruled(restored.grey, restored.ink, restored.pen_px)).skew_deg
        assert found == pytest.approx(angles[np.argmax(sharpness)], abs=0.11)

    def test_an_unequal_ground_does_not_pull_the_lines(self):
        picture = drawn.sheet(0.4)
        shade = np.zeros(picture.shape)
        rows, columns = np.mgrid[0 : drawn.HEIGHT, 0 : drawn.WIDTH]
        shade[rows < 60 + (columns - 700) * 0.02] = 25  # a shadow that ends along the border, at another angle
        restored = restore(page_of(np.clip(picture - shade, 0, 255).astype(np.uint8)))
        assert combined_skew(find_ruled(restored.grey, restored.ink, restored.pen_px)).skew_deg == pytest.approx(
            0.4, abs=0.004
        )

    def test_slanting_lines_have_no_vote(self):
        picture = drawn.sheet(0.0, words=False)
        for k in range(6):
            cv2.line(picture, (300, 280 + 40 * k), (780, 300 + 40 * k), 30, 2, cv2.LINE_AA)
        restored = restore(page_of(picture))
        assert combined_skew(find_ruled(restored.grey, restored.ink, restored.pen_px)).skew_deg == pytest.approx(
            0.0, abs=0.005
        )


class TestAgreement:
    """Lines ruled by hand: an independent simulation of pens that stray sideways at either end."""

    def skews(self, straying_px, count, rounds=200):
        rng = np.random.default_rng(5)
        for _ in range(rounds):
            true = rng.uniform(-1, 1)
            length = np.exp(rng.uniform(np.log(300), np.log(2000), count))
            angle = true + np.degrees(rng.normal(0, straying_px * np.sqrt(2) + 0.03, count) / length)
            slanting = rng.random(count) < 0.15
            angle[slanting] = true + rng.uniform(-1.5, 1.5, slanting.sum())
            ends = np.zeros((count, 2, 2))
            ends[:, 1] = length[:, None] * np.column_stack([np.cos(np.radians(angle)), -np.sin(np.radians(angle))])
            half = count // 2
            std = np.full(count, 0.002)
            ruled = Ruled(0.0, Bars(ends[:half], std[:half]), Bars(ends[half:], std[half:]), pen_px=3.5)
            found = combined_skew(ruled)
            yield found.skew_deg - true, found.std_deg

    @pytest.mark.parametrize(("straying_px", "most_deg"), [(0.0, 0.001), (0.6, 0.012), (1.8, 0.03), (3.5, 0.06)])
    def test_the_mean_turn_is_found_and_its_error_known(self, straying_px, most_deg):
        error, std = np.abs(np.array(list(self.skews(straying_px, 40)))).T
        assert error.mean() < most_deg
        assert np.mean(error < 1.96 * std) > 0.8
        assert np.mean(error < 4 * std) > 0.97


class TestTurns:
    @pytest.mark.parametrize("quarters", [0, 1, 2, 3])
    @pytest.mark.parametrize("skew_deg", [-1.1, 2.3])
    def test_a_turned_sheet_comes_upright(self, quarters, skew_deg):
        sheet = level(np.ascontiguousarray(np.rot90(drawn.sheet(skew_deg), quarters)))
        assert sheet.orientation_deg == (-90 * quarters) % 360
        assert not [w for w in sheet.warnings if "way up" in w]

    def test_a_sheet_without_words_is_turned_by_its_title_block_and_told(self):
        sheet = level(np.ascontiguousarray(np.rot90(drawn.sheet(words=False), 2)))
        assert any("way up" in warning for warning in sheet.warnings)


class TestFrames:
    @pytest.mark.parametrize("quarters", [0, 1, 2, 3])
    def test_level_from_source_carries_the_corners_of_the_border(self, quarters):
        """Corners of the border, known on the drawn sheet, must lie square and at the same place for every turn."""
        skew_deg = 1.7
        source = np.ascontiguousarray(np.rot90(drawn.sheet(skew_deg), quarters))
        sheet = level(source)
        corners = apply_homography(drawn.turning(skew_deg), np.array(drawn.BORDER, float))
        in_source = apply_homography(quarter_turn(drawn.HEIGHT, drawn.WIDTH, quarters), corners)
        found = apply_homography(sheet.level_from_source, in_source)
        sides = np.roll(found, -1, axis=0) - found
        assert sides == pytest.approx(np.array([[1280, 0], [0, 880], [-1280, 0], [0, -880]]), abs=0.15)
        x, y = np.round(found.mean(axis=0) - [640, 0]).astype(int)
        assert sheet.ink[y - 5 : y + 5, x - 3 : x + 4].any(axis=1).all()
        assert not sheet.ink[y - 5 : y + 5, x + 6 : x + 30].any()

    @given(st.integers(2, 9), st.integers(2, 9), st.integers(-4, 7))
    def test_quarter_turn_is_numpys(self, height, width, quarters):
        image = np.arange(height * width).reshape(height, width)
        turned = np.rot90(image, quarters)
        y, x = np.mgrid[0:height, 0:width]
        moved = apply_homography(quarter_turn(height, width, quarters), np.column_stack([x.ravel(), y.ravel()]))
        columns, rows = np.round(moved).astype(int).T
        assert np.array_equal(turned[rows, columns], image.ravel())

    @given(st.integers(2, 4000), st.integers(2, 4000), st.floats(-10, 10))
    def test_levelling_turns_clockwise_and_keeps_everything_inside(self, height, width, skew_deg):
        matrix, (new_height, new_width) = levelling(height, width, skew_deg)
        corners = np.array([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]], float)
        moved = apply_homography(matrix, corners)
        assert moved.min() > -1e-6
        assert (moved.max(axis=0) < [new_width, new_height]).all()
        t = np.radians(skew_deg)
        along = apply_homography(matrix, np.array([[0.0, 0], [np.cos(t), -np.sin(t)]]))
        assert along[1] - along[0] == pytest.approx([1, 0], abs=1e-9)

    def test_resolution_goes_with_the_turn(self):
        page = page_of(np.ascontiguousarray(np.rot90(drawn.sheet(), 1)), resolution=stated(200, 150, "test"))
        resolution = straighten(page, restore(page)).resolution
        assert (resolution.x_dpi, resolution.y_dpi) == (150, 200)


@pytest.fixture(scope="module")
def truth():
    return drawn.sheet() < 138


class TestRestore:
    def agreement(self, ink, truth):
        return np.count_nonzero(ink & truth) / np.count_nonzero(ink | truth)

    def test_blueprint(self, truth):
        restored = restore(page_of(drawn.blueprint(drawn.sheet())))
        assert restored.polarity is Polarity.LIGHT_ON_DARK
        assert self.agreement(restored.ink, truth) > 0.93

    def test_sepia_under_uneven_light(self, truth):
        rows, columns = np.mgrid[0 : drawn.HEIGHT, 0 : drawn.WIDTH]
        light = 0.55 + 0.45 * np.cos(columns / 1400) * np.cos(rows / 1000 - 0.8)
        sepia = drawn.noisy(drawn.sheet(), 2)[..., None] * np.array([0.93, 0.82, 0.66]) * light[..., None]
        restored = restore(page_of(sepia.astype(np.uint8)))
        assert restored.polarity is Polarity.DARK_ON_LIGHT
        assert self.agreement(restored.ink, truth) > 0.93
        paper = restored.grey[~cv2.dilate(truth.view(np.uint8), np.ones((9, 9))).astype(bool)]
        assert np.percentile(paper, 2) > 215

    def test_faint_pencil_and_specks(self, truth):
        faint = 200 + (drawn.sheet().astype(float) - 245) * 0.22
        picture = drawn.noisy(faint.round().astype(np.uint8), 4, sigma=2.0)
        rng = np.random.default_rng(1)
        picture[rng.integers(0, 1000, 300), rng.integers(0, 1400, 300)] = 90
        ink = restore(page_of(picture)).ink
        assert self.agreement(ink, truth) > 0.85
        near = cv2.dilate(truth.view(np.uint8), np.ones((5, 5))).astype(bool)
        assert np.count_nonzero(ink & ~near) < 60

    def test_a_decimal_point_is_no_speck(self):
        picture = drawn.sheet()
        cv2.circle(picture, (1000, 500), 2, 30, -1, cv2.LINE_AA)
        assert restore(page_of(picture)).ink[498:503, 998:1003].any()

    def test_punched_holes_are_no_ink_and_a_solid_bore_is(self):
        picture = drawn.sheet()
        cv2.circle(picture, (30, 400), 24, 30, -1, cv2.LINE_AA)  # 6 mm at 200 dpi, beside the border
        cv2.circle(picture, (700, 350), 24, 30, -1, cv2.LINE_AA)
        ink = restore(page_of(picture)).ink
        assert not ink[370:430, :55].any()
        assert ink[350, 700]

    @pytest.mark.parametrize("lid", [5, 250])
    def test_holes_punched_in_a_blueprint_take_no_ink(self, lid, truth):
        picture = drawn.blueprint(drawn.sheet())
        for x in (300, 700, 1100):
            cv2.circle(picture, (x, 30), 24, (lid, lid, lid), -1, cv2.LINE_AA)
        ink = restore(page_of(picture)).ink
        assert self.agreement(ink, truth) > 0.93
        assert not ink[:56].any()

    def test_a_line_past_a_hole_stays(self):
        picture = drawn.sheet()
        cv2.circle(picture, (28, 400), 24, 30, -1, cv2.LINE_AA)  # less than a millimetre beside the border
        ink = restore(page_of(picture)).ink
        assert not ink[370:430, :52].any()
        assert ink[360:384, 60].all()
        assert ink[416:440, 60].all()

    @pytest.mark.parametrize("turn_deg", [3, 84])
    def test_tape_leaves_no_ink_and_takes_none(self, turn_deg, truth):
        """A strip 16 mm broad that takes a fifth of the light, its edges as much again and dirty."""
        strip, edge = np.zeros(truth.shape, np.float32), np.zeros(truth.shape, np.uint8)
        corners = cv2.boxPoints(((600, 480), (560, 126), turn_deg)).astype(np.int32)
        cv2.fillPoly(strip, [corners], 1.0)
        cv2.polylines(edge, [corners], True, 255, 3, cv2.LINE_AA)
        light = (1 - 0.2 * strip) * (1 - 0.4 * cv2.GaussianBlur(edge, (0, 0), 1.2) / 255)
        ink = restore(page_of(drawn.noisy((drawn.sheet() * light).astype(np.uint8), 3, 3.0))).ink
        assert not (ink & ~cv2.dilate(truth.view(np.uint8), np.ones((5, 5))).astype(bool)).any()
        assert self.agreement(ink, truth) > 0.93
        where = cv2.erode(truth.view(np.uint8), np.ones((2, 2))).astype(bool)
        assert cv2.dilate(ink.view(np.uint8), np.ones((3, 3)))[where].all()

    def test_a_file_of_one_bit_cannot_tell_dirt_from_ink(self):
        page = page_of(np.where(drawn.sheet() < 138, 0, 255).astype(np.uint8))
        assert any("one bit" in warning for warning in straighten(page, restore(page)).warnings)
        grey = page_of(drawn.sheet())
        assert not any("one bit" in warning for warning in straighten(grey, restore(grey)).warnings)

    def test_pen_is_the_fine_line(self):
        assert restore(page_of(drawn.sheet(0.3, words=False))).pen_px == pytest.approx(drawn.FINE_PX, abs=0.25)

    def test_specks_along_a_dark_edge_are_no_pen(self):
        sheet = drawn.sheet(0.3)
        band = sheet[:, -60:-8]
        band[np.random.default_rng(1).random(band.shape) < 0.25] = 0
        assert restore(page_of(sheet)).pen_px == pytest.approx(drawn.FINE_PX, abs=0.25)


class TestResolution:
    @pytest.mark.parametrize("dpi", [1, 72, 96, 10_000, 600, 40])
    def test_an_absurd_or_contradicted_figure_is_not_believed(self, dpi):
        page = page_of(drawn.sheet(), resolution=stated(dpi, dpi, "test"))
        sheet = straighten(page, restore(page))
        assert sheet.resolution.status is ResolutionStatus.UNKNOWN
        assert sheet.resolution.x_dpi is None
        assert "not believed" in sheet.resolution.note
        # The working figure comes from the pen alone: 0.3 mm for a line of 2.4 px.
        assert sheet.paper_mm_per_px == pytest.approx(0.3 / drawn.FINE_PX, rel=0.15)

    def test_a_plausible_figure_stands(self):
        sheet = level(drawn.sheet())
        assert sheet.resolution.status is ResolutionStatus.STATED
        assert sheet.paper_mm_per_px == pytest.approx(25.4 / drawn.DPI)


@settings(max_examples=5)
@given(st.floats(-5, 5))
def test_what_is_level_has_no_skew(skew_deg):
    sheet = level(drawn.sheet(skew_deg, words=False))
    again = combined_skew(find_ruled(sheet.grey, sheet.ink, sheet.pen_px))
    assert again.skew_deg == pytest.approx(0.0, abs=0.004)
