"""``rebuildbook check``: validate sheets and say everything that is wrong with them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel
from rich.console import Console
from rich.text import Text

from rebuildbook.commands.cards import WHAT_IF, clashes, folder_of, rebuild_of
from rebuildbook.sheets import Case, Problem, SheetError, load_case, load_sheet
from rebuildbook.sheets.kinds import sheets_in
from rebuildbook.sheets.source import read_source
from rebuildbook.units import Amount

out = Console(highlight=False, soft_wrap=True)
errors = Console(stderr=True, highlight=False, soft_wrap=True)


def check_sheets(paths: Sequence[Path], settings: Sequence[str], echo: bool) -> int:
    """Check every sheet; gives the exit code: 0 all good, 2 something is wrong."""
    problems: dict[Problem, None] = {}
    cases: dict[Path, Case] = {}
    good = 0
    for path in _expand(paths, problems):
        try:
            sheet = _load(path, settings, cases)
            if sheet is None:
                continue  # readings: they are checked against their job as they are read
        except SheetError as error:
            problems |= dict.fromkeys(error.problems)
            continue
        good += 1
        if echo:
            out.print(Text(f"{path}:"))
            for dotted, shown in quantities_in(sheet):
                out.print(Text(f"  {dotted}: {shown}"))
    cards = {path: (folder_of(case), rebuild_of(case)) for path, case in cases.items()}
    problems |= dict.fromkeys(problem for problem, _ in clashes(cards))
    for problem in problems:
        errors.print(Text(str(problem)))
    found = len(problems)
    out.print(Text(f"{good} sheets read, {found} problem{'s' if found != 1 else ''}"))
    return 2 if problems else 0


def _expand(paths: Sequence[Path], problems: dict[Problem, None]) -> Iterator[Path]:
    for path in paths:
        if not path.is_dir():
            yield path
            continue
        inside = sheets_in(path)
        if not inside:
            problems[Problem(str(path), None, "", "", "holds no sheets (.yaml files)")] = None
        yield from inside


def _load(path: Path, settings: Sequence[str], cases: dict[Path, Case]) -> BaseModel | None:
    kind = read_source(path).data.get("kind")
    if kind == "readings":
        return None
    if kind in {"job", WHAT_IF}:
        cases[path] = load_case(path, settings)
        return cases[path].job
    return load_sheet(path)


def quantities_in(sheet: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Walk a sheet's quantities: dotted path, and the quantity as it was understood."""
    if isinstance(sheet, Amount):
        yield path, sheet.canonical
    elif isinstance(sheet, BaseModel):
        for name in type(sheet).model_fields:
            yield from quantities_in(getattr(sheet, name), f"{path}.{name}" if path else name)
    elif isinstance(sheet, dict):
        for name, child in sheet.items():
            yield from quantities_in(child, f"{path}.{name}")
    elif isinstance(sheet, list):
        for index, child in enumerate(sheet):
            yield from quantities_in(child, f"{path}.{index}")
