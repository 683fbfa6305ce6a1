"""The shop sheet: the tools, adapters, gauges and consumables in hand, and the shop's margins."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import Field

from rebuildbook.calculators.lubricant_rules import Base
from rebuildbook.sheets.columns import ColumnMap
from rebuildbook.sheets.fields import (
    Accuracy,
    Angle,
    Duration,
    DurationOrRange,
    Fraction,
    GaugeRange,
    Label,
    Length,
    Number,
    Slug,
    Stress,
    Temperature,
    TemperatureRange,
    Text,
    Torque,
    TorqueRange,
    YesNo,
)
from rebuildbook.sheets.part import Part


class Wrench(Part):
    """A torque tool."""

    what: Text
    kind: Literal["click", "dial", "electronic", "beam"]
    range: TorqueRange
    step: Torque = Field(description="Smallest step of its scale, in the unit on the scale")
    accuracy: Accuracy = Field(description="Of the value set, as '± 4 %'")
    lever: Length | None = Field(None, description="Middle of the grip to the drive square")
    calibration_due: date | None = None


class Adapter(Part):
    """A crowfoot or extension that moves the drive away from the square."""

    what: Text
    kind: Literal["crowfoot", "extension"]
    offset: Length = Field(description="Drive square to the fastener's centre")
    angle: Angle | None = Field(None, description="Usual angle to the wrench; 0° straight out")


class Gauge(Part):
    """A pressure gauge of the test bench."""

    what: Text
    range: GaugeRange
    accuracy: Accuracy
    calibration_due: date | None = None


class Consumable(Part):
    """A lubricant, threadlocker, sealant or cleaner."""

    what: Text
    kind: Literal["lubricant", "threadlocker", "sealant", "cleaner"]
    strength: Literal["low", "medium", "high"] | None = None
    base: Base | None = Field(None, description="What a lubricant or sealant is made with")
    fluid_class: Text | None = Field(
        None, description="Of a cleaner: a fluid, or class of fluids, of the elastomer table"
    )
    silicone_free: YesNo | None = None
    working_time: DurationOrRange | None = None
    fixture_time: DurationOrRange | None = None
    cure_time: DurationOrRange | None = None
    times_at: Temperature | None = Field(
        None, description="What its data sheet gives these times at; 23 °C where it does not say"
    )
    slower_in_cold: Number | None = Field(
        None,
        description="How many times slower it sets 10 K colder; 2 where its data sheet is silent",
    )
    temperature: TemperatureRange | None = None
    shear_strength: Stress | None = Field(None, description="Of the cured locker, on this metal")
    condition: Text | None = Field(None, description="State of the friction table that it gives")


class Margins(Part):
    """What this shop accepts."""

    least_of_scale: Fraction | None = Field(None, description="Lowest setting, of full scale")
    reseat_margin: Fraction | None = Field(None, description="Reseat above working pressure")
    sealing_ratio: Fraction | None = None
    creep_limit_note: Text | None = None


class ShopSheet(Part):
    """One workshop."""

    kind: Literal["shop"]
    name: Slug
    title: Text
    paper: Literal["a4", "letter"] = "a4"
    units: Literal["metric", "us"] = "metric"
    wrenches: dict[Label, Wrench] = Field(min_length=1, max_length=200)
    adapters: dict[Label, Adapter] = Field(default_factory=dict, max_length=200)
    gauges: dict[Label, Gauge] = Field(default_factory=dict, max_length=200)
    consumables: dict[Slug, Consumable] = Field(default_factory=dict, max_length=500)
    passes: list[Fraction] = Field(min_length=1, max_length=10)
    bench_temperature: Temperature | None = Field(None, description="Where joints are tightened")
    fastener_time: Duration | None = Field(
        None, description="What one fastener takes in one pass, the way to the next with it"
    )
    margins: Margins = Field(default_factory=Margins)
    wrench_files: dict[Slug, ColumnMap] = Field(
        default_factory=dict,
        max_length=50,
        description="How the files that electronic tools give are read, by a name for --map",
    )
