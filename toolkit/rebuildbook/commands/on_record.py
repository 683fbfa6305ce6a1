"""The command lines of the record: history, correct, ledger. Heavy imports stay inside them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rebuildbook.commands import Refused
from rebuildbook.commands.answer import answer, stop

LedgerFile = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="The ledger; else ledger.sqlite in the parameters folder."),
]
Folder = Annotated[Path, typer.Option(metavar="FOLDER", help="The parameters folder.")]
PARAMETERS = Path("parameters")


def add_to(app: typer.Typer) -> None:
    """Add these commands to the program's."""
    app.command()(history)
    app.command()(correct)
    ledger = typer.Typer(no_args_is_help=True, help="Check the whole ledger, or write it out.")
    ledger.command()(check)
    ledger.command()(export)
    app.add_typer(ledger, name="ledger")


def history(
    serial: Annotated[str, typer.Argument(help="The unit, as its job cards have it.")],
    *,
    ledger: LedgerFile = None,
    parameters: Folder = PARAMETERS,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="Where figure and export go; else outputs/history-<serial>."
        ),
    ] = None,
    export: Annotated[
        str | None,
        typer.Option(metavar="csv|parquet", help="Also write every entry of the unit as a table."),
    ] = None,
) -> None:
    """Tell what is on record of one unit, job by job, and draw how it wore.

    A value that took the place of another is marked, and the old one is told with the reason.
    Limits, torque windows and running hours are taken from the unit's sheets where they are found.
    """
    from rebuildbook.commands.history import unit_history  # noqa: PLC0415

    try:
        code = unit_history(
            serial, ledger=_file(ledger, parameters), parameters=parameters, out=out, form=export
        )
    except Refused as problem:
        stop(str(problem))
    raise typer.Exit(code)


def correct(
    entry: Annotated[int, typer.Argument(metavar="ID", help="The entry, as history numbers it.")],
    value: Annotated[str, typer.Argument(help="What it should be, with its unit, as '48 ft-lb'.")],
    *,
    why: Annotated[str, typer.Option(metavar="TEXT", help="What was wrong.")],
    by: Annotated[str, typer.Option(metavar="NAME", help="Who makes the correction.")],
    on: Annotated[
        str | None,
        typer.Option(metavar="DAY", help="The day it was read, as 2026-09-30, if that was wrong."),
    ] = None,
    tool: Annotated[
        str | None, typer.Option(metavar="LABEL", help="The tool it was read with, if that was.")
    ] = None,
    ledger: LedgerFile = None,
    parameters: Folder = PARAMETERS,
) -> None:
    """Correct an entry: a new one takes its place, and the old one stays on record.

    A quantity stays one of its kind: a torque is corrected by a torque, in any of its units.
    """
    from rebuildbook.commands.correct import corrected  # noqa: PLC0415

    file = _file(ledger, parameters)
    answer(lambda: corrected(entry, value, why=why, by=by, on=on, tool=tool, ledger=file))


def check(ledger: LedgerFile = None, parameters: Folder = PARAMETERS) -> None:
    """Find the first entry that was changed, removed or slipped in by other means.

    The last hash stands for all entries: written on paper, it shows later if they were exchanged.
    """
    from rebuildbook.commands.ledger import check_ledger  # noqa: PLC0415

    answer(lambda: check_ledger(_file(ledger, parameters)))


def export(
    to: Annotated[Path, typer.Argument(metavar="FILE", help="Ends in .csv or .parquet.")],
    ledger: LedgerFile = None,
    parameters: Folder = PARAMETERS,
) -> None:
    """Write every entry, corrected ones too, as a table; replaces the file."""
    from rebuildbook.commands.ledger import export_ledger  # noqa: PLC0415

    answer(lambda: export_ledger(_file(ledger, parameters), to))


def _file(ledger: Path | None, parameters: Path) -> Path:
    from rebuildbook.record.ledger import NAME  # noqa: PLC0415

    return parameters / NAME if ledger is None else ledger
