"""What becomes of one joint's preload in service: settling, heat, pressure, the stroke's cycle."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rebuildbook.calculators.drive import piston_area
from rebuildbook.calculators.fatigue import rolled_thread_amplitude
from rebuildbook.calculators.joint import (
    clamp_load,
    embedding,
    fastener_load,
    free_growth,
    separation_load,
    settling_loss,
    thermal_change,
)
from rebuildbook.calculators.materials import Material, material
from rebuildbook.calculators.stiffness import (
    Layer,
    bolt_stiffness,
    cone_stiffness,
    joint_constant,
    rod_stiffness,
    series_stiffness,
    tapped_layers,
)
from rebuildbook.sheets.model import Joint
from rebuildbook.sheets.model import Layer as Member
from rebuildbook.worksheet.clamp import Clamp
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.plan import JointPlan

ROUGHNESS = 16e-6  # m, Rz of a turned or milled face, where the sheet gives none
BENCH = 293.15  # K, 20 °C
TAPPED_FACE = 1.5  # width of the cone at a tapped hole, in diameters (Shigley fig. 8-21)


@dataclass(frozen=True, slots=True)
class Stiffness:
    """Springs of a joint, per fastener: N/m; lengths m, areas m².

    ``grip`` is what stretches, ``shank`` its plain part of ``shank_area``; ``gasket`` is part of
    ``members``. ``layers`` counts the clamped parts.
    """

    grip: float
    shank: float
    shank_area: float
    modulus: float
    fastener: float
    members: float
    gasket: float | None
    constant: float
    shut_constant: float
    inner_faces: int
    bearing_faces: int


@dataclass(frozen=True, slots=True)
class Loss:
    """What service takes from the preload, or adds to it (N), and where from.

    ``kept`` is the share left by creep of soft parts; ``settled`` (m) what the faces settle and
    ``settling`` what that costs; ``growths`` (m) of fastener and parts and ``thermal`` the change
    of preload, each at the colder and at the hotter end of ``temperatures`` (K).
    """

    kept: float
    roughness: float
    settled: float
    settling: float
    temperatures: tuple[float, float]
    bench: float
    growths: tuple[tuple[float, float], tuple[float, float]]
    thermal: tuple[float, float]

    def least(self, preload: float) -> float:
        """Preload left of ``preload`` when all of it goes the wrong way, N."""
        return max(preload * self.kept - self.settling + min(*self.thermal, 0.0), 0.0)

    def most(self, preload: float) -> float:
        """Preload at its greatest in service: not settled yet, and swollen by heat, N."""
        return preload + max(*self.thermal, 0.0)


@dataclass(frozen=True, slots=True)
class Pressed:
    """A joint under the pressure, per fastener: N.

    ``pressure`` is the highest it can see and ``pull`` its force; ``swing`` holds the pulls of
    the stroke's cycle, lowest and highest, in duty. ``clamp`` is left at the least preload, and
    ``opens`` the pull that opens the joint then.
    """

    area: float
    pressure: float
    pull: float
    swing_pressures: tuple[float, float]
    swing: tuple[float, float]
    clamp: float
    opens: float
    greatest: float

    @property
    def margin(self) -> float:
        """Pull that opens the joint over the pull it sees."""
        return self.opens / self.pull


@dataclass(frozen=True, slots=True)
class Face:
    """Stress on gasket or metal face (Pa), and what the sheet asks of it."""

    area: float
    of_gasket: bool
    assembled: float
    crushed: float
    in_service: float


@dataclass(frozen=True, slots=True)
class Cycle:
    """Stress of the stroke's cycle in the fastener (Pa), and what its thread endures."""

    loads: tuple[float, float]
    amplitude: float
    endured: float
    proven: bool

    @property
    def factor(self) -> float:
        """Endured amplitude over the amplitude there is; infinite where there is none."""
        return self.endured / self.amplitude if self.amplitude > 0.0 else math.inf


@dataclass(frozen=True, slots=True)
class UnderLoad:
    """All of it; None where the sheet does not say enough."""

    stiffness: Stiffness
    loss: Loss
    least: float
    most: float
    pressed: Pressed | None
    face: Face | None
    cycle: Cycle | None

    def opens_below(self) -> float | None:
        """Preload at the bench below which the joint opens under the pressure, N."""
        if self.pressed is None:
            return None
        needed = (1.0 - self.stiffness.shut_constant) * self.pressed.pull
        return (needed + self.loss.settling - min(*self.loss.thermal, 0.0)) / self.loss.kept


