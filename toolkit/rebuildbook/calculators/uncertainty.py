"""How sure a computed value is: by the GUM's sums of squares, and by a million trials.

A model is any function of named inputs, SI floats or arrays, such as the ``.si`` kernel of a
formula. Inputs are distributions or plain numbers and are taken as independent of one another.

Sources: [1] JCGM 100, Guide to the expression of uncertainty in measurement (GUM). [2] JCGM 101,
propagation of distributions by a Monte Carlo method. [3] ISO 6789, permissible deviation of a
torque tool. Clauses from memory.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.preload import preload_from_friction, preload_from_nut_factor

Floats = NDArray[np.float64]
Model = Callable[..., Any]
SEED = 20230
DRAWS = 1_000_000
COVERAGE = 0.95


@dataclass(frozen=True, slots=True)
class Normal:
    """A measured value with its standard uncertainty, in the unit of the input."""

    mean: float
    std: float

    def __post_init__(self) -> None:
        not_negative("standard uncertainty", self.std)

    def draw(self, generator: np.random.Generator, count: int) -> Floats:
        """Draw ``count`` values."""
        return generator.normal(self.mean, self.std, count)


@dataclass(frozen=True, slots=True)
class Uniform:
    """A value known only to lie between two limits [1, 4.3.7]."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _check_rising(self.low, self.high)

    @property
    def mean(self) -> float:
        """Middle of the limits."""
        return (self.low + self.high) / 2.0

    @property
    def std(self) -> float:
        """Half the width over √3."""
        return (self.high - self.low) / math.sqrt(12.0)

    def draw(self, generator: np.random.Generator, count: int) -> Floats:
        """Draw ``count`` values."""
        return generator.uniform(self.low, self.high, count)


@dataclass(frozen=True, slots=True)
class Triangular:
    """A value between two limits, likeliest at ``mode`` [1, 4.3.9]."""

    low: float
    mode: float
    high: float

    def __post_init__(self) -> None:
        _check_rising(self.low, self.mode, self.high)

    @property
    def mean(self) -> float:
        """Mean of the three corners."""
        return (self.low + self.mode + self.high) / 3.0

    @property
    def std(self) -> float:
        """Standard deviation of the triangle.

        >>> round(Triangular(-1.0, 0.0, 1.0).std ** 2, 6)  # [1]: a²/6
        0.166667
        """
        a, m, b = self.low, self.mode, self.high
        return math.sqrt((a * a + m * m + b * b - a * m - a * b - m * b) / 18.0)

    def draw(self, generator: np.random.Generator, count: int) -> Floats:
        """Draw ``count`` values; limits that coincide give their value."""
        if self.low == self.high:
            return np.full(count, self.low)
        return generator.triangular(self.low, self.mode, self.high, count)


Input = Normal | Uniform | Triangular | float


@dataclass(frozen=True, slots=True)
class Propagation:
    """Result of the linear propagation, in the unit of the model.

    ``contributions`` are |c·u| of each input, so the roots of the shares of variance;
    ``low`` and ``high`` bound the ``coverage`` interval of a normal distribution.
    """

    value: float
    std: float
    low: float
    high: float
    coverage: float
    contributions: dict[str, float]


def propagate(
    model: Model, inputs: Mapping[str, Input], *, coverage: float = COVERAGE
) -> Propagation:
    """Propagate standard uncertainties linearly [1, 5.1.2], sensitivities taken numerically.

    Each input is stepped by its own standard uncertainty to both sides [1, note 2 of 5.1.3], so a
    curved model shows its mean slope over the range that matters. ``model`` takes the inputs by
    name; ``coverage`` is the probability of the interval.

    >>> result = propagate(lambda a, b: a - b, {"a": Normal(10.0, 0.3), "b": Normal(4.0, 0.4)})
    >>> f"{result.value:.1f} ± {result.std:.1f}, 95 % from {result.low:.2f} to {result.high:.2f}"
    '6.0 ± 0.5, 95 % from 5.02 to 6.98'
    """
    within("coverage", coverage, 0.5, 0.9999)
    middle = {name: _mean(given) for name, given in inputs.items()}
    contributions: dict[str, float] = {}
    for name, given in inputs.items():
        if isinstance(given, float | int) or given.std == 0.0:
            continue
        up = float(model(**{**middle, name: given.mean + given.std}))
        down = float(model(**{**middle, name: given.mean - given.std}))
        contributions[name] = abs(up - down) / 2.0
    value, std = float(model(**middle)), math.hypot(*contributions.values())
    reach = float(ndtri((1.0 + coverage) / 2.0)) * std
    return Propagation(value, std, value - reach, value + reach, coverage, contributions)


