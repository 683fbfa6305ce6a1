"""Wear and leaks: what a measured size lets through, what is left of the flow, and how long."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from rebuildbook.calculators.ball_seat import seat_contact
from rebuildbook.calculators.flow_curve import Fluid, Newtonian
from rebuildbook.calculators.leak_paths import Gap, Passage, Scratch, leak, oval_seat_gap
from rebuildbook.calculators.leak_viscosity import leak_viscosity
from rebuildbook.figures.wear_change import Curve, Shown, wear_change
from rebuildbook.sheets import Case
from rebuildbook.sheets.wear import WearLimit
from rebuildbook.units import Amount
from rebuildbook.whatif.boards.answers import leading, number, rows_of, worst_first
from rebuildbook.whatif.boards.knobs import fluid_knobs, quantity
from rebuildbook.whatif.question import Answer, Knob, Number, View
from rebuildbook.worksheet.checks import seat_of
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.inspection import inspection
from rebuildbook.worksheet.leak_sums import Sums, Way, curve_of, sums_of
from rebuildbook.worksheet.leaks import leaks
from rebuildbook.worksheet.model import Finding, Line, Value

SEAT = ", seat"  # behind the name of a check valve among the places; no name has a comma
POINTS = 15  # of the curve; closer together where the gap is small
NOT_TOLD = "not told by the sheets"
_KINDS: dict[str, str] = {"gap": "radial gap", "scratch": "depth", "oval seat": "ovality"}
_SIZES = (
    ("gap", "Radial gap"),
    ("scratch", "Scratch, width × depth"),
    ("oval-seat", "Mean gap round the ball"),
)
_LIFE = (
    ("limit", "Size at which the wanted efficiency is lost"),
    ("rate", "Wear in 1000 running hours"),
    ("left", "Running hours left to the limit"),
    ("again", "Running hours within which to measure again"),
)
_PUMP = (
    ("leaks.slip", "Slip by all leaks"),
    ("leaks.efficiency", "Volumetric efficiency"),
    ("leaks.flow", "Flow delivered then"),
)


@dataclass(frozen=True, slots=True)
class Data:
    """What the figure draws, and the units of its scales."""

    shown: Shown
    flow_unit: str
    size_unit: str


class WearBoard:
    """What wear of one part costs in flow, and how long it may go on."""

    name = "wear"
    title = "Wear: from clearance to flow and efficiency"
    about = (
        "Choose a measured part or the seat of a check, change its size, the fluid or the duty, "
        "and see what leaks there and what is left of the flow. All other parts stay as measured; "
        "what was not measured is taken as tight. Where the card has a past, the hours left to "
        "the limit go with it."
    )

    def picks(self, case: Case) -> dict[str, tuple[str, ...]]:
        """The measured parts, those that make a gap first, and the seats of the checks."""
        limits = case.model.wear_limits
        gaps = [name for name, limit in limits.items() if limit.leak is not None]
        others = [name for name in limits if name not in gaps]
        return {"place": (*gaps, *(f"{name}{SEAT}" for name in case.model.check_valves), *others)}

    def views(self, case: Case, picked: Mapping[str, str]) -> tuple[View, ...]:
        """Nothing to choose."""
        return ()

    def knobs(self, case: Case, picked: Mapping[str, str]) -> tuple[Knob, ...]:
        """The sizes of the place, the fluid, and the duty."""
        place = _place(case, picked)
        sizes = _seat_sizes if place.endswith(SEAT) else _sizes
        return (*sizes(case, place.removesuffix(SEAT)), *fluid_knobs(case), *_duty(case))

    def answer(self, case: Case, picked: Mapping[str, str], seen: Mapping[str, Any]) -> Answer:
        """The worksheet's lines on the place and the pump, with the flow over its size."""
        place = _place(case, picked)
        of, context = place.removesuffix(SEAT), Context(case)
        sums = sums_of(context)
        sections = leaks(context), inspection(context)
        lines = {line.id: line for section in sections for _, line in rows_of(section)}
        ways = [way for way in sums.ways if _is_at(way, place)]
        numbers = (
            *_leaking(context, place, ways, sums, lines),
            *(number(id_, label, lines.get(id_), _no_sum(sums)) for id_, label in _PUMP),
            *(() if place.endswith(SEAT) else _lasting(case, of, lines)),
        )
        findings = [one for section in sections for one in section.findings() if _about(one, of)]
        shown = Shown(sums.result, _curve(context, sums, ways), _wanted(sums))
        metric = context.system == "metric"
        data = Data(shown, "L/min" if metric else "gal/min", "µm" if metric else "thou")
        told = leading(numbers, "leaks.flow", "leaks.efficiency", ".left")
        return Answer(told, worst_first(findings), data)

    def draw(self, after: Answer, before: Answer, seen: Mapping[str, Any]) -> Figure:
        """The flow over the size, and what is lost, before and after."""
        data = after.data
        return wear_change(data.shown, before.data.shown, data.flow_unit, data.size_unit)


