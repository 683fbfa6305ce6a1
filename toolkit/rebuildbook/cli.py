"""The ``rebuildbook`` command. Heavy imports stay inside the commands, so that help is quick."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated, NoReturn

import typer

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
) -> None:
    """Make a worksheet for every job card: notebook, page, paper and results."""
    from rebuildbook.commands.run import run_cards

    if paper not in {None, "a4", "letter"}:
        stop(f"--paper {paper}: wanted a4 or letter")
    processes = jobs or os.cpu_count() or 1
    try:
        code = run_cards(
            paths,
            out=out,
            settings=settings or [],
            processes=processes,
            paper=paper or "",
            notebook=notebook,
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


@app.command()
def lab(
    folder: Annotated[Path, typer.Argument(help="Folder to open.")] = Path(),
    browser: Annotated[bool, typer.Option(help="Open a browser window.")] = True,
) -> None:
    """Open JupyterLab on this interpreter."""
    from rebuildbook.commands.lab import open_lab

    raise typer.Exit(open_lab(folder, browser))


def answer(make: object) -> None:
    """Print what ``make`` gives; a refused input is one message and exit code 2."""
    from rebuildbook.commands import Refused

    assert callable(make)  # noqa: S101
    try:
        typer.echo(make())
    except Refused as problem:
        stop(str(problem))


def stop(message: str) -> NoReturn:
    """End with one message and exit code 2."""
    typer.echo(message, err=True)
    raise typer.Exit(2)
