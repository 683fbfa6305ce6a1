"""The rod and the nut that holds the piston on it: reversing load, shoulder, column at stall."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from rebuildbook.calculators.drive import ATMOSPHERE, annulus_area, piston_area
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.rod_joint import (
    END_CONDITIONS,
    Reversal,
    critical_load,
    locker_torque,
    reversal,
    slenderness,
    stroke_load,
    transition_slenderness,
)
from rebuildbook.sheets.model import Rod
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import text_line
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Level,
    Line,
    Lines,
    Note,
    Section,
    Value,
)
from rebuildbook.worksheet.plan import JointPlan, consumables_of
from rebuildbook.worksheet.under_load import UnderLoad
from rebuildbook.worksheet.unit import Unit
from rebuildbook.worksheet.worked import WorkedJoint

WANTED_JOINT = 1.5  # on the stroke loads; common practice, no source
WANTED_COLUMN = 3.0  # on the critical load; common practice, no source
LEAST_PRELOAD = 1.0  # N; below it a joint counts as loose
_FACES = "both faces of a piston clamped on its rod (springs; VDI 2230 load plane, from memory)"
_COLUMN = "Euler or Johnson column (Shigley eqs. 4-43 and 4-46)"


@dataclass(frozen=True, slots=True)
class StrokeLoads:
    """Loads of both strokes on the rod joint, N, with the pressures (Pa) and areas (m²)."""

    toward_nut: float
    toward_shoulder: float
    pressures: tuple[float, float]
    areas: tuple[float, float]
    where: str


@dataclass(frozen=True, slots=True)
class RodCheck:
    """A rod judged: loads, faces of its joint, and the rod as a column (N).

    ``faces`` is None where no preload is left that would hold them.
    """

    loads: StrokeLoads
    faces: Reversal | None
    critical: float

    @property
    def margin(self) -> float:
        """Factor on both stroke loads at which the first face opens."""
        return self.faces.margin if self.faces else 0.0

    @property
    def column(self) -> float:
        """Critical load over the thrust; infinite where no stroke pushes."""
        thrust = self.loads.toward_shoulder
        return self.critical / thrust if thrust > 0.0 else math.inf


def rod_section(
    context: Context,
    unit: Unit,
    joints: Mapping[str, WorkedJoint],
    highest: float,
) -> Section:
    """Build the section on the rod; ``highest`` is the highest pressure of the unit, Pa."""
    rod = context.model.rod
    title = "Rod and its nut"
    if rod is None:
        return Section("rod", title, (Note("The model sheet describes no rod."),))
    plan, load = joints[rod.joint].plan, joints[rod.joint].load
    if load is None:
        note = f"{rod.joint}: no tool that can be judged or no layers; nothing to check."
        return Section("rod", title, (Note(note),))
    loads = stroke_loads(context, rod, unit, highest)
    check = check_rod(rod, loads, load)
    blocks: list[Block] = [
        Caution(
            "A nut bonded with high-strength locker comes off with heat: no flame on a part that "
            "may hold fluid, solvent or pressure, and nobody in line with the rod."
        ),
        Lines(
            f"{rod.joint}: {plan.joint.what}",
            (*_joint_lines(context, rod, load, check), *_locker(context, plan)),
        ),
        *_joint_findings(context, check, load),
    ]
    blocks += _column(context, rod, check)
    return Section("rod", title, tuple(blocks))


def stroke_loads(context: Context, rod: Rod, unit: Unit, highest: float) -> StrokeLoads:
    """Loads of the two strokes at stall, or at the relief valve's pressure for a crank drive."""
    end, stall = context.model.fluid_end, unit.stall_max
    bore = rod.effective_diameter or end.bore
    assert bore is not None  # noqa: S101  (crosscheck has seen to it)
    full = float(piston_area.si(bore.nominal))
    limited = stall is not None and stall.limited
    up = stall.up if stall and limited and stall.up is not None else highest
    down = stall.down if stall and limited and stall.down is not None else highest
    at = "stall at the highest supply" if limited else "full relief, as the drive sets no limit"
    match context.model.architecture:
        case "double-acting-piston":
            assert end.rod is not None  # noqa: S101
            ring = float(annulus_area.si(bore.nominal, end.rod.nominal))
            pressures, areas = (up, down), (ring, full)
            where = f"{at}; the up-stroke pushes the piston at its nut, the down-stroke at the rod"
        case "single-acting-piston" if end.rod is not None:
            own = float(piston_area.si(end.rod.nominal))
            pressures, areas = (up, down), (full - own, own)
            where = f"{at}; the ring pulls at the nut going up, the rod's section pushes going down"
        case "double-diaphragm":
            pressures, areas = (ATMOSPHERE, 0.0), (full, full)
            where = "one diaphragm sucks a full vacuum; pressures on the other balance each other"
        case _:
            pressures, areas = (ATMOSPHERE, down), (full, full)
            where = f"{at}; filling pulls with a full vacuum at most"
    nut, shoulder = (
        float(stroke_load.si(pressure, area))
        for pressure, area in zip(pressures, areas, strict=True)
    )
    return StrokeLoads(nut, shoulder, pressures, areas, where)


