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

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy.special import gammaincc

from rebuildbook.calculators.bench_card import RELATIVE_NOISE, Card
from rebuildbook.calculators.fault_grid import (
    PAIR_CELLS,
    SINGLE_CELLS,
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
_PART = 0.02  # of the likeliest of a group: a fault with less is not named
_TRIED = 4  # hypotheses of each size that are fitted closely
_POINTS, _ZOOMS, _SHRINK = 9, 8, 0.3  # of the box of a fit: points a side, steps, part kept

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

    def likely(self) -> Explanation:
        """Leave out of each group the faults that the readings at hand all but rule out.

        Groups hold for all severities; what two faults of a group read may differ at this one.
        """
        least = _PART * self.hypotheses[0][1]
        kept = {name for names, share in self.hypotheses if share >= least for name in names}
        groups = tuple(tuple(name for name in group if name in kept) for group in self.groups)
        return replace(self, groups=groups)

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
    ``log_cells`` (1, cells) is the log posterior of the grid's cells.
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
    log_cells: Array = field(repr=False, compare=False)

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
    log_cells = log_posterior_cells(laid, values[np.newaxis], model)
    cells = np.exp(log_cells[0])
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
        log_cells=log_cells,
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
    distance = _distance(grid, values, places)
    for sizes in ((0, 1), (2,)):
        chosen = [i for i, one in enumerate(grid.hypotheses) if len(one) in sizes]
        # what fits best need not be what is likeliest: both the posterior and χ² have their say
        near = [float(distance[grid.owner == i].min()) for i in chosen]
        likely = sorted(chosen, key=lambda i: -float(probabilities[i]))[:_TRIED]
        close = [chosen[i] for i in np.argsort(near)[:_TRIED]]
        tried = list(dict.fromkeys(likely + close))
        fits: list[Fit] = []
        for size in sizes:
            alike = [i for i in tried if len(grid.hypotheses[i]) == size]
            fits += _fit(grid, values, places, distance, alike)
        best.append(max(fits, key=lambda fit: fit.probability) if fits else None)
    single = best[0]
    if single is None:
        raise ValueError("a grid without single faults cannot be diagnosed from")
    return single, best[1]


def _distance(grid: Grid, values: Array, places: list[int]) -> Array:
    off = (values - grid.means[:, places]) / grid.errors[:, places]
    distance: Array = (off**2).sum(axis=1)
    return distance


def _fit(
    grid: Grid, values: Array, places: list[int], distance: Array, tried: list[int]
) -> list[Fit]:
    """Least χ² over the severities of hypotheses of one size, within the range that matters.

    A box of points about the best cell of each is moved to its best point and drawn together,
    but along a side at which that point lies; all hypotheses at once, as one prediction of many
    costs little more than of one.
    """
    if not tried:
        return []
    members = np.array([grid.hypotheses[i] for i in tried], dtype=np.intp)
    count, size = members.shape
    rows = [np.flatnonzero(grid.owner == i) for i in tried]
    starts = grid.severities[[int(own[np.argmin(distance[own])]) for own in rows]]
    logs = np.log(np.take_along_axis(starts, members, axis=1))
    faults = grid.card.pump.faults
    ends = np.log([[(faults[i].low, faults[i].high) for i in own] for own in members])
    ends = ends.reshape(count, size, 2)
    cells = SINGLE_CELLS if size < 2 else PAIR_CELLS
    width = (ends[..., 1] - ends[..., 0]) / cells
    box = np.array(list(itertools.product(np.linspace(-1.0, 1.0, _POINTS), repeat=size)))
    box = box.reshape(_POINTS**size, size)
    every = np.arange(count)
    for _ in range(_ZOOMS if size else 1):
        points = logs[:, np.newaxis] + width[:, np.newaxis] * box
        points = np.clip(points, ends[:, np.newaxis, :, 0], ends[:, np.newaxis, :, 1])
        chi_square = _chi_square(grid, values, places, members, points)
        nearest = chi_square.argmin(axis=1)
        logs = points[every, nearest]
        beyond = (np.abs(box[nearest]) >= 1.0) & (logs > ends[..., 0]) & (logs < ends[..., 1])
        width = np.where(beyond, 1.0, _SHRINK) * width
    least = chi_square.min(axis=1)
    freedom = max(len(places) - size, 1)
    return [
        Fit(
            tuple(
                Found(faults[i].name, float(math.exp(log)))
                for i, log in zip(members[one], logs[one], strict=True)
            ),
            float(least[one]),
            freedom,
            float(gammaincc(0.5 * freedom, 0.5 * least[one])),
        )
        for one in range(count)
    ]


def _chi_square(grid: Grid, values: Array, places: list[int], members: Any, logs: Array) -> Array:
    """χ² (hypotheses, points) of the severities whose logs are (hypotheses, points, faults)."""
    severities = np.zeros((*logs.shape[:2], len(grid.card.pump.faults)))
    np.put_along_axis(
        severities, np.broadcast_to(members[:, np.newaxis], logs.shape), np.exp(logs), axis=2
    )
    predicted = grid.card.predict(severities, places)
    floors = grid.card.floors[places]
    total: Array = (
        ((values - predicted) / np.hypot(grid.noise * predicted, floors)) ** 2
    ).sum(axis=-1)  # fmt: skip
    return total


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
