"""Run many jobs: the sheets of each from their notebooks, as page, paper and results."""

from __future__ import annotations

import contextlib
import json
import os
import time
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Any

from rebuildbook.batch.index import worst_titles
from rebuildbook.batch.resume import Made, key_of, read_made, stamps, whole, write_made

Paper = str
SHEETS = ("worksheet", "traveller", "as-built")


@dataclass(frozen=True, slots=True)
class Order:
    """One job to run: its card, where to put it, which sheets to make of it, and how.

    ``inputs`` are the files that its sheets are made from; ``unit`` tells this rebuild from
    others: serial, model, day.
    """

    card: str
    job: str
    out: str
    overrides: tuple[str, ...] = ()
    paper: Paper = ""
    notebook: str = ""
    sheets: tuple[str, ...] = SHEETS[:1]
    ledger: str = ""
    unit: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()

    @property
    def serial(self) -> str:
        """The serial of its unit."""
        return self.unit[0] if self.unit else ""

    def key(self, sheet: str) -> str:
        """Hash over all that can change a sheet of this job; see `resume`."""
        options = (self.card, *self.overrides, self.paper, self.ledger)
        inputs = [*self.inputs, self.ledger] if sheet == "as-built" else self.inputs
        return key_of(map(Path, inputs), self.template(sheet), options)

    def template(self, sheet: str) -> Path:
        """The notebook that a sheet is made with."""
        return Path(self.notebook) if self.notebook else template_path(sheet)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one job; ``unchanged`` where its sheets lay there, made from the same.

    ``lost`` where it failed because the process that kernels are forked from had died.
    """

    job: str
    folder: str
    holds: int = 0
    queries: int = 0
    seconds: float = 0.0
    failure: str = ""
    unchanged: bool = False
    lost: bool = False


class NoCluster(Exception):  # noqa: N818  (a matter of what is installed and running)
    """There is nothing to spread jobs over."""


def template_path(name: str) -> Path:
    """Give the notebook of a sheet, from the installed package or from the checkout."""
    name = name.replace("-", "_")
    packaged = Path(str(resources.files("rebuildbook"))) / "notebooks" / f"{name}.ipynb"
    if packaged.is_file():
        return packaged
    return Path(__file__).resolve().parents[3] / "notebooks" / f"{name}.ipynb"


def run_one(order: Order) -> Outcome:
    """Make the files of one job; whatever fails is told, not raised: others still run.

    Sheets of the job that are not asked for stay as they lie there.
    """
    from rebuildbook.batch.execute import NotebookFailed  # noqa: PLC0415
    from rebuildbook.batch.forked import nursery_deaths  # noqa: PLC0415
    from rebuildbook.batch.publish import MAKING, carry_over, staging  # noqa: PLC0415

    began, deaths = time.perf_counter(), nursery_deaths()
    out = Path(order.out)
    outcome = Outcome(order.job, str(out / order.job))
    try:
        with staging(out, order.job, MAKING) as folder:
            before = read_made(out / order.job)
            keys = {sheet: order.key(sheet) for sheet in order.sheets}
            made = {sheet: _make(order, sheet, folder) for sheet in order.sheets}
            others = [sheet for sheet in SHEETS if sheet not in order.sheets]
            carry_over(out / order.job, folder, [name for one in others for name in files(one)])
            _note_made(order, keys, made, before, folder)
        failed_copy(out, order.job).unlink(missing_ok=True)
        holds, queries = count(made.values())
        outcome = replace(outcome, holds=holds, queries=queries)
    except NotebookFailed as failure:
        kept = _keep_failed(failure.notebook, out, order.job)
        outcome = replace(outcome, failure=f"{failure.reason} (notebook kept as {kept})")
    except OSError as error:
        outcome = replace(outcome, failure=f"{error.strerror or error}")
    except Exception as error:  # a job must not take the others with it
        reason = " ".join(str(error).split())[:300]
        outcome = replace(outcome, failure=f"{type(error).__name__}: {reason}")
    if outcome.failure:
        outcome = replace(outcome, lost=nursery_deaths() > deaths)
    return replace(outcome, seconds=time.perf_counter() - began)


def _make(order: Order, sheet: str, folder: Path) -> dict[str, Any]:
    """Make one sheet of a job in ``folder``; gives its results."""
    from rebuildbook.batch.execute import NotebookFailed, execute  # noqa: PLC0415
    from rebuildbook.worksheet.document import sections_of  # noqa: PLC0415

    parameters = {
        "job_card": relative(Path(order.card), folder),
        "overrides": list(order.overrides),
        "paper": order.paper,
    }
    if sheet == "as-built":
        parameters["ledger"] = relative(Path(order.ledger), folder) if order.ledger else ""
    notebook = execute(order.template(sheet), parameters, folder, sheet)
    if next(sections_of(notebook), None) is None:
        raise NotebookFailed("the notebook shows no section of a worksheet", notebook)
    return write_files(notebook, folder, sheet)


def _note_made(
    order: Order,
    keys: Mapping[str, str],
    made: Mapping[str, dict[str, Any]],
    before: Made | None,
    folder: Path,
) -> None:
    """Write down what the sheets in ``folder`` were made from, those carried over with them."""
    sheets = dict(before.sheets) if before else {}
    for sheet, results in made.items():
        sheets[sheet] = {
            "key": keys[sheet],
            "findings": found_levels(results),
            "worst": worst_titles(results),
            "files": stamps(folder, files(sheet)),
        }
    write_made(Made(order.job, order.unit, order.card, order.inputs, sheets), folder)


def unchanged(order: Order) -> Outcome | None:
    """Give the outcome of a job whose sheets lie there, made from the same; None where not."""
    folder = Path(order.out) / order.job
    made = read_made(folder)
    if made is None or made.card != order.card:
        return None
    sheets = [made.sheets.get(sheet) for sheet in order.sheets]
    for name, sheet in zip(order.sheets, sheets, strict=True):
        if sheet is None or sheet["key"] != order.key(name) or not whole(folder, sheet):
            return None
    levels: dict[str, str] = {}
    for sheet in sheets:
        levels |= sheet["findings"] if sheet else {}
    holds, queries = _counted(levels)
    return Outcome(order.job, str(folder), holds, queries, unchanged=True)


def files(sheet: str) -> tuple[str, str, str, str]:
    """Names of the files of a sheet: results, page, paper, notebook."""
    results = "results.json" if sheet == SHEETS[0] else f"{sheet}.json"
    return results, f"{sheet}.html", f"{sheet}.pdf", f"{sheet}.ipynb"


def write_files(notebook: Any, folder: Path, sheet: str = SHEETS[0]) -> dict[str, Any]:
    """Write notebook, page, paper and results into ``folder``; gives the results."""
    import nbformat  # noqa: PLC0415
    from nbformat.v4.rwbase import strip_transient  # noqa: PLC0415

    from rebuildbook.worksheet.document import results_of  # noqa: PLC0415
    from rebuildbook.worksheet.html import page_html  # noqa: PLC0415
    from rebuildbook.worksheet.paper import page_pdf  # noqa: PLC0415

    results = results_of(notebook)
    text = json.dumps(results, ensure_ascii=False, indent=1) + "\n"
    as_results, as_page, as_paper, as_notebook = files(sheet)
    (folder / as_results).write_text(text, encoding="utf-8")
    (folder / as_page).write_text(page_html(notebook), encoding="utf-8")
    (folder / as_paper).write_bytes(page_pdf(notebook))
    nbformat.validate(notebook)
    # in one line: a hundred times as quick to write, and a fifth smaller
    text = json.dumps(strip_transient(notebook), ensure_ascii=False, sort_keys=True) + "\n"  # type: ignore[no-untyped-call]
    (folder / as_notebook).write_text(text, encoding="utf-8")
    return results


def count(made: Iterable[dict[str, Any]]) -> tuple[int, int]:
    """Count holds and queries of a job's sheets; a later sheet has the last word on a finding."""
    levels: dict[str, str] = {}
    for results in made:
        levels |= found_levels(results)
    return _counted(levels)


