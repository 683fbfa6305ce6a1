"""Fatigue of preloaded fasteners against published values, each with its source."""

import pytest

from rebuildbook.calculators.fatigue import (
    KSI,
    cycle_stress,
    elliptic_factor,
    endurance_strength,
    gerber_factor,
    goodman_factor,
    rolled_thread_amplitude,
)


# Shigley's Mechanical Engineering Design, 9th ed., example 8-5: 5/8-11 grade 5 cap screw, At =
# 0.226 in², preload 14.4 kip, C = 0.280, load 0 to 5 kip. Points of figure 8-22 read in a public
# copy: A 63.72; B 3.10, 66.82; C (Goodman) 7.55, 71.29; E (Gerber) 11.32, 75.04 ksi.
def test_shigley_example_8_5_stresses():
    stress = cycle_stress(14.4, 0.280, 0.0, 5.0, 0.226)
    assert stress.preload == pytest.approx(63.72, abs=0.005)
    assert stress.amplitude == pytest.approx(3.10, abs=0.005)
    assert stress.midrange == pytest.approx(66.82, abs=0.01)


@pytest.mark.parametrize(
    ("factor", "amplitude", "midrange"),
    [(goodman_factor, 7.55, 71.29), (gerber_factor, 11.32, 75.04)],
)
def test_shigley_example_8_5_where_the_load_line_meets(factor, amplitude, midrange):
    found = factor.si(63.72, 3.10, 66.82, endurance=18.6, tensile_strength=120.0)
    assert found * 3.10 == pytest.approx(amplitude, abs=0.01)
    assert 63.72 + found * 3.10 == pytest.approx(midrange, abs=0.02)


# Shigley, eqs. 8-45 to 8-47 as printed for a repeated load (read in a public copy), against the
# general forms used here.
@pytest.mark.parametrize("preload", [20.0, 45.0, 63.72, 80.0])
def test_general_forms_reduce_to_the_printed_ones(preload):
    se, sut, sp, amplitude = 18.6, 120.0, 85.0, 3.10
    goodman = se * (sut - preload) / (amplitude * (sut + se))
    gerber = (sut * (sut**2 + 4.0 * se * (se + preload)) ** 0.5 - sut**2 - 2.0 * preload * se) / (
        2.0 * amplitude * se
    )
    elliptic = (
        se
        / (amplitude * (sp**2 + se**2))
        * (sp * (sp**2 + se**2 - preload**2) ** 0.5 - preload * se)
    )
    stress = (preload, amplitude, preload + amplitude)
    given = {"endurance": se, "tensile_strength": sut}
    assert goodman_factor.si(*stress, **given) == pytest.approx(goodman)
    assert gerber_factor.si(*stress, **given) == pytest.approx(gerber)
    found = elliptic_factor.si(*stress, endurance=se, proof_strength=sp)
    assert found == pytest.approx(elliptic)


# Shigley, table 8-17, read in a public copy.
@pytest.mark.parametrize(
    ("strength_class", "diameter_mm", "strength"),
    [
        ("grade 5", 15.875, 18.6 * KSI),
        ("grade 5", 31.75, 16.3 * KSI),
        ("grade 7", 25.4, 20.6 * KSI),
        ("grade 8", 25.4, 23.2 * KSI),
        ("8.8", 16.0, 129e6),
        ("9.8", 12.0, 140e6),
        ("10.9", 10.0, 162e6),
        ("12.9", 10.0, 190e6),
    ],
)
def test_shigley_table_8_17(strength_class, diameter_mm, strength):
    assert endurance_strength(strength_class, diameter_mm / 1e3) == pytest.approx(strength)


# VDI 2230 (from memory): the endurance of rolled threads is given as about ±50 MPa, M8 to M16.
@pytest.mark.parametrize("diameter_mm", [8, 10, 12, 16])
def test_rolled_threads_stand_about_fifty_megapascals(diameter_mm):
    amplitude = rolled_thread_amplitude(f"{diameter_mm} mm").to("MPa").magnitude
    assert amplitude == pytest.approx(50.0, rel=0.1)
