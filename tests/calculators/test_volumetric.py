"""Slip and volumetric efficiency: balances, limits, laws, the inverse and refusals."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.calculators.leak_paths import Gap, Scratch, annular_flow, leak, piston_gap
from rebuildbook.calculators.leak_places import places
from rebuildbook.calculators.volumetric import (
    Duty,
    LeakPath,
    clearance_for_efficiency,
    leak_paths,
    squeeze_loss,
    volumetric,
)

DUTY = Duty(0.6e-3, 1.0, 20e5, 0.2, 1400.0, bulk_modulus=2.2e9, clearance_ratio=0.8)
WORN = {
    "piston seal": piston_gap(0.0635, 0.0633, 0.02),
    "rod packing": Gap(0.025, 5e-5, 0.03, 0.5),
    "upper inlet check": Scratch(0.4e-3, 0.1e-3, 0.3e-3),
    "lower outlet check": Scratch(0.6e-3, 0.2e-3, 0.3e-3),
}
PATHS = leak_paths("double-acting piston", WORN, DUTY)

heights = st.floats(5e-6, 2e-4)
viscosities = st.floats(0.005, 5.0)


def test_without_clearance_only_compression_is_lost():
    tight = leak_paths("double-acting piston", {"piston seal": piston_gap(0.06, 0.06, 0.02)}, DUTY)
    found = volumetric(DUTY, tight)
    assert found.efficiency == pytest.approx(1.0 - 20e5 / 2.2e9 * 1.8, rel=1e-12)
    assert found.slip_flow == 0.0
    stiff = replace(DUTY, bulk_modulus=math.inf)
    assert volumetric(stiff, tight).efficiency == 1.0
    assert volumetric(stiff, tight).delivers


def test_what_is_displaced_is_delivered_or_lost():
    full = replace(DUTY, air_share=0.02, back_flows={"inlet checks": 3e-6, "outlet checks": 4e-6})
    found = volumetric(full, PATHS)
    assert found.delivered + sum(one.volume for one in found.losses) == pytest.approx(0.6e-3)
    assert 1.0 - sum(one.share for one in found.losses) == pytest.approx(found.efficiency)
    assert sum(one.of_losses for one in found.losses) == pytest.approx(1.0)
    volumes = [one.volume for one in found.losses]
    assert volumes == sorted(volumes, reverse=True)
    assert {one.kind for one in found.losses} == {"leak", "liquid compression", "air", "back-flow"}
    assert sum(found.by_stroke.values()) * full.rate == pytest.approx(found.slip_flow)
    assert sum(found.by_chamber.values()) * full.rate == pytest.approx(found.slip_flow)


def test_slip_of_a_seal_is_its_leak_for_as_long_as_it_is_under_pressure():
    passage = WORN["piston seal"]
    rate = leak(passage, 20e5, 0.2, 1400.0).flow
    both = volumetric(DUTY, leak_paths("double-acting piston", {"piston seal": passage}, DUTY))
    assert both.slip_flow == pytest.approx(rate)
    single = volumetric(DUTY, leak_paths("single-acting piston", {"piston seal": passage}, DUTY))
    assert single.slip_flow == pytest.approx(rate / 2.0)
    slow_up = replace(DUTY, up_share=0.7)
    found = volumetric(slow_up, leak_paths("differential piston", {"piston seal": passage}, DUTY))
    assert found.slip_flow == pytest.approx(0.7 * rate)
    assert found.by_stroke["down-stroke"] == 0.0


def test_slip_falls_on_the_stroke_and_chamber_that_it_belongs_to():
    found = volumetric(DUTY, PATHS)
    by_name = {one.name: one.volume for one in found.losses}
    assert found.by_stroke["down-stroke"] == pytest.approx(by_name["piston seal"] / 2.0)
    assert found.by_chamber["lower"] == pytest.approx(by_name["lower outlet check"])
    assert found.by_chamber["upper"] == pytest.approx(
        by_name["rod packing"] + by_name["upper inlet check"]
    )


def test_packing_leaks_against_the_atmosphere_and_checks_against_the_inlet():
    boosted = replace(DUTY, inlet_pressure=5e5)
    drops = {
        p.name: p.pressure_difference for p in leak_paths("double-acting piston", WORN, boosted)
    }
    assert drops["rod packing"] == 20e5
    assert drops["piston seal"] == drops["upper inlet check"] == 15e5


@pytest.mark.parametrize(
    ("architecture", "checks"),
    [
        ("single-acting piston", 2), ("differential piston", 2), ("double-acting piston", 4),
        ("double diaphragm", 4),
    ],
)  # fmt: skip
def test_every_check_holds_on_one_stroke_and_half_on_each(architecture, checks):
    strokes = [place.stroke for place in places(architecture) if "check" in place.name]
    assert len(strokes) == checks
    assert strokes.count("up-stroke") == strokes.count("down-stroke") == checks / 2


def test_checks_of_one_chamber_hold_in_turn():
    for place in places("double diaphragm"):
        other = [p for p in places("double diaphragm") if p.chamber == place.chamber and p != place]
        assert [p.stroke for p in other] == (
            ["down-stroke"] if place.stroke == "up-stroke" else ["up-stroke"]
        )


def test_three_plungers_leak_three_times_as_much_as_one():
    one = {"packing 1": Gap(0.02, 3e-5, 0.03)}
    three = {f"packing {k}": Gap(0.02, 3e-5, 0.03) for k in (1, 2, 3)}
    single = volumetric(DUTY, leak_paths("plungers", one, DUTY, 3))
    triple = volumetric(DUTY, leak_paths("plungers", three, DUTY, 3))
    assert triple.slip_flow == pytest.approx(3.0 * single.slip_flow)
    assert set(triple.by_chamber) == {"plunger 1", "plunger 2", "plunger 3"}


def test_two_passages_at_one_place_add():
    fitted = {
        "inlet check": Gap(0.02, 1e-5, 1e-3),
        "inlet check, scratch": Scratch(1e-3, 1e-4, 1e-3),
    }
    both = volumetric(DUTY, leak_paths("single-acting piston", fitted, DUTY))
    parts = [
        volumetric(DUTY, leak_paths("single-acting piston", {name: one}, DUTY)).slip_flow
        for name, one in fitted.items()
    ]
    assert both.slip_flow == pytest.approx(sum(parts))


def test_compression_by_the_mass_in_the_chamber():
    # densities at inlet and outlet; chamber and clearance full at the inlet, the clearance left
    # full at the outlet: what is gone is delivered
    duty = replace(DUTY, outlet_pressure=400e5, air_share=0.03, air_exponent=1.2)
    liquid = 0.97 * (1.0 - 400e5 / 2.2e9)
    air = 0.03 * (101325.0 / (101325.0 + 400e5)) ** (1.0 / 1.2)
    shrunk = liquid + air  # of a unit volume at the inlet
    delivered = 1.8 * shrunk - 0.8
    found = volumetric(duty)
    assert found.efficiency == pytest.approx(delivered, rel=1e-12)
    drawn = 1.8 - 0.8 / shrunk
    assert found.inlet_efficiency == pytest.approx(drawn, rel=1e-12)


def test_a_chamber_full_of_air_and_clearance_delivers_nothing():
    locked = volumetric(replace(DUTY, air_share=0.6, clearance_ratio=2.0))
    assert not locked.delivers
    assert locked.flow == locked.efficiency == 0.0
    assert locked.balance < 0.0


def test_own_viscosity_share_and_wall_speed_of_a_path():
    gap = Gap(0.06, 3e-5, 0.05)
    own = LeakPath("seal", gap, 10e5, "down-stroke", share=0.3, viscosity=2.0, wall_speed=0.1)
    found = volumetric(DUTY, (own,))
    expected = annular_flow.si(0.06, 3e-5, 0.05, 10e5, 2.0, 0.0, 0.1) * 0.3
    assert found.slip_flow == pytest.approx(expected, rel=1e-4)


@given(heights, st.floats(1.02, 3.0), viscosities)
@settings(max_examples=60, deadline=None)
def test_more_clearance_more_slip_and_thicker_less(height, more, viscosity):
    def slip(gap, thickness):
        duty = replace(DUTY, viscosity=thickness)
        fitted = {**WORN, "piston seal": Gap(0.0634, gap, 0.02, 1.0)}
        return volumetric(duty, leak_paths("double-acting piston", fitted, duty)).slip_flow

    base = slip(height, viscosity)
    assert slip(more * height, viscosity) > base
    assert slip(height, more * viscosity) < base


@given(heights, st.sampled_from([0.0, 0.3, 1.0]), viscosities)
@settings(max_examples=60, deadline=None)
def test_inverse_gives_the_clearance_back(height, epsilon, viscosity):
    duty = replace(DUTY, viscosity=viscosity, displacement=0.02)
    fitted = {**WORN, "piston seal": Gap(0.0634, height, 0.02, epsilon)}
    paths = leak_paths("double-acting piston", fitted, duty)
    wanted = volumetric(duty, paths).efficiency
    measured = tuple(
        replace(p, passage=Gap(0.0634, 4e-5, 0.02, epsilon)) if p.name == "piston seal" else p
        for p in paths
    )
    limit = clearance_for_efficiency(duty, measured, "piston seal", wanted)
    # the efficiency carries 16 digits, of which the seal's slip is the smaller part
    slip = 1.0 - wanted - 20e5 / 2.2e9 * 1.8
    assert limit.height == pytest.approx(height, rel=max(1e-8, 1e-14 / abs(slip)), abs=2e-10)


def test_limit_is_given_for_bore_and_part():
    limit = clearance_for_efficiency(DUTY, PATHS, "piston seal", 0.80)
    assert limit.bore - 0.0633 == pytest.approx(limit.diametral)
    assert 0.0635 - limit.part == pytest.approx(limit.diametral)
    worn = {**WORN, "piston seal": Gap(0.0634, limit.height, 0.02, 1.0)}
    at_limit = volumetric(DUTY, leak_paths("double-acting piston", worn, DUTY))
    assert at_limit.efficiency == pytest.approx(0.80, abs=1e-9)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: leak_paths("double-acting piston", {"piston ring": Gap(0.06, 1e-5, 0.02)}, DUTY),
         "upper inlet check"),
        (lambda: places("rotary"), "no architecture 'rotary'"),
        (lambda: places("plungers", 0), "0 plungers"),
        (lambda: volumetric(DUTY, PATHS + PATHS[:1]), "given twice"),
        (lambda: clearance_for_efficiency(DUTY, PATHS, "upper inlet check", 0.9), "no gap named"),
        (lambda: clearance_for_efficiency(DUTY, PATHS, "piston seal", 0.9999), "out of reach"),
        (lambda: clearance_for_efficiency(
            replace(DUTY, outlet_pressure=1.0, viscosity=1e6), PATHS, "rod packing", 0.001),
         "no clearance"),
        (lambda: clearance_for_efficiency(DUTY, PATHS, "piston seal", 1.5), "wanted efficiency"),
        (lambda: replace(DUTY, rate=0.0), "rate is 0"),
        (lambda: replace(DUTY, inlet_pressure=30e5), "not above the outlet"),
        (lambda: replace(DUTY, inlet_pressure=-2e5), "full vacuum"),
        (lambda: replace(DUTY, bulk_modulus=1e6), "above the pressure rise"),
        (lambda: replace(DUTY, back_flows={"inlet check": -1e-6}), "back-flow of the inlet check"),
        (lambda: LeakPath("seal", Gap(0.06, 1e-5, 0.02), 1e5, "up-stroke", share=1.5), "share"),
    ],
)  # fmt: skip
def test_refusals_say_what_was_given(call, said):
    with pytest.raises(ValueError, match=said):
        call()


def test_compression_needs_a_bulk_modulus():
    assert squeeze_loss(replace(DUTY, bulk_modulus=math.inf)) == (0.0, 0.0)
