"""Bring a job card, its model sheet and its shop sheet together into one checked case."""

from __future__ import annotations

import contextlib
import difflib
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from rebuildbook.sheets.columns import ColumnSheet
from rebuildbook.sheets.crosscheck import crosscheck
from rebuildbook.sheets.fields import SLUG
from rebuildbook.sheets.job import JobCard
from rebuildbook.sheets.kept import Kept
from rebuildbook.sheets.messages import problems_of
from rebuildbook.sheets.model import ModelSheet
from rebuildbook.sheets.overrides import apply_overrides
from rebuildbook.sheets.shop import ShopSheet
from rebuildbook.sheets.source import Problem, SheetError, Source, copied, read_source
from rebuildbook.sheets.what_if import WhatIfSheet

S = TypeVar("S", bound=BaseModel)
_NAME = re.compile(f"{SLUG}\\Z")
KINDS: dict[str, type[BaseModel]] = {
    "job": JobCard,
    "model": ModelSheet,
    "shop": ShopSheet,
    "columns": ColumnSheet,
    "what-if": WhatIfSheet,
}


@dataclass(frozen=True, slots=True)
class Case:
    """One job with everything it stands on; ``paths`` are where its sheets lie.

    ``numbers`` are those of the fasteners that a joint's torque readings are of; without them, the
    first ones in order. ``what_if`` is the name of the what-if sheet that it was loaded from.
    ``kept`` is what was worked out before of cases from the same store.
    """

    job: JobCard
    model: ModelSheet
    shop: ShopSheet
    files: dict[str, tuple[str, str]]
    overrides: tuple[str, ...] = ()
    paths: tuple[Path, ...] = ()
    numbers: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    what_if: str = ""
    kept: Kept | None = field(default=None, compare=False, repr=False)


class SheetStore:
    """Sheets read once, for many cases that differ by their settings only.

    ``kept`` is what was worked out of them, for the next case to take over.
    """

    def __init__(self) -> None:
        self.kept = Kept()
        self._sources: dict[Path, Source] = {}
        self._sheets: dict[str, BaseModel | None] = {}
        self._found: dict[tuple[Path, str, str], Path] = {}

    def source(self, path: Path) -> Source:
        """Give the plain values of a sheet, as a copy that settings may change."""
        if path not in self._sources:
            self._sources[path] = read_source(path)
        kept = self._sources[path]
        return replace(kept, data=copied(kept.data), overridden={})

    def forget(self, path: Path) -> None:
        """Let go of a sheet that no other case needs: of many cards each is loaded once."""
        self._sources.pop(path, None)
        self._sheets.pop(str(path), None)
        self._found = {key: found for key, found in self._found.items() if key[0] != path}

    def find(self, job: Path, kind: str, name: str, source: Source) -> Path:
        """Find a sheet that a job card names, as `find_sheet` does."""
        if (job, kind, name) not in self._found:
            self._found[job, kind, name] = find_sheet(job, kind, name, source)
        return self._found[job, kind, name]

    def checked(self, source: Source, model: type[BaseModel]) -> BaseModel:
        """Validate a sheet; parts that no setting touches are taken over from the first time."""
        if source.file not in self._sheets:
            self._sheets[source.file] = self._as_it_lies(source, model)
        known = self._sheets[source.file]
        if known is None:
            return validate(source, model)
        touched = [tuple(str(step) for step in path) for path in source.overridden]
        if not touched:
            return known
        try:
            made = validate(replace(source, data=_grafted(source.data, known, touched)), model)
        except SheetError:
            return validate(source, model)  # its words are for the plain values
        return known.model_copy(update={path[0]: getattr(made, path[0]) for path in touched})

    def _as_it_lies(self, source: Source, model: type[BaseModel]) -> BaseModel | None:
        try:
            return validate(self.source(Path(source.file)), model)
        except SheetError:
            return None


def _grafted(plain: Any, known: Any, touched: list[tuple[str, ...]]) -> Any:
    """Plain values where a setting changed some, checked parts everywhere else.

    The part that a changed value stands in stays plain as a whole: what kind of part it is may
    hang on that value.
    """
    if not touched:
        return known
    if not isinstance(plain, dict) or any(len(path) < 2 for path in touched):
        return plain
    mixed = {}
    for key, child in plain.items():
        below = [path[1:] for path in touched if path[0] == key]
        part = known.get(key) if isinstance(known, dict) else getattr(known, key, None)
        mixed[key] = child if part is None else _grafted(child, part, below)
    return mixed


