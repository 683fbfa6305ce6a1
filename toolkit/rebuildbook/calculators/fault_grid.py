"""Hypotheses of what is wrong, laid out over their severities, and how likely readings are on each.

A hypothesis is no fault, one fault, or two at once. Each severity has a log-uniform prior over the
range that matters, cut into cells equally wide in ln s. Within a cell the prediction is taken as
linear in ln s, so that a cell's readings have the mean m of its centre and the covariance

    Σ = diag(σ²) + J diag(h²/12) Jᵀ,

J = ∂m/∂ln s, h the width of the cell, σ the error of each reading; the likelihood of a hypothesis
is the mean over its cells of N(readings; m, Σ): its severity is averaged over, not fitted, so a
pair of faults does not win merely by having more to fit with.

Source: Bayes' rule and the marginal likelihood, any textbook of statistics.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rebuildbook.calculators.bench_card import RELATIVE_NOISE, Card
from rebuildbook.calculators.bounds import positive
from rebuildbook.calculators.pump_model import Array

Index = NDArray[np.intp]
Hypothesis = tuple[int, ...]

SINGLE_CELLS, PAIR_CELLS = 48, 12
_STEP = 1e-4  # in ln s, for the slope
_WORK = 4_000_000  # numbers held at once


@dataclass(frozen=True, slots=True)
class Prior:
    """How likely it is before any reading that nothing, one thing or two things are wrong.

    What a shop meets; the shares are spread evenly over the faults and over the pairs. Common
    practice, no source.
    """

    healthy: float = 0.5
    one: float = 0.4
    two: float = 0.1

    def __post_init__(self) -> None:
        for name in self.__slots__:
            positive(name, getattr(self, name))


@dataclass(frozen=True, slots=True)
class Grid:
    """Cells of all hypotheses of one card, with what every reading would be in each.

    ``severities`` (cells, faults), ``owner`` (cells) the hypothesis of a cell, ``means`` (cells,
    readings), ``slopes`` (cells, readings, 2) and ``spread`` (cells, 2) the variance of ln s in a
    cell; ``errors`` (cells, readings), ``noise`` their relative part. ``log_prior`` (hypotheses)
    and ``starts``, the first cell of each hypothesis.
    """

    card: Card
    hypotheses: tuple[Hypothesis, ...]
    severities: Array
    owner: Index
    starts: Index
    log_prior: Array
    means: Array
    slopes: Array
    spread: Array
    errors: Array
    noise: float

    @property
    def log_weight(self) -> Array:
        """Log of the prior of each cell: that of its hypothesis spread over its cells."""
        counts = np.diff(np.append(self.starts, len(self.owner)))
        weight: Array = (self.log_prior - np.log(counts))[self.owner]
        return weight

    def name(self, hypothesis: int) -> tuple[str, ...]:
        """Names of the faults of a hypothesis."""
        return tuple(self.card.pump.faults[i].name for i in self.hypotheses[hypothesis])


def build_grid(
    card: Card, noise: float = RELATIVE_NOISE, prior: Prior | None = None, pairs: bool = True
) -> Grid:
    """Lay out all hypotheses of a card; ``noise`` is the relative error of a reading."""
    positive("noise", noise)
    count = len(card.pump.faults)
    hypotheses: list[Hypothesis] = [(), *((i,) for i in range(count))]
    if pairs:
        hypotheses += list(itertools.combinations(range(count), 2))
    blocks = [_cells(card, hypothesis) for hypothesis in hypotheses]
    severities = np.concatenate([block[0] for block in blocks])
    spread = np.concatenate([block[1] for block in blocks])
    sizes = [len(block[0]) for block in blocks]
    owner = np.repeat(np.arange(len(hypotheses)), sizes)
    means = card.predict(severities)
    return Grid(
        card=card,
        hypotheses=tuple(hypotheses),
        severities=severities,
        owner=owner,
        starts=np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.intp),
        log_prior=_log_prior(prior or Prior(), hypotheses),
        means=means,
        slopes=_slopes(card, severities, means, hypotheses, owner),
        spread=spread,
        errors=card.noise(means, noise),
        noise=noise,
    )


def _log_prior(prior: Prior, hypotheses: list[Hypothesis]) -> Array:
    sizes = [len(hypothesis) for hypothesis in hypotheses]
    shares = (prior.healthy, prior.one, prior.two)
    weights = np.array([shares[size] / sizes.count(size) for size in sizes])
    log: Array = np.log(weights / weights.sum())
    return log


def _cells(card: Card, hypothesis: Hypothesis) -> tuple[Array, Array]:
    """Severities at the centres of a hypothesis' cells, and the variance of ln s in each."""
    count = SINGLE_CELLS if len(hypothesis) < 2 else PAIR_CELLS
    axes, widths = [], []
    for place in hypothesis:
        fault = card.pump.faults[place]
        width = math.log(fault.high / fault.low) / count
        axes.append(fault.low * np.exp(width * (np.arange(count) + 0.5)))
        widths.append(width)
    mesh = np.array(list(itertools.product(*axes))).reshape(count ** len(axes), len(axes))
    severities = np.zeros((len(mesh), len(card.pump.faults)))
    severities[:, list(hypothesis)] = mesh
    spread = np.zeros((len(mesh), 2))
    spread[:, : len(widths)] = np.array(widths) ** 2 / 12.0
    return severities, spread