def found_levels(results: dict[str, Any]) -> dict[str, str]:
    """The level of each finding of a results document, by its id."""
    return {
        finding["id"]: finding["level"]
        for part in results["sections"]
        for finding in part["findings"]
    }


def _counted(levels: Mapping[str, str]) -> tuple[int, int]:
    found = list(levels.values())
    return found.count("hold"), found.count("query")


Runner = Callable[[Sequence[Order]], Generator[Outcome, None, None]]


@contextlib.contextmanager
def runner(processes: int, scheduler: str = "", preload: Sequence[str] = ()) -> Iterator[Runner]:
    """Give what runs orders: on ``processes`` processes here, or on workers of ``scheduler``.

    ``preload`` is what kernels have loaded when they begin, as `nursery` takes it. Raises
    NoCluster where the scheduler cannot be had.
    """
    if scheduler:
        from rebuildbook.batch.spread import cluster, each_on  # noqa: PLC0415  (it needs run_one)

        with cluster(scheduler) as client:
            yield lambda orders: each_on(client, orders, preload)
        return
    from rebuildbook.batch.processes import each  # noqa: PLC0415  (it needs run_one from here)

    yield lambda orders: each(orders, min(processes, len(orders)), preload)


def run_all(orders: Sequence[Order], run: Runner, tell: Callable[[Outcome], None]) -> list[Outcome]:
    """Run the orders with ``run``, as `runner` gives it; ``tell`` hears of each as it ends."""
    outcomes: dict[str, Outcome] = {}
    with contextlib.closing(run(orders)) as ended:
        for outcome in ended:
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

    from rebuildbook.batch.publish import write_whole  # noqa: PLC0415

    path = failed_copy(out, job)
    write_whole(path, nbformat.writes(notebook) + "\n")  # type: ignore[no-untyped-call]
    return str(path)
