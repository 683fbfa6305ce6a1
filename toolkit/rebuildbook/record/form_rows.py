"""The rows of a form to fill in: every reading that a job wants, and what it is held against."""

from __future__ import annotations

import typing
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from pydantic.fields import FieldInfo

from rebuildbook.record.bench import Bench, JointBench
from rebuildbook.record.entry import Kind
from rebuildbook.sheets import Case
from rebuildbook.sheets.bench import offered
from rebuildbook.sheets.fields import Quantity
from rebuildbook.sheets.job import BenchRecord, BenchSetUp
from rebuildbook.sheets.part import Part
from rebuildbook.units import DIMENSIONS, number, shown_unit, to_unit, with_unit

NAMED = "readings."  # where the job card's test has those of the pump's test card


@dataclass(frozen=True, slots=True)
class FormRow:
    """One reading to take: its name, what it is, and what is shown beside the cells to fill.

    ``wanted`` is the window, the limit or the pressure asked for; ``hint`` the tool in hand or
    the size when new.
    """

    kind: Kind
    subject: str
    what: str
    wanted: str
    hint: str = ""
    number: int | None = None


@dataclass(frozen=True, slots=True)
class ReadingWanted:
    """One reading of the job card's ``test``: its dotted name there, words, what it may be.

    ``usual`` says that a form asks for it.
    """

    name: str
    what: str
    quantity: Quantity
    usual: bool = True

    @property
    def dimension(self) -> str:
        """What it is a quantity of."""
        return self.quantity.dimension


def form_rows(bench: Bench) -> tuple[FormRow, ...]:
    """Give every row of a job's form: torques, measurements, test readings."""
    return (*_torques(bench), *_measurements(bench.case), *_tests(bench.case))


def _torques(bench: Bench) -> Iterator[FormRow]:
    for joint in bench.joints.values():
        wrench = bench.wrenches.get(joint.tool)
        hint = f"{wrench.name}, in {shown_unit(wrench.scale_unit)}" if wrench else "none fits"
        if wrench and joint.adapter is not None:
            hint += f"\nwith {joint.adapter.name}"
        wanted = joint.window
        if wrench and wrench.scale_unit != joint.unit:
            wanted += f"\n{_on_scale(joint, wrench.scale_unit)}"
        for place in joint.order or range(1, joint.count + 1):
            yield FormRow("torque", joint.name, joint.what, wanted, hint, place)


def _on_scale(joint: JointBench, unit: str) -> str:
    """The window in the unit that the wrench is marked in, so that nobody has to convert it."""
    low, high = (number(to_unit(torque, unit), 4) for torque in (joint.low, joint.high))
    return with_unit(f"{low} to {high}", unit)


def _measurements(case: Case) -> Iterator[FormRow]:
    for name, limit in case.model.wear_limits.items():
        wanted = limit.reuse_limit.canonical
        if limit.rework_limit is not None:
            wanted += f"; rework to {limit.rework_limit.canonical}"
        yield FormRow("measurement", name, limit.what, wanted, limit.new.canonical)


def _tests(case: Case) -> Iterator[FormRow]:
    duty = case.job.duty
    wanted = {
        "pressure": duty.test_pressure.canonical if duty.test_pressure else "not given",
        "pressure_after": "no less than before the hold",
    }
    record = case.job.test
    limit = record.stall.creep_limit if record and record.stall else None
    for reading in readings_of_test(case):
        if not reading.usual:
            continue
        creeps = reading.dimension == "speed"
        told = limit.canonical if creeps and limit else ""
        yield FormRow("test", reading.name, reading.what, wanted.get(reading.name, told))


def readings_of_test(case: Case) -> tuple[ReadingWanted, ...]:
    """Give the readings that the job card's ``test`` takes for this pump.

    Limits and the bench's own set-up are no readings. Those of the pump's test card stand under
    ``readings``; a creep at stall that has a field of its own is not asked for again.
    """
    stalls = case.model.drive.kind != "electric"
    plain = [one for one in _readings(BenchRecord) if stalls or not one.name.startswith("stall.")]
    try:
        card = offered(case.model)
    except LookupError:  # a pump that no test card is worked out for
        card = {}
    creeps = stalls and any(one.name.startswith("stall.") for one in plain)
    named = [
        ReadingWanted(
            NAMED + key,
            _sentence(one.name),
            one.quantity,
            one.usual and not (creeps and key.startswith("creep-")),
        )
        for key, one in card.items()
    ]
    return (*plain, *named)


def _readings(part: type[Part], before: str = "") -> Iterator[ReadingWanted]:
    for name, field in part.model_fields.items():
        dotted = before + name
        quantity = _quantity(field)
        if quantity is not None and not dotted.endswith("_limit"):
            words = dotted.replace(".", ": ").replace("_", " ")
            yield ReadingWanted(dotted, _sentence(words), quantity)
        for option in typing.get_args(field.annotation):
            if isinstance(option, type) and issubclass(option, Part) and option is not BenchSetUp:
                yield from _readings(option, f"{dotted}.")


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]


def subject_in_test(name: str, names: Collection[str]) -> str:
    """The name of a reading of the test, which may be written without ``readings.`` before it."""
    return NAMED + name if name not in names and NAMED + name in names else name


def _quantity(field: FieldInfo) -> Quantity | None:
    if typing.get_origin(field.annotation) is dict:
        return None
    options = [field.annotation, *typing.get_args(field.annotation)]
    marks = [
        *field.metadata,
        *(mark for one in options for mark in getattr(one, "__metadata__", ())),
    ]
    return next((mark for mark in marks if isinstance(mark, Quantity)), None)


def usual_units(dimension: str) -> tuple[str, ...]:
    """Give the units that the list of a unit cell offers, as they are shown."""
    kind = DIMENSIONS[dimension]
    known = _UNITS.get(dimension, (*kind.metric, *kind.us))
    return tuple(dict.fromkeys(shown_unit(unit) for unit in known))


_UNITS = {
    "torque": ("N*m", "ft*lbf", "in*lbf", "kgf*m"),
    "length": ("mm", "in", "thou", "µm"),
    "time": ("s", "min", "h"),
    "speed": ("mm/min", "in/min", "mm/s"),
}