def _place(case: Case, picked: Mapping[str, str]) -> str:
    offered = WearBoard.picks(BOARD, case)["place"]
    place = picked.get("place") or offered[0]
    if place not in offered:
        raise ValueError(f"no place {place!r} on this pump; there are {', '.join(offered)}")
    return place


# knobs


def _sizes(case: Case, name: str) -> Iterator[Knob]:
    """What was measured of a part, and the gap it makes with its mate."""
    limit, measured = case.model.wear_limits[name], case.job.measured
    yield _measured(case, "size", limit.what, name, limit, measured.get(name))
    gap = limit.leak
    if gap is None:
        return
    at = f"wear_limits.{name}.leak"
    if gap.mate_measured is not None:
        mate = case.model.wear_limits[gap.mate_measured]
        yield _measured(
            case, "mate", mate.what, gap.mate_measured, mate, measured.get(gap.mate_measured)
        )
    elif gap.mate_size is not None:
        reach = abs(limit.reuse_limit.nominal - limit.new.nominal)
        ends = (gap.mate_size.nominal - reach, gap.mate_size.nominal + reach)
        yield quantity(
            case, "mate", f"Size of its mate: {gap.mate}", f"{at}.mate_size", gap.mate_size, ends,
            "length", exact=True,
        )  # fmt: skip
    long = gap.length.nominal
    yield quantity(
        case, "length", "Length that seals", f"{at}.length", gap.length, (0.25 * long, 2.0 * long),
        "length",
    )  # fmt: skip
    if gap.takes_up is not None:
        reach = abs(limit.reuse_limit.nominal - limit.new.nominal) / 2.0
        yield quantity(
            case, "takes-up", "Radial wear that the seal takes up", f"{at}.takes_up", gap.takes_up,
            (0.0, max(2.0 * gap.takes_up.nominal, reach)), "length",
        )  # fmt: skip


def _measured(
    case: Case, knob: str, label: str, name: str, limit: WearLimit, measured: Amount | None
) -> Knob:
    last = limit.rework_limit or limit.reuse_limit
    marks = [limit.new.low, limit.new.high, limit.reuse_limit.nominal, last.nominal]
    room = 0.1 * (max(marks) - min(marks))
    ends = (min(marks) - room, max(marks) + room)
    setting = f"measured.{name}"
    words = f"New {limit.new.canonical}, reuse as it is up to {limit.reuse_limit.canonical}"
    return quantity(case, knob, label, setting, measured, ends, "length", exact=True, help=words)


