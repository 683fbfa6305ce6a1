"""Choose what of a sweep goes on its figure, and draw it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from matplotlib.figure import Figure

from rebuildbook.figures.sweep import (
    MOST_CURVES,
    MOST_STRIPS,
    Curve,
    Scale,
    Strip,
    sweep_curves,
)
from rebuildbook.figures.sweep_map import sweep_map
from rebuildbook.units import shown_unit
from rebuildbook.worksheet.model import LEVELS
from rebuildbook.worksheet.sweep import Column, Sweep, grave
from rebuildbook.worksheet.sweep_collect import Mark
from rebuildbook.worksheet.sweep_plan import Swept
from rebuildbook.worksheet.sweep_ranges import worded


def sweep_figure(sweep: Sweep) -> Figure:
    """Draw a sweep: lines over one value, or the first line as a map over two.

    Raises ValueError where there is nothing to draw.
    """
    title = f"What-if on job {sweep.job}"
    note = "changed from the files as well: " + "; ".join(sweep.settings) if sweep.settings else ""
    curves = [_curve(sweep, column) for column in chosen(sweep)]
    if sweep.plan.grid:
        return _map(sweep, curves[0] if curves else None, title, note)
    first = sweep.plan.swept[0]
    strips = [Strip(id_, marks) for id_, marks in _gravest(sweep)[: MOST_STRIPS - 1]]
    strips.append(Strip("all findings of the worksheet, the worst of them", sweep.worst))
    return sweep_curves(_scale(first, sweep.plan.swept), curves, strips, title=title, note=note)


def chosen(sweep: Sweep, most: int = MOST_CURVES) -> list[Column]:
    """The lines for the figure: those asked for, else those nearest to the findings that change.

    Near are lines whose id begins as the finding's does ("preload.cover" of
    "preload.cover.yield"); the findings take turns. Shares and ratios go first, as they are what
    is judged; lines that only repeat a sheet come last.
    """
    lines = [
        column
        for column in sweep.columns
        if column.kind == "line" and sweep.table[column.name].dtype.kind == "f"
    ]
    if sweep.shown:
        return lines[:most]
    lines = [column for column in lines if not _repeats(sweep, column)]
    findings = [id_ for id_, _ in _gravest(sweep)]
    telling = sorted(lines, key=lambda column: _weaker(column, findings))
    groups = [
        [one for one in telling if one.computed and parent(one.id) == up]
        for up in dict.fromkeys(parent(id_) for id_ in findings)
    ]
    found = dict.fromkeys(_in_turn(groups))
    found |= dict.fromkeys(sorted(lines, key=lambda column: not column.computed))
    wanted = list(found)[:most]
    return [column for column in lines if column in wanted] if not sweep.plan.grid else wanted


def _repeats(sweep: Sweep, column: Column) -> bool:
    """Whether a line is the swept value over again."""
    values = sweep.table[column.name].to_numpy()
    for swept in sweep.columns:
        if swept.kind == "swept" and swept.unit == column.unit and swept.unit:
            given = sweep.table[swept.name].to_numpy()
            if np.allclose(values, given, rtol=1e-9, atol=0.0, equal_nan=True):
                return True
    return False


def _weaker(column: Column, findings: Sequence[str]) -> int:
    """Rank of a line beside its finding: of the same name, a share or ratio, any other."""
    if column.id in findings:
        return 0
    return 1 if column.unit in {"", "%"} else 2


def parent(id_: str) -> str:
    """The id without its last step.

    >>> parent("preload.tie-rods.least")
    'preload.tie-rods'
    """
    return id_.rpartition(".")[0]


def _in_turn(groups: Sequence[Sequence[Column]]) -> Iterator[Column]:
    longest = max((len(group) for group in groups), default=0)
    for place in range(longest):
        yield from (group[place] for group in groups if place < len(group))


def _gravest(sweep: Sweep) -> list[tuple[str, tuple[Mark, ...]]]:
    """The findings that change, those that come to a hold first."""
    return sorted(sweep.changing.items(), key=lambda found: -max(map(_weight, found[1])))


def _weight(mark: Mark) -> int:
    return 0 if mark == "error" else grave(mark)


def _curve(sweep: Sweep, column: Column) -> Curve:
    values = tuple(float(value) for value in sweep.table[column.name])
    return Curve(column.id, column.title, column.unit, values)


def _scale(one: Swept, together: Sequence[Swept] = ()) -> Scale:
    """The axis of a swept field; fields that step with it are named beside it."""
    name = one.path + (" (middle of the window)" if one.lows else "")
    if len(together) > 1:
        unit = f", {shown_unit(one.unit)}" if one.unit else ""
        others = _and([f"{o.path} {worded(o, 0)} to {worded(o, -1)}" for o in together[1:]])
        return Scale(f"{name}{unit}; with it {others}", "", one.values)
    return Scale(name, one.unit, one.values)


def _map(sweep: Sweep, curve: Curve | None, title: str, note: str) -> Figure:
    """The map over the first two fields, the others kept in the middle."""
    first, second, *rest = sweep.plan.swept
    kept = tuple(len(one) // 2 for one in rest)
    points = [place for place, steps in enumerate(sweep.plan.steps()) if steps[2:] == kept]
    marks = tuple(_worst_of(sweep, place) for place in points)
    at = _and([f"{one.path} {worded(one, step)}" for one, step in zip(rest, kept, strict=True)])
    note = "; ".join(part for part in (f"at {at}" if at else "", note) if part)
    values = curve.values if curve else (float("nan"),) * len(sweep.plan)
    return sweep_map(
        _scale(first),
        _scale(second),
        Curve(
            curve.id if curve else "",
            curve.name if curve else "no number of the worksheet changes",
            curve.unit if curve else "",
            tuple(values[place] for place in points),
        ),
        Strip(_levels_name(sweep), marks),
        title=title,
        note=note,
    )


def _levels_name(sweep: Sweep) -> str:
    """What the hatches tell, short enough for a line under the map."""
    names = [id_ for id_, _ in _gravest(sweep)]
    if not names:
        return "Hatch: worst of all findings; none changes its level"
    told = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
    return f"Hatch: worst of {told}" if len(names) > 1 else f"Hatch: {told}"


def _worst_of(sweep: Sweep, place: int) -> Mark:
    """The worst of the findings that change; of all where none does."""
    if sweep.errors[place]:
        return "error"
    if not sweep.changing:
        return sweep.worst[place]
    there = {marks[place] for marks in sweep.changing.values()}
    return next((level for level in LEVELS if level in there), "clear")


def _and(names: Sequence[str]) -> str:
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
