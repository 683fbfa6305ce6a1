"""How often the diagnosis is right: faults planted, readings drawn with their errors, and ranked.

Readings are drawn from the same model that the diagnosis uses, so this is the most that the bench's
readings can tell; how well the model tells a real pump is another question, and only units opened
after their diagnosis answer it.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rebuildbook.calculators.bench_card import RELATIVE_NOISE, BenchTest, Card
from rebuildbook.calculators.diagnosis import HEALTHY, LEADING, Key
from rebuildbook.calculators.fault_grid import (
    Grid,
    Index,
    Likelihood,
    likelihood,
    log_posterior_cells,
    posterior,
)
from rebuildbook.calculators.fault_groups import Groups, group_faults
from rebuildbook.calculators.next_test import SETTLED, choose, rank_tests
from rebuildbook.calculators.pump_model import Array

TWO = "two faults"
NO_TEST = "none needed"
_TIE = 1e-3  # of the probability: as good as even


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of the draws of one planted fault, or of a healthy pump; shares from 0 to 1.

    ``first`` and ``first_two``: its group ranks there by the usual card. ``called`` is what single
    hypothesis ranked first, by name. ``named`` are the tests named next with their shares;
    ``after`` and ``called_after`` the fault itself once the named test's reading is added.
    """

    planted: str
    group: tuple[str, ...]
    first: float
    first_two: float
    called: dict[str, float]
    named: dict[str, float]
    after: float
    called_after: dict[str, float]


@dataclass(frozen=True, slots=True)
class PairOutcome:
    """What became of two faults planted at once; shares from 0 to 1.

    ``first``: the first explanation names both. ``leading``: one of the leading explanations does.
    """

    planted: tuple[str, str]
    first: float
    leading: float


def draw_severities(
    card: Card, planted: Sequence[str], draws: int, generator: np.random.Generator
) -> Array:
    """Draw severities log-uniform over the range that matters (draws, faults)."""
    severities = np.zeros((draws, len(card.pump.faults)))
    for name in planted:
        place = card.pump.fault(name)
        fault = card.pump.faults[place]
        part = generator.random(draws)
        severities[:, place] = fault.low * (fault.high / fault.low) ** part
    return severities


def draw_readings(
    card: Card, severities: Array, generator: np.random.Generator, noise: float = RELATIVE_NOISE
) -> Array:
    """Draw all readings of the card with their errors (draws, readings)."""
    predicted = card.predict(severities)
    errors = card.noise(predicted, noise)
    drawn: Array = predicted + errors * generator.standard_normal(predicted.shape)
    return drawn


def explanations(grid: Grid, groups: Groups, probabilities: Array) -> tuple[list[Key], Array]:
    """Add hypotheses up to explanations: their keys, and probabilities (draws, explanations)."""
    keys: dict[Key, int] = {}
    places = np.array(
        [
            keys.setdefault(groups.explanation(grid.name(i)), len(keys))
            for i in range(len(grid.hypotheses))
        ]
    )
    found = np.zeros((len(probabilities), len(keys)))
    for place in range(len(keys)):
        found[:, place] = probabilities[:, places == place].sum(axis=1)
    return list(keys), found


def try_singles(grid: Grid, draws: int, generator: np.random.Generator) -> tuple[Outcome, ...]:
    """Plant nothing, then each fault, ``draws`` times, and follow them through the named test."""
    card = grid.card
    places = card.places(card.usual)
    groups = group_faults(grid, places)
    model = likelihood(grid, places)
    planted = [(), *((fault.name,) for fault in card.pump.faults)]
    readings = [
        draw_readings(card, draw_severities(card, names, draws, generator), generator, grid.noise)
        for names in planted
    ]
    first = [_first_look(grid, one[:, places], model) for one in readings]
    chosen = np.concatenate([one.chosen for one in first])
    before = np.concatenate([one.probabilities for one in first])
    after = _after(grid, np.concatenate(readings), before, chosen)
    return tuple(
        _outcome(grid, groups, names, look, after[place * draws : (place + 1) * draws])
        for place, (names, look) in enumerate(zip(planted, first, strict=True))
    )


@dataclass(frozen=True, slots=True)
class _Look:
    """Probabilities of the hypotheses by the usual card, and the test named (−1 for none)."""

    probabilities: Array
    chosen: Index


def _first_look(grid: Grid, readings: Array, model: Likelihood) -> _Look:
    cells = log_posterior_cells(grid, readings, model)
    probabilities = np.add.reduceat(np.exp(cells), grid.starts, axis=1)
    chosen = np.full(len(readings), -1, dtype=np.intp)
    rows = np.flatnonzero(probabilities.max(axis=1) < SETTLED)
    if rows.size:
        tests = grid.card.tests
        chosen[rows] = choose(rank_tests(grid, cells[rows], tests)[0], tests)
    return _Look(probabilities, chosen)


