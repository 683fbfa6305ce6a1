"""``rebuildbook sweep``: one job at many values of what is not settled yet."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from rebuildbook.batch.publish import staging
from rebuildbook.commands.cards import folder_of
from rebuildbook.sheets import SheetError
from rebuildbook.worksheet.model import LEVELS
from rebuildbook.worksheet.sweep import Sweep, prepare, run
from rebuildbook.worksheet.sweep_files import FILES, why_not, write_files
from rebuildbook.worksheet.sweep_points import Prepared
from rebuildbook.worksheet.sweep_ranges import Stretch, between, standing, stretches

errors = Console(stderr=True, highlight=False, soft_wrap=True)
MOST_NAMED = 6
WIDE = 200  # columns where the output is no terminal: ids stay in one piece


def sweep_job(
    card: Path,
    overs: Sequence[str],
    *,
    settings: Sequence[str],
    points: int | None,
    together: bool,
    show: Sequence[str],
    out: Path | None,
) -> int:
    """Sweep a job card and write table and figure; gives the exit code: 0 fine, 2 bad input."""
    try:
        prepared = prepare(
            card, overs, settings=settings, points=points, together=together, show=show
        )
        folder = out or Path("outputs") / f"sweep-{folder_of(prepared.case)}"
        unfit = why_not(folder) or _unwritable(folder)
        if unfit:
            errors.print(Text(f"--out {folder}: {unfit}"))
            return 2
        sweep = _run_with_progress(prepared)
    except SheetError as error:
        for problem in error.problems:
            errors.print(Text(str(problem)))
        return 2
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with staging(folder.parent, folder.name) as made:
            write_files(sweep, made)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        errors.print(Text(f"--out {folder}: cannot be written: {reason}"))
        return 2
    _tell(sweep, folder)
    return 0


def _unwritable(folder: Path) -> str:
    """Say so before the work is done, without making anything."""
    place = folder.absolute().parent
    while not place.exists():
        place = place.parent
    if not place.is_dir():
        return f"cannot be made: {place} is a file"
    return "" if os.access(place, os.W_OK) else f"cannot be made: {place} may not be written to"


def _run_with_progress(prepared: Prepared) -> Sweep:
    columns = (
        TextColumn("points"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
    )
    shown = errors.is_terminal
    with Progress(*columns, console=errors, transient=True, disable=not shown) as progress:
        task = progress.add_task("", total=len(prepared.plan))
        return run(prepared, lambda: progress.update(task, advance=1))


def _tell(sweep: Sweep, folder: Path) -> None:
    """Say where findings change their level, and what does not change it."""
    out = Console(highlight=False, soft_wrap=True)
    out.print(Text(_points(sweep)))
    rows = list(stretches(sweep))
    if rows:
        _print_rows(sweep, rows)
    else:
        level = next((level for level in LEVELS if level in sweep.worst), "clear")
        out.print(Text(f"no finding changes its level; the worst is {level} throughout"))
    held = standing(sweep)
    if held:
        more = len(held) - MOST_NAMED
        named = ", ".join(held[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
        out.print(Text(f"hold at every point: {named}"))
    if sweep.failed:
        first = next(place for place, error in enumerate(sweep.errors) if error)
        told = f"{sweep.failed} of {len(sweep.plan)} points could not be worked out (column error)"
        errors.print(Text(f"{told}; point {first + 1}: {sweep.errors[first]}"))
    for note in sweep.notes:
        errors.print(Text(note))
    out.print(Text(f"{', '.join(FILES)} in {folder}"))


def _points(sweep: Sweep) -> str:
    parts = []
    for one in sweep.plan.swept:
        ends = between(one, 0, len(one) - 1) if one.rising else f"{len(one)} values"
        parts.append(f"{one.path} {ends}")
    joint = " with " if sweep.plan.together else " by "
    return f"{sweep.job}: {len(sweep.plan)} points, {joint.join(parts)}"


def _print_rows(sweep: Sweep, rows: Sequence[Stretch]) -> None:
    swept = sweep.plan.swept
    at = [swept[1].path if len(swept) == 2 else "at"] if sweep.plan.grid else []
    table = Table(title=None, box=None, pad_edge=False, header_style="bold")
    for name in ("finding", *at, "level", swept[0].path):
        table.add_column(Text(name), overflow="fold")
    before: tuple[str, str] = ("", "")
    for row in rows:
        finding = row.finding if row.finding != before[0] else ""
        others = row.others if finding or row.others != before[1] else ""
        before = row.finding, row.others
        cells = [finding, *([others] if at else []), row.level, row.where]
        table.add_row(*(Text(cell) for cell in cells))
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = WIDE
    console.print(table)
