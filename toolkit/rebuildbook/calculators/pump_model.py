"""What leaks do to a pump on the bench: stall, creep, flow lost, pressure and vacuum lost.

Quasi-static: inertia is left out, checks shut at once, liquid in the chambers does not give; only
the shut discharge line and the blanked suction do. Every leak is an orifice, q = K √Δp. A laminar
gap (q = G Δp) would fit a long tight clearance; the faults looked for here are scored seats,
worn balls, cut seals: short passages in which a bench pressure drives jets of high Reynolds
number (0.1 mm at 20 bar of water: near 10⁴). Leaks at one pressure then add as Σ K.

A severity is the share of the pump's displacement that a leak loses at the bench's pressure and
rate; K follows from it and from the share of the cycle in which the passage is loaded.

Sources: orifice law and continuity, any textbook of hydraulics; the rest is derived in each
docstring. That a stalled pump creeps on the stroke on which the leaking check must hold, and on
both for the piston seal, is common practice, no source; here it comes out of the network.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rebuildbook.calculators.bounds import within
from rebuildbook.calculators.drive import ATMOSPHERE
from rebuildbook.calculators.pump_network import DISCHARGE, FIXED, SUCTION, Move, Passage, Pump

Array = NDArray[np.float64]


def loaded(passage: Passage, move: Move) -> bool:
    """Whether a passage parts a pressed place from one that is not, and so leaks, on a stroke."""
    return (passage.start in move.pressed) != (passage.end in move.pressed)


def duty(pump: Pump, passage: Passage) -> float:
    """Share of the cycle in which a passage is loaded, both strokes of a rod taking alike long.

    A plunger's chamber is pressed for half a turn; its inlet and packing leak then, its outlet in
    the other half.
    """
    if pump.plungers:
        return 1.0 if passage.start == DISCHARGE else 0.5
    return sum(loaded(passage, move) for move in pump.moves) / len(pump.moves)


@dataclass(frozen=True, slots=True)
class State:
    """A pump with its faults: ``shares`` (…, faults) and ``conductances`` K (…, passages).

    K in m³/(s √Pa); the leading axes are draws.
    """

    pump: Pump
    shares: Array
    conductances: Array

    def share(self, kind: str) -> Array:
        """Add up the shares of all faults of one kind."""
        places = [i for i, fault in enumerate(self.pump.faults) if fault.kind == kind]
        total: Array = self.shares[..., places].sum(axis=-1)
        return total

    def of(self, name: str) -> Array:
        """Give the share of one fault; zero where the pump cannot have it."""
        names = [fault.name for fault in self.pump.faults]
        if name not in names:
            return np.zeros(self.shares.shape[:-1])
        return self.shares[..., names.index(name)]

    def total(self, chosen: Any) -> Array:
        """Add up K of the passages for which ``chosen(passage)`` holds."""
        mask = np.array([bool(chosen(one)) for one in self.pump.passages])
        total: Array = self.conductances[..., mask].sum(axis=-1)
        return total

    def repaired(self, name: str, left: float) -> State:
        """Give the state with the K of passage ``name``, if any, cut to the part ``left``."""
        if not name:
            return self
        factor = [left if one.name == name else 1.0 for one in self.pump.passages]
        return replace(self, conductances=self.conductances * np.array(factor))


def state(pump: Pump, severities: Any) -> State:
    """Turn severities (…, faults), each a share from 0 to 1, into leak conductances.

    K = s Q / (d √p), with Q = displacement · rate, p the bench's pressure and d the duty: running
    at that pressure the leak loses s Q.
    """
    shares = np.asarray(severities, dtype=float)
    if shares.shape[-1:] != (len(pump.faults),):
        raise ValueError(
            f"severities of shape {shares.shape}; the last axis must have {len(pump.faults)}, "
            "one for each fault"
        )
    within("severity", shares, 0.0, 1.0)
    names = [fault.name for fault in pump.faults]
    unit = pump.reference_flow / math.sqrt(pump.bench.pressure)
    columns = [
        shares[..., names.index(one.name)] * unit / duty(pump, one)
        if one.name in names
        else np.zeros(shares.shape[:-1])
        for one in pump.passages
    ]
    return State(pump, shares, np.stack(columns, axis=-1))


@dataclass(frozen=True, slots=True)
class Stalled:
    """A stroke against the shut outlet: ``pressure`` reached (Pa) and ``creep`` (m/s)."""

    pressure: Array
    creep: Array


def stall(now: State, move: Move, blanked: bool = False) -> Stalled:
    """Pressure and creep of a stalled stroke, with the suction open or ``blanked``.

    The pressed places lose Σ K √P, so the rod must give up at least v A = Σ K √P; what leaks into
    a chamber that fills needs room, v Ac = Kc √P, or the leak would stop: v is the larger. The
    drive is fed through its valve, an orifice too, so its force falls as 1 − (v/v₀)² with v₀ its
    free speed. With v = c √P:

        P = P₀/(1 + c² P₀/v₀²),   P₀ = ps (1 − f) Ad/A.

    The shut line takes up the difference where the rod gives more than leaks out, which holds for
    the first centimetre or so of creep. A blanked suction keeps what leaks into it unless a
    chamber that fills draws it away.
    """
    pump = now.pump
    rate = now.total(lambda one: _counts(pump, move, one, blanked)) / move.pressed_area
    for place, area in move.filling.items():
        into = now.total(lambda one, place=place: loaded(one, move) and place in _ends(one))
        rate = np.maximum(rate, into / area)
    left = np.clip(1.0 - pump.friction - now.share("friction"), 0.0, 1.0)
    full = pump.supply * left * move.drive_area / move.pressed_area
    pressure = full / (1.0 + rate**2 * full / pump.free_speed**2)
    return Stalled(pressure, rate * np.sqrt(pressure))


def _ends(passage: Passage) -> tuple[str, str]:
    return passage.start, passage.end


def _counts(pump: Pump, move: Move, passage: Passage, blanked: bool) -> bool:
    if not loaded(passage, move):
        return False
    drawn = any(one.start == SUCTION and one.end in move.filling for one in pump.passages)
    return not blanked or SUCTION not in _ends(passage) or drawn


def stall_air(now: State, move: Move) -> Array:
    """Free air taken at stall (m³/s): what the drive's own leaks pass and what creep fills."""
    pump = now.pump
    compressed = stall(now, move).creep * move.drive_area
    used = pump.air_rate * now.share("air")
    total: Array = used + compressed * (pump.supply + ATMOSPHERE) / ATMOSPHERE
    return total


