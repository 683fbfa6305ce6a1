"""Choose a torque tool for a window, and judge the one that was used.

Click wrenches are set and dial or electronic ones are read; the sums are the same. Sources:
[1] ISO 6789, permissible deviation ±6 % for tools up to 10 N·m and ±4 % above, share of the value
set (read in a public reproduction). [2] Common practice, no source: aim at the middle of the
window, keep the whole scatter inside it, and set between 20 % and 100 % of the tool's full scale.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from rebuildbook.calculators.torque import TORQUE_UNITS, check_window, torque_at_fastener
from rebuildbook.units import from_unit, number, show, to_unit, with_unit

LEAST_FRACTION = 0.20  # [2]
DUE_SOON_DAYS = 30
SQUARE = 1e-9  # |cos θ| below this is 90°: the lever does not matter


def permissible_deviation(full_scale: float) -> float:
    """Give the accuracy [1] allows a tool whose largest torque is ``full_scale`` N·m.

    For a tool whose certificate is not to hand; a fraction of the value set.

    >>> permissible_deviation(10.0), permissible_deviation(100.0)
    (0.06, 0.04)
    """
    if not full_scale > 0.0:
        raise ValueError(f"full scale = {full_scale:g} N·m; a tool's largest torque is positive")
    return 0.06 if full_scale <= 10.0 else 0.04


@dataclass(frozen=True, slots=True)
class Wrench:
    """A torque tool; torques in N·m, the lever in m, accuracies as fractions of the value set.

    ``low`` and ``high`` are its marked range, ``step`` the smallest step of its scale, which is
    marked in ``scale_unit``. ``accuracy_below`` holds for values at or under ``accuracy_limit``.
    ``lever`` is from the middle of the grip to the drive square; only an adapter needs it.
    """

    name: str
    low: float
    high: float
    scale_unit: str
    step: float
    accuracy: float
    accuracy_below: float | None = None
    accuracy_limit: float | None = None
    lever: float | None = None
    calibration_due: date | None = None
    drive: str = ""

    def __post_init__(self) -> None:
        if not 0.0 <= self.low < self.high < math.inf:
            raise ValueError(f"{self.name}: a range of {self.low:g} to {self.high:g} N·m is none")
        if self.scale_unit not in TORQUE_UNITS:
            units = ", ".join(TORQUE_UNITS)
            raise ValueError(f"{self.name}: {self.scale_unit!r} is no wrench unit; one of {units}")
        if not 0.0 < self.step <= self.high:
            raise ValueError(f"{self.name}: step = {self.step:g} N·m; must be positive, in range")
        for accuracy in (self.accuracy, self.accuracy_below):
            if accuracy is not None and not 0.0 < accuracy < 1.0:
                raise ValueError(f"{self.name}: accuracy = {accuracy:g}; write 0.04 for ± 4 %")
        if (self.accuracy_below is None) != (self.accuracy_limit is None):
            raise ValueError(f"{self.name}: a second accuracy goes with the torque it holds up to")
        if self.lever is not None and not 0.0 < self.lever < math.inf:
            raise ValueError(f"{self.name}: lever = {self.lever:g} m; must be positive")

    def accuracy_at(self, value: float) -> float:
        """Give the accuracy that holds at ``value`` N·m on the scale, a fraction of it."""
        limit = self.accuracy_limit
        if self.accuracy_below is not None and limit is not None and value <= limit * (1 + 1e-9):
            return self.accuracy_below
        return self.accuracy


@dataclass(frozen=True, slots=True)
class Adapter:
    """A crowfoot or extension: offset from square to fastener, m, and angle to the wrench, rad."""

    name: str
    offset: float
    angle: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.offset < math.inf or not math.isfinite(self.angle):
            raise ValueError(
                f"{self.name}: an offset of {self.offset:g} m at {self.angle:g} rad is none; the "
                "offset is zero or more and the angle turns it"
            )


CalibrationState = Literal["ok", "due soon", "expired", "unknown"]


@dataclass(frozen=True, slots=True)
class Calibration:
    """The state of a tool's calibration on a day; ``days`` are left, or negative since it fell due.

    The due date itself still counts as in calibration.
    """

    state: CalibrationState
    due: date | None
    days: int | None

    @property
    def valid(self) -> bool:
        """Whether the tool may be relied on: neither expired nor unknown."""
        return self.state in {"ok", "due soon"}

    @property
    def text(self) -> str:
        """Say it in words."""
        if self.due is None or self.days is None:
            return "no calibration date known"
        if self.state == "expired":
            return f"calibration expired on {self.due.isoformat()}, {-self.days} d before"
        return f"calibration due on {self.due.isoformat()}, in {self.days} d"


def calibration_on(wrench: Wrench, on: date) -> Calibration:
    """Give the state of a tool's calibration on the day of the work.

    >>> pump_wrench = Wrench("A", 5, 25, "N*m", 0.1, 0.04, calibration_due=date(2024, 3, 31))
    >>> calibration_on(pump_wrench, date(2024, 4, 2)).text
    'calibration expired on 2024-03-31, 2 d before'
    """
    due = wrench.calibration_due
    if due is None:
        return Calibration("unknown", None, None)
    days = (due - on).days
    state: CalibrationState = (
        "expired" if days < 0 else "due soon" if days <= DUE_SOON_DAYS else "ok"
    )
    return Calibration(state, due, days)


ObjectionKind = Literal["range", "least fraction", "scatter", "calibration"]


@dataclass(frozen=True, slots=True)
class Objection:
    """One reason against a tool, in the unit of its scale."""

    kind: ObjectionKind
    text: str


@dataclass(frozen=True, slots=True)
class WrenchAssessment:
    """What one tool does in a torque window; torques in N·m.

    ``setting`` is the value on the tool's scale, ``nominal`` what it puts on the fastener,
    ``delivered_low`` to ``delivered_high`` the scatter there: accuracy and half a step of reading,
    both through the adapter. A margin is the distance of the scatter from the window's edge;
    negative says by how much it oversteps. ``fraction`` is the setting's share of full scale.
    """

    wrench: Wrench
    adapter: Adapter | None
    window_low: float
    window_high: float
    setting: float
    nominal: float
    accuracy: float
    delivered_low: float
    delivered_high: float
    margin_low: float
    margin_high: float
    fraction: float
    calibration: Calibration
    objections: tuple[Objection, ...]

    @property
    def acceptable(self) -> bool:
        """Whether nothing speaks against the tool."""
        return not self.objections

    @property
    def inside(self) -> bool:
        """Whether the whole scatter lies in the window."""
        return _inside(self.margin_low, self.window_high) and _inside(
            self.margin_high, self.window_high
        )

    @property
    def relative_margin(self) -> float:
        """Smaller margin over the width of the window; over its torque where it has no width."""
        width = self.window_high - self.window_low
        return min(self.margin_low, self.margin_high) / (width or self.window_high)

    @property
    def setting_on_scale(self) -> float:
        """The setting in the unit of the tool's scale."""
        return to_unit(self.setting, self.wrench.scale_unit)