def _slopes(
    card: Card, severities: Array, means: Array, hypotheses: list[Hypothesis], owner: Index
) -> Array:
    slopes = np.zeros((*means.shape, 2))
    for order in range(2):
        column = np.array([h[order] if len(h) > order else -1 for h in hypotheses])[owner]
        rows = np.flatnonzero(column >= 0)
        if rows.size == 0:
            continue
        moved = severities[rows].copy()
        moved[np.arange(rows.size), column[rows]] *= math.exp(_STEP)
        slopes[rows, :, order] = (card.predict(moved) - means[rows]) / _STEP
    return slopes


@dataclass(frozen=True, slots=True)
class Likelihood:
    """The log likelihood of the cells for some of the readings, as a form ready for many draws.

    ln N = c + Σ bᵢ dᵢ + Σ aᵢⱼ dᵢ dⱼ with d the readings over ``scale``; ``form`` holds a, b and c.
    """

    places: tuple[int, ...]
    scale: Array
    form: Array

    def __call__(self, readings: Array) -> Array:
        """Log likelihood (draws, cells) of readings (draws, readings) in the order of places."""
        features: Array = _features(np.atleast_2d(readings) / self.scale) @ self.form
        return features


def _features(scaled: Array) -> Array:
    upper = np.triu_indices(scaled.shape[1])
    products = scaled[:, upper[0]] * scaled[:, upper[1]]
    return np.concatenate([products, scaled, np.ones((len(scaled), 1))], axis=1)


def likelihood(grid: Grid, places: Iterable[int]) -> Likelihood:
    """Prepare the likelihood of all cells for the readings at ``places``."""
    columns = list(places)
    scale = grid.errors[0, columns]
    mean = grid.means[:, columns] / scale
    slope = grid.slopes[:, columns] / scale[:, np.newaxis]
    drift = slope * np.sqrt(grid.spread)[:, np.newaxis, :]
    own = (grid.errors[:, columns] / scale) ** 2
    steep, log_volume = _by_drift(drift, own)
    pull = mean / own - (steep * np.einsum("kij,ki->kj", steep, mean)[:, np.newaxis]).sum(axis=2)
    constant = -0.5 * (
        (pull * mean).sum(axis=1)
        + log_volume
        + len(columns) * math.log(2.0 * math.pi)
        + 2.0 * np.log(scale).sum()
    )
    first, second = np.triu_indices(len(columns))
    square = (steep[:, first] * steep[:, second]).sum(axis=2)
    square[:, first == second] = 0.5 * (square[:, first == second] - 1.0 / own)
    form = np.concatenate([square, pull, constant[:, np.newaxis]], axis=1).T
    return Likelihood(tuple(columns), scale, np.ascontiguousarray(form))


def _by_drift(drift: Array, own: Array) -> tuple[Array, Array]:
    """Split the inverse of Σ = diag(own) + drift driftᵀ, and give the log of its determinant.

    The inverse is diag(1/own) − steep steepᵀ by Woodbury's identity, as a severity moves at most
    two ways: with M = 1 + driftᵀ diag(1/own) drift = L Lᵀ, steep is diag(1/own) drift L⁻ᵀ and the
    determinant that of M times the product of ``own``.
    """
    pulled = drift / own[:, :, np.newaxis]
    one, both, two = (
        np.einsum("ki,ki->k", pulled[..., a], drift[..., b]) for a, b in ((0, 0), (0, 1), (1, 1))
    )
    root = np.sqrt(1.0 + one)
    cross = both / root
    rest = np.sqrt(1.0 + two - cross**2)
    first = pulled[..., 0] / root[:, np.newaxis]
    second = (pulled[..., 1] - first * cross[:, np.newaxis]) / rest[:, np.newaxis]
    volume: Array = 2.0 * np.log(root * rest) + np.log(own).sum(axis=1)
    return np.stack([first, second], axis=2), volume


def log_posterior_cells(grid: Grid, readings: Array, model: Likelihood) -> Array:
    """Log of the posterior of every cell (draws, cells), each draw adding up to one.

    ``readings`` (draws, readings) stand in the order of the places ``model`` was made for.
    """
    joint = model(readings) + grid.log_weight
    joint -= joint.max(axis=1, keepdims=True)
    joint -= np.log(np.exp(joint).sum(axis=1, keepdims=True))
    return joint


def posterior(grid: Grid, readings: Array, model: Likelihood) -> Array:
    """Probability of every hypothesis (draws, hypotheses); arguments of `log_posterior_cells`."""
    values = np.atleast_2d(readings)
    rows = max(_WORK // len(grid.owner), 1)
    found = np.empty((len(values), len(grid.hypotheses)))
    for begin in range(0, len(values), rows):
        joint = model(values[begin : begin + rows]) + grid.log_weight
        joint -= joint.max(axis=1, keepdims=True)
        found[begin : begin + rows] = np.add.reduceat(np.exp(joint), grid.starts, axis=1)
    whole: Array = found / found.sum(axis=1, keepdims=True)
    return whole
