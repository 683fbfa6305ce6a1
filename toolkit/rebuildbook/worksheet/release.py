"""Whether a rebuilt unit may go: open holds, what was accepted and by whom, who released it."""

from __future__ import annotations

import functools
import hashlib
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

import segno

from rebuildbook.record.kept import Kept
from rebuildbook.record.overlay import Disagreement, Record
from rebuildbook.record.remarks import remarks_in
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import (
    LEVELS,
    Block,
    Caution,
    Finding,
    Level,
    Line,
    Lines,
    Note,
    Picture,
    Section,
    Table,
)

State = Literal["not to be released", "ready for release", "released", "changed since its release"]

# these are errors and not departures from a plan: nobody may wave them through
_NEVER = re.compile(r"relief[.-]|joints\.[^.]+\.(unit|reading-unit)$")
_STANDS_ON = {"torque", "measurement", "test", "deviation"}
_TOLD = 4  # remarks written out in one finding
_SHORT = 16  # figures of a hash that are enough to tell two sheets apart

_SAID: dict[State, str] = {
    "not to be released": "Not to be released: {holds}.",
    "ready for release": "Nothing stands against it: ready for release, not released yet.",
    "released": "Released by {by} on {on}.",
    "changed since its release": "Not released as it stands here: released by {by} on {on}, and "
    "changed since. It takes a new release.",
}


@dataclass(frozen=True, slots=True)
class Accepted:
    """A finding that somebody accepted: what was said, and who said it."""

    finding: Finding
    what: str
    by: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """How a unit stands: open findings, gravest first, accepted ones, and the last release.

    ``refused`` are findings that were accepted on paper and cannot be.
    """

    state: State
    open: tuple[Finding, ...]
    accepted: tuple[Accepted, ...]
    refused: tuple[Finding, ...]
    release: Kept | None

    @property
    def holds(self) -> tuple[Finding, ...]:
        """The open holds."""
        return tuple(finding for finding in self.open if finding.level == "hold")

    @property
    def said(self) -> str:
        """The state in words."""
        count = len(self.holds)
        return _SAID[self.state].format(
            holds=f"{count} {'holds are' if count > 1 else 'hold is'} open",
            by=self.release.entry.by if self.release else "",
            on=self.release.entry.on if self.release else "",
        )


def basis_of(context: Context, record: Record) -> str:
    """Hash over what a release stands on: the card, and what was read, as far as it counts.

    A release outlives a new wrench on the shop sheet and a new version of this toolkit.
    """
    read = [kept.hash for kept in record.standing if kept.entry.kind in _STANDS_ON]
    card = context.case.files["job"][1]
    return hashlib.sha256("\n".join([card, *read]).encode()).hexdigest()


def verdict(context: Context, record: Record, findings: Iterable[Finding]) -> Verdict:
    """Judge how a unit stands, by its findings and the record."""
    said = _acceptances(context, record)
    standing = [finding for finding in findings if finding.level != "clear"]
    standing.sort(key=lambda finding: LEVELS.index(finding.level))
    accepted, refused, left = [], [], []
    for finding in standing:
        what, by = said.get(finding.id, ("", ""))
        never = finding.level == "hold" and _NEVER.match(finding.id)
        if by and not never:
            accepted.append(Accepted(finding, what, by))
            continue
        left.append(finding)
        if by:
            refused.append(finding)
    releases = record.of("release")
    last = releases[-1] if releases else None
    state: State = "ready for release"
    if any(finding.level == "hold" for finding in left):
        state = "not to be released"
    elif last is not None:
        same = last.entry.text.endswith(basis_of(context, record))
        state = "released" if same else "changed since its release"
    return Verdict(state, tuple(left), tuple(accepted), tuple(refused), last)


def _acceptances(context: Context, record: Record) -> Mapping[str, tuple[str, str]]:
    """What was accepted, (words, by whom) for the id of a finding; the record comes last."""
    said = {
        deviation.finding: (deviation.what, deviation.accepted_by)
        for deviation in context.job.deviations
        if deviation.finding and deviation.accepted_by
    }
    for kept in record.of("deviation"):
        said[kept.entry.subject] = (kept.entry.text, kept.entry.by)
    return said


def release_section(context: Context, record: Record, found: Verdict, digest: str) -> Section:
    """Build the statement of release, with its signatures and the code that leads back here."""
    job = context.job
    blocks: list[Block] = [Note(found.said), _state(found)]
    if found.state != "released":
        blocks.append(
            Caution(
                "A unit that is not released stays at the bench, tagged and disconnected. The "
                "maker's manual, local codes and licensed practice decide over this sheet."
            )
        )
    signed = [(s.role, s.name, s.on.isoformat(), "") for s in job.sign_off]
    signed += [
        (kept.entry.subject, kept.entry.by, kept.entry.on, f"entry {kept.id}")
        for kept in (*record.of("signature"), *record.of("release"))
    ]
    boxes = [] if found.state == "released" else [("released", "", "", "")]
    blocks.append(Table("Signatures", ("Role", "Name", "Date", "Signature"), (*signed, *boxes)))
    blocks.append(
        Picture(
            "code",
            f"Job {job.job}, serial {job.serial}, as-built {digest[:_SHORT]}: leads from the paper "
            "back to the record.",
            f"code of job {job.job}, serial {job.serial}, hash {digest}",
            functools.partial(_code, job.job, job.serial, digest),
        )
    )
    return Section("release", "Release", tuple(blocks))


