"""Turn what a file holds into entries: each reading is checked as it enters.

A reading that cannot be understood makes a problem, and then nothing of the file is taken. One
that is understood but stands against the plan is taken with a remark, a query or a hold, which
goes into the entry's text: it was read, and the record says so.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from rebuildbook.record.amounts import read_amount, read_day
from rebuildbook.record.bench import Bench
from rebuildbook.record.entry import Entry
from rebuildbook.record.form_rows import readings_of_test
from rebuildbook.record.judge_value import judge_length, judge_test, judge_torque
from rebuildbook.record.lots import judge_lots
from rebuildbook.record.raw import Raw
from rebuildbook.record.remarks import Remark, with_remarks
from rebuildbook.record.swapped import swapped_columns
from rebuildbook.sheets import Problem
from rebuildbook.sheets.fields import Quantity
from rebuildbook.sheets.pointing import nowhere
from rebuildbook.units import Amount

_PLAIN = {
    "torque": Quantity("torque", ("single",)),
    "measurement": Quantity("length", ("single",)),
}
LONGEST = 1000  # characters of a note


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading that is taken, with what stands against it."""

    entry: Entry
    raw: Raw
    remarks: tuple[Remark, ...] = ()
    amount: Amount | None = None

    def remarked(self, more: Iterable[Remark]) -> Taken:
        """Add remarks."""
        return replace(self, remarks=(*self.remarks, *more))

    @property
    def written(self) -> Entry:
        """The entry with its remarks in its text, as it goes on record."""
        return replace(self.entry, text=with_remarks(self.raw.note, self.remarks))

    @property
    def level(self) -> str:
        """The gravest of its remarks; empty where nothing stands against it."""
        levels = {remark.level for remark in self.remarks}
        return next((level for level in ("hold", "query") if level in levels), "")


@dataclass(slots=True)
class Intake:
    """What becomes of a file: readings taken, or the problems for which none is."""

    taken: list[Taken] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def judge(raws: Sequence[Raw], bench: Bench, today: date) -> Intake:
    """Check every reading of a file and give its entries; nothing is taken where one is unfit."""
    swapped = swapped_columns(raws, bench)
    if swapped:
        return Intake([], swapped)  # every other message would be about the same mistake
    made = [_Row(raw, bench, today).read() for raw in raws]
    problems = [problem for row in made for problem in row.problems]
    taken = [row.taken for row in made if row.taken is not None]
    lots, found = judge_lots([(one.raw, one.entry) for one in taken], bench)
    problems += found
    if problems:
        return Intake([], problems)
    return Intake([one.remarked(lots[place]) for place, one in enumerate(taken)], [])


