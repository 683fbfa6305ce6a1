"""Check valves: where the ball touches, what cracks it, how hard it bears, which way it goes."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

from rebuildbook.calculators.ball_check import (
    GRAVITY,
    OPENING_TILT,
    BallCheck,
    BallSeating,
    assess_ball_check,
)
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, Seat, SharpSeat
from rebuildbook.calculators.contact import effective_modulus
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.spring import spring_force
from rebuildbook.figures.check_valve import check_valve
from rebuildbook.figures.style import svg
from rebuildbook.sheets import model as sheet
from rebuildbook.worksheet.check_findings import fitted_findings, seating_findings
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import given_line, text_line
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Line,
    Picture,
    Section,
    System,
    Table,
    Value,
    given,
    series,
)

_HERTZ = "Hertz line contact (Johnson, Contact Mechanics)"
_BALANCE = "balance of forces on the ball along its axis"


@dataclass(frozen=True, slots=True)
class Seated:
    """Check valves that are built alike, with what comes of them."""

    names: tuple[str, ...]
    valve: sheet.CheckValve
    check: BallCheck
    seating: BallSeating


def checks(context: Context) -> Section:
    """Build the section on the check valves; valves built alike are worked out once."""
    blocks: list[Block] = [
        Caution(
            "Balls and seats are one pair: keep them together, and never test a seat with a finger "
            "in the port. Springs jump: cover the cage while it is opened."
        ),
        _fitted(context),
    ]
    of_all: list[tuple[str, Line]] = []
    judged: list[Block] = []
    for names in _alike(context):
        valve = context.model.check_valves[names[0]]
        try:
            seated = seat_valve(context, names, valve)
        except ValueError as problem:
            blocks.append(
                Finding(
                    f"checks.{names[0]}.geometry",
                    "hold",
                    f"{', '.join(names)}: cannot be built as written",
                    str(problem),
                    action="Measure ball and seat again and correct the model sheet.",
                    source=context.source("model", f"check_valves.{names[0]}"),
                )
            )
            continue
        of_all += [(", ".join(names), line) for line in _lines(context, seated)]
        judged.append(_picture(context, seated))
        judged += seating_findings(context, names, valve, seated.seating)
    blocks += series(of_all)
    blocks += judged
    blocks += fitted_findings(context)
    return Section("checks", "Check valves", tuple(blocks))


def _picture(context: Context, seated: Seated) -> Picture:
    who = ", ".join(seated.names)
    contact = seated.seating.contact
    return Picture(
        f"check-{seated.names[0]}",
        f"{who}: ball and seat to scale, with the forces along the axis.",
        f"Ball on its seat, touching on the {contact.rests_on} at "
        f"{context.value(contact.circle, 'length').shown}",
        functools.partial(_draw, seated, context.system),
    )


@functools.lru_cache(maxsize=32)
def _draw(seated: Seated, system: System) -> str:
    return svg(check_valve(seated.check, seated.seating, system))


def _alike(context: Context) -> list[tuple[str, ...]]:
    """Names of the check valves, those of one build together, in the sheet's order."""
    groups: dict[object, list[str]] = {}
    for name, valve in context.model.check_valves.items():
        build = (
            valve.ball,
            valve.seat,
            valve.spring,
            valve.lift,
            valve.opens,
            valve.cracking_max,
        )
        groups.setdefault(build, []).append(name)
    return [tuple(names) for names in groups.values()]


def _fitted(context: Context) -> Table:
    rows = []
    for name, valve in context.model.check_valves.items():
        found = context.job.valves_fitted.get(name)
        wanted = "toward pump" if valve.role == "inlet" else "away from pump"
        rows.append(
            (
                name,
                valve.what,
                wanted,
                found.arrow if found else "",
                (found.seat_face or "") if found else "",
                "",
            )
        )
    header = ("Check", "Where", "Flow must go", "Found", "Seat", "Seen by")
    note = "The chamfered or lapped side of a seat faces the ball (common practice, no source)."
    return Table("Which way round", header, tuple(rows), note)


def seat_of(seat: sheet.SharpSeat | sheet.ConeSeat | sheet.LappedSeat) -> Seat:
    """The seat of a sheet in SI numbers."""
    match seat:
        case sheet.SharpSeat():
            return SharpSeat(seat.bore.nominal, seat.edge_radius.nominal)
        case sheet.ConeSeat():
            return ConeSeat(seat.bore.nominal, seat.outer.nominal, seat.included_angle.nominal)
        case sheet.LappedSeat():
            return LappedSeat(seat.bore.nominal, seat.outer.nominal, seat.lap_radius.nominal)


