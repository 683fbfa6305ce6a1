"""What the sheets say of a unit whose history is asked for: its model, its hours at each job."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from rebuildbook.sheets import ModelSheet, SheetError, load_sheet
from rebuildbook.sheets.source import read_source
from rebuildbook.units import UnitProblem, parse_amount


@dataclass(frozen=True, slots=True)
class UnitSheets:
    """The model sheet (None where none was found) and running times (s) by job.

    ``notes`` says what could not be read; a history is told without it.
    """

    model: ModelSheet | None = None
    hours: dict[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def part(self, subject: str) -> str:
        """The model sheet's words for a measured part, else its short name."""
        limit = self.model.wear_limits.get(subject) if self.model else None
        return limit.what if limit else subject

    def joint(self, subject: str) -> str:
        """The model sheet's words for a joint, else its short name."""
        joint = self.model.joints.get(subject) if self.model else None
        return joint.what if joint else subject

    def worn(self, subject: str, size: float) -> float | None:
        """How much of what a part may wear is gone, as a fraction: 0 new, 1 at its reuse limit."""
        limit = self.model.wear_limits.get(subject) if self.model else None
        if limit is None:
            return None
        new, end = limit.new.nominal, limit.reuse_limit.nominal
        return (size - new) / (end - new) if end != new else None

    def target(self, subject: str) -> float | None:
        """The middle of a joint's torque window, N·m."""
        joint = self.model.joints.get(subject) if self.model else None
        return joint.torque.nominal if joint else None


def unit_sheets(folder: Path, serial: str) -> UnitSheets:
    """Search a parameters folder for the job cards of a unit, and the model sheet they name."""
    notes: list[str] = []
    hours: dict[str, float] = {}
    named: tuple[str, str] = ("", "")
    for _, card in _cards(folder, serial, notes):
        hours |= _hours(card)
        named = max(named, (str(card.get("opened", "")), str(card.get("model", ""))))
    model = _model(folder, named[1], notes) if named[1] else None
    return UnitSheets(model, hours, tuple(notes))


def card_of(folder: Path, serial: str, job: str) -> Path | None:
    """Search a parameters folder for the card of one job."""
    for path, card in _cards(folder, serial, []):
        if str(card.get("job")) == job:
            return path
    return None


def _cards(folder: Path, serial: str, notes: list[str]) -> Iterator[tuple[Path, dict[str, Any]]]:
    """The plain values of the unit's job cards; those that do not name it are not even read."""
    for path in sorted((folder / "jobs").glob("*.y*ml")):
        try:
            if serial.encode() not in path.read_bytes():
                continue
            data = read_source(path).data
        except SheetError as error:
            notes += [str(problem) for problem in error.problems]
            continue
        except OSError as error:
            notes.append(f"{path}: cannot be read: {(error.strerror or str(error)).lower()}")
            continue
        if data.get("kind") == "job" and str(data.get("serial")) == serial:
            yield path, data


def _hours(card: dict[str, Any]) -> dict[str, float]:
    given = [(card.get("job"), card.get("running_hours"))]
    past = card.get("past")
    for one in past if isinstance(past, list) else []:
        if isinstance(one, dict):
            given.append((one.get("job"), one.get("hours")))
    found: dict[str, float] = {}
    for job, hours in given:
        try:
            found[str(job)] = parse_amount(str(hours), "time", allow=("single",)).nominal
        except UnitProblem:
            continue  # not given; one that is wrong is for ``check`` to tell
    return found


def _model(folder: Path, name: str, notes: list[str]) -> ModelSheet | None:
    path = folder / "models" / f"{Path(name).name}.yaml"
    try:
        sheet = load_sheet(path)
    except SheetError as error:
        notes += [str(problem) for problem in error.problems]
        return None
    return sheet if isinstance(sheet, ModelSheet) else None
