"""Relief and stall: the pressures of a pump on one ladder as supply, areas or set point change.

Only a check: nothing here sets a valve.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from matplotlib.figure import Figure

from rebuildbook.calculators.relief import ReliefCheck
from rebuildbook.figures.ladder_change import ladder_change
from rebuildbook.figures.pressure_ladder import Rung
from rebuildbook.sheets import Case
from rebuildbook.units import Amount
from rebuildbook.whatif.boards.answers import leading, number, rows_of, worst_first
from rebuildbook.whatif.boards.knobs import quantity
from rebuildbook.whatif.question import Answer, Knob, Number, View
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Line, Value, given
from rebuildbook.worksheet.relief import assess, relief
from rebuildbook.worksheet.relief_installed import relief_more
from rebuildbook.worksheet.unit import Unit, unit_of

NOT_KNOWN, NO_LIMIT = "not known", "no limit"

_VALVE = (
    ("relief.set-planned", "Set pressure asked for"),
    ("relief.set-read", "Set pressure read"),
    ("relief.tolerance", "Set tolerance"),
    ("relief.opens-low", "Lowest opening pressure"),
    ("relief.opens-high", "Highest opening pressure"),
    ("relief.relieving", "Pressure at full relief"),
    ("relief.reseat", "Lowest reseat pressure"),
    ("relief.capacity", "Capacity at lowest opening and overpressure"),
    ("relief.largest-flow", "Largest flow the pump can send"),
    ("relief.full-flow", "Pressure at the pump with all its flow through the valve"),
)


@dataclass(frozen=True, slots=True)
class Data:
    """What the figure draws: the rungs, and the pressure unit of its left scale."""

    rungs: tuple[Rung, ...]
    unit: str


class ReliefBoard:
    """Whether a relief valve still protects the weakest part when the pressures round it change."""

    name = "relief"
    title = "Relief and stall: is the weakest part still protected?"
    about = (
        "Change what drives the pump, what it works at, what its weakest part stands or what its "
        "relief valve was read at, and see all pressures on one ladder. This checks a set point "
        "and does not tell how to come to one: setting, testing and sealing a relief valve is for "
        "qualified people, by the maker's procedure and local codes. The valve is never gagged, "
        "plugged or raised."
    )

    def picks(self, case: Case) -> dict[str, tuple[str, ...]]:
        """Nothing: a pump has one relief valve."""
        return {}

    def views(self, case: Case, picked: Mapping[str, str]) -> tuple[View, ...]:
        """Nothing to choose."""
        return ()

    def knobs(self, case: Case, picked: Mapping[str, str]) -> tuple[Knob, ...]:
        """Pressures of duty and supply, areas of drive and fluid end, the set, the weakest part."""
        return (*_drive(case), *_areas(case), *_duty(case), *_valve(case), _weakest(case))

    def answer(self, case: Case, picked: Mapping[str, str], seen: Mapping[str, Any]) -> Answer:
        """The worksheet's lines and findings on the relief valve, with stall and limits."""
        context = Context(case)
        unit = unit_of(context)
        check = assess(context, unit)
        sections = relief(context, unit, check), relief_more(context, unit, check)
        lines = {line.id: line for section in sections for _, line in rows_of(section)}
        findings = [finding for section in sections for finding in section.findings()]
        numbers = (*_round_it(context, unit, check), *_of_valve(case, lines))
        data = Data(tuple(_rungs(context, unit, check)), _unit(context))
        told = leading(numbers, "relief.opens-high", "relief.relieving", "unit.stall")
        return Answer(told, worst_first(findings), data)

    def draw(self, after: Answer, before: Answer, seen: Mapping[str, Any]) -> Figure:
        """Both on one ladder."""
        return ladder_change(after.data.rungs, before.data.rungs, after.data.unit)


# knobs


