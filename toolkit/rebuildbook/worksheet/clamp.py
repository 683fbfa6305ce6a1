"""What the torque of one joint does: preload with its scatter, against fastener and threads."""

from __future__ import annotations

import functools
from dataclasses import dataclass

from rebuildbook.calculators.fastener_stress import bearing_stress, tightening_stress
from rebuildbook.calculators.materials import Material, material
from rebuildbook.calculators.preload import (
    TorqueShares,
    mean_bearing_diameter,
    preload_from_friction,
    preload_from_nut_factor,
    thread_torque,
    torque_shares,
)
from rebuildbook.calculators.stripping import (
    SHEAR_RATIO,
    Stripping,
    ThreadPair,
    basic_pair,
    engagement_to_break_fastener,
    stripping,
)
from rebuildbook.calculators.thread_friction import Friction, friction
from rebuildbook.calculators.thread_limits import external_limits, internal_limits
from rebuildbook.calculators.threads import Thread
from rebuildbook.calculators.uncertainty import (
    Propagation,
    Simulation,
    Triangular,
    Uniform,
    preload_by_nut_factor,
    propagate,
    simulate,
    tightening,
)
from rebuildbook.sheets.model import Joint
from rebuildbook.units import Amount
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.plan import JointPlan

DRAWS = 50_000  # the 95 % interval moves by less than half a per cent from seed to seed

Span = tuple[float, float, float]  # least, typical or nominal, most


@dataclass(frozen=True, slots=True)
class NutFactor:
    """The nut factor of a joint: least, typical and most, the condition and where it is from."""

    low: float
    typical: float
    high: float
    condition: str
    source: str


@dataclass(frozen=True, slots=True)
class FrictionPair:
    """Friction of thread and bearing face, and the preloads that the pair gives (N)."""

    thread: Span
    bearing: Span
    bearing_diameter: float
    least: float
    typical: float
    most: float
    shares: TorqueShares


@dataclass(frozen=True, slots=True)
class Strip:
    """How the threads of a tapped hole hold: loads, and the engagement that breaks the screw."""

    loads: Stripping
    needed: float
    classes: str

    @property
    def weakest(self) -> float:
        """Load that strips the weaker of both threads, N."""
        return min(self.loads.internal_strips, self.loads.external_strips)


@dataclass(frozen=True, slots=True)
class Clamp:
    """Preloads, N: least, typical and most; None where the sheets do not say enough.

    ``prevailing`` is the torque that clamps nothing, N·m. ``twist`` is the most thread friction's
    torque in the shank at the most preload, N·m, and ``combined`` the stress of tension and twist
    there, Pa. ``bearing`` is the mean stress under the head at the most, Pa, against
    ``bearing_limit``.
    """

    nut_factor: NutFactor
    prevailing: Span
    least: float
    typical: float
    most: float
    draws: Simulation
    linear: Propagation
    pair: FrictionPair | None
    thread_friction: float
    twist: float
    combined: float
    strip: Strip | None
    bearing: float | None
    bearing_limit: float | None


def clamp_of(context: Context, plan: JointPlan) -> Clamp | None:
    """Work out one joint; None without a tool that can be judged, or set within its own scatter."""
    tool, joint = plan.tool, plan.joint
    if tool is None or tool.delivered_low <= 0.0:
        return None
    factor = nut_factor_of(context, plan)
    prevailing = _span(joint.prevailing_torque) if joint.prevailing_torque else (0.0, 0.0, 0.0)
    torques = (tool.delivered_low, tool.nominal, tool.delivered_high)
    least, typical, most = (
        float(preload_from_nut_factor.si(torque, k, plan.thread.major, before))
        for torque, k, before in zip(
            torques, (factor.high, factor.typical, factor.low), reversed(prevailing), strict=True
        )
    )
    step = tool.wrench.step * plan.ratio
    draws, linear = spread_of(
        plan.thread.major, tool.nominal, tool.accuracy, step, factor, prevailing
    )
    pair = _pair(context, plan, torques, prevailing)
    friction_low = _thread_friction(context, plan)[0]
    twist = float(
        thread_torque.si(most, plan.thread.pitch, plan.thread.pitch_diameter, friction_low)
    )
    under_head = _under_head(joint)
    return Clamp(
        factor,
        prevailing,
        least,
        typical,
        most,
        draws,
        linear,
        pair,
        friction_low,
        twist,
        float(tightening_stress.si(most, twist, plan.thread.stress_area)),
        _strip(plan),
        _bearing(joint, most) if under_head else None,
        under_head.yield_strength if under_head else None,
    )


def nut_factor_of(context: Context, plan: JointPlan) -> NutFactor:
    """The model sheet's own nut factor, else the table's for what is on the thread."""
    joint = plan.joint
    if joint.nut_factor is not None:
        own = joint.nut_factor
        where = context.source("model", f"joints.{plan.name}.nut_factor")
        return NutFactor(own.low, own.nominal, own.high, "as the model sheet gives it", where)
    found = _condition(context, plan)
    return NutFactor(
        found.nut_factor_low,
        found.nut_factor_typical,
        found.nut_factor_high,
        found.name,
        found.source,
    )


def _condition(context: Context, plan: JointPlan) -> Friction:
    used = context.job.consumables_used.get(plan.name)
    condition = context.shop.consumables[used].condition if used else None
    return friction(condition or plan.joint.condition)


