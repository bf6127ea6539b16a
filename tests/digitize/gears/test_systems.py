"""The tables of systems and pitches hold together, and cite their sources."""

import csv
import tomllib
from collections import defaultdict
from fractions import Fraction
from itertools import combinations
from math import pi, sin
from pathlib import Path

import pytest

from digitize.gears.cuts import clearance_fillet, cuts_at, same_tooth, standard_cuts
from digitize.gears.pitch import make_pitch, pitches
from digitize.gears.systems import system, systems, two_number_pairs
from digitize.gears.words import system_words
from digitize.standards import sources
from digitize.standards.tables import read_table

ROOT = Path(__file__).parents[3] / "digitize" / "gears"
RAW = tomllib.loads((ROOT / "systems.toml").read_text(encoding="utf-8"))


def test_keys_are_unique():
    assert len({row.id for row in systems()}) == len(systems())


def test_every_source_is_known():
    named = [row.source for row in (*systems(), *two_number_pairs(), *pitches())]
    named += [row["source"] for row in read_table("digitize.gears", "cutters.csv")]
    assert {name for each in named for name in each.split(";")} <= set(sources())
    for word in system_words():
        assert word.source in sources() or word.source == "common practice, no source"


@pytest.mark.parametrize("raw", RAW["system"], ids=lambda raw: raw["id"])
def test_heights_add_up(raw):
    assert raw["whole_depth"] == pytest.approx(raw["addendum"] + raw["dedendum"], abs=2e-4)
    assert raw["clearance"] == pytest.approx(raw["dedendum"] - raw["addendum"], abs=2e-4)
    for height in ("addendum", "dedendum"):
        if f"{height}_p" in raw:
            assert raw[f"{height}_p"] * pi == pytest.approx(raw[height], abs=2e-4)


def test_decimals_of_the_table_are_exact():
    assert system("asa_145_full").dedendum == Fraction(1157, 1000)


@pytest.mark.parametrize("key", ["asa_145_full", "iso53_a"])
def test_standard_fillets_start_where_the_clearance_does(key):
    # ASA B6.1-1932 gives 0.209 (MH31-2216, seen), ISO 53 profile A 0.38 (from memory).
    row = system(key)
    assert clearance_fillet(float(row.dedendum - row.addendum), row.pressure_angle_deg) == pytest.approx(
        float(row.fillet_radius), abs=6e-4
    )