def _outcome(
    grid: Grid, groups: Groups, names: tuple[str, ...], look: _Look, later: Array
) -> Outcome:
    keys, found = explanations(grid, groups, look.probabilities)
    key = groups.explanation(names)
    rank = (found > found[:, [keys.index(key)]]).sum(axis=1)
    planted = names[0] if names else HEALTHY
    after = _called(grid, later)
    return Outcome(
        planted=planted,
        group=key[0] if key else (),
        first=float((rank == 0).mean()),
        first_two=float((rank <= 1).mean()),
        called=_called(grid, look.probabilities),
        named=_named(grid.card.tests, look.chosen),
        after=after[planted],
        called_after=after,
    )


def _after(grid: Grid, readings: Array, before: Array, chosen: Index) -> Array:
    """Probabilities of the hypotheses once the chosen test of each draw, if any, is read too."""
    card, found = grid.card, before.copy()
    usual = card.places(card.usual)
    for place in np.unique(chosen[chosen >= 0]):
        rows = chosen == place
        columns = [*usual, *card.places(card.of_test(card.tests[int(place)].name))]
        found[rows] = posterior(grid, readings[rows][:, columns], likelihood(grid, columns))
    return found


def _called(grid: Grid, probabilities: Array) -> dict[str, float]:
    """Share of the draws in which each hypothesis ranks first; a tie counts in equal parts."""
    tied = probabilities >= (1.0 - _TIE) * probabilities.max(axis=1, keepdims=True)
    shares = (tied / tied.sum(axis=1, keepdims=True)).mean(axis=0)
    called: dict[str, float] = {HEALTHY: 0.0, **{f.name: 0.0 for f in grid.card.pump.faults}}
    called[TWO] = 0.0
    for place, share in enumerate(shares):
        names = grid.name(place)
        word = TWO if len(names) > 1 else (names[0] if names else HEALTHY)
        called[word] += float(share)
    return called


def _named(tests: Sequence[BenchTest], chosen: Index) -> dict[str, float]:
    places, counts = np.unique(chosen, return_counts=True)
    order = np.argsort(-counts)
    return {
        tests[int(places[i])].name if places[i] >= 0 else NO_TEST: float(counts[i]) / len(chosen)
        for i in order
    }


def try_pairs(grid: Grid, draws: int, generator: np.random.Generator) -> tuple[PairOutcome, ...]:
    """Plant every two faults at once, ``draws`` times each, read by the usual card."""
    card = grid.card
    places = card.places(card.usual)
    groups = group_faults(grid, places)
    names = [fault.name for fault in card.pump.faults]
    pairs = list(itertools.combinations(names, 2))
    severities = [draw_severities(card, pair, draws, generator) for pair in pairs]
    readings = draw_readings(card, np.concatenate(severities), generator, grid.noise)
    keys, found = explanations(
        grid, groups, posterior(grid, readings[:, places], likelihood(grid, places))
    )
    named = [frozenset(name for group in key for name in group) for key in keys]
    outcomes = []
    for place, pair in enumerate(pairs):
        own = found[place * draws : (place + 1) * draws]
        both = np.array([set(pair) <= names for names in named])
        order = np.argsort(-own, axis=1)
        before = np.cumsum(np.take_along_axis(own, order, axis=1), axis=1)
        leading = np.concatenate([np.zeros((draws, 1)), before[:, :-1]], axis=1) < LEADING
        listed = both[order]
        outcomes.append(
            PairOutcome(
                (pair[0], pair[1]),
                float(listed[:, 0].mean()),
                float((listed & leading).any(axis=1).mean()),
            )
        )
    return tuple(outcomes)


@dataclass(frozen=True, slots=True)
class ConfusionTable:
    """What was called first for each thing planted: shares (planted, called) from 0 to 1.

    ``usual`` by the usual card, ``after`` with the named test's reading; ``groups`` are the faults
    that the usual card cannot part.
    """

    planted: tuple[str, ...]
    called: tuple[str, ...]
    groups: tuple[tuple[str, ...], ...]
    usual: Array
    after: Array

    def records(self) -> list[dict[str, str]]:
        """Rows for a file: planted, group, which readings, and per cent called each, in order."""
        found = []
        for words, shares in (("usual card", self.usual), ("with the named test", self.after)):
            for name, row in zip(self.planted, shares, strict=True):
                group = next((g for g in self.groups if name in g), ())
                cells = {
                    called: f"{100.0 * share:.1f}"
                    for called, share in zip(self.called, row, strict=True)
                }
                found.append({"planted": name, "group": " or ".join(group), "by": words, **cells})
        return found


def confusion_table(outcomes: Sequence[Outcome]) -> ConfusionTable:
    """Gather the outcomes of `try_singles` into a table."""
    called = tuple(outcomes[0].called)
    return ConfusionTable(
        planted=tuple(one.planted for one in outcomes),
        called=called,
        groups=tuple(dict.fromkeys(one.group for one in outcomes if one.group)),
        usual=np.array([[one.called[name] for name in called] for one in outcomes]),
        after=np.array([[one.called_after[name] for name in called] for one in outcomes]),
    )