def under_load(
    context: Context, plan: JointPlan, clamp: Clamp, pressure: float
) -> UnderLoad | None:
    """Follow a joint into service under ``pressure`` (Pa), the highest it can see.

    None without layers and faces, from which the stiffness comes.
    """
    stiffness = stiffness_of(plan)
    if stiffness is None:
        return None
    loss = _loss(context, plan, stiffness)
    least, most = loss.least(clamp.least), loss.most(clamp.most)
    pressed = _pressed(context, plan.joint, stiffness, least, most, pressure)
    face = _face(plan.joint, clamp, pressed.clamp if pressed else least)
    cycle = _cycle(plan, stiffness, least, pressed) if pressed else None
    return UnderLoad(stiffness, loss, least, most, pressed, face, cycle)


def fastener_metal(plan: JointPlan) -> Material:
    """What the fastener is made of: stainless where its class says so, else steel."""
    stainless = plan.strength.system in {"ISO 3506-1", "ASTM F593"}
    return material("stainless steel 304" if stainless else "carbon steel")


def stiffness_of(plan: JointPlan) -> Stiffness | None:
    """Springs of fastener and parts by Shigley's two cones; None where the sheet is too short."""
    joint, thread = plan.joint, plan.thread
    if joint.bearing_diameter is None or joint.hole_diameter is None or not joint.layers:
        return None
    alone = [_layer(part) for part in joint.layers if part.shared_area is None]
    face, hole = joint.bearing_diameter.nominal, joint.hole_diameter.nominal
    far = None
    if joint.tapped is not None:
        housing = Layer(
            joint.tapped.engagement.nominal, material(joint.tapped.material).elastic_modulus
        )
        alone = list(tapped_layers([*alone, housing], thread.major))
        far = max(TAPPED_FACE * thread.major, 1.01 * hole)
    springs = [cone_stiffness(alone, hole, face, far)] if alone else []
    shared = [part for part in joint.layers if part.shared_area is not None]
    for part in shared:
        assert part.shared_area is not None  # noqa: S101
        modulus = material(part.material).elastic_modulus
        area = part.shared_area.nominal / joint.count
        springs.append(float(rod_stiffness.si(area, modulus, part.thickness.nominal)))
    metal = series_stiffness(springs)
    gasket = _gasket_stiffness(joint)
    members = metal if gasket is None else series_stiffness([metal, gasket])
    grip = sum(layer.thickness for layer in alone)
    grip += sum(part.thickness.nominal for part in shared)
    grip += _gasket_thickness(joint)
    shank = min(joint.shank_length.nominal, grip) if joint.shank_length else 0.0
    shank_area, modulus = float(piston_area.si(thread.major)), fastener_metal(plan).elastic_modulus
    fastener = float(
        bolt_stiffness.si(
            shank_area,
            thread.stress_area,
            shank_length=shank,
            threaded_length=grip - shank,
            modulus=modulus,
        )
    )
    faces = len(joint.layers) - (0 if joint.tapped else 1)
    return Stiffness(
        grip,
        shank,
        shank_area,
        modulus,
        fastener,
        members,
        gasket,
        float(joint_constant.si(fastener, members)),
        float(joint_constant.si(fastener, metal)),
        max(faces - (1 if _is_flat(joint) else 0), 0),
        1 if joint.tapped else 2,
    )


def sealed_area(joint: Joint) -> float | None:
    """The area that the pressure works on, m², for all fasteners together."""
    if joint.sealed_area is not None:
        return joint.sealed_area.nominal
    if joint.sealed_diameter is not None:
        return float(piston_area.si(joint.sealed_diameter.nominal))
    return None


def _layer(part: Member) -> Layer:
    outer = part.outer_diameter.nominal if part.outer_diameter else math.inf
    return Layer(part.thickness.nominal, material(part.material).elastic_modulus, outer)


def _is_flat(joint: Joint) -> bool:
    return joint.gasket is not None and joint.gasket.kind == "flat"


def _gasket_thickness(joint: Joint) -> float:
    if not _is_flat(joint) or joint.gasket is None or joint.gasket.thickness is None:
        return 0.0
    return joint.gasket.thickness.nominal


def _gasket_stiffness(joint: Joint) -> float | None:
    """A flat gasket's own spring under one fastener, N/m; None where the sheet does not tell."""
    area, gasket = _gasket_area(joint), joint.gasket
    if gasket is None or area is None or not _is_flat(joint):
        return None
    modulus = gasket.modulus.nominal if gasket.modulus else _known_modulus(gasket.material)
    if modulus is None or gasket.thickness is None:
        return None
    return float(rod_stiffness.si(area / joint.count, modulus, gasket.thickness.nominal))


