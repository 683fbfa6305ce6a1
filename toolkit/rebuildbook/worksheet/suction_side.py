"""The suction side of a case: what the line leaves of the head at hand, and whether it fills."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass

from rebuildbook.calculators.ball_check import GRAVITY
from rebuildbook.calculators.drive import ATMOSPHERE
from rebuildbook.calculators.stroke_motion import CrankMotion
from rebuildbook.calculators.suction import (
    FLUID_FACTORS,
    PUMP_FACTORS,
    Heads,
    PipeSection,
    PumpKind,
    SuctionSide,
    acceleration_head,
    acceleration_head_by_motion,
    drop_by_motion,
    largest_rate,
    npsh_available,
)
from rebuildbook.sheets.job import Suction
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import given_line, nominal
from rebuildbook.worksheet.in_motion import InMotion
from rebuildbook.worksheet.model import Block, Finding, Level, Line, Lines, Note, Value, given

WANTED = 1.0  # m of margin over the required NPSH; common practice, no source
SOON = 0.25  # of the filling stroke, for the column to come up to speed; judgement of this toolkit
SHORT_LINE = 15.0  # m up to which the form of the Hydraulic Institute is meant
HI = "Hydraulic Institute form h = L v n C/(K g); C read in a public account, K from memory"
STIFF = FLUID_FACTORS["water without air"]  # the fluid that gives least, so the most head
_NPSH = "net positive suction head, absolute head over vapour pressure (ISO 17769-1, from memory)"
_BETTER = (
    "Bring the supply nearer or higher, take a larger and shorter line, run slower, or fit a "
    "damper close to the inlet; ask the maker. A pump that starves beats its checks to pieces."
)
_KINDS: dict[tuple[str, int], PumpKind] = {
    ("plunger", 1): "simplex single-acting", ("plunger", 2): "duplex single-acting",
    ("plunger", 3): "triplex", ("plunger", 5): "quintuplex", ("plunger", 7): "septuplex",
    ("plunger", 9): "nonuplex", ("double-acting-piston", 1): "simplex double-acting",
    ("double-acting-piston", 2): "duplex double-acting",
    ("double-diaphragm", 1): "duplex single-acting",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Account:
    """A suction side worked out at ``flow`` (m³/s, mean) and ``rate`` (1/s).

    ``factor`` is C of the Hydraulic Institute's form, None where it has none for this pump or an
    air motor drives it. ``by_crank`` (m) is the acceleration head of a rigid column from the
    crank, ``left_by_crank`` (m) the NPSH that friction and that head leave at the worst instant.
    ``peak`` is the largest flow drawn over the mean, ``filling`` (s) the stroke that draws it.
    """

    side: SuctionSide
    heads: Heads
    flow: float
    rate: float
    factor: float | None
    peak: float
    by_crank: float | None
    left_by_crank: float | None
    filling: float

    @property
    def start(self) -> float | None:
        """Time the head to spare takes to bring the column up to the peak's speed, s."""
        if self.by_crank is not None or self.heads.margin <= 0.0:
            return None
        (line,) = self.side.sections
        speed = self.flow * self.peak / line.area
        return line.length * speed / (GRAVITY * self.heads.margin)


def suction_blocks(context: Context, moving: InMotion) -> Iterator[Block]:
    """Lines and findings of the suction side; a note where the sheets do not tell enough."""
    suction = context.job.duty.suction
    if suction is None:
        yield from _measured(context)
        return
    if moving.rate is None:
        yield Note("Suction side: not worked out, as the rate is not known or the drive stands.")
        return
    try:
        account = account_of(context, suction, moving, moving.rate)
    except ValueError as problem:
        yield Note(f"Suction side: not worked out; {problem}.")
        return
    yield Lines("Suction side", tuple(_lines(context, suction, account)))
    if gaps := list(_gaps(context, suction, account)):
        yield Note(f"Suction side: {'; '.join(gaps)}.")
    yield from _findings(context, account)


