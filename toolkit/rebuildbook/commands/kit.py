"""``rebuildbook kit``: what one job or a batch asks of the stores."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from rebuildbook.commands import Refused
from rebuildbook.commands.cards import job_cards
from rebuildbook.record.ledger import LedgerError
from rebuildbook.record.overlay import ledger_of, recorded_case
from rebuildbook.record.whole_file import write_whole
from rebuildbook.sheets import Problem, SheetError
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.kit import Kit, kit_of
from rebuildbook.worksheet.kit_book import kit_book
from rebuildbook.worksheet.kit_sum import add_up, consumables_of_all

WIDE = 160  # columns where the output is no terminal


def write_kit(paths: Sequence[Path], *, out: Path | None, ledger: Path | None) -> int:
    """Print the kit of the named cards and write it; gives the exit code: 0, or 2 for bad input.

    What the ledger has counts before what the card says. A card that is bad stops the whole: a
    list for the stores with a job left out would be drawn as if it were complete.
    """
    cards, problems = job_cards(paths)
    kits: dict[str, Kit] = {}
    for card in cards:
        try:
            case, _, _ = recorded_case(card, ledger_of(card, ledger or ""))
        except SheetError as error:
            problems += error.problems
            continue
        except LedgerError as error:
            raise Refused(str(error)) from None
        if case.job.job in kits:
            message = "is the job number of another card too; its parts would be drawn twice"
            problems.append(Problem(str(card), None, "job", case.job.job, message))
        kits[case.job.job] = kit_of(Context(case))
    if problems:
        raise Refused("\n".join(dict.fromkeys(str(problem) for problem in problems)))
    if out is not None and out.suffix.lower() != ".xlsx":
        raise Refused(f"--out {out}: wanted a name that ends in .xlsx")
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = WIDE
    _print(console, list(kits.values()))
    if out is not None:
        try:
            write_whole(out, kit_book(list(kits.values())), over=True)
        except OSError as error:
            raise Refused(f"--out {out}: cannot be written: {error.strerror}") from None
        console.print(Text(f"{out} written"), soft_wrap=True)
    return 0


def _print(console: Console, kits: Sequence[Kit]) -> None:
    jobs = ", ".join(kit.job for kit in kits)
    console.print(Text(f"Kit for {jobs}", style="bold"), soft_wrap=True)
    groups = (
        ("To draw from the stores", add_up(kits, lambda part: part.drawn)),
        ("To rework", add_up(kits, lambda part: part.becomes == "rework")),
        ("Not decided: measure, or look over", add_up(kits, lambda part: part.becomes in _OPEN)),
    )
    for title, lines in groups:
        if not lines:
            continue
        table = Table(box=None, pad_edge=False, header_style="bold", title=None)
        for name in ("Pieces", "Stock no.", title, "Make", "Jobs"):
            table.add_column(Text(name), overflow="fold")
        for line in lines:
            by_job = ", ".join(f"{job} {count}" for job, count in line.by_job.items())
            cells = (str(line.total), line.number, line.what, line.make, by_job)
            table.add_row(*(Text(cell) for cell in cells))
        console.print(table)
    things = list(consumables_of_all(kits))
    if things:
        told = "; ".join(f"{one.name} ({one.total} places)" for one in things)
        console.print(Text(f"Consumables: {told}"), soft_wrap=True)


_OPEN = {"measure", "look"}
