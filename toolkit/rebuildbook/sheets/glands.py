"""The seals of a sheet as the calculators take them."""

from __future__ import annotations

from rebuildbook.calculators.o_ring_gland import FaceGland, Gland, RadialGland
from rebuildbook.calculators.o_ring_sizes import Toleranced
from rebuildbook.calculators.packing import UCup, VStack, fit_u_cup
from rebuildbook.sheets.job import JobCard
from rebuildbook.sheets.model import ModelSheet
from rebuildbook.sheets.seals import (
    AnySeal,
    FaceGroove,
    ORingSeal,
    PlainSeal,
    Seal,
    SealFitted,
    UCupSeal,
    VPackingSeal,
)
from rebuildbook.units import Amount


def seals_of(model: ModelSheet, job: JobCard) -> dict[str, Seal]:
    """Give the seals by name, each as it was fitted."""
    return {name: _fitted(seal, job.seals_fitted.get(name)) for name, seal in model.seals.items()}


def _fitted(seal: Seal, instead: SealFitted | None) -> Seal:
    if instead is None:
        return seal
    changed = {field: value for field, value in instead if value is not None}
    return seal.model_copy(update=changed)


def measured_on(seal: AnySeal, model: ModelSheet, job: JobCard) -> tuple[float, float] | None:
    """New and measured diameter, m, of what a seal runs on: where it has worn the most.

    None where nothing is measured, or the seal runs on nothing that is.
    """
    worn = [
        (model.wear_limits[name].new.nominal, job.measured[name].nominal)
        for name in getattr(seal, "runs_on", [])
        if name in job.measured
    ]
    return max(worn, key=lambda pair: abs(pair[1] - pair[0]), default=None)


def gland_of(seal: ORingSeal, worn: float = 0.0) -> Gland:
    """Give the gland of an O-ring, its mating part ``worn`` by so much in diameter, m.

    The axes may lie apart by half the clearance. Raises ValueError for one that cannot be.
    """
    groove = seal.gland
    if isinstance(groove, FaceGroove):
        if (groove.outer_wall is None) is (groove.inner_wall is None):
            raise ValueError("give outer_wall or inner_wall: the one that the ring bears on")
        wall = groove.outer_wall or groove.inner_wall
        assert wall is not None  # noqa: S101
        return FaceGland(
            _sized(groove.depth),
            _sized(groove.width),
            _sized(wall),
            "inside" if groove.outer_wall is not None else "outside",
        )
    mate, way = _sized(groove.mate), 1.0 if groove.form == "male" else -1.0
    mate = Toleranced(*(size + way * worn for size in (mate.nominal, mate.low, mate.high)))
    clearance = max(seal.clearance.high + worn, 0.0) if seal.clearance is not None else 0.0
    return RadialGland(
        groove.form, _sized(groove.groove), mate, _sized(groove.width), seal.moves, clearance / 2.0
    )


def cup_of(seal: UCupSeal) -> UCup:
    """Give a free U-cup; raises ValueError for one that cannot be."""
    return UCup(
        seal.inner_lip.nominal,
        seal.outer_lip.nominal,
        seal.inner_heel.nominal,
        seal.outer_heel.nominal,
        seal.height.nominal,
    )


def stack_of(seal: VPackingSeal) -> VStack:
    """Give a free set of V-packing."""
    return VStack(
        seal.rings, seal.pitch.nominal, seal.first_adapter.nominal, seal.last_adapter.nominal
    )


def check_sizes(seal: Seal) -> None:
    """Raise ValueError, with the calculator's own words, where sizes cannot stand together."""
    match seal:
        case ORingSeal():
            gland_of(seal)
        case UCupSeal():
            inner, outer, length = seal.inner.high, seal.outer.low, seal.gland_length.low
            fit_u_cup(cup_of(seal), inner, outer, length, slides=seal.slides)
        case VPackingSeal():
            compression = seal.compression.nominal if seal.compression else 0.0
            stack_of(seal).travel(seal.box_depth.nominal, seal.spigot.nominal, compression)
            if seal.box.low <= seal.rod.high:
                raise ValueError("the box leaves no room round the rod")
        case PlainSeal():
            pass


def _sized(amount: Amount) -> Toleranced:
    return Toleranced(amount.nominal, amount.low, amount.high)
