"""Strength classes, proof loads and the friction table."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.thread_friction import friction, friction_conditions
from rebuildbook.calculators.thread_strength import (
    StrengthClass,
    load_at_proof,
    proof_load,
    strength_class,
)
from rebuildbook.calculators.threads import parse_thread, special_thread
from rebuildbook.reference import rows

M10, HALF = parse_thread("M10"), parse_thread("1/2-13")


@pytest.mark.parametrize(
    ("name", "thread", "canonical"),
    [
        ("8.8", M10, "8.8"),
        ("class 10.9", M10, "10.9"),
        ("property class 12.9", M10, "12.9"),
        ("ISO 898-1 8.8", M10, "8.8"),
        ("a2 70", M10, "A2-70"),
        ("ISO 3506-1 A4-80", M10, "A4-80"),
        ("SAE 5", HALF, "grade 5"),
        ("Gr. 8", HALF, "grade 8"),
        ("SAE J429 grade 5.2", HALF, "grade 5.2"),
        ("ASTM F593C", HALF, "F593C"),
    ],
)
def test_ways_of_writing_a_class(name, thread, canonical):
    assert strength_class(name, thread).name == canonical


@pytest.mark.parametrize(
    ("name", "thread", "said"),
    [
        ("8.9", "M10", "perhaps 8.8"),
        ("8", "M10", "nut's class"),
        ("5", "1/2-13", "write 'grade 5'"),
        ("8.8", "1/2-13", "is for metric threads"),
        ("grade 5", "M10", "is for unified threads"),
        ("grade 5", "#10-24", "tabled for diameters of 6.35 to 25.4 mm"),
        ("A4-70", "M30", "1.6 to 24 mm"),
        ("9.8", "M20", "1.6 to 16 mm"),
        ("brass", "M10", "it has 4.6"),
        ("", "M10", "no strength class"),
    ],
)
def test_a_class_that_does_not_fit_is_refused_with_what_is_allowed(name, thread, said):
    with pytest.raises(ValueError, match=re.escape(said)):
        strength_class(name, parse_thread(thread))


def test_the_limit_of_size_belongs_to_the_smaller_sizes():
    small, large = (strength_class("8.8", parse_thread(size)) for size in ("M16", "M18"))
    assert (small.proof_strength, large.proof_strength) == (580e6, 600e6)
    inch, over = (
        strength_class("grade 5", parse_thread(size)) for size in ("1-8 UNC", "1 1/8-7 UNC")
    )
    assert inch.proof_strength > over.proof_strength


def test_stainless_says_that_its_proof_strength_is_the_yield():
    stainless = strength_class("A4-70", M10)
    assert stainless.proof_strength == stainless.yield_strength == 450e6
    assert "no proof load" in stainless.source


@pytest.mark.parametrize("row", rows("strength_classes"), ids=lambda row: row["class"])
def test_proof_yield_and_tensile_stand_in_order(row):
    proof, yielding, tensile = (
        float(row[f"{kind}_strength_MPa"]) for kind in ("proof", "yield", "tensile")
    )
    assert 0 < proof <= yielding < tensile
    assert row["source"]
    assert float(row["size_min_mm"]) < float(row["size_max_mm"])


@pytest.mark.parametrize("name", ["4.6", "5.6", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9"])
def test_the_figures_of_an_iso_class_bound_its_strengths(name):
    """The class says nominal tensile/100 and yield ratio ×10; the least values are no lower."""
    first, second = name.split(".")
    found = strength_class(name, M10)
    assert found.tensile_strength >= int(first) * 100e6
    assert found.yield_strength >= int(first) * int(second) * 10e6 - 1
    assert found.tensile_strength < int(first) * 100e6 * 1.06


@given(st.floats(0.003, 0.1), st.floats(1e8, 1e9))
def test_a_special_thread_of_a_material_of_its_own(major, proof):
    thread = special_thread("rod", major, major / 10)
    own = StrengthClass("own", "17-4", proof, 1.1 * proof, 1.2 * proof, "mill certificate")
    assert proof_load(thread, own) == pytest.approx(proof * thread.stress_area)
    assert proof_load(thread, own) < proof * math.pi / 4 * major**2


def test_load_at_proof_takes_text():
    assert load_at_proof("0.373 in^2", "85 ksi").to("kip").magnitude == pytest.approx(31.705)


@pytest.mark.parametrize("name", friction_conditions())
def test_each_condition_is_found_by_its_name_and_its_ranges_hold_together(name):
    found = friction(name.upper())
    assert found.name == name
    assert 0 < found.nut_factor_low < found.nut_factor_typical < found.nut_factor_high
    assert 0 < found.thread_low < found.thread_high
    assert 0 < found.bearing_low < found.bearing_high
    assert found.source


@pytest.mark.parametrize("name", friction_conditions())
def test_nut_factors_agree_with_the_coefficients_beside_them(name):
    """Independent route: M10 hexagon screw, VDI 2230 form K·d = 0.16 P + 0.58 d2 μG + DKm/2 μK."""
    d, pitch, bearing = 10.0, 1.5, (16.0 + 11.0) / 2
    d2 = d - 0.649519 * pitch
    found = friction(name)
    for factor, thread, head in (
        (found.nut_factor_low, found.thread_low, found.bearing_low),
        (found.nut_factor_high, found.thread_high, found.bearing_high),
    ):
        derived = (0.16 * pitch + 0.58 * d2 * thread + bearing / 2 * head) / d
        assert factor == pytest.approx(derived, rel=0.08)


def test_other_names_lead_to_one_condition_each():
    others = [other for row in rows("friction") for other in row["also"].split("|")]
    assert len(set(others)) == len(others)
    assert not set(others) & set(friction_conditions())
    assert friction("unknown").name == "as received"
    assert friction("hot-dip galvanised, dry").name == "hot-dip galvanized, dry"


def test_an_unknown_condition_names_the_nearest():
    with pytest.raises(ValueError, match=r"nearest are .*zinc plated, dry"):
        friction("zinc platd")
    with pytest.raises(ValueError, match="it has as received"):
        friction("§§§")
