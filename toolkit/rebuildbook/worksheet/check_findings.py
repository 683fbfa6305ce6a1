"""What speaks for or against a check valve: orientation, seating, contact, lift."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.calculators.ball_check import BallSeating, orientation, seat_faces_ball
from rebuildbook.sheets.model import CheckValve
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Finding, Level, Value

PRACTICE = "common practice, no source"
LEAST_SEALING_RATIO = 1.0


def fitted_findings(context: Context) -> Iterator[Finding]:
    """Compare the checks as found with the way they must be."""
    found = context.job.valves_fitted
    if not found:
        return  # not that far yet
    for name, valve in context.model.check_valves.items():
        at = found.get(name)
        if at is None:
            yield Finding(
                f"checks.{name}.fitted",
                "query",
                f"{name}: not known which way round it is",
                f"{valve.what}: no entry on the card",
                action="Look at the arrow and note it.",
                source=context.source("job", "valves_fitted"),
            )
            continue
        swapped = orientation(valve.role, at.arrow) == "swapped"
        yield Finding(
            f"checks.{name}.fitted",
            "hold" if swapped else "clear",
            f"{name}: {'swapped' if swapped else 'right way round'}",
            f"{valve.role} check, flow goes {at.arrow}",
            action="Take it out and turn it round: an inlet check lets flow toward the pump, an "
            "outlet check away from it."
            if swapped
            else "",
            source=PRACTICE,
        )
        if at.seat_face is not None and not seat_faces_ball(at.seat_face):
            yield Finding(
                f"checks.{name}.seat-face",
                "hold",
                f"{name}: seat upside down",
                f"found with {at.seat_face}",
                action="Turn the seat: its chamfered or lapped side faces the ball.",
                source=PRACTICE,
            )


def seating_findings(
    context: Context, names: tuple[str, ...], valve: CheckValve, seating: BallSeating
) -> Iterator[Finding]:
    """Judge one build of check valve."""
    who = ", ".join(names)
    yield _closes(context, who, names[0], valve, seating)
    yield from _cracking(context, who, names[0], valve, seating)
    yield from _where(who, names[0], seating)
    yield from _bearing(context, who, names[0], seating)
    yield _sealing(context, who, names[0], seating)
    yield _lift(context, who, names[0], valve, seating)


def _closes(
    context: Context, who: str, id_: str, valve: CheckValve, seating: BallSeating
) -> Finding:
    force = context.value(seating.seating_force, "force").shown
    compared = f"seating force {force}, opens {valve.opens}"
    if seating.closes:
        return Finding(
            f"checks.{id_}.closes",
            "clear",
            f"{who}: closes by itself",
            compared,
            source="balance of forces on the ball",
        )
    return Finding(
        f"checks.{id_}.closes",
        "hold",
        f"{who}: does not close by itself",
        compared,
        action="Fit the spring, or mount it so that the ball lifts upwards.",
        source="balance of forces on the ball",
    )


def _cracking(
    context: Context, who: str, id_: str, valve: CheckValve, seating: BallSeating
) -> Iterator[Finding]:
    most = valve.cracking_max
    if most is None:
        return
    over = seating.cracking_high > most.nominal
    unit = most.unit
    highest = Value(seating.cracking_high, "pressure", unit)
    margin = Value(most.nominal - seating.cracking_high, "pressure", unit)
    yield Finding(
        f"checks.{id_}.cracking",
        "query" if over else "clear",
        f"{who}: cracking pressure {'above' if over else 'within'} its limit",
        f"at most {highest.shown} against {most.canonical}",
        margin.shown,
        "Check spring and ball; a stiff check starves the suction." if over else "",
        context.source("model", f"check_valves.{id_}.cracking_max"),
    )


def _where(who: str, id_: str, seating: BallSeating) -> Iterator[Finding]:
    geometry = "geometry of ball and seat"
    if seating.contact.rests_on in {"inner edge", "outer edge"}:
        yield Finding(
            f"checks.{id_}.rests",
            "query",
            f"{who}: ball does not rest on the seat's face",
            f"it touches on the {seating.contact.rests_on}",
            action="Check ball and seat against each other; blue the ball and look at the mark.",
            source=geometry,
        )
    if seating.wedges:
        yield Finding(
            f"checks.{id_}.wedges",
            "query",
            f"{who}: ball may stick in so steep a seat",
            "seat steeper than the angle of friction at 0.2",
            action="Check the seat's angle; a ball near its equator jams.",
            source=PRACTICE,
        )
    if seating.closes and seating.side_ratio > 1.0:
        yield Finding(
            f"checks.{id_}.side",
            "query",
            f"{who}: ball does not touch all round",
            f"sideways weight {seating.side_ratio:.2g} times what the spring evens out",
            action="It seals only once pressure comes on; use the spring that belongs there.",
            source="balance of forces on the ball",
        )


def _bearing(context: Context, who: str, id_: str, seating: BallSeating) -> Iterator[Finding]:
    stress = "MPa" if context.system == "metric" else "psi"
    full, limit = seating.at_pressure, seating.limit
    source = "Hertz line contact, first yield at 1.67 Y (Johnson, Contact Mechanics)"
    if limit is None or not full.elastic_theory:
        yield Finding(
            f"checks.{id_}.bearing",
            "clear",
            f"{who}: soft seat, bears by giving way",
            "no contact limit applies to so soft a pair",
            source=source,
        )
        return
    compared = (
        f"peak {Value(full.peak, 'stress', stress).shown} against "
        f"{Value(limit, 'stress', stress).shown} that the {seating.limited_by} takes"
    )
    margin = Value(limit - full.peak, "stress", stress).shown
    if full.peak <= limit:
        yield Finding(
            f"checks.{id_}.bearing",
            "clear",
            f"{who}: seat bears the working pressure",
            compared,
            margin,
            source=source,
        )
    elif seating.bedded_width > 0.0:
        land = context.value(seating.bedded_width, "length").shown
        yield Finding(
            f"checks.{id_}.bearing",
            "clear",
            f"{who}: sharp edge beds itself in",
            compared,
            margin,
            f"Expect a bright ring of about {land} after the first full pressure.",
            "fully plastic contact near 3 Y (Johnson, Contact Mechanics)",
        )
    else:
        yield Finding(
            f"checks.{id_}.bearing",
            "query",
            f"{who}: seat loaded past its limit",
            compared,
            margin,
            "Ask for a harder seat or ball, or a wider land; look for a dented ring.",
            source,
        )


def _sealing(context: Context, who: str, id_: str, seating: BallSeating) -> Finding:
    wanted = context.shop.margins.sealing_ratio
    least = wanted.nominal if wanted else LEAST_SEALING_RATIO
    enough = seating.sealing_ratio >= least
    level: Level = "clear" if enough else "query"
    return Finding(
        f"checks.{id_}.sealing",
        level,
        f"{who}: {'presses harder than' if enough else 'may not seal against'} the fluid",
        f"{seating.sealing_ratio:.3g} times the working pressure against {least:.3g}",
        action="" if enough else "Lap the seat narrower or fit a softer one.",
        source=PRACTICE,
    )


def _lift(context: Context, who: str, id_: str, valve: CheckValve, seating: BallSeating) -> Finding:
    needed = context.value(seating.lift_needed, "length").shown
    enough = seating.flow_area >= seating.bore_area * (1.0 - 1e-9)
    return Finding(
        f"checks.{id_}.lift",
        "clear" if enough else "query",
        f"{who}: lift {'opens the full bore' if enough else 'chokes the bore'}",
        f"lift {valve.lift.canonical} against {needed} for the full bore",
        action="" if enough else "Check the cage and the stop; a choked check costs suction head.",
        source="narrowest ring between ball and seat edge; " + PRACTICE,
    )
