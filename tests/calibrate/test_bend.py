import json
from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.record import calibration_record
from calibrate.restoring.moving import moved, moved_along
from calibrate.restoring.restore import restore
from calibrate.sheet import apply_homography
from calibrate.straightening.bars import TRACK_POINTS, Bars
from calibrate.straightening.bending import Eye, find_bend
from calibrate.straightening.camera import FOCUS_SPREAD, STATED_FOCUS_SPREAD, eye_over
from calibrate.straightening.flat_map import bend_words
from calibrate.straightening.straighten import straighten
from samples.bends import CURL, FOLD, KINDS, Bend
from samples.bends import Eye as PaperEye
from tests.calibrate import drawn
from tests.calibrate.test_straighten import page_of

PX_PER_MM = 8.0
PAPER = (300.0, 200.0)
SHAPE = (1600, 2400)
PEN_PX = 2.5
EYE = PaperEye(170.0, 90.0, 400.0)


def seen(bend, points_mm):
    """Where a level picture shows points of a bent sheet; samples.bends is the outside witness of the geometry."""
    flat = points_mm if bend is None else bend.seen(points_mm)
    return np.column_stack([flat[:, 0], PAPER[1] - flat[:, 1]]) * PX_PER_MM


def ruled(bend, noise_px=0.05, seed=0):
    """Bars of a border, a table and some dimension lines, each way."""
    rng = np.random.default_rng(seed)
    sides = []
    for turn in (0, 1):
        reach, places = (PAPER[turn] - 20, PAPER[1 - turn] - 20)
        lines = [(10, reach, 10.0), (10, reach, 10.0 + places)]
        lines += [(rng.uniform(20, reach / 2), rng.uniform(30, reach / 2), rng.uniform(20, places)) for _ in range(12)]
        tracks = []
        for first, length, at in lines:
            along = np.linspace(first, first + length, TRACK_POINTS)
            points = np.column_stack([along, np.full(TRACK_POINTS, at)])
            tracks.append(seen(bend, points[:, ::-1] if turn else points) + rng.normal(0, noise_px, (TRACK_POINTS, 2)))
        all_tracks = np.array(tracks)
        std = np.full(len(lines), 0.003), np.full(len(lines), 0.03)
        sides.append(Bars(all_tracks[:, [0, -1]], std[0], all_tracks, std[1]))
    return sides


def bent_by(kind, height_mm, angle_deg):
    direction = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    reach = np.array([[0, 0], [PAPER[0], 0], [0, PAPER[1]], PAPER]) @ direction
    start, breadth = float(reach.min()), float(np.ptp(reach))
    if kind == FOLD:
        start, breadth = start + 0.3 * breadth, 70.0
    return Bend(kind, angle_deg, height_mm, start, breadth, EYE)


def found_from(bars):
    foot = np.array([EYE.x_mm, PAPER[1] - EYE.y_mm]) * PX_PER_MM
    return find_bend(bars[0], bars[1], SHAPE, PEN_PX, Eye(foot, EYE.height_mm * PX_PER_MM, FOCUS_SPREAD))


def lengths(points):
    """Sides across and up of squares of 40 mm all over the sheet, over their means."""
    across, up = (
        np.linalg.norm(points[:, 1] - points[:, 0], axis=1),
        np.linalg.norm(points[:, 3] - points[:, 0], axis=1),
    )
    return np.concatenate([across / across.mean(), up / up.mean()])


def squares():
    corner = np.array([[0, 0], [40, 0], [40, 40], [0, 40]])
    return np.array([np.array([x, y]) + corner for x in (25, 130, 235) for y in (20, 80, 140)], np.float64)


