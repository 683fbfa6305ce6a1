"""What the model sheet says of each seal, and what the job card says was fitted instead."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from rebuildbook.sheets.fields import (
    FractionOrZero,
    Length,
    LengthOrZero,
    Number,
    Slug,
    Text,
    YesNo,
)
from rebuildbook.sheets.part import Part


class FaceGroove(Part):
    """A groove in a flange or cover, closed by a flat face; one wall says where the ring bears."""

    form: Literal["face"]
    depth: Length
    width: Length
    outer_wall: Length | None = Field(None, description="Its diameter; pressure from inside")
    inner_wall: Length | None = Field(None, description="Its diameter; pressure from outside")


class RadialGroove(Part):
    """A groove round a piston or plug (male), or in the wall round a rod (female)."""

    form: Literal["male", "female"]
    groove: Length = Field(description="Diameter of its bottom")
    mate: Length = Field(description="Diameter of the bore, or of the rod, that the ring meets")
    width: Length


Groove = Annotated[FaceGroove | RadialGroove, Field(discriminator="form")]


class AnySeal(Part):
    """What every seal has."""

    what: Text
    count: int = Field(1, ge=1, le=100, description="How many alike in one unit")
    material: Text | None = Field(None, description="An elastomer of the reference table")
    wetted: YesNo = Field(True, description="The pumped fluid touches it")
    joint: Slug | None = Field(None, description="The joint that clamps it or closes its gland")
    part: Slug | None = Field(None, description="The pressure part it seals")
    lubricant: Slug | None = Field(None, description="A consumable that it is fitted with")


class RunningSeal(AnySeal):
    """A seal that a rod, plunger or bore runs along."""

    runs_on: list[Slug] = Field(
        default_factory=list, max_length=20, description="Wear limits that measure what it runs on"
    )
    friction: Number | None = Field(None, description="Coefficient on what runs in it, running wet")


class ORingSeal(AnySeal):
    """An O-ring in its gland."""

    kind: Literal["o-ring"]
    size: Text = Field(description='"AS568-214", or inside diameter x section: "25 mm x 3.5 mm"')
    gland: Groove
    hardness: Number | None = Field(None, description="In Shore A")
    moves: YesNo = Field(False, description="The part that it meets goes to and fro")
    runs_on: list[Slug] = Field(
        default_factory=list,
        max_length=20,
        description="Wear limits that measure the part it meets",
    )
    clearance: LengthOrZero | None = Field(
        None, description="Diametral, between the parts beside the groove"
    )
    backed: YesNo = Field(False, description="A back-up ring is fitted")
    swell: FractionOrZero | None = Field(None, description="By volume, in this model's fluid")


class UCupSeal(RunningSeal):
    """A U-cup, its own sizes free, and the gland it goes in."""

    kind: Literal["u-cup"]
    slides: Literal["rod", "bore"] = Field(description="What it runs on")
    inner_lip: Length = Field(description="Diameter over the inner lip, free")
    outer_lip: Length
    inner_heel: Length
    outer_heel: Length
    height: Length
    inner: Length = Field(description="Diameter of the rod, or of the bottom of the groove")
    outer: Length = Field(description="Diameter of the bore that it is in")
    gland_length: Length
    contact: Length | None = Field(None, description="Length along which the lip rubs")


class VPackingSeal(RunningSeal):
    """A set of V-rings between two adapters, under a gland."""

    kind: Literal["v-packing"]
    rings: int = Field(ge=1, le=20)
    pitch: Length = Field(description="What one ring adds to the height, nested")
    first_adapter: LengthOrZero = Field(description="What the male adapter adds")
    last_adapter: LengthOrZero = Field(description="What the female adapter adds")
    lip: Length | None = Field(None, description="Interference of a lip on the rod, radial, new")
    rod: Length
    box: Length = Field(description="Diameter of the box")
    box_depth: Length
    spigot: Length = Field(description="What of the follower enters the box")
    compression: FractionOrZero | None = Field(
        None, description="What the rings are to be pressed together, as a share of their height"
    )


class PlainSeal(AnySeal):
    """A seal that is judged by what it touches only."""

    kind: Literal["lip-seal", "wiper", "cup", "diaphragm", "gasket", "other"]


Seal = Annotated[ORingSeal | UCupSeal | VPackingSeal | PlainSeal, Field(discriminator="kind")]


class SealFitted(Part):
    """What was fitted where it differs from the model sheet."""

    material: Text | None = None
    hardness: Number | None = None
    size: Text | None = Field(None, description="Of an O-ring")
    lubricant: Slug | None = Field(None, description="A consumable of the shop sheet")
