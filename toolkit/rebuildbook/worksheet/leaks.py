"""What leaks, and what it costs: slip by the measured parts, their limits and the life left."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator

from rebuildbook.calculators.drive import ATMOSPHERE
from rebuildbook.calculators.volumetric import Duty, Volumetric, squeeze_loss
from rebuildbook.figures.leak_shares import leak_bars
from rebuildbook.figures.style import svg
from rebuildbook.units import number
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.leak_findings import leak_findings
from rebuildbook.worksheet.leak_sums import SizeLimit, Sums, Way, curve_of, size_limits, sums_of
from rebuildbook.worksheet.model import (
    Block,
    Line,
    Lines,
    Note,
    Picture,
    Section,
    Value,
    given,
    series,
)
from rebuildbook.worksheet.wear_left import wear_left
from rebuildbook.worksheet.wear_lives import lives_of

_LEAK = "friction along it and losses at its edges, one after the other (Fox and McDonald; White)"
_ABOUT = (
    "What the parts let through as measured, at the working pressure. Left out: the drag of the "
    "moving wall, which takes a little from the leak, and what runs back before the checks shut."
)


def leaks(context: Context) -> Section:
    """Build the section on leaks, volumetric efficiency, and life left to the limits."""
    sums = sums_of(context)
    limits, unlimited = size_limits(context, sums)
    blocks: list[Block] = []
    open_ways = [way for way in sums.ways if not way.tight]
    if sums.ways:
        blocks.append(Note(_ABOUT))
    blocks += _gaps(context, sums)
    blocks += series((way.name, _size_line(context, way)) for way in open_ways)
    blocks += series(
        (way.name, line) for way in open_ways for line in _way_lines(context, sums, way)
    )
    if sums.result is not None and sums.duty is not None and sums.ways:
        blocks += _uncounted(context)
        lines = tuple(_duty_lines(context, sums, sums.duty, sums.result))
        blocks.append(Lines("At the duty", lines))
        blocks += _shares(sums.result)
    blocks += leak_findings(context, sums)
    blocks += series((limit.name, _limit_line(context, limit)) for limit in limits)
    if unlimited:
        whys = ", ".join(f"{place} ({why})" for place, why in unlimited.items())
        blocks.append(Note(f"Not worked back to the wanted efficiency: {whys}."))
    blocks += wear_left(context, lives_of(context, limits))
    return Section("leaks", "What leaks, and what it costs", tuple(blocks))


def _gaps(context: Context, sums: Sums) -> Iterator[Note]:
    """What the sheets leave open, in words."""
    tight = [f"{way.name} ({_why_tight(context, way)})" for way in sums.ways if way.tight]
    if tight:
        yield Note(f"Nothing passes: {', '.join(tight)}.")
    if sums.unread:
        yield Note(f"Not measured, so taken as tight: {', '.join(sums.unread)}.")
    if not sums.ways and not sums.unread and not sums.problems:
        yield Note(
            "The model sheet names no gap that leaks, the job card no defect of a seat: nothing "
            "to add up."
        )
    elif sums.result is None and not sums.problems:
        yield Note("The job card gives no rate: what the leaks take of the stroke is not told.")
    if short := [name for name, defect in context.job.seat_defects.items() if not defect.land]:
        yield Note(f"Width of the ring not given, so no friction counted: {', '.join(short)}.")
    end = context.model.fluid_end
    if end.plungers > 1 and context.model.architecture != "plunger" and sums.ways:
        yield Note(f"One of {end.plungers} pistons is measured; the others are taken as tight.")


def _uncounted(context: Context) -> Iterator[Note]:
    """What the fluid takes that the job card does not tell of."""
    fluid = context.job.fluid
    fields = (("bulk_modulus", fluid.bulk_modulus), ("air_share", fluid.air_share))
    if missing := [name for name, amount in fields if amount is None]:
        yield Note(f"Not on the job card, so not counted: {', '.join(missing)} of the fluid.")


def _why_tight(context: Context, way: Way) -> str:
    if way.sides is None or way.sides.open > 0.0:
        return "the fluid's yield stress holds"
    spare = context.value(-way.sides.open, "length").shown
    return f"{spare} radial left of what the seal takes up"


def _way_lines(context: Context, sums: Sums, way: Way) -> Iterator[Line]:
    id_ = _id(way)
    flow = context.value(way.leak.flow, "flow")
    if curve_of(context) is not None:
        yield Line(
            f"{id_}.viscosity",
            "Viscosity that the fluid shows there",
            context.value(way.viscosity, "viscosity"),
            "mu",
            method="flow curve τy + K γ̇ⁿ of the job card over the gap (Bird, Stewart, Lightfoot)",
            data=f"at {number(way.leak.shear_rate)}/s",
        )
    drop = context.value(way.path.pressure_difference, "pressure").shown
    yield Line(
        f"{id_}.flow",
        "Leak while it sees the pressure",
        flow,
        "Q_l",
        method=_LEAK,
        data=f"{drop}, {way.leak.regime}, {way.leak.throttled_by} rule"
        + ("s" if way.leak.throttled_by == "friction" else ""),
    )
    if sums.result is None or sums.duty is None:
        return
    yield Line(
        f"{id_}.share",
        "Share of the displacement",
        Value(way.leak.flow * way.share / sums.duty.rate / sums.duty.displacement, "fraction", "%"),
        "s",
        "Q_l*z/(V*n)",
        {
            "Q_l": flow,
            "z": Value(way.share, "fraction", "%"),
            "V": context.value(sums.duty.displacement, "volume"),
            "n": _rate(context, sums.duty),
        },
        "z: share of the cycle under pressure",
    )


def _id(way: Way) -> str:
    return f"leaks.{way.of}.{way.kind.replace(' ', '-')}"


def _rate(context: Context, duty: Duty) -> Value:
    rate = context.job.duty.rate
    return given(rate) if rate is not None else context.value(duty.rate, "rate")


def _size_line(context: Context, way: Way) -> Line:
    id_ = _id(way)
    if way.sides is not None:
        sides, limit = way.sides, context.model.wear_limits[way.of]
        assert limit.leak is not None  # noqa: S101
        inputs = {
            "D_b": context.value(sides.bore, "length", 5, limit.new.unit),
            "D_p": context.value(sides.part, "length", 5, limit.new.unit),
        }
        formula = "(D_b - D_p)/2"
        if sides.takes_up:
            formula, inputs = f"{formula} - u", {**inputs, "u": _taken_up(context, way)}
        return Line(
            f"{id_}.size",
            "Radial gap",
            context.value(sides.open, "length", unit=limit.new.unit),
            "c",
            formula,
            inputs,
            "u: what a soft seal takes up" if sides.takes_up else "bore less part",
            f"{limit.leak.mate}, {limit.leak.length.canonical} long",
        )
    defect = context.job.seat_defects[way.of]
    data = context.source("job", f"seat_defects.{way.of}")
    if way.kind == "scratch":
        assert defect.scratch_width and defect.scratch_depth  # noqa: S101
        many = f"{defect.scratches} of " if defect.scratches > 1 else ""
        words = f"{many}{defect.scratch_width.canonical} × {defect.scratch_depth.canonical} deep"
        return Line(f"{id_}.size", "Scratch, width × depth", words, data=data)
    assert defect.ovality is not None  # noqa: S101
    return Line(
        f"{id_}.size",
        "Mean gap round the ball",
        context.value(defect.ovality.nominal / 4.0 * math.sin(way.angle), "length"),
        "c_o",
        "o/4*sin(theta)",
        {"o": given(defect.ovality), "theta": Value(way.angle, "angle", "deg")},
        "ball on the short diameter; o: largest less smallest diameter",
        data,
    )


def _taken_up(context: Context, way: Way) -> Value:
    """What the seal of a gap takes up, as the sheet writes it."""
    limit = context.model.wear_limits[way.of]
    assert limit.leak is not None and limit.leak.takes_up is not None  # noqa: S101
    return given(limit.leak.takes_up)


def _duty_lines(context: Context, sums: Sums, duty: Duty, result: Volumetric) -> Iterator[Line]:
    leaking = [loss for loss in result.losses if loss.kind == "leak" and loss.volume > 0.0]
    slips = {
        f"s_{place}": Value(loss.share, "fraction", "%")
        for place, loss in enumerate(leaking, start=1)
    }
    slip = Value(sum(one.si for one in slips.values()), "fraction", "%")
    if slips:
        formula = " + ".join(slips)
        yield Line(
            "leaks.slip", "Slip by all leaks", slip, "s", formula, slips, "sum, the largest first"
        )
    taken = {"s": slip} if slips else {}
    for line in _squeezed(context, duty):
        assert isinstance(line.value, Value)  # noqa: S101
        taken[line.symbol] = line.value
        yield line
    if not result.delivers:
        yield Line(
            "leaks.efficiency",
            "Volumetric efficiency",
            "none: more is lost than is displaced",
            method="losses over displacement",
        )
        return
    efficiency = Value(result.efficiency, "fraction", "%")
    formula = "1" + "".join(f" - {symbol}" for symbol in taken)
    yield Line(
        "leaks.efficiency", "Volumetric efficiency", efficiency, "eta_v", formula, taken,
        "what is displaced less what is lost (Pump Handbook, from memory)", _wanted(context, sums),
    )  # fmt: skip
    inputs = {
        "eta_v": efficiency,
        "V": context.value(duty.displacement, "volume"),
        "n": _rate(context, duty),
    }
    asked = context.job.duty.flow
    yield Line(
        "leaks.flow", "Flow delivered then", context.value(result.flow, "flow"), "Q",
        "eta_v*V*n", inputs, "displacement × rate × efficiency",
        f"asked for: {asked.canonical}" if asked else "",
    )  # fmt: skip


def _wanted(context: Context, sums: Sums) -> str:
    if sums.wanted is None:
        return "the model sheet gives none to hold it against"
    end = context.model.fluid_end
    field = "wanted" if end.wanted_efficiency else "volumetric"
    amount = end.wanted_efficiency or end.volumetric_efficiency
    assert amount is not None  # noqa: S101
    return f"model sheet, {field}_efficiency: {amount.canonical}"


def _squeezed(context: Context, duty: Duty) -> Iterator[Line]:
    """What compression takes of the liquid and of the air in it, where the sheets tell."""
    liquid, air = squeeze_loss(duty)
    modulus, share = context.job.fluid.bulk_modulus, context.job.fluid.air_share
    shared = {"r": Value(duty.clearance_ratio, "fraction", "%")}
    low, high = (context.value(p, "pressure") for p in (duty.inlet_pressure, duty.outlet_pressure))
    inputs = {**shared, "x": Value(duty.air_share, "fraction", "%"), "p_1": low, "p_2": high}
    method = "shrinkage in chamber and clearance r"
    if context.model.fluid_end.clearance_ratio is None:
        method += " (not on the model sheet: none counted)"
    data = context.source("job", "fluid")
    if modulus is not None:
        yield Line(
            "leaks.liquid", "Taken by the liquid's compression", Value(liquid, "fraction", "%"),
            "k", "(1 + r)*(1 - x)*(p_2 - p_1)/K", {**inputs, "K": given(modulus)}, method, data,
        )  # fmt: skip
    if share is not None:
        formula = "(1 + r)*x*(1 - (p_a + p_1)/(p_a + p_2))"
        inputs = {**inputs, "p_a": context.value(ATMOSPHERE, "pressure", 4)}
        yield Line(
            "leaks.air", "Taken by air in the fluid, x of it", Value(air, "fraction", "%"),
            "a", formula, inputs, f"{method}; air that keeps its temperature", data,
        )  # fmt: skip


def _shares(result: Volumetric) -> Iterator[Picture]:
    lost = [loss for loss in result.losses if loss.volume > 0.0]
    if len(lost) > 1:
        words = ", ".join(f"{loss.name} {100.0 * loss.share:.2g} %" for loss in lost)
        yield Picture(
            "leak-shares",
            "Lost, of the displacement: leaks dark, what the fluid takes light.",
            f"Losses, the largest first: {words}",
            functools.partial(_draw_shares, result),
        )


def _draw_shares(result: Volumetric) -> str:
    return svg(leak_bars(result))


def _limit_line(context: Context, limit: SizeLimit) -> Line:
    sides, of = limit.sides, context.model.wear_limits[limit.name]
    other = sides.part if limit.bore else sides.bore
    inputs = {
        "D_m": context.value(other, "length", 5, of.new.unit),
        "c_w": context.value(limit.height, "length", unit=of.new.unit),
        "u": context.value(sides.takes_up, "length", unit=of.new.unit),
    }
    return Line(
        f"leaks.{limit.name}.limit",
        "Size at which the wanted efficiency is lost",
        context.value(limit.size, "length", 5, of.reuse_limit.unit),
        "D_w",
        f"D_m {'+' if limit.bore else '-'} 2*(c_w + u)",
        inputs,
        "gap c_w at which the leak takes what the others leave; the rest as measured",
        f"the sheet's reuse limit is {of.reuse_limit.canonical}",
    )
