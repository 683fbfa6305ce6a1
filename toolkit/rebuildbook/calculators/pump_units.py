"""The usual kinds of reciprocating pump as networks: areas, strokes and supply in, a `Pump` out.

All figures are SI, pressures gauge. Up-stroke: the rod is drawn into the drive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.drive import ATMOSPHERE, StrokeAreas, free_air
from rebuildbook.calculators.pump_network import (
    DISCHARGE,
    OUTSIDE,
    RETURN,
    SUCTION,
    VACUUM,
    Architecture,
    Bench,
    Fault,
    Move,
    Passage,
    Pump,
)

# severities that matter, as shares of what `Fault` says: common practice, no source
LEAK = (0.03, 0.40)
WEEP = (0.005, 0.20)  # a packing that only wets the rod is already looked at
FRICTION = (0.05, 0.40)
AIR = (0.05, 0.60)
ONE_PLUNGER = 0.75  # of what one plunger displaces: the most a leak of its own can take


def _check(name: str, start: str, end: str) -> Passage:
    return Passage(name, "check", start, end)


def _seal(name: str, start: str, end: str) -> Passage:
    return Passage(name, "seal", start, end)


_RELIEF = _seal("relief valve", DISCHARGE, RETURN)


def _leaks(passages: Sequence[Passage], leak: tuple[float, float] = LEAK) -> tuple[Fault, ...]:
    return tuple(
        Fault(one.name, "leak", *(WEEP if one.end == OUTSIDE else leak)) for one in passages
    )


def _bench(pressure: float, rate: float, displacement: float, given: Bench | None) -> Bench:
    """Fill in the bench: gas cushions on the outlet and the suction, so that a fall can be timed.

    The outlet's holds at the test pressure what the pump delivers in 4 s, the suction's what it
    delivers in a fifth of a second (common practice, no source).
    """
    if given is not None:
        for word, own, asked in (
            ("rate", given.rate, rate),
            ("pressure", given.pressure, pressure),
        ):
            if own != asked:
                raise ValueError(f"the bench's {word} is {own:g} and the pump's {asked:g}")
        return given
    flow = rate * displacement
    return Bench(pressure, rate, 4.0 * flow / pressure, 0.2 * flow / (ATMOSPHERE - VACUUM))


def _air_driven(
    architecture: Architecture,
    passages: tuple[Passage, ...],
    moves: tuple[Move, ...],
    more: tuple[Fault, ...],
    *,
    stroke: float,
    rate: float,
    supply: float,
    friction: float,
    efficiency: float,
    pressure: float | None,
    bench: Bench | None,
) -> Pump:
    """Put an air-driven unit together; the drive's free speed is twice that at ``rate``."""
    positive("supply pressure", supply)
    positive("rate", rate)
    positive("stroke", stroke)
    if not 0.0 <= friction < 0.5:
        raise ValueError(
            f"friction is {friction:g}; a drive fit to test loses from 0 up to not 0.5"
        )
    within("volumetric efficiency", efficiency, 0.5, 1.0)
    displacement = stroke * sum(move.pressed_area for move in moves)
    stalls = [
        supply * (1.0 - friction) * move.drive_area / move.pressed_area
        for move in moves
        if move.pressed_area > 0.0
    ]
    against = 0.7 * min(stalls) if pressure is None else float(positive("pressure", pressure))
    if bench is not None:
        against = bench.pressure
    if against >= min(stalls):
        raise ValueError(f"test pressure is {against:g} Pa; the drive stalls at {min(stalls):g} Pa")
    swept = stroke * sum(move.drive_area for move in moves)
    return Pump(
        architecture=architecture,
        passages=passages,
        moves=moves,
        faults=(*_leaks(passages), *more, Fault("friction", "friction", *FRICTION)),
        displacement=displacement,
        bench=_bench(against, rate, displacement, bench),
        efficiency=efficiency,
        supply=supply,
        friction=friction,
        free_speed=2.0 * 2.0 * stroke * rate,
        air_rate=rate * float(free_air.si(swept, supply)),
    )


_AIR_PISTON = (
    Fault("air valve", "air", *AIR),
    Fault("air piston seal", "air", *AIR),
)


