"""Check valves in motion: when each opens and shuts at the duty's rate, and what that costs."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator

from rebuildbook.calculators.ball_force import DISCHARGE
from rebuildbook.figures.lift_over_cycle import lift_over_cycle
from rebuildbook.figures.style import svg
from rebuildbook.worksheet.checks import small_unit
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.in_motion import InMotion
from rebuildbook.worksheet.leak_sums import Sums, curve_of, sums_of
from rebuildbook.worksheet.model import Block, Line, Lines, Note, Picture, Section, Value, series
from rebuildbook.worksheet.unit import Unit
from rebuildbook.worksheet.valve_cycles import (
    BACK_FLOW_MOST,
    LOOK_UP_TO,
    ValveCycle,
    Valves,
    fluid_gives,
    told_by_stroke,
    valves_of,
)
from rebuildbook.worksheet.valves_moving_findings import moving_findings, speed_unit, who

_TITLE = "Check valves in motion"
_FOLLOWED = (
    "mass of the ball times its acceleration = force of the stream less weight and spring (Newton)"
)
_ABOUT = (
    "Each ball is followed through one cycle of its own chamber: a gap of discharge coefficient "
    f"{DISCHARGE:g} and rebounds of 0.3 (both common practice, no source). Left out: the inertia "
    "of the fluid in the bore, cavitation, sideways play. The loss of an inlet check is part of "
    "the NPSH that the maker requires, so it is not taken off the NPSH available."
)
_ON_TOP = (
    "The volumetric efficiency of the leaks does not count what runs back before the checks shut: "
    "it comes on top."
)


def valves_moving(
    context: Context, unit: Unit, moving: InMotion, *, limits: bool = True
) -> Section:
    """Build the section on the balls of the checks as they move at the duty's rate.

    Without ``limits`` the highest rates are not sought, nor is it judged how near they are.
    """
    rate = moving.rate
    if not rate:
        why = "Not worked out: the rate is not known or the drive stands still."
        return Section("motion", _TITLE, (Note(why),))
    valves = valves_of(context, moving, rate, limits=limits)
    blocks: list[Block] = [Note(_ABOUT)]
    blocks += series(
        (who(cycle), line) for cycle in valves.cycles for line in _lines(context, cycle, limits)
    )
    blocks += _gaps(context, valves)
    if valves.cycles:
        blocks.append(_picture(context, max(valves.cycles, key=_lateness)))
        sums = sums_of(context)
        blocks.append(Note(_ON_TOP))
        blocks.append(Lines("All checks", tuple(_sums(context, unit, valves, rate, sums))))
        blocks += moving_findings(context, valves, rate, limits=limits)
    return Section("motion", _TITLE, tuple(blocks))


def _lateness(cycle: ValveCycle) -> float:
    return cycle.motion.closing_lag_angle


def _lines(context: Context, cycle: ValveCycle, limits: bool) -> Iterator[Line]:
    id_, motion, drive = f"motion.{cycle.names[0]}", cycle.motion, cycle.drive
    flow, loss = cycle.peak
    stream = f"flow curve of the card, {_FOLLOWED}" if curve_of(context) else _FOLLOWED
    swept = context.value(drive.displacement, "volume")
    yield Line(f"{id_}.swept", "Stroke of its chamber", swept, "V_s", method="swept area × stroke")
    yield Line(
        f"{id_}.flow", "Greatest flow", context.value(flow, "flow"), "Q_max",
        method="piston of its chamber" + ("" if _by_crank(cycle) else "; even speed, ramps"),
    )  # fmt: skip
    yield Line(
        f"{id_}.loss", "Pressure loss at that flow",
        context.value(loss, "pressure", unit=small_unit(context)), "Delta_p",
        method="jet and friction of the gap at the lift it has then",
    )  # fmt: skip
    yield from _opening(context, cycle, id_)
    lift = context.value(motion.greatest_lift, "length")
    yield Line(f"{id_}.lift", "Greatest lift", lift, "x", method=stream)
    stop = context.value(cycle.check.lift, "length")
    yield Line(
        f"{id_}.lift-share", "Share of the lift to its stop",
        Value(motion.greatest_lift / cycle.check.lift, "fraction", "%"), "s_x", "x/h",
        {"x": lift, "h": stop}, "100 % is on the stop",
    )  # fmt: skip
    yield from _closing(context, cycle, id_)
    if limits:
        yield _limit(context, cycle, id_)


def _by_crank(cycle: ValveCycle) -> bool:
    """Whether a crank moves the piston of a check."""
    return not cycle.drive.breaks


def _opening(context: Context, cycle: ValveCycle, id_: str) -> Iterator[Line]:
    delay = cycle.opening_delay
    method = "compression and the partner's back-flow made up, then the ball's own delay"
    if math.isinf(delay):
        yield Line(f"{id_}.opens", "Opening delay", "does not open", method=method)
        return
    shown = context.value(delay, "time", unit="ms")
    yield Line(f"{id_}.opens", "Opening delay", shown, "t_o", method=method)
    gone = cycle.drive.swept(delay) / cycle.drive.displacement
    yield Line(
        f"{id_}.gone", "Share of the stroke gone by then", Value(gone, "fraction", "%"), "s_o",
        method="travel of the piston",
    )  # fmt: skip


def _closing(context: Context, cycle: ValveCycle, id_: str) -> Iterator[Line]:
    motion, name, method = cycle.motion, "Closing lag after the turn", "until the ball is home"
    if motion.closes:
        lag = context.value(motion.closing_lag, "time", unit="ms")
        yield Line(f"{id_}.lag", name, lag, "t_c", method=method)
        inputs = {"n": context.value(cycle.drive.rate, "rate"), "t_c": lag}
        angle = Value(motion.closing_lag_angle, "angle", "deg")
        yield Line(
            f"{id_}.lag-angle", "The same as an angle", angle, "phi", "2*pi*n*t_c", inputs,
            "a cycle is 360°",
        )  # fmt: skip
    else:
        yield Line(f"{id_}.lag", name, "not home before its next stroke", method=method)
    back = Value(motion.back_flow_share, "fraction", "%")
    yield Line(
        f"{id_}.back", "Back-flow, share of the stroke", back, "b",
        method="drawn back before it shuts",
    )  # fmt: skip
    yield Line(
        f"{id_}.impact", "Impact on the seat",
        context.value(motion.impact_speed, "speed", unit=speed_unit(context)), "v",
        method="hardest blow of a cycle",
    )  # fmt: skip


def _limit(context: Context, cycle: ValveCycle, id_: str) -> Line:
    limit, share = cycle.limit, 100.0 * BACK_FLOW_MOST
    most = (
        f"back-flow up to {share:g} %; tried up to {LOOK_UP_TO:g} × the rate, shares of time kept"
    )
    found: Value | str = "not in time as it is"
    if limit is not None:
        rate = context.value(limit.rate, "rate")
        found = f"above {rate.shown}" if limit.beyond else rate
    return Line(
        f"{id_}.rate", "Highest rate at which it closes in time", found, "n_max", method=most
    )


def _sums(context: Context, unit: Unit, valves: Valves, rate: float, sums: Sums) -> Iterator[Line]:
    back = Value(valves.back_flow_share(), "fraction", "%")
    volume, turns = context.value(unit.displacement, "volume"), context.value(rate, "rate")
    yield Line(
        "motion.back", "Back-flow of all checks, share of the displacement", back, "b_all",
        method="inlet and outlet checks each lose it once",
    )  # fmt: skip
    inputs = {"b_all": back, "V": volume, "n": turns}
    lost = context.value(back.si * unit.displacement * rate, "flow")
    yield Line(
        "motion.lost", "Flow it costs", lost, "Q_b", "b_all*V*n", inputs, "share × displacement"
    )
    result, duty = sums.result, sums.duty
    if result is None or duty is None or not result.delivers or not math.isclose(duty.rate, rate):
        return
    leaks = Value(result.efficiency, "fraction", "%")
    whole = Value(result.efficiency - back.si, "fraction", "%")
    yield Line(
        "motion.efficiency", "Volumetric efficiency with it", whole, "eta_b", "eta_v - b_all",
        {"eta_v": leaks, "b_all": back}, "leaks as measured, then the back-flow",
    )  # fmt: skip
    flow = context.value(whole.si * unit.displacement * rate, "flow")
    yield Line(
        "motion.delivered", "Flow delivered with it", flow, "Q", "eta_b*V*n",
        {"eta_b": whole, "V": volume, "n": turns}, "displacement × rate × efficiency",
    )  # fmt: skip


def _gaps(context: Context, valves: Valves) -> Iterator[Note]:
    for problem in dict.fromkeys(valves.problems.values()):
        names = ", ".join(name for name, why in valves.problems.items() if why == problem)
        yield Note(f"{names}: not followed; {problem}.")
    if missing := list(fluid_gives(context)):
        yield Note(f"Not on the job card, so no opening delay by it: {', '.join(missing)}.")
    untold = [
        name
        for name, valve in context.model.check_valves.items()
        if not told_by_stroke(context, valve)
    ]
    if untold:
        yield Note(
            f"holds_on does not tell the chamber of {', '.join(untold)}: reckoned with the larger."
        )


def _picture(context: Context, cycle: ValveCycle) -> Picture:
    motion, unit = cycle.motion, "mm" if context.system == "metric" else "in"
    lag = f"{math.degrees(motion.closing_lag_angle):.1f}°" if motion.closes else "never"
    top = context.value(motion.greatest_lift, "length").shown
    return Picture(
        "lift",
        f"{who(cycle)}, the last to close: heavy its lift, {unit}; dashed the flow of its piston; "
        f"home {lag} after the turn.",
        f"Lift of the ball over one cycle, up to {top}; it comes home {lag} after the turn.",
        functools.partial(_draw, cycle, unit),
    )


def _draw(cycle: ValveCycle, unit: str) -> str:
    return svg(lift_over_cycle(cycle.motion, unit, cycle.drive.breaks))
