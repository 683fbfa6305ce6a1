"""A check valve: its ball, seat, spring and fluid; what cracks it, and how it moves in a cycle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from matplotlib.figure import Figure

from rebuildbook.figures.check_change import Shown, check_change
from rebuildbook.reference import rows
from rebuildbook.sheets import Case
from rebuildbook.sheets import model as sheet
from rebuildbook.whatif.boards.answers import leading, number, rows_of, worst_first
from rebuildbook.whatif.boards.knobs import choice, fluid_knobs, quantity
from rebuildbook.whatif.question import Answer, Knob, Number, View
from rebuildbook.worksheet.checks import checks, seat_valve
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.in_motion import InMotion, in_motion
from rebuildbook.worksheet.model import Finding, Section, System
from rebuildbook.worksheet.unit import unit_of
from rebuildbook.worksheet.valve_cycles import ValveCycle, valves_of
from rebuildbook.worksheet.valves_moving import valves_moving

FOLLOWED, WITH_LIMITS, STILL = "followed", "followed, highest rate sought", "left out"
NOT_TOLD = "not told by the sheets"

_SEATED = (
    ("cracking", "Cracking pressure"),
    ("seating-force", "Force that seats it"),
    ("weight", "Weight of the ball in the fluid"),
    ("circle", "Contact circle"),
    ("closing-force", "Force on the seat at working pressure"),
    ("peak", "Peak contact pressure"),
    ("width", "Width of the contact band"),
    ("sealing", "Sealing pressure over fluid pressure"),
    ("throat", "Way through at the lift to its stop"),
    ("bore", "Area of the seat's bore"),
)
_MOVING = (
    ("lift", "Greatest lift"),
    ("lift-share", "Share of the lift to its stop"),
    ("loss", "Pressure loss at the greatest flow"),
    ("opens", "Opening delay"),
    ("lag", "Closing lag after the turn"),
    ("lag-angle", "The same as an angle"),
    ("back", "Back-flow, share of the stroke"),
    ("impact", "Impact on the seat"),
)
_ALL = (
    ("motion.lost", "Flow that the back-flow of all checks costs"),
    ("motion.efficiency", "Volumetric efficiency with it"),
    ("motion.delivered", "Flow delivered with it"),
)


@dataclass(frozen=True, slots=True)
class Data:
    """What the figure draws: the valve with its motion, and the shop's units."""

    shown: Shown
    system: System


class CheckBoard:
    """What a ball check does when its parts, its fluid or the rate are other ones."""

    name = "check"
    title = "A check valve: what cracks it, and how its ball moves"
    about = (
        "Choose a check and change its ball, seat, spring or lift, the fluid or the rate. The ball "
        "is followed through one cycle of its own chamber; where that lags behind the slider, "
        "leave the motion out. Balls and seats are one pair, fitted by the maker's manual: this "
        "board compares and orders no part."
    )

    def picks(self, case: Case) -> dict[str, tuple[str, ...]]:
        """The check valves of the model."""
        return {"check": tuple(case.model.check_valves)}

    def views(self, case: Case, picked: Mapping[str, str]) -> tuple[View, ...]:
        """Whether the ball is followed: it takes a moment, the highest rate longer."""
        return (View("motion", "Motion of the ball", (FOLLOWED, WITH_LIMITS, STILL)),)

    def knobs(self, case: Case, picked: Mapping[str, str]) -> tuple[Knob, ...]:
        """Ball, seat, spring and lift of the check, fluid and duty."""
        name, valve = _valve(case, picked)
        at = f"check_valves.{name}"
        return (
            *_ball_and_seat(case, valve, at),
            *_spring(case, valve, at),
            quantity(
                case, "lift", "Lift to the stop", f"{at}.lift", valve.lift,
                (0.3 * valve.lift.nominal, 2.0 * valve.lift.nominal), "length",
            ),
            choice(
                "opens", "Opens", f"{at}.opens", valve.opens, ("up", "level", "down"),
                help="Which way the ball moves as it opens",
            ),
            *_duty(case),
        )  # fmt: skip

    def answer(self, case: Case, picked: Mapping[str, str], seen: Mapping[str, Any]) -> Answer:
        """The check's lines of the worksheet, and its motion unless that is left out."""
        name, valve = _valve(case, picked)
        context = Context(case)
        seated = seat_valve(context, (name,), valve)
        unit, how = unit_of(context), seen.get("motion", FOLLOWED)
        section = checks(context)
        lead, numbers = _seated(section, name)
        findings = [one for one in section.findings() if _is_of(one, name, lead)]
        cycle: ValveCycle | None = None
        if how != STILL:
            moving = in_motion(context, unit)
            limits = how == WITH_LIMITS
            moved = valves_moving(context, unit, moving, limits=limits)
            cycle = _cycle(context, moving, name, limits=limits)
            numbers += _moving(context, moved, name, cycle, limits=limits)
            findings += moved.findings()
        motion = cycle.motion if cycle else None
        shown = Shown(
            seated.check, seated.seating.contact, motion, cycle.drive.breaks if cycle else ()
        )
        told = leading(numbers, ".cracking", ".lag", ".back")
        return Answer(told, worst_first(findings), Data(shown, context.system))

    def draw(self, after: Answer, before: Answer, seen: Mapping[str, Any]) -> Figure:
        """Ball on seat in section, and its lift over the cycle, before and after."""
        return check_change(after.data.shown, before.data.shown, after.data.system)


