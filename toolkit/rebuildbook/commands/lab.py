"""``rebuildbook lab``: JupyterLab at its start page, on the interpreter that runs the command."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import typer

from rebuildbook.commands.start_page import START, lay_notebooks, write_start


def open_lab(folder: Path, browser: bool) -> int:
    """Run JupyterLab until it is closed; gives its exit code.

    Notebooks that are not in ``folder`` yet are copied there first.
    """
    if not folder.is_dir():
        typer.echo(f"{folder}: is not a folder", err=True)
        return 2
    folder = folder.resolve()
    try:
        laid = lay_notebooks(folder)
        write_start(folder)
    except OSError as error:
        typer.echo(f"{error.filename or folder}: {error.strerror or error}", err=True)
        return 2
    if laid:
        typer.echo(f"{len(laid)} notebooks laid into {folder / 'notebooks'}")
    command = [
        sys.executable,
        "-m",
        "jupyterlab",
        f"--ServerApp.root_dir={folder}",
        f"--LabApp.default_url=/lab/tree/{START.as_posix()}",
    ]
    if not browser:
        command.append("--no-browser")
    if os.name == "posix":
        sys.stdout.flush()
        os.execv(sys.executable, command)  # noqa: S606  (what ends the command ends the server)
    try:
        return subprocess.call(command)
    except KeyboardInterrupt:
        return 0