def lost_running(now: State) -> Array:
    """Flow lost when running at the bench's pressure (m³/s): Σ d K √p, and air past a diaphragm."""
    pump = now.pump
    root = math.sqrt(pump.bench.pressure)
    weight = np.array([duty(pump, one) * root for one in pump.passages])
    lost: Array = now.conductances @ weight + pump.reference_flow * now.share("diaphragm")
    return lost


def delivered(now: State) -> Array:
    """Flow delivered at the bench's rate and pressure (m³/s), V n η less what is lost."""
    flow = now.pump.reference_flow * now.pump.efficiency - lost_running(now)
    return np.maximum(flow, 0.0)


def orifice_loss(conductance: Array, pressure: float, compliance: float, time: float) -> Array:
    """Pressure lost in ``time`` (s) from a closed volume through an orifice (Pa).

    C dp/dt = −K √p gives √p = √p₀ − K t/(2C), down to zero: p₀ (1 − (1 − x)²), x = K t/(2C √p₀).

    >>> float(orifice_loss(np.array(1e-9), 1e6, 1e-10, 1e9)), float(
    ...     orifice_loss(np.array(0.0), 1e6, 1e-10, 60.0))
    (1000000.0, 0.0)
    """
    part = np.minimum(conductance * time / (2.0 * compliance * math.sqrt(pressure)), 1.0)
    lost: Array = pressure * part * (2.0 - part)
    return lost


