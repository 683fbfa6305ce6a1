"""Cups and packing: how they press, what measured wear leaves of it, gland travel, friction."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rebuildbook.calculators.packing import (
    MOST_LIP_LOSS,
    UCupFit,
    VStack,
    fit_u_cup,
    lip_after_wear,
    packing_friction,
    squeeze_lost,
    v_rings_for,
)
from rebuildbook.sheets.glands import cup_of, measured_on, stack_of
from rebuildbook.sheets.seals import UCupSeal, VPackingSeal
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Finding, Level, Line, Value

PRACTICE = "common practice, no source"
_GEOMETRY = "sizes of the free seal and its gland"
_FRICTION = "friction of a lip under the fluid's pressure, even along its contact"


@dataclass(frozen=True, slots=True)
class Lip:
    """The lip that runs: its interference new, and the sizes that wear leaves it (m).

    ``larger`` and ``smaller`` are the diameters, new and measured, whose difference has opened it;
    None where nothing was measured.
    """

    new: float
    larger: float | None
    smaller: float | None

    @property
    def left(self) -> float | None:
        """Interference left, m."""
        if self.larger is None or self.smaller is None:
            return None
        return lip_after_wear(self.new, float(squeeze_lost.si(self.larger, self.smaller)))[0]

    @property
    def serves(self) -> bool:
        """Whether enough of it is left."""
        if self.larger is None or self.smaller is None:
            return True
        return lip_after_wear(self.new, float(squeeze_lost.si(self.larger, self.smaller)))[1]


@dataclass(frozen=True, slots=True)
class CupFit:
    """A U-cup: at its nominal sizes, and at the loosest and tightest that the gland may be."""

    name: str
    seal: UCupSeal
    nominal: UCupFit
    loose: UCupFit
    tight: UCupFit
    lip: Lip | None
    friction: float | None
    unknown: tuple[str, ...]

    @property
    def leaks(self) -> bool:
        """Whether a lip may stand off."""
        return min(self.loose.inner_lip, self.loose.outer_lip) <= 0.0

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is out of order, at either end of the tolerances."""
        found = {remark.split(",")[0].split(" by ")[0]: remark for remark in self.tight.remarks}
        found |= {remark.split(",")[0].split(" by ")[0]: remark for remark in self.loose.remarks}
        return tuple(found.values())


@dataclass(frozen=True, slots=True)
class StackFit:
    """A set of V-packing under its gland; ``travel`` (m) is what the gland has left to go."""

    name: str
    seal: VPackingSeal
    stack: VStack
    travel: float
    compression: float
    wanted: int | None
    lip: Lip | None
    friction: float | None
    unknown: tuple[str, ...]


def fit_cup(context: Context, name: str, seal: UCupSeal) -> CupFit:
    """Fit a U-cup in its gland, and give its lip what was measured."""
    cup, slides = cup_of(seal), seal.slides
    inner, outer, length = seal.inner, seal.outer, seal.gland_length
    nominal, loose, tight = (
        fit_u_cup(cup, *sizes, slides=slides)
        for sizes in (
            (inner.nominal, outer.nominal, length.nominal),
            (inner.low, outer.high, length.high),
            (inner.high, outer.low, length.low),
        )
    )
    unknown: list[str] = []
    interference = nominal.inner_lip if slides == "rod" else nominal.outer_lip
    lip = _lip(context, seal, interference, slides == "bore", unknown)
    runs = inner if slides == "rod" else outer
    contact = seal.contact.nominal if seal.contact else None
    if contact is None:
        unknown.append("contact length")
    friction = _friction(context, seal, runs.nominal, contact, unknown)
    return CupFit(name, seal, nominal, loose, tight, lip, friction, tuple(unknown))


def fit_stack(context: Context, name: str, seal: VPackingSeal, highest: float) -> StackFit:
    """Put a set of V-packing in its box; ``highest`` is the highest pressure, Pa."""
    stack, unknown = stack_of(seal), []
    compression = seal.compression.nominal if seal.compression else 0.0
    if seal.compression is None:
        unknown.append("compression of the set")
    lip = None
    if seal.lip is None:
        unknown.append("interference of a new lip")
    else:
        lip = _lip(context, seal, seal.lip.nominal, False, unknown)
    contact = seal.rings * seal.pitch.nominal
    friction = _friction(context, seal, seal.rod.nominal, contact, unknown)
    try:
        wanted = v_rings_for(highest)
    except ValueError:
        wanted = None
        unknown.append("number of rings for such a pressure")
    travel = stack.travel(seal.box_depth.nominal, seal.spigot.nominal, compression)
    return StackFit(name, seal, stack, travel, compression, wanted, lip, friction, tuple(unknown))