class TestFindBend:
    @settings(max_examples=4)
    @given(st.floats(4, 9), st.floats(-8, 8), st.booleans())
    def test_a_curl_is_taken_out(self, height_mm, lean_deg, upright):
        bend = bent_by(CURL, height_mm, lean_deg + 90 * upright)
        found = found_from(ruled(bend))
        before = seen(bend, squares().reshape(-1, 2))
        after = found.flattened(before)
        assert found.corrected
        assert found.left_px < 0.3
        error_before, error_after = (np.abs(lengths(p.reshape(-1, 4, 2)) - 1).max() for p in (before, after))
        assert error_after < max(0.004, 0.35 * error_before)

    @pytest.mark.parametrize("lens", [0.01, -0.015])
    def test_a_lens_is_no_curl(self, lens):
        """Barrel and pincushion, by the usual cubic law of radial distortion (Brown 1966; from memory)."""
        middle, unit = (np.array(SHAPE[::-1]) - 1) / 2, max(SHAPE) / 2

        def through(points):
            flat = (points - middle) / unit
            found = flat
            for _ in range(30):
                found = flat / (1 + lens * np.square(found).sum(axis=-1, keepdims=True))
            return middle + unit * found

        sides = [Bars(through(s.ends), s.std_deg, through(s.tracks), s.track_std_px) for s in ruled(None)]
        found = found_from(sides)
        seen_px = through(seen(None, squares().reshape(-1, 2)))
        assert np.abs(lengths(seen_px.reshape(-1, 4, 2)) - 1).max() > 0.005
        assert np.abs(lengths(found.flattened(seen_px).reshape(-1, 4, 2)) - 1).max() < 5e-4
        assert found.strain_std() < 5e-4
        assert bend_words(found).startswith("The camera's lens")

    def test_a_fold_is_taken_out(self):
        bend = bent_by(FOLD, 4.0, 3.0)
        found = found_from(ruled(bend))
        assert found.corrected
        border = seen(bend, np.column_stack([np.linspace(10, 290, 200), np.full(200, 190.0)]))
        assert crookedness(found.flattened(border)) < 0.35 * crookedness(border)

    @settings(max_examples=10)
    @given(st.integers(0, 1000), st.floats(0.02, 0.25))
    def test_a_flat_sheet_has_none(self, seed, noise_px):
        assert found_from(ruled(None, noise_px, seed)) is None

    def test_one_crooked_line_is_no_bend(self):
        level, upright = ruled(None)
        level.tracks[0, :, 1] += 5 * np.sin(np.linspace(0, np.pi, TRACK_POINTS))
        assert found_from([level, upright]) is None

    def test_one_long_line_and_pieces_that_arch_a_little_are_a_bend(self):
        """Borders come in pieces: the arch of a piece is that of the whole by the square of its part."""
        bars = ruled(bent_by(CURL, 6.0, 0.0), noise_px=0.02)
        rows = np.arange(bars[0].count)
        cut = [Bars(side.ends[rows], side.std_deg[rows], side.tracks[rows], side.track_std_px[rows]) for side in bars]
        for row in rows[1:]:
            whole = cut[0].tracks[row]
            middle, half = whole[:, 0].mean(), min(np.ptp(whole[:, 0]) / 2, 0.12 * SHAPE[1])
            along = np.linspace(middle - half, middle + half, TRACK_POINTS)
            cut[0].tracks[row] = np.column_stack([along, np.interp(along, whole[:, 0], whole[:, 1])])
        found = found_from(cut)
        assert found is not None
        assert found.corrected

    @pytest.mark.parametrize(
        ("places", "rises_px", "seen_bent"),
        [((12, 13), (3.0, -3.0), True), ((12, 20), (3.0, -3.0), False), ((12, 13), (3.0, 3.0), False)],
    )
    def test_short_kinks_of_two_lines_over_one_crease_are_a_bend_that_is_not_corrected(
        self, places, rises_px, seen_bent
    ):
        """A crease moves lines on both sides of the eye's foot away from it: kinks elsewhere, or one way, are none."""
        level, upright = ruled(None)
        for line, (place, rise_px) in enumerate(zip(places, rises_px, strict=True)):
            level.tracks[line, place - 1 : place + 2, 1] += rise_px * np.array([0.5, 1.0, 0.5])
        found = found_from([level, upright])
        assert (found is not None) is seen_bent
        assert found is None or not found.corrected

    def test_lines_that_run_into_fillets_are_no_bend(self):
        level, upright = ruled(None)
        for line, rise_px in ((3, -2.5), (8, 2.5)):
            level.tracks[line, -2:, 1] += rise_px * np.array([0.3, 1.0])
        assert found_from([level, upright]) is None

    def test_lines_that_bow_each_its_own_way_are_not_understood(self):
        sides = ruled(None)
        rng = np.random.default_rng(3)
        for turn, side in enumerate(sides):
            for track in side.tracks:
                wave = np.sin(rng.uniform(2, 9) * np.linspace(0, np.pi, TRACK_POINTS) + rng.uniform(0, 6))
                track[:, 1 - turn] += 6 * wave
        found = found_from(sides)
        assert found is None or not found.corrected
        assert found is None or found.flattened(np.ones((1, 2))).tolist() == [[1.0, 1.0]]

    def test_bent_undoes_flattened(self):
        found = found_from(ruled(bent_by(CURL, 8.0, 5.0)))
        points = np.random.default_rng(0).uniform(0, SHAPE[0], (40, 2))
        assert found.bent(found.flattened(points)) == pytest.approx(points, abs=1e-6)

    def test_the_stated_error_of_lengths_is_of_the_size_of_the_error(self):
        """The eye is told wrongly by as much as a camera's focal length is unknown: the errors of lengths show it."""
        wrong, stated = [], []
        for seed in range(4):
            bend = bent_by(CURL, 7.0, 90.0 * (seed % 2))
            bars = ruled(bend, seed=seed)
            rng = np.random.default_rng(seed)
            foot = np.array([EYE.x_mm, PAPER[1] - EYE.y_mm]) * PX_PER_MM + rng.normal(0, 60, 2)
            height = EYE.height_mm * PX_PER_MM * float(np.exp(rng.normal(0, 0.3)))
            found = find_bend(bars[0], bars[1], SHAPE, PEN_PX, Eye(foot, height, FOCUS_SPREAD))
            off = lengths(found.flattened(seen(bend, squares().reshape(-1, 2))).reshape(-1, 4, 2)) - 1
            wrong.append(float(np.sqrt(np.square(off).mean())))
            stated.append(found.strain_std())
        assert 0.3 < np.sqrt(np.square(wrong).mean()) / np.sqrt(np.square(stated).mean()) < 1.5

    @pytest.mark.parametrize(("height_mm", "lean_deg"), [(3.0, 0.0), (6.0, 2.0)])
    def test_the_stated_error_of_lengths_covers_a_crease_that_a_smooth_curve_rounds_off(self, height_mm, lean_deg):
        """The slopes of a crease are foreshortened; samples.bends is the outside witness of by how much."""
        bend = replace(bent_by(FOLD, height_mm, lean_deg), width_mm=45.0)
        bars = ruled(bend)
        foot = np.array([EYE.x_mm, PAPER[1] - EYE.y_mm]) * PX_PER_MM
        height = EYE.height_mm * PX_PER_MM * np.exp(-FOCUS_SPREAD)
        found = find_bend(bars[0], bars[1], SHAPE, PEN_PX, Eye(foot, height, FOCUS_SPREAD))
        corner = np.array([[0, 0], [15, 0], [15, 15], [0, 15]])
        tiles = np.array([np.array([x, y]) + corner for x in range(15, 270, 15) for y in (20, 80, 140)], np.float64)
        off = lengths(found.flattened(seen(bend, tiles.reshape(-1, 2))).reshape(-1, 4, 2)) - 1
        assert np.sqrt(np.square(off).mean()) < 1.2 * found.strain_std()

    def test_a_fold_along_a_broad_sheet_is_as_sure_as_one_across_it(self):
        """What the lift does above and below the sheet, where no line told it, says nothing of lengths."""
        for angle_deg in (0.0, 90.0):
            found = found_from(ruled(replace(bent_by(FOLD, 4.0, angle_deg), start_mm=80.0)))
            assert found.corrected
            assert found.strain_std() < 0.006

    def test_a_stated_focal_length_makes_lengths_surer(self):
        """A picture that says how far its camera stood: the height of the curl, and so its lengths, follow from it."""
        bend = bent_by(CURL, 7.0, 0.0)
        bars = ruled(bend)
        foot = np.array([EYE.x_mm, PAPER[1] - EYE.y_mm]) * PX_PER_MM
        wrong, stated = {}, {}
        for std in (FOCUS_SPREAD, STATED_FOCUS_SPREAD):
            # What is usual is off by as much as it may be; what is stated is right.
            height = EYE.height_mm * PX_PER_MM * (np.exp(std) if std == FOCUS_SPREAD else 1.0)
            found = find_bend(bars[0], bars[1], SHAPE, PEN_PX, Eye(foot, height, std))
            off = lengths(found.flattened(seen(bend, squares().reshape(-1, 2))).reshape(-1, 4, 2)) - 1
            wrong[std], stated[std] = float(np.sqrt(np.square(off).mean())), found.strain_std()
        assert stated[STATED_FOCUS_SPREAD] < 0.7 * stated[FOCUS_SPREAD]
        assert wrong[STATED_FOCUS_SPREAD] < 0.7 * wrong[FOCUS_SPREAD]

    def test_the_eye_stands_as_high_as_the_stated_focal_length_says(self):
        """A sheet seen square on, 2 source px to the mm, from a camera of focus 1.2: 1.2 longer sides over it."""
        foot, height, std = eye_over(np.diag([1.0, 1.0, 1.0]), (1000, 1500), 1.2)
        assert foot == pytest.approx([749.5, 499.5], abs=1.0)
        assert height == pytest.approx(1800, rel=1e-3)
        assert std == STATED_FOCUS_SPREAD