@dataclass(frozen=True, slots=True)
class Based:
    """A job card, and the settings of the what-if sheet that names it, where one does."""

    card: Path
    settings: tuple[str, ...] = ()
    source: Source | None = None

    @contextlib.contextmanager
    def placing(self) -> Iterator[None]:
        """Put problems with the settings where these stand in the what-if sheet."""
        try:
            yield
        except SheetError as error:
            raise SheetError([self.placed(problem) for problem in error.problems]) from None

    def placed(self, problem: Problem) -> Problem:
        """Put one problem with a setting where it stands in the what-if sheet."""
        if self.source is None or problem.file not in (f"--set {one}" for one in self.settings):
            return problem
        path, _, text = problem.file.removeprefix("--set ").partition("=")
        line = self.source.lines.get(("settings", path))
        return replace(problem, file=self.source.file, line=line, field=path, given=text)


def based(path: Path, store: SheetStore) -> Based:
    """Open a job card, or the one that a what-if sheet names; raises SheetError."""
    source = store.source(path)
    if source.data.get("kind") != "what-if":
        return Based(path)
    if not _NAME.match(path.stem):
        message = f"{path.stem!r} cannot name a what-if; use lower-case letters, digits and hyphens"
        raise SheetError([Problem(str(path), None, "", "", message)])
    sheet = store.checked(source, WhatIfSheet)
    assert isinstance(sheet, WhatIfSheet)  # noqa: S101
    card = _tidy(path.parent / sheet.card)
    try:
        _check_kind(store.source(card), "job")
    except SheetError as error:
        told = "; ".join(f"{problem.message}" for problem in error.problems)
        raise SheetError([source.problem(("card",), f"{card} {told}")]) from None
    settings = tuple(f"{dotted}={text}" for dotted, text in sheet.settings.items())
    return Based(card, settings, source)


def _tidy(path: Path) -> Path:
    """A path without the steps back in it, that a card named in two ways has one name."""
    return Path(os.path.normpath(path))


def load_case(
    path: Path,
    overrides: Iterable[str] = (),
    store: SheetStore | None = None,
    under: Iterable[str] = (),
) -> Case:
    """Load a job card and the sheets it names; raises SheetError with every problem found.

    The model sheet is ``models/<model>.yaml`` and the shop sheet ``<shop>.yaml``, in the nearest
    folder above the job card that has a ``models`` folder. ``path`` may also be a what-if sheet:
    its card is loaded, with its settings before ``overrides``. ``under`` are settings that lie
    below both and make no what-if of a case. A ``store`` keeps what was read for the next case.
    """
    store = store or SheetStore()
    base = based(path, store)
    changed = [*base.settings, *overrides]
    with base.placing():
        case = _load_card(base.card, [*under, *changed], store)
    if base.source is None:
        return replace(case, overrides=tuple(changed))
    files = case.files | {"what-if": (path.name, base.source.digest)}
    paths = (*case.paths, path)
    return replace(case, files=files, paths=paths, overrides=tuple(changed), what_if=path.stem)


def _load_card(path: Path, settings: list[str], store: SheetStore) -> Case:
    sources, problems = _read_sheets(path, settings, store)
    sheets: dict[str, BaseModel] = {}
    for kind, source in sources.items():
        try:
            sheets[kind] = store.checked(source, KINDS[kind])
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
    paths = tuple(Path(source.file) for source in sources.values())
    return Case(job, model, shop, files, tuple(settings), paths, kept=store.kept)


def read_sheets(
    path: Path, settings: list[str], store: SheetStore
) -> tuple[dict[str, Source], list[Problem]]:
    """Read a job card, or a what-if sheet's, and the sheets it names, with the settings applied.

    Gives the sheets that could be read, and what is wrong with the others; raises SheetError for
    a job card that is none and for a setting that no sheet has.
    """
    base = based(path, store)
    with base.placing():
        sources, problems = _read_sheets(base.card, [*base.settings, *settings], store)
    return sources, [base.placed(problem) for problem in problems]


def _read_sheets(
    path: Path, settings: list[str], store: SheetStore
) -> tuple[dict[str, Source], list[Problem]]:
    job_source = store.source(path)
    _check_kind(job_source, "job")
    sources = {"job": job_source}
    problems: list[Problem] = []
    for kind, name in (
        ("model", _named(settings, job_source, "model", "")),
        ("shop", _named(settings, job_source, "shop", "shop")),
    ):
        try:
            if name:
                sources[kind] = store.source(store.find(path, kind, name, job_source))
                _check_kind(sources[kind], kind)
        except SheetError as error:
            sources.pop(kind, None)
            problems += error.problems
    apply_overrides(settings, {kind: (found, KINDS[kind]) for kind, found in sources.items()})
    return sources, problems


def load_sheet(path: Path) -> BaseModel:
    """Load one sheet of any kind on its own (its ``kind`` field says which)."""
    source = read_source(path)
    kind = source.data.get("kind")
    if kind not in KINDS:
        raise SheetError([_kind_problem(source, "'job', 'model', 'shop', 'columns' or 'what-if'")])
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
    for setting in reversed(settings):
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
