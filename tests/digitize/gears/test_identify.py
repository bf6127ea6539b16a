"""What is claimed of a gear, what is left open, and what is never claimed."""

import csv
import json
from dataclasses import replace
from fractions import Fraction
from math import cos, pi, radians
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from digitize.dimensions.table import State
from digitize.gears.cuts import Cut, cut_named, cuts_at, standard_cuts
from digitize.gears.identifying.claim import named_alone, title_of
from digitize.gears.identifying.evidence import Evidence, Known, PinSize, Quantity, SpanSize
from digitize.gears.identifying.identify import identify
from digitize.gears.identifying.priors import era_weight
from digitize.gears.identifying.report import finding_to_json
from digitize.gears.pitch import make_pitch
from digitize.gears.systems import system
from digitize.gears.teeth import inspection
from digitize.gears.teeth.tooth import GearSpec
from digitize.gears.words import other_kind

INCH = 25.4
SCHEMA = Path(__file__).parents[3] / "digitize" / "report" / "dimension-table.schema.json"


def table(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


TRAPS = table("naive_pitch_traps")


def inches(value: float, places: int = 3, known: Known = Known.WRITTEN) -> Quantity:
    place = 10.0**-places
    return Quantity(round(value, places) * INCH, known, place * INCH, text=f"{value:.{places}f}in")


def mm(value: float, place: float = 0.01) -> Quantity:
    return Quantity(value, place=place)


def bare(value: float, place: float = 1.0) -> Quantity:
    return Quantity(value, place=place)


FULL_145 = Evidence(
    teeth=42,
    outside_diameter=inches(5.5),
    diametral_pitch=bare(8),
    pressure_angle=bare(14.5, 0.5),
    whole_depth=inches(0.270),
    words=("FULL DEPTH INVOLUTE",),
    unit="in",
)
STUB = Evidence(
    teeth=24,
    outside_diameter=inches(3.2),
    diametral_pitch=bare(8),
    pressure_angle=bare(20),
    whole_depth=inches(0.225),
    unit="in",
)
MODULE_3 = Evidence(
    teeth=30,
    outside_diameter=mm(96, 1),
    module=bare(3),
    pressure_angle=bare(20),
    whole_depth=mm(6.75),
    unit="mm",
)


@pytest.mark.parametrize(
    ("evidence", "key", "module_mm"),
    [(FULL_145, "asa_145_full", 3.175), (STUB, "asa_20_stub", 3.175), (MODULE_3, "din867", 3.0)],
)
def test_a_full_data_block_is_agreed(evidence, key, module_mm):
    found = identify(evidence)
    assert found.state is State.AGREED
    assert found.teeth == evidence.teeth
    assert found.candidates[0].system == key
    assert found.candidates[0].module_mm == pytest.approx(module_mm)
    assert not found.measure_next


def test_equal_teeth_under_other_names_are_said():
    found = identify(MODULE_3)
    assert {"iso53_a", "jis_b1701"} <= set(found.same_tooth)
    assert any("other names" in sentence for sentence in found.evidence)


def of_cut(cut: Cut, teeth: int = 24, **more: object) -> Evidence:
    """Every size of a gear as its print would state it, its pitch and its name left out."""
    unit = "mm" if cut.pitch.kind == "MODULE" else "in"
    place = 0.001 if unit == "mm" else INCH / 10_000

    def size(value_mm: float) -> Quantity:
        return Quantity(round(value_mm / place) * place, place=place)

    return Evidence(
        teeth=teeth,
        outside_diameter=size(cut.outside_diameter_mm(teeth)),
        pitch_diameter=size(teeth * cut.module_mm),
        root_diameter=size(cut.root_diameter_mm(teeth)),
        pressure_angle=bare(cut.system.pressure_angle_deg or 0.0, 0.5),
        unit=unit,
        **more,  # type: ignore[arg-type]
    )


TIED = [
    ("asa_20_stub", "stub_two_number", "DP", "4"),
    ("asa_20_stub", "stub_two_number", "DP", "8"),
    ("agma_20_coarse", "bs436_hobbed", "DP", "6"),
    ("agma_20_fine", "bs436_ground", "DP", "120"),
    ("din867", "iso53_a", "MODULE", "3"),
    ("din867", "jis_b1701", "MODULE", "2.5"),
    ("iso53_d", "metric_fine_24", "MODULE", "1"),
]


@pytest.mark.parametrize(("first", "second", "kind", "value"), TIED)
def test_of_one_tooth_with_several_names_no_name_is_claimed_alone(first, second, kind, value):
    cut = cuts_at(system(first), make_pitch(kind, Fraction(value)))[0]
    found = identify(of_cut(cut))
    names = {name.system: name.title for name in found.names}
    assert {first, second} <= set(names)
    assert sum(name.share for name in found.names) == pytest.approx(1)
    if not named_alone(found):
        assert all(title in title_of(found) for title in names.values())
    stated = finding_to_json(found)
    assert set(stated["names"]) == set(names)
    said = next(sentence for sentence in found.evidence if "other names" in sentence)
    assert all(title in said for title in list(names.values())[1:] if title != found.candidates[0].title)


def test_only_what_is_written_tells_one_number_from_two():
    """4 P of the 20 deg stub system and 4/5 P are one tooth: addendum 0.8/4 = 1/5, dedendum 1/4 = 1.25/5 in."""
    cut = cuts_at(system("asa_20_stub"), make_pitch("DP", Fraction(4)))[0]
    plain = identify(of_cut(cut))
    assert plain.state is State.AGREED
    stated = finding_to_json(plain)
    assert stated["system"] is None
    assert set(stated["names"]) == {"asa_20_stub", "stub_two_number"}
    assert (stated["module_mm"], stated["pressure_angle_deg"]) == (pytest.approx(6.35), 20.0)
    assert finding_to_json(identify(of_cut(cut, diametral_pitch=bare(4))))["system"] == "asa_20_stub"
    assert finding_to_json(identify(of_cut(cut, pair="4/5")))["system"] == "stub_two_number"


def test_names_that_leave_another_round_at_the_root_say_so():
    found = identify(MODULE_3)
    assert any("round at the root alone, 0.750 mm to 1.140 mm" in sentence for sentence in found.evidence)


def test_teeth_and_outside_diameter_never_fix_the_angle():
    found = identify(Evidence(teeth=42, outside_diameter=inches(5.5)))
    assert found.state is State.UNPROVEN
    assert {c.pressure_angle_deg for c in found.candidates} >= {14.5, 20.0, 25.0}
    assert all(c.diametral_pitch == pytest.approx(8) for c in found.candidates)
    stated = finding_to_json(found)
    assert stated["diametral_pitch"] == pytest.approx(8)
    assert stated["pressure_angle_deg"] is None
    assert stated["system"] is None


def test_the_next_measurement_tells_the_leading_two_apart():
    found = identify(Evidence(teeth=42, outside_diameter=inches(5.5)))
    sentence, given = found.measure_next
    assert given.startswith("Give what you find with --tooth-form involute|composite")
    base_145, base_20 = (pi / 8 * cos(radians(a)) for a in (14.5, 20))
    assert f"{base_145:.4f} in" in sentence
    assert f"{base_20:.4f} in" in sentence


def test_the_editions_of_20_degrees_need_the_root():
    """20 deg full depth: dedendum 1.157/P in ASA B6.1-1932 (recalled), 1.25/P in ANSI B6.1-1968 (recalled)."""
    known = replace(FULL_145, pressure_angle=bare(20), whole_depth=None)
    found = identify(known)
    assert found.state is State.UNPROVEN
    assert {"asa_20_full_1932", "agma_20_coarse"} <= {c.system for c in found.candidates}
    roots = (42 / 8 - 2 * dedendum / 8 for dedendum in (1.25, 1.157))
    assert all(f"{root:.4f} in" in found.measure_next[0] for root in roots)
    for depth, key in ((0.270, "asa_20_full_1932"), (0.281, "agma_20_coarse")):
        found = identify(replace(known, whole_depth=inches(depth)))
        assert found.state is State.AGREED
        assert found.candidates[0].system == key


def test_composite_teeth_are_not_told_from_full_depth_by_size():
    found = identify(replace(FULL_145, words=()))
    assert found.state is State.UNPROVEN
    assert [c.system for c in found.candidates[:2]] == ["asa_145_full", "asa_145_composite"]
    assert "No caliper" in found.measure_next[0]
    named = identify(replace(FULL_145, words=("14 1/2 DEG. COMPOSITE",)))
    assert (named.state, named.candidates[0].system) == (State.AGREED, "asa_145_composite")


def test_a_wrong_outside_diameter_is_disputed_with_numbers():
    found = identify(replace(FULL_145, outside_diameter=inches(5.6)))
    assert found.state is State.DISPUTED
    assert "5.6000 in given, 5.5000 in here, 0.1000 in apart" in found.evidence[0]
    assert finding_to_json(found)["module_mm"] is None


@pytest.mark.parametrize(
    "wrong",
    [
        {"teeth": 43},
        {"teeth": 24},
        {"diametral_pitch": bare(6)},
        {"whole_depth": inches(0.225)},
        {"pitch_diameter": inches(5.35)},
        {"root_diameter": inches(5.0)},
        {"centre_distance": inches(4.5), "mate_teeth": 20},
        {"teeth_counted": 40},
    ],
)
def test_one_wrong_entry_is_never_agreed_away(wrong):
    assert identify(replace(FULL_145, **wrong)).state is State.DISPUTED


def test_a_second_witness_is_asked_for():
    found = identify(Evidence(teeth=42, diametral_pitch=bare(8), pressure_angle=bare(14.5, 0.5), words=FULL_145.words))
    assert found.state is State.UNPROVEN
    assert any("outside diameter" in sentence for sentence in found.measure_next)


def test_two_numbers_of_pitch():
    cut = next(c for c in standard_cuts() if c.pitch.label == "6/8 P")
    found = identify(
        Evidence(
            teeth=24,
            pair="6/8",
            outside_diameter=inches(4.25),
            pressure_angle=bare(20),
            whole_depth=inches(cut.whole_depth_mm / INCH),
        )
    )
    assert found.state is State.AGREED
    assert found.candidates[0].system == "stub_two_number"
    assert found.candidates[0].diametral_pitch == pytest.approx(6)


def worn(value_mm: float) -> Quantity:
    return Quantity(value_mm, Known.ON_PART, 0.01)


@pytest.mark.parametrize(("angle", "key"), [(14.5, "asa_145_full"), (20.0, "agma_20_coarse")])
@pytest.mark.parametrize("backlash_mm", [0.0, 0.08])
def test_two_spans_find_the_angle_of_a_worn_gear(angle, key, backlash_mm):
    cut = cuts_at(system(key), make_pitch("DP", Fraction(8)))[0]
    gear = GearSpec.from_cut(cut, 42, thinning_mm=backlash_mm)
    spans = tuple(SpanSize(k, worn(inspection.span_mm(gear, k) + off)) for k, off in ((4, 0.01), (5, -0.01)))
    found = identify(Evidence(teeth=42, outside_diameter=worn(2 * gear.tip_radius_mm - 0.12), spans=spans))
    assert {c.pressure_angle_deg for c in found.candidates if c.probability > 0.02} == {angle}


def test_one_span_with_unknown_backlash_does_not_decide_the_angle():
    cut = cuts_at(system("agma_20_coarse"), make_pitch("DP", Fraction(8)))[0]
    gear = GearSpec.from_cut(cut, 42, thinning_mm=0.15)
    spans = (SpanSize(4, worn(inspection.span_mm(gear, 4))),)
    found = identify(Evidence(teeth=42, outside_diameter=worn(139.7), spans=spans))
    assert found.state is not State.AGREED
    assert {14.5, 20.0} <= {c.pressure_angle_deg for c in found.candidates}


def test_pins_and_thickness_share_one_backlash():
    cut = cuts_at(system("din867"), make_pitch("MODULE", Fraction(3)))[0]
    gear = GearSpec.from_cut(cut, 30, thinning_mm=0.06)
    evidence = replace(
        MODULE_3,
        pins=(PinSize(5.184, mm(inspection.over_pins_mm(gear, 5.184), 0.001)),),
        chordal_thickness=mm(inspection.chordal_thickness_mm(gear), 0.001),
    )
    assert identify(evidence).state is State.AGREED
    thick = replace(evidence, chordal_thickness=mm(inspection.chordal_thickness_mm(gear) + 0.3, 0.001))
    assert identify(thick).state is State.DISPUTED


@pytest.mark.parametrize("row", TRAPS, ids=lambda row: f"{row['kind']} {row['description']} {row['N']}")
def test_naive_pitch_is_never_passed_off(row):
    """Every trap row (derived): no spur gear of the naive pitch is claimed, even where a data block says so too."""
    teeth, outside = int(row["N"]), inches(float(row["OD_in"]), 4)
    naive, true = float(row["naive_P_from_N_plus_2_over_OD"]), float(row["true_P"])
    is_true = abs(naive / true - 1) < 1e-4
    plain = Evidence(teeth=teeth, outside_diameter=outside, unit="in")
    deceptive = replace(
        plain, pressure_angle=bare(20), whole_depth=inches(2.25 / naive), diametral_pitch=bare(round(naive, 2), 0.01)
    )
    for evidence in (plain, replace(plain, pressure_angle=bare(20)), deceptive):
        found = identify(evidence)
        assert found.state is not State.AGREED or is_true
        for candidate in found.candidates if evidence is plain else ():
            is_naive = abs(candidate.diametral_pitch / naive - 1) < 1e-3
            assert not is_naive or is_true or candidate.probability < 0.5


STUB_KEYS = {"stub_0.8": "asa_20_stub", "stub_two_number": "stub_two_number"}
"""The trap rows by circular pitch are left out: pi/8 in is no standard pitch."""


@pytest.mark.parametrize(
    "row", [r for r in TRAPS if r["kind"] in STUB_KEYS], ids=lambda r: f"{r['description']} {r['N']}"
)
def test_stub_traps_find_their_own_system(row):
    key = STUB_KEYS[row["kind"]]
    found = identify(Evidence(teeth=int(row["N"]), outside_diameter=inches(float(row["OD_in"]), 4), unit="in"))
    best = next(c for c in found.candidates if c.system == key)
    assert best.probability > 0.2
    assert best.diametral_pitch == pytest.approx(float(row["true_P"]))


@pytest.mark.parametrize("row", [r for r in TRAPS if r["kind"] in ("bevel", "helical")], ids=lambda r: r["description"])
def test_bevel_and_helical_sizes_fit_none_and_are_suggested(row):
    found = identify(Evidence(teeth=int(row["N"]), outside_diameter=inches(float(row["OD_in"]), 4), unit="in"))
    assert found.none_probability > 0.5
    assert any(row["kind"] in s.lower() or "mitre" in s for s in found.evidence)


def test_an_enlarged_pinion_is_suggested():
    found = identify(Evidence(teeth=12, outside_diameter=inches(1.5), diametral_pitch=bare(10), unit="in"))
    assert found.state is State.DISPUTED
    assert any("enlarged by a shift of 0.50" in s for s in found.evidence)


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        (("BEVEL GEAR",), "bevel"),
        (("MITRE GEARS 1:1",), "bevel"),
        (("WORM WHEEL", "THROAT DIA"), "worm"),
        (("HELIX ANGLE 23°",), "helical"),
        (("INTERNAL GEAR",), "internal"),
        (("SPROCKET FOR 1/2 PITCH",), "sprocket"),
        (("RATCHET WHEEL",), "ratchet"),
        (("TIMING PULLEY",), "timing pulley"),
    ],
)
def test_other_kinds_are_never_spur_gears(words, kind):
    found = identify(replace(FULL_145, words=words))
    assert (found.kind, found.state, found.candidates) == (kind, State.UNPROVEN, ())


