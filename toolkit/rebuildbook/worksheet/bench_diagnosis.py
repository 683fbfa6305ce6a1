"""What the readings of the test point at, and the test that would tell more."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from rebuildbook.calculators.diagnosis import Diagnosis, Explanation, diagnose
from rebuildbook.calculators.next_test import NextTest, next_test
from rebuildbook.calculators.pump_network import Pump
from rebuildbook.figures.diagnosis_bars import diagnosis_bars
from rebuildbook.figures.style import svg
from rebuildbook.sheets.bench import key_of, sheet_parts
from rebuildbook.units import Amount
from rebuildbook.worksheet.bench_pump import OnBench, grid_of
from rebuildbook.worksheet.bench_readings import shown
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Level,
    Line,
    Note,
    Picture,
    Value,
    series,
)

METHOD = (
    "Bayes' rule over none, one or two faults of any size, from all readings together; half of "
    "the units sound, four in ten with one fault, one in ten with two, readings right to 5 %, "
    "leaks as orifices: our priors and our model"
)
SOUND = 0.8  # likely enough to call a unit sound
EVEN = 0.5  # an explanation less likely than all others together is not pointed at
_MOST = 6  # explanations listed
_OFF = 2.0  # errors of a reading
_PLAIN = (
    "It points at a part; only opening shows it. What the readings cannot tell apart stands "
    "together with 'or'."
)
_SMALL = "A fault too small for these readings, or one that they do not show, is not ruled out."
_MAKE_SAFE = (
    "A further test that opens, blanks or refits anything begins with the unit made safe as at the "
    "top of this sheet, pressure and air off and the rod held."
)


@dataclass(frozen=True, slots=True)
class Pointed:
    """A diagnosis with the further test it asks for."""

    found: Diagnosis
    further: NextTest | None

    @property
    def first(self) -> Explanation:
        """The likeliest explanation."""
        return self.found.explanations[0]

    @property
    def sound(self) -> bool:
        """Whether the likeliest is that nothing shows."""
        return not self.first.groups

    @property
    def names_a_part(self) -> bool:
        """Whether some part is pointed at, by readings that go together."""
        return self.found.best.holds and not self.sound

    @property
    def torn(self) -> bool:
        """Whether the likeliest explanation has a diaphragm in it."""
        kinds = {fault.name: fault.kind for fault in self.found.grid.card.pump.faults}
        return any(kinds[name] == "diaphragm" for name in self.first.names())


def needed(bench: OnBench) -> tuple[str, ...]:
    """Name the readings that it takes to tell anything: flow, and creep or swing."""
    return tuple(
        name for name in bench.card.usual if name == "flow" or name.startswith(("creep", "swing"))
    )


def point(bench: OnBench, taken: Mapping[str, Amount]) -> Pointed | None:
    """Rank what may be wrong; None where a needed reading was not taken."""
    values = {name: one.nominal for name, one in taken.items() if name not in bench.untold}
    if not set(needed(bench)) <= set(values):
        return None
    return _pointed(bench.pump, bench.limit, tuple(values.items()))


@functools.lru_cache(maxsize=16)
def _pointed(pump: Pump, limit: float | None, readings: tuple[tuple[str, float], ...]) -> Pointed:
    laid = grid_of(pump, limit)
    found = diagnose(laid.card, dict(readings), grid=laid)
    likely = tuple(one.likely() for one in found.explanations)
    further = next_test(found)
    if further is not None and len({one.faults for one in further.expected}) < 2:
        further = None  # what it would part from the likeliest is too unlikely to name
    return Pointed(replace(found, explanations=likely), further)


def pointed(context: Context, bench: OnBench, at: Pointed) -> Iterator[Block]:
    """Show what the readings point at, likeliest first, and the test that would tell more."""
    if not at.found.best.holds:
        yield Note(f"{_misfits(at.found)}.")
        return
    yield from series(_ranked(context, at.found))
    yield Note(" ".join((*_told(at.found), _SMALL if at.sound else _PLAIN)))
    if not at.sound or len(at.found.leading) > 1:
        yield Picture(
            "diagnosis",
            "What the readings point at: leading explanations bold, a bar split between what they "
            "cannot tell apart.",
            "; ".join(f"{one.said} {_percent(one.probability)}" for one in at.found.leading),
            functools.partial(_draw, at.found),
        )
    if at.further is not None:
        yield Caution(_MAKE_SAFE)
        yield Note(_how(at.further))
        yield from series(_would_read(context, bench, at.further))


def _draw(found: Diagnosis) -> str:
    return svg(diagnosis_bars(found, readings=False))


def _ranked(context: Context, found: Diagnosis) -> Iterator[tuple[str, Line]]:
    parts = sheet_parts(context.model)
    for place, one in enumerate(found.leading[:_MOST], 1):
        named = [f"{name}: {parts[name]}" for name in sorted(one.names()) if name in parts]
        yield (
            one.said,
            Line(
                f"test.likely.{place}",
                "How likely, of the explanations that together are 95 % likely",
                Value(one.probability, "fraction", "%", 2, given=_percent(one.probability)),
                method=METHOD,
                data="; ".join(named) or context.source("job", "test"),
            ),
        )


def _told(found: Diagnosis) -> Iterator[str]:
    if found.warning:
        yield f"{_misfits(found)}."
    if found.groups.unseen:
        yield f"These readings do not show: {', '.join(found.groups.unseen)}."


def _how(further: NextTest) -> str:
    return (
        f"Next test, {further.name}: {further.how}. It {further.reason}. About "
        f"{further.effort / 60.0:.0f} min (common practice, no source)."
    )


def _would_read(context: Context, bench: OnBench, further: NextTest) -> Iterator[tuple[str, Line]]:
    readings = {one.name: one for one in bench.card.readings}
    values: dict[str, list[float]] = {}
    for one in further.expected:
        values.setdefault(one.reading, []).append(one.value)
    for place, one in enumerate(further.expected, 1):
        if max(values[one.reading]) - min(values[one.reading]) <= readings[one.reading].floor:
            continue  # reads the same whatever is wrong
        yield (
            " and ".join(one.faults) or "nothing wrong",
            Line(
                f"test.next.{key_of(one.reading)}.{place}",
                f"Would then be read if this is wrong: {one.reading}",
                shown(context, readings[one.reading], one.value),
                method="the same model, over the sizes of fault still likely",
            ),
        )


def judged(context: Context, at: Pointed, over: bool) -> Finding:
    """Judge what the readings point at; ``over`` where the creep is over its limit."""
    level, title, action = _verdict(context, at, over)
    found = at.found
    likely = "; ".join(f"{one.said} {_percent(one.probability)}" for one in found.leading[:3])
    told = likely if found.best.holds else _misfits(found)
    return Finding(
        "test.diagnosis",
        level,
        title,
        f"{len(found.readings)} readings together: {told}" + "; creep over its limit" * over,
        "",
        action,
        f"ranking above, our priors and model; {context.source('job', 'test')}",
    )


def _verdict(context: Context, at: Pointed, over: bool) -> tuple[Level, str, str]:
    found, first = at.found, at.first
    if not found.best.holds:
        return "hold" if over else "query", "The readings do not go together", (
            "Take those that lie far off again, and look at what the bench itself may do."
        )  # fmt: skip
    if at.sound and first.probability >= SOUND and not over:
        return "clear", "The readings show no fault", ""
    if at.sound:
        return "query", "The readings leave open whether something is wrong", _next(at)
    level: Level = "hold" if over or at.torn else "query"
    start = "Do not run it on: air and liquid may meet. " if at.torn else ""
    look = f"{start}Begin there: {_where(context, first)}. {_next(at)}"
    if first.probability < EVEN:
        return level, "The readings leave several faults open", look
    return level, f"The readings point at {first.said}", look


def _where(context: Context, first: Explanation) -> str:
    parts = sheet_parts(context.model)
    names = dict.fromkeys(name for group in first.groups for name in group)
    return "; ".join(parts.get(name, name) for name in names)


def _next(at: Pointed) -> str:
    if at.further is None:
        return "Open and look." if not at.sound else "Take the readings not taken yet."
    return f"Before opening: {at.further.name}, see below."


def _misfits(found: Diagnosis) -> str:
    """The warning of a diagnosis, with the readings that lie far from what the best fit reads."""
    far = ", ".join(one.name for one in found.compared if abs(one.off) > _OFF)
    warning = f"{found.warning[:1].upper()}{found.warning[1:]}"
    return f"{warning}. Far from the nearest of them: {far}" if far else warning


def _percent(share: float) -> str:
    return "over 99 %" if share > 0.99 else f"{100.0 * share:.0f} %"
