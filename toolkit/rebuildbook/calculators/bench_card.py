"""The bench card of a pump: which readings are taken and what each should be.

The usual card is what a bench reads of every unit. Further tests take longer; `next_test` asks for
one where the usual card leaves faults that look alike. Which test goes on the usual card, how long
a test takes and how fine an instrument reads are common practice, no source.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from rebuildbook.calculators.plunger_model import plunger_flow, standing, swing
from rebuildbook.calculators.pump_model import (
    Array,
    State,
    caught,
    delivered,
    hold_loss,
    loaded,
    stall,
    stall_air,
    state,
    vacuum_loss,
)
from rebuildbook.calculators.pump_network import (
    DISCHARGE,
    FIXED,
    OUTSIDE,
    RETURN,
    SUCTION,
    Move,
    Pump,
)

USUAL = "usual card"
RELATIVE_NOISE = 0.05
GOOD_BALL = 0.02  # of the old leak is left with a known-good ball and seat
CREEP_FLOOR = 2e-4  # m/s; a rule and a watch: 2 mm in 10 s
SMALL_FLOW = 1e-3  # of the reference flow: what is caught in a measure
GAUGE = 0.01  # of the pressure: what a dial is read to
METER = 0.01  # of the flow: what a meter is read to


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: its name, SI unit, the test it belongs to and the least error it has (SI).

    ``predict`` gives its value from a `State`.
    """

    name: str
    unit: str
    test: str
    floor: float
    predict: Callable[[State], Array]


@dataclass(frozen=True, slots=True)
class BenchTest:
    """A test beyond the usual card: how it is done, and the work it is (s)."""

    name: str
    how: str
    effort: float


