"""The life left of measured parts on the worksheet: lines, the trend, and when to look again."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator

from rebuildbook.calculators.wear_life import HOUR, WearLife
from rebuildbook.figures.style import svg
from rebuildbook.figures.wear_trend import wear_line
from rebuildbook.units import number
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Block, Finding, Level, Line, Note, Picture, Value, series
from rebuildbook.worksheet.wear_lives import Lives, PartLife

_LINE = "least squares from the new size; scatter of the readings (Student's t, Fieller)"


def wear_left(context: Context, lives: Lives) -> Iterator[Block]:
    """Show and judge what is left of each part, where past readings tell how fast it wears."""
    if context.job.past and context.job.running_hours is None:
        yield Note("The job card tells of past jobs but not of the running hours at this one.")
    if lives.few:
        yield Note(
            f"Too few past readings to tell a life: {', '.join(lives.few)}. It takes two, or one "
            "and reading_scatter on the model sheet."
        )
    yield from series((part.name, line) for part in lives.parts for line in _lines(context, part))
    drawn = [part for part in lives.parts if sum(len(one.sizes) for one in part.life.lives) > 1]
    if drawn:
        yield _trend(context, min(drawn, key=lambda part: part.life.next_service))
    for part in lives.parts:
        yield from _finding(context, part)
    for name, why in lives.problems.items():
        yield Finding(
            f"leaks.{name}.trend",
            "query",
            f"{name}: readings over the years do not go together",
            why,
            action="Compare this card with those of the past jobs; measure again.",
            source=context.source("job", "past"),
        )


def _lines(context: Context, part: PartLife) -> Iterator[Line]:
    life, id_ = part.life, f"leaks.{part.name}"
    thousand = 1000.0 * HOUR
    low, high = (
        context.value(max(rate, 0.0) * thousand, "length").shown
        for rate in (life.line.rate_low, life.line.rate_high)
    )
    odd = ", ".join(str(place + 1) for place in life.line.odd)
    yield Line(
        f"{id_}.rate",
        "Wear in 1000 running hours",
        context.value(life.line.rate * thousand, "length"),
        method=_LINE,
        data=f"{low} to {high} (90 %), {life.line.count} readings"
        + (f"; far off the line, read again: {odd}" if odd else ""),
    )
    limit = _limit(context, part)
    what = "where the efficiency is lost" if part.by_efficiency else "reuse limit"
    yield Line(
        f"{id_}.left",
        "Running hours left to the limit",
        _running(life.time_left),
        method="where the line meets the nearer of reuse limit and efficiency",
        data=f"{_span(life)}; {what} {limit}",
    )
    yield Line(
        f"{id_}.again",
        "Running hours within which to measure again",
        _running(life.next_service),
        method="lower end of the interval, or sooner where the last reading lies above the line",
        data=context.source("job", "past"),
    )


def _limit(context: Context, part: PartLife) -> str:
    return context.value(part.life.limit, "length", 5, part.limit.reuse_limit.unit).shown


def _span(life: WearLife) -> str:
    if life.verdict == "at the limit":
        return "at it now"
    if not math.isfinite(life.time_low):
        return "no wear seen"
    if not math.isfinite(life.time_high):
        return f"from {_hours(life.time_low)} on (90 %)"
    return f"{_hours(life.time_low)} to {_hours(life.time_high)} (90 %)"


def _running(time: float) -> Value | str:
    """Running hours as a plain number: they are hours in both unit systems."""
    return Value(time / HOUR, "number", "") if math.isfinite(time) else "no end seen"


def _hours(time: float) -> str:
    return f"{number(time / HOUR)} h"


def _trend(context: Context, part: PartLife) -> Picture:
    unit = "mm" if context.system == "metric" else "in"
    return Picture(
        "wear-trend",
        f"{part.name} over its running hours: readings, line with its 90 % interval, limit. "
        "Upright: now.",
        f"{part.name} against its limit {_limit(context, part)}: {_span(part.life)}",
        functools.partial(_draw, part.life, unit),
    )


def _draw(life: WearLife, unit: str) -> str:
    return svg(wear_line(life, unit))


def _finding(context: Context, part: PartLife) -> Iterator[Finding]:
    service = context.job.service_every
    if service is None:
        return
    life, asked = part.life, service.nominal
    after = life.next_service
    level: Level = "clear" if after >= asked else "query"
    done = life.verdict == "at the limit"
    lasts = "no end seen" if math.isinf(after) else f"safe for {_hours(after)}"
    margin = "" if math.isinf(after) else _hours(abs(after - asked))
    words = "lasts to the next service"
    if level == "query":
        words = "at its limit now" if done else "may not last to the next service"
    yield Finding(
        f"leaks.{part.name}.life",
        level,
        f"{part.limit.what}: {words}",
        f"{'nothing left' if done else lasts} against {_hours(asked)} between services",
        f"{margin} {'to spare' if level == 'clear' else 'short'}" if margin else "",
        "" if level == "clear" else _action(part, asked),
        f"wear by running hours; {context.source('job', 'past, service_every')}",
    )


def _action(part: PartLife, asked: float) -> str:
    best, low, _ = part.replaced
    first = "Rework or replace it at this job"
    if part.life.verdict != "at the limit":
        first += f", or measure again within {_hours(part.life.next_service)}"
    if not math.isfinite(best):
        return f"{first}."
    new = f"A new one lasts {_hours(best)} by this line, from {_hours(low)}"
    return f"{first}. {new}" + ("." if low >= asked else ": shorten the time between services.")
