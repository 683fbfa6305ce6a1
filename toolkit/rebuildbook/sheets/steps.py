"""One step of putting a unit together, as the model sheet has it."""

from __future__ import annotations

from pydantic import Field

from rebuildbook.sheets.fields import Duration, Slug, Text
from rebuildbook.sheets.part import Part


class Step(Part):
    """What is done, where, after what, with what, and what is looked at before going on."""

    what: Text = Field(description="The instruction, short")
    station: Slug = Field(description="The bench where it is done")
    after: list[Slug] = Field(
        default_factory=list, max_length=50, description="Steps or joints that come before it"
    )
    joint: Slug | None = Field(None, description="The joint that it tightens")
    valves: list[Slug] = Field(
        default_factory=list, max_length=50, description="Check valves that it sets in"
    )
    seals: list[Slug] = Field(default_factory=list, max_length=50, description="Seals that it fits")
    parts: list[Slug] = Field(
        default_factory=list, max_length=50, description="Parts of the model sheet that it fits"
    )
    checks: list[Text] = Field(
        default_factory=list,
        max_length=20,
        description="What is looked at: clocking of ports, place of a quarter turn, gaps",
    )
    consumable: list[Slug] = Field(
        default_factory=list,
        max_length=20,
        description="Consumables of the shop sheet, beside those of its joint and seals",
    )
    hold_point: Text | None = Field(
        None, description="The role that signs it, as second, before anybody goes on"
    )
    cautions: list[Text] = Field(default_factory=list, max_length=20)
    measure: list[Slug] = Field(
        default_factory=list,
        max_length=50,
        description="Wear limits that are measured here as the unit comes apart",
    )
    duration: Duration | None = Field(
        None, description="Hands on it, its joint with it; worked out from the passes without it"
    )
