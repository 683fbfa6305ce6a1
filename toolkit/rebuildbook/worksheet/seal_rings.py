"""O-rings of a unit: how each lies in its gland, the gap it bridges, what it takes of a clamp."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from rebuildbook.calculators.elastomer import elastomer
from rebuildbook.calculators.extrusion import GapCheck, check_gap
from rebuildbook.calculators.o_ring import (
    MOST_FILL_WORST,
    MOST_INTERFERENCE,
    MOST_STRETCH,
    Assessment,
    Remark,
    assess_o_ring,
    squeeze_limits,
)
from rebuildbook.calculators.o_ring_gland import Gland, RadialGland, Service
from rebuildbook.calculators.o_ring_load import (
    MOST_SQUEEZE,
    closing_force,
    line_load,
    rubber_modulus,
)
from rebuildbook.calculators.o_ring_sizes import ORing, o_ring
from rebuildbook.sheets.glands import gland_of, measured_on
from rebuildbook.sheets.seals import ORingSeal, RadialGroove
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.under_load import bench_temperature, temperatures
from rebuildbook.worksheet.worked import WorkedJoint

Joints = Mapping[str, WorkedJoint]
SLACK = 0.005  # the table of squeezes gives whole percents
SOFTEST = 70.0  # Shore A at which the table of gaps begins
HARDEST = 90.0  # Shore A at which the relation of hardness to modulus ends


@dataclass(frozen=True, slots=True)
class Squeezed:
    """What closing the faces on a ring takes of one fastener, N.

    ``squeeze`` is its greatest share, ``modulus`` in Pa, ``midline`` m, ``rings`` for the
    ``fasteners``; ``clamp`` the least that the torque gives, ``left`` the least in service.
    """

    squeeze: float
    modulus: float
    midline: float
    rings: int
    fasteners: int
    each: float
    clamp: float
    left: float


@dataclass(frozen=True, slots=True)
class RingFit:
    """One kind of O-ring, as measured and fitted; ``unknown`` says what the sheets leave open.

    ``cold`` and ``hot`` are its states in service, ``ends`` their temperatures in K.
    ``worn`` is what the part it meets has lost in diameter, m.
    """

    name: str
    seal: ORingSeal
    ring: ORing
    gland: Gland
    fitted: Assessment
    cold: Assessment
    hot: Assessment
    ends: tuple[float, float]
    worn: float
    gap: GapCheck | None
    squeezed: Squeezed | None
    unknown: tuple[str, ...]

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """What is out of its range, fitted or in service."""
        found = (*self.fitted.remarks, *self.cold.remarks, *self.hot.remarks)
        return tuple({remark.text: remark for remark in found}.values())

    def nearest_limit(self) -> tuple[float, str]:
        """How far it goes toward a limit, 1 being at it, and toward which."""
        fitted = self.fitted
        low, high = squeeze_limits(fitted.section.nominal, fitted.use)
        uses = [
            ((low - SLACK) / max(fitted.squeeze_share.low, 1e-9), "least squeeze"),
            (fitted.squeeze_share.high / (high + SLACK), "greatest squeeze"),
            (max(fitted.fill.high, self.hot.fill.high) / MOST_FILL_WORST, "fill"),
        ]
        if held_inside(self.gland):
            uses.append((fitted.stretch.high / MOST_STRETCH, "stretch"))
        else:
            uses.append((fitted.interference.high / MOST_INTERFERENCE, "fit at the outer wall"))
        if self.gap is not None:
            allowed = self.gap.allowed_backed if self.seal.backed else self.gap.allowed
            uses.append((self.gap.working / max(allowed, 1e-9), "gap"))
        return max(uses)


def held_inside(gland: Gland) -> bool:
    """Whether a ring is held on its inside, so that stretch counts and not the outer wall."""
    if isinstance(gland, RadialGland):
        return gland.kind == "male"
    return gland.pressure_from == "outside"


def fit_ring(
    context: Context, name: str, seal: ORingSeal, joints: Joints, highest: float
) -> RingFit:
    """Lay an O-ring in its gland and follow it into service under ``highest`` pressure, Pa.

    Raises ValueError for a ring that cannot go in there at all.
    """
    ring, unknown = o_ring(seal.size), []
    sizes = measured_on(seal, context.model, context.job)
    worn = 0.0
    if sizes is not None and isinstance(seal.gland, RadialGroove):
        new, measured = sizes
        worn = measured - new if seal.gland.form == "male" else new - measured
    gland = gland_of(seal, worn)
    ends = temperatures(context)
    expansion = elastomer(seal.material).expansion if seal.material else None
    if expansion is None:
        unknown.append("expansion of the rubber")
    cold, hot = _states(context, seal, ends, expansion or 0.0)
    if seal.hardness is None:
        unknown.append("hardness")
    if isinstance(gland, RadialGland) and seal.clearance is None:
        unknown.append("clearance beside the groove")
    fitted = assess_o_ring(ring, gland)
    return RingFit(
        name,
        seal,
        ring,
        gland,
        fitted,
        assess_o_ring(ring, gland, cold),
        assess_o_ring(ring, gland, hot),
        ends,
        worn,
        _gap(context, seal, worn, highest, unknown),
        _squeezed(seal, ring, fitted, joints, unknown),
        tuple(unknown),
    )


def _states(
    context: Context, seal: ORingSeal, ends: tuple[float, float], expansion: float
) -> tuple[Service, Service]:
    at_bench = bench_temperature(context)
    swell = seal.swell.nominal if seal.swell else 0.0
    # the calculator takes growth up to a fifth; no rubber serves in such heat
    steps = [
        math.copysign(min(abs(end - at_bench), 0.2 / max(expansion, 1e-9)), end - at_bench)
        for end in ends
    ]
    return (
        Service(0.0, min(steps[0], 0.0), expansion),
        Service(min(swell, 2.0), max(steps[1], 0.0), expansion),
    )


def _gap(
    context: Context, seal: ORingSeal, worn: float, highest: float, unknown: list[str]
) -> GapCheck | None:
    if seal.clearance is None or seal.hardness is None:
        return None
    joint = context.model.joints.get(seal.joint or "")
    if seal.part is None and (joint is None or joint.holds is None):
        unknown.append("pressure part that it seals")
        return None
    hardness = seal.hardness.low
    if hardness < SOFTEST:
        unknown.append(f"gap that rubber softer than {SOFTEST:g} Shore A bridges")
        return None
    family = elastomer(seal.material).family if seal.material else ""
    clearance = max(seal.clearance.high + worn, 0.0)
    return check_gap(clearance, highest, hardness, family=family, backed=seal.backed)


def _squeezed(
    seal: ORingSeal, ring: ORing, fitted: Assessment, joints: Joints, unknown: list[str]
) -> Squeezed | None:
    if seal.joint is None or seal.hardness is None or fitted.use != "face":
        return None
    joint = joints[seal.joint]
    if joint.clamp is None or joint.load is None:
        unknown.append(f"clamp left of {seal.joint}")
        return None
    squeeze = fitted.squeeze_share.high
    if not 0.0 < squeeze <= MOST_SQUEEZE:
        unknown.append("load at such a squeeze")
        return None
    modulus = float(rubber_modulus.si(min(seal.hardness.high, HARDEST)))
    section, midline = ring.section.high, ring.inside.nominal + ring.section.nominal
    force = closing_force.si(line_load.si(section, squeeze, modulus), midline)
    load = joint.load
    left = load.pressed.clamp if load.pressed else load.least
    count = joint.plan.joint.count
    return Squeezed(
        squeeze,
        modulus,
        midline,
        seal.count,
        count,
        float(force) * seal.count / count,
        joint.clamp.least,
        left,
    )