def _pressure(
    case: Case, name: str, label: str, setting: str, amount: Amount | None, about: float,
    help: str = "",  # noqa: A002  (the knob's own word)
) -> Knob:  # fmt: skip
    """A slider from a quarter of ``about``, Pa, to twice it."""
    ends = (0.25 * about, 2.0 * about)
    return quantity(case, name, label, setting, amount, ends, "pressure", help=help)


def _drive(case: Case) -> Iterator[Knob]:
    duty, drive = case.job.duty, case.model.drive
    if drive.kind == "electric":
        torque = drive.stall_torque
        if torque is not None:
            ends = (0.25 * torque.nominal, 2.0 * torque.nominal)
            at = "drive.stall_torque"
            yield quantity(
                case, "torque", "Largest torque at the crank", at, torque, ends, "torque"
            )
        return
    most = drive.supply_max
    assert most is not None  # noqa: S101  (crosscheck has seen to it)
    usual = (duty.supply_pressure or most).nominal
    yield _pressure(
        case, "supply", "Supply in hand", "duty.supply_pressure", duty.supply_pressure, usual
    )
    yield _pressure(
        case, "supply-available", "Most that the line could give", "duty.supply_available",
        duty.supply_available, (duty.supply_available or most).nominal,
        f"Without it the highest supply of the model sheet counts, {most.canonical}",
    )  # fmt: skip


def _areas(case: Case) -> Iterator[Knob]:
    """What makes the ratio of drive to fluid area; none where it has no part in the stall."""
    drive, end = case.model.drive, case.model.fluid_end
    if drive.kind == "electric":
        if drive.stall_torque is None or end.bore is None or end.volume_per_cycle is not None:
            return
    elif drive.piston_diameter is not None and end.bore is not None:
        at = "drive.piston_diameter"
        yield _diameter(case, "drive-piston", "Piston of the motor", at, drive.piston_diameter)
    else:
        if drive.area_ratio is not None:
            ends = (0.5 * drive.area_ratio.nominal, 2.0 * drive.area_ratio.nominal)
            yield quantity(
                case, "ratio", "Drive area over fluid area", "drive.area_ratio", drive.area_ratio,
                ends, "number",
            )  # fmt: skip
        yield from _friction(case)
        return
    rod = end.rod.high if end.rod is not None else 0.0
    least = 1.01 * rod
    yield _diameter(case, "bore", "Bore, or plunger diameter", "fluid_end.bore", end.bore, least)
    if end.rod is not None and case.model.architecture != "plunger":
        most = 0.99 * end.bore.low
        yield _diameter(case, "rod", "Rod on the fluid side", "fluid_end.rod", end.rod, most=most)
    yield from _friction(case)


def _diameter(
    case: Case, name: str, label: str, setting: str, amount: Amount, least: float = 0.0,
    most: float = math.inf,
) -> Knob:  # fmt: skip
    ends = (max(0.7 * amount.nominal, least), min(1.4 * amount.nominal, most))
    return quantity(case, name, label, setting, amount, ends, "length", exact=True)


def _friction(case: Case) -> Iterator[Knob]:
    drive = case.model.drive
    if drive.kind != "electric":
        yield quantity(
            case, "friction", "Friction of the drive", "drive.friction", drive.friction,
            (0.01, 0.3), "fraction", help="Share of its force; without it none is counted",
        )  # fmt: skip


def _duty(case: Case) -> Iterator[Knob]:
    duty = case.job.duty
    working = duty.working_pressure.nominal
    yield _pressure(
        case, "working", "Working pressure", "duty.working_pressure", duty.working_pressure, working
    )
    tested = (duty.test_pressure or duty.working_pressure).nominal
    yield _pressure(case, "test", "Test pressure", "duty.test_pressure", duty.test_pressure, tested)
    yield quantity(
        case, "back", "Back pressure behind the valve", "duty.back_pressure", duty.back_pressure,
        (0.0, 0.5 * working), "pressure", help="Without it none is counted",
    )  # fmt: skip


