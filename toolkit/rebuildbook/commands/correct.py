"""``rebuildbook correct``: put an entry right by a new one that names it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from rebuildbook.commands import Refused
from rebuildbook.commands.bench import bench_of
from rebuildbook.commands.cards import plain_case
from rebuildbook.record.entry import Entry
from rebuildbook.record.judge import judge
from rebuildbook.record.ledger import Ledger, LedgerError
from rebuildbook.record.raw import Place, Raw
from rebuildbook.record.remarks import Remark, note_in, remarks_in, with_remarks
from rebuildbook.record.unit_sheets import card_of
from rebuildbook.sheets import SheetError
from rebuildbook.units import DIMENSIONS, Amount, UnitProblem, parse_amount

ORIGIN = "rebuildbook correct"
_BELOW_ZERO = {"pressure", "head"}  # a vacuum, a lift


def corrected(
    id_: int, value: str, *, why: str, by: str, on: str | None, tool: str | None, ledger: Path
) -> str:
    """Append the correction and say what was put in; raises Refused for what cannot be."""
    if not by.strip():
        raise Refused("--by: say who makes the correction")
    book = Ledger(ledger)
    try:
        if not ledger.exists():
            raise Refused(f"{ledger}: there is no ledger yet; name another with --ledger")
        old = book.get(id_)
        if old is None:
            last, _ = book.head()
            raise Refused(f"{ledger}: there is no entry {id_}; the last one is {last}")
        given = _new_value(id_, old.entry, value)
        entry = replace(
            given,
            by=by,
            on=old.entry.on if on is None else on,
            tool=old.entry.tool if tool is None else tool,
            came_from=ORIGIN,
        )
        if replace(entry, by="", came_from="") != replace(old.entry, by="", came_from=""):
            entry = _judged(entry, ledger.parent)  # else the ledger says that nothing differs
        kept = book.correct(id_, entry, why)
    except LedgerError as error:
        raise Refused(str(error)) from None
    except (UnitProblem, ValueError) as problem:
        raise Refused(f"{ledger}: {problem}") from None
    what = entry.subject if entry.number is None else f"{entry.subject} no. {entry.number}"
    was, new = (one.given or one.text or "(nothing)" for one in (old.entry, entry))
    told = [f"  {remark}" for remark in remarks_in(kept.entry.text) if entry.si is not None]
    return "\n".join(
        [
            f"entry {kept.id} takes the place of entry {id_}: {entry.serial}, job {entry.job}, "
            f"{entry.kind} {what}: {new}, was {was}",
            *told,
        ]
    )


def _judged(entry: Entry, folder: Path) -> Entry:
    """A corrected reading is held against its job anew; what was said of the old one goes."""
    if entry.si is None or entry.kind not in {"torque", "measurement", "test"}:
        return entry
    note = note_in(entry.text)
    card = card_of(folder, entry.serial, entry.job)
    if card is None:
        unjudged = Remark("query", "not judged again: no job card of it was found")
        return replace(entry, text=with_remarks(note, [unjudged]))
    day, _, time = entry.on.partition("T")
    raw = Raw(
        entry.kind,
        entry.subject,
        entry.given,
        Place(ORIGIN),
        number="" if entry.number is None else str(entry.number),
        tool=entry.tool,
        on=day,
        time=time,
        by=entry.by,
        note=note,
    )
    try:
        intake = judge([raw], bench_of(plain_case(card)), date.today())
    except SheetError as error:
        raise Refused("\n".join(str(problem) for problem in error.problems)) from None
    if intake.problems:
        raise Refused("; ".join(problem.message for problem in intake.problems))
    return replace(entry, text=intake.taken[0].written.text)


def _new_value(id_: int, old: Entry, value: str) -> Entry:
    """The old entry with its quantity changed, or its text where it is no quantity."""
    if old.si is None:
        return replace(old, text=value)
    try:
        amount = parse_amount(value, old.dimension, allow=("single",))
    except UnitProblem as problem:
        raise Refused(f"entry {id_} is {_quantity(old)}: {problem}") from None
    _same_reference(id_, old, amount)
    signed = DIMENSIONS[old.dimension].signed or old.dimension in _BELOW_ZERO
    if amount.nominal < 0.0 <= old.si and not signed:
        raise Refused(f"entry {id_} is {_quantity(old)}: {value!r} is below zero")
    return replace(old, given=value.strip(), si=amount.nominal)


def _same_reference(id_: int, old: Entry, new: Amount) -> None:
    """Gauge and absolute pressures are not exchanged for one another unseen."""
    try:
        was = parse_amount(old.given, old.dimension).reference
    except UnitProblem:
        return
    if "absolute" in {was, new.reference} and was != new.reference:
        told = {"": "does not say that it is absolute", "gauge": "is a gauge pressure"}
        said = told.get(new.reference, "is an absolute pressure")
        raise Refused(f"entry {id_} is {_quantity(old)}: {new.text!r} {said}; the two do not mix")


def _quantity(old: Entry) -> str:
    return f"{DIMENSIONS[old.dimension].named}, {old.given!r}"