def _state(found: Verdict) -> Lines:
    """The state and what is open, for programs that read the results."""
    return Lines(
        "How it stands",
        (
            Line("release.state", "State", found.state),
            Line("release.open", "Open", ", ".join(one.id for one in found.open) or "nothing"),
        ),
    )


def _code(job: str, serial: str, digest: str) -> str:
    """A square code, as SVG text, of job, serial and hash."""
    out = io.BytesIO()
    code = segno.make(f"{job}\n{serial}\n{digest}", error="m", micro=False)
    code.save(out, kind="svg", scale=2, border=4, xmldecl=False, svgclass=None, lineclass=None)
    return out.getvalue().decode()


def open_findings(found: Verdict) -> Section:
    """Build the section that comes first: the state, what is open, what was accepted."""
    blocks: list[Block] = [Note(found.said), *found.open]
    for finding in found.refused:
        blocks.append(
            Note(
                f"{finding.id} was accepted by somebody. It cannot be: it is an error, not a "
                "departure from the plan."
            )
        )
    if found.accepted:
        rows = tuple(
            (one.finding.level, one.finding.title, one.what, one.by) for one in found.accepted
        )
        blocks.append(Table("Accepted", ("Level", "Finding", "Accepted as", "By"), rows))
    return Section("findings", "How it stands", tuple(blocks))


def changes(context: Context, record: Record, disagreements: Iterable[Disagreement]) -> Section:
    """Build the section on what differs: deviations, corrected entries, card against record."""
    blocks: list[Block] = []
    deviations = [(d.what, d.accepted_by or "", d.finding or "") for d in context.job.deviations]
    deviations += [
        (kept.entry.text, kept.entry.by, kept.entry.subject) for kept in record.of("deviation")
    ]
    if deviations:
        heads = ("Departure from the plan", "Accepted by", "Finding")
        blocks.append(Table("Deviations", heads, tuple(deviations)))
    if record.corrected:
        rows = tuple(_correction(old, new) for old, new in record.corrected)
        columns = ("Entry", "What", "Was", "Is", "Why", "By", "Now entry")
        blocks.append(Table("Corrected", columns, rows, "The old entries stay in the ledger."))
    differing = (*(_disagreement(one) for one in disagreements), *remarked(record))
    if not blocks and not differing:
        blocks.append(Note("No deviation, and no entry was corrected."))
    return Section("changes", "Deviations and corrections", (*blocks, *differing))


def _correction(old: Kept, new: Kept) -> tuple[str, ...]:
    entry = old.entry
    what = entry.subject + (f" no. {entry.number}" if entry.number is not None else "")
    was, now = (one.entry.given or one.entry.text for one in (old, new))
    return str(old.id), what, was, now, new.why, new.entry.by, str(new.id)


def _disagreement(one: Disagreement) -> Finding:
    entry = one.kept.entry
    return Finding(
        f"record.{one.field.replace(' no. ', '.')}",
        "query",
        f"{one.field}: card and record disagree",
        f"{one.card} on the card, {entry.given} in entry {one.kept.id}; the entry counts here",
        action="Find out which is right; correct the entry, or the card.",
        source=f"ledger, {entry.came_from}" if entry.came_from else "ledger",
    )


def remarked(record: Record) -> Iterator[Finding]:
    """What was said against readings as they came in, one finding for each thing that was read."""
    readings = (*record.of("torque"), *record.of("measurement"), *record.of("test"))
    for (kind, subject), entries in _by_thing(readings).items():
        said = [
            (kept, remark)
            for kept in entries
            for remark in remarks_in(kept.entry.text)
            if remark.level != "told"
        ]
        if not said:
            continue
        level: Level = "hold" if any(remark.level == "hold" for _, remark in said) else "query"
        told = [f"entry {kept.id}: {remark.text}" for kept, remark in said[:_TOLD]]
        if len(said) > _TOLD:
            told.append(f"and {len(said) - _TOLD} more")
        yield Finding(
            f"record.{kind}.{subject}",
            level,
            f"{subject}: told when the reading came in",
            "; ".join(told),
            action="Read it again and correct the entry, or let somebody accept it by name.",
            source="ledger",
        )


def _by_thing(entries: Iterable[Kept]) -> Mapping[tuple[str, str], list[Kept]]:
    found: dict[tuple[str, str], list[Kept]] = {}
    for kept in entries:
        found.setdefault((kept.entry.kind, kept.entry.subject), []).append(kept)
    return found


def hold_points(context: Context, record: Record) -> Iterator[Finding]:
    """Hold points of the assembly that nobody signed on record.

    Where somebody of the role signed the card off, the paper may have it: that is to be asked.
    """
    signed = {kept.entry.subject for kept in record.of("signature")}
    roles = {one.role for one in context.job.sign_off}
    for name, step in context.model.assembly.items():
        if not step.hold_point or name in signed:
            continue
        on_card = step.hold_point in roles
        yield Finding(
            f"done.{name}",
            "query" if on_card else "hold",
            f"{name}: hold point not signed on record",
            f"{step.hold_point} signed the card off, not this step"
            if on_card
            else f"no signature of {step.hold_point}",
            action="Look for it on the traveller and put it on record, or have the step checked.",
            source=context.source("model", f"assembly.{name}.hold_point"),
        )


def steps_done(record: Record) -> Iterator[Block]:
    """The steps that were ticked off, with who and when."""
    rows = tuple(
        (kept.entry.subject, kept.entry.by, kept.entry.on, kept.entry.text)
        for kept in record.of("step")
    )
    if rows:
        yield Table("Steps done", ("Step", "By", "On", "Remark"), rows)
