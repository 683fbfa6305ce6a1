"""The ``rebuildbook`` command. Heavy imports stay inside the commands, so that help is quick."""

from __future__ import annotations

import os
import sys
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from rebuildbook.commands import at_bench, in_class, on_record
from rebuildbook.commands.answer import answer, stop

app = typer.Typer(
    help="Rebuild engineering worksheets for reciprocating pumps, from job cards.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Settings = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="PATH=VALUE", help="Change one value, as duty.test_pressure='8 bar'."
    ),
]


LedgerFile = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE", help="The ledger; else ledger.sqlite in the card's parameters folder."
    ),
]


def main() -> None:
    """Run the command; an interrupt ends it quietly."""
    try:
        app()
    except KeyboardInterrupt:
        typer.echo("stopped", err=True)
        sys.exit(130)


@app.command()
def run(
    paths: Annotated[
        list[Path], typer.Argument(metavar="PATH…", help="Job cards, or folders of them.")
    ],
    *,
    out: Annotated[Path, typer.Option(help="Where the worksheets go.")] = Path("outputs"),
    settings: Settings = None,
    jobs: Annotated[
        int | None, typer.Option(min=1, max=64, help="Worksheets made at once.")
    ] = None,
    paper: Annotated[
        str | None, typer.Option(metavar="a4|letter", help="Paper of the PDF.")
    ] = None,
    notebook: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Your own layout: a notebook that shows sections, with a cell tagged "
            "'parameters' that sets job_card, overrides and paper.",
        ),
    ] = None,
    sheet: Annotated[
        list[str] | None,
        typer.Option(
            metavar="worksheet|traveller|as-built|all",
            help="Which sheet to make of each card; may be given several times.",
        ),
    ] = None,
    ledger: LedgerFile = None,
    force: Annotated[
        bool, typer.Option("--force", help="Make also what was made before from the same.")
    ] = False,
    spread: Annotated[
        str | None,
        typer.Option(
            metavar="dask",
            help="Spread jobs over the workers of --scheduler, which see cards and output folder "
            "under the same paths as this machine (a shared folder).",
        ),
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="The scheduler of --spread, as tcp://host:8786."),
    ] = None,
) -> None:
    """Make a worksheet for every job card: notebook, page, paper and results.

    Also its traveller and its as-built sheet, with --sheet.
    """
    from rebuildbook.commands.run import run_cards

    if paper not in {None, "a4", "letter"}:
        stop(f"--paper {paper}: wanted a4 or letter")
    sheets = chosen_sheets(sheet or ["worksheet"])
    if notebook is not None and sheets != ["worksheet"]:
        stop("--notebook is your own layout of the worksheet; it goes without --sheet")
    if spread not in {None, "dask"}:
        stop(f"--spread {spread}: wanted dask")
    if (spread is None) != (not scheduler):
        stop("--spread dask and --scheduler ADDRESS go together")
    if spread and jobs:
        stop("--jobs is for this machine; with --spread each worker makes one job at a time")
    processes = jobs or os.cpu_count() or 1
    try:
        code = run_cards(
            paths,
            out=out,
            settings=settings or [],
            processes=processes,
            paper=paper or "",
            notebook=notebook,
            sheets=sheets,
            ledger=ledger,
            force=force,
            scheduler=scheduler or "",
        )
    except KeyboardInterrupt:
        typer.echo("stopped; worksheets that were finished are kept", err=True)
        code = 130
    raise typer.Exit(code)


@app.command()
def check(
    paths: Annotated[
        list[Path], typer.Argument(metavar="PATH…", help="Sheets, or folders of them.")
    ],
    settings: Settings = None,
    echo: Annotated[bool, typer.Option(help="Show every quantity as it was understood.")] = False,
) -> None:
    """Check sheets without making worksheets; job cards with the sheets they name."""
    from rebuildbook.commands.check import check_sheets

    raise typer.Exit(check_sheets(paths, settings or [], echo))


@app.command()
def sweep(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="A job card.")],
    *,
    over: Annotated[
        list[str],
        typer.Option(
            metavar="PATH=VALUES",
            help="What to sweep: a range, as joints.cover.torque='15 to 30 N*m', or a list, as "
            "duty.test_pressure='6 bar, 7 bar' or joints.cover.condition='oiled, greased'; "
            "semicolons part names that have commas. Of a window, as a torque, the middle is "
            "swept, and the window keeps its width as a share of it. Given several times: every "
            "combination.",
        ),
    ],
    points: Annotated[
        int | None,
        typer.Option(
            metavar="N", help="Points of a range, 2 to 10000; else 50, or 15 each where combined."
        ),
    ] = None,
    together: Annotated[
        bool, typer.Option("--together", help="Step all --over together, not every combination.")
    ] = False,
    show: Annotated[
        list[str] | None,
        typer.Option(
            metavar="ID",
            help="Lines to show, by their id in results.json; 'preload.cover.*' takes all of a "
            "joint. Without it, every line that changes.",
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Where table and figure go; else outputs/sweep-<job>."),
    ] = None,
    settings: Settings = None,
) -> None:
    """Work one job out over a range of values: a table, a figure, and where findings change."""
    try:
        from rebuildbook.commands.sweep import sweep_job

        code = sweep_job(
            job,
            over,
            settings=settings or [],
            points=points,
            together=together,
            show=show or [],
            out=out,
        )
    except KeyboardInterrupt:
        typer.echo("stopped; nothing was written", err=True)
        code = 130
    raise typer.Exit(code)


