"""The test: pressure held, what the unit should read and did, and what a leak points at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rebuildbook.calculators.stall_reading import StallReading, read_stall
from rebuildbook.sheets.bench import key_of, readings_of
from rebuildbook.sheets.job import BenchRecord, StallTest
from rebuildbook.sheets.leaks import sealed_places
from rebuildbook.units import Amount
from rebuildbook.worksheet.bench_diagnosis import Pointed, judged, needed, point, pointed
from rebuildbook.worksheet.bench_pump import OnBench, on_bench
from rebuildbook.worksheet.bench_readings import boxes, compared, conditions
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import given_line, nominal
from rebuildbook.worksheet.in_motion import InMotion
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
from rebuildbook.worksheet.unit import Unit

PRACTICE = "common practice, no source"
_CAUTION = (
    "Stand clear and behind the screen while pressure is brought up in steps; look for leaks with "
    "a card or a mirror, never by hand. Bring the pressure to zero before anything is tightened."
)


def bench_test(context: Context, unit: Unit, moving: InMotion) -> Section:
    """Build the test section; before the test it gives boxes for the readings."""
    test = context.job.test
    bench, why = _on_bench(context, unit, moving)
    taken = readings_of(context.job, context.model) if bench else {}
    blocks: list[Block] = [Caution(_CAUTION)]
    done = test is not None and bool(test.model_fields_set - {"bench"})
    if test is None or not done:
        blocks.append(Note("No test is recorded yet. Enter the readings here, then on the card."))
        blocks.append(_boxes(context, bench is None))
    else:
        lines = (*_lines(context, test), *_unheld(context, test, bench))
        if lines:
            blocks.append(Lines("Readings", lines))
    at = point(bench, taken) if bench and done else None
    blocks += _card(context, bench, taken, at) if bench else [Note(why)]
    if test is not None and done:
        stall = tuple(_stall(context, test, taken, at))
        blocks += [*_pressure(context, test), *stall]
        if at is not None:
            blocks.append(judged(context, at, _over(test, taken)))
    return Section("test", "Test", tuple(blocks))


def _on_bench(context: Context, unit: Unit, moving: InMotion) -> tuple[OnBench | None, str]:
    try:
        return on_bench(context, unit, moving), ""
    except (LookupError, ValueError) as reason:
        return None, f"What a sound unit should read is not worked out: {reason}."


def _over(test: BenchRecord, taken: Mapping[str, Amount]) -> bool:
    """Whether the creep of any stroke is over its limit."""
    limit = test.stall.creep_limit if test.stall else None
    creeps = [one.nominal for name, one in taken.items() if name.startswith("creep, ")]
    return limit is not None and any(creep > limit.nominal for creep in creeps)


def _card(
    context: Context, bench: OnBench, taken: Mapping[str, Amount], at: Pointed | None
) -> Iterator[Block]:
    """The test card: what a sound unit shows, what was read, what that points at."""
    yield conditions(context, bench)
    yield from compared(context, bench, taken)
    yield from boxes(context, bench, taken, first=not taken)
    if at is not None:
        yield from pointed(context, bench, at)
    elif set(taken) - {name for name in bench.usual if name.startswith("creep")}:
        short = ", ".join(name for name in needed(bench) if name not in taken)
        yield Note(f"What the readings point at is not worked out without: {short}.")


def _boxes(context: Context, creep: bool) -> Table:
    """Boxes of the pressure hold; of the creep too where the test card does not have it."""
    duty = context.job.duty
    wanted = duty.test_pressure.canonical if duty.test_pressure else "not given"
    rows = [("Test pressure", wanted, ""), ("Held for", "", ""), ("Pressure after", "", "")]
    if creep and _reciprocates(context):
        rows += [("Creep at stall, up-stroke", "", ""), ("Creep at stall, down-stroke", "", "")]
    return Table("Pressure hold", ("Reading", "Wanted", "Read"), tuple(rows))


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


def _unheld(context: Context, test: BenchRecord, bench: OnBench | None) -> Iterator[Line]:
    """Readings that there is nothing to hold against, as they were written."""
    data = context.source("job", "test.readings")
    untold = {key_of(name) for name in bench.untold} if bench else set(test.readings)
    for key, amount in test.readings.items():
        if key in untold:
            yield given_line(f"test.given.{key}", key.replace("-", " "), amount, data)


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


def _stall(
    context: Context, test: BenchRecord, taken: Mapping[str, Amount], at: Pointed | None
) -> Iterator[Finding]:
    if not _reciprocates(context):
        return
    stall = test.stall or StallTest()
    up = stall.up_stroke_creep or taken.get("creep, up-stroke")
    down = stall.down_stroke_creep or taken.get("creep, down-stroke")
    if up is None and down is None:
        yield _missing(
            "test.stall", "Creep at stall not recorded", "Stall the pump and read both strokes."
        )
        return
    if stall.creep_limit is None:
        yield _missing(
            "test.stall", "No creep limit on the card", "Take it from the maker's manual."
        )
        return
    reading = read_stall(nominal(up, None), nominal(down, None), stall.creep_limit.nominal)
    yield _stall_finding(context, reading, stall.creep_limit.unit, at)


def _stall_finding(
    context: Context, reading: StallReading, unit: str, at: Pointed | None
) -> Finding:
    def shown(speed: float | None) -> str:
        return "not read" if speed is None else context.value(speed, "speed", unit=unit).shown

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
    both = reading.side == "both"
    title = "on both strokes" if both else f"on the {reading.side} only"
    if at is not None and at.names_a_part:
        action = "What leaks is told by all readings together, below. "
    elif both:
        loaded = _seals(context, "both strokes") or "piston seal"
        action = f"Points at the {loaded}, which is loaded on both strokes. Open and look."
    else:
        seals = _seals(context, reading.side)
        action = (
            "Points at the checks that must hold on that stroke: "
            f"{_suspects(context, reading)}{f'; or at the {seals}' if seals else ''}. "
        )  # fmt: skip
    if not both:
        action += (
            "Clean and look at ball and seat; swap the ball to see whether the leak moves with it."
        )
    return Finding(
        "test.stall", "hold", f"Creep at stall {title}", compared, action=action.strip(),
        source=PRACTICE,
    )  # fmt: skip


def _seals(context: Context, stroke: str) -> str:
    """Seals that are under pressure on ``stroke`` and then alone; "both strokes" is one of them."""
    places = sealed_places(context.model).values()
    return " and ".join(place.name for place in places if place.stroke == stroke)


def _suspects(context: Context, reading: StallReading) -> str:
    valves = context.model.check_valves.values()
    named = [valve.what for valve in valves if valve.holds_on == reading.side]
    return ", ".join(named) or "none is named on the model sheet"
