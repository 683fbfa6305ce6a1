"""One complete recompute of a worksheet for a changed value; run with --benchmark-only.

``python tests/benchmarks/recompute_table.py`` prints what each section takes of it.
"""

import itertools
from pathlib import Path

import pytest

from rebuildbook.sheets import load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.worksheet.build import Worksheet

JOBS = sorted((Path(__file__).resolve().parents[2] / "parameters" / "jobs").glob("*.yaml"))


def changes(card: Path):
    """By name, settings that each time set a field to another value."""
    case = load_case(card)
    joint, fluid = next(iter(case.model.joints)), case.job.fluid
    pressure, viscosity = case.job.duty.working_pressure.nominal, fluid.viscosity.nominal
    torque = case.model.joints[joint].torque
    made = {
        "torque": lambda share: (
            f"joints.{joint}.torque={torque.low * share:.6g} to {torque.high * share:.6g} N*m"
        ),
        "pressure": lambda share: f"duty.working_pressure={pressure * share / 1e5:.6g} bar",
        "viscosity": lambda share: f"fluid.viscosity={viscosity * share * 1e3:.6g} mPa*s",
    }
    sizes = {part: one for part, one in case.job.measured.items() if one.form == "single"}
    if sizes:
        part, size = next(iter(sizes.items()))
        made["measured"] = lambda share: f"measured.{part}={size.nominal * share * 1e3:.9g} mm"
    return made


def stepped(card: Path, change, store: SheetStore, steps):
    share = 0.95 + 0.001 * next(steps)
    return Worksheet(load_case(card, [change(share)], store))


@pytest.mark.benchmark(group="recompute")
@pytest.mark.parametrize("what", ["torque", "pressure", "viscosity", "measured"])
@pytest.mark.parametrize("card", JOBS, ids=[path.stem for path in JOBS])
def test_a_changed_value(benchmark, card, what) -> None:
    """The aim is under 50 ms."""
    change = changes(card).get(what)
    if change is None:
        pytest.skip("the card has no such value")
    store, steps = SheetStore(), itertools.count()
    made = benchmark.pedantic(
        stepped, [card, change, store, steps], rounds=5, iterations=1, warmup_rounds=2
    )
    assert made.sections
