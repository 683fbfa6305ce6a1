"""From the leaks of a pump's parts to its slip and volumetric efficiency, and back to a limit.

Volumes are counted a cycle (one turn of a crank, one up-stroke and one down-stroke) at the
conditions of the outlet, where a meter would stand. Of the volume displaced are lost

- the slip of each leak path: its leak while it sees pressure, for as long as it sees it;
- compression of the liquid, and of air carried in it, in chamber and clearance;
- what flows back through a valve before it shuts, given as a volume a cycle.

Which stroke a part sees pressure on is in ``leak_places``. Air drawn in past a packing on the
suction stroke is not worked out; count it into the fluid's air.

References
----------
1. I. J. Karassik et al., Pump Handbook, power pumps: volumetric efficiency with compressibility,
   clearance and slip (from memory).
2. Compression of liquid and air: conservation of mass, as derived in ``squeeze_loss``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from scipy.optimize import brentq

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.drive import ATMOSPHERE, Stroke
from rebuildbook.calculators.leak_paths import Gap, Leak, Passage, leak
from rebuildbook.calculators.leak_places import Architecture, places
from rebuildbook.units import quantities

Kind = Literal["leak", "liquid compression", "air", "back-flow"]


@quantities("", pressure_difference="Pa", bulk_modulus="Pa", clearance_ratio="", slip="")
def handbook_efficiency(
    pressure_difference: Any, bulk_modulus: Any, clearance_ratio: Any = 0.0, slip: Any = 0.0
) -> Any:
    """Volumetric efficiency at inlet conditions, η = (1 − p β (1 + c/d))/(1 − p β) − S [1].

    ``pressure_difference`` p (Pa), ``bulk_modulus`` 1/β (Pa, secant), ``clearance_ratio`` c/d of
    the volume left between the checks at the end of the stroke over the displacement, ``slip`` S
    as a share of the displacement.

    >>> print(f'{handbook_efficiency("200 bar", "2 GPa", 1.5, 0.02):.4f}')
    0.9648
    """
    squeezed = not_negative("pressure difference, Pa,", pressure_difference) / positive(
        "bulk modulus, Pa,", bulk_modulus
    )
    ratio = not_negative("clearance ratio", clearance_ratio)
    return (1.0 - squeezed * (1.0 + ratio)) / (1.0 - squeezed) - slip


@dataclass(frozen=True, slots=True)
class LeakPath:
    """One passage and when it leaks.

    ``pressure_difference`` Pa on ``stroke``, for ``share`` of the cycle (None: as long as that
    stroke lasts). ``viscosity``, Pa·s, goes before the duty's: the apparent one of a fluid that
    thins, at this passage's shear rate. ``wall_speed``, m/s, mean over the stroke, as in
    ``annular_flow``.
    """

    name: str
    passage: Passage
    pressure_difference: float
    stroke: Stroke
    chamber: str = ""
    share: float | None = None
    viscosity: float | None = None
    wall_speed: float = 0.0

    def __post_init__(self) -> None:
        not_negative(f"{self.name}: pressure difference, Pa,", self.pressure_difference)
        if self.share is not None:
            within(f"{self.name}: share of the cycle", self.share, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Duty:
    """A pump at work; SI floats.

    ``displacement`` m³ a cycle of all chambers, ``rate`` cycles/s, pressures Pa gauge,
    ``viscosity`` Pa·s and ``density`` kg/m³ of the fluid. ``bulk_modulus`` of the liquid, Pa,
    secant, infinite for none; ``clearance_ratio`` is the volume left between the checks at the end
    of a stroke over that swept; ``air_share`` the volume of free air in that drawn in, at the
    inlet's pressure; ``air_exponent`` 1 for air that keeps its temperature, up to 1.4.
    ``up_share`` is the time the up-stroke takes, as a share of the cycle. ``back_flows``, m³ a
    cycle by valve, is what runs back before that valve shuts.
    """

    displacement: float
    rate: float
    outlet_pressure: float
    viscosity: float
    density: float
    inlet_pressure: float = 0.0
    bulk_modulus: float = math.inf
    clearance_ratio: float = 0.0
    air_share: float = 0.0
    air_exponent: float = 1.0
    atmosphere: float = ATMOSPHERE
    up_share: float = 0.5
    back_flows: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in ("displacement", "rate", "viscosity", "density", "atmosphere"):
            positive(name, getattr(self, name))
        not_negative("clearance ratio", self.clearance_ratio)
        within("air share", self.air_share, 0.0, 0.999)
        within("air exponent", self.air_exponent, 1.0, 1.4)
        within("up-stroke's share of the cycle", self.up_share, 0.01, 0.99)
        for name, volume in self.back_flows.items():
            not_negative(f"back-flow of the {name}, m³,", volume)
        if not -self.atmosphere < self.inlet_pressure <= self.outlet_pressure < math.inf:
            raise ValueError(
                f"inlet at {self.inlet_pressure:g} Pa and outlet at {self.outlet_pressure:g} Pa "
                "gauge; the inlet must be above a full vacuum and not above the outlet"
            )
        if not self.bulk_modulus > self.outlet_pressure - self.inlet_pressure:
            raise ValueError(
                f"bulk modulus is {self.bulk_modulus:g} Pa; it must be above the pressure rise"
            )


def leak_paths(
    architecture: Architecture, fitted: Mapping[str, Passage], duty: Duty, plungers: int = 1
) -> tuple[LeakPath, ...]:
    """Put measured passages in their places, each with the stroke and pressure it sees there.

    ``fitted`` gives passages by the names of ``places``; "inlet check 1, scratch" and the like
    name a second passage at a place. A place left out leaks nothing. Raises ValueError for a name
    that is no place of the pump.
    """
    known = {place.name: place for place in places(architecture, plungers)}
    drop = {"inlet": duty.outlet_pressure - duty.inlet_pressure}
    drop["atmosphere"] = max(duty.outlet_pressure, 0.0)
    made = []
    for name, passage in fitted.items():
        place = known.get(name.split(",")[0].strip())
        if place is None:
            raise ValueError(f"no place {name!r} on a {architecture}; it has {', '.join(known)}")
        made.append(LeakPath(name, passage, drop[place.against], place.stroke, place.chamber))
    return tuple(made)


@dataclass(frozen=True, slots=True)
class Loss:
    """One part of what is lost: m³ a cycle, as a share of the displacement and of all losses.

    ``leak`` says how a leak path flows; None for other kinds.
    """

    name: str
    kind: Kind
    volume: float
    share: float
    of_losses: float
    stroke: Stroke | None = None
    chamber: str = ""
    leak: Leak | None = None


@dataclass(frozen=True, slots=True)
class Volumetric:
    """What a pump delivers; volumes m³ a cycle, ``rate`` cycles/s, both flows m³/s.

    ``losses`` are ranked, the largest first. ``balance`` is displacement less losses: zero or below
    means that the pump does not reach the outlet pressure (``delivers`` is false; flow and
    ``efficiency`` are then 0). ``inlet_efficiency`` counts the volume as drawn in: a tank gauge's
    figure. ``by_stroke`` and ``by_chamber`` are slip volumes.
    """

    displacement: float
    rate: float
    balance: float
    delivered: float
    flow: float
    efficiency: float
    inlet_efficiency: float
    slip_flow: float
    losses: tuple[Loss, ...]
    by_stroke: Mapping[str, float]
    by_chamber: Mapping[str, float]

    @property
    def delivers(self) -> bool:
        """Whether anything leaves the pump at that pressure."""
        return self.balance > 0.0


def squeeze_loss(duty: Duty) -> tuple[float, float]:
    """Give what compression takes, as shares of the displacement: of the liquid, of the air [2].

    Chamber and clearance, 1 + r strokes' volume, hold (1 − x) liquid and x air at the inlet. At
    the outlet the liquid has shrunk by Δp/K and the air to (p1/p2)^(1/n), absolute; what is left in
    the clearance comes back. So (1 + r)((1 − x) Δp/K + x (1 − (p1/p2)^(1/n))) is not delivered.

    >>> liquid, air = squeeze_loss(Duty(1e-3, 1.0, 200e5, 1e-3, 1e3, 0.0, 2e9, 1.5))
    >>> round(liquid, 6), air
    (0.025, 0.0)
    """
    rise = duty.outlet_pressure - duty.inlet_pressure
    low, high = (duty.atmosphere + p for p in (duty.inlet_pressure, duty.outlet_pressure))
    room = 1.0 + duty.clearance_ratio
    shrunk = 1.0 - (low / high) ** (1.0 / duty.air_exponent)
    return room * (1.0 - duty.air_share) * rise / duty.bulk_modulus, room * duty.air_share * shrunk


def volumetric(duty: Duty, paths: tuple[LeakPath, ...] = ()) -> Volumetric:
    """Sum the losses of a pump at its duty to the flow it delivers.

    A three-plunger pump that leaks past one scratched inlet check only:

    >>> from rebuildbook.calculators.leak_paths import Scratch
    >>> duty = Duty(60e-6, 15.0, 60e5, 1e-3, 998.0, bulk_modulus=2.2e9, clearance_ratio=1.0)
    >>> worn = {"inlet check 2": Scratch(0.5e-3, 0.2e-3, 0.3e-3)}
    >>> found = volumetric(duty, leak_paths("plungers", worn, duty, plungers=3))
    >>> print(f"{found.efficiency:.1%}, most by the {found.losses[0].name}")
    99.1%, most by the liquid compression
    """
    losses = _losses(duty, paths)
    swept, slip = duty.displacement, sum(one.volume for one in losses if one.kind == "leak")
    balance = swept - sum(loss.volume for loss in losses)
    delivered = max(balance, 0.0)
    return Volumetric(
        displacement=swept,
        rate=duty.rate,
        balance=balance,
        delivered=delivered,
        flow=delivered * duty.rate,
        efficiency=delivered / swept,
        inlet_efficiency=delivered / swept / _squeezed(duty),
        slip_flow=slip * duty.rate,
        losses=losses,
        by_stroke=_by_stroke(duty, losses),
        by_chamber=_by_chamber(losses),
    )


def _losses(duty: Duty, paths: tuple[LeakPath, ...]) -> tuple[Loss, ...]:
    named = [path.name for path in paths]
    if twice := sorted({name for name in named if named.count(name) > 1}):
        raise ValueError(f"{', '.join(twice)} given twice; give each leak path its own name")
    slips = [_slip(duty, path) for path in paths]
    liquid, air = (share * duty.displacement for share in squeeze_loss(duty))
    others: list[tuple[str, Kind, float]] = [
        ("liquid compression", "liquid compression", liquid), ("air in the fluid", "air", air),
    ]  # fmt: skip
    others += [(f"{name}, back-flow", "back-flow", v) for name, v in duty.back_flows.items()]
    whole = sum(volume for volume, _ in slips) + sum(volume for *_, volume in others)

    def shares(volume: float) -> tuple[float, float, float]:
        return volume, volume / duty.displacement, volume / whole if whole else 0.0

    losses = [Loss(name, kind, *shares(volume)) for name, kind, volume in others if volume]
    losses += [
        Loss(path.name, "leak", *shares(volume), path.stroke, path.chamber, how)
        for path, (volume, how) in zip(paths, slips, strict=True)
    ]
    return tuple(sorted(losses, key=lambda loss: -loss.volume))


def _squeezed(duty: Duty) -> float:
    """Volume at the outlet of what had a volume of 1 at the inlet."""
    return 1.0 - sum(squeeze_loss(replace(duty, clearance_ratio=0.0)))


def _time_shares(duty: Duty, stroke: Stroke) -> dict[str, float]:
    up = 0.0 if stroke == "down-stroke" else duty.up_share
    return {"up-stroke": up, "down-stroke": 0.0 if stroke == "up-stroke" else 1.0 - duty.up_share}


def _slip(duty: Duty, path: LeakPath) -> tuple[float, Leak]:
    thick = duty.viscosity if path.viscosity is None else path.viscosity
    how = leak(path.passage, path.pressure_difference, thick, duty.density, path.wall_speed)
    share = path.share
    if share is None:
        share = sum(_time_shares(duty, path.stroke).values())
    return how.flow * share / duty.rate, how


def _by_stroke(duty: Duty, losses: tuple[Loss, ...]) -> dict[str, float]:
    out = {"up-stroke": 0.0, "down-stroke": 0.0}
    for loss in losses:
        if loss.stroke is not None:
            shares = _time_shares(duty, loss.stroke)
            for stroke, share in shares.items():
                out[stroke] += loss.volume * share / sum(shares.values())
    return out


def _by_chamber(losses: tuple[Loss, ...]) -> dict[str, float]:
    out: dict[str, float] = {}
    for loss in losses:
        if loss.kind == "leak":
            out[loss.chamber] = out.get(loss.chamber, 0.0) + loss.volume
    return out


@dataclass(frozen=True, slots=True)
class ClearanceLimit:
    """Mean gap at which a pump falls to the wanted efficiency, m; ``diametral`` is twice that.

    For a piston, plunger or rod ``bore`` and ``part`` are the diameters, m, at which it is reached
    by the wear of that one alone, the other staying as measured.
    """

    height: float
    diametral: float
    bore: float
    part: float


def clearance_for_efficiency(
    duty: Duty, paths: tuple[LeakPath, ...], name: str, wanted: float
) -> ClearanceLimit:
    """Find the wear limit of one part: its gap at the ``wanted`` efficiency, the rest as measured.

    ``name`` is that of a path whose passage is a gap. More clearance, less flow: there is one such
    gap. Raises ValueError where the other losses
    alone already take the pump below it, and where no gap of that size takes it so low.
    """
    within("wanted efficiency", wanted, 0.001, 1.0)
    found = [path for path in paths if path.name == name]
    if not found or not isinstance(found[0].passage, Gap):
        gaps = [path.name for path in paths if isinstance(path.passage, Gap)]
        raise ValueError(f"no gap named {name!r}; it can be one of {', '.join(gaps) or 'none'}")
    path, gap = found[0], found[0].passage
    others = volumetric(duty, tuple(p for p in paths if p is not path)).balance / duty.displacement

    def surplus(height: float) -> float:
        trial = replace(path, passage=replace(gap, height=height))
        return others - _slip(duty, trial)[0] / duty.displacement - wanted

    if surplus(0.0) <= 0.0:
        raise ValueError(
            f"the other losses alone leave {others:.1%}; {wanted:.1%} is out of reach whatever the "
            f"{name} is made to"
        )
    low, high = 0.0, max(gap.height, 1e-6)
    largest = gap.diameter / 4.0
    while surplus(high) > 0.0:
        if high >= largest:
            raise ValueError(f"no clearance of the {name} takes the pump down to {wanted:.1%}")
        low, high = high, min(2.0 * high, largest)
    height = float(brentq(surplus, low, high, xtol=1e-12, rtol=1e-12))  # type: ignore[no-untyped-call]
    bore, part = gap.diameter + gap.height, gap.diameter - gap.height
    return ClearanceLimit(height, 2.0 * height, part + 2.0 * height, bore - 2.0 * height)