def spring_of(spring: sheet.Spring | None) -> tuple[float, float, float]:
    """Least, nominal and most spring force on the seated ball, N."""
    if spring is None:
        return 0.0, 0.0, 0.0
    if spring.seated_force is not None:
        force = spring.seated_force
        return force.low, force.nominal, force.high
    if spring.rate and spring.free_length and spring.seated_length:
        free, seated, rate = spring.free_length, spring.seated_length, spring.rate
        ends = itertools.product(
            (rate.low, rate.high), (free.low, free.high), (seated.low, seated.high)
        )
        forces = [float(spring_force.si(*corner)) for corner in ends]
        nominal = float(spring_force.si(rate.nominal, free.nominal, seated.nominal))
        return min(forces), nominal, max(forces)
    raise ValueError("a spring needs seated_force, or rate with free_length and seated_length")


def seat_valve(context: Context, names: tuple[str, ...], valve: sheet.CheckValve) -> Seated:
    """Work one build of check out; raises ValueError where ball and seat do not go together."""
    low, force, high = spring_of(valve.spring)
    ball = valve.ball.diameter
    rate = valve.spring.rate.nominal if valve.spring and valve.spring.rate else 0.0
    check = BallCheck(
        ball=ball.nominal,
        ball_material=material(valve.ball.material),
        seat=seat_of(valve.seat),
        seat_material=material(valve.seat.material),
        lift=valve.lift.nominal,
        closing_pressure=context.job.duty.working_pressure.nominal,
        fluid_density=context.job.fluid.density.nominal,
        spring_force=force,
        spring_rate=rate,
        tilt=OPENING_TILT[valve.opens],
    )
    spread = {"ball": (ball.low, ball.high), "spring_force": (low, high)}
    varied = {name: ends for name, ends in spread.items() if ends[0] != ends[1]}
    return Seated(names, valve, check, assess_ball_check(check, varied))


def _lines(context: Context, seated: Seated) -> Iterator[Line]:
    valve, id_ = seated.valve, f"checks.{seated.names[0]}"
    data = context.source("model", f"check_valves.{seated.names[0]}")
    yield given_line(f"{id_}.ball", f"Ball, {valve.ball.material}", valve.ball.diameter, data, "D")
    seat = f"{valve.seat.form}, {valve.seat.material}, bore {valve.seat.bore.canonical}"
    yield text_line(f"{id_}.seat", "Seat", seat, data)
    yield _circle(context, seated, id_, data)
    yield from _forces(context, seated, id_, data)
    yield from _contact(context, seated, id_)
    yield from _lift(context, seated, id_, data)


def _circle(context: Context, seated: Seated, id_: str, data: str) -> Line:
    contact, seat = seated.seating.contact, seated.valve.seat
    circle = context.value(contact.circle, "length", 4)
    ball = given(seated.valve.ball.diameter)
    where = f"touches on the {contact.rests_on}"
    if isinstance(seat, sheet.SharpSeat):
        inputs = {"D": ball, "d_s": given(seat.bore), "r": given(seat.edge_radius)}
        formula = "D*(d_s + 2*r)/(D + 2*r)"
    elif isinstance(seat, sheet.ConeSeat) and contact.rests_on == "face":
        inputs = {"D": ball, "alpha": given(seat.included_angle)}
        formula = "D*cos(alpha/2)"
    else:
        formula, inputs = "", {}
    method = f"geometry of ball and seat; {where}"
    return Line(f"{id_}.circle", "Contact circle", circle, "d_c", formula, inputs, method, data)


def _forces(context: Context, seated: Seated, id_: str, data: str) -> Iterator[Line]:
    check, seating = seated.check, seated.seating
    weight = context.value(seating.weight, "force")
    density = Value(check.ball_material.density, "density", "kg/m^3")
    yield Line(
        f"{id_}.weight",
        "Weight of the ball in the fluid",
        weight,
        "W",
        f"pi/6*D**3*(rho_b - rho)*{GRAVITY}",
        {
            "D": given(seated.valve.ball.diameter),
            "rho_b": density,
            "rho": given(context.job.fluid.density),
        },
        "weight less buoyancy",
        f"{data}; {check.ball_material.source}",
    )
    spring = context.value(check.spring_force, "force")
    tilt = Value(check.tilt, "angle", "deg")
    force = context.value(seating.seating_force, "force")
    yield Line(
        f"{id_}.seating-force",
        "Force that seats it",
        force,
        "N_0",
        "F_s + W*cos(tau)",
        {"F_s": spring, "W": weight, "tau": tilt},
        f"{_BALANCE}; opens {seated.valve.opens}",
        data,
    )
    circle = context.value(seating.contact.circle, "length", 4)
    yield Line(
        f"{id_}.cracking",
        "Cracking pressure",
        context.value(seating.cracking_pressure, "pressure", unit=small_unit(context)),
        "p_crack",
        "N_0/(pi/4*d_c**2)",
        {"N_0": force, "d_c": circle},
        _BALANCE,
        data,
    )
    if seating.cracking_high > seating.cracking_low:
        low = context.value(seating.cracking_low, "pressure", unit=small_unit(context))
        high = context.value(seating.cracking_high, "pressure", unit=small_unit(context))
        yield Line(
            f"{id_}.cracking-range",
            "Cracking pressure over the tolerances",
            f"{low.shown} to {high.shown}",
            method="corners of ball and spring tolerance",
            data=data,
        )


