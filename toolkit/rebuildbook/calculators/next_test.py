"""Which further test says most about what is still open, derived from what each would read.

The information of a test is the entropy of the hypotheses now less what is expected to be left
after its readings, averaged over what they may be:

    I = H(hypotheses) − E[H(hypotheses | readings)].

The average runs over the cells of the fault grid that now carry the posterior; for each, readings
are drawn with a fixed set of errors, so the answer is the same each time. Of tests that say nearly
the same the one with the least work is named.

Source: expected information of an experiment, any textbook of Bayesian design.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rebuildbook.calculators.bench_card import BenchTest, Card
from rebuildbook.calculators.diagnosis import Diagnosis, Explanation
from rebuildbook.calculators.fault_grid import Grid, Index
from rebuildbook.calculators.pump_model import Array

NEARLY = 0.8  # of the best information counts as nearly as good
SETTLED = 0.95  # a hypothesis this likely needs no further test
_LEAST = 0.05  # bit; a test that says less is not worth its work
_HYPOTHESES, _CELLS, _ERRORS = 6, 3, 4  # kept of each draw
_CHUNK = 200


@dataclass(frozen=True, slots=True)
class Expected:
    """What one reading of the test would be if a hypothesis holds: ``value`` in SI ``unit``."""

    reading: str
    unit: str
    faults: tuple[str, ...]
    value: float


@dataclass(frozen=True, slots=True)
class NextTest:
    """The test to do next: what it says (bit), what is open (bit), and what it would read.

    ``effort`` is its work (s).
    """

    name: str
    how: str
    effort: float
    information: float
    open: float
    expected: tuple[Expected, ...]
    reason: str


def next_test(diagnosis: Diagnosis) -> NextTest | None:
    """Name the further test that best parts what ``diagnosis`` left open, with its reason.

    None where one hypothesis is already at least 95 % likely, or no test left would say more. A
    test any of whose readings was given counts as done.
    """
    laid = diagnosis.grid
    card = laid.card
    taken = dict(diagnosis.readings)
    left = [test for test in card.tests if not set(card.of_test(test.name)) & set(taken)]
    if not left or max(p for one in diagnosis.explanations for _, p in one.hypotheses) >= SETTLED:
        return None
    cells = diagnosis.log_cells
    information, open_bits = rank_tests(laid, cells, left)
    place = int(choose(information, left)[0])
    told = float(information[0, place])
    if told < _LEAST:
        return None
    test = left[place]
    kept, _ = _keep(laid, cells)
    expected = _expected(laid, card, test, kept[0], np.exp(cells[0]))
    return NextTest(
        test.name, test.how, test.effort, told, float(open_bits[0]), expected,
        _reason(diagnosis.explanations[0], told, float(open_bits[0])),
    )  # fmt: skip


def _reason(first: Explanation, told: float, open_bits: float) -> str:
    names = [" with ".join(faults) or "none" for faults, p in first.hypotheses if p > 0.02]
    share = min(told / open_bits, 1.0) if open_bits > 0.0 else 1.0
    between = " or ".join(names[:6])
    return f"decides {100.0 * share:.0f} % of what is open: {between}"


def choose(information: Array, tests: Sequence[BenchTest]) -> Index:
    """Place of the test to do (draws): least work among those nearly as good as the best."""
    effort = np.array([test.effort for test in tests])
    good = information >= NEARLY * information.max(axis=1, keepdims=True)
    # of tests alike in work the one that says more
    score = np.where(good, effort - 1e-3 * information, np.inf)
    place: Index = np.argmin(score, axis=1)
    return place


def rank_tests(grid: Grid, log_cells: Array, tests: Sequence[BenchTest]) -> tuple[Array, Array]:
    """Information of each test (draws, tests) and the entropy now (draws), in bits.

    ``log_cells`` (draws, cells) is the log posterior from `log_posterior_cells`.
    """
    information = np.zeros((len(log_cells), len(tests)))
    entropy_now = np.zeros(len(log_cells))
    for begin in range(0, len(log_cells), _CHUNK):
        part = slice(begin, begin + _CHUNK)
        kept, weight = _keep(grid, log_cells[part])
        same = grid.owner[kept][:, :, np.newaxis] == grid.owner[kept][:, np.newaxis, :]
        now = _entropy(weight, same, weight)
        entropy_now[part] = now
        for place, test in enumerate(tests):
            columns = grid.card.places(grid.card.of_test(test.name))
            after = _entropy_after(grid, kept, weight, same, columns)
            information[part, place] = np.maximum(now - after, 0.0)
    return information, entropy_now


def _keep(grid: Grid, log_cells: Array) -> tuple[Index, Array]:
    """Cells that carry the posterior of each draw: the likeliest of the likeliest hypotheses.

    Their weights are scaled so that each hypothesis keeps its own probability.
    """
    cells = np.exp(log_cells)
    whole = np.add.reduceat(cells, grid.starts, axis=1)
    first = np.argsort(-whole, axis=1)[:, :_HYPOTHESES]
    sizes = np.diff(np.append(grid.starts, len(grid.owner)))
    kept = np.zeros((len(cells), _HYPOTHESES * _CELLS), dtype=np.intp)
    weight = np.zeros(kept.shape)
    for draw in range(len(cells)):
        for order, hypothesis in enumerate(first[draw]):
            if not whole[draw, hypothesis] > 0.0:
                break  # the readings rule out this one and all that come after
            start, size = grid.starts[hypothesis], sizes[hypothesis]
            own = cells[draw, start : start + size]
            best = np.argsort(-own)[:_CELLS]
            at = slice(order * _CELLS, order * _CELLS + len(best))
            kept[draw, at] = start + best
            weight[draw, at] = whole[draw, hypothesis] * own[best] / own[best].sum()
    return kept, weight / weight.sum(axis=1, keepdims=True)


def _entropy(weight: Array, same: NDArray[np.bool_], truth: Array) -> Array:
    """Entropy over hypotheses in bits, cells of one hypothesis (``same``) taken together."""
    total = np.einsum("dij,dj->di", same.astype(float), weight)
    found: Array = -(truth * np.log2(np.maximum(total, 1e-300))).sum(axis=1)
    return found


def _errors(count: int) -> Array:
    """A fixed set of standard normal errors (errors, readings), each with its opposite."""
    half = np.random.default_rng(count).standard_normal((_ERRORS // 2, count))
    return np.concatenate([half, -half])


def _entropy_after(
    grid: Grid, kept: Index, weight: Array, same: NDArray[np.bool_], columns: list[int]
) -> Array:
    """Expected entropy over hypotheses after the readings at ``columns`` (draws), bits."""
    mean, error = grid.means[kept][..., columns], grid.errors[kept][..., columns]
    slope, spread = grid.slopes[kept][..., columns, :], grid.spread[kept]
    width = np.sqrt(error**2 + (slope**2 * spread[:, :, np.newaxis, :]).sum(axis=-1))
    left = np.zeros(len(kept))
    for errors in _errors(len(columns)):
        read = mean + width * errors  # (draws, truths, readings)
        off = (read[:, :, np.newaxis] - mean[:, np.newaxis]) / width[:, np.newaxis]
        log = -0.5 * (off**2).sum(axis=-1) - np.log(width).sum(axis=-1)[:, np.newaxis]
        joint = np.exp(log - log.max(axis=-1, keepdims=True)) * weight[:, np.newaxis]
        joint /= joint.sum(axis=-1, keepdims=True)
        mine = (joint * same).sum(axis=-1)
        left -= (weight * np.log2(np.maximum(mine, 1e-300))).sum(axis=1)
    return left / _ERRORS


def _expected(
    grid: Grid, card: Card, test: BenchTest, kept: Index, cells: Array
) -> tuple[Expected, ...]:
    """What each reading of the test would be under each hypothesis still open."""
    found = []
    for hypothesis in dict.fromkeys(grid.owner[kept].tolist()):
        rows = grid.owner == hypothesis
        share = cells[rows].sum()
        if share < 0.02:
            continue
        for place in card.places(card.of_test(test.name)):
            value = float((cells[rows] * grid.means[rows, place]).sum() / share)
            reading = card.readings[place]
            found.append(Expected(reading.name, reading.unit, grid.name(hypothesis), value))
    return tuple(found)