def double_acting(
    fluid: StrokeAreas, drive: StrokeAreas, *, stroke: float, rate: float, supply: float,
    friction: float = 0.08, efficiency: float = 0.95, pressure: float | None = None,
    bench: Bench | None = None,
) -> Pump:  # fmt: skip
    """Double-acting air-driven piston with four ball checks; rod through the upper chamber.

    ``fluid`` and ``drive`` areas (m²), ``stroke`` (m), ``rate`` (cycles/s) of the running test,
    ``supply`` (Pa gauge), ``friction`` share of the drive's force, ``pressure`` (Pa gauge) that
    the running test is throttled to and the hold starts from, by default 70 % of the lower stall.
    The supply is set so that the stall stays below the relief's set pressure.

    >>> from rebuildbook.calculators.drive import double_acting_areas
    >>> pump = double_acting(double_acting_areas(0.08, 0.03), double_acting_areas(0.16, 0.03),
    ...                      stroke=0.12, rate=40 / 60, supply=4e5)
    >>> [fault.name for fault in pump.faults][:6]
    ['upper inlet', 'upper outlet', 'lower inlet', 'lower outlet', 'piston seal', 'rod packing']
    """
    positive("upper area", fluid.up)
    positive("lower area", fluid.down)
    passages = (
        _check("upper inlet", SUCTION, "upper"), _check("upper outlet", "upper", DISCHARGE),
        _check("lower inlet", SUCTION, "lower"), _check("lower outlet", "lower", DISCHARGE),
        _seal("piston seal", "upper", "lower"), _seal("rod packing", "upper", OUTSIDE), _RELIEF,
    )  # fmt: skip
    moves = (
        Move("up-stroke", (("upper", fluid.up), ("lower", -fluid.down)), drive.up),
        Move("down-stroke", (("lower", fluid.down), ("upper", -fluid.up)), drive.down),
    )
    return _air_driven(
        "double-acting-piston", passages, moves, _AIR_PISTON, stroke=stroke, rate=rate,
        supply=supply, friction=friction, efficiency=efficiency, pressure=pressure, bench=bench,
    )  # fmt: skip


def single_acting(
    area: float, drive: StrokeAreas, *, stroke: float, rate: float, supply: float,
    friction: float = 0.08, efficiency: float = 0.95, pressure: float | None = None,
    bench: Bench | None = None,
) -> Pump:  # fmt: skip
    """Single-acting air-driven piston, two ball checks; it delivers on the down-stroke.

    Liquid past the cup comes out at the open back. ``area`` m² of the piston; others as above.
    """
    positive("piston area", area)
    passages = (
        _check("inlet", SUCTION, "chamber"), _check("outlet", "chamber", DISCHARGE),
        _seal("piston cup", "chamber", OUTSIDE), _RELIEF,
    )  # fmt: skip
    moves = (
        Move("up-stroke", (("chamber", -area),), drive.up),
        Move("down-stroke", (("chamber", area),), drive.down),
    )
    return _air_driven(
        "single-acting-piston", passages, moves, _AIR_PISTON, stroke=stroke, rate=rate,
        supply=supply, friction=friction, efficiency=efficiency, pressure=pressure, bench=bench,
    )  # fmt: skip


def differential(
    bore_area: float, rod_area: float, drive: StrokeAreas, *, stroke: float, rate: float,
    supply: float, friction: float = 0.08, efficiency: float = 0.95,
    pressure: float | None = None, bench: Bench | None = None,
) -> Pump:  # fmt: skip
    """Differential (two-ball) piston: foot check, a check in the piston, rod side to the outlet.

    The rod side is one with the discharge. On the down-stroke the piston check is open, both faces
    see the discharge and only the rod's section is displaced. Areas m²; others as above.
    """
    positive("rod area", rod_area)
    if bore_area <= rod_area:
        raise ValueError(f"rod area of {rod_area} m² is not below the bore's of {bore_area} m²")
    ring = bore_area - rod_area
    passages = (
        _check("foot check", SUCTION, "lower"), _check("piston check", "lower", DISCHARGE),
        _seal("piston seal", DISCHARGE, "lower"), _seal("rod packing", DISCHARGE, OUTSIDE),
        _RELIEF,
    )  # fmt: skip
    moves = (
        Move("up-stroke", ((DISCHARGE, ring), ("lower", -bore_area)), drive.up),
        Move("down-stroke", (("lower", bore_area), (DISCHARGE, -ring)), drive.down),
    )
    return _air_driven(
        "differential-piston", passages, moves, _AIR_PISTON, stroke=stroke, rate=rate,
        supply=supply, friction=friction, efficiency=efficiency, pressure=pressure, bench=bench,
    )  # fmt: skip