def check_rod(rod: Rod, loads: StrokeLoads, load: UnderLoad) -> RodCheck:
    """Judge the rod's joint at its least preload left, and the rod as a column."""
    plane = rod.load_plane.nominal if rod.load_plane else 0.0
    metal = material(rod.material)
    critical = critical_load.si(
        rod.free_length.nominal,
        rod.diameter.low,
        modulus=metal.elastic_modulus,
        yield_strength=metal.yield_strength,
        end_constant=END_CONDITIONS[rod.ends],
    )
    faces = None
    if load.least >= LEAST_PRELOAD:
        share = load.stiffness.constant
        faces = reversal(load.least, share, loads.toward_nut, loads.toward_shoulder, plane)
    return RodCheck(loads, faces, float(critical))


def _joint_lines(context: Context, rod: Rod, load: UnderLoad, check: RodCheck) -> Iterator[Line]:
    loads, plane = check.loads, rod.load_plane.nominal if rod.load_plane else 0.0
    for word, size, which in (
        ("nut", loads.toward_nut, 0),
        ("shoulder", loads.toward_shoulder, 1),
    ):
        yield Line(
            f"rod.{word}-load",
            f"Load of the stroke toward the {word}",
            context.value(size, "force"),
            f"Q_{word}",
            "p*A",
            {
                "p": context.value(loads.pressures[which], "pressure"),
                "A": context.value(loads.areas[which], "area"),
            },
            "pressure on the piston",
            loads.where,
        )
    common = {
        "F_left": context.value(load.least, "force"),
        "n": Value(plane, "fraction", "%"),
        "C": Value(load.stiffness.constant, "number", ""),
    }
    nut, push = (context.value(q, "force") for q in (loads.toward_nut, loads.toward_shoulder))
    if check.faces is None:
        return
    yield Line(
        "rod.on-shoulder",
        "Clamp left on the shoulder as the piston pushes at the nut",
        context.value(check.faces.shoulder_least, "force"),
        "S",
        "max(F_left + (1 - n)*C*Q_nut, Q_nut) - Q_nut",
        {**common, "Q_nut": nut},
        _FACES,
        "least preload left in service, share C from joints under load",
    )
    yield Line(
        "rod.on-nut",
        "Load left on the nut as the piston pushes at the shoulder",
        context.value(check.faces.nut_least, "force"),
        "N",
        "max(F_left - (1 - n)*C*Q_shoulder, 0)",
        {**common, "Q_shoulder": push},
        _FACES,
        "as above",
    )


def _locker(context: Context, plan: JointPlan) -> Iterator[Line]:
    """Torque that breaks the cured locker, where the shop knows its shear strength."""
    for _, name in consumables_of(context, plan):
        found = context.shop.consumables[name]
        if found.shear_strength is None:
            continue
        length = (
            plan.joint.tapped.engagement.nominal if plan.joint.tapped else 0.8 * plan.thread.major
        )
        yield Line(
            "rod.locker",
            f"Torque that breaks the cured locker ({name})",
            Value(
                float(locker_torque.si(found.shear_strength.nominal, plan.thread.major, length)),
                "torque",
                plan.joint.torque.unit,
            ),
            "T_l",
            "tau*pi*d**2*L/2",
            {
                "tau": context.value(found.shear_strength.nominal, "stress"),
                "d": context.value(plan.thread.major, "length"),
                "L": context.value(length, "length"),
            },
            "shear of a cylinder; breaking the clamp comes on top",
            "engagement "
            + ("from the model sheet" if plan.joint.tapped else "of a nut 0.8 d high (ISO 4032)"),
        )


