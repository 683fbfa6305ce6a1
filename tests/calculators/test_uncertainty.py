"""Propagation of uncertainty: closed forms, agreement of the two ways, repeatability, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rebuildbook.calculators.preload import preload_from_friction, preload_from_nut_factor
from rebuildbook.calculators.uncertainty import (
    Normal,
    Triangular,
    Uniform,
    preload_by_friction,
    preload_by_nut_factor,
    propagate,
    simulate,
    tightening,
)

M10 = {"pitch": 1.5e-3, "pitch_diameter": 9.026e-3, "bearing_diameter": 12.8e-3}
values = st.floats(-1e3, 1e3)
spreads = st.floats(0.01, 100.0)


def itself(x):
    return x


@pytest.mark.parametrize(
    ("given_input", "reference"),
    [
        (Normal(3.0, 0.5), stats.norm(3.0, 0.5)),
        (Uniform(-1.0, 4.0), stats.uniform(-1.0, 5.0)),
        (Triangular(0.14, 0.20, 0.30), stats.triang(0.06 / 0.16, 0.14, 0.16)),
    ],
)
def test_inputs_are_the_distributions_they_say(given_input, reference):
    assert given_input.mean == pytest.approx(reference.mean())
    assert given_input.std == pytest.approx(reference.std())
    run = simulate(itself, {"x": given_input}, draws=200_000)
    assert stats.kstest(run.draws[::20], reference.cdf).pvalue > 1e-4
    assert (run.low, run.high) == pytest.approx(reference.interval(0.95), rel=0.02)
    assert run.quantile(0.5) == pytest.approx(reference.median(), rel=0.01)


@given(values, spreads, values, spreads, st.floats(-5.0, 5.0))
def test_linear_models_add_in_squares(mean_a, std_a, mean_b, std_b, slope):
    inputs = {"a": Normal(mean_a, std_a), "b": Normal(mean_b, std_b)}
    found = propagate(lambda a, b: a + slope * b, inputs)
    assert found.value == pytest.approx(mean_a + slope * mean_b, abs=1e-9)
    assert found.std == pytest.approx(math.hypot(std_a, slope * std_b), rel=1e-6)


def test_both_ways_agree_within_a_hundredth_on_a_linear_case():
    inputs = {"a": Normal(10.0, 0.3), "b": Uniform(1.0, 2.0), "c": Triangular(0.0, 1.0, 2.0)}

    def model(a, b, c):
        return 2.0 * a - 0.5 * b + c + 4.0

    gum, run = propagate(model, inputs), simulate(model, inputs)
    assert run.mean == pytest.approx(gum.value, rel=0.01)
    assert run.std == pytest.approx(gum.std, rel=0.01)
    assert run.high - run.low == pytest.approx(gum.high - gum.low, rel=0.01)


def test_contributions_are_those_of_the_partial_derivatives():
    inputs = {"a": Normal(4.0, 0.1), "b": Normal(5.0, 0.2), "c": 7.0}
    found = propagate(lambda a, b, c: a * b + c, inputs)
    assert found.contributions == pytest.approx({"a": 0.5, "b": 0.8})


def test_skewed_results_keep_their_skew():
    # the square of a standard normal: chi-squared with one degree of freedom
    run = simulate(lambda x: x**2, {"x": Normal(0.0, 1.0)})
    assert (run.low, run.high) == pytest.approx(stats.chi2(1).interval(0.95), rel=0.03)
    narrow = simulate(lambda x: x**2, {"x": Normal(0.0, 1.0)}, interval="shortest")
    assert narrow.low == pytest.approx(0.0, abs=1e-6)
    assert narrow.high == pytest.approx(stats.chi2(1).ppf(0.95), rel=0.01)
    assert narrow.high - narrow.low < run.high - run.low


def test_shares_past_a_limit():
    run = simulate(itself, {"x": Normal(0.0, 1.0)})
    assert run.below(-1.0) == pytest.approx(stats.norm.cdf(-1.0), abs=2e-3)
    assert run.above(2.0) == pytest.approx(stats.norm.sf(2.0), abs=1e-3)
    assert run.below(-20.0) == run.above(20.0) == 0.0
    assert run.below(0.3) + run.above(0.3) == pytest.approx(1.0)
    assert run.resolution == pytest.approx(3e-6)


def test_the_same_seed_gives_the_same_trials_another_seed_others():
    inputs = {"x": Normal(0.0, 1.0), "y": Uniform(0.0, 1.0)}

    def model(x, y):
        return x + y

    first, again = simulate(model, inputs, draws=5000), simulate(model, inputs, draws=5000)
    assert np.array_equal(first.draws, again.draws)
    assert not np.array_equal(first.draws, simulate(model, inputs, draws=5000, seed=7).draws)
    turned = simulate(model, dict(reversed(inputs.items())), draws=5000)
    assert np.array_equal(first.draws, turned.draws)


def test_two_inputs_alike_are_not_the_same_trials():
    run = simulate(lambda x, y: x - y, {"x": Uniform(0.0, 1.0), "y": Uniform(0.0, 1.0)})
    assert run.std == pytest.approx(math.sqrt(2.0 / 12.0), rel=0.01)


def test_certain_inputs_give_a_certain_result():
    inputs = {"a": 2.0, "b": Uniform(3.0, 3.0), "c": Triangular(4.0, 4.0, 4.0)}

    def model(a, b, c):
        return a * b * c

    run, gum = simulate(model, inputs, draws=1000), propagate(model, inputs)
    assert (run.low, run.mean, run.high) == pytest.approx((24.0, 24.0, 24.0))
    assert (gum.low, gum.value, gum.high) == pytest.approx((24.0, 24.0, 24.0))
    assert gum.contributions == {}


def test_tightening_spreads_by_accuracy_and_half_a_step():
    inputs = tightening(50.0, accuracy=0.04, step=2.0)
    assert inputs == {"torque": Uniform(48.0, 52.0), "reading": Uniform(-1.0, 1.0)}


@given(st.floats(5.0, 100.0), st.floats(0.0, 0.1), st.floats(0.0, 1.0))
def test_no_trial_lies_past_the_worst_case(torque, accuracy, step):
    inputs = {**tightening(torque, accuracy, step), "nut_factor": Triangular(0.14, 0.18, 0.22)}
    run = simulate(preload_by_nut_factor(0.010), inputs, draws=2000)
    low = preload_from_nut_factor.si(torque * (1 - accuracy) - step / 2, 0.22, 0.010)
    high = preload_from_nut_factor.si(torque * (1 + accuracy) + step / 2, 0.14, 0.010)
    assert low * (1 - 1e-9) <= run.draws[0] <= run.draws[-1] <= high * (1 + 1e-9)


def test_losses_and_prevailing_torque_lower_the_preload():
    inputs = {"torque": 40.0, "nut_factor": 0.2, "prevailing_torque": 4.0, "loss": 0.1}
    found = propagate(preload_by_nut_factor(0.010), inputs)
    assert found.value == pytest.approx(0.9 * 36.0 / (0.2 * 0.010))


def test_friction_model_is_the_formula():
    inputs = {"torque": 48.0, "thread_friction": 0.12, "bearing_friction": 0.10, "loss": 0.05}
    found = propagate(preload_by_friction(**M10), inputs)
    formula = preload_from_friction.si(48.0, thread_friction=0.12, bearing_friction=0.10, **M10)
    assert found.value == pytest.approx(0.95 * formula)


def test_one_lubricant_on_both_faces_scatters_wider():
    spread = Triangular(0.08, 0.12, 0.16)
    model = preload_by_friction(**M10)
    apart = simulate(model, {"torque": 48.0, "thread_friction": spread, "bearing_friction": spread})
    together = simulate(model, {"torque": 48.0, "thread_friction": spread})
    assert together.std > 1.3 * apart.std
    assert together.mean == pytest.approx(apart.mean, rel=0.02)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Normal(1.0, -0.1), "standard uncertainty is -0.1"),
        (lambda: Uniform(2.0, 1.0), "limits 2, 1 do not rise"),
        (lambda: Triangular(0.1, 0.3, 0.2), "limits 0.1, 0.3, 0.2 do not rise"),
        (lambda: Uniform(0.0, math.inf), "limits 0, inf do not rise"),
        (lambda: simulate(itself, {"x": 1.0}, draws=10), "10 draws tell too little"),
        (lambda: simulate(itself, {"x": 1.0}, coverage=1.0), "coverage is 1"),
        (lambda: propagate(itself, {"x": 1.0}, coverage=0.2), "coverage is 0.2"),
        (lambda: simulate(itself, {"x": 1.0}, draws=1000).quantile(2.0), "probability is 2"),
        (lambda: tightening(0.0), "torque is 0"),
        (lambda: tightening(10.0, accuracy=0.9), "tool accuracy is 0.9"),
        (lambda: tightening(1.0, step=4.0), "cannot set 1 N·m"),
    ],
)
def test_impossible_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_model_that_gives_no_number_is_refused():
    with (
        np.errstate(invalid="ignore"),
        pytest.raises(ValueError, match="gave no number for some trial"),
    ):
        simulate(lambda x: x**0.5, {"x": Normal(0.0, 1.0)})


def test_friction_drawn_below_zero_is_refused_not_used():
    inputs = {"torque": 48.0, "thread_friction": Normal(0.05, 0.05)}
    with pytest.raises(ValueError, match="thread friction is -"):
        simulate(preload_by_friction(**M10), inputs)
