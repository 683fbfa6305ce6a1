"""What was made from what: a sheet whose inputs are the same as last time is not made again.

Each job's folder holds ``made.json``, written with its sheets and moved in with them: the files
that they were made from, a key over all that can change them, and the size and time of each file.
"""

from __future__ import annotations

import functools
import hashlib
import json
import os
import platform
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any

from rebuildbook import __version__

NAME = "made.json"


@dataclass(frozen=True, slots=True)
class Made:
    """What ``made.json`` says of one job: its card, the inputs' paths, and its sheets by name.

    ``unit`` is what tells one rebuild from another: serial, model, day. Of a sheet: ``key``,
    ``findings`` (level by id), and ``files`` (name: size in bytes, time in ns).
    """

    job: str
    unit: tuple[str, ...]
    card: str
    inputs: tuple[str, ...]
    sheets: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


@functools.cache
def digest(path: Path) -> str:
    """Hash of a file; empty where there is none."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


@functools.cache
def toolkit_digest() -> str:
    """Hash over the toolkit itself: its version, and its code, for those who change it."""
    package = Path(str(resources.files("rebuildbook")))
    total = hashlib.sha256(f"{__version__} {platform.python_version()}".encode())
    for path in sorted(package.rglob("*")):
        if path.suffix in {".py", ".csv", ".css", ".j2", ".typ", ".yaml", ".ipynb"}:
            total.update(digest(path).encode())
    return total.hexdigest()


def key_of(inputs: Iterable[Path], template: Path, options: Sequence[str]) -> str:
    """Give the key over the contents of the inputs and all else that a sheet hangs on."""
    parts = [*sorted(digest(path) for path in inputs), digest(template), *options]
    return hashlib.sha256(json.dumps([toolkit_digest(), *parts]).encode()).hexdigest()


def read_made(folder: Path) -> Made | None:
    """Read what a job's folder says of itself; None where it says nothing that can be used."""
    try:
        found = json.loads((folder / NAME).read_text(encoding="utf-8"))
        return Made(
            found["job"],
            tuple(found["unit"]),
            found["card"],
            tuple(found["inputs"]),
            {name: dict(sheet) for name, sheet in found["sheets"].items()},
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def write_made(made: Made, folder: Path) -> None:
    """Write ``made.json`` into the folder that the files of its sheets lie in."""
    text = json.dumps(
        {
            "job": made.job,
            "unit": list(made.unit),
            "card": made.card,
            "inputs": list(made.inputs),
            "sheets": {name: made.sheets[name] for name in sorted(made.sheets)},
        },
        indent=1,
    )
    (folder / NAME).write_text(text + "\n", encoding="utf-8")


def stamps(folder: Path, names: Iterable[str]) -> dict[str, list[int]]:
    """Size and time of files, by name; those that are not there are left out."""
    found = {}
    for name in names:
        try:
            state = os.stat(folder / name)  # noqa: PTH116  (a path object costs more than the call)
        except OSError:
            continue
        found[name] = [state.st_size, state.st_mtime_ns]
    return found


def whole(folder: Path, sheet: Mapping[str, Any]) -> bool:
    """Whether the files of a sheet lie there as they were written."""
    files = sheet["files"]
    return bool(files) and stamps(folder, files) == files


def remembered(out: Path) -> dict[str, tuple[Path, Made]]:
    """Give what every job's folder in ``out`` says of itself, by card."""
    found: dict[str, tuple[Path, Made]] = {}
    if out.is_dir():
        for entry in os.scandir(out):
            if entry.is_dir() and not entry.name.startswith("."):
                made = read_made(Path(entry.path))
                if made is not None:
                    found[made.card] = (Path(entry.path), made)
    return found