def _known_modulus(name: str | None) -> float | None:
    try:
        return material(name).elastic_modulus if name else None
    except LookupError:
        return None


def _gasket_area(joint: Joint) -> float | None:
    gasket = joint.gasket
    if gasket is None or not _is_flat(joint):
        return None
    if gasket.outer_diameter is not None and gasket.inner_diameter is not None:
        outer, inner = gasket.outer_diameter.nominal, gasket.inner_diameter.nominal
        return float(piston_area.si(outer) - piston_area.si(inner))
    return joint.face_area.nominal if joint.face_area else None


def _loss(context: Context, plan: JointPlan, stiffness: Stiffness) -> Loss:
    joint = plan.joint
    kept = 1.0
    for soft in (*joint.layers, joint.gasket):
        if soft is not None and soft.creep is not None:
            kept *= 1.0 - soft.creep.nominal
    roughness = joint.roughness.nominal if joint.roughness else ROUGHNESS
    settled = embedding(roughness, stiffness.inner_faces, stiffness.bearing_faces)
    at_bench = bench_temperature(context)
    ends = temperatures(context)
    growths = tuple(_growths(plan, stiffness, end - at_bench) for end in ends)
    springs = (stiffness.fastener, stiffness.members)
    changes = tuple(float(thermal_change.si(*pair, *springs)) for pair in growths)
    return Loss(
        kept,
        roughness,
        settled,
        float(settling_loss.si(settled, *springs)),
        ends,
        at_bench,
        (growths[0], growths[1]),
        (changes[0], changes[1]),
    )


def bench_temperature(context: Context) -> float:
    """Temperature at which the unit is put together, K."""
    return nominal(context.shop.bench_temperature, BENCH)


def temperatures(context: Context) -> tuple[float, float]:
    """Coldest and hottest in service, K: the model's range, widened by the fluid of the job."""
    fluid, span = context.job.fluid.temperature, context.model.temperature_range
    if span is None:
        return fluid.low, fluid.high
    return min(span.low, fluid.low), max(span.high, fluid.high)


def _growths(plan: JointPlan, stiffness: Stiffness, warming: float) -> tuple[float, float]:
    """Free growth of the fastener and of the parts over the grip, m; a gasket's is left out."""
    joint = plan.joint
    parts = [(material(part.material), part.thickness.nominal) for part in joint.layers]
    gasket = _gasket_thickness(joint)
    reach = stiffness.grip - gasket - sum(length for _, length in parts)
    if joint.tapped is not None and reach > 0.0:
        parts.append((material(joint.tapped.material), reach))
    own = fastener_metal(plan).expansion or 0.0
    grown = sum(
        float(free_growth.si(metal.expansion or 0.0, length, warming)) for metal, length in parts
    )
    return float(free_growth.si(own, stiffness.grip - gasket, warming)), grown


def _pressed(
    context: Context,
    joint: Joint,
    stiffness: Stiffness,
    least: float,
    most: float,
    pressure: float,
) -> Pressed | None:
    area = sealed_area(joint)
    if joint.holds is None or area is None:
        return None
    each = area / joint.count
    duty = context.job.duty
    working, inlet = duty.working_pressure.nominal, nominal(duty.inlet_pressure, 0.0)
    swing = (inlet, working) if joint.pulsating else (working, working)
    pull = pressure * each
    return Pressed(
        area,
        pressure,
        pull,
        swing,
        (swing[0] * each, swing[1] * each),
        float(clamp_load.si(least, stiffness.shut_constant, pull)),
        float(separation_load.si(least, stiffness.shut_constant)),
        float(fastener_load.si(most, stiffness.constant, pull)),
    )


def _face(joint: Joint, clamp: Clamp, left: float) -> Face | None:
    gasket = _gasket_area(joint)
    area = gasket or (joint.face_area.nominal if joint.face_area else None)
    if area is None:
        return None
    stresses = (load * joint.count / area for load in (clamp.least, clamp.most, left))
    return Face(area, gasket is not None, *stresses)


def _cycle(plan: JointPlan, stiffness: Stiffness, least: float, pressed: Pressed) -> Cycle | None:
    if not plan.joint.pulsating:
        return None
    low, high = (float(fastener_load.si(least, stiffness.constant, pull)) for pull in pressed.swing)
    endured = float(rolled_thread_amplitude.si(plan.thread.major))
    steel = fastener_metal(plan).name.startswith("carbon")
    amplitude = (high - low) / (2.0 * plan.thread.stress_area)
    return Cycle((low, high), amplitude, endured, steel and plan.strength.tensile_strength >= 800e6)
