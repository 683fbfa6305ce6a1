"""Read readings written as YAML, in the shape that a job card gives them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from rebuildbook.record.bench import Bench
from rebuildbook.record.entry import Kind
from rebuildbook.record.form_rows import readings_of_test
from rebuildbook.record.raw import Found, Place, Raw
from rebuildbook.record.remarks import Remark
from rebuildbook.sheets import SheetError
from rebuildbook.sheets.source import PathKey, Source, read_source

_KINDS = {
    "torque_readings": "torque",
    "measured": "measurement",
    "test": "test",
    "signed": "signature",
}
_READ = set(_KINDS)
_ABOUT = {"kind", "job", "serial", "on", "by", "gauge"}


def read_yaml(path: Path, bench: Bench) -> Found:
    """Read a file with ``measured``, ``torque_readings`` or ``test``, or a job card with them.

    ``signed`` gives the name of who signed a hold point, by its step, or for a role.
    ``job`` and ``serial``, where given, must be the card's; ``on`` and ``by`` hold for every
    reading, ``gauge`` for every pressure. The tool of a torque is the one that the job card names.
    """
    source = read_source(path)
    _check_job(source, bench)
    found = Found()
    card = source.data.get("kind") == "job"
    left = [key for key in source.data if key not in _READ | _ABOUT]
    if card:
        found.told.append("of the job card only measured, torque_readings and test were read")
    else:
        for key in left:
            message = f"is not read here; there are {', '.join(sorted(_READ | _ABOUT))}"
            found.problems.append(source.problem((key,), message))
    on = source.data.get("on") or (source.data.get("work_date") if card else None)
    shared = {key: str(source.data.get(key) or "") for key in ("by", "gauge")} | {
        "on": str(on or "")
    }
    for key, kind in _KINDS.items():
        held = source.data.get(key)
        if held is None:
            continue
        if not isinstance(held, dict):
            found.problems.append(source.problem((key,), "wanted a mapping of names to readings"))
            continue
        _Part(source, bench, found, shared, card).read(kind, (key,), held)  # type: ignore[arg-type]
    return found


def _check_job(source: Source, bench: Bench) -> None:
    job = bench.case.job
    problems = [
        source.problem((key,), f"is another {key} than the card's, {wanted}")
        for key, wanted in (("job", job.job), ("serial", job.serial))
        if key in source.data and str(source.data[key]) != wanted
    ]
    if source.data.get("kind", "job") not in {"job", "readings"}:
        message = "is another kind of sheet; wanted a file of readings"
        problems.append(source.problem(("kind",), message))
    if problems:
        raise SheetError(problems)


class _Part:
    """One part of the file on its way into what was found."""

    def __init__(
        self, source: Source, bench: Bench, found: Found, shared: dict[str, str], card: bool
    ) -> None:
        self._source, self._bench, self._found = source, bench, found
        self._shared, self._card = shared, card
        self._file = Path(source.file).name
        readings = readings_of_test(bench.case)
        self._pressures = {one.name for one in readings if one.dimension == "pressure"}

    def read(self, kind: Kind, at: PathKey, held: dict[str, Any]) -> None:
        for path, value in self._leaves(kind, at, held):
            if value is None:
                dotted = ".".join(map(str, path))
                self._found.told.append(f"{dotted} is empty; nothing was taken of it")
            elif isinstance(value, bool | dict | list):
                self._problem(path, "wanted one reading with its unit")
            else:
                self._found.raws.append(self._raw(kind, path, str(value)))

    def _leaves(
        self, kind: Kind, at: PathKey, held: dict[str, Any]
    ) -> Iterator[tuple[PathKey, Any]]:
        for name, value in held.items():
            path = (*at, name)
            if kind == "torque" and not isinstance(value, list):
                self._problem(path, "wanted a list, a reading for each fastener in turn")
            elif kind == "torque":
                yield from (((*path, place), one) for place, one in enumerate(value))
            elif kind == "test" and name in {"bench", "started"} and self._card:
                self._found.told.append(f"{'.'.join(map(str, path))} is no reading; left")
            elif kind == "test" and isinstance(value, dict):
                yield from self._leaves(kind, path, value)
            elif kind == "test" and name.endswith("_limit"):
                self._found.told.append(f"{'.'.join(map(str, path))} is no reading; left")
            else:
                yield path, value

    def _raw(self, kind: Kind, path: PathKey, value: str) -> Raw:
        dotted = ".".join(str(step) for step in path)
        line = self._source.lines.get(path, 0)
        place = Place(self._file, path=dotted, line=line, full=self._source.file)
        on, by = self._shared["on"], self._shared["by"]
        if kind == "signature":
            return Raw(kind, str(path[1]), "", place, on=on, by=value)
        if kind != "torque":
            subject = ".".join(str(step) for step in path[1:])
            tool = self._shared["gauge"] if subject in self._pressures else ""
            return Raw(kind, subject, value, place, tool=tool, on=on, by=by)
        joint, number = str(path[1]), str(int(path[2]) + 1)
        use = self._bench.case.job.tools.get(joint)
        remarks = (Remark("told", "the tool is the one on the job card"),) if use else ()
        tool = use.wrench if use else ""
        return Raw(
            kind, joint, value, place, number=number, tool=tool, on=on, by=by, remarks=remarks
        )

    def _problem(self, path: PathKey, message: str) -> None:
        self._found.problems.append(self._source.problem(path, message))
