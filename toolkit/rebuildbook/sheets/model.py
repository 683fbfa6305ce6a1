"""The model sheet: one pump model, its parts, joints, check valves and relief."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from rebuildbook.sheets.drive import Drive, FluidEnd
from rebuildbook.sheets.fields import (
    Angle,
    Area,
    Compliance,
    Difference,
    Force,
    Fraction,
    FractionOrZero,
    Gauge,
    Length,
    LengthOrZero,
    Number,
    Remark,
    Slug,
    SpringRate,
    Stress,
    TemperatureRange,
    Text,
    ThreadText,
    TorqueOrRange,
    TorqueWindow,
    Volume,
    YesNo,
)
from rebuildbook.sheets.part import Part
from rebuildbook.sheets.parts import PartItem
from rebuildbook.sheets.relief import Relief
from rebuildbook.sheets.seals import Seal
from rebuildbook.sheets.steps import Step
from rebuildbook.sheets.wear import WearLimit

Architecture = Literal[
    "double-acting-piston", "single-acting-piston", "plunger", "double-diaphragm"
]


class PressurePart(Part):
    """A part that holds pressure, with its limit."""

    what: Text
    max_working_pressure: Gauge
    max_test_pressure: Gauge | None = None
    burst_pressure: Gauge | None = Field(None, description="Where the maker gives it")


class Circle(Part):
    """Fasteners evenly spaced on a circle."""

    shape: Literal["circle"]
    diameter: Length


class Rectangle(Part):
    """Fasteners round the edge of a rectangle."""

    shape: Literal["rectangle"]
    columns: int = Field(ge=2, le=50)
    rows: int = Field(ge=2, le=50)
    width: Length
    height: Length


class Oval(Part):
    """Fasteners round an oval."""

    shape: Literal["oval"]
    width: Length
    height: Length


class Row(Part):
    """Fasteners in a row, or in several rows on a manifold."""

    shape: Literal["row"]
    length: Length
    rows: int = Field(1, ge=1, le=10)
    row_spacing: Length | None = None


Layout = Annotated[Circle | Rectangle | Oval | Row, Field(discriminator="shape")]


class Layer(Part):
    """One clamped member, from under the head downwards."""

    what: Text
    material: Text = Field(description="A material of the reference table")
    thickness: Length
    outer_diameter: Length | None = None
    shared_area: Area | None = Field(
        None, description="Section of a part that all fasteners clamp together, such as a tube"
    )
    creep: Fraction | None = Field(None, description="Share of the load lost as a soft part creeps")


class Tapped(Part):
    """The tapped member that takes the thread."""

    material: Text
    engagement: Length
    tensile_strength: Stress | None = Field(None, description="Where the casting's own is known")


class Gasket(Part):
    """What seals the joint."""

    kind: Literal["o-ring", "flat", "none"]
    material: Text | None = None
    thickness: Length | None = None
    inner_diameter: Length | None = None
    outer_diameter: Length | None = None
    width: Length | None = Field(
        None, description="Of the band that seals, where its diameters do not tell"
    )
    modulus: Stress | None = Field(None, description="Compression modulus as installed")
    seating_stress: Stress | None = None
    creep: Fraction | None = Field(None, description="Share of the load lost after tightening")
    least_stress: Stress | None = Field(None, description="Stress that it needs left in service")
    most_stress: Stress | None = Field(None, description="Stress that crushes it")


class Flange(Part):
    """The part that the fasteners press on a flat gasket, as far as it bends."""

    material: Text = Field(description="A material of the reference table")
    thickness: Length


class RingFlange(Flange):
    """A ring, or the rim of a part with a large bore."""

    form: Literal["ring"]
    inner_diameter: Length
    outer_diameter: Length


class RoundPlate(Flange):
    """A round cover or blind flange."""

    form: Literal["round plate"]
    outer_diameter: Length
    inner_diameter: Length | None = Field(None, description="Of the opening, where it has one")


class Plate(Flange):
    """A cover that is a rectangle or an oval."""

    form: Literal["plate", "oval plate"]
    width: Length
    height: Length
    inner_diameter: Length | None = Field(None, description="Of the opening, where it has one")


class BarFlange(Flange):
    """A straight bar along the fasteners, the gasket along its middle."""

    form: Literal["bar"]
    length: Length
    width: Length


AnyFlange = Annotated[RingFlange | RoundPlate | Plate | BarFlange, Field(discriminator="form")]


class Joint(Part):
    """One threaded joint: what it takes to do it up right."""

    what: Text
    thread: ThreadText = Field(description="A designation, or a name under special_threads")
    external_class: Text | None = Field(None, description="Tolerance class of the screw, as 6g, 2A")
    internal_class: Text | None = Field(None, description="Tolerance class of the nut, as 6H, 2B")
    strength_class: Text
    count: int = Field(ge=1, le=200)
    layout: Layout | None = Field(None, description="Needed for two fasteners or more")
    torque: TorqueWindow = Field(description="The window the maker or the drawing gives")
    condition: Text = Field("as received", description="A state of the friction table")
    nut_factor: Number | None = Field(None, description="Where known better than the table")
    thread_friction: Number | None = Field(None, description="Where known better than the table")
    bearing_friction: Number | None = Field(None, description="Where known better than the table")
    prevailing_torque: TorqueOrRange | None = Field(
        None, description="What a locking nut or insert takes before it clamps"
    )
    lubricant: Slug | None = Field(None, description="A consumable of the shop sheet")
    threadlocker: Slug | None = Field(None, description="A consumable of the shop sheet")
    order: Literal["cross", "quadrant", "rotation"] = "cross"
    numbering: Literal["in rotation", "by order"] = "in rotation"
    passes: list[Fraction] | None = Field(None, max_length=10)
    wrench_reach: Literal["straight", "crowfoot"] = "straight"
    follows: list[Slug] = Field(default_factory=list, max_length=50)
    holds: Slug | None = Field(None, description="The pressure part that loads this joint")
    sealed_diameter: Length | None = None
    sealed_area: Area | None = None
    bearing_diameter: Length | None = Field(None, description="Across the bearing face")
    hole_diameter: Length | None = None
    shank_length: LengthOrZero | None = Field(
        None, description="Plain shank within the grip; without it the thread runs all the way"
    )
    layers: list[Layer] = Field(default_factory=list, max_length=12)
    roughness: Length | None = Field(None, description="Rz of the faces that settle on each other")
    face_area: Area | None = Field(
        None, description="Where the parts touch: all of a metal face, of an O-ring joint too"
    )
    tapped: Tapped | None = None
    gasket: Gasket | None = None
    flange: AnyFlange | None = Field(None, description="What bends on a flat gasket")
    pulsating: YesNo = Field(True, description="The pressure rises and falls with every stroke")


class SpecialThread(Part):
    """A 60° thread that no table lists."""

    major: Length
    pitch: Length
    system: Literal["metric", "unified"] = "metric"


class Rod(Part):
    """The rod that the piston, plunger or diaphragm is clamped on, and the joint that does it."""

    joint: Slug = Field(description="The joint between piston and rod")
    diameter: Length = Field(description="Thinnest over its free length")
    free_length: Length = Field(description="Farthest from its guide to the piston")
    material: Text
    ends: Literal["fixed-free", "rounded-rounded", "fixed-rounded", "fixed-fixed"]
    effective_diameter: Length | None = Field(
        None, description="What the pressure works on, where it is not the bore: a diaphragm"
    )
    load_plane: FractionOrZero | None = Field(
        None, description="Where the load enters: 0 % at the nut's face, 100 % at the shoulder"
    )


class SharpSeat(Part):
    """The ball rests on the edge of a bore."""

    form: Literal["sharp"]
    bore: Length
    edge_radius: Length
    material: Text


class ConeSeat(Part):
    """The ball rests on a cone."""

    form: Literal["cone"]
    bore: Length = Field(description="Small diameter of the cone")
    outer: Length = Field(description="Large diameter of the cone")
    included_angle: Angle
    material: Text


class LappedSeat(Part):
    """The ball rests on a spherical land lapped to it."""

    form: Literal["lapped"]
    bore: Length = Field(description="Inner diameter of the land")
    outer: Length = Field(description="Outer diameter of the land")
    lap_radius: Length
    material: Text


class Ball(Part):
    """The ball of a check valve."""

    diameter: Length
    material: Text


class Spring(Part):
    """The closing spring: its force on the seat, or what gives it."""

    seated_force: Force | None = None
    rate: SpringRate | None = None
    free_length: Length | None = None
    seated_length: Length | None = None


class CheckValve(Part):
    """One ball check."""

    what: Text
    role: Literal["inlet", "outlet"]
    holds_on: Literal["up-stroke", "down-stroke", "suction", "discharge"] = Field(
        description="The stroke on which it must stay shut"
    )
    ball: Ball
    seat: Annotated[SharpSeat | ConeSeat | LappedSeat, Field(discriminator="form")]
    spring: Spring | None = None
    lift: Length
    opens: Literal["up", "level", "down"] = "up"
    part: Slug = Field(description="The pressure part whose limit it closes against")
    cracking_max: Difference | None = None


class ModelSheet(Part):
    """One pump model."""

    kind: Literal["model"]
    name: Slug
    title: Text
    architecture: Architecture
    note: Remark | None = None
    drive: Drive
    fluid_end: FluidEnd
    pressure_parts: dict[Slug, PressurePart] = Field(min_length=1, max_length=100)
    joints: dict[Slug, Joint] = Field(min_length=1, max_length=100)
    check_valves: dict[Slug, CheckValve] = Field(min_length=1, max_length=100)
    seals: dict[Slug, Seal] = Field(default_factory=dict, max_length=100)
    special_threads: dict[Slug, SpecialThread] = Field(default_factory=dict, max_length=100)
    rod: Rod | None = None
    temperature_range: TemperatureRange | None = Field(
        None, description="Coldest and hottest that the unit comes to in service"
    )
    relief: Relief | None = None
    trapped_volume: Volume | None = Field(
        None, description="Liquid between the outlet checks and the shut outlet"
    )
    hose_compliance: Compliance | None = Field(
        None, description="What the hoses of that section grow by with the pressure"
    )
    wear_limits: dict[Slug, WearLimit] = Field(default_factory=dict, max_length=200)
    parts: dict[Slug, PartItem] = Field(
        default_factory=dict,
        max_length=500,
        description="What the stores are asked for; seals that are no part are drawn as well",
    )
    assembly: dict[Slug, Step] = Field(
        default_factory=dict,
        max_length=200,
        description="Steps that put the unit together, in the order of the bench where it is free",
    )