def _joint_findings(context: Context, check: RodCheck, load: UnderLoad) -> Iterator[Finding]:
    margin = check.margin
    level: Level = "clear" if margin >= WANTED_JOINT else "query" if margin > 1.0 else "hold"
    words = {
        "clear": "both faces stay clamped at both reversals",
        "query": "piston joint has little to spare at reversal",
        "hold": "piston joint opens at every reversal",
    }[level]
    yield Finding(
        "rod.joint",
        level,
        f"Rod: {words}",
        f"least preload left {context.value(load.least, 'force').shown} against "
        f"{context.value(check.loads.toward_nut, 'force').shown} toward the nut and "
        f"{context.value(check.loads.toward_shoulder, 'force').shown} toward the shoulder",
        "no load" if math.isinf(margin) else f"{margin:.2f} times",
        ""
        if level == "clear"
        else "Check the window against the maker's sheet; an opening joint hammers and walks.",
        f"{_FACES}; {WANTED_JOINT:g} times: common practice, no source",
    )


def _column(context: Context, rod: Rod, check: RodCheck) -> Iterator[Block]:
    if not math.isfinite(check.column):
        yield Note("No stroke pushes on this rod; it is not checked as a column.")
        return
    metal, constant = material(rod.material), END_CONDITIONS[rod.ends]
    assert metal.yield_strength is not None  # noqa: S101
    slender = float(slenderness.si(rod.free_length.nominal, rod.diameter.low))
    limit = float(transition_slenderness.si(metal.elastic_modulus, metal.yield_strength, constant))
    inputs = {
        "d": Value(rod.diameter.low, "length", rod.diameter.unit, 4),
        "E": context.value(metal.elastic_modulus, "stress"),
        "C_e": Value(constant, "number", ""),
        "s": Value(slender, "number", ""),
    }
    formula = "pi*d**2/4*C_e*pi**2*E/s**2"
    if slender <= limit:
        inputs["S_y"] = context.value(metal.yield_strength, "stress")
        formula = "pi*d**2/4*(S_y - (S_y*s/(2*pi))**2/(C_e*E))"
    yield Lines(
        "Rod as a column",
        (
            text_line(
                "rod.slenderness",
                "Slenderness, and the one from which Euler's formula holds",
                f"{slender:.1f}, {limit:.1f}",
                f"free length {rod.free_length.canonical}, {rod.ends}: "
                f"{context.source('model', 'rod')}",
            ),
            Line(
                "rod.critical",
                "Critical load",
                context.value(check.critical, "force"),
                "P_cr",
                formula,
                inputs,
                _COLUMN,
                f"{metal.name}: {metal.source}",
            ),
            Line(
                "rod.column",
                "Critical load over the thrust at stall",
                Value(check.column, "number", ""),
                "n_c",
                "P_cr/Q_shoulder",
                {
                    "P_cr": context.value(check.critical, "force"),
                    "Q_shoulder": context.value(check.loads.toward_shoulder, "force"),
                },
                _COLUMN,
                "as above",
            ),
        ),
    )
    level: Level = (
        "clear" if check.column >= WANTED_COLUMN else "query" if check.column > 1.0 else "hold"
    )
    words = {
        "clear": "rod is stiff enough as a column",
        "query": "rod has little to spare as a column",
        "hold": "rod may buckle at stall",
    }[level]
    yield Finding(
        "rod.column",
        level,
        f"Rod: {words}",
        f"critical load {context.value(check.critical, 'force').shown} against a thrust of "
        f"{context.value(check.loads.toward_shoulder, 'force').shown}",
        f"{check.column:.2f} times",
        "" if level == "clear" else "Check rod, guides and supply pressure with the maker.",
        f"{_COLUMN}; {WANTED_COLUMN:g} times: common practice, no source",
    )