def _valve(case: Case, picked: Mapping[str, str]) -> tuple[str, sheet.CheckValve]:
    valves = case.model.check_valves
    name = picked.get("check") or next(iter(valves))
    if name not in valves:
        raise ValueError(f"no check valve {name!r} on this model; there are {', '.join(valves)}")
    return name, valves[name]


# knobs


def _ball_and_seat(case: Case, valve: sheet.CheckValve, at: str) -> Iterator[Knob]:
    ball, seat = valve.ball, valve.seat
    size = ball.diameter.nominal
    ends = (max(0.85 * size, 1.01 * seat.bore.nominal), 1.15 * size)
    diameter = f"{at}.ball.diameter"
    yield quantity(
        case, "ball", "Ball diameter", diameter, ball.diameter, ends, "length", exact=True,
    )  # fmt: skip
    yield _material("ball-material", "Ball material", f"{at}.ball.material", ball.material)
    bore = seat.bore.nominal
    outer = size if isinstance(seat, sheet.SharpSeat) else min(size, seat.outer.nominal)
    ends = (0.8 * bore, min(1.1 * bore, 0.98 * outer))
    yield quantity(
        case, "bore", "Seat bore", f"{at}.seat.bore", seat.bore, ends, "length", exact=True,
    )  # fmt: skip
    match seat:
        case sheet.SharpSeat():
            edge = seat.edge_radius
            yield quantity(
                case, "edge", "Radius of the seat's edge", f"{at}.seat.edge_radius", edge,
                (0.25 * edge.nominal, 2.0 * edge.nominal), "length",
            )  # fmt: skip
        case sheet.ConeSeat():
            yield _outer(case, "Large diameter of the cone", seat, at)
            yield quantity(
                case, "angle", "Seat angle", f"{at}.seat.included_angle", seat.included_angle,
                (math.radians(60.0), math.radians(120.0)), "angle",
                help="Included angle of the cone",
            )  # fmt: skip
        case sheet.LappedSeat():
            yield _outer(case, "Outer diameter of the land", seat, at)
            lap = seat.lap_radius
            yield quantity(
                case, "lap", "Radius of the lap", f"{at}.seat.lap_radius", lap,
                (0.98 * lap.nominal, 1.02 * lap.nominal), "length",
            )  # fmt: skip
    yield _material("seat-material", "Seat material", f"{at}.seat.material", seat.material)


def _outer(case: Case, label: str, seat: sheet.ConeSeat | sheet.LappedSeat, at: str) -> Knob:
    bore, outer = seat.bore.nominal, seat.outer.nominal
    ends = (bore + 0.2 * (outer - bore), bore + 2.0 * (outer - bore))
    return quantity(
        case, "outer", label, f"{at}.seat.outer", seat.outer, ends, "length", exact=True,
    )  # fmt: skip


def _material(name: str, label: str, setting: str, now: str) -> Knob:
    """The rows of the materials table; the sheet's own word for one stands for its row."""
    names = []
    for row in rows("materials"):
        known = (row["name"], *row["also"].split("|"))
        same = any(now.casefold() == one.casefold() for one in known)
        names.append(now if same else row["name"])
    return choice(name, label, setting, now, names, help="Density and stiffness go with it")


