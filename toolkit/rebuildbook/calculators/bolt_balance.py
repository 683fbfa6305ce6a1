"""The balance of bolts and gasket when neither of them can pull the flange the wrong way.

Bolts at deflection u carry F = k max(0, a − u) with their nuts advanced by a; gasket springs
carry k max(0, u). The gasket is taken as glued, and where it would pull an upward force λ ≥ 0
takes that pull away again. Both are the same kind of condition: a force that is not below zero,
a gap that is not below zero, one of them zero. Which is zero is found by exchanging in blocks
what came out wrong, and one spring at a time where blocks make no progress; the balance being
one of a positive definite system, this ends, and with one answer [1].

References
----------
1. J. J. Júdice and F. M. Pires: block principal pivoting for linear complementarity (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rebuildbook.calculators.flange_model import Array, Bed

Flags = NDArray[np.bool_]

_CLING = 1e-6  # share of its stiffness a lifted gasket keeps, so that nothing floats away
_TIPPING = 1e-3  # share of the bolts' pull on clinging springs that tells a flange tipping
_SLACK = 1e-9  # share of the bolts' pull below which a spring counts as right
_CHANCES = 3
_MOST_EXCHANGES = 500


class Balance:
    """Finds bolt forces; remembers what was lifted and loose, the likely start of the next step."""

    def __init__(self, bed: Bed, bolt_stiffness: Array) -> None:
        self._bed = bed
        self._give = 1.0 / bolt_stiffness
        self._release = np.diag((1.0 + _CLING) / bed.stiffness) - bed.springs
        self._known: dict[bytes, tuple[Array, Array]] = {}
        self._tight: Flags = np.zeros(len(bolt_stiffness), dtype=bool)
        self._lifted: Flags = np.zeros(len(bed.stiffness), dtype=bool)

    @property
    def lifted_share(self) -> float:
        """Share of the gasket's area out of contact in the last balance."""
        return float(self._bed.stiffness @ self._lifted / self._bed.stiffness.sum())

    def settle(self, advance: Array, held: Flags, pull: Array) -> tuple[Array, Array]:
        """Force of each bolt (N) and deflection of the flange at it (m).

        The force is ``pull`` where ``held``, by its nut's ``advance`` (m) elsewhere.
        Raises ValueError for a flange that tips.
        """
        tight, lifted = self._tight | held, self._lifted.copy()
        fewest, chances = len(tight) + len(lifted) + 1, _CHANCES
        for _ in range(_MOST_EXCHANGES):
            flexibility, answer = self._flexibility(lifted)
            found = self._with_tight(flexibility, advance, tight, held, pull)
            slack = _SLACK * float(np.abs(found).sum())
            springs, down = answer @ found, flexibility @ found
            reach = np.where(tight, -found, (advance - down) / self._give)
            wrong = np.concatenate([(reach > slack) & ~held, springs < -slack])
            count = int(wrong.sum())
            if not count:
                self._check_tipping(found, springs[lifted])
                self._tight, self._lifted = tight & (found > 0.0), lifted
                return np.maximum(found, 0.0), down
            if count < fewest:
                fewest, chances = count, _CHANCES
            elif chances:
                chances -= 1
            else:
                wrong[: np.flatnonzero(wrong)[-1]] = False
            tight, lifted = tight ^ wrong[: len(tight)], lifted ^ wrong[len(tight) :]
        raise ArithmeticError(f"the joint found no balance in {_MOST_EXCHANGES} exchanges")

    def _flexibility(self, lifted: Flags) -> tuple[Array, Array]:
        """Flexibility at the bolts (m/N) with springs ``lifted``, and what springs answer (N/N).

        A spring that bears answers a bolt's force with its own, a lifted one with the pull that
        is taken away from it.
        """
        key = lifted.tobytes()
        if key not in self._known:
            bed = self._bed
            free = np.flatnonzero(lifted)
            pull = np.linalg.solve(self._release[np.ix_(free, free)], -bed.across[free])
            across = bed.across - bed.springs[:, free] @ pull
            answer = bed.stiffness[:, None] * across
            answer[free] = pull
            self._known[key] = bed.bolts - bed.across[free].T @ pull, answer
        return self._known[key]

    def _with_tight(
        self, flexibility: Array, advance: Array, tight: Flags, held: Flags, pull: Array
    ) -> Array:
        found = np.where(held, pull, 0.0)
        own = np.flatnonzero(tight & ~held)
        if len(own):
            system = flexibility[np.ix_(own, own)] + np.diag(self._give[own])
            found[own] = np.linalg.solve(system, advance[own] - flexibility[own] @ found)
        return found

    def _check_tipping(self, found: Array, pull: Array) -> None:
        if _CLING * pull.sum() > _TIPPING * found.sum():
            raise ValueError(
                "the flange tips: the bolts pull it down where no gasket lies about them; "
                "give bolts on both sides of the gasket, or a gasket under them"
            )
