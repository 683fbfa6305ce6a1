"""The page that JupyterLab opens at: boards, lessons, the user's sheets, what was made of them.

It is a notebook of text only, made anew each time, so that it shows at once with nothing to run.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from urllib.parse import quote

from rebuildbook.batch.publish import write_whole
from rebuildbook.batch.resume import remembered
from rebuildbook.batch.run import template_path
from rebuildbook.sheets import SheetError
from rebuildbook.sheets.source import read_source
from rebuildbook.whatif import NAMES
from rebuildbook.whatif.cards import cards_in

START = Path("outputs") / "start.ipynb"
LARGEST = 20_000_000  # bytes of a notebook whose title is looked up
_SPECIAL = re.compile(r"([\\`*_{}\[\]()#+\-.!|<>&$~:])")
_SHEETS = {
    "worksheet": "what to measure, tighten, set and test, for one job",
    "traveller": "the same as steps for the bench, with boxes to tick",
    "as_built": "what was read, against what was planned",
    "fleet": "all jobs together: how they stand, what is due",
}
_HEAD = """# rebuildbook

Links open in a tab of their own. A notebook runs with *Run ▸ Run All Cells*; nothing you do here
changes a sheet, unless you edit the sheet itself. **New here?** Begin with {welcome}.

This page is made anew by `rebuildbook lab`: start it again to see what has come since.
"""
_FOOT = """**This toolkit plans and checks; it does not replace the maker's manual. Follow the
maker's manual; local codes and licensed practice prevail.**
"""


def lay_notebooks(folder: Path) -> list[Path]:
    """Copy our notebooks into ``folder``/notebooks where they are not there; gives the new ones."""
    source, place = template_path("worksheet").parent, folder / "notebooks"
    laid = []
    for path in sorted(source.rglob("*.ipynb")):
        to = place / path.relative_to(source)
        if ".ipynb_checkpoints" in path.parts or to.exists():
            continue
        to.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, to)
        laid.append(to)
    return laid


def write_start(folder: Path) -> Path:
    """Write the start page of ``folder``; gives its path. Raises OSError."""
    from nbformat import v4, writes  # noqa: PLC0415

    start = folder / START
    start.parent.mkdir(exist_ok=True)
    cells = []
    for number, text in enumerate(_texts(folder)):
        cell = v4.new_markdown_cell(text)  # type: ignore[no-untyped-call]
        cell["id"] = f"start-{number}"
        cells.append(cell)
    spec = {"name": "python3", "display_name": "Python 3", "language": "python"}  # else it is asked
    notebook = v4.new_notebook(cells=cells, metadata={"kernelspec": spec})  # type: ignore[no-untyped-call]
    write_whole(start, writes(notebook) + "\n")  # type: ignore[no-untyped-call]
    return start


def _texts(folder: Path) -> Iterator[str]:
    notebooks = folder / "notebooks"
    yield _HEAD.format(welcome=_link("Welcome", notebooks / "welcome.ipynb", folder))
    boards = [notebooks / f"whatif_{name}.ipynb" for name in NAMES]
    yield "## What-if boards\n\n" + _listed(boards, folder)
    lessons = sorted((notebooks / "lessons").glob("*.ipynb"), key=_numbered)
    yield "## Lessons\n\n" + _listed(lessons, folder)
    yield _jobs(folder)
    sheets = [(notebooks / f"{name}.ipynb", about) for name, about in _SHEETS.items()]
    yield "## Notebooks behind the sheets\n\n" + "\n".join(
        f"- {_link(_title(path), path, folder)}: {about}"
        for path, about in sheets
        if path.is_file()
    )
    yield _FOOT


def _listed(paths: Iterable[Path], folder: Path) -> str:
    rows = [f"- {_link(_title(path), path, folder)}" for path in paths if path.is_file()]
    return "\n".join(rows) or "None in this folder."


def _jobs(folder: Path) -> str:
    """The user's parameters folder: sheets, and what was made of each card."""
    parameters = folder / "parameters"
    head = "## Your jobs\n\n"
    if not parameters.is_dir():
        return (
            f"{head}There is no folder `parameters` here. In a terminal, `rebuildbook new job` "
            "writes a commented card to fill in."
        )
    known = remembered(folder / "outputs")  # by card, named as the run was given it
    made = {(folder / card).resolve(): place for card, (place, _) in known.items()}
    rows = [_row(card, made.get(card.resolve()), folder) for card in cards_in(parameters)]
    shared = [parameters / "shop.yaml", *sorted((parameters / "models").glob("*.yaml"))]
    links = ", ".join(_link(path.name, path, folder) for path in shared if path.is_file())
    table = "| card | why it came in | made |\n|---|---|---|\n" + "\n".join(rows)
    return (
        f"{head}Sheets of the folder `parameters`: {links or 'none'}. "
        "`rebuildbook run parameters/jobs` in a terminal (*File ▸ New ▸ Terminal*) makes what is "
        f"missing.\n\n{table if rows else 'No job card is there yet.'}"
    )


def _row(card: Path, made: Path | None, folder: Path) -> str:
    try:
        data = read_source(card).data
    except SheetError:
        return (
            f"| {_link(card.name, card, folder)} | cannot be read; `rebuildbook check` says why | |"
        )
    words = data.get("why") or data.get("title") or ""
    files = sorted(made.glob("*.html")) if made else []
    done = ", ".join(
        f"{_link(page.stem, page, folder)} ({_link('PDF', page.with_suffix('.pdf'), folder)})"
        for page in files
    )
    return f"| {_link(card.stem, card, folder)} | {_plain(str(words))} | {done} |"


def _title(path: Path) -> str:
    """The first heading of a notebook; its name where it has none."""
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError, AttributeError):
        if path.stat().st_size <= LARGEST:
            for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
                found = re.match(r"#\s+(.+)", "".join(cell["source"]))
                if found and cell["cell_type"] == "markdown":
                    return found[1].strip()
    return path.stem


def _numbered(path: Path) -> tuple[int, str]:
    found = re.match(r"\d+", path.name)
    return int(found[0]) if found else 1_000, path.name


def _link(words: str, path: Path, folder: Path) -> str:
    to = os.path.relpath(path, (folder / START).parent)
    return f"[{_plain(words)}]({quote(Path(to).as_posix())})"


def _plain(words: str) -> str:
    """Somebody's words, none of them taken for markup."""
    return _SPECIAL.sub(r"\\\1", " ".join(words.split()))
