"""The rule of twice as slow for 10 K against Arrhenius' equation."""

import math

import pytest

from rebuildbook.calculators.cure import setting_slower

GAS = 8.314  # J/(mol K), CODATA to four figures


@pytest.mark.parametrize("colder", [288.15, 293.15])
def test_twice_for_ten_kelvin_is_about_fifty_kilojoules_near_room_temperature(colder):
    # Atkins, Physical Chemistry, the chapter on rates of reactions (from memory):
    # k = A exp(−E/(R T)); reactions near room temperature with E of 50 to 60 kJ/mol double
    # their rate for 10 K
    warm = colder + 10.0
    ratio = float(setting_slower.si(colder, warm, 2.0))
    energy = GAS * math.log(ratio) / (1.0 / colder - 1.0 / warm)
    assert 45e3 < energy < 60e3


def test_over_twenty_kelvin_the_rule_stays_within_a_tenth_of_arrhenius():
    energy = GAS * math.log(2.0) / (1.0 / 286.15 - 1.0 / 296.15)
    arrhenius = math.exp(energy / GAS * (1.0 / 276.15 - 1.0 / 296.15))
    assert float(setting_slower.si(276.15, 296.15, 2.0)) == pytest.approx(arrhenius, rel=0.1)
