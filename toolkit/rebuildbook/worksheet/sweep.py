"""The same worksheet at many points: one case worked out anew for every value of a sweep."""

from __future__ import annotations

import difflib
import fnmatch
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import pandas as pd

from rebuildbook.sheets import Case, Problem, SheetError, load_case
from rebuildbook.sheets.load import KINDS, SheetStore, based, read_sheets
from rebuildbook.units import to_unit
from rebuildbook.worksheet.model import Finding, Level, Line
from rebuildbook.worksheet.sweep_collect import Collected, Mark, collect
from rebuildbook.worksheet.sweep_plan import Plan, make_plan
from rebuildbook.worksheet.sweep_points import Prepared, made_sections, matches, work_out

Kind = Literal["swept", "line", "level", "error"]
WORST = "worst"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the table: what it holds, its unit, its name on the worksheet.

    ``computed`` tells a line that was worked out from one that repeats what a sheet gives.
    """

    name: str
    id: str
    kind: Kind
    unit: str = ""
    title: str = ""
    computed: bool = False


@dataclass(frozen=True, slots=True)
class Sweep:
    """What came of a sweep: the table, its columns, and the level of every finding by point."""

    job: str
    settings: tuple[str, ...]
    plan: Plan
    table: pd.DataFrame
    columns: tuple[Column, ...]
    levels: dict[str, tuple[Mark, ...]]
    worst: tuple[Mark, ...]
    errors: tuple[str, ...]
    notes: tuple[str, ...] = ()
    shown: tuple[str, ...] = ()

    @property
    def changing(self) -> dict[str, tuple[Mark, ...]]:
        """The findings whose level changes; one that is not made stands against nothing."""
        return {id_: marks for id_, marks in self.levels.items() if changes(marks)}

    @property
    def failed(self) -> int:
        """Points that could not be worked out."""
        return sum(1 for error in self.errors if error)


def changes(marks: Sequence[Mark]) -> bool:
    """Whether a finding's level differs between points that could be worked out."""
    return len({mark or "clear" for mark in marks if mark != "error"}) > 1


def prepare(
    card: Path,
    overs: Sequence[str],
    *,
    settings: Sequence[str] = (),
    points: int | None = None,
    together: bool = False,
    show: Sequence[str] = (),
) -> Prepared:
    """Read the sheets and check what is asked; raises SheetError with all that is wrong.

    A card that is wrong as it stands will do if the first, the middle or the last point of the
    sweep makes it good.
    """
    store = SheetStore()
    settings = [*based(card, store).settings, *settings]
    sources, problems = read_sheets(card, list(settings), store)
    if problems:
        raise SheetError(problems)
    sheets = {kind: (source, KINDS[kind]) for kind, source in sources.items()}
    plan = make_plan(overs, sheets, points, together)
    tried = list(_first_good(card, settings, plan, store))
    prepared = Prepared(card, tuple(settings), tuple(show), plan, store, tried[0])
    if show:
        _check_shown(show, tried)
    return prepared