@pytest.mark.parametrize(
    "title",
    [
        "SPUR GEAR",
        "CHANGE WHEEL",
        "BACK GEAR",
        "FACE WIDTH 1 1/4",
        "ROOT DIAMETER",
        "SPLINED BORE",
        "INTERNAL KEYSEAT",
        "ENLARGED SECTION A-A",
        "CORRECTED 3-4-31",
        "LEAD BRONZE",
        "CHAIN GUARD",
    ],
)
def test_plain_titles_are_no_other_kind(title):
    assert other_kind((title,)) is None


def test_a_helix_angle_gives_the_normal_pitch():
    found = identify(Evidence(teeth=30, outside_diameter=inches(3.4591, 4), helix_angle=bare(23)))
    assert found.kind == "helical"
    assert "10 P" in found.evidence[1]


def test_counted_teeth_may_slip_by_one():
    counted = replace(FULL_145, teeth=None, teeth_counted=41)
    found = identify(counted)
    assert found.candidates[0].teeth == 42
    assert found.teeth == 42


def test_an_unsure_number_of_teeth_is_borne_out_by_sizes_or_given_up():
    sure = replace(FULL_145, teeth_reading=0.45)
    assert (identify(sure).teeth, identify(sure).candidates[0].teeth) == (42, 42)
    misread = replace(FULL_145, teeth=12, teeth_reading=0.45, pitch_diameter=inches(5.25))
    found = identify(misread)
    assert found.teeth == found.candidates[0].teeth == 42
    assert identify(replace(misread, pitch_diameter=None)).state is not State.AGREED
    assert identify(replace(misread, teeth_reading=0.9)).state is State.DISPUTED