@dataclass(frozen=True, slots=True)
class WrenchChoice:
    """All the shop's tools for one window, best first, and those that could not be judged."""

    window_low: float
    window_high: float
    ranking: tuple[WrenchAssessment, ...]
    left_out: tuple[tuple[Wrench, str], ...]

    @property
    def best(self) -> WrenchAssessment | None:
        """The best tool that nothing speaks against; nothing when there is none."""
        return self.ranking[0] if self.ranking and self.ranking[0].acceptable else None


def choose_wrench(
    window_low: float,
    window_high: float,
    wrenches: Iterable[Wrench],
    adapter: Adapter | None = None,
    *,
    on: date,
    least_fraction: float = LEAST_FRACTION,
) -> WrenchChoice:
    """Rank the shop's tools for a torque window, N·m, on the day of the work.

    Each is set to the step that best centres its scatter [2]. First come the tools that nothing
    speaks against, then the others, each by the largest margin relative to the window; equal
    tools by name. With an adapter, a tool whose lever is not known is left out, with the reason.

    >>> tools = [Wrench("small", 5, 25, "N*m", 0.1, 0.04, calibration_due=date(2030, 1, 1)),
    ...          Wrench("large", 20, 100, "N*m", 1.0, 0.04, calibration_due=date(2030, 1, 1))]
    >>> choice = choose_wrench(21, 24, tools, on=date(2025, 6, 1))
    >>> choice.best.wrench.name, round(choice.best.setting, 1)
    ('small', 22.5)
    >>> [objection.kind for objection in choice.ranking[1].objections]
    ['scatter']
    """
    check_window(window_low, window_high)
    judged: list[WrenchAssessment] = []
    left_out: list[tuple[Wrench, str]] = []
    for wrench in wrenches:
        try:
            one = assess_wrench(
                window_low, window_high, wrench, adapter, on=on, least_fraction=least_fraction
            )
        except ValueError as problem:
            left_out.append((wrench, str(problem)))
        else:
            judged.append(one)
    judged.sort(key=lambda one: (not one.acceptable, -one.relative_margin, one.wrench.name))
    return WrenchChoice(window_low, window_high, tuple(judged), tuple(left_out))


