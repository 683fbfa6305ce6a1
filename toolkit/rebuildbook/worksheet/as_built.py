"""The as-built sheet: the worksheet worked out with what was read, and how the unit stands."""

from __future__ import annotations

import base64
import functools
import io
from collections.abc import Iterable, Iterator
from pathlib import Path

from rebuildbook.record.overlay import Disagreement, Record, ledger_of, recorded_case
from rebuildbook.record.photo import PHOTOS, thumbnail
from rebuildbook.sheets import Case
from rebuildbook.sheets.load import SheetStore, based
from rebuildbook.worksheet.as_read import JointRead, joint_read, joints_as_read
from rebuildbook.worksheet.build import Worksheet
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.document import digest_of
from rebuildbook.worksheet.model import Block, Finding, Line, Lines, Note, Picture, Section, Value
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.release import (
    Verdict,
    changes,
    hold_points,
    open_findings,
    release_section,
    steps_done,
    verdict,
)

HOUR = 3600.0


class AsBuilt(Worksheet):
    """A worksheet whose joints are tightened as they were read, and what the record adds to it.

    ``record`` is what the ledger has of the job, ``verdict`` says how the unit stands, and
    ``digest`` is the hash over all that is shown but the release itself.
    """

    def __init__(
        self,
        case: Case,
        record: Record,
        disagreements: Iterable[Disagreement] = (),
        paper: str = "",
    ) -> None:
        self._reads: dict[str, JointRead] = {}
        self.record = record
        super().__init__(case, paper)
        context = Context(case)
        planned = self.sections
        findings = [
            finding
            for name, section in planned.items()
            if name != "findings"
            for finding in section.findings()
        ]
        own = (
            joints_as_read(context, tuple(self._reads.values()), self.worked),
            next_service(context, planned["leaks"]),
            changes(context, record, disagreements),
            done(context, record),
        )
        findings += [finding for section in own for finding in section.findings()]
        # what the as-built says of a thing takes the place of what the plan said
        findings = list({finding.id: finding for finding in findings}.values())
        shown = (planned["identity"], own[0], *(planned[name] for name in ("inspection", "test")))
        shown = (*shown, *own[1:])
        self.digest = digest_of(shown)
        self.verdict: Verdict = verdict(context, record, findings)
        release = release_section(context, record, self.verdict, self.digest)
        self.sections = {
            section.id: section for section in (open_findings(self.verdict), *shown, release)
        }

    @property
    def head(self) -> dict[str, str]:
        """What the page's head and foot carry."""
        return super().head | {"title": "As-built sheet"}

    def tightened(self, context: Context, plan: JointPlan) -> JointPlan:
        """Give a joint as it was read, where it was."""
        read = joint_read(context, plan, self.record)
        self._reads[plan.name] = read
        return read.plan or plan


def open_as_built(
    job_card: str | Path, overrides: Iterable[str] = (), paper: str = "", ledger: str = ""
) -> AsBuilt:
    """Load a job card with what the ledger has of it, and work it out as it was built.

    Raises SheetError for the sheets and LedgerError for the ledger.
    """
    card = Path(job_card)
    book = Path(ledger) if ledger else ledger_of(based(card, SheetStore()).card)
    case, record, disagreements = recorded_case(card, book, overrides)
    return AsBuilt(case, record, disagreements, paper)


def next_service(context: Context, leaks: Section) -> Section:
    """Build the section on when to look at the unit again, by wear and by the interval asked."""
    job = context.job
    left = {
        line.id.split(".")[1]: line.value.si
        for line in leaks.lines()
        if line.id.endswith(".again") and isinstance(line.value, Value)
    }
    if job.service_every is not None:
        left["the interval asked for"] = job.service_every.nominal / HOUR
    if not left:
        words = "Neither an interval nor past readings tell when to service it next."
        return Section("next-service", "Next service", (Note(words),))
    first = min(left, key=lambda name: left[name])
    lines = [
        Line(
            "next-service.within",
            "Running hours to the next service",
            Value(left[first], "number", ""),
            method="the least of what the wear of the parts and the interval asked for allow",
            data=f"set by {first}; " + context.source("job", "past, service_every"),
        )
    ]
    if job.running_hours is not None:
        hours = job.running_hours.nominal / HOUR
        lines.append(
            Line(
                "next-service.at",
                "Hour counter at the next service",
                Value(hours + left[first], "number", ""),
                "H",
                "h + n",
                {"h": Value(hours, "number", "", 6), "n": Value(left[first], "number", "")},
                "hours so far and those left",
                context.source("job", "running_hours"),
            )
        )
    return Section("next-service", "Next service", (Lines("When", tuple(lines)),))


def done(context: Context, record: Record) -> Section:
    """Build the section on steps ticked off, photos taken, and what was never done."""
    blocks = (
        *steps_done(record),
        *_photos(record),
        *hold_points(context, record),
        *_untested(context),
    )
    if not blocks:
        blocks = (Note("No step was ticked off on record, and no photo was taken."),)
    return Section("done", "Steps and photos", blocks)


def _untested(context: Context) -> Iterator[Finding]:
    if context.job.test is None:
        yield Finding(
            "done.test",
            "hold",
            "Not tested",
            "no reading of a test on the card or on record",
            action="Test the unit and put the readings on record.",
            source=context.source("job", "test"),
        )


def _photos(record: Record) -> Iterator[Block]:
    for kept in record.of("photo"):
        entry = kept.entry
        path = next((record.ledger.parent / PHOTOS).glob(f"{entry.text}.*"), None)
        if path is None:
            yield Note(
                f"The photo of {entry.subject}, entry {kept.id}, is not in the photos folder."
            )
            continue
        words = f"{entry.subject}: {entry.on} {entry.by}".rstrip()
        draw = functools.partial(_drawn, path)
        yield Picture(f"photo-{kept.id}", words, f"photo of {entry.subject}", draw)


def _drawn(photo: Path) -> str:
    """A photo's thumbnail as SVG text."""
    from PIL import Image  # noqa: PLC0415  (only where there is a photo)

    data = thumbnail(photo)
    with Image.open(io.BytesIO(data)) as picture:
        width, height = picture.size
    coded = base64.b64encode(data).decode()
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}"><image width="{width}" height="{height}" '
        f'href="data:image/jpeg;base64,{coded}"/></svg>'
    )