def _measured(context: Context) -> Iterator[Block]:
    """NPSH from a pressure read at the inlet, where the line itself is not described."""
    inlet, fluid = context.job.duty.inlet_pressure, context.job.fluid
    if inlet is None or fluid.vapour_pressure is None:
        yield Note("Suction side: the job card does not describe it (duty.suction).")
        return
    absolute = inlet.nominal + ATMOSPHERE
    if absolute < 0.0:
        yield Note("Suction side: the inlet pressure is below an absolute vacuum; read it again.")
        return
    pressures = (absolute, fluid.vapour_pressure.nominal, fluid.density.nominal)
    available = float(npsh_available.si(*pressures, 0.0))
    inputs = {
        "p_0": context.value(ATMOSPHERE, "pressure"), "p_i": given(inlet),
        "p_v": given(fluid.vapour_pressure), "rho": given(fluid.density),
    }  # fmt: skip
    line = Line(
        "running.npsh", "NPSH available", _head(context, available), "NPSH_a",
        f"(p_0 + p_i - p_v)/(rho*{GRAVITY})", inputs,
        f"from the pressure at the inlet, standard atmosphere; {_NPSH}",
    )  # fmt: skip
    yield Lines("Suction side", (line, *_required(context)))
    if context.model.fluid_end.npsh_required is not None or available < 0.0:
        yield _fills(context, available, _BETTER)


def account_of(context: Context, suction: Suction, moving: InMotion, rate: float) -> Account:
    """Work the suction side out; raises ValueError for a pipe that is none."""
    fluid, end = context.job.fluid, context.model.fluid_end
    pipe = PipeSection(
        suction.line_length.nominal, suction.line_bore.nominal,
        nominal(suction.roughness, 0.0), nominal(suction.fittings, 0.0),
    )  # fmt: skip
    side = SuctionSide(
        (pipe,), fluid.density.nominal, fluid.viscosity.nominal,
        nominal(fluid.vapour_pressure, 0.0), suction.static_head.nominal, _atmosphere(suction),
        required=nominal(end.npsh_required, 0.0),
    )  # fmt: skip
    flow, peak = moving.pump.displacement * rate, moving.pulse("drawn").peak
    factor, by_crank, left = _factor(context), None, None
    heads = side.heads(flow, rate, factor or 1.0, STIFF, peak)
    if isinstance(moving.motion, CrankMotion):
        by_crank = acceleration_head_by_motion(side.sections, moving.pump, moving.motion, rate)
        drop = drop_by_motion(side, moving.pump, moving.motion, rate).max()
        pressures = (side.surface_pressure, side.vapour_pressure, side.density)
        left = float(npsh_available.si(*pressures, side.static_head, drop))
    if factor is None:
        heads = dataclasses.replace(heads, acceleration=by_crank or 0.0)
    filling = _filling(moving, rate)
    return Account(side, heads, flow, rate, factor, peak, by_crank, left, filling)


def _filling(moving: InMotion, rate: float) -> float:
    """Time of the stroke on which the pump draws hardest, s."""
    if isinstance(moving.motion, CrankMotion):
        return 0.5 / rate
    up = moving.motion.up_share * (1.0 - moving.motion.dwell)
    times = (up / rate, (1.0 - moving.motion.dwell - up) / rate)
    drawn = moving.pump.volumes("drawn")
    return max(zip(drawn, times, strict=True), key=lambda stroke: stroke[0] / stroke[1])[1]


def _factor(context: Context) -> float | None:
    model = context.model
    if model.drive.kind != "electric":
        return None
    kind = "plunger" if model.architecture == "single-acting-piston" else model.architecture
    name = _KINDS.get((kind, model.fluid_end.plungers))
    return PUMP_FACTORS[name] if name else None


def _atmosphere(suction: Suction) -> float:
    return suction.atmosphere.nominal if suction.atmosphere else ATMOSPHERE


