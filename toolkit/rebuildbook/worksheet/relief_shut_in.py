"""A shut section full of liquid that warms: rise a degree, and the warming to valve and limit."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.calculators.relief import ReliefCheck
from rebuildbook.calculators.relief_stuck import ClosedSection
from rebuildbook.calculators.relief_thermal import blocked_in_rise, warming_to
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Block, Finding, Level, Line, Lines, Note, Value, given
from rebuildbook.worksheet.relief_stuck import closed_section

_METHOD = "hydraulic expansion (API 521, from public extracts)"


def blocked_in(context: Context, check: ReliefCheck) -> Iterator[Block]:
    """Judge the shut section full of liquid as it warms; nothing where no volume is given."""
    model, fluid = context.model, context.job.fluid
    if model.trapped_volume is None:
        return
    section = closed_section(context)
    if section is None or fluid.expansion is None:
        yield Note("Warming while shut in takes bulk_modulus and expansion of the fluid.")
        return
    rise = _rise(context, section)
    assert isinstance(rise.value, Value)  # noqa: S101
    if rise.value.si <= 0.0:
        yield Lines("Shut in and warming", (rise,))
        yield Note("This liquid does not raise the pressure of a shut section as it warms.")
        return
    at = check.pressures
    assert at.weakest is not None  # noqa: S101
    limit = _warming(
        context, "limit", f"the limit of {at.weakest.name}", at.weakest.max_working_pressure, rise
    )
    lines = [rise, limit]
    if at.opens_low is not None:
        lines.insert(1, _warming(context, "set", "opening", at.opens_low, rise))
    yield Lines("Shut in and warming", tuple(lines))
    yield _finding(context, lines)


def _rise(context: Context, section: ClosedSection) -> Line:
    model, fluid = context.model, context.job.fluid
    assert model.trapped_volume and fluid.bulk_modulus and fluid.expansion  # noqa: S101
    inputs = {"beta": given(fluid.expansion), "K": given(fluid.bulk_modulus)}
    if section.hose_compliance and model.hose_compliance:
        inputs |= {"H": given(model.hose_compliance), "V_0": given(model.trapped_volume)}
    rise = blocked_in_rise.si(
        fluid.expansion.nominal,
        section.bulk_modulus,
        other_compliance=section.hose_compliance / section.volume,
    )
    return Line(
        "relief.shut-in-rise",
        "Rise of a shut, full section by warming",
        context.value(float(rise), "pressure per degree"),
        "r",
        "beta/(1/K + H/V_0)" if section.hose_compliance else "beta*K",
        inputs,
        f"{_METHOD}; pipe walls rigid, no air",
        context.source("job", "fluid"),
    )


def _warming(context: Context, word: str, name: str, pressure: float, rise: Line) -> Line:
    start = context.job.duty.working_pressure
    assert isinstance(rise.value, Value)  # noqa: S101
    wanted = max(pressure - start.nominal, 0.0)
    return Line(
        f"relief.shut-in-{word}",
        f"Warming from working pressure to {name}",
        context.value(float(warming_to.si(wanted, rise.value.si)), "warming"),
        f"dT_{word}",
        "max(p - p_0, 0)/r",
        {"p": context.value(pressure, "pressure", 4), "p_0": given(start), "r": rise.value},
        _METHOD,
        context.source("model", "pressure_parts" if word == "limit" else "relief"),
    )


def _finding(context: Context, lines: list[Line]) -> Finding:
    """Clear with a valve, which takes the swelling; else by how warm the unit may become."""
    shown = [line.value.shown if isinstance(line.value, Value) else "" for line in lines]
    rise, limit = lines[0].value, lines[-1].value
    assert isinstance(rise, Value) and isinstance(limit, Value)  # noqa: S101
    compared = f"{shown[0]}; {shown[-1]} of warming to the weakest part's limit"
    hot = context.model.temperature_range
    coming = hot.high - context.job.fluid.temperature.nominal if hot else None
    if coming is not None:
        compared += f", {context.value(max(coming, 0.0), 'warming').shown} may come in service"
    level: Level = "clear"
    title, action = "the liquid swells through the relief valve", ""
    if context.model.relief is None:
        safe = coming is not None and coming < limit.si
        level = "clear" if safe else "query"
        title = "warming stays within the limit" if safe else "nothing lets the warming liquid out"
        action = "" if safe else "Ask the maker for a thermal relief on this section."
    return Finding(
        "relief.shut-in",
        level,
        f"Shut in and warming: {title}",
        compared,
        f"{shown[1]} to its opening" if len(lines) > 2 else "",
        action,
        _METHOD,
    )
