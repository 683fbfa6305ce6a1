"""How the bolts of one joint unload each other while they are tightened in turn.

A bolt being tightened presses the flange into its gasket and takes the stretch out of its
neighbours, while the flange tips and bends up elsewhere and stretches bolts there; their nuts
stay where they are on their threads. With the nuts advanced by aᵢ (m) from where they just
touch, the bolts of stiffness kᵢ and the flange's deflection u at them [1]:

    Fᵢ = kᵢ max(0, aᵢ − uᵢ),   u = C F,   so that   a = (C + 1/k) F   while all are tight.

C (m/N) is the flexibility of the flange on its gasket (`flange_elements.bed`). Gasket and bolts
do not pull: where the flange lifts off, or a nut comes loose, that spring is out of the balance
until they meet again (`bolt_balance`). A wrench only turns on: a bolt already above its target
keeps its nut.

What is not here: creep of the gasket, friction scatter of the wrench, settling of the faces,
squeeze of the flange through its own thickness (lower the bolts' stiffness for it). The joint
starts snug: flange and nuts just touching.

References
----------
1. J. H. Bickford, Introduction to the Design and Behavior of Bolted Joints: elastic interaction
   (from memory); the balance itself is plain statics.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from rebuildbook.calculators.bolt_balance import Balance
from rebuildbook.calculators.bounds import positive, within
from rebuildbook.calculators.flange_elements import Points, bed
from rebuildbook.calculators.flange_model import Array, Bed, Flange, Gasket
from rebuildbook.calculators.layout import check_order
from rebuildbook.calculators.tightening import Pass


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """A flange on its gasket with bolts: position k is ``bolt_stiffness[k - 1]`` (N/m)."""

    bed: Bed
    bolt_stiffness: Array

    @property
    def count(self) -> int:
        """How many bolts there are."""
        return len(self.bolt_stiffness)


@dataclass(frozen=True, slots=True)
class ForcePass:
    """One pass: the positions in ``order`` are brought up to ``force`` (N).

    ``force`` is one for all, or one for each position number.
    """

    order: tuple[int, ...]
    force: float | tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """What every bolt holds after every step.

    ``forces`` (N, steps × bolts) after each step and ``closing`` (m, likewise) how far the flange
    has come down at each bolt; ``numbers`` the position tightened, ``passes`` the pass it
    belongs to (from 1), ``turned`` whether its nut moved and ``lifted`` the share of the gasket's
    area out of contact. ``target`` (N, by position) is that of the last pass and ``advance``
    (m, by position) where the nuts stand at the end.
    """

    forces: Array
    closing: Array
    numbers: tuple[int, ...]
    passes: tuple[int, ...]
    turned: tuple[bool, ...]
    lifted: Array
    target: Array
    advance: Array

    @property
    def final(self) -> Array:
        """Force of each bolt at the end (N)."""
        last: Array = self.forces[-1]
        return last

    @property
    def residual(self) -> Array:
        """Part of its target that each bolt holds at the end."""
        return self.final / self.target

    @property
    def spread(self) -> float:
        """Largest less smallest final force, over their mean."""
        return float(np.ptp(self.final) / np.mean(self.final))

    @property
    def variation(self) -> float:
        """Coefficient of variation of the final forces: standard deviation over mean."""
        return float(np.std(self.final) / np.mean(self.final))

    @property
    def skew(self) -> float:
        """Greatest difference of the closing round the joint at any step (m)."""
        return float(np.ptp(self.closing, axis=1).max())

    def within(self, share: float) -> bool:
        """Say whether every bolt ends within ± ``share`` of its target."""
        return bool(np.all(np.abs(self.residual - 1.0) <= share + 1e-12))


@dataclass(frozen=True, slots=True, eq=False)
class Rounds:
    """A tightening finished in rounds of rotation at full force.

    ``rounds`` were needed (or made, where they did not suffice: ``even`` is false).
    """

    history: History
    rounds: int
    even: bool


@dataclass(frozen=True, slots=True, eq=False)
class EvenPass:
    """Forces (N, by position) for one pass that leaves the bolts even.

    ``limited`` are the positions whose force was cut to the limit, ``too_far`` those whose nut
    already stands farther on than it should in the end; with neither the pass ends on target.
    """

    forces: Array
    history: History
    limited: tuple[int, ...]
    too_far: tuple[int, ...]


def joint(
    flange: Flange,
    gasket: Gasket,
    positions: Points,
    bolt_stiffness: float | Sequence[float],
    *,
    mesh: int | None = None,
) -> Joint:
    """Assemble a joint with bolts of ``bolt_stiffness`` (N/m) at ``positions`` (m).

    ``mesh`` as in `flange_elements.bed`. A closing in the answer that is no small part of the
    gasket's thickness says that the modulus given for it was too low. Raises ValueError as `bed`
    does, for a stiffness not above zero, and for fewer or more stiffnesses than bolts.
    """
    positive("bolt stiffness", bolt_stiffness)
    count = len(positions)
    stiffness = _per_bolt("bolt stiffnesses", bolt_stiffness, count)
    return Joint(bed(flange, gasket, positions, mesh=mesh), stiffness)


def interaction_matrix(joint: Joint) -> Array:
    """Change of each bolt (row) for a unit rise of the bolt tightened (column), gasket closed.

    With S = (C + 1/k)⁻¹ it is S_ji/S_ii: one on the diagonal, below zero where a bolt is
    unloaded, above zero where it is loaded.

    >>> from rebuildbook.calculators.flange_model import RingFlange
    >>> from rebuildbook.calculators.layout import circle
    >>> ring = RingFlange(200e9, 40e-3, 0.14, 0.24, gasket_diameter=0.19)
    >>> eight = joint(ring, Gasket(60e6, 3e-3, 0.05), circle(8, 0.2).positions, 2e8)
    >>> [f"{change:+.2f}" for change in interaction_matrix(eight)[:5, 0]]
    ['+1.00', '-0.33', '-0.01', '+0.05', '+0.03']
    """
    stiffness = np.linalg.inv(joint.bed.bolts + np.diag(1.0 / joint.bolt_stiffness))
    return stiffness / np.diag(stiffness)


def force_passes(passes: Sequence[Pass], force: float) -> tuple[ForcePass, ...]:
    """Turn the passes of a tightening plan into forces, in the proportion of their torques.

    The largest torque gives ``force`` (N); passes by hand are left out (the model starts snug).
    """
    positive("force", force)
    most = max(one.torque for one in passes)
    positive("largest torque of the passes", most)
    return tuple(
        ForcePass(one.order, force * one.torque / most) for one in passes if one.torque > 0.0
    )


def tighten(joint: Joint, passes: Sequence[ForcePass], *, after: History | None = None) -> History:
    """Follow the bolts through ``passes``, from snug or carrying on from the end of ``after``.

    Raises ValueError for no pass, an order that does not name each position once, a force that
    is not above zero, and a flange that tips because no gasket lies about its bolts' pull.

    >>> from rebuildbook.calculators.flange_model import Bar
    >>> bar = Bar(modulus=200e9, thickness=20e-3, length=0.4, width=30e-3)
    >>> three = joint(bar, Gasket(30e6, 3e-3, 30e-3), [(-0.15, 0), (0, 0), (0.15, 0)], 2e8)
    >>> history = tighten(three, [ForcePass((2, 1, 3), 10e3)])
    >>> history.final.round(-2).tolist()
    [10300.0, 9400.0, 10000.0]
    """
    bench = _Bench(joint, after)
    bench.run(passes)
    return bench.history()


def tighten_until_even(
    joint: Joint,
    passes: Sequence[ForcePass],
    rotation: Sequence[int] = (),
    *,
    share: float = 0.10,
    most: int = 20,
) -> Rounds:
    """Follow ``passes``, then rounds in ``rotation`` until all are within ± ``share`` of target.

    The rounds are at the force of the last pass, in 1, 2, 3 … if not given; at ``most`` of them,
    and none after one in which no nut moved. Raises ValueError as `tighten` does.
    """
    within("share", share, 0.0, 1.0)
    bench = _Bench(joint)
    bench.run(passes)
    turn = ForcePass(tuple(rotation) or tuple(range(1, joint.count + 1)), passes[-1].force)
    history, rounds, moved = bench.history(), 0, True
    while moved and rounds < most and not history.within(share):
        bench.run([turn])
        history, rounds = bench.history(), rounds + 1
        moved = any(history.turned[-joint.count :])
    return Rounds(history, rounds, history.within(share))


def compare_orders(
    joint: Joint,
    orders: Mapping[str, Sequence[int]],
    forces: Sequence[float],
    rotation: Sequence[int] = (),
    *,
    share: float = 0.10,
    most: int = 20,
) -> dict[str, Rounds]:
    """Take the joint through passes at ``forces`` (N) in each of ``orders``, then rounds.

    What an order does by itself is in the steps up to pass ``len(forces)`` of its history. In
    this elastic model a crossing order does not leave the bolts more even than going round; it
    keeps a flange of many bolts more level on the way (`History.skew`), so that the gasket is
    not pinched on one side. Passes and rounds even the bolts.
    """
    return {
        name: tighten_until_even(
            joint,
            [ForcePass(tuple(order), force) for force in forces],
            rotation,
            share=share,
            most=most,
        )
        for name, order in orders.items()
    }


def even_pass(
    joint: Joint,
    order: Sequence[int],
    target: float | Sequence[float],
    *,
    limit: float = np.inf,
    after: History | None = None,
) -> EvenPass:
    """Find the force for each bolt, in one pass in ``order``, that leaves all at ``target`` (N).

    A nut stays where its turn left it, so each is turned to where it has to stand in the end,
    a = (C + 1/k) F; the force it shows just then is the one to set. While nothing lifts this is
    the triangular system of the interaction coefficients. ``limit`` (N) bounds the force; from
    ``after``, the end of earlier passes, lower forces do. Raises ValueError for a target or
    limit not above zero, an order that is none, and as `tighten` does.
    """
    wanted = _per_bolt("targets", positive("target", target), joint.count)
    if not limit > 0.0:
        raise ValueError(f"limit is {limit:g}; it must be above zero")
    check_order(order, joint.count)
    bench = _Bench(joint, after)
    bench.begin(wanted)
    everyone = np.ones(joint.count, dtype=bool)
    _, down = Balance(joint.bed, joint.bolt_stiffness).settle(0.0 * wanted, everyone, wanted)
    goal = down + wanted / joint.bolt_stiffness
    too_far = np.flatnonzero(bench.advance > goal + 1e-9 * np.max(goal)) + 1
    asked = np.zeros(joint.count)
    limited = []
    for number in order:
        force = bench.force_at(number, float(goal[number - 1]))
        if force > limit * (1.0 + 1e-9):
            limited.append(number)
        asked[number - 1] = min(force, limit)
        bench.turn(number, asked[number - 1])
    return EvenPass(asked, bench.history(), tuple(limited), tuple(too_far.tolist()))


@dataclass(slots=True)
class _Step:
    number: int
    of_pass: int
    turned: bool
    lifted: float
    forces: Array
    closing: Array


class _Bench:
    """A joint being tightened: where its nuts stand, and every step so far."""

    def __init__(self, joint: Joint, after: History | None = None) -> None:
        self._joint = joint
        self._balance = Balance(joint.bed, joint.bolt_stiffness)
        self._target = self.advance = np.zeros(joint.count)
        self._steps: list[_Step] = []
        if after is not None:
            if after.advance.shape != self.advance.shape:
                raise ValueError(
                    f"the earlier history is of {len(after.advance)} bolts, the joint has "
                    f"{joint.count}"
                )
            self._steps = _steps(after)
            self._target, self.advance = after.target, after.advance.copy()
        still = _Step(0, 0, False, 0.0, np.zeros(joint.count), np.zeros(joint.count))
        self._last = self._steps[-1] if self._steps else still
        self._pass = self._last.of_pass

    def run(self, passes: Sequence[ForcePass]) -> None:
        if not passes:
            raise ValueError("no passes are given; at least one is needed")
        for one in passes:
            check_order(one.order, self._joint.count)
            self.begin(_per_bolt("forces", positive("force", one.force), self._joint.count))
            for number in one.order:
                self.turn(number, float(self._target[number - 1]))

    def begin(self, target: Array) -> None:
        """Begin a pass."""
        self._pass += 1
        self._target = target

    def turn(self, number: int, force: float) -> None:
        """Turn a nut on until its bolt carries ``force``, if it does not carry that already."""
        last, bolt = self._last, number - 1
        if force > last.forces[bolt] * (1.0 + 1e-9):
            held = np.arange(self._joint.count) == bolt
            found, down = self._balance.settle(self.advance, held, np.where(held, force, 0.0))
            self.advance[bolt] = down[bolt] + force / self._joint.bolt_stiffness[bolt]
            lifted = self._balance.lifted_share
            self._last = _Step(number, self._pass, True, lifted, found, down)
        else:
            self._last = replace(last, number=number, of_pass=self._pass, turned=False)
        self._steps.append(self._last)

    def force_at(self, number: int, advance: float) -> float:
        """Force a bolt would carry with its nut turned on to ``advance`` (m)."""
        nuts = self.advance.copy()
        nuts[number - 1] = max(advance, nuts[number - 1])
        free = np.zeros(self._joint.count, dtype=bool)
        return float(self._balance.settle(nuts, free, nuts)[0][number - 1])

    def history(self) -> History:
        steps = self._steps
        return History(
            forces=np.array([one.forces for one in steps]),
            closing=np.array([one.closing for one in steps]),
            numbers=tuple(one.number for one in steps),
            passes=tuple(one.of_pass for one in steps),
            turned=tuple(one.turned for one in steps),
            lifted=np.array([one.lifted for one in steps]),
            target=self._target,
            advance=self.advance.copy(),
        )


def _steps(history: History) -> list[_Step]:
    parts = (history.numbers, history.passes, history.turned, history.lifted.tolist())
    return [_Step(*one) for one in zip(*parts, history.forces, history.closing, strict=True)]


def _per_bolt(name: str, value: float | Sequence[float], count: int) -> Array:
    """One value for each of ``count`` bolts."""
    given = np.asarray(value, dtype=float)
    if given.shape not in {(), (count,)}:
        raise ValueError(f"{given.size} {name} are given for {count} bolts; give one, or one each")
    return np.broadcast_to(given, (count,)).copy()
