"""The parts of a model that a rebuild puts in anew, keeps or reworks."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Literal

from pydantic import Field

from rebuildbook.sheets.fields import Slug, Text, YesNo
from rebuildbook.sheets.part import Part
from rebuildbook.sheets.pointing import Found, nowhere

if TYPE_CHECKING:
    from rebuildbook.sheets.model import ModelSheet


class PartItem(Part):
    """One part, or several alike, and what decides whether it goes back."""

    what: Text
    count: int = Field(1, ge=1, le=500)
    per: Literal["unit", "plunger", "check valve"] = Field(
        "unit", description="What the count is for"
    )
    always_new: YesNo | None = Field(
        None, description="yes: never goes back; without it, only seals and gaskets are always new"
    )
    number: Text | None = Field(None, description="The shop's own stock number")
    measured_by: list[Slug] = Field(
        default_factory=list,
        max_length=50,
        description="Wear limits; one for each piece, or the worst of them for all",
    )
    seal: list[Slug] = Field(
        default_factory=list, max_length=50, description="Seals that this part is"
    )
    gasket_of: list[Slug] = Field(
        default_factory=list, max_length=50, description="Joints whose gasket this part is"
    )

    @property
    def seals_something(self) -> bool:
        """Whether it is a seal or a gasket."""
        return bool(self.seal or self.gasket_of)


def pieces(part: PartItem, model: ModelSheet) -> int:
    """How many of a part one unit has."""
    per = {"plunger": model.fluid_end.plungers, "check valve": len(model.check_valves)}
    return part.count * per.get(part.per, 1)


def check_parts(model: ModelSheet) -> Found:
    """Check what each part points at, and that no seal or gasket is drawn twice."""
    owner: dict[tuple[str, str], str] = {}
    for name, part in model.parts.items():
        for index, limit in enumerate(part.measured_by):
            if limit not in model.wear_limits:
                message = nowhere(limit, "wear limit of this model", model.wear_limits)
                yield "model", ("parts", name, "measured_by", index), message
        pointing: tuple[tuple[str, Collection[str], str], ...] = (
            ("seal", model.seals, "seal of this model"),
            ("gasket_of", model.joints, "joint of this model"),
        )
        for field, offered, kind in pointing:
            for index, named in enumerate(getattr(part, field)):
                at = ("parts", name, field, index)
                if named not in offered:
                    yield "model", at, nowhere(named, kind, offered)
                elif (field, named) in owner:
                    other = owner[field, named]
                    yield "model", at, f"is the part {other} already; it would be drawn twice"
                owner.setdefault((field, named), name)
        for index, joint in enumerate(part.gasket_of):
            if joint in model.joints and model.joints[joint].gasket is None:
                yield "model", ("parts", name, "gasket_of", index), "has no gasket on this sheet"
        if part.always_new and part.measured_by:
            message = "is yes, so nothing that is measured decides; leave one of the two out"
            yield "model", ("parts", name, "always_new"), message