def _first_good(
    card: Path, settings: Sequence[str], plan: Plan, store: SheetStore
) -> Iterator[Case]:
    """The case as it stands, at the first point, in the middle and at the last, where good."""
    steps = [tuple(len(one) * part // 2 for one in plan.swept) for part in (0, 1)]
    steps.append(tuple(len(one) - 1 for one in plan.swept))
    first: SheetError | None = None
    good = 0
    for changed in ([], *(plan.settings(step) for step in steps)):
        try:
            yield load_case(card, [*settings, *changed], store)
            good += 1
        except SheetError as error:
            first = first or error
    if first is not None and not good:
        raise first


def _check_shown(show: Sequence[str], cases: list[Case]) -> None:
    known: dict[str, None] = {}
    for case in cases:
        try:
            lines, findings = parts(case)
        except (ValueError, ArithmeticError):
            continue  # one point that fails is kept with its error
        known |= dict.fromkeys([line.id for line in lines] + [found.id for found in findings])
    problems = []
    for wanted in show:
        if not known or any(matches(id_, [wanted]) for id_ in known):
            continue
        near = difflib.get_close_matches(wanted, known, 3, 0.5)
        hint = f"did you mean {' or '.join(near)}?" if near else "results.json of a run has the ids"
        message = f"no line or finding of this worksheet has that id; {hint}"
        problems.append(Problem(f"--show {wanted}", None, "", "", message))
    if problems:
        raise SheetError(problems)


def parts(case: Case) -> tuple[list[Line], list[Finding]]:
    """Every line and finding of a worksheet, each in the section that makes it."""
    made = made_sections(case)
    lines = [line for section in made for line in section.lines()]
    return lines, [finding for section in made for finding in section.findings()]


def run(prepared: Prepared, tell: Callable[[], None] = lambda: None) -> Sweep:
    """Work the case out at every point; ``tell`` is called after each.

    A point whose sheets are not valid is kept with its error; raises SheetError where no point
    could be worked out.
    """
    collected = collect(work_out(prepared, tell))
    if all(collected.errors):
        message = f"no point could be worked out; the first: {collected.errors[0]}"
        raise SheetError([Problem(str(prepared.card), None, "", "", message)])
    return _gathered(prepared, collected)


def _gathered(prepared: Prepared, collected: Collected) -> Sweep:
    made: dict[str, tuple[Column, object]] = {}
    for column, cells in (
        *_swept_columns(prepared.plan),
        *_line_columns(collected, prepared.show),
        *_level_columns(collected, prepared.show),
    ):
        made.setdefault(column.name, (column, cells))
    table = pd.DataFrame({name: cells for name, (_, cells) in made.items()})
    levels: dict[str, tuple[Mark, ...]] = {
        id_: tuple(marks) for id_, marks in collected.levels.items()
    }
    return Sweep(
        prepared.case.job.job,
        prepared.settings,
        prepared.plan,
        table,
        tuple(column for column, _ in made.values()),
        levels,
        tuple(collected.worst),
        tuple(collected.errors),
        tuple(_notes(prepared)),
        prepared.show,
    )


def headed(id_: str, unit: str) -> str:
    """The head of a column; a plain number has no unit.

    >>> headed("preload.tie-rods.least", "kN"), headed("preload.tie-rods.ratio", "")
    ('preload.tie-rods.least [kN]', 'preload.tie-rods.ratio')
    """
    return f"{id_} [{unit}]" if unit else id_


def _swept_columns(plan: Plan) -> Iterator[tuple[Column, object]]:
    steps = list(plan.steps())
    yield Column("point", "point", "swept"), range(1, len(steps) + 1)
    for place, one in enumerate(plan.swept):
        taken = [each[place] for each in steps]
        for end, values in (("", one.values), (" low", one.lows), (" high", one.highs)):
            if values:
                title = {"": "value set", " low": "least of the window"}.get(
                    end, "most of the window"
                )
                name = headed(one.path + end, one.unit)
                column = Column(name, one.path, "swept", one.unit, title)
                yield column, [values[step] for step in taken]


def _line_columns(collected: Collected, show: Sequence[str]) -> Iterator[tuple[Column, object]]:
    found: dict[str, tuple[Column, object]] = {}
    for id_, kept in collected.numbers.items():
        if matches(id_, show) if show else kept.changes:
            name = headed(id_, kept.unit)
            column = Column(name, id_, "line", kept.unit, kept.title, kept.computed)
            found[id_] = column, [_clean(to_unit(si, kept.unit)) for si in kept.si.tolist()]
    for id_, words in collected.texts.items():
        found.setdefault(id_, (Column(id_, id_, "line", "", collected.titles[id_]), words))
    if not show:
        yield from found.values()
        return
    for wanted in show:  # as asked for, one after the other
        for id_ in [name for name in found if fnmatch.fnmatchcase(name, wanted)]:
            yield found.pop(id_)


def _level_columns(collected: Collected, show: Sequence[str]) -> Iterator[tuple[Column, object]]:
    for id_, marks in collected.levels.items():
        if changes(marks) or matches(id_, show):
            words = ["" if mark == "error" else mark for mark in marks]
            yield Column(f"{id_} (level)", id_, "level"), words
    words = ["" if mark == "error" else mark for mark in collected.worst]
    yield Column(f"{WORST} (level)", WORST, "level", title="worst of all findings"), words
    yield Column("error", "error", "error"), collected.errors


def _clean(number: float) -> float:
    """Fifteen figures, as in results.json."""
    return float(f"{number:.15g}")


def _notes(prepared: Prepared) -> Iterator[str]:
    """What keeps a swept window from showing in the preload: a setting noted on the card."""
    paths = {one.path.removeprefix("job.") for one in prepared.plan.swept}
    for one in prepared.plan.swept:
        steps = one.path.removeprefix("model.").split(".")
        if len(steps) != 3 or steps[0] != "joints" or steps[2] != "torque":
            continue
        use = prepared.case.job.tools.get(steps[1])
        setting = f"tools.{steps[1]}.setting"
        if use is not None and use.setting is not None and setting not in paths:
            yield (
                f"{steps[1]}: the card notes the wrench at {use.setting.canonical}, and the "
                f"preload goes by that, not by the window; to have the wrench set to each window, "
                f'add --set "{setting}="'
            )


def grave(level: Mark | Level) -> int:
    """How much a level weighs: a hold most."""
    return ("", "clear", "query", "hold", "error").index(level)