@dataclass(frozen=True, slots=True)
class Card:
    """All readings a pump can be given, the usual ones first, and the further tests."""

    pump: Pump
    readings: tuple[Reading, ...]
    tests: tuple[BenchTest, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all readings."""
        return tuple(reading.name for reading in self.readings)

    @property
    def usual(self) -> tuple[str, ...]:
        """Names of the readings of the usual card."""
        return self.of_test(USUAL)

    def of_test(self, test: str) -> tuple[str, ...]:
        """Names of the readings of one test."""
        return tuple(reading.name for reading in self.readings if reading.test == test)

    def places(self, names: Iterable[str]) -> list[int]:
        """Give the columns of the named readings; raises ValueError for one not on the card."""
        known = {name: place for place, name in enumerate(self.names)}
        wanted = list(names)
        strange = [name for name in wanted if name not in known]
        if strange:
            raise ValueError(f"no reading {strange[0]!r} on this pump's card; it has {list(known)}")
        return [known[name] for name in wanted]

    @property
    def floors(self) -> Array:
        """Least error of each reading, in its unit."""
        return np.array([reading.floor for reading in self.readings])

    def predict(self, severities: Any, places: Sequence[int] | None = None) -> Array:
        """Predict the readings at ``places``, or all (…, readings), for severities (…, faults)."""
        now = state(self.pump, severities)
        chosen = range(len(self.readings)) if places is None else places
        return np.stack([self.readings[place].predict(now) for place in chosen], axis=-1)

    def healthy(self) -> dict[str, float]:
        """Predict the readings of the pump without a fault."""
        return dict(zip(self.names, _healthy(self), strict=True))

    def noise(self, predicted: Any, relative: float = RELATIVE_NOISE) -> Array:
        """Give the standard error of each reading: ``relative`` of it and its floor together."""
        return np.hypot(relative * np.asarray(predicted, dtype=float), self.floors)


@functools.lru_cache(maxsize=32)
def _healthy(card: Card) -> tuple[float, ...]:
    """Readings of a pump without a fault, once for all who hold others against them."""
    return tuple(card.predict(np.zeros(len(card.pump.faults))).tolist())


@functools.lru_cache(maxsize=32)
def card(pump: Pump) -> Card:
    """Make the card of a pump from its network.

    >>> from rebuildbook.calculators.drive import double_acting_areas
    >>> from rebuildbook.calculators.pump_units import double_acting
    >>> pump = double_acting(double_acting_areas(0.08, 0.03), double_acting_areas(0.16, 0.03),
    ...                      stroke=0.12, rate=40 / 60, supply=4e5)
    >>> healthy = card(pump).healthy()
    >>> healthy["creep, up-stroke"], round(healthy["stall pressure, up-stroke"] / 1e5, 2)
    (0.0, 16.53)
    """
    pairs = list(_crank_tests(pump) if pump.plungers else _rod_tests(pump))
    readings = [*(_crank_usual(pump) if pump.plungers else _rod_usual(pump))]
    readings += [reading for _, own in pairs for reading in own]
    return Card(pump, tuple(readings), tuple(test for test, _ in pairs))


def _stall_pressure(now: State, move: Move) -> Array:
    return stall(now, move).pressure


def _creep(now: State, move: Move, blanked: bool = False, repaired: str = "") -> Array:
    return stall(now.repaired(repaired, GOOD_BALL), move, blanked).creep


def _swing_size(now: State, repaired: str = "") -> Array:
    return np.abs(swing(now.repaired(repaired, GOOD_BALL)))


def _share_of_flow(now: State, name: str) -> Array:
    return now.of(name) * now.pump.reference_flow


def _share_of_air(now: State, name: str) -> Array:
    return now.of(name) * now.pump.air_rate


def _pressure(name: str, test: str, scale: float, predict: Callable[[State], Array]) -> Reading:
    return Reading(name, "Pa", test, GAUGE * scale, predict)


def _caught(pump: Pump, name: str, test: str, predict: Callable[[State], Array]) -> Reading:
    return Reading(name, "m^3/s", test, SMALL_FLOW * pump.reference_flow, predict)


def _weeps(pump: Pump) -> Iterator[Reading]:
    """What is caught at each seal to the outside while the pump runs at the bench's pressure."""
    for passage in pump.passages:
        if passage.end == OUTSIDE:
            yield _caught(
                pump, f"weep, {passage.name}", USUAL,
                partial(_share_of_flow, name=passage.name),
            )  # fmt: skip


def _stalling(pump: Pump) -> list[Move]:
    return [move for move in pump.moves if move.pressed_area > 0.0]


def _rod_usual(pump: Pump) -> Iterator[Reading]:
    for move in _stalling(pump):
        yield _pressure(
            f"stall pressure, {move.name}", USUAL, pump.bench.pressure,
            partial(_stall_pressure, move=move),
        )  # fmt: skip
        yield Reading(
            f"creep, {move.name}", "m/s", USUAL, CREEP_FLOOR,
            partial(_creep, move=move),
        )  # fmt: skip
        yield Reading(
            f"air at stall, {move.name}", "m^3/s", USUAL, METER * pump.air_rate,
            partial(stall_air, move=move),
        )  # fmt: skip
    yield Reading("flow", "m^3/s", USUAL, METER * pump.reference_flow, delivered)
    yield Reading(
        "air while running", "m^3/s", USUAL, METER * pump.air_rate,
        lambda now: now.pump.air_rate * (1.0 + now.share("air")),
    )  # fmt: skip
    yield _pressure(
        "supply that just moves it", USUAL, pump.supply,
        lambda now: now.pump.supply * (now.pump.friction + now.share("friction")),
    )  # fmt: skip
    yield _hold(pump, _usual_rest(pump), USUAL)
    yield from _weeps(pump)
    if any(fault.kind == "diaphragm" for fault in pump.faults):
        yield _caught(
            pump, "air in the outlet", USUAL,
            lambda now: now.share("diaphragm") * now.pump.reference_flow,
        )  # fmt: skip


def _usual_rest(pump: Pump) -> Move:
    """Stroke after which the usual hold is done: the first that delivers, and so stalls."""
    return _stalling(pump)[0]


def _hold(pump: Pump, after: Move, test: str) -> Reading:
    free = next((move for move in pump.moves if move.name != after.name), None)
    return _pressure(
        f"pressure lost, drive vented after the {after.name}", test, pump.bench.pressure,
        partial(hold_loss, free=free),
    )  # fmt: skip


def _rod_tests(pump: Pump) -> Iterator[tuple[BenchTest, list[Reading]]]:
    for move in pump.moves:
        if move.name != _usual_rest(pump).name:
            name = f"hold after the {move.name}"
            how = (
                f"Run to the end of the {move.name}, shut the outlet under pressure, vent the "
                "drive and watch the gauge; keep clear of the rod, which may move by itself"
            )
            yield BenchTest(name, how, 600.0), [_hold(pump, move, name)]
    yield from _vacuum(pump, {move.name: move.pressed for move in pump.moves}, "stopped after the")
    yield from _blanked(pump)
    yield from _relief(pump)
    yield from _opened(pump)
    for passage in pump.passages:
        if passage.kind == "check":
            yield from _good_ball(pump, passage.name)
    yield from _air(pump)


def _vacuum(
    pump: Pump, stops: dict[str, frozenset[str]], word: str
) -> Iterator[tuple[BenchTest, list[Reading]]]:
    name = "vacuum hold"
    inlets = {one.end for one in pump.passages if one.start == SUCTION and one.kind == "check"}
    how = (
        "Open the outlet, blank the suction with a vacuum gauge in it, turn the pump over slowly "
        "until the gauge stands, stop and watch it"
    )
    readings = [
        _pressure(
            f"vacuum lost, {word} {stop}", name, pump.bench.vacuum,
            partial(vacuum_loss, pressed=pressed),
        )
        for stop, pressed in stops.items()
        if pressed & inlets
    ]  # fmt: skip
    yield BenchTest(name, how, 900.0), readings


def _blanked(pump: Pump) -> Iterator[tuple[BenchTest, list[Reading]]]:
    name = "stall with the suction blanked"
    how = "Stall against the shut outlet, shut the suction and read the creep again"
    yield BenchTest(name, how, 600.0), [
        Reading(
            f"creep, suction blanked, {move.name}", "m/s", name, CREEP_FLOOR,
            partial(_creep, move=move, blanked=True),
        )
        for move in _stalling(pump)
    ]  # fmt: skip


def _relief(pump: Pump) -> Iterator[tuple[BenchTest, list[Reading]]]:
    if any(fault.name == "relief valve" for fault in pump.faults):
        name = "catch at the relief's return"
        how = "At the bench's pressure, below the set pressure, catch what the relief valve passes"
        yield (
            BenchTest(name, how, 300.0),
            [_caught(pump, "relief return", name, partial(caught, place=DISCHARGE, end=RETURN))],
        )


def _chambers(pump: Pump) -> list[str]:
    ends = (end for one in pump.passages for end in (one.start, one.end) if end not in FIXED)
    return list(dict.fromkeys(ends))


def _opened(pump: Pump) -> Iterator[tuple[BenchTest, list[Reading]]]:
    name = "outlet under pressure, chambers opened"
    how = (
        "Pressure off, drive vented, rod locked, each chamber drained through a fitted hose: bring "
        "the outlet up with a hand pump from behind the screen and catch what each hose gives"
    )
    yield BenchTest(name, how, 2400.0), [
        _caught(
            pump, f"caught from the outlet, {chamber}", name,
            partial(caught, place=DISCHARGE, end=chamber),
        )
        for chamber in _chambers(pump)
    ]  # fmt: skip


def _good_ball(pump: Pump, check: str) -> Iterator[tuple[BenchTest, list[Reading]]]:
    """A known-good ball and seat in one check, and the creep or swing read again."""
    name = f"known-good ball and seat, {check}"
    how = f"Fit a ball and a seat known to hold in the {check} and read again"
    if pump.plungers:
        readings = [
            _pressure(
                f"swing with a good {check}", name, pump.bench.pressure,
                partial(_swing_size, repaired=check),
            )
        ]  # fmt: skip
    else:
        passage = next(one for one in pump.passages if one.name == check)
        readings = [
            Reading(
                f"creep with a good {check}, {move.name}", "m/s", name, CREEP_FLOOR,
                partial(_creep, move=move, repaired=check),
            )
            for move in _stalling(pump)
            if loaded(passage, move)
        ]  # fmt: skip
    if readings:
        yield BenchTest(name, how, 2400.0), readings


def _air(pump: Pump) -> Iterator[tuple[BenchTest, list[Reading]]]:
    inner = [fault.name for fault in pump.faults if fault.name in {"air piston seal", "shaft seal"}]
    for seal in inner:
        name = f"air across the {seal}"
        how = "Take the air valve off, feed one air chamber and measure what the other passes"
        yield BenchTest(name, how, 1800.0), [
            Reading(
                f"air past the {seal}", "m^3/s", name, METER * pump.air_rate,
                partial(_share_of_air, name=seal),
            )
        ]  # fmt: skip
    torn = [fault.name for fault in pump.faults if fault.kind == "diaphragm"]
    if torn:
        name = "air behind each diaphragm"
        how = "Liquid drained, chambers open: feed each air chamber in turn and measure what passes"
        yield BenchTest(name, how, 2400.0), [
            _caught(
                pump, f"air past the {one}", name,
                partial(_share_of_flow, name=one),
            )
            for one in torn
        ]  # fmt: skip


def _crank_usual(pump: Pump) -> Iterator[Reading]:
    bench = pump.bench
    yield Reading("flow", "m^3/s", USUAL, METER * pump.reference_flow, plunger_flow)
    yield _pressure("swing, once a turn", USUAL, bench.pressure, _swing_size)
    yield _pressure("pressure lost, stopped", USUAL, bench.pressure, partial(hold_loss, free=None))
    yield from _weeps(pump)


def _crank_tests(pump: Pump) -> Iterator[tuple[BenchTest, list[Reading]]]:
    name = "swing timed against the crank"
    how = (
        "Mark the crank, record outlet pressure and mark together, and take the swing's part in "
        "step with plunger 1 and the part a quarter turn behind"
    )
    yield (
        BenchTest(name, how, 1200.0),
        [
            _pressure("swing, in step", name, pump.bench.pressure, lambda now: swing(now).real),
            _pressure(
                "swing, quarter turn", name, pump.bench.pressure, lambda now: swing(now).imag
            ),
        ],
    )
    stops = {str(one): standing(pump, one) for one in range(1, pump.plungers + 1)}
    yield from _vacuum(pump, stops, "stopped at the end of plunger")
    yield from _relief(pump)
    yield from _opened(pump)
    for passage in pump.passages:
        if passage.kind == "check":
            yield from _good_ball(pump, passage.name)
