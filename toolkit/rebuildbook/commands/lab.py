"""``rebuildbook lab``: JupyterLab on the interpreter that runs the command."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import typer


def open_lab(folder: Path, browser: bool) -> int:
    """Run JupyterLab until it is closed; gives its exit code."""
    if not folder.is_dir():
        typer.echo(f"{folder}: is not a folder", err=True)
        return 2
    command = [sys.executable, "-m", "jupyterlab", f"--ServerApp.root_dir={folder.resolve()}"]
    if not browser:
        command.append("--no-browser")
    try:
        return subprocess.call(command)
    except KeyboardInterrupt:
        return 0