@functools.lru_cache(maxsize=512)
def spread_of(
    diameter: float,
    torque: float,
    accuracy: float,
    step: float,
    factor: NutFactor,
    prevailing: Span,
) -> tuple[Simulation, Propagation]:
    """Spread of the preload by trials and by the linear sum; the same inputs give the same."""
    inputs = {
        **tightening(torque, accuracy, step),
        "nut_factor": Triangular(factor.low, factor.typical, factor.high),
        "prevailing_torque": Uniform(prevailing[0], prevailing[2]) if prevailing[2] else 0.0,
    }
    model = preload_by_nut_factor(diameter)
    return simulate(model, inputs, draws=DRAWS), propagate(model, inputs)


def _thread_friction(context: Context, plan: JointPlan) -> Span:
    own = plan.joint.thread_friction
    if own is not None:
        return _span(own)
    found = _condition(context, plan)
    return _ends(found.thread_low, found.thread_high)


def _bearing_friction(context: Context, plan: JointPlan) -> Span:
    own = plan.joint.bearing_friction
    if own is not None:
        return _span(own)
    found = _condition(context, plan)
    return _ends(found.bearing_low, found.bearing_high)


def _pair(
    context: Context, plan: JointPlan, torques: Span, prevailing: Span
) -> FrictionPair | None:
    joint, thread = plan.joint, plan.thread
    if joint.bearing_diameter is None or joint.hole_diameter is None:
        return None
    outer, hole = joint.bearing_diameter.nominal, joint.hole_diameter.nominal
    face = float(mean_bearing_diameter.si(outer, hole))
    in_thread = _thread_friction(context, plan)
    on_face = _bearing_friction(context, plan)
    geometry = {
        "pitch": thread.pitch,
        "pitch_diameter": thread.pitch_diameter,
        "bearing_diameter": face,
    }

    def preload(torque: float, which: int, before: float) -> float:
        return float(
            preload_from_friction.si(
                torque,
                thread_friction=in_thread[which],
                bearing_friction=on_face[which],
                prevailing_torque=before,
                **geometry,
            )
        )

    return FrictionPair(
        in_thread,
        on_face,
        face,
        preload(torques[0], 2, prevailing[2]),
        preload(torques[1], 1, prevailing[1]),
        preload(torques[2], 0, prevailing[0]),
        torque_shares(
            torques[1],
            thread_friction=in_thread[1],
            bearing_friction=on_face[1],
            prevailing_torque=prevailing[1],
            **geometry,
        ),
    )


def _span(amount: Amount) -> Span:
    return amount.low, amount.nominal, amount.high


def _ends(low: float, high: float) -> Span:
    return low, (low + high) / 2.0, high


def _under_head(joint: Joint) -> Material | None:
    if joint.bearing_diameter is None or joint.hole_diameter is None or not joint.layers:
        return None
    return material(joint.layers[0].material)


def _bearing(joint: Joint, load: float) -> float:
    assert joint.bearing_diameter and joint.hole_diameter  # noqa: S101
    outer, hole = joint.bearing_diameter.nominal, joint.hole_diameter.nominal
    return float(bearing_stress.si(load, outer, hole))


def _strip(plan: JointPlan) -> Strip | None:
    tapped = plan.joint.tapped
    if tapped is None:
        return None
    housing = material(tapped.material)
    given = tapped.tensile_strength
    tensile = given.nominal if given else housing.tensile_strength or housing.yield_strength
    if tensile is None:
        return None
    pair, classes = _limits(plan.thread, plan.joint)
    loads = {
        "stress_area": plan.thread.stress_area,
        "fastener_tensile": plan.strength.tensile_strength,
        "internal_shear": shear_ratio(housing) * tensile,
    }
    return Strip(
        stripping(pair, tapped.engagement.nominal, **loads),
        engagement_to_break_fastener(pair, **loads),
        classes,
    )


def _limits(thread: Thread, joint: Joint) -> tuple[ThreadPair, str]:
    """Diameters at the loose ends of the tolerances; a special thread has only its basic form."""
    if thread.series == "special":
        return basic_pair(thread.major, thread.pitch), "basic profile"
    outer = external_limits(thread, joint.external_class or "")
    inner = internal_limits(thread, joint.internal_class or "")
    pair = ThreadPair(
        thread.pitch, outer.major_min, outer.pitch_min, inner.minor_max, inner.pitch_max
    )
    return pair, f"least material of {outer.tolerance} in {inner.tolerance}"


def shear_ratio(housing: Material) -> float:
    """Shear over tensile strength of a tapped material, by its family."""
    name = housing.name.casefold()
    if housing.kind == "plastic":
        return SHEAR_RATIO["plastic, unfilled"]
    families = (
        ("aluminium casting", "aluminium, cast"),
        ("aluminium die", "aluminium, cast"),
        ("aluminium bronze", "brass"),
        ("aluminium", "aluminium, wrought"),
        ("ductile iron", "cast iron, nodular"),
        ("grey cast iron", "cast iron, grey"),
        ("stainless", "austenitic stainless steel"),
        ("bronze", "brass"),
        ("brass", "brass"),
    )
    for word, family in families:
        if word in name:
            return SHEAR_RATIO[family]
    return SHEAR_RATIO["quenched and tempered steel"]