@dataclass(frozen=True, slots=True, eq=False)
class Simulation:
    """Result of a Monte Carlo run, in the unit of the model; ``draws`` are sorted."""

    draws: Floats
    mean: float
    std: float
    low: float
    high: float
    coverage: float
    seed: int

    def below(self, limit: float) -> float:
        """Share of trials below ``limit``, such as the preload at which the joint opens."""
        return float(np.searchsorted(self.draws, limit, side="left") / self.draws.size)

    def above(self, limit: float) -> float:
        """Share of trials above ``limit``, such as the preload at which the fastener yields."""
        return 1.0 - float(np.searchsorted(self.draws, limit, side="right") / self.draws.size)

    @property
    def resolution(self) -> float:
        """Probability below which no trial need show (95 % sure): 3 over their number."""
        return 3.0 / self.draws.size

    def quantile(self, probability: float) -> float:
        """Give the value that a share ``probability`` of the trials does not exceed."""
        within("probability", probability, 0.0, 1.0)
        return _quantile(self.draws, probability)


def simulate(
    model: Model,
    inputs: Mapping[str, Input],
    *,
    draws: int = DRAWS,
    seed: int = SEED,
    coverage: float = COVERAGE,
    interval: Literal["symmetric", "shortest"] = "symmetric",
) -> Simulation:
    """Propagate whole distributions by Monte Carlo [2].

    ``model`` is called once with an array of ``draws`` values for each distribution, by name. The
    ``interval`` of the given ``coverage`` leaves equal probability at both ends ("symmetric",
    [2, 7.7.2]) or is the narrowest of its kind ("shortest", for lopsided results). Same ``seed``,
    same result; each input has a stream of its own name, so that adding or changing one leaves
    the trials of the others as they were.

    >>> run = simulate(lambda a, b: a + b, {"a": Uniform(0.0, 1.0), "b": Uniform(0.0, 1.0)})
    >>> f"{run.mean:.2f} {run.std:.3f} {run.low:.2f} {run.high:.2f}"  # triangle: 0.224, 1.776
    '1.00 0.408 0.22 1.78'
    """
    within("coverage", coverage, 0.5, 0.9999)
    if draws < 1000:
        raise ValueError(f"{draws} draws tell too little; take at least 1000")
    values = {
        name: given if isinstance(given, float | int) else given.draw(_stream(seed, name), draws)
        for name, given in inputs.items()
    }
    out = np.sort(np.broadcast_to(np.asarray(model(**values), dtype=float), (draws,)))
    if np.isnan(out[-1]):
        raise ValueError("the model gave no number for some trial; check the limits of the inputs")
    low, high = (_shortest if interval == "shortest" else _symmetric)(out, coverage)
    return Simulation(out, float(out.mean()), float(out.std(ddof=1)), low, high, coverage, seed)


def tightening(
    torque: float, accuracy: float = 0.0, step: float = 0.0
) -> dict[str, Uniform | float]:
    """Give the inputs "torque" and "reading" for a torque tool (N·m).

    ``torque`` set or read; ``accuracy`` the tool's permissible deviation as a share of it [3],
    taken as equally likely throughout; ``step`` between two marks of the scale, of which the
    setting may be half a step off.

    >>> inputs = tightening(48.0, accuracy=0.04, step=1.0)
    >>> inputs["torque"], inputs["reading"]
    (Uniform(low=46.08, high=49.92), Uniform(low=-0.5, high=0.5))
    """
    positive("torque", torque)
    within("tool accuracy", accuracy, 0.0, 0.5)
    half = not_negative("step of the scale", step) / 2.0
    if half >= torque:
        raise ValueError(f"a scale in steps of {step:g} N·m cannot set {torque:g} N·m")
    return {
        "torque": Uniform(torque * (1.0 - accuracy), torque * (1.0 + accuracy)),
        "reading": Uniform(-half, half),
    }


