"""Put finished worksheets in place: made in a staging folder, moved in one step."""

from __future__ import annotations

import contextlib
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

import filelock

from rebuildbook.record.whole_file import umask, whole


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


MAKING = ".making."  # how names begin that only the run holding the lock may give


@contextlib.contextmanager
def staging(out: Path, name: str, mark: str = ".") -> Iterator[Path]:
    """Give a folder beside the final one; on a clean exit it takes the final one's place.

    The staging folder is as deep as the final one, so relative paths hold in both. On an
    exception it is removed and what stood there before stays.
    """
    final = out / name
    made = Path(tempfile.mkdtemp(prefix=f"{mark}{name}-", dir=out))
    try:
        yield made
        made.chmod(0o777 & ~umask())
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
    old = Path(tempfile.mkdtemp(prefix=f"{made.name}{_OLD}", dir=final.parent))
    try:
        final.rename(old / _WAS)
        made.rename(final)
    finally:
        _put_back(old, final)
        shutil.rmtree(old, ignore_errors=True)


_OLD, _WAS = "-old-", "was"


def _put_back(old: Path, final: Path) -> None:
    """Give a folder its place again that was to be replaced, where nothing took it."""
    if not final.exists() and (old / _WAS).exists():
        (old / _WAS).rename(final)


def sweep(out: Path, name: str = "") -> None:
    """Put away what a job leaves whose process was killed; of all jobs, where none is named.

    Only for the run that holds the lock.
    """
    random = "[a-z0-9_]{8}"  # as tempfile names them
    job = re.escape(name) if name else ".+?"
    pattern = re.compile(rf"{re.escape(MAKING)}({job})-{random}({_OLD}{random})?")
    for path in list(out.iterdir()) if out.is_dir() else ():
        found = pattern.fullmatch(path.name)
        if found is None:
            continue
        if found[2]:
            _put_back(path, out / found[1])
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)


def write_whole(path: Path, data: str | bytes) -> None:
    """Write a file of a run's in one step, so that it is never seen half-written."""
    with whole(path, over=True, mark=MAKING) as made:
        made.write_bytes(data if isinstance(data, bytes) else data.encode())
