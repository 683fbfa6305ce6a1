"""Time: the assembly on the clock, what sets in it, and the earliest hour of the test."""

from __future__ import annotations

import functools
from collections.abc import Iterator

from rebuildbook.calculators.assembly import levels, longest_chain
from rebuildbook.calculators.schedule import Timed
from rebuildbook.figures.assembly import Box, assembly_graph
from rebuildbook.figures.style import svg
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import text_line
from rebuildbook.worksheet.model import (
    Block,
    Line,
    Lines,
    Note,
    Picture,
    Section,
    Table,
    Value,
    series,
)
from rebuildbook.worksheet.traveller_cure import Clock, Setting, lasting, moment
from rebuildbook.worksheet.traveller_findings import time_findings
from rebuildbook.worksheet.traveller_work import fastener_time

_COLD = "twice as slow 10 K colder unless its sheet says: common practice, no source"


def time_section(context: Context, clock: Clock) -> Section:
    """Build the section on time: findings, what sets, the clock, and the steps as a drawing."""
    blocks: list[Block] = list(time_findings(context, clock))
    blocks.append(Lines("The whole of it", tuple(_whole(context, clock))))
    blocks += series(
        (f"{setting.work.name}: {setting.name}", line)
        for setting in clock.settings
        for line in _setting_lines(context, clock, setting)
    )
    blocks += _missing(context, clock)
    blocks.append(_table(context, clock))
    blocks.append(
        Note(
            "One pair of hands, no breaks and no nights: write down when it really was. A step "
            "that waits for a locker stands with its wait; other work fits in there."
        )
    )
    blocks.append(_picture(clock))
    return Section("time", "Time", tuple(blocks), new_page=True)


def on_the_clock(context: Context, seconds: float) -> str:
    """A moment of the assembly: by the shop's clock, or from its start where nobody gave that."""
    start = context.job.assembly_started
    minutes = round(seconds / 60.0)
    if start is None:
        return f"{minutes // 60} h {minutes % 60:02d}"
    return f"{moment(start, 60.0 * minutes):%Y-%m-%d %H:%M}"


def _whole(context: Context, clock: Clock) -> Iterator[Line]:
    hands = sum(work.duration for work in clock.works)
    yield Line(
        "time.hands",
        "Hands on it, all steps",
        lasting(hands),
        method=f"sum of {len(clock.works)} steps",
        data=context.source("model", "assembly"),
    )
    chain, longest = longest_chain(clock.after, {work.name: work.duration for work in clock.works})
    yield Line(
        "time.chain",
        "Longest chain of steps",
        lasting(longest),
        method=f"{' → '.join(chain)}; with more hands it takes no less",
        data=context.source("model", "assembly"),
    )
    yield Line(
        "time.end",
        "Last step done after",
        lasting(clock.end),
        method="one after another, with the waits for what sets",
        data=context.source("model", "assembly"),
    )
    yield Line(
        "time.earliest-test",
        "Pressure no sooner than",
        lasting(clock.earliest_test),
        method="from the start: all steps done, all that sets has cured",
        data=context.source("shop", "consumables"),
    )
    if context.job.assembly_started is not None:
        yield text_line(
            "time.earliest-test-at",
            "That is, on the clock",
            on_the_clock(context, clock.earliest_test),
            context.source("job", "assembly_started"),
        )


def _setting_lines(context: Context, clock: Clock, setting: Setting) -> Iterator[Line]:
    shop = context.source("shop", f"consumables.{setting.name}")
    slower = Value(setting.slower, "number", "")
    if context.shop.bench_temperature is not None:
        yield Line(
            f"{setting.id}.slower",
            "How many times slower it sets on this bench",
            slower,
            "s",
            "q**((T_r - T_b)/10)",
            {
                "q": Value(setting.in_cold, "number", ""),
                "T_r": context.value(setting.times_at, "temperature"),
                "T_b": context.value(setting.bench, "temperature"),
            },
            _COLD,
            shop,
        )
    else:
        slower = Value(1.0, "number", "")
    end = clock.timed[setting.work.name].end
    for name, title, given, there in (
        ("fixture", "May be handled after", setting.given.fixture, setting.times.fixture),
        ("cure", "Cured after", setting.given.cure, setting.times.cure),
    ):
        if given is None or there is None:
            continue
        yield Line(
            f"{setting.id}.{name}",
            title,
            lasting(there),
            "t",
            "max(1, s)*t_g",
            {"s": slower, "t_g": lasting(given)},
            "longest of its sheet, no faster in the warm",
            shop,
        )
    if setting.times.cure is not None:
        yield Line(
            f"{setting.id}.ready",
            "Cured, from the start of the assembly",
            lasting(clock.ready(setting)),
            "t_r",
            "t_e + t_c",
            {
                "t_e": lasting(end),
                "t_c": lasting(setting.times.cure),
            },
            "from the end of its step",
            shop,
        )


def _missing(context: Context, clock: Clock) -> Iterator[Note]:
    if clock.settings and context.shop.bench_temperature is None:
        yield Note(
            "The shop sheet does not say how warm the bench is (bench_temperature): times are "
            "those of the data sheets. In the cold they are longer."
        )
    silent = {
        setting.name: [
            words
            for words, there in (
                ("working_time", setting.given.working),
                ("fixture_time", setting.given.fixture),
                ("cure_time", setting.given.cure),
            )
            if there is None
        ]
        for setting in clock.settings
    }
    for name, fields in silent.items():
        if fields:
            yield Note(
                f"{name}: the shop sheet gives no {', '.join(fields)}; it counts as nothing here. "
                "Go by its data sheet."
            )


def _table(context: Context, clock: Clock) -> Table:
    rows = []
    for work in clock.works:
        one = clock.timed[work.name]
        wait = lasting(one.wait).shown if one.wait else ""
        rows.append(
            (
                str(work.number),
                f"{work.name}, {work.station}",
                on_the_clock(context, one.start),
                _until(context, one),
                f"{wait} for {one.waits_for}" if wait else "–",
                work.reckoned,
                "",
                "",
            )
        )
    header = ("", "Step", "From", "To", "Wait before", "Time by", "Began", "Ended")
    clocked = context.job.assembly_started is not None
    title = "The clock" if clocked else "The clock, from the start (hours and minutes)"
    _, source = fastener_time(context)
    note = f"A turn is one fastener in one pass; its time: {source}."
    return Table(title, header, tuple(rows), note, pen=True)


def _until(context: Context, one: Timed) -> str:
    """When a step ends, its day only where that is not the day it began."""
    began, ended = on_the_clock(context, one.start), on_the_clock(context, one.end)
    day = began.partition(" ")[0]
    if context.job.assembly_started is None or not ended.startswith(day):
        return ended
    return ended.removeprefix(day + " ")


def _picture(clock: Clock) -> Picture:
    level = levels(clock.after)
    boxes = tuple(
        Box(
            work.number,
            work.name,
            work.station,
            level[work.name],
            joint=work.plan is not None,
            hold_point=bool(work.step and work.step.hold_point),
        )
        for work in clock.works
    )
    return Picture(
        "assembly-graph",
        "Steps from left to right, a row for each station; an arrow points at what comes after. "
        "Heavy: a threaded joint. Black corner: a second signature before going on.",
        "Graph of the assembly: "
        + "; ".join(
            f"{work.name} after {', '.join(clock.after[work.name]) or 'nothing'}"
            for work in clock.works
        ),
        functools.partial(_draw, boxes, clock),
    )


def _draw(boxes: tuple[Box, ...], clock: Clock) -> str:
    return svg(assembly_graph(boxes, clock.after))