@functools.lru_cache(maxsize=2048)
def assess_wrench(
    window_low: float,
    window_high: float,
    wrench: Wrench,
    adapter: Adapter | None = None,
    *,
    on: date,
    setting: float | None = None,
    least_fraction: float = LEAST_FRACTION,
) -> WrenchAssessment:
    """Judge one tool for a torque window, N·m, at ``setting`` or at the best step of its scale.

    ``setting`` is the value on the scale, N·m, where the job card noted what was set. Raises
    ValueError for a window that is none, or an adapter on a tool whose lever is not known.

    >>> used = assess_wrench(21, 24, Wrench("A", 20, 100, "N*m", 1.0, 0.04), on=date(2025, 6, 1))
    >>> f"{used.delivered_low:.2f} {used.delivered_high:.2f}"  # 22 ± 4 % ± 0.5
    '20.62 23.38'
    >>> [objection.text for objection in used.objections]
    ['scatter reaches 0.380 N·m below the window', 'no calibration date known']
    """
    check_window(window_low, window_high)
    ratio = _ratio(wrench, adapter)
    if setting is None:
        setting = _best_setting(window_low, window_high, wrench, ratio, least_fraction)
    elif not 0.0 < setting < math.inf:
        raise ValueError(f"{wrench.name}: a setting of {setting:g} N·m is none; must be positive")
    low, high = _delivered(wrench, setting, ratio)
    calibration = calibration_on(wrench, on)
    margins = low - window_low, window_high - high
    objections = (
        *_range_objections(wrench, setting, least_fraction),
        *_scatter_objections(wrench, margins, window_high),
        *([] if calibration.valid else [Objection("calibration", calibration.text)]),
    )
    return WrenchAssessment(
        wrench, adapter, window_low, window_high, setting, setting * ratio,
        wrench.accuracy_at(setting), low, high, *margins, setting / wrench.high,
        calibration, objections,
    )  # fmt: skip


def _ratio(wrench: Wrench, adapter: Adapter | None) -> float:
    """Give torque at the fastener over torque on the scale."""
    if adapter is None or abs(math.cos(adapter.angle)) < SQUARE:
        return 1.0
    if wrench.lever is None:
        raise ValueError(
            f"{wrench.name}: the length from grip to drive square is not known, so the setting "
            f"with the adapter {adapter.name} cannot be worked out"
        )
    return float(torque_at_fastener.si(1.0, wrench.lever, adapter.offset, adapter.angle))


def _delivered(wrench: Wrench, setting: float, ratio: float) -> tuple[float, float]:
    """Give the least and most torque at the fastener for a setting."""
    spread = wrench.accuracy_at(setting) * setting + wrench.step / 2
    return (setting - spread) * ratio, (setting + spread) * ratio


def _best_setting(
    window_low: float, window_high: float, wrench: Wrench, ratio: float, least_fraction: float
) -> float:
    """Choose the mark of the scale that leaves the scatter best centred in the window.

    A mark the tool may be used at is taken where its scatter fits; else the best mark of an
    endless scale, so that the assessment shows what the tool would have to be set to.
    """
    unit_step = to_unit(wrench.step, wrench.scale_unit)

    def mark(count: int) -> float:
        return from_unit(count * unit_step, wrench.scale_unit)

    def margin(count: int) -> float:
        low, high = _delivered(wrench, mark(count), ratio)
        return min(low - window_low, window_high - high)

    first = math.ceil(max(wrench.low, least_fraction * wrench.high) / wrench.step - 1e-9)
    last = math.floor(wrench.high / wrench.step + 1e-9)
    ideal = math.floor((window_low + window_high) / 2 / ratio / wrench.step)
    near = [max(1, ideal + shift) for shift in (-1, 0, 1, 2)]
    if wrench.accuracy_limit is not None:  # just above it the scatter may be less
        near.append(max(1, math.floor(wrench.accuracy_limit / wrench.step + 1e-9) + 1))
    allowed = [min(max(count, first), last) for count in near]
    best_allowed = max(allowed, key=margin)
    if first <= last and _inside(margin(best_allowed), window_high):
        return mark(best_allowed)
    return mark(max(near, key=margin))


def _inside(margin: float, scale: float) -> bool:
    """Whether a margin is none the less one, to the last place of the arithmetic."""
    return margin >= -1e-9 * scale


def _range_objections(wrench: Wrench, setting: float, least_fraction: float) -> list[Objection]:
    unit = wrench.scale_unit
    if not wrench.low * (1 - 1e-9) <= setting <= wrench.high * (1 + 1e-9):
        marked = f"{number(to_unit(wrench.low, unit))} to {number(to_unit(wrench.high, unit))}"
        needs = f"needs {show(setting, unit)}; marked {with_unit(marked, unit)}"
        return [Objection("range", needs)]
    if setting < least_fraction * wrench.high * (1 - 1e-9):
        share = f"{show(setting, unit)} is {show(setting / wrench.high, '%')} of full scale"
        return [Objection("least fraction", f"{share}, under {show(least_fraction, '%')}")]
    return []


def _scatter_objections(
    wrench: Wrench, margins: tuple[float, float], scale: float
) -> list[Objection]:
    return [
        Objection(
            "scatter", f"scatter reaches {show(-margin, wrench.scale_unit)} {side} the window"
        )
        for margin, side in zip(margins, ("below", "above"), strict=True)
        if not _inside(margin, scale)
    ]
