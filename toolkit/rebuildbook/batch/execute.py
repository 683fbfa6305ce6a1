"""Run one notebook with papermill and make its result reproducible."""

from __future__ import annotations

import contextlib
import logging
import os
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import nbformat
from jupyter_client.manager import AsyncKernelManager
from nbformat import NotebookNode, ValidationError
from nbformat.reader import NotJSONError
from papermill.engines import papermill_engines
from papermill.exceptions import PapermillExecutionError
from papermill.execute import (
    prepare_notebook_metadata,
    raise_for_execution_errors,
    remove_error_markers,
)
from papermill.iorw import load_notebook_node
from papermill.parameterize import parameterize_notebook

from rebuildbook import __version__
from rebuildbook.batch.forked import ADDRESS, ForkedKernelManager
from rebuildbook.batch.kernel import OwnInterpreterKernelManager

CELL_TIMEOUT = 300  # seconds; a section takes well under one


class NotebookFailed(Exception):  # noqa: N818  (a failure of the notebook, not of this program)
    """A cell of the notebook raised; carries the notebook as far as it came."""

    def __init__(self, reason: str, notebook: NotebookNode) -> None:
        super().__init__(reason)
        self.reason = reason
        self.notebook = notebook


def execute(
    template: Path, parameters: dict[str, Any], folder: Path, name: str = "worksheet"
) -> NotebookNode:
    """Run ``template`` with ``parameters`` in ``folder`` as ``name``; gives it executed.

    Raises NotebookFailed when a cell raises.
    """
    logging.getLogger("papermill").setLevel(logging.CRITICAL)  # failures are raised, and told
    written = str(folder / f"{name}.ipynb")
    # papermill's own steps, but that a notebook that went well is written by others, once
    notebook = load_notebook_node(str(template))  # type: ignore[no-untyped-call]
    notebook = parameterize_notebook(  # type: ignore[no-untyped-call]
        notebook, parameters, kernel_name="python3", language="python"
    )
    notebook = prepare_notebook_metadata(notebook, str(template), written, False)  # type: ignore[no-untyped-call]
    try:
        with _private_jupyter_folders(), contextlib.chdir(folder):
            executed = papermill_engines.execute_notebook_with_engine(  # type: ignore[no-untyped-call]
                None,
                remove_error_markers(notebook),  # type: ignore[no-untyped-call]
                kernel_name="python3",
                progress_bar=False,
                autosave_cell_every=0,
                kernel_manager_class=_manager(),
                execution_timeout=CELL_TIMEOUT,
            )
        raise_for_execution_errors(executed, written)  # type: ignore[no-untyped-call]
    except PapermillExecutionError as error:
        reason = f"cell {error.exec_count}: {error.ename}: {error.evalue}"
        failed = nbformat.read(written, as_version=4)  # type: ignore[no-untyped-call]
        raise NotebookFailed(reason, failed) from error
    return normalise(executed)


def _manager() -> type[AsyncKernelManager]:
    """Fork kernels where somebody has set up for it, else start each on its own."""
    return ForkedKernelManager if os.environ.get(ADDRESS) else OwnInterpreterKernelManager


def why_unfit(template: Path) -> str:
    """Say why a notebook cannot be run with a job's parameters; an empty string when it can."""
    try:
        notebook = nbformat.read(template, as_version=4)  # type: ignore[no-untyped-call]
        nbformat.validate(notebook)
    except OSError as error:
        return f"cannot be read: {(error.strerror or str(error)).lower()}"
    except (ValueError, KeyError, AttributeError, NotJSONError, ValidationError):
        return "is not a Jupyter notebook"
    if not any("parameters" in cell.metadata.get("tags", []) for cell in notebook.cells):
        return "has no cell tagged 'parameters', which takes job_card, overrides and paper"
    return ""


def normalise(notebook: NotebookNode) -> NotebookNode:
    """Take out what differs from run to run; keep one stamp of when and with what it was made.

    The stamp's time is that of SOURCE_DATE_EPOCH (seconds since 1970) where it is set, so that
    two runs can be compared byte by byte.
    """
    notebook.metadata.pop("papermill", None)
    notebook.metadata.pop("widgets", None)
    for index, cell in enumerate(notebook.cells):
        cell.metadata.pop("papermill", None)
        cell.metadata.pop("execution", None)
        cell["id"] = f"cell-{index:02d}"
    notebook.metadata["rebuildbook"] = {
        "made": _now().isoformat(timespec="seconds"),
        "version": __version__,
    }
    return notebook


def _now() -> datetime:
    fixed = os.environ.get("SOURCE_DATE_EPOCH", "")
    return datetime.fromtimestamp(int(fixed), UTC) if fixed.isdigit() else datetime.now(UTC)


@contextlib.contextmanager
def _private_jupyter_folders() -> Iterator[None]:
    """Keep the run out of the user's Jupyter and IPython settings, and them out of the run."""
    names = ("JUPYTER_RUNTIME_DIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR")
    before = {name: os.environ.get(name) for name in names}
    with tempfile.TemporaryDirectory(prefix="rebuildbook-", ignore_cleanup_errors=True) as folder:
        for name in names:
            os.environ[name] = str(Path(folder) / name.lower())
        try:
            yield
        finally:
            for name, value in before.items():
                if value is None:
                    os.environ.pop(name, None)
                else:
                    os.environ[name] = value