def time_constant(conductance: Array, pressure: float, compliance: float) -> Array:
    """Time of a leak-down at its first rate, p₀/(−dp/dt) = C √p₀/K (s); infinite without leak."""
    with np.errstate(divide="ignore"):
        return compliance * math.sqrt(pressure) / np.asarray(conductance, dtype=float)


def drain(now: State, free: Move | None) -> Array:
    """Conductance K that drains the shut line with the drive vented (m³/(s √Pa)).

    Straight out of the line go relief and whatever opens from it to the outside. Past an outlet
    check alone nothing can go, since the inlet check holds what comes, unless the rod can move:
    ``free`` is the stroke it can still make from where it rests. The chambers that fill then push
    it at pc Ac against A P of the pressed ones and the friction Ff, so the leak sees

        Δp = P − (A P + Ff)/Ac,   the line gives (Ac − A)/Ac of it.

    Where Ac is not above A, as on the down-stroke of a double-acting piston, the rod is locked.
    Where the line itself stands on a face Al that it can push, the rod side of a differential
    piston, the piston follows what leaks out of the chamber ahead of it (area A): that leak sees
    (P Al − Ff)/A, and the line gives Al/A of it.
    """
    pump = now.pump
    outside = now.total(
        lambda one: DISCHARGE in _ends(one) and all(end in FIXED for end in _ends(one))
    )
    if free is None:
        return outside
    own = -dict(free.areas).get(DISCHARGE, 0.0)
    if own > 0.0:
        return outside + _pushed(now, free, own)
    if not free.filling:
        return outside
    pressed, filling = free.pressed_area, sum(free.filling.values())
    if filling <= pressed:
        return outside
    into = now.total(lambda one: loaded(one, free) and any(e in free.filling for e in _ends(one)))
    drag = (pump.friction + now.share("friction")) * pump.supply * free.drive_area
    part = 1.0 - pressed / filling - drag / (filling * pump.bench.pressure)
    moved: Array = into * np.sqrt(np.maximum(part, 0.0)) * (filling - pressed) / filling
    return outside + moved


def _pushed(now: State, free: Move, own: float) -> Array:
    """Conductance that drains the line as it pushes the rod along ``free`` on its face ``own``."""
    pump = now.pump
    ahead = {place: area for place, area in free.areas if area > 0.0}
    area = sum(ahead.values())
    out = now.total(lambda one: loaded(one, free) and any(e in ahead for e in _ends(one)))
    drag = (pump.friction + now.share("friction")) * pump.supply * free.drive_area
    part = (own - drag / pump.bench.pressure) / area
    drained: Array = out * np.sqrt(np.maximum(part, 0.0)) * own / area
    return drained


def hold_loss(now: State, free: Move | None) -> Array:
    """Pressure the shut line loses in the bench's hold, drive vented (Pa); see `drain`."""
    bench = now.pump.bench
    return orifice_loss(drain(now, free), bench.pressure, bench.line_compliance, bench.hold)


def vacuum_loss(now: State, pressed: frozenset[str]) -> Array:
    """Vacuum the blanked suction loses with the pump stopped and the outlet open (Pa).

    ``pressed`` are the chambers that delivered last: they stand at the atmosphere, and their inlet
    checks leak back. The other chambers stand under vacuum; what leaks into one of them shuts its
    own inlet check and does not reach the gauge.
    """
    bench = now.pump.bench
    back = now.total(lambda one: one.start == SUCTION and one.end in pressed)
    return orifice_loss(back, bench.vacuum, bench.suction_compliance, bench.vacuum_hold)


def caught(now: State, place: str, end: str) -> Array:
    """What passes from ``place`` to ``end`` at the bench's pressure (m³/s), whichever way it lies.

    With the chambers opened and the discharge under pressure from outside it is the leak of each
    outlet check; between the discharge and the relief's return that of the relief valve.
    """
    between = now.total(lambda one: {place, end} == set(_ends(one)))
    return between * math.sqrt(now.pump.bench.pressure)