def _lip(
    context: Context,
    seal: UCupSeal | VPackingSeal,
    interference: float,
    grows: bool,
    unknown: list[str],
) -> Lip | None:
    """The running lip; None where even new it does not press."""
    if interference <= 0.0:
        return None
    sizes = measured_on(seal, context.model, context.job)
    if sizes is None:
        unknown.append("measured size of what it runs on")
        return Lip(interference, None, None)
    new, measured = sizes
    larger, smaller = (measured, new) if grows else (new, measured)
    return Lip(interference, larger, smaller)


def _friction(
    context: Context,
    seal: UCupSeal | VPackingSeal,
    runs: float,
    contact: float | None,
    unknown: list[str],
) -> float | None:
    if seal.friction is None:
        unknown.append("friction coefficient")
    pressure = pressure_on(context, seal)
    if pressure is None:
        unknown.append("supply pressure on the job card")
    if seal.friction is None or contact is None or pressure is None:
        return None
    return float(packing_friction.si(seal.friction.nominal, pressure, runs, contact))


def pressure_on(context: Context, seal: UCupSeal | VPackingSeal) -> float | None:
    """Pressure on a seal in duty, Pa: the fluid's, or that of air or oil behind a dry one."""
    duty = context.job.duty
    if seal.wetted:
        return duty.working_pressure.nominal
    return duty.supply_pressure.nominal if duty.supply_pressure else None


def cup_lines(context: Context, fit: CupFit) -> Iterator[tuple[str, Line]]:
    """The lines of one U-cup, for a series."""
    seal, name = fit.seal, fit.name
    lengths = {
        "d_i": seal.inner,
        "l_i": seal.inner_lip,
        "l_o": seal.outer_lip,
        "D_o": seal.outer,
    }
    inputs = {key: context.value(size.nominal, "length", 4) for key, size in lengths.items()}
    yield (
        name,
        Line(
            f"seals.{name}.closed",
            "What both lips are closed by, of their free width",
            Value(fit.nominal.lip_share, "fraction", "%"),
            "s",
            "(d_i - l_i + l_o - D_o)/(l_o - l_i)",
            inputs,
            _GEOMETRY,
            "model sheet",
        ),
    )
    yield (
        name,
        Line(
            f"seals.{name}.end-play",
            "End play of the cup in its gland",
            context.value(fit.nominal.end_play, "length"),
            "b",
            "L - h",
            {
                "L": context.value(seal.gland_length.nominal, "length", 4),
                "h": context.value(seal.height.nominal, "length", 4),
            },
            _GEOMETRY,
            "model sheet",
        ),
    )
    yield from _lip_lines(context, name, fit.lip)
    runs = seal.inner if seal.slides == "rod" else seal.outer
    if seal.contact is not None:
        yield from _friction_lines(context, fit, runs.nominal, seal.contact.nominal)


def stack_lines(context: Context, fit: StackFit) -> Iterator[tuple[str, Line]]:
    """The lines of one set of packing, for a series."""
    seal, name = fit.seal, fit.name
    yield (
        name,
        Line(
            f"seals.{name}.travel",
            "Gap left under the gland's flange when the set is pressed together",
            context.value(fit.travel, "length"),
            "g",
            "(1 - c)*n*p + a + b + s - B",
            {
                "c": Value(fit.compression, "fraction", "%"),
                "n": Value(seal.rings, "number", ""),
                "p": context.value(seal.pitch.nominal, "length", 4),
                "a": context.value(seal.first_adapter.nominal, "length", 4),
                "b": context.value(seal.last_adapter.nominal, "length", 4),
                "s": context.value(seal.spigot.nominal, "length", 4),
                "B": context.value(seal.box_depth.nominal, "length", 4),
            },
            "height of the set and the follower's spigot, less the depth of the box",
            "model sheet",
        ),
    )
    yield from _lip_lines(context, name, fit.lip)
    contact = seal.rings * seal.pitch.nominal
    yield from _friction_lines(context, fit, seal.rod.nominal, contact)


