"""A joint on a flat gasket, followed through its tightening plan bolt by bolt."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from rebuildbook.calculators.flange_model import (
    Array,
    Bar,
    Cover,
    Flange,
    Gasket,
    Outline,
    RingFlange,
)
from rebuildbook.calculators.interaction import (
    ForcePass,
    History,
    Rounds,
    even_pass,
    force_passes,
    interaction_matrix,
    joint,
    tighten,
    tighten_until_even,
)
from rebuildbook.calculators.interaction import Joint as Assembled
from rebuildbook.calculators.layout import Layout, cross_order, quadrant_order, rotation_order
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.thread_strength import proof_load
from rebuildbook.calculators.tightening import OrderKind, Plan
from rebuildbook.sheets import model as sheet
from rebuildbook.worksheet.worked import WorkedJoint

EVEN = 0.10  # share of the target within which rounds are taken as done
MOST_ROUNDS = 20
HARDLY = 0.02  # share taken from a neighbour below which there is nothing to compare or to show
LEAST_MESH = 16  # twice as fine moves no final force of the demo joints by 2 % of the target
MOST_BOLTS = 32  # more take seconds, and no pump has them on one gasket
NO_TOOL = "there is no tool that can be judged"
SPACING_SHARE = 1.0 / 5.0  # thickness over bolt spacing up to which a thin plate is good
WIDTH_SHARE = 1.0 / 3.0  # radial width over mean diameter up to which a ring stays straight


class NotFollowed(Exception):  # noqa: N818  (a limit or a gap in the sheet, not a failure)
    """Why a joint is not followed."""


@dataclass(frozen=True, slots=True)
class Setup:
    """All that decides how even a joint ends; equal joints are equal here and solved once.

    ``bolt_stiffness`` in N/m, ``target`` preload in N. A torque of ``prevailing`` (N·m) and
    ``lever`` (m, nut factor times diameter) times the preload is set in marks of ``step``, at
    most ``most_torque`` (both N·m at the fastener). A bolt reckoned to hold ``most_preload`` (N)
    is at its limit where friction is at its least.
    """

    flange: Flange
    gasket: Gasket
    plan: Plan
    bolt_stiffness: float
    target: float
    prevailing: float
    lever: float
    step: float
    most_torque: float
    most_preload: float


@dataclass(frozen=True, slots=True)
class Span:
    """Least and most that any bolt holds, in parts of the target."""

    least: float
    most: float

    @property
    def off(self) -> float:
        """Greatest departure from the target."""
        return max(1.0 - self.least, self.most - 1.0, 0.0)


@dataclass(frozen=True, slots=True)
class OrderEnds:
    """Where an order leaves the bolts: after its torque passes, and after the round that follows.

    ``skew`` (m) is the greatest difference of the closing round the joint on the way.
    """

    passes: Span
    end: Span
    skew: float


@dataclass(frozen=True, slots=True)
class EvenRound:
    """One last round in ``order`` at torques (N·m at the fastener, by position), and its end."""

    order: tuple[int, ...]
    torques: tuple[float, ...]
    end: Span


@dataclass(frozen=True, slots=True, eq=False)
class Tightened:
    """A joint taken through its planned passes.

    ``taken`` is the most that tightening one bolt takes from another, in parts of its own rise;
    ``rounds`` goes on from the planned passes until the bolts are even. ``even_round`` would spare
    them; None where none are needed, or where the torques leave no room for it.
    """

    history: History
    rounds: Rounds
    orders: Mapping[OrderKind, OrderEnds]
    taken: float
    even_round: EvenRound | None

    @property
    def end(self) -> Span:
        """Where the planned passes leave the bolts."""
        return _span(self.history.final, self.history.target)


def setup_of(joint: WorkedJoint) -> Setup:
    """Put a joint in the model's terms; raises NotFollowed for a gap in the sheet.

    Raises ValueError for a flange or gasket that cannot be as the sheet has it.
    """
    plan, clamp = joint.plan, joint.clamp
    tool, made, parts = plan.tool, plan.tightening, plan.joint
    if tool is None or made is None or clamp is None:
        raise NotFollowed(NO_TOOL)
    if parts.count > MOST_BOLTS:
        raise NotFollowed(f"{parts.count} bolts are more than are followed here ({MOST_BOLTS})")
    wanting = _wanting(parts)
    if joint.load is None:
        wanting.append("bearing face, hole and layers")
    if wanting or joint.load is None:
        raise NotFollowed(f"the model sheet does not give {', '.join(wanting)}")
    proof = proof_load(plan.thread, plan.strength)
    holds = min(proof, clamp.strip.weakest) if clamp.strip else proof
    lever, before = clamp.nut_factor.typical * plan.thread.major, clamp.prevailing[1]
    # even where friction is at its least, no bolt goes past what it or its thread holds
    safe = holds * clamp.typical / clamp.most
    flange, gasket = _bodies(parts)
    if gasket.stiffness > flange.modulus / flange.thickness:
        raise NotFollowed(
            "the gasket is stiffer than the flange through its own thickness, so that bending is "
            "not what counts"
        )
    return Setup(
        flange,
        gasket,
        made,
        joint.load.stiffness.fastener,
        clamp.typical,
        before,
        lever,
        tool.wrench.step * plan.ratio,
        min(parts.torque.high, before + lever * safe),
        safe,
    )


@functools.lru_cache(maxsize=256)
def solve(setup: Setup, mesh: int | None = None) -> Tightened:
    """Follow the joint; ``mesh`` as `flange_elements.bed` has it, chosen here if not given.

    Raises ValueError for a flange that its bolts, gasket and supports do not hold level.
    """
    layout = setup.plan.layout
    if mesh is None:
        mesh = max(LEAST_MESH, layout.count)
    assembled = joint(setup.flange, setup.gasket, layout.positions, setup.bolt_stiffness, mesh=mesh)
    planned, taken = setup.plan.order_kind, max(0.0, -float(interaction_matrix(assembled).min()))
    kinds = orders_of(setup.plan) if taken >= HARDLY else {planned: setup.plan.order}
    ways = {kind: _followed(setup, assembled, order) for kind, order in kinds.items()}
    before, history = ways[planned]
    rounds = None
    if not history.within(EVEN):
        passes = _torque_passes(setup, setup.plan.order) + rotation_passes(setup.plan, setup.target)
        rounds = tighten_until_even(
            assembled, passes, layout.rotation, share=EVEN, most=MOST_ROUNDS
        )
    return Tightened(
        history,
        rounds or Rounds(history, 0, even=True),
        {kind: _ends(setup, *way) for kind, way in ways.items()},
        taken,
        _even_round(setup, assembled, before) if rounds else None,
    )


def orders_of(plan: Plan) -> dict[OrderKind, tuple[int, ...]]:
    """The orders worth comparing: the planned one first, then those that differ from it."""
    found: dict[OrderKind, tuple[int, ...]] = {plan.order_kind: plan.order}
    others: dict[OrderKind, tuple[int, ...]] = {"cross": cross_order(plan.layout)}
    if plan.layout.shape not in {"row", "manifold"}:
        others["quadrant"] = quadrant_order(plan.layout)
    others["rotation"] = rotation_order(plan.layout)
    for kind, order in others.items():
        if order not in found.values():
            found.setdefault(kind, order)
    return found


def beyond_the_model(setup: Setup) -> bool:
    """Say whether the flange is too thick or too wide for the theory to be more than a trend."""
    if isinstance(setup.flange, RingFlange):
        return setup.flange.width > 2.0 * setup.flange.radius * WIDTH_SHARE
    return setup.flange.thickness > spacing(setup.plan.layout) * SPACING_SHARE


def spacing(layout: Layout) -> float:
    """Least distance between two fasteners (m)."""
    places = np.array(layout.positions)
    apart = np.hypot(*(places[:, None, :] - places[None, :, :]).transpose(2, 0, 1))
    return float(apart[~np.eye(layout.count, dtype=bool)].min())


def _wanting(parts: sheet.Joint) -> list[str]:
    gasket = parts.gasket
    given = {
        "the gasket's modulus": gasket and gasket.modulus,
        "the gasket's thickness": gasket and gasket.thickness,
        "the gasket's width": gasket and _gasket_width(gasket),
        "the flange": parts.flange,
    }
    wanting = [name for name, there in given.items() if there is None]
    ring = isinstance(parts.flange, sheet.RingFlange)
    if ring and gasket and gasket.inner_diameter is None and gasket.outer_diameter is None:
        wanting.append("the gasket's diameters")
    return wanting


def _gasket_width(gasket: sheet.Gasket) -> float | None:
    if gasket.width is not None:
        return gasket.width.nominal
    if gasket.inner_diameter is None or gasket.outer_diameter is None:
        return None
    return (gasket.outer_diameter.nominal - gasket.inner_diameter.nominal) / 2.0


def _bodies(parts: sheet.Joint) -> tuple[Flange, Gasket]:
    seal, width = parts.gasket, _gasket_width(parts.gasket) if parts.gasket else None
    assert seal and seal.modulus and seal.thickness and width and parts.flange  # noqa: S101
    gasket = Gasket(seal.modulus.nominal, seal.thickness.nominal, width)
    outer = seal.outer_diameter.nominal if seal.outer_diameter else None
    inner = seal.inner_diameter.nominal if seal.inner_diameter else None
    metal, thickness = material(parts.flange.material), parts.flange.thickness.nominal
    body = (metal.elastic_modulus, thickness)
    match parts.flange:
        case sheet.RingFlange() as ring:
            mean = outer - width if outer is not None else (inner or 0.0) + width
            ends = ring.inner_diameter.nominal, ring.outer_diameter.nominal
            return RingFlange(*body, *ends, mean, metal.poisson_ratio), gasket
        case sheet.BarFlange() as bar:
            sides = bar.length.nominal, bar.width.nominal
            return Bar(*body, *sides, metal.poisson_ratio), gasket
        case sheet.RoundPlate() as plate:
            outline = _circle(plate.outer_diameter.nominal)
        case sheet.Plate(form="plate") as plate:
            outline = Outline("rectangle", plate.width.nominal, plate.height.nominal)
        case sheet.Plate() as plate:
            outline = Outline("ellipse", plate.width.nominal, plate.height.nominal)
    opening = _circle(plate.inner_diameter.nominal) if plate.inner_diameter else None
    edge = _circle(outer) if outer is not None else None
    return Cover(*body, outline, edge, opening, metal.poisson_ratio), gasket


def _circle(diameter: float) -> Outline:
    return Outline("ellipse", diameter, diameter)


def _torque_passes(setup: Setup, order: tuple[int, ...]) -> tuple[ForcePass, ...]:
    return torque_passes(setup.plan, order, setup.prevailing, setup.target)


def torque_passes(
    plan: Plan, order: tuple[int, ...], prevailing: float, target: float
) -> tuple[ForcePass, ...]:
    """The passes that bring a joint up to ``target``, in another order.

    The ``prevailing`` torque, N·m, clamps nothing and is taken off.
    """
    passes = [
        replace(one, order=order, torque=max(one.torque - prevailing, 0.0))
        for one in plan.passes
        if one.kind != "rotation"
    ]
    return force_passes(passes, target)


def rotation_passes(plan: Plan, target: float) -> tuple[ForcePass, ...]:
    """The planned rounds in rotation, each bolt to ``target``."""
    return tuple(ForcePass(one.order, target) for one in plan.passes if one.kind == "rotation")


def _followed(
    setup: Setup, assembled: Assembled, order: tuple[int, ...]
) -> tuple[History, History]:
    """The joint after the torque passes in ``order``, and after the planned round as well."""
    before = tighten(assembled, _torque_passes(setup, order))
    return before, tighten(assembled, rotation_passes(setup.plan, setup.target), after=before)


def _ends(setup: Setup, before: History, history: History) -> OrderEnds:
    target = setup.target
    return OrderEnds(_span(before.final, target), _span(history.final, target), history.skew)


def _span(forces: Array, target: Array | float) -> Span:
    share = forces / target
    return Span(float(share.min()), float(share.max()))


def _even_round(setup: Setup, assembled: Assembled, after: History) -> EvenRound | None:
    """Torques, on marks, of one round that leaves the bolts even ``after`` the torque passes."""
    rotation, marks = setup.plan.layout.rotation, math.floor(setup.most_torque / setup.step + 1e-9)
    limit = (marks * setup.step - setup.prevailing) / setup.lever
    if limit < setup.target:
        return None
    asked = even_pass(assembled, rotation, setup.target, limit=limit, after=after).forces
    wanted = (setup.prevailing + setup.lever * asked) / setup.step
    torques = np.minimum(np.floor(wanted + 0.5), marks) * setup.step
    forces = (torques - setup.prevailing) / setup.lever
    done = tighten(assembled, [ForcePass(rotation, tuple(forces.tolist()))], after=after)
    if done.forces[-setup.plan.layout.count :].max() > setup.most_preload:
        return None  # a bolt set within its limit is drawn beyond it by those that follow
    return EvenRound(rotation, tuple(torques.tolist()), _span(done.final, setup.target))
