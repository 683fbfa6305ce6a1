"""The traveller: what goes to the bench with the unit, step by step, to tick, read and sign."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from pathlib import Path

from rebuildbook.sheets import Case, load_case
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.document import JobSheet
from rebuildbook.worksheet.model import Note, Section, Table
from rebuildbook.worksheet.plan import plan_joints
from rebuildbook.worksheet.safety import make_safe
from rebuildbook.worksheet.summary import findings_first, sign_off
from rebuildbook.worksheet.traveller_cure import clock_of
from rebuildbook.worksheet.traveller_pages import station_sections
from rebuildbook.worksheet.traveller_parts import disassembly_section, parts_section
from rebuildbook.worksheet.traveller_time import time_section
from rebuildbook.worksheet.traveller_work import works_of

TITLE = "Traveller"


class Traveller(JobSheet):
    """All pages of one case's traveller, computed once and shown one by one.

    ``stations`` are the ids of its bench pages, in the order of the work.
    """

    def __init__(self, case: Case, paper: str = "") -> None:
        context = Context(case)
        works = works_of(context, plan_joints(context))
        clock = clock_of(context, works)
        pages = tuple(station_sections(context, clock))
        made = (
            dataclasses.replace(_for_pen(make_safe(context)), title="Before you start"),
            parts_section(context, works),
            disassembly_section(context, works),
            time_section(context, clock),
            *pages,
            dataclasses.replace(_for_pen(sign_off(context)), new_page=True),
        )
        self.case = case
        self.paper = paper or case.shop.paper
        self.stations = tuple(page.id for page in pages)
        self.sections: dict[str, Section] = {
            section.id: section for section in (_findings(context, made), *made)
        }

    @property
    def head(self) -> dict[str, str]:
        """What the head and foot of the paper carry."""
        return super().head | {"title": TITLE}


def _for_pen(section: Section) -> Section:
    """A section of the worksheet with boxes that a pen fits into."""
    blocks = (
        dataclasses.replace(block, pen=True) if isinstance(block, Table) else block
        for block in section.blocks
    )
    return dataclasses.replace(section, blocks=tuple(blocks))


def _findings(context: Context, made: tuple[Section, ...]) -> Section:
    found = findings_first(context, made)
    notes = [
        Note(
            "These are the findings on the times of the assembly. Those on parts, joints, seals "
            "and tests stand on the worksheet of this job; it is read first."
        )
    ]
    if not context.model.assembly:
        notes.append(
            Note(
                "The model sheet gives no assembly: the joints are the only steps, in the order "
                "that `follows` leaves them."
            )
        )
    return dataclasses.replace(found, blocks=(*found.blocks, *notes))


def open_traveller(
    job_card: str | Path, overrides: Iterable[str] = (), paper: str = ""
) -> Traveller:
    """Load a job card with the sheets it names and make its traveller.

    ``paper`` is "a4" or "letter"; empty takes the shop's. Raises SheetError with every problem of
    the sheets.
    """
    return Traveller(load_case(Path(job_card), overrides), paper)