def test_teeth_follow_from_two_diameters():
    found = identify(replace(FULL_145, teeth=None, pitch_diameter=inches(5.25)))
    assert (found.teeth, found.state) == (42, State.AGREED)
    single = replace(FULL_145, teeth=None, outside_diameter=None, pitch_diameter=inches(5.25))
    assert identify(single).state is State.UNPROVEN


@pytest.mark.parametrize(
    "evidence",
    [
        Evidence(),
        Evidence(teeth=42),
        Evidence(teeth=42, pressure_angle=bare(20)),
        Evidence(outside_diameter=inches(5.5)),
        Evidence(teeth=2, outside_diameter=inches(0.5)),
        Evidence(teeth=0),
        Evidence(teeth_counted=3, outside_diameter=inches(0.5)),
        Evidence(teeth=10_000, outside_diameter=inches(5.5)),
        Evidence(words=("GEAR",)),
    ],
)
def test_too_little_or_absurd_evidence_is_no_error(evidence):
    found = identify(evidence)
    assert found.state is State.UNPROVEN
    assert found.measure_next


def test_a_date_is_only_a_weak_prior():
    found = identify(replace(MODULE_3, year=2005))
    assert found.candidates[0].system == "iso53_a"
    assert identify(replace(FULL_145, year=2005)).candidates[0].system == "asa_145_full"
    assert 0 < era_weight((1932, 1970), 1900) < 0.1