def test_rounded_columns_of_the_pitch_table():
    with (ROOT / "pitches.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            pitch = make_pitch(row["kind"], Fraction(row["value"]))
            assert pitch.module_mm == pytest.approx(float(row["module_mm"]), abs=1e-4)
            assert pi * pitch.module_mm / 25.4 == pytest.approx(float(row["circular_pitch_in"]), abs=1e-5)


@pytest.mark.parametrize("pair", two_number_pairs(), ids=lambda pair: pair.pair)
def test_two_number_stub_sizes(pair):
    # Derived table: addendum 1/P2, whole depth 2.25/P2, thickness pi/(2 P1).
    raw = next(row for row in RAW["two_number_pair"] if row["pair"] == pair.pair)
    cut = next(cut for cut in standard_cuts() if cut.pitch.label == f"{pair.pair} P")
    assert cut.addendum_mm / 25.4 == pytest.approx(raw["addendum_in"], abs=1e-5)
    assert cut.whole_depth_mm / 25.4 == pytest.approx(raw["whole_depth_in"], abs=1e-5)
    assert cut.thickness_mm / 25.4 == pytest.approx(raw["thickness_in"], abs=1e-5)


def test_fine_pitch_has_two_thousandths_more_at_the_root():
    # ANSI B6.7-1977 (from memory): whole depth 2.200/P + 0.002 in.
    cut = cuts_at(system("agma_20_fine"), make_pitch("DP", Fraction(32)))[0]
    assert cut.whole_depth_mm / 25.4 == pytest.approx(2.2 / 32 + 0.002, abs=1e-12)


def test_systems_keep_to_their_range_of_pitch():
    for cut in standard_cuts():
        if cut.system.id == "agma_20_coarse":
            assert cut.pitch.diametral_pitch < 20
        if cut.system.id == "agma_20_fine":
            assert cut.pitch.diametral_pitch >= 20
        if cut.system.id == "metric_fine_24":
            assert cut.module_mm < 1.25


def test_outside_diameter_formulas_as_the_table_writes_them():
    for raw in RAW["system"]:
        row = system(raw["id"])
        pitch = {"DP": ("DP", 8), "MODULE": ("MODULE", Fraction(1, 2)), "CP": ("CP", 1)}.get(row.pitch_kind)
        if pitch is None:
            continue
        cut = cuts_at(row, make_pitch(pitch[0], Fraction(pitch[1])))[0]
        m = cut.module_mm
        value = eval(raw["od_formula"], {"__builtins__": {}}, {"N": 30, "P": 1 / m, "m": m})
        assert cut.outside_diameter_mm(30) == pytest.approx(value, abs=2e-4 * m)


def test_same_tooth_under_other_names():
    def cut(key, kind, value):
        return cuts_at(system(key), make_pitch(kind, Fraction(value)))[0]

    assert same_tooth(cut("din867", "MODULE", 3), cut("iso53_a", "MODULE", 3))
    assert same_tooth(cut("agma_20_coarse", "DP", 8), cut("bs436_hobbed", "DP", 8))
    assert not same_tooth(cut("din867", "MODULE", 3), cut("iso53_d", "MODULE", 3))
    assert not same_tooth(cut("asa_145_full", "DP", 8), cut("asa_145_composite", "DP", 8))
    assert not same_tooth(cut("asa_145_full", "DP", 8), cut("asa_20_full_1932", "DP", 8))


def test_undercut_numbers_follow_from_the_angle():
    for row in systems():
        if row.min_teeth_no_undercut:
            # A composite pinion has radial flanks where the rolling circle is half its pitch circle: N = 4 rho.
            exact = 2 * float(row.addendum) / sin(row.pressure_angle_deg * pi / 180) ** 2
            exact = 4 * float(row.rolling_radius) if row.rolling_radius else exact
            assert 0 <= row.min_teeth_no_undercut - exact < 1 + 1e-9


METRIC_TIES = ("din867", "iso53_a", "iso53_b", "iso53_c", "jis_b1701")
TIES = {
    # One basic rack, written out by several standards; the deep-rooted ones meet where a standard allows 1.4.
    *(frozenset(pair) for pair in combinations(METRIC_TIES, 2)),
    frozenset(("din867", "iso53_d")),
    frozenset(("din867", "metric_fine_24")),
    frozenset(("iso53_d", "metric_fine_24")),
    frozenset(("agma_20_coarse", "bs436_hobbed")),
    # By chance, at single pitches: 0.8/4 = 1/5 and 0.8/8 = 1/10; 1.2/120 + 0.002 in = 1.44/120.
    frozenset(("asa_20_stub", "stub_two_number")),
    frozenset(("agma_20_fine", "bs436_ground")),
}
"""Systems that give one tooth to the micron at some pitch (derived from the heights of the table)."""


def test_every_pair_of_systems_that_gives_one_tooth_is_known():
    by_pitch = defaultdict(list)
    for cut in standard_cuts():
        by_pitch[round(cut.module_mm, 9)].append(cut)
    pairs = [pair for cuts in by_pitch.values() for pair in combinations(cuts, 2) if same_tooth(*pair)]
    assert {frozenset((a.system.id, b.system.id)) for a, b in pairs} == TIES
    notations = {(a.pitch.label, b.pitch.label) for a, b in pairs if a.pitch.label != b.pitch.label}
    assert notations == {("4 P", "4/5 P"), ("8 P", "8/10 P")}
    fine = {a.pitch.label for a, b in pairs if {a.system.id, b.system.id} == {"agma_20_fine", "bs436_ground"}}
    assert fine == {"120 P"}
