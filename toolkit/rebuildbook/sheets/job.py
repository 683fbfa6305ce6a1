"""The job card: one rebuild of one unit. Later stages may still be missing."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from rebuildbook.sheets.fields import (
    Absolute,
    Angle,
    BenchReading,
    Compliance,
    Creep,
    Density,
    Difference,
    Duration,
    Expansion,
    Flow,
    FractionOrZero,
    Gauge,
    GaugeOrVacuum,
    GaugeOrZero,
    HeadOrLift,
    JobNumber,
    Label,
    Length,
    LengthOrZero,
    Moment,
    Number,
    NumberOrZero,
    Rate,
    ReadingName,
    Remark,
    Slug,
    SpecificHeat,
    Stress,
    Temperature,
    Text,
    Torque,
    Viscosity,
)
from rebuildbook.sheets.part import Part
from rebuildbook.sheets.relief import ReliefSetting
from rebuildbook.sheets.seals import SealFitted
from rebuildbook.sheets.wear import PastJob, SeatDefect

FluidKind = Literal["slip", "glaze", "coating", "adhesive", "water", "chemical", "oil", "other"]


class Rheology(Part):
    """The flow curve of a fluid that thins or has a yield stress: τ = τy + K γ̇ⁿ."""

    consistency: Number = Field(description="K in Pa·sⁿ; its unit hangs on n: a bare number")
    exponent: Number = Field(description="n, below 1 for a fluid that thins")
    yield_stress: Stress | None = None


class Fluid(Part):
    """What the pump moves."""

    name: Text
    kind: FluidKind
    density: Density
    viscosity: Viscosity
    temperature: Temperature
    hazards: list[Text] = Field(default_factory=list, max_length=20)
    vapour_pressure: Absolute | None = None
    rheology: Rheology | None = Field(
        None, description="Where one viscosity does not tell: power law or Herschel-Bulkley"
    )
    bulk_modulus: Stress | None = Field(None, description="Of the liquid without air")
    expansion: Expansion | None = Field(None, description="By volume, at this temperature")
    specific_heat: SpecificHeat | None = None
    air_share: FractionOrZero | None = Field(
        None, description="Free air in what is drawn in, by volume at the inlet"
    )
    fluid_class: Text | None = Field(
        None, description="A fluid, or class of fluids, of the elastomer table"
    )
    cleaned_with: list[Slug] = Field(
        default_factory=list, max_length=20, description="Consumables that the pump is flushed with"
    )


class Suction(Part):
    """The line that the pump draws through, from the free surface of the supply."""

    static_head: HeadOrLift = Field(
        description="Supply's lowest surface over the pump's inlet; below zero for a lift"
    )
    line_length: Length = Field(description="As built, not the equivalent one")
    line_bore: Length
    fittings: NumberOrZero | None = Field(
        None, description="Sum of the loss coefficients of entry, bends, valves and strainer"
    )
    roughness: LengthOrZero | None = Field(
        None, description="Of the bore; a smooth hose where it is not given"
    )
    atmosphere: Absolute | None = Field(
        None, description="On the supply's surface; the standard atmosphere where it is not given"
    )


class Duty(Part):
    """What is asked of the pump where it stands."""

    working_pressure: Gauge
    supply_pressure: Gauge | None = Field(None, description="Air or oil supply in hand")
    supply_available: Gauge | None = Field(None, description="What the line could give at most")
    inlet_pressure: GaugeOrVacuum | None = Field(
        None, description="At the inlet while it fills; below zero where it lifts"
    )
    rate: Rate | None = None
    flow: Flow | None = None
    test_pressure: Gauge | None = None
    back_pressure: GaugeOrZero | None = Field(None, description="Behind the relief valve")
    suction: Suction | None = None


class ValveFitted(Part):
    """How a check valve was found fitted at the bench."""

    arrow: Literal["toward pump", "away from pump"] = Field(
        description="The way that its arrow, or its ball, lets flow go"
    )
    seat_face: Literal["worked side to ball", "plain side to ball"] | None = None


class ToolUse(Part):
    """The tool used for a joint."""

    wrench: Label
    adapter: Label | None = None
    adapter_angle: Angle | None = None
    setting: Torque | None = Field(None, description="What was set, where it was noted")


class StallTest(Part):
    """Creep of the rod with the outlet shut, stroke by stroke."""

    up_stroke_creep: Creep | None = Field(
        None, description="Of a diaphragm pump: on the stroke that delivers on the left"
    )
    down_stroke_creep: Creep | None = Field(
        None, description="Of a diaphragm pump: on the stroke that delivers on the right"
    )
    creep_limit: Creep | None = None


class BenchSetUp(Part):
    """How the bench ran the pump, where that is not the duty."""

    supply_pressure: Gauge | None = Field(None, description="Air supply; else the duty's")
    pressure: Gauge | None = Field(
        None,
        description="That the outlet was throttled to and the hold began at; else the working "
        "pressure",
    )
    rate: Rate | None = Field(None, description="Cycle rate of the running test; else the duty's")
    hold_time: Duration | None = Field(None, description="With the drive vented; else 10 s")
    line_compliance: Compliance | None = Field(
        None,
        description="What the shut outlet line gives with the pressure; else a gas cushion that "
        "takes the flow of 4 s",
    )
    vacuum: Difference | None = Field(
        None, description="Drawn on the blanked suction, below atmosphere; else 0.7 bar"
    )
    vacuum_hold_time: Duration | None = Field(None, description="Else 5 s")
    suction_compliance: Compliance | None = Field(
        None,
        description="What the blanked suction gives with the pressure; else a cushion that takes "
        "the flow of a fifth of a second",
    )


class BenchRecord(Part):
    """What the test showed."""

    started: Moment | None = Field(None, description="When pressure was first put on")
    pressure: Gauge | None = None
    held_for: Duration | None = None
    pressure_after: Gauge | None = None
    stall: StallTest | None = None
    bench: BenchSetUp | None = Field(None, description="Where the bench differs from the duty")
    readings: dict[ReadingName, BenchReading] = Field(
        default_factory=dict,
        max_length=200,
        description="By name on the worksheet's test card, with hyphens: creep-up-stroke, flow",
    )


class Deviation(Part):
    """A departure from the plan, and who accepted it."""

    what: Text
    accepted_by: Text | None = None
    finding: Text | None = Field(
        None, description="Id of the finding that is accepted with it, as in results.json"
    )


class SignOff(Part):
    """A signature."""

    role: Text
    name: Text
    on: date


class JobCard(Part):
    """One rebuild of one unit."""

    kind: Literal["job"]
    job: JobNumber = Field(description="The job number; the worksheet's folder is named after it")
    serial: Text
    model: Slug
    shop: Slug = "shop"
    opened: date
    work_date: date | None = Field(None, description="The day the tools are used")
    assembly_started: Moment | None = Field(
        None, description="When the first step of the assembly was begun, or is to be"
    )
    line: Text | None = Field(None, description="Where the pump stands")
    why: Remark
    remarks: Remark | None = None
    fluid: Fluid
    duty: Duty
    measured: dict[Slug, Length] = Field(default_factory=dict, max_length=200)
    seat_defects: dict[Slug, SeatDefect] = Field(
        default_factory=dict, max_length=100, description="By check valve, as found"
    )
    running_hours: Duration | None = Field(None, description="Running time of the unit in all")
    past: list[PastJob] = Field(default_factory=list, max_length=50)
    service_every: Duration | None = Field(None, description="Running time between services")
    running_per_week: Duration | None = Field(
        None, description="Running time in a usual week, 168 h at most"
    )
    valves_fitted: dict[Slug, ValveFitted] = Field(default_factory=dict, max_length=100)
    tools: dict[Slug, ToolUse] = Field(default_factory=dict, max_length=100)
    consumables_used: dict[Slug, Slug] = Field(
        default_factory=dict, max_length=100, description="Joint: consumable, where it differs"
    )
    seals_fitted: dict[Slug, SealFitted] = Field(
        default_factory=dict, max_length=100, description="Seal: what it got, where it differs"
    )
    torque_readings: dict[Slug, Annotated[list[Torque], Field(max_length=200)]] = Field(
        default_factory=dict, max_length=100
    )
    relief_setting: ReliefSetting | None = None
    test: BenchRecord | None = None
    deviations: list[Deviation] = Field(default_factory=list, max_length=100)
    sign_off: list[SignOff] = Field(default_factory=list, max_length=20)
