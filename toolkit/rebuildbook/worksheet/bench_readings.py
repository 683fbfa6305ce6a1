"""The test card on the worksheet: what a sound unit should read, and how far the readings lie."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rebuildbook.calculators.bench_card import RELATIVE_NOISE, Reading
from rebuildbook.sheets.bench import key_of
from rebuildbook.units import Amount
from rebuildbook.worksheet.bench_pump import OnBench
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Block, Line, Note, Table, Value, given, series

_ZERO = 1e-9  # of the least error: what rounding leaves of a reading that is nought
_TAKEN = (
    f"{100.0 * RELATIVE_NOISE:.0f} % of it and what the instrument tells, together (taken, no "
    "source)"
)
METHOD = (
    "x read, x0 of a sound unit as built, from its chambers, areas and drive; e the error of x0, "
    f"{_TAKEN}. Within 2 either way is as it should be"
)


def dimension_of(reading: Reading) -> str:
    """Name the dimension that a reading is shown in."""
    if reading.unit == "m^3/s":
        return "air flow" if reading.name.startswith("air") else "flow"
    return {"Pa": "pressure", "m/s": "speed"}[reading.unit]


def shown(context: Context, reading: Reading, si: float, unit: str = "") -> Value:
    """Put a reading's value into the shop's unit; what only rounding made is nought."""
    least = _ZERO * reading.floor
    kept = 0.0 if abs(si) < least else si
    slow = {"metric": "mm/min", "us": "in/min"}[context.system] if reading.unit == "m/s" else ""
    return context.value(kept, dimension_of(reading), unit=unit or slow)


def conditions(context: Context, bench: OnBench) -> Note:
    """Say what the expectations hold for, and what was taken where the sheets are silent."""
    pump = bench.card.pump
    at, rate = (
        context.value(pump.bench.pressure, "pressure"),
        context.value(pump.bench.rate, "rate"),
    )
    run = f"running at {rate.shown} against {at.shown}"
    if not pump.plungers:
        supply = context.value(pump.supply, "pressure")
        run = f"air supply {supply.shown}; {run}"
    hold = f"pressure watched for {pump.bench.hold:g} s from there"
    told = [
        f"This unit sound, as built: {run}; {hold}, on a line that gives "
        f"{context.value(pump.bench.line_compliance, 'compliance').shown}.",
        *bench.notes,
    ]
    return Note(" ".join(told))


def boxes(
    context: Context, bench: OnBench, taken: Mapping[str, Amount], first: bool
) -> Iterator[Block]:
    """Give the readings not taken with what a sound unit shows, and a box for each."""
    healthy, errors = bench.card.healthy(), _errors(bench)
    rows = tuple(
        (
            one.name,
            shown(context, one, healthy[one.name]).shown,
            f"± {shown(context, one, 2.0 * errors[one.name]).shown}",
            "",
        )
        for one in bench.card.readings
        if one.name in bench.usual and one.name not in taken
    )
    if not rows:
        return
    example = key_of(next(name for name in bench.usual if "," in name))
    title = "Readings to take" if first else "Readings not taken"
    yield Table(
        title,
        ("Reading", "Sound unit", "Give or take", "Read"),
        rows,
        f"On the job card, under test.readings, with hyphens: {example}. Sound unit: from its "
        "chambers, areas and drive (quasi-static network of leaks, no source); give or take two "
        f"errors, each {_TAKEN}.",
    )


def compared(context: Context, bench: OnBench, taken: Mapping[str, Amount]) -> Iterator[Block]:
    """Hold each reading of the usual card against that of a sound unit."""
    healthy, errors = bench.card.healthy(), _errors(bench)
    yield from series(
        (one.name, _off(context, one, taken[one.name], healthy[one.name], errors[one.name]))
        for one in bench.card.readings
        if one.name in taken and one.name not in bench.untold
    )


def _errors(bench: OnBench) -> dict[str, float]:
    """Standard error of each reading about that of a sound unit."""
    values = list(bench.card.healthy().values())
    return dict(zip(bench.card.names, bench.card.noise(values).tolist(), strict=True))


def _off(context: Context, reading: Reading, read: Amount, sound: float, error: float) -> Line:
    expected = shown(context, reading, sound, read.unit)
    spread = shown(context, reading, error, read.unit)
    off = (read.nominal - expected.si) / spread.si
    return Line(
        f"test.reading.{key_of(reading.name)}",
        "Readings against a sound unit, in errors of the reading",
        context.value(off, "number", 2),
        "z",
        "(x - x_0)/e",
        {"x": given(read), "x_0": expected, "e": spread},
        METHOD,
        context.source("job", "test"),
    )
