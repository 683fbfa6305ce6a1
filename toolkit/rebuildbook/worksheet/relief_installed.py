"""The relief valve in its place: its lines, the pump at full flow, heat; then stuck, and its pops.

Only checks: nothing here sets a valve, and nobody tries any of it on a running pump.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from rebuildbook.calculators.relief import ReliefCheck
from rebuildbook.calculators.relief_capacity import UNCERTIFIED_COEFFICIENT
from rebuildbook.calculators.relief_installed import (
    INLET_SHARE,
    Accumulation,
    ChatterRisk,
    InstalledCapacity,
    InstalledValve,
    Liquid,
    Pipe,
    accumulated_pressure,
    chatter_risk,
    installed_capacity,
)
from rebuildbook.calculators.relief_pressures import SLACK
from rebuildbook.calculators.relief_thermal import relief_heat, throttling_rise
from rebuildbook.sheets.relief import Relief, ReliefLine
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Level,
    Line,
    Lines,
    Note,
    Section,
    given,
)
from rebuildbook.worksheet.relief_pops import pop_blocks
from rebuildbook.worksheet.relief_shut_in import blocked_in
from rebuildbook.worksheet.relief_stuck import stuck_blocks
from rebuildbook.worksheet.unit import Unit

TITLE = "Relief valve, installed and stuck"
_CAUTION = (
    "Worked out on paper so that nobody tries it: no outlet is shut against a running pump to see "
    "what its relief valve does. This sheet checks a valve and sets none."
)
_PIPED = "API 520 Part I with Darcy-Weisbach line losses (Churchill 1977), iterated"
_CODE = "ASME BPVC VIII-1 UG-125 (from public accounts)"
_RULES = "API 520 Part I and II, inlet loss and back pressure (from public accounts)"
_OVERSIZE = "pump flow below a quarter of the rated flow"

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Piped:
    """A valve as piped: ``valve`` at the set in hand, ``mean`` and ``peak`` flow of the pump, m³/s.

    ``capacity`` and ``full`` are words where the calculation has no answer.
    """

    valve: InstalledValve
    mean: float
    peak: float
    capacity: InstalledCapacity | str
    chatter: ChatterRisk
    full: Accumulation | str


def relief_more(context: Context, unit: Unit, check: ReliefCheck) -> Section:
    """Build the section on the valve as piped, stuck shut, and as read on the bench."""
    valve = context.model.relief
    blocks: list[Block] = [Caution(_CAUTION)]
    if valve is None:
        blocks.append(Note("The model sheet has no relief valve."))
        return Section("relief-more", TITLE, (*blocks, *blocked_in(context, check)))
    piped = piped_of(context, unit, valve, check)
    blocks.append(Lines("As piped, at full flow", tuple(_lines(context, piped))))
    blocks.append(_full_flow(context, unit, piped, check))
    if valve.inlet_line or valve.outlet_line:
        blocks.append(_chatter(context, piped))
    missing = tuple(_missing(context, valve))
    if missing:
        blocks.append(Note(f"Not on the sheets: {'; '.join(missing)}."))
    blocks += blocked_in(context, check)
    read = context.job.relief_setting
    blocks += stuck_blocks(context, unit, check, picture=not (read and read.pops))
    blocks += pop_blocks(context, valve, check)
    return Section("relief-more", TITLE, tuple(blocks))


def piped_of(context: Context, unit: Unit, valve: Relief, check: ReliefCheck) -> Piped:
    """Work the valve out as piped.

    Capacity and chatter at the set in hand; full flow at the highest opening pressure and with the
    peak of the pump's flow, the worst there is.
    """
    at = check.pressures
    assert at.set is not None and at.tolerance is not None  # noqa: S101
    fluid = context.job.fluid
    liquid = Liquid(fluid.density.nominal, fluid.viscosity.nominal)
    usual, late = (_installed(context, valve, p) for p in (at.set, at.set + at.tolerance))
    peak = unit.largest_flow * unit.peak_factor
    return Piped(
        usual,
        unit.largest_flow,
        peak,
        _answer(lambda: installed_capacity(usual, liquid)),
        chatter_risk(usual, liquid, unit.largest_flow),
        _answer(lambda: accumulated_pressure(late, liquid, peak)),
    )


def _answer(work: Callable[[], Answer]) -> Answer | str:
    """Do it, or give the words why it cannot be done, such as a chart that ends."""
    try:
        return work()
    except ValueError as problem:
        return str(problem)


def _installed(context: Context, valve: Relief, bench_set: float) -> InstalledValve:
    coefficient, back = valve.discharge_coefficient, context.job.duty.back_pressure
    return InstalledValve(
        bench_set=bench_set,
        area=valve.orifice_area.nominal,
        discharge_coefficient=coefficient.nominal if coefficient else UNCERTIFIED_COEFFICIENT,
        overpressure=valve.overpressure.nominal if valve.overpressure else None,
        blowdown=valve.blowdown.nominal if valve.blowdown else None,
        balanced=valve.balanced,
        back_pressure=back.nominal if back else 0.0,
        inlet=_pipe(valve.inlet_line),
        outlet=_pipe(valve.outlet_line),
    )


def _pipe(line: ReliefLine | None) -> Pipe | None:
    if line is None:
        return None
    fittings = line.fittings.nominal if line.fittings else 0.0
    return Pipe(line.bore.nominal, line.length.nominal, fittings)


def _missing(context: Context, valve: Relief) -> Iterator[str]:
    lines = (("inlet", valve.inlet_line), ("outlet", valve.outlet_line))
    lacking = [word for word, line in lines if line is None]
    if lacking:
        yield f"{' and '.join(lacking)} line of the valve, taken as without loss"
    if context.job.duty.back_pressure is None:
        yield "back pressure, taken as none"
    if context.job.fluid.specific_heat is None:
        yield "specific heat, so no warming a pass"


def _lines(context: Context, piped: Piped) -> Iterator[Line]:
    capacity, valve, full = piped.capacity, piped.valve, piped.full
    if isinstance(capacity, InstalledCapacity):
        yield Line(
            "relief.piped-capacity",
            "Capacity as piped at set and overpressure",
            context.value(capacity.flow, "flow"),
            "Q_v",
            method=_PIPED,
            data=f"Re {capacity.reynolds:.3g}, K_v {capacity.viscosity_factor:.3f}; "
            f"{context.source('model', 'relief')}; {context.source('job', 'fluid')}",
        )
    losses = (
        ("inlet", "Inlet loss", valve.inlet),
        ("outlet", "Built-up back pressure", valve.outlet),
    )
    shares = (piped.chatter.inlet_share, piped.chatter.built_up_share)
    for (word, name, pipe), share in zip(losses, shares, strict=True):
        if pipe is not None:
            yield _share(context, word, name, share, valve.bench_set)
    if isinstance(full, Accumulation):
        yield Line(
            "relief.full-flow",
            "Pressure at the pump with all its flow through the valve",
            context.value(full.pressure, "pressure", 4),
            "p_flow",
            "p_valve + dp_in",
            {
                "p_valve": context.value(full.under_valve, "pressure", 4),
                "dp_in": context.value(full.inlet_loss, "pressure"),
            },
            f"{_PIPED}; highest opening pressure, lift rising evenly",
            f"peak flow {context.value(piped.peak, 'flow').shown} at "
            f"{context.value(full.lift, 'fraction').shown} of full lift",
        )
        yield from _heat(context, piped, full.pressure)


def _share(context: Context, word: str, name: str, share: float, bench_set: float) -> Line:
    return Line(
        f"relief.{word}-share",
        f"{name} at rated flow, share of the set",
        context.value(share, "fraction"),
        f"x_{word}",
        "dp/p_set",
        {
            "dp": context.value(share * bench_set, "pressure"),
            "p_set": context.value(bench_set, "pressure"),
        },
        "Darcy-Weisbach (Churchill 1977), smooth wall",
        context.source("model", f"relief.{word}_line"),
    )


def _heat(context: Context, piped: Piped, pressure: float) -> Iterator[Line]:
    """Heat while the whole mean flow goes over the valve; the peaks even out in it."""
    fluid = context.job.fluid
    drop = pressure - piped.valve.back_pressure
    shown = context.value(drop, "pressure")
    yield Line(
        "relief.heat",
        "Power turned into heat at the valve",
        context.value(float(relief_heat.si(piped.mean, drop)), "power"),
        "P",
        "Q_max*dp",
        {"Q_max": context.value(piped.mean, "flow"), "dp": shown},
        "energy balance",
        "all of the highest mean flow over the valve",
    )
    if fluid.specific_heat is None:
        return
    density, heat = fluid.density, fluid.specific_heat
    yield Line(
        "relief.pass-rise",
        "Warming of the liquid each time round",
        context.value(float(throttling_rise.si(drop, density.nominal, heat.nominal)), "warming"),
        "dT",
        "dp/(rho*c)",
        {"dp": shown, "rho": given(density), "c": given(heat)},
        "energy balance: the pump's work and the valve together (Esposito, Fluid Power, ch. 11)",
        context.source("job", "fluid"),
    )


def _full_flow(context: Context, unit: Unit, piped: Piped, check: ReliefCheck) -> Finding:
    """The pressure that the pump reaches against what its weakest part is allowed meanwhile."""
    at, full = check.pressures, piped.full
    weakest, allowed = at.weakest, at.accumulated
    assert weakest and allowed is not None and at.opens_high is not None  # noqa: S101
    id_ = "relief.full-flow"
    if isinstance(full, str):
        action = "Ask the maker for a valve that suits this place."
        return Finding(
            id_,
            "query",
            "Relief: full flow as piped cannot be worked out",
            full,
            "",
            action,
            _RULES,
        )
    stall = unit.stall_max or unit.stall
    stops = stall is not None and stall.pressure < full.pressure
    reached = stall.pressure if stall is not None and stops else full.pressure
    limit = weakest.max_working_pressure * (1.0 + SLACK)
    late = reached > limit and at.opens_high > limit
    rising = at.relieving is not None and reached > at.relieving * (1.0 + SLACK)
    level: Level = "clear"
    words, action = "within what the weakest part is allowed meanwhile", ""
    if reached > allowed * (1.0 + SLACK) or late:
        level, words = "hold", "above what the weakest part is allowed"
        action = (
            "The pump does not run like this. Have the valve put right by whoever is qualified, "
            "and its lines looked at."
        )
    elif rising:
        level, words = "query", "above set with overpressure: valve or lines are too tight"
        action = "Ask the maker for the valve or the lines that pass this pump's flow."
    where = "the drive stalls first at" if stops else "reaches"
    what = "limit" if late else "allowed while relieving"
    right = weakest.max_working_pressure if late else allowed
    return Finding(
        id_,
        level,
        f"Relief: at full flow the pump is {words}",
        f"{where} {context.value(reached, 'pressure', 4).shown} against "
        f"{context.value(right, 'pressure', 4).shown}, {what} of {weakest.name}",
        context.value(right - reached, "pressure").shown,
        action,
        _CODE,
    )


def _chatter(context: Context, piped: Piped) -> Finding:
    """Lines too tight for the valve: the inlet above all."""
    chatter = piped.chatter
    reasons = [reason for reason in chatter.reasons if reason != _OVERSIZE]
    lines = (
        ("inlet loss", piped.valve.inlet, chatter.inlet_share),
        ("back pressure built up", piped.valve.outlet, chatter.built_up_share),
    )
    found = [
        f"{name} {context.value(share, 'fraction').shown} of the set"
        for name, pipe, share in lines
        if pipe is not None
    ]
    compared = f"at rated flow {', '.join(found)}"
    if chatter.flow_share is not None and _OVERSIZE in chatter.reasons:
        flow = context.value(chatter.flow_share, "fraction").shown
        compared += f"; the pump sends {flow} of the rated flow, so expect it to hunt at low lift"
    margin = context.value(INLET_SHARE - chatter.inlet_share, "fraction").shown
    return Finding(
        "relief.chatter",
        "query" if reasons else "clear",
        "Relief: may chatter: " + ", ".join(reasons)
        if reasons
        else "Relief: lines are wide enough",
        compared,
        f"{margin} to the 3 % of the inlet" if piped.valve.inlet else "",
        "Have the lines of the valve looked at: a wider or shorter inlet, a free outlet."
        if reasons
        else "",
        _RULES,
    )
