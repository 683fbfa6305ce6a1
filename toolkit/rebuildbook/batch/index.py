"""The index of an output folder: every job in one table, as a page that opens offline and as data.

``index.html`` is one file that asks for nothing outside itself; ``index.parquet`` holds the same
rows for other programs. Both are written whole or not at all.
"""

from __future__ import annotations

import base64
import functools
import hashlib
import io
import json
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from rebuildbook.batch.publish import write_whole
from rebuildbook.batch.resume import Made, remembered

PAGE, DATA = "index.html", "index.parquet"
FAILED = ".failed.ipynb"  # ending of the notebook that a failed job leaves
WORST = 3  # titles of findings that a row shows
SHARE = 20.0  # writing takes at most one part in so many of the time of a run
_GRAVEST = ("hold", "query")
_COLUMNS = ("job", "serial", "model", "date", "state", "holds", "queries", "sheets", "worst")


@dataclass(frozen=True, slots=True)
class IndexRow:
    """What the index says of one job.

    ``sheets`` are those that lie in its folder, ``worst`` titles of its gravest findings; of a job
    that failed ``worst`` says why. ``folder`` is seen from the output folder, with slashes.
    """

    job: str
    serial: str = ""
    model: str = ""
    date: str = ""
    state: Literal["made", "failed"] = "made"
    holds: int = 0
    queries: int = 0
    sheets: tuple[str, ...] = ()
    worst: tuple[str, ...] = ()
    folder: str = ""

    def failed(self, why: str) -> IndexRow:
        """The row of the same job after a run that failed."""
        return replace(self, state="failed", worst=(why,) if why else ())


def row_of(made: Made, folder: str) -> IndexRow:
    """Make the row of a job from what its folder says of itself.

    The worksheet's findings come first; a later sheet has the last word on each.
    """
    levels: dict[str, str] = {}
    titles: dict[str, str] = {}
    for sheet in made.sheets.values():
        levels |= sheet.get("findings", {})
        titles |= sheet.get("worst", {})
    grave = [id_ for level in _GRAVEST for id_ in titles if levels.get(id_) == level]
    found = list(levels.values())
    serial, model, day = (*made.unit, "", "", "")[:3]
    return IndexRow(
        made.job,
        serial,
        model,
        day,
        "made",
        found.count("hold"),
        found.count("query"),
        tuple(made.sheets),
        tuple(titles[id_] for id_ in grave[:WORST]),
        folder,
    )


def worst_titles(results: Mapping[str, Any]) -> dict[str, str]:
    """Titles of the gravest findings of a results document by their id, as ``made.json`` keeps."""
    found = [finding for part in results["sections"] for finding in part["findings"]]
    grave = [one for level in _GRAVEST for one in found if one["level"] == level]
    return {finding["id"]: finding["title"] for finding in grave[: 2 * WORST]}


def lying(out: Path, known: Mapping[str, tuple[Path, Made]] | None = None) -> Iterator[IndexRow]:
    """Give a row for every job that lies in ``out``, those whose last run failed among them.

    ``known`` is what `remembered` gave, where it was asked already.
    """
    made = remembered(out) if known is None else known
    rows = [row_of(one, folder.relative_to(out).as_posix()) for folder, one in made.values()]
    by_job = {row.job: row for row in rows}
    yield from rows
    for path in sorted(out.glob(f"*{FAILED}")):
        job = path.name.removesuffix(FAILED)
        row = by_job.get(job, IndexRow(job, folder=job))
        yield row.failed(f"failed in its last run; see {path.name}")


