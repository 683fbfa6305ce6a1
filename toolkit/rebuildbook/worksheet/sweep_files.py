"""The files of a sweep: the table as CSV and Parquet, the figure as SVG and PNG."""

from __future__ import annotations

import json
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
from matplotlib.figure import Figure

from rebuildbook import __version__
from rebuildbook.figures.style import styled, svg
from rebuildbook.worksheet.sweep import Sweep
from rebuildbook.worksheet.sweep_figure import sweep_figure

FILES = ("sweep.csv", "sweep.parquet", "sweep.svg", "sweep.png")
_KEY = b"rebuildbook"
_DPI = 200


def why_not(folder: Path) -> str:
    """Say why a sweep may not take the place of ``folder``; empty where it may.

    Only a folder that a sweep made, with nothing else in it, or an empty one is replaced.
    """
    if folder.name in {"", ".."}:
        return "is no name for a new folder"
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        return f"is a {'link' if folder.is_symlink() else 'file'}; wanted a folder of its own"
    if not folder.exists():
        return ""
    inside = sorted(path.name for path in folder.iterdir())
    others = [name for name in inside if name not in FILES]
    if others:
        return f"is no folder of a sweep alone ({others[0]} is in it); name another with --out"
    if inside and not _made_by_us(folder / "sweep.parquet"):
        return "holds files that no sweep made; name another folder with --out"
    return ""


def _made_by_us(path: Path) -> bool:
    try:
        metadata = pq.read_schema(path).metadata
    except (OSError, pa.ArrowInvalid):
        return False
    return _KEY in (metadata or {})


def write_files(sweep: Sweep, folder: Path) -> None:
    """Write the four files into ``folder``."""
    sweep.table.to_csv(folder / "sweep.csv", index=False, lineterminator="\n", encoding="utf-8")
    pq.write_table(arrow_table(sweep), folder / "sweep.parquet")
    figure: Figure = sweep_figure(sweep)
    words = f"What-if on job {sweep.job} over " + ", ".join(one.path for one in sweep.plan.swept)
    (folder / "sweep.svg").write_text(svg(figure, words), encoding="utf-8")
    with styled():
        figure.savefig(folder / "sweep.png", dpi=_DPI)


def arrow_table(sweep: Sweep) -> pa.Table:
    """The table with what each column is in its metadata: kind, unit, id and title."""
    arrays, fields = [], []
    for column in sweep.columns:
        array = pa.array(sweep.table[column.name].tolist(), from_pandas=True)
        about = {"kind": column.kind, "id": column.id, "unit": column.unit, "title": column.title}
        arrays.append(array)
        fields.append(pa.field(column.name, array.type, metadata=about))
    about_all = {
        "job": sweep.job,
        "version": __version__,
        "settings": list(sweep.settings),
        "swept": [one.path for one in sweep.plan.swept],
    }
    schema = pa.schema(fields, metadata={_KEY: json.dumps(about_all, ensure_ascii=False)})
    return pa.Table.from_arrays(arrays, schema=schema)