def test_words_of_a_standard_name_it():
    found = identify(replace(MODULE_3, words=("J.I.S. B 1701",)))
    assert found.candidates[0].system == "jis_b1701"


def test_an_unsure_reading_is_not_agreed_on():
    doubtful = replace(bare(20), probability=0.6)
    assert identify(replace(STUB, pressure_angle=doubtful, whole_depth=None, teeth=25)).state is not State.AGREED


@pytest.mark.parametrize("pair", table("dp_module_near"), ids=lambda row: f"{row['dp']} P, module {row['module_mm']}")
def test_near_diametral_pitches_and_modules_are_told_apart_by_what_is_written(pair):
    """Pairs within 2.7 percent (derived): a written outside diameter to a thousandth decides, whatever the unit."""
    dp, module = Fraction(pair["dp"]), Fraction(pair["module_mm"])
    for pitch, key in ((make_pitch("DP", dp), "asa_145_full"), (make_pitch("MODULE", module), "din867")):
        cut = cuts_at(system(key), pitch)[0]
        size = Quantity(round(cut.outside_diameter_mm(40), 3), place=0.001)
        best = identify(Evidence(teeth=40, outside_diameter=size)).candidates[0]
        assert best.module_mm == pytest.approx(cut.module_mm)


def random_evidence(rng: np.random.Generator) -> tuple[Cut, int, Evidence]:
    """A gear of any system with a data block that has gaps, sizes rounded as written."""
    cuts = [c for c in standard_cuts() if not c.remark and 0.8 < c.module_mm < 13]
    cut, teeth = cuts[rng.integers(len(cuts))], int(rng.integers(14, 70))
    inch = cut.system.pitch_kind != "MODULE"

    def given(value_mm: float, chance: float) -> Quantity | None:
        place = INCH / 1000 if inch else 0.01
        return Quantity(round(value_mm / place) * place, place=place) if rng.random() < chance else None

    angle = cut.system.pressure_angle_deg
    return (
        cut,
        teeth,
        Evidence(
            teeth=teeth,
            outside_diameter=given(cut.outside_diameter_mm(teeth), 0.8),
            pitch_diameter=given(teeth * cut.module_mm, 0.5),
            whole_depth=given(cut.whole_depth_mm, 0.6),
            root_diameter=given(cut.root_diameter_mm(teeth), 0.2),
            pressure_angle=bare(angle, 0.5) if angle and rng.random() < 0.8 else None,
            unit="in" if inch else "mm",
        ),
    )


