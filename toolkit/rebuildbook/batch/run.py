"""Run many jobs: one worksheet notebook each, rendered to page, paper and results."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Any

Paper = str


@dataclass(frozen=True, slots=True)
class Order:
    """One job to run: its card, where to put it, and how."""

    card: str
    job: str
    out: str
    overrides: tuple[str, ...] = ()
    paper: Paper = ""
    notebook: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one job."""

    job: str
    folder: str
    holds: int = 0
    queries: int = 0
    seconds: float = 0.0
    failure: str = ""


def template_path(name: str) -> Path:
    """Give a notebook template, from the installed package or from the checkout."""
    packaged = Path(str(resources.files("rebuildbook"))) / "notebooks" / f"{name}.ipynb"
    if packaged.is_file():
        return packaged
    return Path(__file__).resolve().parents[3] / "notebooks" / f"{name}.ipynb"


def run_one(order: Order) -> Outcome:
    """Make the four files of one job; whatever fails is told, not raised: others still run."""
    from rebuildbook.batch.execute import NotebookFailed, execute  # noqa: PLC0415
    from rebuildbook.batch.publish import staging  # noqa: PLC0415
    from rebuildbook.worksheet.document import sections_of  # noqa: PLC0415

    began = time.perf_counter()
    out = Path(order.out)
    outcome = Outcome(order.job, str(out / order.job))
    try:
        with staging(out, order.job) as folder:
            parameters = {
                "job_card": relative(Path(order.card), folder),
                "overrides": list(order.overrides),
                "paper": order.paper,
            }
            template = Path(order.notebook) if order.notebook else template_path("worksheet")
            notebook = execute(template, parameters, folder)
            if next(sections_of(notebook), None) is None:
                raise NotebookFailed("the notebook shows no section of a worksheet", notebook)
            results = write_files(notebook, folder)
        failed_copy(out, order.job).unlink(missing_ok=True)
        holds, queries = count(results)
        outcome = replace(outcome, holds=holds, queries=queries)
    except NotebookFailed as failure:
        kept = _keep_failed(failure.notebook, out, order.job)
        outcome = replace(outcome, failure=f"{failure.reason} (notebook kept as {kept})")
    except OSError as error:
        outcome = replace(outcome, failure=f"{error.strerror or error}")
    except Exception as error:  # a job must not take the others with it
        reason = " ".join(str(error).split())[:300]
        outcome = replace(outcome, failure=f"{type(error).__name__}: {reason}")
    return replace(outcome, seconds=time.perf_counter() - began)


def write_files(notebook: Any, folder: Path) -> dict[str, Any]:
    """Write notebook, page, paper and results into ``folder``; gives the results."""
    import nbformat  # noqa: PLC0415

    from rebuildbook.worksheet.document import results_of  # noqa: PLC0415
    from rebuildbook.worksheet.html import page_html  # noqa: PLC0415
    from rebuildbook.worksheet.paper import page_pdf  # noqa: PLC0415

    results = results_of(notebook)
    text = json.dumps(results, ensure_ascii=False, indent=1) + "\n"
    (folder / "results.json").write_text(text, encoding="utf-8")
    (folder / "worksheet.html").write_text(page_html(notebook), encoding="utf-8")
    (folder / "worksheet.pdf").write_bytes(page_pdf(notebook))
    nbformat.write(notebook, folder / "worksheet.ipynb")  # type: ignore[no-untyped-call]
    return results


def count(results: dict[str, Any]) -> tuple[int, int]:
    """Count the holds and queries of a results document."""
    levels = [finding["level"] for part in results["sections"] for finding in part["findings"]]
    return levels.count("hold"), levels.count("query")


def run_all(
    orders: Sequence[Order], processes: int, tell: Callable[[Outcome], None]
) -> list[Outcome]:
    """Run the orders on ``processes`` processes; ``tell`` hears of each as it ends."""
    from rebuildbook.batch.processes import each  # noqa: PLC0415  (it needs run_one from here)

    outcomes: dict[str, Outcome] = {}
    for outcome in each(orders, min(processes, len(orders))):
        outcomes[outcome.job] = outcome
        tell(outcome)
    return [outcomes[order.job] for order in orders]


def relative(path: Path, folder: Path) -> str:
    """Write ``path`` as seen from ``folder``, so that the notebook runs again where it lies."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # another drive
        return str(path.resolve())


def failed_copy(out: Path, job: str) -> Path:
    """Where the notebook of a failed job is kept, as far as it came."""
    return out / f"{job}.failed.ipynb"


def _keep_failed(notebook: Any, out: Path, job: str) -> str:
    import nbformat  # noqa: PLC0415

    path = failed_copy(out, job)
    nbformat.write(notebook, path)  # type: ignore[no-untyped-call]
    return str(path)
