"""The relief valve: what the model sheet says of it, and what the bench read."""

from __future__ import annotations

from datetime import date

from pydantic import Field

from rebuildbook.sheets.fields import (
    Area,
    Fraction,
    Gauge,
    GaugeRange,
    Label,
    Length,
    LengthOrZero,
    Number,
    NumberOrZero,
    Text,
    YesNo,
)
from rebuildbook.sheets.part import Part


class ReliefLine(Part):
    """A line to or from the relief valve; its wall is taken as smooth."""

    bore: Length
    length: LengthOrZero
    fittings: NumberOrZero | None = Field(
        None, description="Sum of the loss coefficients of entry, bends, valves and exit"
    )


class Relief(Part):
    """The relief valve that protects the pump."""

    what: Text
    where: Text
    range: GaugeRange
    orifice_area: Area
    discharge_coefficient: Number | None = None
    set_tolerance: Fraction | None = Field(None, description="Where the maker gives a closer one")
    overpressure: Fraction | None = Field(
        None, description="Above its set, where the maker says that it is full open"
    )
    blowdown: Fraction | None = Field(None, description="Set to reseat, as a share of the set")
    balanced: YesNo = Field(False, description="A bellows keeps the back pressure off its disc")
    set_pressure: Gauge = Field(description="What it is to be set at on this model")
    inlet_line: ReliefLine | None = Field(None, description="From the pump to the valve")
    outlet_line: ReliefLine | None = Field(None, description="From the valve to the tank")


class ReliefSetting(Part):
    """The relief valve's setting as read on the test bench."""

    set_pressure: Gauge
    reseat_pressure: Gauge | None = None
    set_by: Text | None = None
    on: date | None = None
    pops: list[Gauge] = Field(
        default_factory=list, max_length=50, description="Opening pressures in the order read"
    )
    reseats: list[Gauge] = Field(
        default_factory=list, max_length=50, description="Where it shut again, one to each pop"
    )
    gauge: Label | None = Field(None, description="The gauge of the shop sheet that read them")
