"""The card: every reading finite and named once, its error, and what a fault does to it."""

import math

import numpy as np
import pytest

from rebuildbook.calculators.bench_card import RELATIVE_NOISE, USUAL, card
from rebuildbook.calculators.drive import double_acting_areas, free_air
from rebuildbook.calculators.pump_units import (
    differential,
    double_acting,
    double_diaphragm,
    plunger,
    single_acting,
)

AIR = double_acting_areas(0.16, 0.03)
COMMON = {"stroke": 0.12, "rate": 0.7, "supply": 4e5}
CARDS = {
    one.pump.architecture: one
    for one in map(
        card,
        [
            double_acting(double_acting_areas(0.08, 0.03), AIR, **COMMON),
            single_acting(2.8e-3, AIR, **COMMON),
            differential(2.8e-3, 1.2e-3, AIR, **COMMON),
            double_diaphragm(0.02, **COMMON),
            plunger(2.8e-4, stroke=0.025, rate=9.0, pressure=7e6, plungers=3),
        ],
    )
}
FOUR = CARDS["double-acting-piston"]


@pytest.mark.parametrize("own", CARDS.values(), ids=CARDS)
def test_readings_are_finite_named_once_and_have_an_error(own):
    severities = np.vstack([np.zeros(len(own.pump.faults)), 0.1 * np.eye(len(own.pump.faults))])
    values = own.predict(severities)
    assert np.isfinite(values).all()
    assert len(set(own.names)) == len(own.names)
    assert (own.noise(values) > 0.0).all()
    assert own.names[: len(own.usual)] == own.usual  # the usual ones first
    assert {reading.test for reading in own.readings} == {USUAL, *(t.name for t in own.tests)}


@pytest.mark.parametrize("own", CARDS.values(), ids=CARDS)
def test_every_fault_shows_in_some_usual_reading(own):
    healthy = own.predict(np.zeros(len(own.pump.faults)))
    usual = own.places(own.usual)
    for place, fault in enumerate(own.pump.faults):
        severities = np.zeros(len(own.pump.faults))
        severities[place] = fault.low
        off = np.abs(own.predict(severities) - healthy) / own.noise(healthy)
        assert off[usual].max() > 2.5, fault.name


def test_a_known_good_ball_takes_its_own_leak_away_and_no_other():
    severities = np.zeros((2, len(FOUR.pump.faults)))
    severities[0, FOUR.pump.fault("upper inlet")] = 0.1
    severities[1, FOUR.pump.fault("lower outlet")] = 0.1
    creep, mended = (
        FOUR.predict(severities)[:, FOUR.places([name])[0]]
        for name in ("creep, up-stroke", "creep with a good upper inlet, up-stroke")
    )
    assert mended[0] < 0.03 * creep[0]
    assert mended[1] == creep[1]


def test_air_while_running_is_the_free_air_of_the_drive():
    swept = 0.12 * (AIR.up + AIR.down)
    expected = 0.7 * float(free_air.si(swept, 4e5))
    assert FOUR.healthy()["air while running"] == pytest.approx(expected)


def test_noise_is_relative_and_floor_together():
    values = np.array(list(FOUR.healthy().values()))
    place = FOUR.places(["flow"])[0]
    expected = math.hypot(RELATIVE_NOISE * values[place], FOUR.floors[place])
    assert FOUR.noise(values)[place] == pytest.approx(expected)


def test_a_reading_that_is_not_on_the_card_is_refused():
    with pytest.raises(ValueError, match="no reading 'oil level' on this pump's card"):
        FOUR.places(["flow", "oil level"])


def test_a_pump_without_relief_has_no_test_of_it():
    bare = card(FOUR.pump.without("relief valve"))
    assert "catch at the relief's return" not in [test.name for test in bare.tests]
