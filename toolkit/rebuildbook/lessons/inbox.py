"""The notebooks in a folder of submissions: found without following a link, read up to a limit."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Iterator
from pathlib import Path

from rebuildbook.lessons.marking import Marked, mark_file, refused
from rebuildbook.lessons.submission import MOST_BYTES

MOST_FILES = 5000
_DEEPEST = 8


class NoFolder(ValueError):  # noqa: N818  (an answer to the teacher, not a fault)
    """A folder that cannot be marked, with the message."""


def mark_folder(folder: Path) -> list[Marked]:
    """Mark every notebook in a folder and the folders in it, in the order of their names.

    Hidden files and folders, as a notebook editor's own copies, are left out; links are not
    followed. Raises NoFolder where there is nothing to mark.
    """
    if not folder.is_dir():
        raise NoFolder(f"{folder}: is {'no folder' if folder.exists() else 'not there'}")
    try:
        paths = sorted(_notebooks(folder, 0))
    except OSError as error:
        raise NoFolder(f"{folder}: {_why(error)}") from None
    if not paths:
        raise NoFolder(f"{folder}: has no notebook (.ipynb) in it")
    if len(paths) > MOST_FILES:
        raise NoFolder(f"{folder}: has more than {MOST_FILES} notebooks; mark them in parts")
    return [_marked(path, path.relative_to(folder).as_posix()) for path in paths]


def _notebooks(folder: Path, depth: int) -> Iterator[Path]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith("."):
                continue
            if entry.name.lower().endswith(".ipynb") or (entry.is_symlink() and entry.is_dir()):
                yield Path(entry.path)
            elif entry.is_dir(follow_symlinks=False):
                yield from _inside(Path(entry.path), depth + 1)


def _inside(folder: Path, depth: int) -> list[Path]:
    """A folder within that may not be read, or lies too deep, stops nothing; it shows as itself."""
    if depth > _DEEPEST:
        return [folder]
    try:
        return list(_notebooks(folder, depth))
    except OSError:
        return [folder]


def _marked(path: Path, name: str) -> Marked:
    try:
        return mark_file(name, _bytes(path))
    except OSError as error:
        return refused(name, _why(error))


def _bytes(path: Path) -> bytes:
    """Read a plain file, one byte past the limit at most; never through a link, never a pipe."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    if path.is_symlink():
        raise OSError(errno.ELOOP, "is a link, which is not followed")
    if not stat.S_ISREG(path.lstat().st_mode):
        raise OSError(errno.EINVAL, _what_else(path))
    handle = os.open(path, flags | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as file:
        return file.read(MOST_BYTES + 1)


def _what_else(path: Path) -> str:
    if not path.is_dir():
        return "is no plain file"
    called = path.name.lower().endswith(".ipynb")
    return "is a folder" if called else "is a folder that was not looked into"


def _why(error: OSError) -> str:
    reason = (error.strerror or str(error)).lower()
    return reason if reason.startswith("is ") else f"cannot be read: {reason}"