def _seat_sizes(case: Case, name: str) -> Iterator[Knob]:
    """What a seat was found to have; a scratch only where the card has one.

    It takes width and depth together, and a board sets one thing after the other.
    """
    defect = case.job.seat_defects.get(name)
    bore = case.model.check_valves[name].seat.bore.nominal
    for knob, label, field, most, words in (
        ("ovality", "Seat out of round", "ovality", 0.01, "Largest less smallest diameter"),
        ("width", "Width of the scratch", "scratch_width", 0.05, ""),
        ("depth", "Depth of the scratch", "scratch_depth", 0.02, ""),
        ("land", "Width of the bright ring", "land", 0.1, "Without it no friction is counted"),
    ):
        amount = getattr(defect, field) if defect is not None else None
        if amount is None and field.startswith("scratch"):
            continue
        ends = (0.001 * most * bore, most * bore)
        setting = f"seat_defects.{name}.{field}"
        yield quantity(case, knob, label, setting, amount, ends, "length", help=words)


def _duty(case: Case) -> Iterator[Knob]:
    duty, most = case.job.duty, case.model.fluid_end.rate_max.nominal
    working = duty.working_pressure
    yield quantity(
        case, "pressure", "Working pressure", "duty.working_pressure", working,
        (0.25 * working.nominal, 2.0 * working.nominal), "pressure",
    )  # fmt: skip
    yield quantity(case, "rate", "Rate", "duty.rate", duty.rate, (0.2 * most, 1.25 * most), "rate")


# answers


def _is_at(way: Way, place: str) -> bool:
    if place.endswith(SEAT):
        return way.sides is None and way.of == place.removesuffix(SEAT)
    sides = way.sides
    return sides is not None and place in {way.of, sides.bore_limit, sides.part_limit}


def _about(finding: Finding, of: str) -> bool:
    """Whether a finding is on the pump as a whole or on the place."""
    whole = {"leaks.efficiency", "leaks.flow", "leaks.duty.reading"}
    return finding.id in whole or finding.id.split(".")[1] == of


def _leaking(
    context: Context, place: str, ways: list[Way], sums: Sums, lines: Mapping[str, Line]
) -> Iterator[Number]:
    """Size, leak and share of each way at the place; the same rows whatever the sheets tell."""
    of, seat = place.removesuffix(SEAT), place.endswith(SEAT)
    if not seat and context.model.wear_limits[of].leak is None and not ways:
        return
    why = "none noted" if seat else "not measured"
    why = "cannot be so" if of in sums.problems else why
    for kind, label in _SIZES[1:] if seat else _SIZES[:1]:
        way = next((one for one in ways if one.kind.replace(" ", "-") == kind), None)
        there, own = f"leaks.{way.of if way else of}.{kind}", f"leaks.{of}.{kind}"
        told: tuple[Value | str, ...] = (why, why, why)
        if way is not None and way.tight:
            nothing = context.value(0.0, "flow"), Value(0.0, "fraction", "%")
            told = (_tight(context, way), *nothing)
        elif way is not None:
            told = (why, why, NOT_TOLD)  # without a rate there is no share
        more = f": {kind.replace('-', ' ')}" if seat else ""
        rows = (
            ("size", label),
            ("flow", f"Leak while it sees the pressure{more}"),
            ("share", f"Share of the displacement{more}"),
        )
        for (what, words), otherwise in zip(rows, told, strict=True):
            line = lines.get(f"{there}.{what}")
            yield Number(f"{own}.{what}", words, otherwise if line is None else line.value)


def _no_sum(sums: Sums) -> str:
    """Why the worksheet has no line on what the pump delivers, or on its slip."""
    if sums.result is None:
        return NOT_TOLD
    return "none" if sums.ways else "no leak on the sheets"


def _tight(context: Context, way: Way) -> str:
    """Why nothing passes."""
    if way.sides is None or way.sides.open > 0.0:
        return "the fluid's yield stress holds"
    return f"none: {context.value(-way.sides.open, 'length').shown} left of what the seal takes up"


