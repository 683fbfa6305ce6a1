"""Which faults some readings cannot tell apart, derived from what each fault does to the readings.

Two faults look alike where for nearly every severity of the one there is a severity of the other
that gives nearly the same readings. How near is measured in the readings' own errors: with

    δ² = min over s' of (m(s) − m'(s'))ᵀ Σ⁻¹ (m(s) − m'(s'))

the one is taken for the other with the probability Φ(−δ/2). This is averaged over the severities
that matter, both ways round. No list says which faults belong together.

Source: error of the best rule between two normal laws, any textbook of pattern recognition.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from rebuildbook.calculators.fault_grid import Grid, Index
from rebuildbook.calculators.pump_model import Array

ALIKE = 0.05  # taken for one another more often than 1 in 20: one group
UNSEEN = 0.25  # taken for a healthy pump more often than 1 in 4: the readings say nothing of it


@dataclass(frozen=True, slots=True)
class Groups:
    """Groups of faults by name, and those that the readings cannot tell from a healthy pump.

    ``mixing`` (faults, faults) is how often one is taken for the other, ``from_healthy`` (faults)
    how often a fault is taken for none.
    """

    groups: tuple[tuple[str, ...], ...]
    unseen: tuple[str, ...]
    mixing: Array
    from_healthy: Array
    faults: tuple[str, ...]

    def explanation(self, names: Sequence[str]) -> tuple[tuple[str, ...], ...]:
        """Say what the readings can tell of some faults: the groups they lie in, in order."""
        return tuple(group for group in self.groups if any(name in group for name in names))


def group_faults(grid: Grid, places: Iterable[int]) -> Groups:
    """Group the faults of a pump by the readings at ``places``."""
    columns = list(places)
    singles = [i for i, hypothesis in enumerate(grid.hypotheses) if len(hypothesis) == 1]
    names = tuple(grid.name(single)[0] for single in singles)
    cells = [np.flatnonzero(grid.owner == single) for single in singles]
    healthy = np.flatnonzero(grid.owner == grid.hypotheses.index(()))
    from_healthy = np.array([_mixing(grid, columns, own, healthy[:1]) for own in cells])
    one_way = np.array([[_mixing(grid, columns, own, other) for other in cells] for own in cells])
    mixing = 0.5 * (one_way + one_way.T)
    seen = from_healthy <= UNSEEN
    links = (mixing > ALIKE) & seen[:, np.newaxis] & seen
    groups = tuple(
        tuple(names[i] for i in members) for members in _connected(links) if seen[members[0]]
    )
    unseen = tuple(name for name, shows in zip(names, seen, strict=True) if not shows)
    return Groups(groups, unseen, mixing, from_healthy, names)


def _mixing(grid: Grid, columns: list[int], own: Index, other: Index) -> float:
    """How often the fault of cells ``own`` is taken for that of cells ``other``."""
    errors = grid.errors[own][:, np.newaxis, columns]
    apart = grid.means[own][:, np.newaxis, columns] - grid.means[other][np.newaxis, :, columns]
    slack = grid.slopes[other][:, columns, 0] * np.sqrt(grid.spread[other][:, :1])
    variance = errors**2 + slack[np.newaxis] ** 2
    distance = np.sqrt((apart**2 / variance).sum(axis=-1).min(axis=1))
    return float(ndtr(-0.5 * distance).mean())


def _connected(links: Array) -> list[list[int]]:
    """Sets of faults joined by links, straight or through others, in the order of the faults."""
    left, found = list(range(len(links))), []
    while left:
        members, edge = {left[0]}, [left[0]]
        while edge:
            new = [int(i) for i in np.flatnonzero(links[edge.pop()]) if int(i) not in members]
            members.update(new)
            edge += new
        found.append(sorted(members))
        left = [i for i in left if i not in members]
    return found
