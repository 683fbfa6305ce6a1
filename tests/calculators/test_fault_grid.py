"""The likelihood against quadrature, and what must hold of any posterior."""

import math

import numpy as np
import pytest
from scipy.special import logsumexp
from scipy.stats import multivariate_normal, norm

from rebuildbook.calculators.bench_card import card
from rebuildbook.calculators.drive import double_acting_areas
from rebuildbook.calculators.fault_grid import (
    Prior,
    build_grid,
    likelihood,
    log_posterior_cells,
    posterior,
)
from rebuildbook.calculators.pump_units import double_acting

PUMP = double_acting(
    double_acting_areas(0.08, 0.03), double_acting_areas(0.16, 0.03),
    stroke=0.12, rate=0.7, supply=4e5,
)  # fmt: skip
CARD = card(PUMP)
GRID = build_grid(CARD)
PLACES = CARD.places(CARD.usual)


def reading(seed=0, **shares):
    severities = np.zeros(len(PUMP.faults))
    for name, share in shares.items():
        severities[PUMP.fault(name.replace("_", " "))] = share
    values = CARD.predict(severities)
    return values + CARD.noise(values) * np.random.default_rng(seed).standard_normal(len(values))


def log_density(values, severities):
    """Independent normal readings, written out; rows of severities."""
    predicted = CARD.predict(severities)[:, PLACES]
    errors = np.hypot(0.05 * predicted, CARD.floors[PLACES])
    return norm.logpdf(values[PLACES], predicted, errors).sum(axis=1)


def log_evidence(values, names):
    """Trapezoids over the logs of the severities, fine enough to need no cells."""
    faults = [PUMP.faults[PUMP.fault(name)] for name in names]
    count = 6001 if len(names) == 1 else 301
    parts = [np.linspace(0.0, 1.0, count)] * len(names)
    mesh = np.stack([part.ravel() for part in np.meshgrid(*parts)], axis=1)
    severities = np.zeros((len(mesh), len(PUMP.faults)))
    weight = np.zeros(len(mesh))
    for place, fault in enumerate(faults):
        logs = math.log(fault.low) + mesh[:, place] * math.log(fault.high / fault.low)
        severities[:, PUMP.fault(fault.name)] = np.exp(logs)
        inner = (mesh[:, place] > 0.0) & (mesh[:, place] < 1.0)
        weight += np.log(np.where(inner, 1.0, 0.5) / (count - 1))
    return logsumexp(log_density(values, severities) + weight)


@pytest.mark.parametrize(
    ("names", "shares"),
    [
        (["upper inlet"], [0.1]),
        (["piston seal"], [0.06]),
        (["rod packing"], [0.05]),
        (["friction"], [0.15]),
        (["upper inlet", "lower inlet"], [0.1, 0.2]),
        (["upper inlet", "rod packing"], [0.2, 0.05]),
        (["piston seal", "friction"], [0.1, 0.2]),
    ],
)
def test_the_odds_against_a_healthy_pump_are_those_of_fine_quadrature(names, shares):
    values = reading(4, **dict(zip(names, shares, strict=True)))
    cells = log_posterior_cells(GRID, values[np.newaxis, PLACES], likelihood(GRID, PLACES))[0]
    own = GRID.hypotheses.index(tuple(PUMP.fault(name) for name in names))
    odds = logsumexp(cells[GRID.owner == own]) - cells[0]
    prior = GRID.log_prior[own] - GRID.log_prior[0]
    healthy = log_density(values, np.zeros((1, len(PUMP.faults))))[0]
    expected = log_evidence(values, names) - healthy + prior
    assert odds == pytest.approx(expected, abs=0.2)  # a fifth of e; the cells of a pair are wide


def test_probabilities_are_a_whole_and_do_not_depend_on_the_company():
    draws = np.array([reading(seed, lower_inlet=0.1) for seed in range(5)])[:, PLACES]
    model = likelihood(GRID, PLACES)
    together = posterior(GRID, draws, model)
    assert together.sum(axis=1) == pytest.approx(np.ones(5))
    alone = [posterior(GRID, row, model)[0] for row in draws]
    assert np.array(alone) == pytest.approx(together, abs=1e-12)


def test_prior_is_what_was_given_and_spread_evenly():
    grid = build_grid(CARD, prior=Prior(0.7, 0.2, 0.1))
    prior = np.exp(grid.log_prior)
    sizes = np.array([len(one) for one in grid.hypotheses])
    assert [prior[sizes == size].sum() for size in range(3)] == pytest.approx([0.7, 0.2, 0.1])
    assert np.ptp(prior[sizes == 1]) < 1e-15
    assert np.exp(grid.log_weight).sum() == pytest.approx(1.0)


def test_a_reading_that_no_fault_touches_changes_nothing():
    values = reading(upper_inlet=0.1)
    creep = CARD.places(["creep, up-stroke", "creep, down-stroke"])
    more = [*creep, CARD.places(["air past the air piston seal"])[0]]
    without_air = build_grid(card(PUMP.without("air piston seal")))
    names = without_air.card.names
    assert "air past the air piston seal" not in names
    one = posterior(GRID, values[creep], likelihood(GRID, creep))[0]
    two = posterior(GRID, values[more], likelihood(GRID, more))[0]
    leak, other = (GRID.hypotheses.index((PUMP.fault(n),)) for n in ("upper inlet", "lower outlet"))
    assert two[leak] / two[other] == pytest.approx(one[leak] / one[other], rel=1e-6)


@pytest.mark.parametrize("wrong", [{"healthy": 0.0}, {"two": -0.1}])
def test_a_prior_below_zero_is_refused(wrong):
    with pytest.raises(ValueError, match="must be above zero"):
        Prior(**wrong)


def test_a_cell_is_normal_with_the_drift_of_its_severities():
    """Against the covariance written out: Σ = diag(σ²) + J diag(h²/12) Jᵀ."""
    values, found = reading(seed=4)[PLACES], likelihood(GRID, PLACES)
    told = found(values)[0]
    for cell in (0, int(GRID.starts[2]) + 5, int(GRID.starts[-1]) + 50, len(GRID.owner) - 1):
        error = GRID.errors[cell, PLACES]  # taken as the unit: readings are of very unlike sizes
        slope = GRID.slopes[cell][PLACES] / error[:, np.newaxis]
        covariance = np.eye(len(PLACES)) + slope @ np.diag(GRID.spread[cell]) @ slope.T
        off = (values - GRID.means[cell, PLACES]) / error
        wanted = multivariate_normal.logpdf(off, cov=covariance) - np.log(error).sum()
        assert told[cell] == pytest.approx(wanted, rel=1e-9)
