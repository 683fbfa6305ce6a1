"""``rebuildbook run``: check the cards, run the good ones, sum up."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from rebuildbook.batch.index import Index, lying, row_of
from rebuildbook.batch.publish import Busy, only_run, prepare_output, sweep
from rebuildbook.batch.report import write_report
from rebuildbook.batch.resume import Made, read_made, remembered
from rebuildbook.batch.run import (
    SHEETS,
    NoCluster,
    Order,
    Outcome,
    Runner,
    run_all,
    runner,
    unchanged,
)
from rebuildbook.batch.scratch import sweep_scratch
from rebuildbook.commands.cards import clashes, folder_of, job_cards, rebuild_of
from rebuildbook.record.ledger import Ledger, LedgerError
from rebuildbook.record.overlay import ledger_of
from rebuildbook.sheets import Problem, SheetError, load_case
from rebuildbook.sheets.load import SheetStore

# what a process has loaded before it forks workers and kernels
WARM = ("rebuildbook.batch.execute", "rebuildbook.worksheet.warm:warm")
SOME, MANY = 4, 25  # jobs, from which working one out beforehand pays, and for each further one

errors = Console(stderr=True, highlight=False, soft_wrap=True)


def run_cards(
    paths: Sequence[Path],
    *,
    out: Path,
    settings: Sequence[str],
    processes: int,
    paper: str,
    notebook: Path | None = None,
    sheets: Sequence[str] = SHEETS[:1],
    ledger: Path | None = None,
    force: bool = False,
    scheduler: str = "",
) -> int:
    """Run job cards; gives the exit code: 0 fine, 1 some job failed, 2 bad input.

    Sheets that lie there made from the same inputs are left as they are, but for ``force``.
    ``scheduler`` is the address of a dask scheduler whose workers make them; else this machine.
    """
    unfit = _unfit(notebook, ledger)
    if unfit:
        errors.print(Text(unfit))
        return 2
    how = Order("", "", str(out), tuple(settings), paper, str(notebook or ""), tuple(sheets),
                str(ledger or ""))  # fmt: skip
    began = datetime.now(UTC)
    cards, problems = job_cards(paths, what_ifs=True)
    known = remembered(out)
    orders, kept, found = orders_of(cards, how, {} if force else known)
    problems += found
    for problem in problems:
        errors.print(Text(str(problem)))
    if not orders:
        return 2
    wanted = [order for order in orders if order.job not in kept]
    unwritable = prepare_output(out)
    if unwritable:
        errors.print(Text(unwritable))
        return 2
    try:
        with runner(processes, scheduler, preload_for(wanted)) as run, only_run(out):
            sweep(out)
            sweep_scratch()
            made = _make(wanted, out, known, run)
            outcomes = [made.get(order.job) or kept[order.job] for order in orders]
            write_report(out, orders, outcomes, [str(problem) for problem in problems], began)
    except (Busy, NoCluster) as why:
        errors.print(Text(str(why)))
        return 2
    print_summary(outcomes, out, len({problem.file for problem in problems}))
    if problems:
        return 2
    return 1 if any(outcome.failure for outcome in outcomes) else 0


def preload_for(orders: Sequence[Order]) -> tuple[str, ...]:
    """What a process has loaded before it forks workers.

    With some jobs, one is worked out beforehand, with many one of each model: the others find what
    they have in common with it. It takes two seconds in which nothing else is made; the first
    spares every job one of work, that of another model a fifth.
    """
    if len(orders) < SOME:
        return WARM
    of_models = {order.unit[1]: order for order in reversed(orders)}
    worked = list(of_models.values())[: 1 + len(orders) // MANY]
    return (*WARM, *(f"{WARM[-1]}={Path(order.card).absolute()}" for order in worked))


def _unfit(notebook: Path | None, ledger: Path | None) -> str:
    """Say what is wrong with the files that options name; an empty string where nothing is."""
    if notebook is not None:
        from rebuildbook.batch.execute import why_unfit  # noqa: PLC0415  (loads papermill)

        unfit = why_unfit(notebook)
        return f"--notebook {notebook}: {unfit}" if unfit else ""
    if ledger is not None:
        try:
            Ledger(ledger).head()
        except LedgerError as error:
            return f"--ledger: {error}"
    return ""


def _make(
    wanted: list[Order], out: Path, known: Mapping[str, tuple[Path, Made]], run: Runner
) -> dict[str, Outcome]:
    """Make what is wanted, and keep the index of the folder up; gives outcomes by job."""
    index = Index(out, lying(out, known))
    made = {one.job: one for one in _run_with_progress(wanted, run, index)}
    index.flush()
    return made


def orders_of(
    cards: Sequence[Path], how: Order, known: Mapping[str, tuple[Path, Made]]
) -> tuple[list[Order], dict[str, Outcome], list[Problem]]:
    """Give an order for every card that can be run, and what is wrong with the others.

    Between them stand the outcomes of jobs whose sheets lie there made from the very same inputs;
    their cards are not read again. Cards that clash over a job number or a serial are all refused.
    """
    store, named = SheetStore(), how.ledger
    kept: dict[str, Outcome] = {}
    orders: dict[Path, Order] = {}
    problems: dict[Problem, None] = {}
    for card in cards:
        before = known.get(str(card))
        # the first input of a what-if is the card that it changes
        plain = Path(before[1].inputs[0]) if before and before[1].inputs else card
        how = replace(how, ledger=str(ledger_of(plain, named)))
        if before is not None:
            _, made = before
            order = replace(how, card=str(card), job=made.job, unit=made.unit, inputs=made.inputs)
            outcome = unchanged(order)
            if outcome is not None:
                orders[card], kept[order.job] = order, outcome
                continue
        try:
            case = load_case(card, how.overrides, store)
        except SheetError as error:
            problems |= dict.fromkeys(error.problems)
            continue
        store.forget(card)
        how = replace(how, ledger=str(ledger_of(case.paths[0], named)))
        inputs = tuple(str(path) for path in case.paths)
        orders[card] = replace(
            how, card=str(card), job=folder_of(case), unit=rebuild_of(case), inputs=inputs
        )
    for problem, path in clashes({card: (one.job, one.unit) for card, one in orders.items()}):
        problems[problem] = None
        orders.pop(path, None)
    return list(orders.values()), kept, list(problems)


def _run_with_progress(orders: list[Order], run: Runner, index: Index) -> list[Outcome]:
    columns = (
        TextColumn("worksheets"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[rate]}", markup=False),
        TextColumn("{task.fields[last]}", markup=False),
        TimeRemainingColumn(),
    )
    if not orders:
        return []
    began, by_job = time.monotonic(), {order.job: order for order in orders}
    shown = errors.is_terminal
    with Progress(*columns, console=errors, transient=True, disable=not shown) as progress:
        task = progress.add_task("", total=len(orders), last="", rate="")

        def tell(done: Outcome) -> None:
            count = progress.tasks[0].completed + 1
            rate = f"{count / (time.monotonic() - began):.1f} a second"
            progress.update(task, advance=1, last=done.job, rate=rate)
            _indexed(index, by_job[done.job], done)

        return run_all(orders, run, tell)


def _indexed(index: Index, order: Order, outcome: Outcome) -> None:
    """Put what came of a job into the index of its folder."""
    row = index.of(order.job, order.unit).failed(outcome.failure)
    made = None if outcome.failure else read_made(Path(outcome.folder))
    index.add(row if made is None else row_of(made, order.job))
    index.keep_up()


def print_summary(outcomes: list[Outcome], out: Path, refused: int) -> None:
    """Print one row a job: holds, queries, time."""
    table = Table(title=None, box=None, pad_edge=False, header_style="bold")
    table.add_column("job")
    for name in ("holds", "queries", "seconds"):
        table.add_column(name, justify="right")
    table.add_column("")
    for outcome in outcomes:
        marks = ("–", "–") if outcome.failure else (str(outcome.holds), str(outcome.queries))
        remark = "failed" if outcome.failure else "unchanged" if outcome.unchanged else ""
        table.add_row(Text(outcome.job), *marks, f"{outcome.seconds:.1f}", remark)
    console = Console(highlight=False)
    console.print(table)
    for outcome in outcomes:
        if outcome.failure:
            errors.print(Text(f"{outcome.job}: failed: {outcome.failure}"))
    kept = sum(1 for outcome in outcomes if outcome.unchanged)
    made = sum(1 for outcome in outcomes if not outcome.failure)
    ending = f"{made} worksheet{'s' if made != 1 else ''} in {out}"
    if kept:
        ending += f", {kept} of them made before from the same" if made > kept else ", unchanged"
    if refused:
        ending += f"; {refused} input{'s' if refused != 1 else ''} refused, see above"
    console.print(Text(ending))