def _valve(case: Case) -> Iterator[Knob]:
    """The set that counts: as read where it was, and as asked for."""
    valve, read = case.model.relief, case.job.relief_setting
    if valve is None:
        return
    about = valve.set_pressure.nominal
    if read is not None:
        yield _pressure(
            case, "set-read", "Set pressure read", "relief_setting.set_pressure",
            read.set_pressure, about, "What if the bench had read this",
        )  # fmt: skip
    words = "Counts where no reading of the valve is on the card" if read is None else ""
    yield _pressure(
        case, "set-planned", "Set pressure asked for", "relief.set_pressure", valve.set_pressure,
        about, words or "A reading goes before it; the two are compared",
    )  # fmt: skip


def _weakest(case: Case) -> Knob:
    parts = case.model.pressure_parts
    name = min(parts, key=lambda one: parts[one].max_working_pressure.nominal)
    limit = parts[name].max_working_pressure
    return _pressure(
        case, "weakest", f"Limit of {name}", f"pressure_parts.{name}.max_working_pressure",
        limit, limit.nominal, f"Weakest part as the sheets have it: {parts[name].what}",
    )  # fmt: skip


# answers


def _round_it(context: Context, unit: Unit, check: ReliefCheck) -> Iterator[Number]:
    """The pressures round the valve: duty, test, stall, and what the weakest part stands."""
    duty, at = context.job.duty, check.pressures
    yield Number("duty.working", "Working pressure", given(duty.working_pressure))
    test = given(duty.test_pressure) if duty.test_pressure else NOT_KNOWN
    yield Number("duty.test", "Test pressure", test)
    for id_, label, stall in (
        ("unit.stall", "Stall with the supply in hand", unit.stall),
        ("unit.stall-max", "Stall with the most the line could give", unit.stall_max),
    ):
        yield Number(id_, label, _shown(context, stall.pressure if stall else None))
    weakest = at.weakest
    assert weakest is not None  # noqa: S101  (a model sheet has a pressure part at least)
    limit = next(
        part.max_working_pressure
        for part in context.model.pressure_parts.values()
        if part.max_working_pressure.nominal == weakest.max_working_pressure
    )
    yield Number("limit.weakest", "Limit of the weakest part", given(limit))
    yield Number("limit.which", "Weakest part", weakest.name)
    allowed = _shown(context, at.accumulated)
    yield Number("limit.relieving", "What it is allowed while the valve relieves", allowed)


def _shown(context: Context, pressure: float | None) -> Value | str:
    if pressure is None:
        return NOT_KNOWN
    return NO_LIMIT if math.isinf(pressure) else context.value(pressure, "pressure")


def _of_valve(case: Case, lines: Mapping[str, Line]) -> Iterator[Number]:
    if case.model.relief is None:
        yield Number("relief.fitted", "Relief valve", "none on the model sheet")
        return
    for id_, label in _VALVE:
        yield number(id_, label, lines.get(id_), NOT_KNOWN)


def _unit(context: Context) -> str:
    return "bar" if context.system == "metric" else "psi"


def _rungs(context: Context, unit: Unit, check: ReliefCheck) -> Iterator[Rung]:
    at, duty = check.pressures, context.job.duty
    assert at.weakest is not None  # noqa: S101
    yield Rung("weakest part", at.weakest.max_working_pressure, "limit")
    yield Rung("working", duty.working_pressure.nominal, "working")
    if duty.test_pressure is not None:
        yield Rung("test", duty.test_pressure.nominal, "test")
    if at.set is not None:
        yield Rung("relief set", at.set, "set", at.opens_low, at.opens_high)
    if at.reseat is not None:
        yield Rung("reseat", at.reseat, "reseat")
    if at.relieving is not None:
        yield Rung("full relief", at.relieving, "relieving")
    if unit.stall is not None:
        yield Rung("stall", unit.stall.pressure, "stall")
    if unit.stall_max is not None and unit.stall_max != unit.stall:
        yield Rung("stall at the most", unit.stall_max.pressure, "stall")


BOARD = ReliefBoard()
