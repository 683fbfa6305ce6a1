"""The command lines of the bench: form, read, photo, kit. Heavy imports stay inside them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from rebuildbook.commands import Refused
from rebuildbook.commands.answer import answer, stop

LedgerFile = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE", help="The ledger; else ledger.sqlite in the card's parameters folder."
    ),
]


def add_to(app: typer.Typer) -> None:
    """Add these commands to the program's."""
    for command in (form, read, photo, kit):
        app.command()(command)


def form(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="A job card.")],
    *,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Its name; else readings-<job>.xlsx in this folder."),
    ] = None,
) -> None:
    """Write a spreadsheet to fill in at the bench; never overwrites."""
    from rebuildbook.commands.form import write_form  # noqa: PLC0415

    answer(lambda: write_form(job, out))


def read(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="A job card.")],
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE…", help="A filled form, YAML, or CSV of an electronic tool."),
    ],
    *,
    columns: Annotated[
        str | None,
        typer.Option(
            "--map", metavar="FILE|NAME", help="Column map of a CSV: a file, or a name in the shop."
        ),
    ] = None,
    ledger: LedgerFile = None,
    dry: Annotated[bool, typer.Option("--dry", help="Show it, write nothing.")] = False,
) -> None:
    """Put readings on record, each checked as it enters; a file is taken whole or not at all."""
    from rebuildbook.commands.read import read_files  # noqa: PLC0415

    try:
        code = read_files(job, files, columns=columns, ledger=ledger, dry=dry)
    except Refused as problem:
        stop(str(problem))
    raise typer.Exit(code)


def photo(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="A job card.")],
    files: Annotated[list[Path], typer.Argument(metavar="FILE…", help="JPEG or PNG.")],
    *,
    of: Annotated[
        str, typer.Option(metavar="NAME", help="Step or part of the model sheet, or 'unit'.")
    ],
    by: Annotated[str, typer.Option(metavar="NAME", help="Who took it.")] = "",
    on: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], help="The day; else today.")
    ] = None,
    ledger: LedgerFile = None,
) -> None:
    """Keep photos of a job without place, time and camera, and put them on record."""
    from rebuildbook.commands.photo import keep_photos  # noqa: PLC0415

    day = on.date() if on else None
    answer(lambda: keep_photos(job, files, of=of, on=day, by=by, ledger=ledger))


def kit(
    paths: Annotated[
        list[Path], typer.Argument(metavar="PATH…", help="Job cards, or folders of them.")
    ],
    *,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Also a spreadsheet for the stores (.xlsx).")
    ] = None,
    ledger: LedgerFile = None,
) -> None:
    """List what jobs ask of the stores: parts to draw, to rework, to measure; consumables."""
    from rebuildbook.commands.kit import write_kit  # noqa: PLC0415

    try:
        code = write_kit(paths, out=out, ledger=ledger)
    except Refused as problem:
        stop(str(problem))
    raise typer.Exit(code)