class Index:
    """The index of one output folder, kept up while jobs are made.

    It begins with ``rows``; without them, with the jobs that lie there.
    """

    def __init__(
        self, out: Path, rows: Iterable[IndexRow] | None = None, every: float = 10.0
    ) -> None:
        self._out = out
        self._every = every
        self._rows: dict[str, IndexRow] = {}
        self._packed: dict[str, str] = {}  # each row as it stands in the page
        self._words: dict[str, int] = {}  # texts that many rows share, by their place
        self._written = self._took = float("-inf")
        self._changed = True
        for row in lying(out) if rows is None else rows:
            self.add(row)

    def of(self, job: str, unit: Sequence[str] = ()) -> IndexRow:
        """The row of a job; where there is none yet, one with no more than name and unit."""
        serial, model, day = (*unit, "", "", "")[:3]
        return self._rows.get(job, IndexRow(job, serial, model, day, folder=job))

    def add(self, row: IndexRow) -> None:
        """Put a row in, in place of the one that the job had."""
        if self._rows.get(row.job) != row:
            self._rows[row.job] = row
            self._packed[row.job] = self._pack(row)
            self._changed = True

    def keep_up(self) -> None:
        """Write the index if it is time to: seldom enough that writing costs a run little."""
        wait = max(self._every, SHARE * self._took)
        if time.monotonic() - self._written > wait:
            self.flush()

    def flush(self) -> None:
        """Write page and data, where a row changed since they were written; raises OSError."""
        if not self._changed:
            return
        began = time.monotonic()
        jobs = sorted(self._rows, key=str.casefold)
        write_whole(self._out / PAGE, self._page(jobs))
        write_whole(self._out / DATA, _parquet([self._rows[job] for job in jobs]))
        self._changed = False
        self._written = time.monotonic()
        self._took = self._written - began

    def _pack(self, row: IndexRow) -> str:
        values = (
            row.job,
            row.serial,
            self._word(row.model),
            row.date,
            int(row.state == "failed"),
            row.holds,
            row.queries,
            [self._word(sheet) for sheet in row.sheets],
            [self._word(title) for title in row.worst],
            *([row.folder] if row.folder != row.job else []),
        )
        return _json(values)

    def _word(self, text: str) -> int:
        return self._words.setdefault(text, len(self._words))

    def _page(self, jobs: Iterable[str]) -> bytes:
        rows = ",".join([self._packed[job] for job in jobs])
        data = f'{{"words":{_json(list(self._words))},"rows":[{rows}]}}'
        return (_shell()[0] + data + _shell()[1]).encode()


def write_index(out: Path, rows: Iterable[IndexRow]) -> None:
    """Write the index of ``rows``, and of nothing else, into ``out``."""
    Index(out, rows).flush()


def _json(value: object) -> str:
    """Compact JSON that cannot end the element it stands in, nor begin another."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    for char in "<>&\u2028\u2029":
        text = text.replace(char, f"\\u{ord(char):04x}")
    # a lone half of a pair is no text that can be written
    return text.encode("utf-8", "replace").decode("utf-8")


@functools.cache
def _shell() -> tuple[str, str]:
    """The page before and after its data; style and script are let in by their hashes alone."""
    folder = resources.files("rebuildbook.batch") / "index_page"
    page, style, script = (
        (folder / f"index.{ending}").read_text(encoding="utf-8") for ending in ("html", "css", "js")
    )
    page = page.replace("STYLE-HASH", _hash(style)).replace("SCRIPT-HASH", _hash(script))
    page = page.replace("/*STYLE*/", style).replace("/*SCRIPT*/", script)
    before, after = page.split("/*DATA*/")
    return before, after


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _parquet(rows: list[IndexRow]) -> bytes:
    """Set the rows as parquet.

    They go in as JSON: arrays made from lists have pyarrow load pandas, half a second and 30 MB.
    """
    import pyarrow as pa  # noqa: PLC0415  (a run loads it, nothing else here does)
    import pyarrow.json as pj  # noqa: PLC0415
    import pyarrow.parquet as pq  # noqa: PLC0415

    names = (*_COLUMNS, "folder")
    kinds = dict.fromkeys(names, pa.string())
    kinds |= dict.fromkeys(("holds", "queries"), pa.int32())
    kinds |= dict.fromkeys(("sheets", "worst"), pa.list_(pa.string()))
    schema = pa.schema(kinds)
    lines = "\n".join(
        json.dumps({name: _plain(getattr(row, name)) for name in names}) for row in rows
    )
    if rows:
        taken = pj.ParseOptions(explicit_schema=schema, unexpected_field_behavior="error")
        table = pj.read_json(io.BytesIO(lines.encode()), parse_options=taken)
    else:
        table = schema.empty_table()
    sink = pa.BufferOutputStream()
    pq.write_table(table, sink)
    return bytes(sink.getvalue())


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    return [_plain(one) for one in value] if isinstance(value, tuple) else value
