"""The test: pressure held, creep of each stroke at stall, and what a leak points at."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.calculators.stall_reading import StallReading, read_stall
from rebuildbook.sheets.job import BenchRecord
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import given_line
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Line,
    Lines,
    Note,
    Section,
    Table,
)

PRACTICE = "common practice, no source"
_CAUTION = (
    "Stand clear and behind the screen while pressure is brought up in steps; look for leaks with "
    "a card or a mirror, never by hand. Bring the pressure to zero before anything is tightened."
)


def bench_test(context: Context) -> Section:
    """Build the test section; before the test it gives boxes for the readings."""
    test = context.job.test
    blocks: list[Block] = [Caution(_CAUTION)]
    if test is None:
        blocks += [
            Note("No test is recorded yet. Enter the readings here, then on the job card."),
            _boxes(context),
        ]
        return Section("test", "Test", tuple(blocks))
    lines = tuple(_lines(context, test))
    if lines:
        blocks.append(Lines("Readings", lines))
    return Section("test", "Test", (*blocks, *_pressure(context, test), *_stall(context, test)))


def _boxes(context: Context) -> Table:
    duty = context.job.duty
    wanted = duty.test_pressure.canonical if duty.test_pressure else "not given"
    rows = [("Test pressure", wanted, ""), ("Held for", "", ""), ("Pressure after", "", "")]
    if _reciprocates(context):
        rows += [("Creep at stall, up-stroke", "", ""), ("Creep at stall, down-stroke", "", "")]
    return Table("Readings to take", ("Reading", "Wanted", "Read"), tuple(rows))


def _reciprocates(context: Context) -> bool:
    return context.model.architecture.endswith("acting-piston")


def _lines(context: Context, test: BenchRecord) -> Iterator[Line]:
    data = context.source("job", "test")
    stall = test.stall
    readings = (
        ("test.pressure", "Test pressure", test.pressure),
        ("test.held", "Held for", test.held_for),
        ("test.after", "Pressure after", test.pressure_after),
        ("test.up", "Creep at stall, up-stroke", stall.up_stroke_creep if stall else None),
        ("test.down", "Creep at stall, down-stroke", stall.down_stroke_creep if stall else None),
        ("test.limit", "Creep limit", stall.creep_limit if stall else None),
    )
    for id_, name, amount in readings:
        if amount is not None:
            yield given_line(id_, name, amount, data)


def _pressure(context: Context, test: BenchRecord) -> Iterator[Finding]:
    wanted, made = context.job.duty.test_pressure, test.pressure
    if made is None:
        yield _missing("test.pressure", "Test pressure not recorded", "Read it and write it down.")
        return
    if wanted is not None and made.nominal < wanted.nominal * (1.0 - 1e-9):
        yield Finding(
            "test.pressure",
            "query",
            "Tested below the wanted pressure",
            f"{made.canonical} against {wanted.canonical}",
            action="Test again at the wanted pressure, or let the one who asked for it decide.",
            source=context.source("job", "duty.test_pressure"),
        )
    if test.pressure_after is None:
        yield _missing(
            "test.after", "Pressure after the hold not recorded", "Repeat the hold and read it."
        )
    elif test.pressure_after.nominal < made.nominal * (1.0 - 1e-9):
        lost = context.value(made.nominal - test.pressure_after.nominal, "pressure").shown
        yield Finding(
            "test.after",
            "query",
            "Pressure fell during the hold",
            f"{made.canonical} to {test.pressure_after.canonical}",
            lost,
            "Find the leak; see creep at stall below.",
            PRACTICE,
        )
    else:
        held = test.held_for.canonical if test.held_for else "a time not noted"
        yield Finding(
            "test.after",
            "clear",
            "Pressure held",
            f"{made.canonical} after {held}",
            source=context.source("job", "test"),
        )


def _missing(id_: str, title: str, action: str) -> Finding:
    return Finding(id_, "query", title, "no reading on the card", action=action, source=PRACTICE)


def _stall(context: Context, test: BenchRecord) -> Iterator[Finding]:
    if not _reciprocates(context):
        return
    stall = test.stall
    if stall is None or (stall.up_stroke_creep is None and stall.down_stroke_creep is None):
        yield _missing(
            "test.stall", "Creep at stall not recorded", "Stall the pump and read both strokes."
        )
        return
    if stall.creep_limit is None:
        yield _missing(
            "test.stall", "No creep limit on the card", "Take it from the maker's manual."
        )
        return
    reading = read_stall(
        stall.up_stroke_creep.nominal if stall.up_stroke_creep else None,
        stall.down_stroke_creep.nominal if stall.down_stroke_creep else None,
        stall.creep_limit.nominal,
    )
    yield _stall_finding(context, reading)


def _stall_finding(context: Context, reading: StallReading) -> Finding:
    def shown(speed: float | None) -> str:
        return "not read" if speed is None else context.value(speed, "speed").shown

    compared = (
        f"up-stroke {shown(reading.up)}, down-stroke {shown(reading.down)}; "
        f"limit {shown(reading.limit)}"
    )
    if reading.side == "none":
        return Finding(
            "test.stall", "clear", "Holds at stall on both strokes", compared, source=PRACTICE
        )
    if reading.side == "not known":
        return Finding(
            "test.stall",
            "query",
            "Creep at stall: one stroke not read",
            compared,
            action="Read the other stroke: one alone cannot tell a check from the piston seal.",
            source=PRACTICE,
        )
    if reading.side == "both":
        return Finding(
            "test.stall",
            "hold",
            "Creep at stall on both strokes",
            compared,
            action="Points at the piston seal, which is loaded on both strokes. Open and look.",
            source=PRACTICE,
        )
    return Finding(
        "test.stall",
        "hold",
        f"Creep at stall on the {reading.side} only",
        compared,
        action="Points at the checks that must hold on that stroke: "
        f"{_suspects(context, reading)}. "
        "Clean and look at ball and seat; swap the ball to see whether the leak moves with it.",
        source=PRACTICE,
    )


def _suspects(context: Context, reading: StallReading) -> str:
    valves = context.model.check_valves.values()
    named = [valve.what for valve in valves if valve.holds_on == reading.side]
    return ", ".join(named) or "none is named on the model sheet"