def double_diaphragm(
    area: float, *, stroke: float, rate: float, supply: float, friction: float = 0.05,
    efficiency: float = 0.95, pressure: float | None = None, bench: Bench | None = None,
    ratio: float = 1.0,
) -> Pump:  # fmt: skip
    """Air-operated double diaphragm, four ball checks.

    ``area`` m² effective of one diaphragm, ``ratio`` of air area over it. A stroke is named after
    the chamber that delivers. At one to one the diaphragms part air from liquid at nearly one
    pressure, so a torn one carries air into the liquid and does not show as creep; the shaft seal
    parts the two air chambers.
    """
    positive("diaphragm area", area)
    positive("area ratio", ratio)
    passages = (
        _check("left inlet", SUCTION, "left"), _check("left outlet", "left", DISCHARGE),
        _check("right inlet", SUCTION, "right"), _check("right outlet", "right", DISCHARGE),
        _RELIEF,
    )  # fmt: skip
    moves = (
        Move("left stroke", (("left", area), ("right", -area)), ratio * area),
        Move("right stroke", (("right", area), ("left", -area)), ratio * area),
    )
    more = (
        Fault("left diaphragm", "diaphragm", *LEAK), Fault("right diaphragm", "diaphragm", *LEAK),
        Fault("air valve", "air", *AIR), Fault("shaft seal", "air", *AIR),
    )  # fmt: skip
    return _air_driven(
        "double-diaphragm", passages, moves, more, stroke=stroke, rate=rate, supply=supply,
        friction=friction, efficiency=efficiency, pressure=pressure, bench=bench,
    )  # fmt: skip


def plunger(
    area: float, *, stroke: float, rate: float, pressure: float, plungers: int = 3,
    rod_ratio: float = 0.0, efficiency: float = 0.95, bench: Bench | None = None,
) -> Pump:  # fmt: skip
    """Crank-driven plungers, each with inlet, outlet and packing; it does not stall.

    ``area`` m² of one plunger, ``stroke`` m, ``rate`` turns/s, ``pressure`` Pa gauge that the
    outlet is throttled to, below the relief; ``rod_ratio`` crank radius over rod length.
    """
    if plungers != int(plungers) or not 1 <= plungers <= 12:
        raise ValueError(f"plungers is {plungers}; give a whole number from 1 to 12")
    for name, value in (("plunger area", area), ("stroke", stroke), ("rate", rate)):
        positive(name, value)
    positive("pressure", pressure)
    within("volumetric efficiency", efficiency, 0.5, 1.0)
    if not_negative("rod ratio", rod_ratio) >= 1.0:
        raise ValueError(f"rod ratio is {rod_ratio:g}; crank radius over rod is from 0 up to not 1")
    own: list[Passage] = []
    for one in range(1, plungers + 1):
        chamber = f"plunger {one}"
        own += [
            _check(f"inlet {one}", SUCTION, chamber), _check(f"outlet {one}", chamber, DISCHARGE),
            _seal(f"packing {one}", chamber, OUTSIDE),
        ]  # fmt: skip
    displacement = area * stroke * plungers
    most = min(LEAK[1], ONE_PLUNGER / plungers)
    leaks = _leaks(own, (LEAK[0], most))
    return Pump(
        architecture="plunger",
        passages=(*own, _RELIEF),
        moves=(),
        faults=(
            *(replace(fault, high=min(fault.high, most)) for fault in leaks),
            *_leaks([_RELIEF]),
        ),
        displacement=displacement,
        bench=_bench(pressure, rate, displacement, bench),
        efficiency=efficiency,
        plungers=int(plungers),
        rod_ratio=rod_ratio,
    )
