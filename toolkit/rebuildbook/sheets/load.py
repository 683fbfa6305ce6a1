"""Bring a job card, its model sheet and its shop sheet together into one checked case."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from rebuildbook.sheets.crosscheck import crosscheck
from rebuildbook.sheets.fields import SLUG
from rebuildbook.sheets.job import JobCard
from rebuildbook.sheets.messages import problems_of
from rebuildbook.sheets.model import ModelSheet
from rebuildbook.sheets.overrides import apply_overrides
from rebuildbook.sheets.shop import ShopSheet
from rebuildbook.sheets.source import Problem, SheetError, Source, read_source

S = TypeVar("S", bound=BaseModel)
_NAME = re.compile(f"{SLUG}\\Z")
KINDS: dict[str, type[BaseModel]] = {"job": JobCard, "model": ModelSheet, "shop": ShopSheet}


@dataclass(frozen=True, slots=True)
class Case:
    """One job with everything it stands on."""

    job: JobCard
    model: ModelSheet
    shop: ShopSheet
    files: dict[str, tuple[str, str]]
    overrides: tuple[str, ...] = ()


def load_case(path: Path, overrides: Iterable[str] = ()) -> Case:
    """Load a job card and the sheets it names; raises SheetError with every problem found.

    The model sheet is ``models/<model>.yaml`` and the shop sheet ``<shop>.yaml``, in the nearest
    folder above the job card that has a ``models`` folder.
    """
    settings = list(overrides)
    job_source = read_source(path)
    _check_kind(job_source, "job")
    sources = {"job": job_source}
    problems: list[Problem] = []
    for kind, name in (
        ("model", _named(settings, job_source, "model", "")),
        ("shop", _named(settings, job_source, "shop", "shop")),
    ):
        try:
            if name:
                sources[kind] = read_source(find_sheet(path, kind, name, job_source))
                _check_kind(sources[kind], kind)
        except SheetError as error:
            sources.pop(kind, None)
            problems += error.problems
    apply_overrides(settings, {kind: (found, KINDS[kind]) for kind, found in sources.items()})
    sheets: dict[str, BaseModel] = {}
    for kind, source in sources.items():
        try:
            sheets[kind] = validate(source, KINDS[kind])
        except SheetError as error:
            problems += error.problems
    if problems:
        raise SheetError(problems)
    job, model, shop = sheets["job"], sheets["model"], sheets["shop"]
    assert isinstance(job, JobCard) and isinstance(model, ModelSheet)  # noqa: S101
    assert isinstance(shop, ShopSheet)  # noqa: S101
    problems = crosscheck(job, model, shop, sources)
    if problems:
        raise SheetError(problems)
    files = {kind: (Path(source.file).name, source.digest) for kind, source in sources.items()}
    return Case(job, model, shop, files, tuple(settings))


def load_sheet(path: Path) -> BaseModel:
    """Load one sheet of any kind on its own (its ``kind`` field says which)."""
    source = read_source(path)
    kind = source.data.get("kind")
    if kind not in KINDS:
        raise SheetError([_kind_problem(source, "'job', 'model' or 'shop'")])
    return validate(source, KINDS[str(kind)])


def validate(source: Source, model: type[S]) -> S:
    """Check the plain values of a sheet; raises SheetError with all problems of the file."""
    try:
        sheet = model.model_validate(source.data)
    except ValidationError as error:
        raise SheetError(problems_of(error, source, model)) from None
    name = getattr(sheet, "name", None)
    if name is not None and ("name",) not in source.overridden:
        stem = Path(source.file).stem
        if stem != name:
            message = f"the sheet's name and its file name differ; rename the file {name}.yaml"
            raise SheetError([source.problem(("name",), message)])
    return sheet


def find_sheet(job: Path, kind: str, name: str, source: Source) -> Path:
    """Find the model or shop sheet a job card names; raises SheetError with the nearest names."""
    root = parameters_root(job)
    if root is None:
        message = "no folder above this job card has a 'models' folder to look in"
        raise SheetError([source.problem((kind,), message)])
    folder = root / "models" if kind == "model" else root
    offered = sorted(path.stem for path in folder.glob("*.yaml"))
    if name not in offered:
        near = difflib.get_close_matches(name, offered, 1, 0.4)
        hint = f"did you mean {near[0]}?" if near else f"there are {', '.join(offered) or 'none'}"
        raise SheetError([source.problem((kind,), f"no {kind} sheet {name}.yaml; {hint}")])
    return folder / f"{name}.yaml"


def parameters_root(path: Path) -> Path | None:
    """Give the nearest folder above ``path`` that has a ``models`` folder."""
    found = next((up for up in path.absolute().parents if (up / "models").is_dir()), None)
    if found is not None and found.is_relative_to(Path.cwd()):
        return found.relative_to(Path.cwd())
    return found


def _named(settings: list[str], source: Source, kind: str, default: str) -> str:
    """The sheet a card names; empty for what is no name, which reading the card will say."""
    for setting in settings:
        path, _, value = setting.partition("=")
        if path.strip() in {kind, f"job.{kind}"}:
            source.overridden[kind,] = setting
            return value.strip() if _NAME.match(value.strip()) else ""
    name = str(source.data.get(kind, default))
    return name if _NAME.match(name) else ""


def _check_kind(source: Source, wanted: str) -> None:
    if source.data.get("kind") != wanted:
        raise SheetError([_kind_problem(source, repr(wanted))])


def _kind_problem(source: Source, wanted: str) -> Problem:
    if "kind" in source.data:
        return source.problem(("kind",), f"wanted {wanted}")
    return source.problem(("kind",), f"is missing; the first line says which sheet it is: {wanted}")