def crookedness(points):
    centred = points - points.mean(axis=0)
    return float(np.abs(centred @ np.linalg.svd(centred, full_matrices=False)[2][1]).max())


def curled_grid():
    """Where each pixel of a curled sheet comes from on the flat one, shape (H, W, 2)."""
    rows, columns = np.mgrid[0 : drawn.HEIGHT, 0 : drawn.WIDTH].astype(np.float32)
    lift = 0.02 * np.sin(np.pi * columns / drawn.WIDTH)
    x, y = drawn.WIDTH / 2, drawn.HEIGHT / 2
    return np.stack([x + (columns - x) * (1 - lift), y + (rows - y) * (1 - lift)], axis=-1).astype(np.float32)


def curled_sheet():
    grid = curled_grid()
    return cv2.remap(drawn.sheet(), grid[..., 0], grid[..., 1], cv2.INTER_AREA, borderValue=245)


class TestSheet:
    def test_a_curled_sheet_says_so_and_keeps_a_map(self):
        grid = curled_grid()
        page = page_of(drawn.noisy(curled_sheet(), 0, 3.0))
        sheet = straighten(page, restore(page))
        assert sheet.bend is not None
        assert sheet.bend.corrected
        assert any("does not lie flat" in warning for warning in sheet.warnings)
        record = json.loads(json.dumps(calibration_record(sheet)))["bend"]
        assert np.abs(record["dy_px"]).max() > 5
        assert np.array(record["std_px"]).shape == np.array(record["dx_px"]).shape
        top = np.column_stack([np.linspace(60, 1340, 12), np.full(12, 60.0)])
        there = np.array([nearest(grid, point) for point in top])
        assert crookedness(there) > 4
        assert crookedness(sheet.flat_points(there)) < 1.0
        assert sheet.source_points(sheet.flat_points(there)) == pytest.approx(there, abs=1e-4)

    def test_the_pictures_of_a_curled_sheet_show_it_flat(self):
        """Its upper border, ruled straight and seen 8 px from straight, is straight on what is traced and read."""
        sheet = straighten(page := page_of(drawn.noisy(curled_sheet(), 0, 3.0)), restore(page))
        assert sheet.working_grey is sheet.grey
        columns = np.arange(100, 1300, 10)
        rows = 40 + sheet.grey[40:90, columns].argmin(axis=0)
        assert np.abs(rows - np.polyval(np.polyfit(columns, rows, 1), columns)).max() <= 1.0
        border = np.column_stack([np.linspace(100, 1300, 9), np.full(9, 60.0)])
        x, y = np.rint(sheet.flat_points(np.array([nearest(curled_grid(), point) for point in border]))).astype(int).T
        assert (sheet.grey[y, x] < 60).all()

    def test_pictures_are_moved_along_curves_as_along_straight_lines(self):
        page = page_of(drawn.noisy(drawn.sheet(), 0, 3.0))
        restored = restore(page)
        new_from_old = np.array([[0.999, 0.02, 3.3], [-0.02, 0.999, 30.7], [0.0, 0.0, 1.0]])
        old_from_new = np.linalg.inv(new_from_old)
        size = (drawn.HEIGHT + 41, drawn.WIDTH + 37)
        straight = moved(restored.grey, restored.ink, new_from_old, size, restored.pen_px)
        curved = moved_along(
            restored.grey, restored.ink, lambda at: apply_homography(old_from_new, at), size, restored.pen_px
        )
        assert np.abs(straight[0].astype(int) - curved[0]).max() <= 12
        assert np.mean(straight[1] != curved[1]) < 1e-4

    def test_a_flat_sheet_has_no_bend(self):
        page = page_of(drawn.noisy(drawn.sheet(1.0), 0))
        sheet = straighten(page, restore(page))
        assert sheet.bend is None
        assert calibration_record(sheet)["bend"] is None


def nearest(grid, point):
    """The pixel of the curled picture that shows a point of the flat one, to a fraction of a pixel."""
    y, x = np.unravel_index(np.argmin(np.square(grid - point).sum(axis=-1)), grid.shape[:2])
    return np.array([x, y], np.float64) + point - grid[y, x]


@pytest.mark.parametrize("kind", KINDS)
def test_paper_is_bent_and_never_stretched(kind):
    """Distances along the sheet stay: from far off, only slopes are foreshortened, by 1 - sqrt(1 - slope^2) each."""
    bend = Bend(kind, 0.0, 5.0, 40.0, 100.0, PaperEye(0.0, 0.0, 1e9))
    across = np.linspace(40, 140, 5001)
    places = bend.seen(np.column_stack([across, np.zeros(5001)]))[:, 0]
    share = (across - 40) / 100
    height = 5 * (np.sin(np.pi * share) if kind == CURL else 1 - np.abs(2 * share - 1))
    along = np.hypot(np.diff(places), np.diff(height)).sum()
    assert along == pytest.approx(100.0, rel=1e-5)