def is_right(found, cut: Cut, teeth: int) -> bool:
    best = found.candidates[0]
    same_name = cut.system.id in {name.system for name in found.names}
    return same_name and best.teeth == teeth and best.module_mm == pytest.approx(cut.module_mm)


def test_no_false_claim_and_no_false_dispute_over_gears_of_every_system():
    rng = np.random.default_rng(20240611)
    agreed = 0
    for _ in range(160):
        cut, teeth, evidence = random_evidence(rng)
        found = identify(evidence)
        assert found.state is not State.DISPUTED, (cut.title, teeth, evidence)
        if found.state is State.AGREED:
            agreed += 1
            assert is_right(found, cut, teeth), (cut.title, teeth, evidence)
        elif found.candidates:
            assert any(c.system == cut.system.id for c in found.candidates), (cut.title, teeth, evidence)
    assert agreed > 40


def test_misread_lengths_are_hardly_ever_agreed_with():
    rng = np.random.default_rng(7)
    wrong = 0
    for _ in range(80):
        cut, teeth, evidence = random_evidence(rng)
        names = [n for n in ("outside_diameter", "pitch_diameter", "whole_depth") if getattr(evidence, n)]
        if not names:
            continue
        name = names[rng.integers(len(names))]
        size = getattr(evidence, name)
        slip = size.place * 10.0 ** rng.integers(0, 3) * rng.integers(1, 9)
        found = identify(replace(evidence, **{name: replace(size, value=size.value + slip, probability=0.9)}))
        wrong += found.state is State.AGREED and not is_right(found, cut, teeth)
    assert wrong == 0


