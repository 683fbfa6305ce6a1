"""Folders for temporary files, which a later run removes where theirs was killed."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from pathlib import Path

import filelock

_PREFIX = "rebuildbook-"
_HELD = ".held"  # locked for as long as the process that made the folder lives


class Scratch:
    """A private folder below ``within``, the system's temporary folder as a rule."""

    def __init__(self, within: str | None = None) -> None:
        while True:
            self.path = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=within))
            self._lock = filelock.FileLock(self.path / _HELD, blocking=False)
            with contextlib.suppress(OSError):  # a sweep came between, and took it
                self._lock.acquire()
                if (self.path / _HELD).exists():
                    return
                self._lock.release()

    def close(self) -> None:
        """Remove it."""
        self._lock.release()  # some systems keep a file that is open
        shutil.rmtree(self.path, ignore_errors=True)


def short_place() -> str:
    """Where sockets have names short enough for the system, about 100 bytes."""
    usual = tempfile.gettempdir()
    return usual if len(usual.encode()) < 50 else "/tmp"  # noqa: S108  (a private folder below it)


def sweep_scratch() -> None:
    """Remove folders whose makers were killed; those of the living, and of others, stay."""
    for place in {tempfile.gettempdir(), short_place()}:
        for path in Path(place).glob(f"{_PREFIX}*/{_HELD}"):
            lock = filelock.FileLock(path, blocking=False)
            with contextlib.suppress(OSError):  # filelock.Timeout is one
                lock.acquire()
                shutil.rmtree(path.parent, ignore_errors=True)
                lock.release()
                shutil.rmtree(path.parent, ignore_errors=True)  # some keep a file that is open