def _lasting(case: Case, of: str, lines: Mapping[str, Line]) -> Iterator[Number]:
    used = lines.get(f"inspection.{of}.used")
    yield number(f"inspection.{of}.used", "Wear allowance used", used, "not measured")
    for what, label in _LIFE:
        why = NOT_TOLD
        if what != "limit" and not case.job.past:
            why = "no past readings on the card"
        yield number(f"leaks.{of}.{what}", label, lines.get(f"leaks.{of}.{what}"), why)


def _wanted(sums: Sums) -> float | None:
    """The flow at the efficiency that is wanted, m³/s."""
    if sums.wanted is None or sums.result is None:
        return None
    return sums.wanted * sums.result.displacement * sums.result.rate


def _curve(context: Context, sums: Sums, ways: list[Way]) -> Curve | None:
    """The flow over the size of the first way at the place, the other leaks as they are."""
    if not ways or sums.result is None:
        return None
    way, result = ways[0], sums.result
    size, most = _size_of(context, way)
    sizes = max(most, 1.3 * size) * np.linspace(0.0, 1.0, POINTS) ** 1.5
    sizes = np.union1d(sizes, [size])
    kept = result.balance + way.leak.flow * way.share / result.rate  # all but this way's own
    flows = [
        max(kept * result.rate - way.share * _leak_at(context, sums, way, float(one)), 0.0)
        for one in sizes
    ]
    return Curve(_KINDS[way.kind], sizes, np.array(flows), size, result.flow, _reuse(context, way))


def _size_of(context: Context, way: Way) -> tuple[float, float]:
    """The size that a way is drawn over, and how far the curve is to reach at least; m."""
    passage = way.path.passage
    if isinstance(passage, Scratch):
        return passage.depth, 2.0 * passage.depth
    if way.sides is None:
        defect = context.job.seat_defects[way.of]
        oval = nominal(defect.ovality, 0.0)
        return oval, 2.0 * oval
    reuse = _reuse(context, way)
    return max(way.sides.open, 0.0), 1.25 * (reuse if reuse is not None else 0.0)


def _reuse(context: Context, way: Way) -> float | None:
    """The radial gap with the part at its reuse limit, its mate as it is; m."""
    if way.sides is None:
        return None
    limit = context.model.wear_limits[way.of].reuse_limit.nominal
    grown = way.sides.bore_limit == way.of
    reach = limit - way.sides.part if grown else way.sides.bore - limit
    return max(reach / 2.0 - way.sides.takes_up, 0.0)


def _leak_at(context: Context, sums: Sums, way: Way, size: float) -> float:
    """What the way lets through at another size, m³/s, as the worksheet reckons its leaks."""
    passage = _passage_of(context, way, size)
    if passage is None:
        return 0.0
    assert sums.duty is not None  # noqa: S101
    fluid = curve_of(context) or Newtonian(sums.duty.viscosity)
    return _passes(passage, way.path.pressure_difference, fluid, sums.duty.density)


@functools.lru_cache(maxsize=512)
def _passes(passage: Passage, drop: float, fluid: Fluid, density: float) -> float:
    """A leak, m³/s; each once, as a curve stays while a part moves along it."""
    if isinstance(fluid, Newtonian):
        return leak(passage, drop, fluid.viscosity, density).flow
    viscosity = leak_viscosity(passage, drop, fluid, density)
    return 0.0 if math.isinf(viscosity) else leak(passage, drop, viscosity, density).flow


def _passage_of(context: Context, way: Way, size: float) -> Passage | None:
    if size <= 0.0:
        return None
    passage = way.path.passage
    if isinstance(passage, Scratch):
        return replace(passage, depth=size)
    assert isinstance(passage, Gap)  # noqa: S101
    if way.sides is not None:
        return replace(passage, height=size)
    valve = context.model.check_valves[way.of]
    contact = seat_contact(valve.ball.diameter.nominal, seat_of(valve.seat))
    return oval_seat_gap(contact, size, passage.length)


BOARD = WearBoard()