def test_json_obeys_the_schema_of_the_table():
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))["properties"]["gear"]
    for evidence in (FULL_145, STUB, MODULE_3, Evidence(), replace(FULL_145, teeth=43), Evidence(words=("WORM",))):
        stated = finding_to_json(identify(evidence))
        faults = list(
            jsonschema.Draft202012Validator(schema).iter_errors(json.loads(json.dumps(stated, allow_nan=False)))
        )
        assert faults == []


def test_json_of_an_agreed_gear():
    stated = finding_to_json(identify(FULL_145))
    assert (stated["teeth"], stated["system"], stated["status"]) == (42, "asa_145_full", "agreed")
    assert stated["module_mm"] == pytest.approx(3.175)
    assert stated["pressure_angle_deg"] == 14.5


OPEN_145 = Evidence(
    teeth=42, outside_diameter=inches(5.5), whole_depth=inches(0.2696, 4), pressure_angle=Quantity(14.5, place=0.1)
)


@pytest.mark.parametrize("form", ["involute", "composite"])
def test_the_form_of_the_flank_is_asked_for_and_settles_the_tooth(form: str) -> None:
    """42 teeth of 8 P and 14 1/2 deg may be either (ASA B6.1-1932, from memory): no size tells them apart."""
    open_ = identify(OPEN_145)
    assert open_.state is State.UNPROVEN
    assert open_.asked == ("--tooth-form involute|composite",)
    assert open_.measure_next[-1] == "Give what you find with --tooth-form involute|composite."
    settled = identify(replace(OPEN_145, form=form))
    assert settled.state is State.AGREED
    assert system(settled.candidates[0].system).form == form