def _lines(context: Context, suction: Suction, account: Account) -> Iterator[Line]:
    heads, fluid = account.heads, context.job.fluid
    density, card = given(fluid.density), context.source("job", "duty.suction")
    head = "pressure over ρ g"
    surface = (
        given(suction.atmosphere) if suction.atmosphere else context.value(ATMOSPHERE, "pressure")
    )
    yield Line(
        "running.head-surface", "Atmosphere on the supply", _head(context, heads.surface), "h_0",
        f"p_0/(rho*{GRAVITY})", {"p_0": surface, "rho": density},
        f"{head}, absolute" + ("" if suction.atmosphere else "; standard atmosphere"),
    )  # fmt: skip
    if fluid.vapour_pressure is not None:
        yield Line(
            "running.head-vapour", "Vapour pressure", _head(context, heads.vapour), "h_v",
            f"p_v/(rho*{GRAVITY})", {"p_v": given(fluid.vapour_pressure), "rho": density}, head,
        )  # fmt: skip
    yield given_line("running.head-static", "Static head", suction.static_head, card, "z")
    yield Line(
        "running.velocity", "Mean velocity in the line",
        context.value(account.flow / account.side.sections[0].area, "speed"), "v",
        "4*Q/(pi*D**2)",
        {"Q": context.value(account.flow, "flow"), "D": given(suction.line_bore)}, "no slip",
    )  # fmt: skip
    yield Line(
        "running.head-friction",
        f"Friction head at the peak, {account.peak:.2f} times the mean",
        _head(context, heads.friction), "h_f",
        method="Darcy-Weisbach, 64/Re or Colebrook-White (White, from memory); Newtonian fluid",
    )  # fmt: skip
    yield from _acceleration(context, suction, account)
    if fluid.vapour_pressure is not None:
        yield from _available(context, account)


def _acceleration(context: Context, suction: Suction, account: Account) -> Iterator[Line]:
    if account.factor is not None:
        value = acceleration_head.si(
            suction.line_length.nominal, account.flow / account.side.sections[0].area,
            account.rate, account.factor, STIFF,
        )  # fmt: skip
        yield Line(
            "running.head-acceleration", "Acceleration head", _head(context, float(value)), "h_a",
            f"L*v*n*C/({STIFF}*{GRAVITY})",
            {
                "L": given(suction.line_length),
                "v": context.value(account.flow / account.side.sections[0].area, "speed"),
                "n": context.value(account.rate, "rate"),
                "C": Value(60.0 * account.factor, "time", "min"),
            },
            f"{HI}: {STIFF} for water without air, which takes most",
        )  # fmt: skip
    if account.by_crank is not None:
        yield Line(
            "running.head-crank", "The same by the crank, rigid column",
            _head(context, account.by_crank), "h_c",
            method="h = L/(A g) dQ/dt, slider-crank; a fluid that gives takes less",
        )  # fmt: skip
    if account.start is not None:
        speed = account.peak * account.flow / account.side.sections[0].area
        yield Line(
            "running.start", "Time to bring the column up to the peak's speed",
            context.value(account.start, "time", unit="s"), "t",
            f"L*v_p/({GRAVITY}*h_s)",
            {
                "L": given(suction.line_length),
                "v_p": context.value(speed, "speed"),
                "h_s": _head(context, account.heads.margin),
            },
            "an air or oil motor starts at once; the column follows with the head to spare",
        )  # fmt: skip


def _available(context: Context, account: Account) -> Iterator[Line]:
    heads = account.heads
    inputs = {
        "h_0": _head(context, heads.surface), "h_v": _head(context, heads.vapour),
        "z": _head(context, heads.static), "h_f": _head(context, heads.friction),
    }  # fmt: skip
    formula = "h_0 - h_v + z - h_f"
    if account.by_crank is not None:
        symbol = "h_a" if account.factor is not None else "h_c"
        formula += f" - {symbol}"
        inputs[symbol] = _head(context, heads.acceleration)
    yield Line(
        "running.npsh", "NPSH available", _head(context, heads.available), "NPSH_a", formula,
        inputs, _NPSH,
    )  # fmt: skip
    if account.left_by_crank is not None and account.factor is not None:
        yield Line(
            "running.npsh-crank", "The same by the crank", _head(context, account.left_by_crank),
            method="friction and acceleration as they come over a turn",
        )  # fmt: skip
    yield from _required(context)


