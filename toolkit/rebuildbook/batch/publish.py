"""Put finished worksheets in place: made in a staging folder, moved in one step."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

import filelock


def prepare_output(out: Path) -> str:
    """Make the output folder; gives a message when it cannot be written, else an empty string."""
    try:
        out.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=out):
            pass
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        return f"{out}: the output folder cannot be written: {reason}"
    return ""


class Busy(Exception):  # noqa: N818  (another run, not a fault)
    """Another run is writing to the folder."""


@contextlib.contextmanager
def only_run(out: Path) -> Iterator[None]:
    """Keep other runs out of an output folder; raises Busy where one is in it.

    The lock goes with the process that holds it, however that ends.
    """
    lock = filelock.FileLock(out / ".lock", blocking=False)
    try:
        lock.acquire()
    except filelock.Timeout:
        raise Busy(
            f"{out}: another run is writing there; wait for it, or give another --out"
        ) from None
    try:
        yield
    finally:
        lock.release()


@contextlib.contextmanager
def staging(out: Path, name: str) -> Iterator[Path]:
    """Give a folder beside the final one; on a clean exit it takes the final one's place.

    The staging folder is as deep as the final one, so relative paths hold in both. On an
    exception it is removed and what stood there before stays.
    """
    final = out / name
    made = Path(tempfile.mkdtemp(prefix=f".{name}-", dir=out))
    try:
        yield made
        made.chmod(0o777 & ~_umask())
        _swap(made, final)
    finally:
        shutil.rmtree(made, ignore_errors=True)


def carry_over(final: Path, made: Path, names: Iterable[str]) -> None:
    """Take files that are not made anew along from the final folder into the staging folder."""
    for name in names:
        with contextlib.suppress(FileNotFoundError):
            shutil.copy2(final / name, made / name)


def _swap(made: Path, final: Path) -> None:
    if not final.exists():
        made.rename(final)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{final.name}-old-", dir=final.parent))
    final.rename(old / "was")
    try:
        made.rename(final)
    except OSError:
        (old / "was").rename(final)
        raise
    finally:
        shutil.rmtree(old, ignore_errors=True)


def sweep(out: Path, name: str) -> None:
    """Remove the staging folders of a job whose process was killed before it could tidy up."""
    pattern = re.compile(rf"\.{re.escape(name)}-[a-z0-9_]{{8}}")  # as tempfile names them
    for path in out.iterdir() if out.is_dir() else ():
        if pattern.fullmatch(path.name):
            shutil.rmtree(path, ignore_errors=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
