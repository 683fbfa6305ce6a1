"""What the jobs took from the stores: new parts and consumables, added up."""

from __future__ import annotations

from collections.abc import Sequence

from rebuildbook.worksheet.fleet_read import FleetData
from rebuildbook.worksheet.fleet_table import Column, FleetTable, few
from rebuildbook.worksheet.kit import Kit, KitPart, kit_of
from rebuildbook.worksheet.kit_sum import SumLine, add_up, consumables_of_all
from rebuildbook.worksheet.model import Block, Note, Section


def _drawn(part: KitPart) -> bool:
    return part.drawn


def stores(fleet: FleetData) -> tuple[Section, FleetTable, FleetTable]:
    """Build the section on parts drawn and consumables used, most first.

    Parts by the kit of each card as it is measured; a consumable by the places it goes on.
    """
    kits = [kit_of(job.context) for job in fleet.jobs]
    parts = sorted(add_up(kits, _drawn), key=lambda line: -line.total)
    columns = (
        Column("Stock no."), Column("Part", width=44), Column("Make", width=36),
        Column("Pieces", width=8), Column("Jobs", width=8),
        Column("Pieces in a job", width=10, paper=False),
        Column("Models", width=36),
    )  # fmt: skip
    drawn = FleetTable(
        "parts", "Parts drawn", columns, tuple(_row(line) for line in parts),
        "Always new, and what was measured past its limit.",
    )  # fmt: skip
    things = sorted(consumables_of_all(kits), key=lambda line: -line.total)
    used = FleetTable(
        "consumables", "Consumables",
        (Column("Consumable", width=20), Column("What", width=50), Column("Places", width=8),
         Column("Jobs", width=8)),
        tuple((one.name, one.what, one.total, len(one.by_job)) for one in things),
    )  # fmt: skip
    blocks: list[Block] = [table.shown() for table in (drawn, used) if table.rows]
    if not blocks:
        blocks.append(Note(_nothing(kits)))
    return Section("stores", "Parts and consumables", tuple(blocks)), drawn, used


def _nothing(kits: Sequence[Kit]) -> str:
    return "No job takes a new part or a consumable." if kits else "There are no jobs."


def _row(line: SumLine) -> tuple[str | int | float, ...]:
    jobs = len(line.by_job)
    return (
        line.number, line.what, line.make, line.total, jobs, line.total / jobs,
        few(line.models, 4),
    )  # fmt: skip