def _spring(case: Case, valve: sheet.CheckValve, at: str) -> Iterator[Knob]:
    spring = valve.spring or sheet.Spring()
    # a spring that cracks the check at a tenth of a bar, where it has none to go by
    usual = 1e4 * math.pi / 4.0 * valve.seat.bore.nominal**2
    force = nominal(spring.seated_force, usual)
    rate = nominal(spring.rate, usual / valve.lift.nominal)
    if spring.free_length and spring.seated_length and not spring.seated_force:
        seated, free = spring.seated_length.nominal, spring.free_length
        yield quantity(
            case, "free-length", "Free length of the spring", f"{at}.spring.free_length", free,
            (seated, 2.0 * free.nominal - seated), "length",
        )  # fmt: skip
    else:
        yield quantity(
            case, "spring", "Spring force on the seated ball", f"{at}.spring.seated_force",
            spring.seated_force, (0.0, 2.0 * force), "force", help="Its preload; 0 without one",
        )  # fmt: skip
    yield quantity(
        case, "spring-rate", "Spring rate", f"{at}.spring.rate", spring.rate,
        (0.2 * rate, 2.0 * rate), "spring rate", help="Give its force on the seat with it",
    )  # fmt: skip


def _duty(case: Case) -> Iterator[Knob]:
    fluid, duty, end = case.job.fluid, case.job.duty, case.model.fluid_end
    density, pressure = fluid.density.nominal, duty.working_pressure.nominal
    yield quantity(
        case, "density", "Density of the fluid", "fluid.density", fluid.density,
        (0.7 * density, 1.5 * density), "density",
    )  # fmt: skip
    yield from fluid_knobs(case)
    most = end.rate_max.nominal
    yield quantity(
        case, "rate", "Rate", "duty.rate", duty.rate, (0.2 * most, 1.25 * most), "rate",
        help="Where the drive does not reach it, the rate that it reaches counts",
    )  # fmt: skip
    yield quantity(
        case, "pressure", "Working pressure", "duty.working_pressure", duty.working_pressure,
        (0.25 * pressure, 2.0 * pressure), "pressure",
    )  # fmt: skip


# answers


def _seated(section: Section, name: str) -> tuple[str, list[Number]]:
    """The check's lines, with the check that they are named after: the first one built alike."""
    lines = {line.id: line for of, line in rows_of(section) if name in of.split(", ")}
    lead = next(iter(lines)).split(".")[1]
    return lead, [
        number(f"checks.{name}.{what}", label, lines.get(f"checks.{lead}.{what}"), NOT_TOLD)
        for what, label in _SEATED
    ]


def _is_of(finding: Finding, name: str, lead: str) -> bool:
    """Whether a finding is of the check: of its build, or of how it itself was fitted."""
    _, of, what = finding.id.split(".")
    return of == (name if what in {"fitted", "seat-face"} else lead)


def _cycle(context: Context, moving: InMotion, name: str, *, limits: bool) -> ValveCycle | None:
    if not moving.rate:
        return None
    valves = valves_of(context, moving, moving.rate, limits=limits)
    return next((one for one in valves.cycles if name in one.names), None)


def _moving(
    context: Context, section: Section, name: str, cycle: ValveCycle | None, *, limits: bool
) -> list[Number]:
    found = list(rows_of(section))
    lines = {line.id.rsplit(".", 1)[1]: line for of, line in found if name in of.split(", ")}
    sums = {line.id: line for of, line in found if not of}
    why = "the drive stands still, or no rate is known" if not found else "not followed"
    rows = [*_MOVING, ("rate", "Highest rate at which it closes in time")] if limits else _MOVING
    made = [number(f"motion.{name}.{what}", label, lines.get(what), why) for what, label in rows]
    back = context.value(cycle.motion.back_flow, "volume") if cycle else why
    made.append(Number(f"motion.{name}.back-volume", "Back-flow in a cycle", back))
    made += [number(id_, label, sums.get(id_), NOT_TOLD) for id_, label in _ALL]
    return made


BOARD = CheckBoard()