def _lip_lines(context: Context, name: str, lip: Lip | None) -> Iterator[tuple[str, Line]]:
    if lip is None:
        return
    if lip.left is None or lip.larger is None or lip.smaller is None:
        yield (
            name,
            Line(
                f"seals.{name}.lip",
                "Interference of the running lip, new",
                context.value(lip.new, "length"),
                method=_GEOMETRY,
            ),
        )
        return
    yield (
        name,
        Line(
            f"seals.{name}.lip-left",
            "Interference of the running lip after the wear measured",
            context.value(lip.left, "length"),
            "i_r",
            "i - (M - m)/2",
            {
                "i": context.value(lip.new, "length", 4),
                "M": context.value(lip.larger, "length", 5),
                "m": context.value(lip.smaller, "length", 5),
            },
            "new interference less half the change of diameter, new and measured",
            "model sheet; job card: measured",
        ),
    )


def _friction_lines(
    context: Context, fit: CupFit | StackFit, runs: float, contact: float
) -> Iterator[tuple[str, Line]]:
    pressure = pressure_on(context, fit.seal)
    if fit.friction is None or fit.seal.friction is None or pressure is None:
        return
    yield (
        fit.name,
        Line(
            f"seals.{fit.name}.friction",
            "Friction at duty pressure, one seal",
            context.value(fit.friction, "force"),
            "F_f",
            "mu*p*pi*d*L",
            {
                "mu": Value(fit.seal.friction.nominal, "number", ""),
                "p": context.value(pressure, "pressure"),
                "d": context.value(runs, "length", 4),
                "L": context.value(contact, "length"),
            },
            _FRICTION,
            "model sheet; job card: duty",
        ),
    )


def cup_findings(context: Context, fit: CupFit) -> Iterator[Finding]:
    """Judge a U-cup: how it sits, and what wear has left."""
    level: Level = "hold" if fit.leaks else "query" if fit.remarks else "clear"
    words = {
        "clear": "sits in its gland",
        "query": "does not sit right",
        "hold": "a lip stands off",
    }
    closed = Value(fit.nominal.lip_share, "fraction", "%").shown
    play = context.value(fit.nominal.end_play, "length").shown
    yield Finding(
        f"seals.{fit.name}.fit",
        level,
        f"{fit.name}: {words[level]}",
        "; ".join(fit.remarks) or f"lips closed by {closed}, end play {play}",
        "",
        "" if level == "clear" else "Check cup and gland against the maker's sheet before fitting.",
        PRACTICE,
    )
    yield from _worn(context, fit)


def stack_findings(context: Context, fit: StackFit) -> Iterator[Finding]:
    """Judge a set of packing: gland travel, number of rings, what wear has left."""
    travel = context.value(fit.travel, "length").shown
    short = fit.travel <= 0.0
    yield Finding(
        f"seals.{fit.name}.travel",
        "query" if short else "clear",
        f"{fit.name}: {'gland meets the housing first' if short else 'gland has travel left'}",
        f"gap under the flange {travel} with the set pressed together",
        "",
        "Put a ring or spacer more in the box; check the set against the maker's sheet."
        if short
        else "",
        f"sizes of the model sheet; {PRACTICE}",
    )
    if fit.wanted is not None:
        few = fit.seal.rings < fit.wanted
        yield Finding(
            f"seals.{fit.name}.rings",
            "query" if few else "clear",
            f"{fit.name}: {'few rings for the pressure' if few else 'rings enough'}",
            f"{fit.seal.rings} rings against the {fit.wanted} usual for the highest pressure",
            "",
            "Ask the maker of the packing before it is pressurised." if few else "",
            PRACTICE,
        )
    yield from _worn(context, fit)


def _worn(context: Context, fit: CupFit | StackFit) -> Iterator[Finding]:
    lip = fit.lip
    if lip is None or lip.left is None:
        return
    level: Level = "clear" if lip.serves else "query" if lip.left > 0.0 else "hold"
    words = {
        "clear": "lip still presses after the wear measured",
        "query": "wear has taken much of the lip",
        "hold": "wear has taken all of the lip",
    }[level]
    yield Finding(
        f"seals.{fit.name}.worn",
        level,
        f"{fit.name}: {words}",
        f"{context.value(lip.left, 'length').shown} left of "
        f"{context.value(lip.new, 'length').shown}; at least {1.0 - MOST_LIP_LOSS:.0%} is wanted",
        f"{lip.left / lip.new:.0%}",
        "" if level == "clear" else "Renew or rework what it runs on, or fit an oversize seal.",
        PRACTICE,
    )