def small_unit(context: Context) -> str:
    """Cracking pressures are small: millibars, or psi."""
    return "mbar" if context.system == "metric" else "psi"


def _contact(context: Context, seated: Seated, id_: str) -> Iterator[Line]:
    check, seating = seated.check, seated.seating
    contact, full = seating.contact, seating.at_pressure
    stress = "MPa" if context.system == "metric" else "psi"
    pressure = given(context.job.duty.working_pressure)
    force = context.value(full.force, "force")
    circle = context.value(contact.circle, "length", 4)
    yield Line(
        f"{id_}.closing-force",
        "Force on the seat at working pressure",
        force,
        "N_p",
        "N_0 + p_w*pi/4*d_c**2",
        {"N_0": context.value(seating.seating_force, "force"), "p_w": pressure, "d_c": circle},
        _BALANCE,
        context.source("job", "duty.working_pressure"),
    )
    load = Value(full.line_load, "stiffness", "N/mm" if context.system == "metric" else "lbf/in")
    angle = Value(contact.angle, "angle", "deg")
    yield Line(
        f"{id_}.line-load",
        "Load along the contact circle",
        load,
        "q",
        "N_p/(pi*d_c*cos(theta))",
        {"N_p": force, "d_c": circle, "theta": angle},
        "evenly round the circle, no friction",
        "as above",
    )
    peak = Value(full.peak, "stress", stress)
    ball, seat = check.ball_material, check.seat_material
    if math.isfinite(contact.radius):
        modulus = float(
            effective_modulus.si(
                ball.elastic_modulus, ball.poisson_ratio, seat.elastic_modulus, seat.poisson_ratio
            )
        )
        inputs = {
            "q": load,
            "E_c": Value(modulus, "stress", "GPa" if context.system == "metric" else "ksi"),
            "R": context.value(contact.radius, "length"),
        }
        formula, method = "sqrt(q*E_c/(pi*R))", _HERTZ
        if not math.isclose(
            full.peak, math.sqrt(full.line_load * modulus / math.pi / contact.radius)
        ):
            formula, inputs, method = "", {}, "soft pair: bears evenly on the whole face"
    else:
        formula, inputs, method = "", {}, "lapped land, wedge gap closing, then evenly (Johnson)"
    sources = dict.fromkeys((ball.source, seat.source))
    yield Line(
        f"{id_}.peak",
        "Peak contact pressure",
        peak,
        "p_0",
        formula,
        inputs,
        method,
        "; ".join(sources),
    )
    width = context.value(full.width, "length")
    low = context.value(seating.just_closed.width, "length")
    yield Line(
        f"{id_}.width",
        "Width of the contact band",
        width,
        "w",
        method=f"twice the half-width; {low.shown} with no pressure on it",
    )
    yield Line(
        f"{id_}.sealing",
        "Sealing pressure over fluid pressure",
        Value(seating.sealing_ratio, "number", ""),
        "m",
        "p_m/p_w",
        {"p_m": Value(full.mean, "stress", stress), "p_w": pressure},
        "mean contact pressure over the fluid's (common practice, no source)",
    )


def _lift(context: Context, seated: Seated, id_: str, data: str) -> Iterator[Line]:
    seating, valve = seated.seating, seated.valve
    yield given_line(f"{id_}.lift", "Lift", valve.lift, data, "h")
    yield Line(
        f"{id_}.throat",
        "Way through at that lift",
        context.value(seating.flow_area, "area"),
        "A_h",
        method="narrowest ring between ball and seat edge",
        data=data,
    )
    yield Line(
        f"{id_}.bore",
        "Area of the seat's bore",
        context.value(seating.bore_area, "area"),
        "A_s",
        "pi/4*d_s**2",
        {"d_s": given(valve.seat.bore)},
        "area of the bore",
        data,
    )