class _Row:
    """One row on its way to an entry."""

    def __init__(self, raw: Raw, bench: Bench, today: date) -> None:
        self._raw, self._bench, self._today = raw, bench, today
        self.problems: list[Problem] = []
        self.taken: Taken | None = None

    def read(self) -> _Row:
        raw, job = self._raw, self._bench.case.job
        quantity = self._quantity()
        number = self._number()
        day = self._day()
        self._text("by", raw.by, 200)
        self._text("note", raw.note, LONGEST)
        remarks = list(raw.remarks)
        amount, given = None, ""
        if quantity is not None:
            try:
                read = read_amount(raw.value, raw.unit, quantity, raw.comma)
            except ValueError as problem:
                self._problem("reading", raw.value, str(problem))
            else:
                amount, given = read.amount, read.given
                remarks += [Remark("told", text) for text in read.told]
        if raw.kind == "signature" and not raw.by:
            self._problem("by", "", "is empty; a signature is a name")
        self._check_tool(quantity.dimension if quantity else "")
        if self.problems:
            return self
        if amount is not None:
            remarks += self._against(amount, day)
        elif day is None:
            remarks.append(Remark("query", "no date"))
        entry = Entry(
            job.serial,
            job.job,
            raw.kind,
            raw.subject,
            number,
            given,
            amount.nominal if amount else None,
            amount.dimension if amount else "",
            raw.tool,
            day.isoformat() if day else "",
            raw.by,
            str(raw.place),
        )
        self.taken = Taken(entry, raw, tuple(remarks), amount)
        return self

    def _against(self, amount: Amount, day: date | None) -> list[Remark]:
        raw, bench = self._raw, self._bench
        remarks = [] if day else [Remark("query", "no date")]
        if not raw.by:
            remarks.append(Remark("query", "nobody is named"))
        match raw.kind:
            case "torque":
                remarks += judge_torque(amount, raw, day, bench)
            case "measurement":
                remarks += judge_length(amount, bench.case.model.wear_limits[raw.subject])
            case _:
                remarks += judge_test(amount, raw, day, bench)
        return remarks

    def _quantity(self) -> Quantity | None:
        """What the reading may be; None where there is none, or nothing that it could be of."""
        raw, bench = self._raw, self._bench
        tests = {reading.name: reading.quantity for reading in readings_of_test(bench.case)}
        offered: dict[str, tuple[Collection[str], str]] = {
            "torque": (bench.joints, "joint of the model sheet"),
            "measurement": (bench.case.model.wear_limits, "wear limit of the model sheet"),
            "test": (tests, "reading of the test"),
        }
        names = [name for known, _ in offered.values() for name in known]
        offered["deviation"] = names, "joint, wear limit or reading of this job"
        if not raw.subject:
            self._problem("joint", "", "is empty; the row does not say what was read")
        elif raw.kind in offered and raw.subject not in offered[raw.kind][0]:
            known, kind = offered[raw.kind]
            self._problem("joint", raw.subject, nowhere(raw.subject, kind, known))
        return _PLAIN.get(raw.kind, tests.get(raw.subject)) if raw.value else None

    def _number(self) -> int | None:
        raw = self._raw
        joint = self._bench.joints.get(raw.subject)
        if raw.kind != "torque" and not (raw.kind == "deviation" and raw.number):
            return None
        if not raw.number.isdecimal() or not raw.number.isascii():
            message = "wanted the number of the fastener, a whole number"
            self._problem("fastener", raw.number, message)
            return None
        number = int(raw.number[:10])
        if joint is not None and not 1 <= number <= joint.count:
            some = f"1 to {joint.count}" if joint.count > 1 else "1 only"
            self._problem("fastener", raw.number, f"{raw.subject} has the numbers {some}")
        return number

    def _day(self) -> date | None:
        raw, opened = self._raw, self._bench.case.job.opened
        if not raw.on:
            return None
        try:
            day = read_day(raw.on)
        except ValueError as problem:
            self._problem("date", raw.on, str(problem))
            return None
        if day < opened:
            self._problem("date", raw.on, f"is before the job was opened, {opened.isoformat()}")
        if day > self._today:
            self._problem("date", raw.on, f"lies in the future; today is {self._today.isoformat()}")
        return day

    def _check_tool(self, dimension: str) -> None:
        raw, bench = self._raw, self._bench
        self._text("tool", raw.tool, 200)
        if not raw.tool or dimension not in {"torque", "pressure"}:
            return  # callipers and watches are not on the shop sheet
        wrenches, gauges = bench.case.shop.wrenches, bench.case.shop.gauges
        if dimension == "torque" and raw.tool not in wrenches:
            message = nowhere(raw.tool, "wrench of the shop sheet", wrenches)
            self._problem("tool", raw.tool, message)
        if dimension == "pressure" and raw.tool not in gauges:
            self._problem("tool", raw.tool, nowhere(raw.tool, "gauge of the shop sheet", gauges))

    def _text(self, name: str, text: str, longest: int) -> None:
        if len(text) > longest:
            self._problem(name, text, f"is longer than {longest} characters")
        if any(_hides(char) for char in text):
            self._problem(name, ascii(text), "holds a control character; write plain text")

    def _problem(self, name: str, given: str, message: str) -> None:
        self.problems.append(self._raw.place.problem(name, given, message))


def _hides(char: str) -> bool:
    """Whether a character commands a terminal, means nothing, or turns the line about."""
    if char in "\n\t":
        return False
    turns = "\u202a" <= char <= "\u202e" or "\u2066" <= char <= "\u2069"
    return turns or unicodedata.category(char) in {"Cc", "Cs", "Co", "Cn"}
