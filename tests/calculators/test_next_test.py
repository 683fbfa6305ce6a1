"""The next test: it parts what is open, its information is that of a plain simulation."""

import numpy as np
import pytest

from rebuildbook.calculators.bench_card import card
from rebuildbook.calculators.diagnosis import diagnose
from rebuildbook.calculators.drive import double_acting_areas
from rebuildbook.calculators.fault_grid import (
    build_grid,
    likelihood,
    log_posterior_cells,
    posterior,
)
from rebuildbook.calculators.next_test import _keep, next_test, rank_tests
from rebuildbook.calculators.pump_units import differential, double_acting, plunger

AIR = double_acting_areas(0.16, 0.03)
COMMON = {"stroke": 0.12, "rate": 0.7, "supply": 4e5}
FOUR = build_grid(card(double_acting(double_acting_areas(0.08, 0.03), AIR, **COMMON)))
FOOT = build_grid(card(differential(2.8e-3, 1.2e-3, AIR, **COMMON)))
THREE = build_grid(card(plunger(2.8e-4, stroke=0.025, rate=9.0, pressure=7e6, plungers=3)))


def values(grid, fault, share=0.1):
    own = grid.card
    severities = np.zeros(len(own.pump.faults))
    severities[own.pump.fault(fault)] = share
    return dict(zip(own.names, own.predict(severities).tolist(), strict=True))


def usual(grid, fault, share=0.1):
    everything = values(grid, fault, share)
    return {name: everything[name] for name in grid.card.usual}


@pytest.mark.parametrize(
    ("grid", "fault", "other"),
    [
        (FOUR, "upper inlet", "lower outlet"),
        (FOUR, "upper outlet", "lower inlet"),
        (FOUR, "air valve", "air piston seal"),
        (FOOT, "piston check", "piston seal"),
        (THREE, "outlet 2", "inlet 1"),
    ],
)
def test_the_named_test_parts_the_group_whichever_member_it_is(grid, fault, other):
    for planted in (fault, other):
        before = diagnose(grid.card, usual(grid, planted), grid=grid)
        assert {fault, other} <= before.explanations[0].names()
        named = next_test(before)
        everything = values(grid, planted)
        more = {name: everything[name] for name in grid.card.of_test(named.name)}
        after = diagnose(grid.card, {**usual(grid, planted), **more}, grid=grid)
        assert after.explanations[0].groups == ((planted,),)
        assert 0.0 < named.information <= named.open * 1.05


def test_nothing_more_is_asked_once_it_is_settled():
    settled = diagnose(FOUR.card, usual(FOUR, "rod packing"), grid=FOUR)
    assert next_test(settled) is None


def test_a_test_already_done_is_not_named_again():
    everything = values(FOUR, "upper inlet")
    before = diagnose(FOUR.card, usual(FOUR, "upper inlet"), grid=FOUR)
    named = next_test(before)
    reading = FOUR.card.of_test(named.name)[0]
    # a reading that says nothing leaves the question open
    doubtful = 0.5 * everything[reading]
    after = diagnose(FOUR.card, {**usual(FOUR, "upper inlet"), reading: doubtful}, grid=FOUR)
    again = next_test(after)
    assert again is None or again.name != named.name


def test_the_test_says_what_each_candidate_would_read():
    before = diagnose(FOUR.card, usual(FOUR, "upper inlet"), grid=FOUR)
    named = next_test(before)
    assert named.name == "vacuum hold"
    read = {(one.reading, one.faults): one.value for one in named.expected}
    up = "vacuum lost, stopped after the up-stroke"
    assert read[up, ("upper inlet",)] == pytest.approx(values(FOUR, "upper inlet")[up], rel=0.1)
    assert read[up, ("lower outlet",)] == 0.0
    assert "upper inlet or lower outlet" in named.reason or (
        "lower outlet or upper inlet" in named.reason
    )


def test_a_blanked_suction_says_nothing_of_four_balls_on_one_suction():
    """The other chamber draws what leaks back, so the creep goes on whichever check it is."""
    own = FOUR.card
    places = own.places(own.usual)
    read = np.array([list(usual(FOUR, "upper inlet").values())])
    cells = log_posterior_cells(FOUR, read, likelihood(FOUR, places))
    information, now = rank_tests(FOUR, cells, own.tests)
    names = [test.name for test in own.tests]
    assert information[0, names.index("stall with the suction blanked")] < 0.1 * now[0]
    assert information[0, names.index("vacuum hold")] > 0.8 * now[0]


def test_information_is_that_of_a_plain_simulation():
    """Severities and readings drawn from the posterior, and the entropy left counted out."""
    own = FOUR.card
    places = own.places(own.usual)
    read = np.array([list(usual(FOUR, "upper inlet").values())])
    cells = log_posterior_cells(FOUR, read, likelihood(FOUR, places))
    test = next(one for one in own.tests if one.name == "vacuum hold")
    information, now = rank_tests(FOUR, cells, [test])
    generator = np.random.default_rng(3)
    chosen = generator.choice(len(FOUR.owner), 400, p=np.exp(cells[0]))
    truth = own.predict(FOUR.severities[chosen])
    drawn = truth + own.noise(truth) * generator.standard_normal(truth.shape)
    columns = [*places, *own.places(own.of_test(test.name))]
    draws = np.hstack([np.repeat(read, 400, axis=0), drawn[:, columns[len(places) :]]])
    after = posterior(FOUR, draws, likelihood(FOUR, columns))
    left = -(after * np.log2(np.maximum(after, 1e-300))).sum(axis=1).mean()
    whole = np.add.reduceat(np.exp(cells[0]), FOUR.starts)
    before = -(whole * np.log2(np.maximum(whole, 1e-300))).sum()
    assert information[0, 0] == pytest.approx(before - left, abs=0.15)
    assert now[0] == pytest.approx(before, abs=0.15)


def test_hypotheses_that_the_readings_rule_out_carry_no_weight():
    """Readings far from all but one fault leave the others a probability of nought."""
    cells = np.full((1, len(FOUR.owner)), -np.inf)
    cells[0, FOUR.starts[3]] = 0.0
    kept, weight = _keep(FOUR, cells)
    assert weight.sum() == 1.0
    assert weight[0, 0] == 1.0
    assert kept[0, 0] == FOUR.starts[3]
