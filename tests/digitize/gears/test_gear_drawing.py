"""The drawing that the desk writes: the gear as made, its body, and its mate in mesh."""

from pathlib import Path

import ezdxf
import pytest
import shapely
from ezdxf import path as dxf_path

from digitize.gears.desk.desk import gear_desk
from digitize.gears.options import BenchInput, BodyInput, DeskInput, DutyInput

MODULE_3 = DeskInput(
    teeth=20,
    module="3",
    pressure_angle="20",
    outside_diameter="66.00mm",
    whole_depth="6.75mm",
    mate_teeth=30,
    centre_distance="75.2mm+-.5mm",
    source="print",
)


def drawn(folder: Path, typed=MODULE_3, body=None, **bench):
    answer = gear_desk(typed, body, None, BenchInput(dxf=str(folder / "gear.dxf"), **bench))
    assert answer.files == (folder / "gear.dxf",)
    drawing = ezdxf.readfile(folder / "gear.dxf")
    assert not drawing.audit().errors
    return answer, drawing


def polygons(drawing, layer: str) -> list[shapely.Polygon]:
    found = drawing.modelspace().query(f"LWPOLYLINE[layer=='{layer}']")
    assert all(each.closed for each in found)
    return [shapely.Polygon([(p.x, p.y) for p in dxf_path.make_path(e).flattening(1e-4)]) for e in found]


def test_gear_and_mate_touch_neither_nor_overlap(tmp_path):
    answer, drawing = drawn(tmp_path)
    (gear,), (mate,) = polygons(drawing, "GEAR"), polygons(drawing, "MATE")
    assert gear.is_valid
    assert mate.is_valid
    assert gear.intersection(mate).area < 1e-3
    # The play is shared by both flanks, so the gap is half of it along the line of action, near enough.
    assert answer.mesh.backlash_mm > 0.1
    assert gear.distance(mate) == pytest.approx(answer.mesh.backlash_mm / 2, rel=0.15)
    assert mate.centroid.y == pytest.approx(75.2, abs=1e-6)
    notes = [text.dxf.text for text in drawing.modelspace().query("TEXT")]
    assert any("CONTACT RATIO" in note and "NO INTERFERENCE" in note for note in notes)


def test_backlash_that_is_asked_for_is_cut(tmp_path):
    plain, _ = drawn(tmp_path)
    thinned, _ = drawn(tmp_path, backlash="0.1mm")
    assert thinned.mesh.backlash_mm - plain.mesh.backlash_mm == pytest.approx(0.1, rel=0.01)


def test_bore_holes_and_screw_are_drawn(tmp_path):
    body = BodyInput(bore="20mm", key="DIN", hub_diameter="34mm", holes="3:6mm:42mm", set_screw="M6")
    _, drawing = drawn(tmp_path, body=body)
    (gear,) = polygons(drawing, "GEAR")
    inner = polygons(drawing, "INNER_OUTLINE")
    assert len(inner) == 4
    assert all(gear.contains(each) for each in inner)
    # DIN 6885-1 (seen): 20 mm bore, 6 wide, t2 = 2.8, so 22.8 over the keyseat.
    bore = max(inner, key=lambda each: each.area)
    assert bore.bounds[3] - bore.bounds[1] == pytest.approx(22.8, abs=1e-3)
    assert len(drawing.modelspace().query("LINE[layer=='HIDDEN']")) == 2
    assert any("M6" in text.dxf.text for text in drawing.modelspace().query("TEXT"))


def test_shift_and_chamfer_are_cut(tmp_path):
    typed = DeskInput(
        teeth=12, module="3", pressure_angle="20", pitch_diameter="36mm", whole_depth="6.75mm", source="print"
    )
    answer, drawing = drawn(tmp_path, typed, profile_shift="0.3", tip_chamfer="0.2mm")
    (gear,) = polygons(drawing, next(iter({"GEAR", "GEAR_UNPROVEN"} & {layer.dxf.name for layer in drawing.layers})))
    reach = max(abs(complex(x, y)) for x, y in gear.exterior.coords)
    assert reach == pytest.approx(18 + 1.3 * 3, abs=1e-3)
    assert answer.finding.teeth == 12


def test_an_inch_gear_is_drawn_in_inches(tmp_path):
    typed = DeskInput(
        teeth=42, outside_diameter="5.500in", diametral_pitch="8", pressure_angle="14.5", whole_depth=".270in",
        source="print",
    )  # fmt: skip
    _, drawing = drawn(tmp_path, typed)
    assert drawing.header["$INSUNITS"] == 1
    (gear,) = polygons(drawing, "GEAR_UNPROVEN")
    assert gear.bounds[3] == pytest.approx(2.75, abs=1e-6)


def test_the_same_gear_gives_the_same_bytes(tmp_path):
    drawn(tmp_path)
    first = (tmp_path / "gear.dxf").read_bytes()
    drawn(tmp_path)
    assert (tmp_path / "gear.dxf").read_bytes() == first
    assert [path.name for path in tmp_path.iterdir()] == ["gear.dxf"]


def test_what_breaks_first_joins_the_answer():
    body = BodyInput(face="20mm", bore="20mm", key="DIN")
    answer = gear_desk(MODULE_3, body, DutyInput(torque="30Nm", gear_material="fibre"))
    assert answer.breakage.ranked[0].torque_nm < answer.breakage.ranked[1].torque_nm
    assert answer.breakage.verdict.sure is False
