"""The parts of a model sheet that move the fluid: drive and fluid end."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rebuildbook.sheets.fields import (
    Duration,
    Flow,
    Force,
    Fraction,
    FractionOrZero,
    Gauge,
    GaugeOrZero,
    Head,
    Length,
    Number,
    Power,
    Rate,
    Torque,
    Volume,
)
from rebuildbook.sheets.part import Part


class AirPassage(Part):
    """What limits the air into or out of the motor: a bore, or the flow coefficient of a valve."""

    bore: Length | None = None
    discharge_coefficient: Number | None = Field(
        None, description="Of the bore, 1 at most; 0.8 where it is not given"
    )
    kv: Number | None = Field(None, description="Flow coefficient, m³/h of water at 1 bar")
    cv: Number | None = Field(None, description="Flow coefficient, US gal/min of water at 1 psi")


class Drive(Part):
    """What drives the pump, and what it can push at most."""

    kind: Literal["air", "hydraulic", "electric"]
    supply_max: Gauge | None = Field(None, description="Highest supply the drive may be given")
    piston_diameter: Length | None = Field(None, description="Air or oil motor piston diameter")
    area_ratio: Number | None = Field(
        None, description="Drive area over fluid area, where diameters are not known"
    )
    friction: Fraction | None = Field(None, description="Share of the drive force lost to friction")
    power: Power | None = None
    stall_torque: Torque | None = Field(None, description="Largest torque at the crank")
    air_inlet: AirPassage | None = Field(None, description="Narrowest way of the air to the motor")
    air_exhaust: AirPassage | None = Field(
        None, description="Narrowest way out, such as a silencer; without it the air leaves freely"
    )
    oil_flow: Flow | None = Field(None, description="Most that an oil motor is given")
    exhaust_back_pressure: GaugeOrZero | None = Field(
        None, description="What the exhaust or the oil's return holds back at least"
    )
    clearance_share: FractionOrZero | None = Field(
        None, description="Dead volume of the air motor over its swept volume"
    )
    changeover: Duration | None = Field(None, description="Rest of the motor at each reversal")
    mechanical_efficiency: Fraction | None = Field(
        None, description="From the motor's shaft to the fluid: gear, crank, packing"
    )
    motor_efficiency: Fraction | None = Field(
        None, description="Of an electric motor, shaft power over the power it draws"
    )


class FluidEnd(Part):
    """The wetted working end: bores, stroke, rate."""

    bore: Length | None = Field(None, description="Cylinder bore, or plunger diameter")
    rod: Length | None = Field(
        None,
        description="Rod that passes the fluid side; with one a single-acting piston is a "
        "differential: two balls, delivery on both strokes",
    )
    stroke: Length | None = None
    plungers: int = Field(1, ge=1, le=12, description="Pistons or plungers working together")
    volume_per_cycle: Volume | None = Field(None, description="Where bore and stroke do not tell")
    rate_max: Rate = Field(description="Highest cycle rate")
    volumetric_efficiency: Fraction | None = None
    wanted_efficiency: Fraction | None = Field(
        None, description="Volumetric efficiency at which it is done, where another is wanted"
    )
    clearance_ratio: Fraction | None = Field(
        None, description="Volume left between the checks at the end of a stroke, over that swept"
    )
    rod_ratio: Number | None = Field(None, description="Connecting rod over crank radius")
    npsh_required: Head | None = Field(
        None, description="Net positive suction head that the pump needs, valves included"
    )
    seal_friction: Force | None = Field(
        None, description="What packing and piston seal of one rod take while they move"
    )
