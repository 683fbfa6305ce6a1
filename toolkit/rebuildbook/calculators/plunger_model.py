"""Crank-driven plungers: how a leak in one chamber shows in the flow through a turn.

Each chamber is taken on its own: pressed for the half turn in which its plunger goes in. A leak
out of the pressed chamber takes its share of what the plunger gives, and all of it near the dead
centres, where the plunger is slower than the leak: min(q, x). An outlet that leaks takes liquid
back in the other half turn, again no more than the plunger makes room for.

Sources: slider-crank kinematics (`drive.crank_flow`); the rest is continuity, derived here.
"""

from __future__ import annotations

import functools
import math

import numpy as np
from numpy.typing import NDArray

from rebuildbook.calculators.drive import crank_flow
from rebuildbook.calculators.pump_model import Array, State
from rebuildbook.calculators.pump_network import OUTSIDE, SUCTION, Pump

_STEPS = 720  # a turn
_LEAKS = np.linspace(0.0, 4.0, 401)  # over the plunger's mean flow; its peak is near π


@functools.lru_cache(maxsize=16)
def _kernel(
    rod_ratio: float,
) -> tuple[Array, Array, NDArray[np.complex128], NDArray[np.complex128]]:
    """Give what a leak x takes: means and first harmonics, pressed half and filling half."""
    angle = (np.arange(_STEPS) + 0.5) * 2.0 * math.pi / _STEPS
    speed = 2.0 * crank_flow(angle, 1, rod_ratio, 1.0)
    taken = np.minimum(speed, _LEAKS[:, np.newaxis])
    turn = np.exp(-1j * angle)
    halves = [np.where(half, taken, 0.0) for half in (angle < math.pi, angle > math.pi)]
    means = [half.mean(axis=1) for half in halves]
    waves = [(half * turn).mean(axis=1) for half in halves]
    return means[0], means[1], waves[0], waves[1]


def phases(pump: Pump) -> Array:
    """Crank angle at which each plunger starts to deliver (rad), evenly apart."""
    return 2.0 * math.pi * np.arange(pump.plungers) / pump.plungers


def _leaks(now: State) -> tuple[Array, Array]:
    """Leak of each chamber when pressed and back into it when filling, over a plunger's mean."""
    pump = now.pump
    unit = math.sqrt(pump.bench.pressure) * pump.plungers / pump.reference_flow
    pressed, back = [], []
    for one in range(1, pump.plungers + 1):
        name = f"plunger {one}"
        pressed.append(
            now.total(lambda p, n=name: (p.start, p.end) in {(SUCTION, n), (n, OUTSIDE)})
        )
        back.append(now.total(lambda p, n=name: p.start == n and p.end != OUTSIDE))
    return unit * np.stack(pressed, axis=-1), unit * np.stack(back, axis=-1)


def plunger_flow(now: State) -> Array:
    """Flow delivered at the bench's rate and pressure (m³/s), V n η less what is lost."""
    pump = now.pump
    mean_pressed, mean_back, _, _ = _kernel(pump.rod_ratio)
    pressed, back = _leaks(now)
    lost = np.interp(pressed, _LEAKS, mean_pressed) + np.interp(back, _LEAKS, mean_back)
    relief = now.of("relief valve") * pump.reference_flow
    own = lost.sum(axis=-1) * pump.reference_flow / pump.plungers
    flow: Array = np.maximum(pump.reference_flow * pump.efficiency - own - relief, 0.0)
    return flow


def swing(now: State) -> NDArray[np.complex128]:
    """Once-a-turn swing of the outlet pressure (Pa): size and angle against the crank mark.

    A throttle gives p ∝ q², so the pressure swings by twice the share by which the flow does; a
    hose or damper takes the fast pulses of healthy plungers and leaves the slow one. The first
    harmonic of equal plungers cancels; what one of them loses does not. With α the crank angle
    from the start of plunger 1's delivery the swing is Re(z exp iα), z the value given.
    """
    pump = now.pump
    _, _, wave_pressed, wave_back = _kernel(pump.rod_ratio)
    pressed, back = _leaks(now)
    angle = (np.arange(_STEPS) + 0.5) * 2.0 * math.pi / _STEPS
    healthy = (crank_flow(angle, 1, pump.rod_ratio) * np.exp(-1j * angle)).mean()
    lost = _wave(pressed, wave_pressed) + _wave(back, wave_back)
    own = (healthy - lost) * np.exp(-1j * phases(pump))
    flow = 2.0 * own.sum(axis=-1) / pump.plungers
    size: NDArray[np.complex128] = 2.0 * pump.bench.pressure * flow / pump.efficiency
    return size


def _wave(leak: Array, table: NDArray[np.complex128]) -> NDArray[np.complex128]:
    real, imaginary = (np.interp(leak, _LEAKS, part) for part in (table.real, table.imag))
    wave: NDArray[np.complex128] = real + 1j * imaginary
    return wave


def standing(pump: Pump, stopped: int) -> frozenset[str]:
    """Chambers at the outlet's pressure when plunger ``stopped`` (from 1) ends its delivery."""
    turn = (math.pi + phases(pump)[stopped - 1] - phases(pump)) % (2.0 * math.pi)
    pressed = (turn > 1e-9) & (turn < math.pi + 1e-9)
    return frozenset(f"plunger {i + 1}" for i in np.flatnonzero(pressed))
