"""How a short command ends: with its answer, or with one message and exit code 2."""

from __future__ import annotations

from collections.abc import Callable
from typing import NoReturn

import typer

from rebuildbook.commands import Refused


def answer(make: Callable[[], str]) -> None:
    """Print what ``make`` gives; a refused input is one message and exit code 2."""
    try:
        typer.echo(make())
    except Refused as problem:
        stop(str(problem))


def stop(message: str) -> NoReturn:
    """End with one message and exit code 2."""
    typer.echo(message, err=True)
    raise typer.Exit(2)
