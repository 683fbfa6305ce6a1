"""How parts wear and leak: limits and gaps of a model, defects and past jobs of a unit."""

from __future__ import annotations

from pydantic import Field

from rebuildbook.sheets.fields import (
    Duration,
    FractionOrZero,
    JobNumber,
    Length,
    LengthOrZero,
    Slug,
    Text,
)
from rebuildbook.sheets.part import Part


class LeakGap(Part):
    """The gap that a measured bore or diameter makes with what runs in or on it."""

    place: Text = Field(description="Where the pump leaks by it, as piston seal or packing 2")
    mate: Text = Field(description="The part that runs in it or on it")
    mate_size: Length | None = Field(None, description="Diameter of that part")
    mate_measured: Slug | None = Field(None, description="The wear limit that measures that part")
    length: Length = Field(description="Of the lip, packing or land that seals")
    takes_up: LengthOrZero | None = Field(
        None, description="Radial wear that a soft seal still takes up"
    )
    eccentricity: FractionOrZero | None = Field(
        None, description="0 % where a guide keeps it in the middle, 100 % against the wall"
    )


class WearLimit(Part):
    """A measured feature, what it is when new, and where it ends."""

    what: Text
    new: Length
    reuse_limit: Length = Field(description="Reuse as it is up to here")
    rework_limit: Length | None = Field(None, description="Rework is possible up to here")
    rework: Text | None = None
    leak: LeakGap | None = Field(None, description="Where the pump leaks as it wears")
    reading_scatter: Length | None = Field(
        None, description="Standard deviation of one reading: gauge, feel and fit together"
    )


class SeatDefect(Part):
    """What a check's seat was found to have: scratches across it, or out of round."""

    scratch_width: Length | None = None
    scratch_depth: Length | None = None
    scratches: int = Field(1, ge=1, le=50, description="How many alike")
    ovality: Length | None = Field(None, description="Largest less smallest diameter of the seat")
    land: Length | None = Field(None, description="Width of the bright ring that they cross")


class PastJob(Part):
    """An earlier rebuild of the same unit, as far as it tells how parts wear."""

    job: JobNumber
    hours: Duration = Field(description="Running time of the unit in all at that job")
    measured: dict[Slug, Length] = Field(default_factory=dict, max_length=200)
    fitted: dict[Slug, Length] = Field(
        default_factory=dict, max_length=200, description="Size of a part put in new at that job"
    )
