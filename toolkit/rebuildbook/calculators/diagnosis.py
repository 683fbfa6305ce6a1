"""What is wrong with a pump: hypotheses ranked by the bench's readings, and how well the best fits.

    >>> from rebuildbook.calculators.bench_card import card
    >>> from rebuildbook.calculators.drive import double_acting_areas
    >>> from rebuildbook.calculators.pump_units import double_acting
    >>> pump = double_acting(double_acting_areas(0.08, 0.03), double_acting_areas(0.16, 0.03),
    ...                      stroke=0.12, rate=40 / 60, supply=4e5)
    >>> found = diagnose(card(pump), {"creep, up-stroke": 0.02, "creep, down-stroke": 0.0,
    ...                               "weep, rod packing": 0.0})
    >>> found.leading[0].groups
    (('upper inlet', 'lower outlet'),)
    >>> found.leading[0].said
    'upper inlet or lower outlet'

The readings are independent normal about their prediction (relative error and floor); the ranking
is Bayes' rule with the severity averaged over (`fault_grid`). Faults that the readings taken cannot
tell apart are ranked as one (`fault_groups`). The fit is the least χ² over the severity: where its
probability is below 1 in 1000, the readings contradict the hypothesis.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy import optimize
from scipy.special import gammaincc

from rebuildbook.calculators.bench_card import RELATIVE_NOISE, Card
from rebuildbook.calculators.fault_grid import (
    Grid,
    Prior,
    build_grid,
    likelihood,
    log_posterior_cells,
)
from rebuildbook.calculators.fault_groups import Groups, group_faults
from rebuildbook.calculators.pump_model import Array

LEADING = 0.95  # the leading explanations add up to at least this
MISFIT = 1e-3
HEALTHY = "no fault shown"
_TRIED = 4  # hypotheses of each size that are fitted closely

Key = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Found:
    """One fault of a fitted hypothesis: its name and severity, a share (see the pump's faults)."""

    name: str
    severity: float


@dataclass(frozen=True, slots=True)
class Fit:
    """The best severities of one hypothesis, its χ² and how likely so large a χ² is by chance."""

    faults: tuple[Found, ...]
    chi_square: float
    freedom: int
    probability: float

    @property
    def holds(self) -> bool:
        """Whether the readings could come from this hypothesis."""
        return self.probability >= MISFIT


@dataclass(frozen=True, slots=True)
class Explanation:
    """What may be wrong, as far as the readings tell: nothing, one of a group, or one of each.

    ``hypotheses`` are the faults meant with the probability of each, the likeliest first.
    """

    groups: Key
    probability: float
    hypotheses: tuple[tuple[tuple[str, ...], float], ...]

    @property
    def said(self) -> str:
        """The explanation in words."""
        words = [" or ".join(group) for group in self.groups]
        if len(words) > 1:
            words = [
                f"({word})" if len(group) > 1 else word
                for word, group in zip(words, self.groups, strict=True)
            ]
        return " and ".join(words) or HEALTHY

    def names(self) -> frozenset[str]:
        """All faults that this explanation names."""
        return frozenset(name for group in self.groups for name in group)


@dataclass(frozen=True, slots=True)
class Compared:
    """One reading beside what was expected of the best hypothesis and of a healthy pump; SI.

    ``error`` is the reading's standard error, ``off`` how many of them it lies from expected.
    """

    name: str
    unit: str
    read: float
    expected: float
    healthy: float
    error: float
    off: float


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Ranked explanations, the groups behind them, and the fit.

    ``best`` is the fit shown in ``compared``; ``single`` the best of healthy and single faults,
    ``pair`` that of two at once, None where not tried. ``warning`` is empty where a single fault
    or none fits; ``missing`` are the readings of the usual card not taken.
    """

    explanations: tuple[Explanation, ...]
    groups: Groups
    best: Fit
    single: Fit
    pair: Fit | None
    compared: tuple[Compared, ...]
    missing: tuple[str, ...]
    warning: str
    readings: tuple[tuple[str, float], ...]
    grid: Grid = field(repr=False, compare=False)

    @property
    def leading(self) -> tuple[Explanation, ...]:
        """The fewest explanations that together are at least 95 % likely."""
        total, kept = 0.0, []
        for explanation in self.explanations:
            kept.append(explanation)
            total += explanation.probability
            if total >= LEADING:
                break
        return tuple(kept)


def diagnose(
    card: Card,
    readings: Mapping[str, float | None],
    noise: float = RELATIVE_NOISE,
    prior: Prior | None = None,
    grid: Grid | None = None,
) -> Diagnosis:
    """Rank what may be wrong with the pump of ``card`` by ``readings`` in SI units.

    Any of the card's readings may be missing (left out, None or not a number). ``noise`` is the
    relative error of a reading; ``grid``, made before with `build_grid`, saves time where many
    units of one model are diagnosed and then stands for noise and prior. Raises ValueError for a
    reading the card does not have, for an infinite one, and where none is given.
    """
    taken = taken_readings(card, readings)
    laid = grid or build_grid(card, noise, prior)
    places = card.places(taken)
    values = np.array(list(taken.values()))
    groups = group_faults(laid, places)
    model = likelihood(laid, places)
    cells = np.exp(log_posterior_cells(laid, values[np.newaxis], model)[0])
    probabilities = np.add.reduceat(cells, laid.starts)
    explanations = _explain(laid, groups, probabilities)
    single, pair = _fits(laid, values, places, cells, probabilities)
    best = pair if pair is not None and _needs(explanations[0], single) else single
    return Diagnosis(
        explanations=explanations,
        groups=groups,
        best=best,
        single=single,
        pair=pair,
        compared=_compare(laid, taken, best),
        missing=tuple(name for name in card.usual if name not in taken),
        warning=_warning(single, pair),
        readings=tuple(taken.items()),
        grid=laid,
    )


def taken_readings(card: Card, readings: Mapping[str, float | None]) -> dict[str, float]:
    """Keep the readings that were taken, in the order of the card."""
    card.places(readings)
    taken = {
        name: float(readings[name] or 0.0)
        for name in card.names
        if readings.get(name) is not None and not math.isnan(float(readings[name] or 0.0))
    }
    for name, value in taken.items():
        if math.isinf(value):
            raise ValueError(f"{name} is {value}; a reading is a finite number or missing")
    if not taken:
        raise ValueError(f"no reading is given; this pump's card has {list(card.names)}")
    return taken


def _needs(first: Explanation, single: Fit) -> bool:
    """Whether the leading explanation is two faults, or one fault does not fit."""
    return len(first.hypotheses[0][0]) > 1 or not single.holds


def _explain(grid: Grid, groups: Groups, probabilities: Array) -> tuple[Explanation, ...]:
    """Gather hypotheses that the readings cannot part into explanations, the likeliest first."""
    gathered: dict[Key, list[int]] = {}
    for place in range(len(grid.hypotheses)):
        gathered.setdefault(groups.explanation(grid.name(place)), []).append(place)
    found = [
        Explanation(
            key,
            float(probabilities[members].sum()),
            tuple(
                (grid.name(place), float(probabilities[place]))
                for place in sorted(members, key=lambda place: -float(probabilities[place]))
            ),
        )
        for key, members in gathered.items()
    ]
    return tuple(sorted(found, key=lambda one: -one.probability))


def _fits(
    grid: Grid, values: Array, places: list[int], cells: Array, probabilities: Array
) -> tuple[Fit, Fit | None]:
    """Fit the likeliest hypotheses of each size closely; the best fit of each."""
    best: list[Fit | None] = []
    for sizes in ((0, 1), (2,)):
        chosen = [i for i, one in enumerate(grid.hypotheses) if len(one) in sizes]
        # what fits best need not be what is likeliest: both the posterior and χ² have their say
        distance = _distance(grid, values, places)
        near = [float(distance[grid.owner == i].min()) for i in chosen]
        likely = sorted(chosen, key=lambda i: -float(probabilities[i]))[:_TRIED]
        close = [chosen[i] for i in np.argsort(near)[:_TRIED]]
        fits = [_fit(grid, values, places, i, distance) for i in dict.fromkeys(likely + close)]
        best.append(max(fits, key=lambda fit: fit.probability) if fits else None)
    single = best[0]
    if single is None:
        raise ValueError("a grid without single faults cannot be diagnosed from")
    return single, best[1]


def _distance(grid: Grid, values: Array, places: list[int]) -> Array:
    off = (values - grid.means[:, places]) / grid.errors[:, places]
    distance: Array = (off**2).sum(axis=1)
    return distance


def _fit(grid: Grid, values: Array, places: list[int], hypothesis: int, distance: Array) -> Fit:
    """Least χ² over the severities of one hypothesis, within the range that matters."""
    members = list(grid.hypotheses[hypothesis])
    rows = np.flatnonzero(grid.owner == hypothesis)
    start = grid.severities[rows[int(np.argmin(distance[rows]))]]
    card, pump = grid.card, grid.card.pump
    floors = card.floors[places]
    solve: Any = optimize.least_squares  # mypy takes it for the module it stands in

    def residuals(logs: Array) -> Array:
        severities = start.copy()
        severities[members] = np.exp(logs)
        predicted = card.predict(severities, places)
        off: Array = (values - predicted) / np.hypot(grid.noise * predicted, floors)
        return off

    logs = np.log(start[members])
    if members:
        bounds = np.log([[pump.faults[i].low, pump.faults[i].high] for i in members]).T
        logs = solve(residuals, logs, bounds=(bounds[0], bounds[1])).x
    chi_square = float((residuals(logs) ** 2).sum())
    freedom = max(len(places) - len(members), 1)
    faults = tuple(
        Found(pump.faults[i].name, float(math.exp(log)))
        for i, log in zip(members, logs, strict=True)
    )
    return Fit(faults, chi_square, freedom, float(gammaincc(0.5 * freedom, 0.5 * chi_square)))


def _compare(grid: Grid, taken: Mapping[str, float], best: Fit) -> tuple[Compared, ...]:
    card = grid.card
    severities = np.zeros(len(card.pump.faults))
    for fault in best.faults:
        severities[card.pump.fault(fault.name)] = fault.severity
    expected, healthy = card.predict(severities), card.predict(np.zeros_like(severities))
    errors = card.noise(expected, grid.noise)
    found = []
    for (name, read), place in zip(taken.items(), card.places(taken), strict=True):
        value, error = float(expected[place]), float(errors[place])
        off = (read - value) / error
        unit = card.readings[place].unit
        found.append(Compared(name, unit, read, value, float(healthy[place]), error, off))
    return tuple(found)


def _warning(single: Fit, pair: Fit | None) -> str:
    if single.holds:
        return ""
    if pair is not None and pair.holds:
        return "no single fault explains these readings; two at once do"
    return "no single fault explains these readings, nor do two at once: take them again"
