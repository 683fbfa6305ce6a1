"""``rebuildbook order``: the tightening order of a bolt pattern, and its passes."""

from __future__ import annotations

from pathlib import Path

from rebuildbook.calculators import layout as layouts
from rebuildbook.calculators.layout import Layout
from rebuildbook.calculators.tightening import Plan, tightening_plan
from rebuildbook.commands import Refused
from rebuildbook.commands.convert import written
from rebuildbook.units import UnitProblem, parse_amount

SIZE = 0.2  # metres; only the shape matters for an order


def order_text(
    count: int,
    *,
    layout: str,
    kind: str,
    columns: int | None,
    rows: int | None,
    torque: str | None,
    step: str,
    passes: str,
    figure: Path | None,
) -> str:
    """Give the order as text, and draw it if asked; raises Refused for what cannot be."""
    try:
        window = parse_amount(torque or "1 N*m", "torque")
        mark = parse_amount(step, "torque", allow=("single",))
        fractions = [parse_amount(part, "fraction").nominal for part in passes.split(",")]
        unit = window.unit if torque else mark.unit
        plan = tightening_plan(
            make_layout(count, layout, columns, rows),
            kind,  # type: ignore[arg-type]
            fractions,
            setting=window.nominal,
            step=mark.nominal if torque else window.nominal / 100,
            wrench_low=0.0,
            window_low=window.low,
            window_high=window.high,
        )
    except (UnitProblem, ValueError) as problem:
        raise Refused(str(problem)) from None
    lines = [
        f"{count} on {'an' if layout == 'oval' else 'a'} {layout}, {kind} order; "
        f"{plan.layout.numbering}:"
    ]
    lines.append("  " + "  ".join(str(position) for position in plan.order))
    if torque:
        lines += ["passes:", *_passes(plan, unit)]
    if figure is not None:
        lines.append(_draw(plan, figure))
    return "\n".join(lines)


def make_layout(count: int, layout: str, columns: int | None, rows: int | None) -> Layout:
    """Lay ``count`` fasteners out; raises ValueError for counts that do not fit the shape."""
    match layout:
        case "circle":
            return layouts.circle(count, SIZE)
        case "oval":
            return layouts.oval(count, 1.5 * SIZE, SIZE)
        case "row":
            if rows is not None and rows < 1:
                raise ValueError(f"{rows} rows given; a row of fasteners has 1 or more")
            if rows is None or rows == 1:
                return layouts.row(count, SIZE)
            if count % rows:
                raise ValueError(f"{count} fasteners do not fill {rows} rows evenly")
            return layouts.manifold(rows, count // rows, 1.5 * SIZE, SIZE)
        case "rectangle":
            across, down = _sides(count, columns, rows)
            return layouts.rectangle(across, down, SIZE * across, SIZE * down)
    raise ValueError(f"layout {layout!r} is not known; use circle, rectangle, oval or row")


def _sides(count: int, columns: int | None, rows: int | None) -> tuple[int, int]:
    """Columns and rows of a rectangle whose edge holds ``count`` fasteners."""
    both = count // 2 + 2  # columns + rows, as the corners count once
    if columns is None and rows is None:
        columns = (both + 1) // 2
    across = columns if columns is not None else both - (rows or 0)
    down = rows if rows is not None else both - across
    if across < 2 or down < 2 or 2 * (across + down) - 4 != count:
        raise ValueError(
            f"{count} fasteners do not go round the edge of {across} columns and {down} rows "
            f"(that takes {max(2 * (across + down) - 4, 0)}); give --columns and --rows"
        )
    return across, down


def _passes(plan: Plan, unit: str) -> list[str]:
    rows = []
    for made in plan.passes:
        torque = "by hand" if made.kind == "snug" else written(made.torque, unit, 4)
        way = " ".join(str(position) for position in made.order)
        rows.append(f"  {made.number}. {torque}: {way}")
        rows += [f"     {remark}" for remark in made.remarks]
    return rows


def _draw(plan: Plan, path: Path) -> str:
    from rebuildbook.figures.pattern import tightening_pattern  # noqa: PLC0415  (loads matplotlib)

    if path.suffix.lower() not in {".svg", ".png", ".pdf"}:
        raise Refused(f"--figure {path}: wanted a name that ends in .svg, .png or .pdf")
    try:
        tightening_pattern(plan).savefig(path, dpi=200)
    except OSError as error:
        raise Refused(f"--figure {path}: cannot be written: {error.strerror}") from None
    return f"figure: {path}"
