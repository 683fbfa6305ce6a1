"""Make-safe: what has to be dead, empty and cold before a spanner touches the pump."""

from __future__ import annotations

from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Block, Caution, Note, Section, Table

SOURCE = "common practice, no source"

_DRIVE = {
    "air": (
        "Shut the air supply, lock it and vent the line between the lock and the motor",
        "Air stored in the motor can throw the rod through one more stroke: keep hands clear until "
        "the motor stands vented on both sides.",
    ),
    "hydraulic": (
        "Stop the power pack, lock it and bring the oil pressure at the motor to zero",
        "Oil under pressure can be injected through the skin by a pinhole leak and it needs a "
        "surgeon at once: never feel for a leak by hand.",
    ),
    "electric": (
        "Lock the motor out at its isolator and try the start button",
        "A locked-out motor can still be turned by its pump: block the crank before reaching in.",
    ),
}
_FLUID = {
    "slip": "Dried slip and glaze make dust with free silica: keep it wet, wear a fitting mask.",
    "glaze": "Dried slip and glaze make dust with free silica: keep it wet, wear a fitting mask.",
    "coating": "Solvents burn and charge up: bond and earth the parts, no flame, no plain plastic "
    "bucket.",
    "adhesive": "Solvents burn and charge up: bond and earth the parts, no flame, no plain plastic "
    "bucket.",
    "chemical": "Have the safety data sheet at the bench; rinse and neutralise before opening.",
    "oil": "Hot or pressurised oil scalds and injects: cool it, and bring it to zero pressure.",
}


def make_safe(context: Context) -> Section:
    """Build the make-safe section from the drive, the fluid and the parts of the unit."""
    action, warning = _DRIVE[context.model.drive.kind]
    blocks: list[Block] = [
        Caution(
            "This sheet plans work; it does not replace the maker's manual. Follow the maker's "
            "manual; local codes and licensed practice prevail."
        ),
        Caution(warning),
        Caution(
            "Fluid stays under pressure between the checks after the drive stops: open the drain "
            "and the outlet to a safe place and see the gauge fall to zero before any joint is "
            "loosened."
        ),
    ]
    fluid = context.job.fluid
    if fluid.kind in _FLUID:
        blocks.append(Caution(_FLUID[fluid.kind]))
    if fluid.hazards:
        blocks.append(Caution(f"{fluid.name}: " + "; ".join(fluid.hazards)))
    if any(valve.spring for valve in context.model.check_valves.values()):
        blocks.append(
            Caution(
                "Check-valve springs are loaded: wear eye protection, ease the caps off evenly."
            )
        )
    if context.model.relief is not None:
        blocks.append(
            Caution(
                "The relief valve is set and sealed by qualified people only. It is never blocked, "
                "bypassed or raised to pass a test."
            )
        )
    blocks.append(_boxes(action, fluid.name))
    blocks.append(Note(f"Cautions: {SOURCE}."))
    return Section("make-safe", "Make safe", tuple(blocks))


def _boxes(action: str, fluid: str) -> Table:
    steps = (
        action,
        "Open the outlet and the drain; read zero on the fluid gauge on both sides",
        f"Flush out {fluid}; catch and label what comes",
        "Let hot parts cool; block what can move; sling what is heavier than one person lifts",
        "Tag the unit with the job number; keep the key with the one who works",
    )
    rows = tuple((str(index), step, "", "") for index, step in enumerate(steps, 1))
    return Table("Before the first fastener", ("", "Step", "Done", "Initials"), rows)
