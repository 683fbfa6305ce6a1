"""The balance of bolts and gasket when neither of them can pull the flange the wrong way.

Bolts at deflection u carry F = k max(0, a − u) with their nuts advanced by a; gasket springs
carry k max(0, u). The gasket is taken as glued, and where it would pull an upward force λ ≥ 0
takes that pull away again. The balance is the one minimum of a convex energy, quadratic in
pieces; Newton's method goes to the minimum of the piece it stands on and, where that lies on
another piece, only as far as the energy falls. It ends on the right piece, exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from rebuildbook.calculators.flange_model import Array, Bed

Flags = NDArray[np.bool_]

_CLING = 1e-10  # share of its stiffness a lifted gasket keeps, so that nothing floats away
_UNBALANCED = 0.02  # share of the bolts' pull and moment the gasket may fail to answer
_SLACK = 1e-9  # share of the bolts' pull below which a spring counts as right
_MOST_MOVES = 200


@dataclass(slots=True)
class _State:
    """Forces of the bolts and pulls λ taken from the gasket (N), deflections at both (m)."""

    forces: Array
    pulls: Array
    down: Array
    pressed: Array

    def toward(self, other: _State, share: float) -> _State:
        return _State(
            self.forces + share * (other.forces - self.forces),
            self.pulls + share * (other.pulls - self.pulls),
            self.down + share * (other.down - self.down),
            self.pressed + share * (other.pressed - self.pressed),
        )


class Balance:
    """Finds bolt forces; remembers the last balance, from which the next is likely not far."""

    def __init__(self, bed: Bed, bolt_stiffness: Array) -> None:
        self._bed = bed
        self._give = 1.0 / bolt_stiffness
        self._loose = (1.0 + _CLING) / bed.stiffness
        self._release = np.diag(self._loose) - bed.springs
        self._known: dict[bytes, tuple[Array, Array]] = {}
        bolts, springs = np.zeros(len(bolt_stiffness)), np.zeros(len(bed.stiffness))
        self._state = _State(bolts, springs, bolts, springs)

    @property
    def lifted_share(self) -> float:
        """Share of the gasket's area out of contact in the last balance."""
        return float(self._bed.stiffness @ (self._state.pulls > 0.0) / self._bed.stiffness.sum())

    def settle(self, advance: Array, held: Flags, pull: Array) -> tuple[Array, Array]:
        """Force of each bolt (N) and deflection of the flange at it (m).

        The force is ``pull`` where ``held``, by its nut's ``advance`` (m) elsewhere.
        Raises ValueError for a flange that tips.
        """
        state = self._state
        for _ in range(_MOST_MOVES):
            lifted, tight = state.pressed < 0.0, held | (advance > state.down)
            goal = self._on_piece(lifted, tight, advance, held, pull)
            if self._is_right(goal, lifted, tight, advance, held):
                goal.forces, goal.pulls = np.maximum(goal.forces, 0.0), np.maximum(goal.pulls, 0.0)
                self._check_tipping(goal)
                self._state = goal
                return goal.forces, goal.down
            state = self._fall(state, goal, advance, held, pull)
        raise ArithmeticError(f"the joint found no balance in {_MOST_MOVES} moves")

    def _is_right(
        self, goal: _State, lifted: Flags, tight: Flags, advance: Array, held: Flags
    ) -> bool:
        """Say whether ``goal`` lies on the piece for which it was found."""
        slack = _SLACK * float(np.abs(goal.forces).sum())
        spring = np.where(lifted, goal.pulls, goal.pressed * self._bed.stiffness)
        bolt = np.where(tight, goal.forces, (goal.down - advance) / self._give)
        return bool(np.all(spring >= -slack) and np.all((bolt >= -slack) | held))

    def _fall(
        self, state: _State, goal: _State, advance: Array, held: Flags, pull: Array
    ) -> _State:
        """Go from ``state`` toward ``goal`` as far as the energy falls."""
        bolts, springs = goal.down - state.down, goal.pressed - state.pressed

        def slope(share: float) -> float:
            here = state.toward(goal, share)
            carried = np.maximum(advance - here.down, 0.0) / self._give
            forces = here.forces - np.where(held, pull, carried)
            pulls = here.pulls - np.maximum(-here.pressed, 0.0) / self._loose
            return float(bolts @ forces - springs @ pulls)

        if slope(1.0) <= 0.0:
            return goal
        if slope(0.0) >= 0.0:  # nothing left to gain but rounding
            return goal
        share = float(brentq(slope, 0.0, 1.0, xtol=1e-6))  # type: ignore[no-untyped-call]
        return state.toward(goal, share)

    def _on_piece(
        self, lifted: Flags, tight: Flags, advance: Array, held: Flags, pull: Array
    ) -> _State:
        """Balance with the springs ``lifted`` and the bolts ``tight`` and no others."""
        flexibility, answer = self._flexibility(lifted)
        forces = np.where(held, pull, 0.0)
        own = np.flatnonzero(tight & ~held)
        if len(own):
            system = flexibility[np.ix_(own, own)] + np.diag(self._give[own])
            forces[own] = np.linalg.solve(system, advance[own] - flexibility[own] @ forces)
        springs = answer @ forces
        pressed = np.where(lifted, -springs * self._loose, springs / self._bed.stiffness)
        return _State(forces, np.where(lifted, springs, 0.0), flexibility @ forces, pressed)

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

    def _check_tipping(self, state: _State) -> None:
        """Refuse a balance that hangs on clinging springs: the gasket must answer the bolts."""
        bed = self._bed
        borne = np.maximum(state.pressed, 0.0) * bed.stiffness
        places = np.concatenate([bed.bolt_places, bed.spring_places])
        moment = np.concatenate([state.forces, -borne]) @ places
        if np.any(np.abs(moment) > _UNBALANCED * state.forces.sum() * np.abs(places).max(0)):
            raise ValueError(
                "the flange tips: the bolts pull it down where no gasket lies about them; "
                "give bolts on both sides of the gasket, or a gasket under them"
            )
