"""Judgements on balls in motion: whether they shut in time, and how hard they land."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import LEVELS, Finding, Level, Value
from rebuildbook.worksheet.valve_cycles import BACK_FLOW_MOST, ValveCycle, Valves

THIN = 0.10  # of rate to spare, as an air motor's rate may wander so far; judgement of this toolkit
SWIMS = 0.20  # of a stroke back: the ball goes with the fluid, no check; judgement of this toolkit
HARDEST = 1.0  # m/s; water stopped at that speed rings with ρ c v, some 14 bar
_LATE = (
    "Look for a worn or light ball, a weak or missing spring, too much lift; thin the fluid or run "
    "slower. Check the maker's ball and spring."
)
_HARD = "Run slower, or a stiffer spring or less lift by the maker's list; inspect ball and seat."


def who(cycle: ValveCycle) -> str:
    """The names of checks that are alike, as they stand in a row."""
    return ", ".join(cycle.names)


def speed_unit(context: Context) -> str:
    """Balls are slow: no feet."""
    return "m/s" if context.system == "metric" else "in/s"


def moving_findings(
    context: Context, valves: Valves, rate: float, *, limits: bool = True
) -> Iterator[Finding]:
    """Judge all checks together: the one that is worst speaks, the others at fault are named.

    Without ``limits``, where the highest rates were not sought, only those that are late speak:
    how near the others are is not known.
    """
    late = tuple(one for one in valves.cycles if _late(one))
    if limits:
        yield _closes(context, valves, rate)
    elif late:
        yield _closes(context, Valves(late, valves.problems), rate)
    yield _impact(context, valves)


def _late(cycle: ValveCycle) -> bool:
    return not cycle.in_time or math.isinf(cycle.opening_delay)


def _level(cycle: ValveCycle, rate: float) -> Level:
    motion = cycle.motion
    if not motion.closes or math.isinf(cycle.opening_delay) or motion.back_flow_share > SWIMS:
        return "hold"
    if not cycle.in_time or cycle.limit is None or cycle.limit.rate < (1.0 + THIN) * rate:
        return "query"
    return "clear"


def _worse(cycle: ValveCycle, rate: float) -> tuple[int, float]:
    return -LEVELS.index(_level(cycle, rate)), cycle.motion.back_flow_share


def _closes(context: Context, valves: Valves, rate: float) -> Finding:
    worst = max(valves.cycles, key=lambda cycle: _worse(cycle, rate))
    level = _level(worst, rate)
    late = ", ".join(who(one) for one in valves.cycles if _level(one, rate) == level)
    words = {"clear": "all close in time", "query": f"{late}: late", "hold": f"{late}: too late"}
    if math.isinf(worst.opening_delay):
        words["hold"] = f"{late}: no flow to open it"
    margin = ""
    if worst.limit is not None:
        more = 100.0 * (worst.limit.rate / rate - 1.0)
        margin = f"{'over ' if worst.limit.beyond else ''}{more:.0f} % of rate to spare"
    return Finding(
        "motion.closes",
        level,
        f"In motion: {words[level]}",
        f"{who(worst)}: {_back(worst)} against {100.0 * BACK_FLOW_MOST:g} % at "
        f"{context.value(rate, 'rate').shown}",
        margin,
        "" if level == "clear" else _LATE,
        f"motion of the ball; {100.0 * BACK_FLOW_MOST:g} % of a stroke, what a sound pump may lose "
        f"at one check, and {100.0 * THIN:g} % of rate: common practice, no source",
    )


def _back(cycle: ValveCycle) -> str:
    if not cycle.motion.closes:
        return "not home before its next stroke"
    share = Value(cycle.motion.back_flow_share, "fraction", "%").shown
    return f"{share} of a stroke runs back"


def _impact(context: Context, valves: Valves) -> Finding:
    hardest = max(valves.cycles, key=lambda cycle: cycle.motion.impact_speed)
    speed, unit = hardest.motion.impact_speed, speed_unit(context)
    level: Level = "clear" if speed <= HARDEST else "query"
    over = ", ".join(who(one) for one in valves.cycles if one.motion.impact_speed > HARDEST)
    most = context.value(HARDEST, "speed", unit=unit).shown
    return Finding(
        "motion.impact",
        level,
        "In motion: " + ("balls land softly" if level == "clear" else f"{over}: lands hard"),
        f"{who(hardest)}: {context.value(speed, 'speed', unit=unit).shown} against {most}",
        f"{100.0 * (1.0 - speed / HARDEST):.0f} %",
        "" if level == "clear" else _HARD,
        "motion of the ball; the limit is common practice, no source: water stopped at 1 m/s rings "
        "with some 14 bar (Joukowsky, from memory)",
    )
