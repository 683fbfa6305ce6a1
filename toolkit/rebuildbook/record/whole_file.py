"""Write a file whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path


def write_whole(path: Path, data: bytes, *, over: bool = False) -> None:
    """Write ``data`` to ``path`` in one step; an existing file is written over only if ``over``.

    The folder is made where it is not there. Raises FileExistsError, and OSError for a place that
    cannot be written, with nothing left behind.
    """
    if path.parent.exists() and not path.parent.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(path.parent))
    path.parent.mkdir(parents=True, exist_ok=True)
    with whole(path, over=over) as made, made.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


@contextlib.contextmanager
def whole(path: Path, *, over: bool = False, mark: str = ".") -> Iterator[Path]:
    """Give a file beside ``path`` to write to, which takes its name in one step at the end.

    ``mark`` begins its name meanwhile. Where something fails it goes, and ``path`` stays as it was.
    """
    handle, name = tempfile.mkstemp(prefix=f"{mark}{path.name}-", dir=path.absolute().parent)
    os.close(handle)
    made = Path(name)
    try:
        yield made
        made.chmod(0o666 & ~umask())
        if over:
            made.replace(path)
        else:
            _into_a_free_place(made, path)
    finally:
        made.unlink(missing_ok=True)


def _into_a_free_place(made: Path, path: Path) -> None:
    try:
        os.link(made, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        if path.exists():
            raise FileExistsError(str(path)) from None
        made.rename(path)


def umask() -> int:
    """What new files and folders are kept from by this user."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
