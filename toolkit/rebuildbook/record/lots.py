"""What only shows in a lot: a reading given twice, an odd one out, a wrong order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from rebuildbook.calculators.lot_outliers import judge_lot
from rebuildbook.record.bench import Bench
from rebuildbook.record.entry import Entry
from rebuildbook.record.raw import Raw
from rebuildbook.record.remarks import Remark
from rebuildbook.sheets import Problem
from rebuildbook.units import show

Row = tuple[Raw, Entry]


def judge_lots(rows: Sequence[Row], bench: Bench) -> tuple[dict[int, list[Remark]], list[Problem]]:
    """Give remarks by the place of a row, and the readings that are there twice."""
    remarks: dict[int, list[Remark]] = defaultdict(list)
    for joint in dict.fromkeys(entry.subject for _, entry in rows if entry.kind == "torque"):
        places = [
            place
            for place, (_, entry) in enumerate(rows)
            if entry.kind == "torque" and entry.subject == joint
        ]
        _odd_ones(places, rows, joint, bench, remarks)
        _order(places, rows, joint, bench, remarks)
    return remarks, _twice(rows)


def _twice(rows: Sequence[Row]) -> list[Problem]:
    seen: dict[tuple[str, str, int | None], Row] = {}
    found = []
    for raw, entry in rows:
        key = entry.kind, entry.subject, entry.number
        if key in seen:
            first = seen[key][0].place
            which = f"{entry.subject} no. {entry.number}" if entry.number else entry.subject
            where = f"row {first.row}" if first.row else first.path
            field = "fastener" if entry.number else "joint"
            given = str(entry.number or entry.subject)
            found.append(raw.place.problem(field, given, f"{which} is there already, in {where}"))
        seen.setdefault(key, (raw, entry))
    return found


def _odd_ones(
    places: Sequence[int],
    rows: Sequence[Row],
    joint: str,
    bench: Bench,
    remarks: dict[int, list[Remark]],
) -> None:
    """Ask about a torque that does not go with the others of its joint."""
    entries = [rows[place][1] for place in places]
    wrenches = [bench.wrenches[one.tool] for one in entries if one.tool in bench.wrenches]
    mark = max((wrench.step for wrench in wrenches), default=0.0)
    lot = judge_lot([one.si for one in entries if one.si is not None], mark)
    unit = bench.joints[joint].unit
    for odd in lot.odd:
        text = (
            f"does not go with the other {len(entries) - 1}: their median is "
            f"{show(lot.median, unit, 4)}, and it lies over 3.5 spreads of "
            f"{show(lot.spread, unit)} (from the median deviation) away"
        )
        remarks[places[odd]].append(Remark("query", text))


def _order(
    places: Sequence[int],
    rows: Sequence[Row],
    joint: str,
    bench: Bench,
    remarks: dict[int, list[Remark]],
) -> None:
    """Ask about readings that were not taken in the order of the last round, where times tell."""
    timed = [place for place in places if rows[place][0].time]
    taken = sorted(timed, key=lambda place: (rows[place][1].on, rows[place][0].time))
    numbers = [rows[place][1].number for place in taken]
    wanted = [number for number in bench.joints[joint].order if number in numbers]
    if len(wanted) != len(numbers) or numbers == wanted:
        return
    told = " ".join(str(number) for number in numbers)
    plan = " ".join(str(number) for number in wanted)
    text = f"{joint} was read in the order {told}; the last round is {plan}"
    remarks[taken[0]].append(Remark("query", text))