@app.command()
def release(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="A job card.")],
    *,
    by: Annotated[str, typer.Option(metavar="NAME", help="Who releases the unit.")],
    role: Annotated[str, typer.Option(metavar="ROLE", help="As what, as on the job card.")],
    on: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], help="The day; else today.")
    ] = None,
    ledger: LedgerFile = None,
    out: Annotated[Path, typer.Option(help="Where its sheets lie.")] = Path("outputs"),
) -> None:
    """Put a unit's release on record; refused while a hold is open."""
    from rebuildbook.commands import Refused
    from rebuildbook.commands.release import release_unit

    try:
        code = release_unit(
            job, by=by, role=role, on=on.date() if on else None, ledger=ledger, out=out
        )
    except Refused as problem:
        stop(str(problem))
    raise typer.Exit(code)


@app.command()
def convert(
    quantity: Annotated[str, typer.Argument(help="As '18 ft*lbf', '21 to 24 N*m', '1 1/2 in'.")],
    unit: Annotated[
        str | None, typer.Argument(help="Wanted unit; without it, all the usual.")
    ] = None,
) -> None:
    """Convert a quantity, read the way the sheets read it."""
    from rebuildbook.commands.convert import converted

    answer(lambda: converted(quantity, unit))


@app.command()
def order(
    count: Annotated[int, typer.Argument(help="Number of fasteners.")],
    *,
    layout: Annotated[
        str, typer.Option(metavar="circle|rectangle|oval|row", help="Their layout.")
    ] = "circle",
    kind: Annotated[
        str, typer.Option(metavar="cross|quadrant|rotation", help="Kind of order.")
    ] = "cross",
    columns: Annotated[int | None, typer.Option(help="Columns of a rectangle.")] = None,
    rows: Annotated[int | None, typer.Option(help="Rows of a rectangle or manifold.")] = None,
    torque: Annotated[
        str | None, typer.Option(help="Target, as '21 to 24 N*m': adds the passes.")
    ] = None,
    step: Annotated[str, typer.Option(help="Scale step of the wrench.")] = "0.5 N*m",
    passes: Annotated[str, typer.Option(help="Fractions of the target.")] = "30 %, 60 %, 100 %",
    figure: Annotated[
        Path | None, typer.Option(help="Also draw the pattern (.svg, .png, .pdf).")
    ] = None,
) -> None:
    """Print the tightening order of a bolt pattern."""
    from rebuildbook.commands.order import order_text

    answer(
        lambda: order_text(
            count,
            layout=layout,
            kind=kind,
            columns=columns,
            rows=rows,
            torque=torque,
            step=step,
            passes=passes,
            figure=figure,
        )
    )


@app.command()
def new(
    kind: Annotated[str, typer.Argument(metavar="model|job|shop", help="Which sheet.")],
    name: Annotated[str | None, typer.Argument(help="Its name, or the job number.")] = None,
    folder: Annotated[Path, typer.Option(help="The parameters folder.")] = Path("parameters"),
) -> None:
    """Write a commented sheet to fill in; never overwrites."""
    from rebuildbook.commands.new import new_sheet

    answer(lambda: new_sheet(kind, name, folder))


at_bench.add_to(app)
on_record.add_to(app)
in_class.add_to(app)


@app.command()
def fleet(
    paths: Annotated[
        list[Path], typer.Argument(metavar="PATH…", help="Job cards, or folders of them.")
    ],
    *,
    outputs: Annotated[Path, typer.Option(help="Where their sheets lie.")] = Path("outputs"),
    ledger: LedgerFile = None,
    on: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], help="The day; else today.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Where it goes; else the folder fleet in --outputs."),
    ] = None,
    paper: Annotated[
        str | None, typer.Option(metavar="a4|letter", help="Paper of the PDF.")
    ] = None,
) -> None:
    """Make one sheet over many jobs: how they stand, what is due, what comes back."""
    from rebuildbook.commands import Refused
    from rebuildbook.commands.fleet import make_fleet

    if paper not in {None, "a4", "letter"}:
        stop(f"--paper {paper}: wanted a4 or letter")
    try:
        code = make_fleet(
            paths,
            outputs=outputs,
            ledger=ledger,
            on=on.date() if on else None,
            out=out,
            paper=paper or "",
        )
    except Refused as problem:
        stop(str(problem))
    raise typer.Exit(code)


@app.command()
def lab(
    folder: Annotated[Path, typer.Argument(help="Folder to open.")] = Path(),
    browser: Annotated[bool, typer.Option(help="Open a browser window.")] = True,
) -> None:
    """Open JupyterLab on this interpreter."""
    from rebuildbook.commands.lab import open_lab

    raise typer.Exit(open_lab(folder, browser))


@app.command()
def docs(
    out: Annotated[
        Path, typer.Option(metavar="DIR", help="Where the pages go; an older site is replaced.")
    ] = Path("outputs/site"),
) -> None:
    """Make the documentation as pages that open offline; needs the extra docs."""
    from rebuildbook.commands.docs import make_docs

    answer(lambda: make_docs(out, typer.main.get_command(app)))


def chosen_sheets(named: list[str]) -> list[str]:
    """Give the sheets asked for, in the order of their use; stops at a name that is none."""
    known = ("worksheet", "traveller", "as-built")
    for name in named:
        if name not in {*known, "all"}:
            stop(f"--sheet {name}: wanted worksheet, traveller, as-built or all")
    return [name for name in known if name in named or "all" in named]
