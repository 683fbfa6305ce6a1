"""``rebuildbook run``: check the cards, run the good ones, sum up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from rebuildbook.batch.publish import prepare_output
from rebuildbook.batch.run import Order, Outcome, run_all
from rebuildbook.commands.cards import job_cards
from rebuildbook.sheets import Case, Problem, SheetError, load_case

errors = Console(stderr=True, highlight=False, soft_wrap=True)


def run_cards(
    paths: Sequence[Path],
    *,
    out: Path,
    settings: Sequence[str],
    processes: int,
    paper: str,
    notebook: Path | None = None,
) -> int:
    """Run job cards; gives the exit code: 0 fine, 1 some job failed, 2 bad input."""
    if notebook is not None:
        from rebuildbook.batch.execute import why_unfit  # noqa: PLC0415  (loads papermill)

        unfit = why_unfit(notebook)
        if unfit:
            errors.print(Text(f"--notebook {notebook}: {unfit}"))
            return 2
    cards, problems = job_cards(paths)
    cases, found = load_cards(cards, settings)
    problems += found
    for problem in problems:
        errors.print(Text(str(problem)))
    if not cases:
        return 2
    unwritable = prepare_output(out)
    if unwritable:
        errors.print(Text(unwritable))
        return 2
    orders = [
        Order(str(path), case.job.job, str(out), tuple(settings), paper, str(notebook or ""))
        for path, case in cases.items()
    ]
    outcomes = _run_with_progress(orders, processes)
    print_summary(outcomes, out, len({problem.file for problem in problems}))
    if problems:
        return 2
    return 1 if any(outcome.failure for outcome in outcomes) else 0


def load_cards(
    cards: Sequence[Path], settings: Sequence[str]
) -> tuple[dict[Path, Case], list[Problem]]:
    """Load every card; cards that clash over a job number or a serial are all refused."""
    cases: dict[Path, Case] = {}
    problems: dict[Problem, None] = {}
    for card in cards:
        try:
            cases[card] = load_case(card, settings)
        except SheetError as error:
            problems |= dict.fromkeys(error.problems)
    for problem, path in clashes(cases):
        problems[problem] = None
        cases.pop(path, None)
    return cases, list(problems)


def clashes(cases: dict[Path, Case]) -> list[tuple[Problem, Path]]:
    """Find cards of one job number, and cards that rebuild one serial on one day."""
    by_job: dict[str, list[Path]] = defaultdict(list)
    by_serial: dict[tuple[str, str, str], list[Path]] = defaultdict(list)
    for path, case in cases.items():
        by_job[case.job.job.casefold()].append(path)
        by_serial[case.job.serial, case.job.model, str(case.job.opened)].append(path)
    found: list[tuple[Problem, Path]] = []
    for paths in by_job.values():
        found += _same(paths, "job", "the same job number", cases)
    for paths in by_serial.values():
        found += _same(paths, "serial", "the same serial opened on the same day", cases)
    return found


def _same(
    paths: list[Path], field: str, what: str, cases: dict[Path, Case]
) -> list[tuple[Problem, Path]]:
    if len(paths) < 2:
        return []
    found = []
    for path in paths:
        others = ", ".join(str(other) for other in paths if other != path)
        given = getattr(cases[path].job, field)
        message = f"{what} stands in {others} too; each card is one rebuild of one unit"
        found.append((Problem(str(path), None, field, given, message), path))
    return found


def _run_with_progress(orders: list[Order], processes: int) -> list[Outcome]:
    columns = (
        TextColumn("worksheets"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[last]}", markup=False),
        TimeRemainingColumn(),
    )
    shown = errors.is_terminal
    with Progress(*columns, console=errors, transient=True, disable=not shown) as progress:
        task = progress.add_task("", total=len(orders), last="")
        return run_all(
            orders, processes, lambda done: progress.update(task, advance=1, last=done.job)
        )


def print_summary(outcomes: list[Outcome], out: Path, refused: int) -> None:
    """Print one row a job: holds, queries, time."""
    table = Table(title=None, box=None, pad_edge=False, header_style="bold")
    table.add_column("job")
    for name in ("holds", "queries", "seconds"):
        table.add_column(name, justify="right")
    table.add_column("")
    for outcome in outcomes:
        marks = ("–", "–") if outcome.failure else (str(outcome.holds), str(outcome.queries))
        remark = "failed" if outcome.failure else ""
        table.add_row(Text(outcome.job), *marks, f"{outcome.seconds:.1f}", remark)
    console = Console(highlight=False)
    console.print(table)
    for outcome in outcomes:
        if outcome.failure:
            errors.print(Text(f"{outcome.job}: failed: {outcome.failure}"))
    made = sum(1 for outcome in outcomes if not outcome.failure)
    ending = f"{made} worksheet{'s' if made != 1 else ''} in {out}"
    if refused:
        ending += f"; {refused} input{'s' if refused != 1 else ''} refused, see above"
    console.print(Text(ending))
