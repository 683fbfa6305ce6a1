"""The job card: one rebuild of one unit. Later stages may still be missing."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from rebuildbook.sheets.fields import (
    Absolute,
    Angle,
    Creep,
    Density,
    Duration,
    Flow,
    Gauge,
    GaugeOrVacuum,
    GaugeOrZero,
    JobNumber,
    Label,
    Length,
    Rate,
    Remark,
    Slug,
    Temperature,
    Text,
    Torque,
    Viscosity,
)
from rebuildbook.sheets.model import Part

FluidKind = Literal["slip", "glaze", "coating", "adhesive", "water", "chemical", "oil", "other"]


class Fluid(Part):
    """What the pump moves."""

    name: Text
    kind: FluidKind
    density: Density
    viscosity: Viscosity
    temperature: Temperature
    hazards: list[Text] = Field(default_factory=list, max_length=20)
    vapour_pressure: Absolute | None = None


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


class ReliefSetting(Part):
    """The relief valve's setting as read on the test bench."""

    set_pressure: Gauge
    reseat_pressure: Gauge | None = None
    set_by: Text | None = None
    on: date | None = None


class StallTest(Part):
    """Creep of the rod with the outlet shut, stroke by stroke."""

    up_stroke_creep: Creep | None = None
    down_stroke_creep: Creep | None = None
    creep_limit: Creep | None = None


class BenchRecord(Part):
    """What the test showed."""

    pressure: Gauge | None = None
    held_for: Duration | None = None
    pressure_after: Gauge | None = None
    stall: StallTest | None = None


class Deviation(Part):
    """A departure from the plan, and who accepted it."""

    what: Text
    accepted_by: Text | None = None


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
    line: Text | None = Field(None, description="Where the pump stands")
    why: Remark
    remarks: Remark | None = None
    fluid: Fluid
    duty: Duty
    measured: dict[Slug, Length] = Field(default_factory=dict, max_length=200)
    valves_fitted: dict[Slug, ValveFitted] = Field(default_factory=dict, max_length=100)
    tools: dict[Slug, ToolUse] = Field(default_factory=dict, max_length=100)
    consumables_used: dict[Slug, Slug] = Field(
        default_factory=dict, max_length=100, description="Joint: consumable, where it differs"
    )
    torque_readings: dict[Slug, Annotated[list[Torque], Field(max_length=200)]] = Field(
        default_factory=dict, max_length=100
    )
    relief_setting: ReliefSetting | None = None
    test: BenchRecord | None = None
    deviations: list[Deviation] = Field(default_factory=list, max_length=100)
    sign_off: list[SignOff] = Field(default_factory=list, max_length=20)
