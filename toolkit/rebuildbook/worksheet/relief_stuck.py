"""What the pump comes to with its relief valve stuck shut: stall, weakest part, cycles to it."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Sequence

from rebuildbook.calculators.relief import ReliefCheck
from rebuildbook.calculators.relief_pressures import SLACK
from rebuildbook.calculators.relief_stuck import (
    ClosedSection,
    PartStrength,
    StuckRise,
    rank_parts,
    stuck_rise,
)
from rebuildbook.figures.stuck_rise import stuck_strip
from rebuildbook.figures.style import svg
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.model import (
    Block,
    Finding,
    Line,
    Lines,
    Note,
    Picture,
    Value,
    given,
    series,
)
from rebuildbook.worksheet.unit import Unit

WANTED_BURST = 1.5  # burst pressure over what is reached; common practice, no source
_BALANCE = "balance of forces on the drive"
_WANTED = f"{_BALANCE}; {WANTED_BURST:g} times to burst: common practice, no source"


def stuck_blocks(
    context: Context, unit: Unit, check: ReliefCheck, *, picture: bool
) -> Iterator[Block]:
    """Judge the pump with its relief valve stuck shut against a shut outlet."""
    stall = unit.stall_max or unit.stall
    if stall is None:
        yield Note("Stuck shut: without a supply pressure the stall is not known.")
        return
    parts, odd = _parts(context)
    if odd:
        yield Note(f"Test pressure below working pressure, left out: {', '.join(odd)}.")
    ranking = rank_parts(parts, stall.pressure)
    passed = [r.part for r in ranking if stall.pressure > r.part.max_working_pressure * (1 + SLACK)]
    section = closed_section(context)
    if section is None:
        yield Note(
            "How fast it rises with the valve stuck takes trapped_volume on the model sheet and "
            "bulk_modulus of the fluid; not worked out."
        )
    else:
        rise = stuck_rise(
            stall,
            section,
            unit.displacement,
            context.model.fluid_end.rate_max.nominal,
            parts,
            context.job.duty.working_pressure.nominal,
        )
        yield Lines("If it sticks shut and the outlet too", tuple(_rise(context, rise)))
        yield from series(_to_limits(context, rise))
        if picture and passed:
            yield _picture(context, rise)
    yield _finding(context, unit, check, passed, stall.pressure)


def _parts(context: Context) -> tuple[list[PartStrength], list[str]]:
    """The parts with what they stand, and those whose test pressure cannot be right."""
    parts, odd = [], []
    for name, part in context.model.pressure_parts.items():
        limit = part.max_working_pressure.nominal
        test = nominal(part.max_test_pressure, None)
        burst = nominal(part.burst_pressure, None)
        if test is not None and test < limit:
            odd.append(name)
            test = None
        parts.append(PartStrength(name, limit, test, burst))
    return parts, odd


def closed_section(context: Context) -> ClosedSection | None:
    """What lies between outlet checks and shut outlet; None where the sheets do not say."""
    model, modulus = context.model, context.job.fluid.bulk_modulus
    if model.trapped_volume is None or modulus is None:
        return None
    hoses = model.hose_compliance.nominal if model.hose_compliance else 0.0
    return ClosedSection(model.trapped_volume.nominal, modulus.nominal, hoses)


def _rise(context: Context, rise: StuckRise) -> Iterator[Line]:
    """What the shut section gives, and the way to the stall where there is one."""
    model, modulus = context.model, context.job.fluid.bulk_modulus
    assert model.trapped_volume and modulus  # noqa: S101
    inputs = {"V_0": given(model.trapped_volume), "K": given(modulus)}
    if model.hose_compliance:
        inputs["H"] = given(model.hose_compliance)
    yield Line(
        "relief.stuck-give",
        "What the shut section takes up",
        context.value(rise.section.compliance, "compliance"),
        "C_0",
        "V_0/K + H" if model.hose_compliance else "V_0/K",
        inputs,
        "bulk modulus; pipe walls rigid, no air",
        f"{context.source('model')}; {context.source('job', 'fluid.bulk_modulus')}",
    )
    if math.isfinite(rise.stall):
        yield _cycles(context, rise, "relief.stuck-stall", "Cycles to the stall", rise.stall)


def _to_limits(context: Context, rise: StuckRise) -> Iterator[tuple[str, Line]]:
    """Cycles and seconds to each working limit that the drive can pass, weakest part first."""
    frequency = context.value(rise.rate, "rate")
    for mark in rise.milestones:
        if mark.kind != "limit" or not mark.reached:
            continue
        id_ = f"relief.stuck-cycles.{mark.name}"
        cycles = _cycles(context, rise, id_, "Cycles to the working limit", mark.pressure)
        yield mark.name, cycles
        yield (
            mark.name,
            Line(
                f"relief.stuck-time.{mark.name}",
                "Time to the working limit",
                Value(mark.seconds, "time", "s"),
                "t",
                "N/f",
                {"N": Value(mark.strokes, "number", ""), "f": frequency},
                "at the highest rate",
                context.source("model", "fluid_end.rate_max"),
            ),
        )


def _cycles(context: Context, rise: StuckRise, id_: str, name: str, pressure: float) -> Line:
    pressed = max(float(rise.section.volume_to(pressure, rise.start)), 0.0)
    return Line(
        id_,
        name,
        Value(pressed / rise.displaced, "number", ""),
        "N",
        "C_0*max(p - p_0, 0)/V",
        {
            "C_0": context.value(rise.section.compliance, "compliance"),
            "p": context.value(pressure, "pressure", 4),
            "p_0": given(context.job.duty.working_pressure),
            "V": context.value(rise.displaced, "volume"),
        },
        "from the working pressure on; no slip",
        "displacement: see identity and duty",
    )


def _finding(
    context: Context,
    unit: Unit,
    check: ReliefCheck,
    passed: Sequence[PartStrength],
    stall: float,
) -> Finding:
    """Never a hold: the valve is there. The question is whether anything else would save a part."""
    if not passed:
        weakest = check.pressures.weakest
        assert weakest is not None  # noqa: S101
        limit = weakest.max_working_pressure
        return Finding(
            "relief.stuck",
            "clear",
            "Relief stuck shut: the drive stalls before any part is over its limit",
            f"stall {_shown(context, stall)} against {_shown(context, limit)} of {weakest.name}",
            _shown(context, limit - stall),
            "",
            _BALANCE,
        )
    if context.model.drive.kind == "electric":
        return _only_guard(context, check, passed, stall)
    thin = [part for part in passed if _thin(part, stall)]
    names = ", ".join(part.name for part in thin or passed)
    marks = [mark for part in passed if (mark := part.burst_pressure or part.test_pressure)]
    return Finding(
        "relief.stuck",
        "query" if thin else "clear",
        "Relief stuck shut: the drive goes over the limit of " + names,
        f"stall {_shown(context, stall)}; first to give way: {_first(context, passed)}",
        f"{min(marks) / stall:.2f} times" if marks else "",
        "Ask the maker for test or burst pressure, or have the supply limited; until then the "
        "relief valve alone stands between."
        if thin
        else "",
        _WANTED,
    )


def _thin(part: PartStrength, stall: float) -> bool:
    """Whether neither test nor burst pressure of a part tells that it stands the stall."""
    tested = part.test_pressure is not None and stall <= part.test_pressure * (1.0 + SLACK)
    strong = part.burst_pressure is not None and part.burst_pressure >= WANTED_BURST * stall
    return not (tested or strong)


def _only_guard(
    context: Context, check: ReliefCheck, passed: Sequence[PartStrength], stall: float
) -> Finding:
    """A motor pushes on until a part gives way: what counts is how far the valve is from that."""
    bursts = [part.burst_pressure for part in passed if part.burst_pressure is not None]
    relieving = check.pressures.relieving
    assert relieving is not None  # noqa: S101
    margin = min(bursts) / relieving if bursts else math.nan
    near = bool(bursts) and margin < WANTED_BURST
    words = "nothing else stops the drive before a part gives way"
    if not bursts:
        words = "what gives way first is not known"
    return Finding(
        "relief.stuck",
        "query" if near or not bursts else "clear",
        f"Relief stuck shut: {words}",
        f"{'no stall' if math.isinf(stall) else f'stall {_shown(context, stall)}'}; first to give "
        f"way: {_first(context, passed)}; full relief {_shown(context, relieving)}",
        f"{margin:.2f} times from full relief to burst" if bursts else "",
        "Ask the maker for the burst pressures, or for a second guard such as a rupture disk."
        if near or not bursts
        else "",
        _WANTED,
    )


def _first(context: Context, passed: Sequence[PartStrength]) -> str:
    """The part with the lowest burst pressure, or with the least limit where none is known."""
    known = [part for part in passed if part.burst_pressure is not None]
    if not known:
        least = passed[0]
        limit = _shown(context, least.max_working_pressure)
        return f"not known, {least.name} is the weakest at {limit}"
    first = min(known, key=lambda part: part.burst_pressure or math.inf)
    unknown = [part.name for part in passed if part.burst_pressure is None]
    rest = f" (not known of {', '.join(unknown)})" if unknown else ""
    return f"{first.name}, burst {_shown(context, first.burst_pressure or 0.0)}{rest}"


def _shown(context: Context, pressure: float) -> str:
    return context.value(pressure, "pressure", 4).shown


def _picture(context: Context, rise: StuckRise) -> Picture:
    unit = "bar" if context.system == "metric" else "psi"
    names = ", ".join(
        f"{number} {ranked.part.name}" for number, ranked in enumerate(rise.ranking, 1)
    )
    return Picture(
        "stuck-rise",
        f"Pressure ({unit}) over cycles with relief valve and outlet shut: solid working limits, "
        f"dashed test, dash-dot burst pressures of {names}; dotted the stall.",
        "Pressure rising past the limits of the parts, by the number of pump cycles",
        functools.partial(_draw, rise, unit),
    )


def _draw(rise: StuckRise, unit: str) -> str:
    return svg(stuck_strip(rise, unit))
