"""The lines of an O-ring: squeeze, hold, fill, gap, load on the fasteners."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rebuildbook.calculators.o_ring import Spread
from rebuildbook.calculators.o_ring_gland import Gland, RadialGland
from rebuildbook.units import number, to_unit
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Line, Value
from rebuildbook.worksheet.seal_rings import RingFit, Squeezed, held_inside

_TORUS = "torus that keeps its volume"
_CASES = "every tolerance at its worst, and in brackets as the root of the sum of squares"
_SERVICE = "worst case; rubber as it warms and swells lying free, the metal taken not to grow"
_LINDLEY = "load of a ring squeezed between flats (Lindley 1967, from memory)"
_GENT = "E from the hardness (Gent 1958, from memory)"


def ring_lines(context: Context, fit: RingFit) -> Iterator[tuple[str, Line]]:
    """The lines of one O-ring, for a series."""
    fitted, name = fit.fitted, fit.name
    sizes = {"section": fitted.section.nominal, "depth": fitted.depth.nominal}
    length = {key: context.value(size, "length", 4) for key, size in sizes.items()}
    yield (
        name,
        Line(
            f"seals.{name}.squeeze",
            "Squeeze, nominal",
            Value(fitted.squeeze_share.nominal, "fraction", "%"),
            "c",
            "1 - t/w",
            {"t": length["depth"], "w": length["section"]},
            "depth over the section as it lies, stretched or gathered",
            f"{fit.ring.name}, {fit.ring.source}",
        ),
    )
    yield name, _held(context, fit)
    yield name, _fill(context, fit)
    yield (
        name,
        Line(
            f"seals.{name}.limits",
            "Squeeze, hold and fill over all tolerances",
            _limits(fit),
            method=_CASES,
        ),
    )
    yield (
        name,
        Line(
            f"seals.{name}.least-squeeze",
            "Least squeeze in service",
            Value(min(fit.cold.squeeze_share.low, fit.hot.squeeze_share.low), "fraction", "%"),
            method=_SERVICE,
            data=f"at {context.value(fit.ends[0], 'temperature').shown}, no swell",
        ),
    )
    yield (
        name,
        Line(
            f"seals.{name}.most-fill",
            "Most fill in service",
            Value(max(fit.hot.fill.high, fitted.fill.high), "fraction", "%"),
            method=_SERVICE,
            data=_hottest(context, fit),
        ),
    )
    if fit.gap is not None:
        yield (
            name,
            Line(
                f"seals.{name}.bridges",
                "Gap that it bridges, diametral",
                context.value(
                    fit.gap.allowed_backed if fit.seal.backed else fit.gap.allowed, "length", 2
                ),
                method="table of clearance by pressure and hardness",
                data=fit.gap.text,
            ),
        )
    if fit.squeezed is not None:
        yield name, _load(context, fit, fit.squeezed)


def _held(context: Context, fit: RingFit) -> Line:
    """Stretch on the inside, or fit at the outer wall: whichever holds the ring."""
    ring, gland = fit.ring, fit.gland
    inside, section = ring.inside.nominal, ring.section.nominal
    if held_inside(gland):
        seat = gland.groove if isinstance(gland, RadialGland) else gland.wall
        return Line(
            f"seals.{fit.name}.stretch",
            "Stretch",
            Value(fit.fitted.stretch.nominal, "fraction", "%", 2),
            "e",
            "D/d - 1",
            {
                "D": context.value(seat.nominal, "length", 4),
                "d": context.value(inside, "length", 4),
            },
            "seat over the inside diameter of the free ring",
            "model sheet",
        )
    wall = gland.groove if isinstance(gland, RadialGland) else gland.wall
    return Line(
        f"seals.{fit.name}.interference",
        "Larger than the outer wall",
        Value(fit.fitted.interference.nominal, "fraction", "%", 2),
        "i",
        "(d + 2*w)/D - 1",
        {
            "d": context.value(inside, "length", 4),
            "w": context.value(section, "length", 4),
            "D": context.value(wall.nominal, "length", 4),
        },
        "outside diameter of the free ring over the wall",
        "model sheet",
    )


def _fill(context: Context, fit: RingFit) -> Line:
    ring = fit.ring
    return Line(
        f"seals.{fit.name}.fill",
        "Fill, nominal",
        Value(fit.fitted.fill.nominal, "fraction", "%"),
        "f",
        "pi**2/4*w**2*(d + w)/V",
        {
            "w": context.value(ring.section.nominal, "length", 4),
            "d": context.value(ring.inside.nominal, "length", 4),
            "V": context.value(_room(fit.gland), "volume", 4, "mL"),
        },
        f"{_TORUS}, over the gland's volume",
        "model sheet",
    )


def _room(gland: Gland) -> float:
    """Volume of a nominal gland with its mate closed, m³."""
    width = gland.width.nominal
    if isinstance(gland, RadialGland):
        groove, mate = gland.groove.nominal, gland.mate.nominal
        return math.pi * (groove + mate) / 2.0 * width * abs(groove - mate) / 2.0
    inward = -1.0 if gland.pressure_from == "inside" else 1.0
    return math.pi * (gland.wall.nominal + inward * width) * width * gland.depth.nominal


def _load(context: Context, fit: RingFit, load: Squeezed) -> Line:
    return Line(
        f"seals.{fit.name}.load",
        "Load of the squeezed ring on one fastener",
        context.value(load.each, "force"),
        "F_r",
        "pi*D*w*E*(1.25*c**1.5 + 50*c**6)*k/n",
        {
            "D": context.value(load.midline, "length", 4),
            "w": context.value(fit.ring.section.high, "length", 4),
            "E": context.value(load.modulus, "stress"),
            "c": Value(load.squeeze, "fraction", "%", 4),
            "k": Value(load.rings, "number", ""),
            "n": Value(load.fasteners, "number", ""),
        },
        f"{_LINDLEY}; {_GENT}; greatest squeeze",
        "model sheet",
    )


def _limits(fit: RingFit) -> str:
    fitted = fit.fitted
    inner = held_inside(fit.gland)
    held, word = (fitted.stretch, "stretch") if inner else (fitted.interference, "outer wall")
    return f"squeeze {_span(fitted.squeeze_share)}; {word} {_span(held)}; fill {_span(fitted.fill)}"


def _hottest(context: Context, fit: RingFit) -> str:
    swell = fit.seal.swell.canonical if fit.seal.swell else "none given"
    return f"at {context.value(fit.ends[1], 'temperature').shown}, swell {swell}"


def _span(spread: Spread) -> str:
    low, high, likely_low, likely_high = (
        number(to_unit(share, "%"), 2 if abs(share) < 0.1 else 3)
        for share in (spread.low, spread.high, spread.likely_low, spread.likely_high)
    )
    return f"{low} to {high} % ({likely_low} to {likely_high})"