def preload_by_nut_factor(diameter: float) -> Model:
    """Build the model of preload by nut factor for a fastener of ``diameter`` (m).

    It takes ``torque``, ``reading`` (N·m, from ``tightening``), ``nut_factor`` and, if wanted,
    ``prevailing_torque`` (N·m) and ``loss`` (share of the preload lost to settling and creep),
    and gives newtons.

    >>> model = preload_by_nut_factor(0.0127)
    >>> inputs = {**tightening(90.0, 0.04), "nut_factor": Triangular(0.14, 0.20, 0.30)}
    >>> run = simulate(model, inputs)
    >>> f"{run.low / 1e3:.0f} to {run.high / 1e3:.0f} kN"
    '25 to 46 kN'
    """

    def model(
        torque: Any,
        nut_factor: Any,
        reading: Any = 0.0,
        prevailing_torque: Any = 0.0,
        loss: Any = 0.0,
    ) -> Any:
        preload = preload_from_nut_factor.si(
            torque + reading, nut_factor, diameter, prevailing_torque
        )
        return preload * (1.0 - within("loss", loss, 0.0, 1.0))

    return model


def preload_by_friction(*, pitch: float, pitch_diameter: float, bearing_diameter: float) -> Model:
    """Build the model of preload by friction coefficients; ``pitch`` and diameters in m.

    As ``preload_by_nut_factor``, with ``thread_friction`` and ``bearing_friction`` in place of
    the nut factor, independent of one another. Leave ``bearing_friction`` out where one lubricant
    wets both faces: they then move together and the preload scatters wider.
    """

    def model(
        *,
        torque: Any,
        thread_friction: Any,
        bearing_friction: Any = None,
        reading: Any = 0.0,
        prevailing_torque: Any = 0.0,
        loss: Any = 0.0,
    ) -> Any:
        preload = preload_from_friction.si(
            torque + reading,
            pitch=pitch,
            pitch_diameter=pitch_diameter,
            thread_friction=thread_friction,
            bearing_friction=thread_friction if bearing_friction is None else bearing_friction,
            bearing_diameter=bearing_diameter,
            prevailing_torque=prevailing_torque,
        )
        return preload * (1.0 - within("loss", loss, 0.0, 1.0))

    return model


def _mean(given: Input) -> float:
    return float(given) if isinstance(given, float | int) else given.mean


def _stream(seed: int, name: str) -> np.random.Generator:
    return np.random.default_rng([seed, zlib.crc32(name.encode())])


def _quantile(ordered: Floats, probability: float) -> float:
    """Quantile of sorted values, straight between neighbours."""
    place = probability * (ordered.size - 1)
    below = math.floor(place)
    above = min(below + 1, ordered.size - 1)
    return float(ordered[below] + (place - below) * (ordered[above] - ordered[below]))


def _symmetric(ordered: Floats, coverage: float) -> tuple[float, float]:
    tail = (1.0 - coverage) / 2.0
    return _quantile(ordered, tail), _quantile(ordered, 1.0 - tail)


def _shortest(ordered: Floats, coverage: float) -> tuple[float, float]:
    """Narrowest window over the sorted values that holds the wanted share of them [2, 5.3.4]."""
    held = round(coverage * ordered.size)
    widths = ordered[held:] - ordered[: ordered.size - held]
    start = int(np.argmin(widths))
    return float(ordered[start]), float(ordered[start + held])


def _check_rising(*corners: float) -> None:
    if not all(math.isfinite(corner) for corner in corners) or list(corners) != sorted(corners):
        given = ", ".join(f"{corner:g}" for corner in corners)
        raise ValueError(f"limits {given} do not rise; give the lower first")