@pytest.mark.parametrize("cut", standard_cuts()[::23], ids=lambda cut: cut.title)
def test_what_is_asked_for_is_enough(cut: Cut) -> None:
    """Of the likeliest tooth that teeth and outside diameter leave: with its own sizes given it is agreed."""
    teeth = 30
    known = Evidence(teeth=teeth, outside_diameter=Quantity(cut.outside_diameter_mm(teeth), place=0.001))
    found = identify(known)
    if found.state is State.UNPROVEN and found.asked:
        leading = found.candidates[0]
        its = cut_named(leading.system, leading.title)
        assert its is not None
        given = {
            "--tooth-form": {"form": its.system.form},
            "--whole-depth": {"whole_depth": Quantity(its.whole_depth_mm, Known.UNSAID, 0.0254)},
            "--root-diameter": {"root_diameter": Quantity(its.root_diameter_mm(teeth), Known.UNSAID, 0.0254)},
            "--pressure-angle": {"pressure_angle": Quantity(its.system.pressure_angle_deg or 0.0, Known.UNSAID, 0.1)},
            "--diametral-pitch": {"diametral_pitch": Quantity(its.pitch.diametral_pitch, Known.UNSAID, 1.0)},
            "--module": {"module": Quantity(its.module_mm, Known.UNSAID, 1.0)},
        }
        for words in found.asked:
            known = replace(known, **given[words.split()[0]])
        assert identify(known).state is State.AGREED


def test_two_circles_scaled_by_one_scale_do_not_tell_the_teeth_from_one_more() -> None:
    """A face of 57 teeth, its circles scaled 1.2 % short, is no gear of 56 for all that module and depth are sure."""

    def scaled(value_mm: float) -> Quantity:
        return Quantity(value_mm, Known.SCALED, std=0.62)

    evidence = Evidence(
        outside_diameter=scaled(87.42), pitch_diameter=scaled(84.65), whole_depth=Quantity(3.38, place=0.01), unit="mm"
    )
    found = identify(evidence)
    assert found.state is State.UNPROVEN
    likely = {candidate.teeth for candidate in found.candidates if candidate.probability > 0.01}
    assert {56, 57} <= likely
    written = identify(replace(evidence, teeth=57))
    assert (written.teeth, written.state) == (57, State.AGREED)
