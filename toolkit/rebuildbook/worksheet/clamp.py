"""What the torque of one joint does: preload with its scatter, against pressure and threads."""

from __future__ import annotations

from dataclasses import dataclass

from rebuildbook.calculators.drive import piston_area
from rebuildbook.calculators.fastener_stress import bearing_stress
from rebuildbook.calculators.materials import Material, material
from rebuildbook.calculators.preload import preload_from_nut_factor
from rebuildbook.calculators.stripping import SHEAR_RATIO, Stripping, basic_pair, stripping
from rebuildbook.calculators.thread_friction import friction
from rebuildbook.calculators.uncertainty import (
    Simulation,
    Triangular,
    preload_by_nut_factor,
    simulate,
    tightening,
)
from rebuildbook.sheets.model import Joint
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.plan import JointPlan

DRAWS = 50_000  # the 95 % interval moves by less than half a per cent from seed to seed


@dataclass(frozen=True, slots=True)
class NutFactor:
    """The nut factor of a joint: least, typical and most, the condition and where it is from."""

    low: float
    typical: float
    high: float
    condition: str
    source: str


@dataclass(frozen=True, slots=True)
class Clamp:
    """Preloads, N: least, typical and most; None where the sheets do not say enough.

    ``pull`` is the pressure's force on one fastener, N, at ``pressure``, Pa. ``kept`` is the share
    of the preload left after the gasket has crept. ``bearing`` is the mean stress under the head
    at the most, Pa, against ``bearing_limit``.
    """

    nut_factor: NutFactor
    least: float
    typical: float
    most: float
    draws: Simulation
    kept: float
    pressure: float | None
    pull: float | None
    thread: Stripping | None
    bearing: float | None
    bearing_limit: float | None


def clamp_of(context: Context, plan: JointPlan, pressure: float) -> Clamp | None:
    """Work out one joint under ``pressure`` (Pa), the highest it can see; None without a tool."""
    tool, joint = plan.tool, plan.joint
    if tool is None:
        return None
    factor = nut_factor_of(context, plan)
    diameter = plan.thread.major

    def preload(torque: float, k: float) -> float:
        return float(preload_from_nut_factor.si(torque, k, diameter))

    spread = tightening(tool.nominal, tool.accuracy, tool.wrench.step * plan.ratio)
    k = Triangular(factor.low, factor.typical, factor.high)
    draws = simulate(preload_by_nut_factor(diameter), {**spread, "nut_factor": k}, draws=DRAWS)
    most = preload(tool.delivered_high, factor.low)
    area = sealed_area(joint)
    loaded = joint.holds is not None and area is not None
    creep = joint.gasket.creep.nominal if joint.gasket and joint.gasket.creep else 0.0
    under_head = _under_head(joint)
    return Clamp(
        factor,
        preload(tool.delivered_low, factor.high),
        preload(tool.nominal, factor.typical),
        most,
        draws,
        1.0 - creep,
        pressure if loaded else None,
        pressure * area / joint.count if loaded and area is not None else None,
        _stripping(plan),
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
    used = context.job.consumables_used.get(plan.name)
    condition = context.shop.consumables[used].condition if used else None
    found = friction(condition or joint.condition)
    return NutFactor(
        found.nut_factor_low,
        found.nut_factor_typical,
        found.nut_factor_high,
        found.name,
        found.source,
    )


def sealed_area(joint: Joint) -> float | None:
    """The area that the pressure works on, m², for all fasteners together."""
    if joint.sealed_area is not None:
        return joint.sealed_area.nominal
    if joint.sealed_diameter is not None:
        return float(piston_area.si(joint.sealed_diameter.nominal))
    return None


def _under_head(joint: Joint) -> Material | None:
    if joint.bearing_diameter is None or joint.hole_diameter is None or not joint.layers:
        return None
    return material(joint.layers[0].material)


def _bearing(joint: Joint, load: float) -> float:
    assert joint.bearing_diameter and joint.hole_diameter  # noqa: S101
    outer, hole = joint.bearing_diameter.nominal, joint.hole_diameter.nominal
    return float(bearing_stress.si(load, outer, hole))


def _stripping(plan: JointPlan) -> Stripping | None:
    tapped = plan.joint.tapped
    if tapped is None:
        return None
    housing = material(tapped.material)
    given = tapped.tensile_strength
    tensile = given.nominal if given else housing.tensile_strength or housing.yield_strength
    if tensile is None:
        return None
    return stripping(
        basic_pair(plan.thread.major, plan.thread.pitch),
        tapped.engagement.nominal,
        stress_area=plan.thread.stress_area,
        fastener_tensile=plan.strength.tensile_strength,
        internal_shear=shear_ratio(housing) * tensile,
    )


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
