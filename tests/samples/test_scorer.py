"""The scorer against results whose score is known: perfect ones, and ones with a known fault."""

import json
import shutil
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from samples.aging import EXPOSE
from samples.compose import finished, streams
from samples.truth import truth_record
from tests.bench.bounds import resampled_upper_bound, upper_bound
from tests.bench.dimension_score import score_dimensions
from tests.bench.gear_score import score_gear
from tests.bench.lettering_score import score_lettering
from tests.bench.oracle import write_perfect
from tests.bench.records import Case, FloatArray, load_cases, project
from tests.bench.score import (
    calibration_scores,
    dimension_scores,
    gear_scores,
    lettering_scores,
    report,
    score,
    stroke_scores,
)
from tests.bench.sheet_score import score_calibration
from tests.bench.stroke_score import compare, figure_breaks, score_strokes

Record = dict[str, Any]
SHEETS = (("clean", 3, "gear"), ("aged", 4, "shaft"), ("harsh", 5, "flange"), ("clean", 6, "bracket"))


@pytest.fixture(scope="module")
def perfect(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with truth and perfect results of four sheets."""
    root = tmp_path_factory.mktemp("oracle")
    (root / "truth").mkdir()
    for level, seed, family in SHEETS:
        drawing = finished(level, seed, family, "none")
        exposure = EXPOSE[level](drawing, streams(level, seed).exposure).exposure
        name = f"{level}-{seed:05d}"
        truth = truth_record(drawing, exposure, name=name, seed=seed, level=level, image="")
        (root / "truth" / f"{name}.truth.json").write_text(json.dumps(truth), encoding="utf-8")
        write_perfect(json.loads(json.dumps(truth)), root / "results" / name)
    return root


@pytest.fixture
def folder(perfect: Path, tmp_path: Path) -> Path:
    """A copy of it, to spoil."""
    shutil.copytree(perfect, tmp_path / "copy")
    return tmp_path / "copy"


def _cases(folder: Path) -> list[Case]:
    return load_cases(folder / "results", folder / "truth")


def _dimensions(folder: Path) -> Record:
    return dimension_scores([score_dimensions(case) for case in _cases(folder)])


def _strokes(folder: Path) -> Record:
    return stroke_scores([score_strokes(case, compare(case)) for case in _cases(folder) if case.name == "clean-00006"])


def _edit(path: Path, change: Any) -> None:
    data = json.loads(path.read_text(encoding="utf-8"))
    change(data)
    path.write_text(json.dumps(data), encoding="utf-8")


def test_perfect_results_score_one(folder: Path) -> None:
    scores = score(_cases(folder))
    dimensions, strokes, calibration = scores["dimensions"], scores["strokes"], scores["calibration"]
    assert scores["failed"] == []
    assert (dimensions["recall"], dimensions["precision"], dimensions["agreed_share"]) == (1, 1, 1)
    assert dimensions["silent_wrong"]["count"] == 0
    assert dimensions["false_dispute"] == 0
    assert strokes["recall"] > 0.9999
    assert strokes["precision"] > 0.9999
    assert strokes["rms_px"] < 0.01
    assert strokes["fragmentation"] == 1
    assert strokes["role_accuracy"] > 0.9999
    assert calibration["skew_deg"]["worst"] == 0
    assert calibration["scale"]["worst"] < 1e-6
    assert calibration["scale_coverage"] == 1
    assert scores["gear"]["false_claims"] == 0
    assert "silent_wrong" in report(scores)


def test_a_wrong_value_that_is_believed_is_counted(folder: Path) -> None:
    path = folder / "results" / "aged-00004" / "dimensions.json"

    def change(data: Record) -> None:
        row = next(r for r in data["dimensions"] if r["kind"] == "linear")
        row["value"] *= 1.25

    _edit(path, change)
    dimensions = _dimensions(folder)
    assert dimensions["silent_wrong"]["count"] == 1
    assert dimensions["recall"] < 1
    assert dimensions["silent_wrong"]["which"][0].startswith("aged-00004")


@pytest.mark.parametrize(("lower", "wrong"), [(None, 1), (-0.004, 1), (-0.001, 0)])
def test_a_limit_that_is_believed_with_another_than_its_own_is_counted(
    folder: Path, lower: float | None, wrong: int
) -> None:
    """The larger limit is right, the smaller lost or misread: whoever turns the shaft turns it wrong."""
    limit = {"value": 1.749, "upper": 0.0, "lower": -0.001, "style": "limits", "place": 0.001, "unit": "in"}

    def change(data: Record, row: Record) -> None:
        chosen = next(r for r in data["dimensions"] if r["kind"] == "linear")
        chosen.update({key: value for key, value in row.items() if key in chosen})

    _edit(folder / "truth" / "aged-00004.truth.json", lambda data: change(data, limit))
    _edit(folder / "results" / "aged-00004" / "dimensions.json", lambda data: change(data, {**limit, "lower": lower}))
    assert _dimensions(folder)["silent_wrong"]["count"] == wrong


def test_a_wrong_value_that_is_doubted_is_no_silent_wrong(folder: Path) -> None:

    def change(data: Record) -> None:
        row = next(r for r in data["dimensions"] if r["kind"] == "linear")
        row["value"], row["status"] = row["value"] * 1.25, "disputed"

    _edit(folder / "results" / "aged-00004" / "dimensions.json", change)
    dimensions = _dimensions(folder)
    assert dimensions["silent_wrong"]["count"] == 0
    assert dimensions["false_dispute"] > 0
    assert dimensions["precision"] < 1


def test_a_missing_row_costs_recall_only(folder: Path) -> None:
    _edit(folder / "results" / "clean-00006" / "dimensions.json", lambda data: data["dimensions"].pop(0))
    dimensions = _dimensions(folder)
    assert dimensions["recall"] < 1
    assert dimensions["precision"] == 1


def test_a_box_elsewhere_is_not_found(folder: Path) -> None:

    def change(data: Record) -> None:
        row = data["dimensions"][0]
        row["quad_px"] = [[x + 2000, y + 2000] for x, y in row["quad_px"]]

    _edit(folder / "results" / "clean-00006" / "dimensions.json", change)
    dimensions = _dimensions(folder)
    assert dimensions["recall"] < 1
    assert dimensions["silent_wrong"]["count"] == 1


def test_a_neighbouring_fraction_is_not_half_a_place_away(folder: Path) -> None:
    """1 5/8 for 1 1/2 lies within half of 1/2, and is wrong all the same."""
    rows = json.loads((folder / "truth" / "harsh-00005.truth.json").read_text())["dimensions"]
    unit = rows[0]["unit"]

    def change(data: Record) -> None:
        row = next(r for r in data["dimensions"] if r["kind"] == "linear")
        row["value"] += 0.125 if unit == "in" else 0.4

    _edit(folder / "results" / "harsh-00005" / "dimensions.json", change)
    assert _dimensions(folder)["silent_wrong"]["count"] == 1


def test_a_scale_off_by_half_a_per_cent_shows(folder: Path) -> None:

    def change(data: Record) -> None:
        matrix = np.diag([1.005, 1.005, 1.0]) @ np.array(data["pixel_to_mm"])
        data["pixel_to_mm"] = matrix.tolist()

    _edit(folder / "results" / "clean-00003" / "sheet.json", change)
    calibration = calibration_scores([score_calibration(case) for case in _cases(folder)])
    assert calibration["scale"]["worst"] == pytest.approx(0.005, abs=1e-6)
    assert calibration["scale_coverage"] == pytest.approx(1 - 2 / 8)


def test_a_shifted_trace_is_not_covered(folder: Path) -> None:

    def change(data: Record) -> None:
        matrix = np.array(data["pixel_to_mm"])
        matrix[0, 2] += 0.5 * matrix[2, 2]
        data["pixel_to_mm"] = matrix.tolist()

    before = _strokes(folder)
    _edit(folder / "results" / "clean-00006" / "sheet.json", change)
    after = _strokes(folder)
    assert after["recall"] < before["recall"] - 0.05
    assert after["precision"] < before["precision"] - 0.05


def test_a_sheet_without_result_has_failed_and_costs_recall(folder: Path) -> None:
    (folder / "results" / "clean-00003" / "dimensions.json").unlink()
    assert [case.name for case in _cases(folder) if case.failed] == ["clean-00003"]
    assert _dimensions(folder)["recall"] < 1


def test_a_wrong_gear_that_is_believed_is_a_false_claim(folder: Path) -> None:

    def change(data: Record) -> None:
        data["gear"]["teeth"] += 1
        data["gear"]["status"] = "agreed"

    _edit(folder / "results" / "clean-00003" / "dimensions.json", change)
    assert gear_scores([score_gear(case) for case in _cases(folder)])["false_claims"] == 1


def test_a_gear_is_judged_by_its_tooth_and_every_name_it_lists(folder: Path) -> None:
    """4 P of the 20 deg stub system and 4/5 P are one tooth (derived from the heights of the table)."""
    record = {"teeth": 24, "system": "asa_20_stub", "module_mm": 6.35, "pressure_angle_deg": 20.0, "decidable": True}
    claim = {**record, "status": "agreed", "alternatives": []}

    def scored(**more: object) -> Record:
        case = Case("one", {"gear": record}, {"gear": {**claim, **more}}, {}, folder)
        return gear_scores([score_gear(case)])

    both = scored(system=None, names=["stub_two_number", "asa_20_stub"])
    assert (both["exact"], both["false_claims"], both["other_name"]) == (1, 0, 1)
    assert scored(names=["stub_two_number"])["false_claims"] == 1
    assert scored(names=["asa_20_stub", "asa_145_full"])["false_claims"] == 1
    assert scored(names=["asa_20_stub", "agma_20_coarse"])["false_claims"] == 1
    # At 6 P the two are two teeth: 6/8 P has an addendum of 1/8 in, the stub 0.8/6.
    six = {"module_mm": 25.4 / 6, "names": ["stub_two_number", "asa_20_stub"]}
    record["module_mm"] = 25.4 / 6
    assert scored(**six)["false_claims"] == 1


def test_a_gear_that_the_sheet_can_not_decide_is_to_be_listed_and_not_agreed(folder: Path) -> None:
    record = {"teeth": 42, "system": "asa_145_full", "module_mm": 3.175, "pressure_angle_deg": 14.5, "decidable": False}
    blank = {"teeth": 42, "system": None, "module_mm": None, "pressure_angle_deg": None, "names": []}
    listed = [{"teeth": 42, "system": "asa_145_full", "module_mm": 3.175}]

    def scored(status: str, alternatives: list[Record]) -> Record:
        table = {"gear": {**blank, "status": status, "alternatives": alternatives}}
        return gear_scores([score_gear(Case("one", {"gear": record}, table, {}, folder))])

    assert scored("unproven", listed)["undecided_listed"] == 1
    assert scored("unproven", [])["undecided_listed"] == 0
    assert scored("agreed", listed)["undecided_listed"] == 0


def test_upper_bound_is_that_of_clopper_and_pearson() -> None:
    """The rule of three: 0 of n leaves a rate of up to about 3/n at 95 % (Hanley and Lippman-Hand 1983)."""
    assert upper_bound(0, 1000) == pytest.approx(3 / 1000, rel=0.01)
    assert upper_bound(0, 0) == 1
    assert upper_bound(5, 5) == 1


def test_wrong_values_on_one_sheet_prove_less_than_scattered_ones() -> None:
    together = resampled_upper_bound([8] + [0] * 19, [20] * 20)
    scattered = resampled_upper_bound([1] * 8 + [0] * 12, [20] * 20)
    assert together > scattered


def test_a_dimension_line_may_run_through_its_figure(folder: Path) -> None:
    """A trace that bridges the figure's break in the halves of a dimension line loses nothing by it."""
    case = next(case for case in _cases(folder) if case.name == "clean-00006")
    breaks = figure_breaks(case.truth)
    assert breaks
    before, path = _strokes(folder), case.folder / "trace.dxf"
    _add_lines(path, [points for points, _ in breaks], case)
    after = _strokes(folder)
    assert after["precision"] == pytest.approx(before["precision"], abs=1e-9)
    assert after["role_accuracy"] > 0.9999
    _add_lines(path, [points + 3.0 for points, _ in breaks], case)
    assert _strokes(folder)["precision"] < before["precision"]


def _add_lines(path: Path, paper: list[FloatArray], case: Case) -> None:
    """Add lines given in mm of paper to a trace, on the layer of dimensions."""
    drawing = ezdxf.readfile(path)  # type: ignore[attr-defined]
    assert case.part_from_source is not None
    for points in paper:
        start, end = project(case.part_from_source @ case.source_from_paper, points).tolist()
        drawing.modelspace().add_line(start, end, dxfattribs={"layer": "DIMENSION"})
    drawing.save()


def test_arrowheads_are_no_strokes(folder: Path) -> None:
    case = next(case for case in _cases(folder) if case.name == "clean-00006")
    drawing = ezdxf.readfile(case.folder / "trace.dxf")  # type: ignore[attr-defined]
    drawing.modelspace().add_lwpolyline([(500, 500), (510, 505), (500, 510)], dxfattribs={"layer": "DIMENSION"})
    drawing.save()
    assert _strokes(folder)["precision"] > 0.9999


def _lettering(folder: Path) -> Record:
    return lettering_scores([score_lettering(case, compare(case)) for case in _cases(folder)])


def test_strokes_that_letters_became_and_strokes_that_letters_swallowed_are_measured(folder: Path) -> None:
    before = _lettering(folder)
    assert before["stray_mm_per_text"] == 0.0
    case = next(case for case in _cases(folder) if case.name == "clean-00006")
    quad = project(np.linalg.inv(case.source_from_paper), case.truth["texts"][0]["quad_px"])
    across = np.array([0.5 * (quad[0] + quad[3]), 0.5 * (quad[1] + quad[2])]) + 0.2 * (quad[3] - quad[0])
    _add_lines(case.folder / "trace.dxf", [across], case)
    length = float(np.hypot(*(across[1] - across[0])))
    assert _lettering(folder)["stray_mm_per_text"] == pytest.approx(length / before["texts"], rel=0.05)
    _edit(folder / "truth" / "clean-00006.truth.json", lambda truth: truth["strokes"].append(_line(across)))
    traced = _lettering(folder)
    assert (traced["stray_mm_per_text"], traced["lost"], traced["crossed_kept"]) == (0.0, 0.0, 1.0)
    assert traced["crossed"] == before["crossed"] + 1
    _edit(folder / "truth" / "clean-00006.truth.json", lambda truth: truth["strokes"].append(_line(across + 0.5)))
    assert _lettering(folder)["lost"] > 0.0


def _line(ends: FloatArray) -> Record:
    start, end = ends.tolist()
    return {"type": "line", "role": "centre", "view": None, "dash": "solid", "width_mm": 0.25, "p0": start, "p1": end}
