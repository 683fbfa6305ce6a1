"""One unit diagnosed: what leads, what is missing, what contradicts."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.calculators.bench_card import card
from rebuildbook.calculators.diagnosis import Explanation, diagnose
from rebuildbook.calculators.drive import double_acting_areas
from rebuildbook.calculators.fault_grid import Prior, build_grid
from rebuildbook.calculators.pump_units import double_acting, plunger

PUMP = double_acting(
    double_acting_areas(0.08, 0.03), double_acting_areas(0.16, 0.03),
    stroke=0.12, rate=0.7, supply=4e5,
)  # fmt: skip
CARD = card(PUMP)
GRID = build_grid(CARD)
UP, DOWN = "creep, up-stroke", "creep, down-stroke"
FALL = "pressure lost, drive vented after the up-stroke"


def readings(own=CARD, names=None, **shares):
    severities = np.zeros(len(own.pump.faults))
    for name, share in shares.items():
        severities[own.pump.fault(name.replace("_", " "))] = share
    values = dict(zip(own.names, own.predict(severities).tolist(), strict=True))
    return {name: values[name] for name in names or own.usual}


def found(values):
    return diagnose(CARD, values, grid=GRID)


def test_a_healthy_pump_is_called_healthy():
    result = found(readings())
    assert result.explanations[0].groups == ()
    assert result.explanations[0].said == "no fault shown"
    assert result.explanations[0].probability > 0.95
    assert result.best.faults == ()
    assert result.best.chi_square == pytest.approx(0.0, abs=1e-12)
    assert result.warning == ""


@pytest.mark.parametrize("share", [0.04, 0.1, 0.3])
def test_the_severity_of_a_fault_is_found(share):
    result = found(readings(piston_seal=share))
    assert result.explanations[0].groups == (("piston seal",),)
    assert result.single.faults[0].name == "piston seal"
    assert result.single.faults[0].severity == pytest.approx(share, rel=1e-3)
    assert result.single.holds


def test_checks_of_one_stroke_lead_as_a_group_with_even_odds():
    result = found(readings(upper_inlet=0.1))
    leader = result.explanations[0]
    assert leader.groups == (("upper inlet", "lower outlet"),)
    assert leader.probability > 0.9
    first, second = leader.hypotheses[:2]
    assert {first[0], second[0]} == {("upper inlet",), ("lower outlet",)}
    assert first[1] == pytest.approx(second[1], rel=0.05)


def test_probabilities_add_up_and_are_in_order():
    result = found(readings(lower_inlet=0.1))
    parts = [one.probability for one in result.explanations]
    assert sum(parts) == pytest.approx(1.0)
    assert parts == sorted(parts, reverse=True)
    for one in result.explanations:
        assert sum(p for _, p in one.hypotheses) == pytest.approx(one.probability)
    assert sum(one.probability for one in result.leading) >= 0.95


def test_two_faults_at_once_are_both_named():
    result = found(readings(piston_seal=0.15, friction=0.25))
    assert {"piston seal", "friction"} <= result.explanations[0].names()
    assert not result.single.holds
    assert result.warning == "no single fault explains these readings; two at once do"
    assert {one.name for one in result.best.faults} == {"piston seal", "friction"}


def test_readings_that_contradict_one_another_are_flagged():
    """Fast creep on both strokes, and yet full flow and a line that holds: nothing does that."""
    values = readings()
    values.update({UP: 0.05, "air at stall, up-stroke": 0.0, "flow": 1.05 * values["flow"]})
    result = found(values)
    assert not result.single.holds
    assert not result.pair.holds
    assert result.warning.startswith("no single fault explains these readings, nor do two")
    assert max(abs(one.off) for one in result.compared) > 3.0


@pytest.mark.parametrize("missing", [None, math.nan])
def test_a_missing_reading_is_the_same_as_one_left_out(missing):
    values = readings(piston_seal=0.1)
    left_out = {name: value for name, value in values.items() if name != "flow"}
    one, two = found({**values, "flow": missing}), found(left_out)
    assert one.missing == ("flow",) == two.missing
    assert one.explanations == two.explanations


def test_few_readings_say_what_they_can_tell_and_no_more():
    result = found({UP: 0.02, DOWN: 0.0})
    assert result.explanations[0].groups == (("upper inlet", "lower outlet", "rod packing"),)
    assert set(result.groups.unseen) == {"air valve", "air piston seal", "friction"}
    assert result.warning == ""


def test_creep_on_both_strokes_is_the_piston_seal_before_two_checks():
    """Common practice, no source; the line holds, so it is not the relief."""
    seal = readings(piston_seal=0.1)
    result = found({name: seal[name] for name in (UP, DOWN, FALL)})
    assert result.explanations[0].groups == (("piston seal",),)


@settings(max_examples=15)
@given(st.floats(0.002, 0.03), st.floats(1.2, 3.0))
def test_the_more_it_creeps_the_less_it_is_healthy(creep, factor):
    def healthy(speed):
        result = found({UP: speed, DOWN: 0.0})
        return next(one.probability for one in result.explanations if one.groups == ())

    assert healthy(creep * factor) <= healthy(creep) + 1e-12


def test_expected_and_read_stand_side_by_side():
    values = readings(lower_inlet=0.1)
    for one in found(values).compared:
        assert one.read == values[one.name]
        assert one.expected == pytest.approx(one.read, rel=1e-3, abs=0.02 * one.error)
        assert one.off == pytest.approx((one.read - one.expected) / one.error)
        assert one.healthy == pytest.approx(CARD.healthy()[one.name])


def test_a_prior_moves_what_the_readings_leave_open():
    values = readings(names=["flow"], upper_inlet=0.05)
    worn = diagnose(CARD, values, prior=Prior(0.05, 0.6, 0.35))
    new = diagnose(CARD, values, prior=Prior(0.9, 0.08, 0.02))

    def healthy(result):
        return next(p for one in result.explanations for f, p in one.hypotheses if f == ())

    assert healthy(worn) < healthy(new)


def test_a_plunger_pump_is_diagnosed_by_its_own_card():
    own = card(plunger(2.8e-4, stroke=0.025, rate=9.0, pressure=7e6, plungers=3))
    result = diagnose(own, readings(own, packing_2=0.05))
    assert result.explanations[0].groups == (("packing 2",),)


def test_bad_readings_are_refused():
    with pytest.raises(ValueError, match="no reading 'creep' on this pump's card"):
        found({"creep": 0.0})
    with pytest.raises(ValueError, match="flow is inf"):
        found({"flow": math.inf})
    with pytest.raises(ValueError, match="no reading is given"):
        found({"flow": None})


def test_a_fault_that_the_readings_all_but_rule_out_is_not_named():
    hypotheses = ((("inlet",), 0.6), (("outlet",), 0.3), (("packing",), 0.001))
    first = Explanation((("inlet", "outlet", "packing"),), 0.901, hypotheses)
    assert first.likely().said == "inlet or outlet"
    assert first.likely().hypotheses == hypotheses
    assert Explanation((), 1.0, (((), 1.0),)).likely().said == "no fault shown"