def _required(context: Context) -> Iterator[Line]:
    required = context.model.fluid_end.npsh_required
    if required is not None:
        sheet = context.source("model", "fluid_end")
        yield given_line("running.npsh-required", "NPSH required", required, sheet, "NPSH_r")


def _head(context: Context, si: float) -> Value:
    return context.value(si, "head")


def _gaps(context: Context, suction: Suction, account: Account) -> Iterator[str]:
    if context.job.fluid.vapour_pressure is None:
        yield "without the fluid's vapour_pressure the NPSH is not worked out"
    elif context.model.fluid_end.npsh_required is None:
        yield "the model sheet gives no npsh_required, so only starving altogether is judged"
    if suction.fittings is None:
        yield "no fittings given, friction is that of the bare pipe"
    if account.by_crank is not None and account.factor is None:
        yield "the Hydraulic Institute's form has no factor for this pump; the crank's head is used"
    if suction.line_length.nominal > SHORT_LINE:
        long = context.value(SHORT_LINE, "head").shown
        yield f"over {long} a line answers as an elastic column: a damper or a surge study"


def _findings(context: Context, account: Account) -> Iterator[Finding]:
    if context.job.fluid.vapour_pressure is None:
        return
    if context.model.fluid_end.npsh_required is not None or account.heads.available < 0.0:
        by_crank = account.left_by_crank if account.factor is not None else None
        yield _fills(context, account.heads.available, _better(context, account), by_crank)
        if account.start is not None:
            yield _starts(context, account, account.start)


def _fills(
    context: Context, available: float, better: str, by_crank: float | None = None
) -> Finding:
    required = nominal(context.model.fluid_end.npsh_required, 0.0)
    level: Level = "clear"
    if available < required:
        level = "hold"
    elif available - required < WANTED or (by_crank is not None and by_crank < required):
        level = "query"
    words = {
        "clear": "suction fills the pump",
        "query": "suction has little to spare",
        "hold": "suction falls short, the pump starves",
    }[level]
    crank = "" if by_crank is None else f"; {_head(context, by_crank).shown} by the crank"
    return Finding(
        "running.suction",
        level,
        f"Running: {words}",
        f"NPSH available {_head(context, available).shown} against "
        f"{_head(context, required).shown} required{crank}",
        _head(context, available - required).shown,
        "" if level == "clear" else better,
        f"heads as above; {WANTED:g} m of margin: common practice, no source",
    )


def _better(context: Context, account: Account) -> str:
    """What to do, with the rate at which the margin would be back."""
    if account.factor is None:
        return _BETTER
    displacement = account.flow / account.rate
    try:
        most = largest_rate(account.side, displacement, account.factor, STIFF, account.peak, WANTED)
    except ValueError:
        return f"{_BETTER} As it stands no rate leaves the margin."
    most_shown = context.value(most, "rate").shown
    return f"{_BETTER} As it stands {most_shown} leaves the margin."


def _starts(context: Context, account: Account, start: float) -> Finding:
    share = start / account.filling
    level: Level = "clear" if share <= SOON else "query"
    return Finding(
        "running.suction-start",
        level,
        "Running: " + ("fluid follows the stroke" if level == "clear" else "fluid lags the stroke"),
        f"column up to speed in {context.value(start, 'time', unit='s').shown} of a filling stroke "
        f"of {context.value(account.filling, 'time', unit='s').shown}",
        f"{100.0 * share:.0f} % of the stroke",
        "" if level == "clear" else _BETTER,
        f"Newton's second law for the line; {100.0 * SOON:.0f} %: judgement of this toolkit",
    )
