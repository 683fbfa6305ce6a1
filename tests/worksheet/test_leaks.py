"""The section on leaks and life left, against sums by hand, with every finding turned both ways."""

import math
import shutil
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm, t

from rebuildbook.calculators.flow_curve import HerschelBulkley
from rebuildbook.calculators.leak_paths import Gap, leak
from rebuildbook.calculators.leak_viscosity import leak_viscosity
from rebuildbook.sheets import load_case
from rebuildbook.sheets.leaks import sealed_places
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.formula import evaluate
from rebuildbook.worksheet.leak_sums import size_limits, sums_of
from rebuildbook.worksheet.leaks import leaks
from rebuildbook.worksheet.model import Note, Picture, Value
from rebuildbook.worksheet.wear_lives import lives_of

DEMO = Path(__file__).resolve().parents[2] / "parameters"
MM, HOUR = 1e-3, 3600.0
WORN, HEALTHY, PLUNGERS, DIAPHRAGM, TRANSFER = (
    "TW-2604", "TW-2601", "TW-2602", "TW-2605", "TW-2611",
)  # fmt: skip

# TW-2604: 80 mm bore and 30 mm rod, 4 3/4 in stroke, 24 cycles/min, 16 bar, 300 cP, 1600 kg/m³
VOLUME = math.pi / 4 * (2 * 0.080**2 - 0.030**2) * 4.75 * 25.4 * MM
RATE, DROP, VISCOSITY, DENSITY = 24 / 60, 16e5, 0.3, 1600.0
AIR = 1.6 * 0.01 * (1 - 101325 / (101325 + DROP))


def context_of(job: str, *settings: str) -> Context:
    return Context(load_case(DEMO / "jobs" / f"{job}.yaml", settings))


def section_of(job: str, *settings: str):
    return leaks(context_of(job, *settings))


def line(section, id_: str):
    return next(one for one in section.lines() if one.id == id_)


def finding(section, id_: str):
    return next(one for one in section.findings() if one.id == id_)


def levels(section) -> set[tuple[str, str]]:
    return {(one.level, one.id) for one in section.findings() if one.level != "clear"}


def notes(section) -> str:
    return " ".join(block.text for block in section.blocks if isinstance(block, Note))


def pictures(section) -> list[str]:
    return [block.id for block in section.blocks if isinstance(block, Picture)]


@pytest.fixture
def edited(tmp_path):
    """A demo job with text of its sheets replaced: (file, old, new) each; gives the context."""

    def make(job: str, *changes: tuple[str, str, str]) -> Context:
        root = tmp_path / "parameters"
        shutil.copytree(DEMO, root, dirs_exist_ok=True)
        for name, old, new in changes:
            text = (root / name).read_text(encoding="utf-8")
            assert old in text, f"{old!r} is not in {name}"
            (root / name).write_text(text.replace(old, new), encoding="utf-8")
        return Context(load_case(root / "jobs" / f"{job}.yaml"))

    return make


def speed(laminar: float, edge_loss: float) -> float:
    """Mean speed where friction a·u and edges share the pressure: the positive root."""
    a, e = DROP / laminar, edge_loss * DENSITY / 2
    return (-a + math.sqrt(a**2 + 4 * e * DROP)) / (2 * e)


def gap_flow(height: float, diameter: float) -> float:
    u = speed(DROP * height**2 / (12 * VISCOSITY * 8 * MM), 1.5)
    return math.pi * diameter * height * u


def scratch_flow() -> float:
    """0.6 × 0.25 mm over 1.5 mm of land: White's series to a few terms, sharp edges."""
    ratio = 0.6 / 0.25
    terms = sum(math.tanh(i * math.pi * ratio / 2) / i**5 for i in (1, 3, 5))
    factor = 1 - 192 / (math.pi**5 * ratio) * terms
    laminar = factor * (0.25 * MM) ** 2 * DROP / (12 * VISCOSITY * 1.5 * MM)
    return 0.6 * 0.25 * MM**2 * speed(laminar, 1 / 0.61**2)


def test_the_worn_cylinder_by_hand():
    section = section_of(WORN)
    height = ((80.38 - 80.00) / 2 - 0.05) * MM
    piston, scratch = gap_flow(height, 80.19 * MM), scratch_flow()
    assert line(section, "leaks.cylinder-bore.gap.size").value.si == pytest.approx(height)
    found = line(section, "leaks.cylinder-bore.gap.flow").value.si
    assert found == pytest.approx(piston, rel=1e-3)
    found = line(section, "leaks.upper-inlet.scratch.flow").value.si
    assert found == pytest.approx(scratch, rel=1e-3)
    # the piston seal holds on both strokes, the check on one
    slip = (piston + scratch / 2) / (VOLUME * RATE)
    assert line(section, "leaks.slip").value.si == pytest.approx(slip, rel=1e-3)
    assert line(section, "leaks.air").value.si == pytest.approx(AIR, rel=1e-6)
    efficiency = 1 - slip - AIR
    assert line(section, "leaks.efficiency").value.si == pytest.approx(efficiency, rel=1e-4)
    flow = efficiency * VOLUME * RATE
    assert line(section, "leaks.flow").value.si == pytest.approx(flow, rel=1e-4)
    short = finding(section, "leaks.efficiency")
    assert short.level == "query"
    assert f"{100 * efficiency:.1f} %" in short.compared
    assert "piston seal" in short.action
    assert f"{100 * piston / (piston + scratch / 2 + AIR * VOLUME * RATE):.0f} %" in short.action


def test_the_size_at_which_the_efficiency_is_lost_by_hand():
    spare = (1 - AIR - 0.92) * VOLUME * RATE - scratch_flow() / 2
    # the gap's middle diameter stays near 80.2 mm
    height = brentq(lambda h: gap_flow(h, 80.19 * MM) - spare, 1e-6, 1e-3)
    found = line(section_of(WORN), "leaks.cylinder-bore.limit")
    assert found.value.si == pytest.approx(80e-3 + 2 * (height + 0.05 * MM), rel=1e-6)
    assert "80.25 mm" in found.data  # the sheet's own limit beside it


@pytest.mark.parametrize(
    ("job", "name"), [(WORN, "cylinder-bore"), (HEALTHY, "cylinder-bore"), (HEALTHY, "piston-rod"),
                      (PLUNGERS, "plunger-2"), (TRANSFER, "cylinder-bore")]
)  # fmt: skip
def test_a_part_worn_to_that_size_leaves_just_the_wanted_efficiency(job, name):
    context = context_of(job)
    sums = sums_of(context)
    size = next(one.size for one in size_limits(context, sums)[0] if one.name == name)
    worn = sums_of(context_of(job, f"measured.{name}={size * 1e3!r} mm"))
    # the middle diameter of the gap, which the limit keeps, moves a little with the wear
    assert worn.result.efficiency == pytest.approx(sums.wanted, abs=2e-3)


def test_liquid_compression_by_hand():
    # 900 psi of water of 2.18 GPa, 1.2 strokes of clearance
    share = 2.2 * 900 * 6894.757 / 2.18e9
    assert line(section_of(PLUNGERS), "leaks.liquid").value.si == pytest.approx(share, rel=1e-6)


def test_a_fluid_that_thins_leaks_at_the_viscosity_of_the_leak():
    section = section_of(TRANSFER)
    gap = Gap(2.5015 * 25.4 * MM, 0.001 * 25.4 * MM, 0.375 * 25.4 * MM)
    thick = leak_viscosity(gap, 5e5, HerschelBulkley(2.0, 1.6, 0.55), 1560.0)
    found = line(section, "leaks.cylinder-bore.gap.viscosity").value.si
    assert found == pytest.approx(thick, rel=1e-6)
    assert found < 0.19 / 5  # far below what the viscometer read at its slow speed
    flow = line(section, "leaks.cylinder-bore.gap.flow").value.si
    assert flow == pytest.approx(leak(gap, 5e5, thick, 1560.0).flow, rel=1e-6)


def test_one_viscosity_is_taken_where_the_card_gives_no_flow_curve():
    assert not [one for one in section_of(WORN).lines() if one.id.endswith(".viscosity")]


def test_a_yield_stress_can_hold():
    settings = [
        "fluid.rheology.consistency=1.6", "fluid.rheology.exponent=0.55",
        "fluid.rheology.yield_stress=1 kPa",
    ]  # fmt: skip
    # gap 0.0254 mm, 9.525 mm long at 5 bar: h Δp/(2 L) = 667 Pa at the wall
    section = section_of(TRANSFER, *settings)
    assert "piston seal (the fluid's yield stress holds)" in notes(section)
    assert line(section, "leaks.efficiency").value.si == pytest.approx(1.0)
    # where a wider gap lets some through, the size for the efficiency is found all the same
    assert line(section, "leaks.cylinder-bore.limit").value.si > 2.503 * 25.4 * MM


def test_an_oval_seat_leaks_by_its_mean_gap(edited):
    defect = "seat_defects:\n  upper-inlet: {ovality: 0.2 mm, land: 0.5 mm}\n"
    section = leaks(
        edited(HEALTHY, ("jobs/TW-2601.yaml", "valves_fitted:", defect + "\nvalves_fitted:"))
    )
    # 90° cone: the normal stands at 45°; a quarter of 0.2 mm times sin 45°
    found = line(section, "leaks.upper-inlet.oval-seat.size").value.si
    assert found == pytest.approx(0.05 * MM * math.sqrt(0.5))
    assert line(section, "leaks.upper-inlet.oval-seat.flow").value.si > 0.0


def test_places_against_the_atmosphere_do_not_gain_by_a_lift():
    """The inlet's vacuum adds to the checks and the piston seal, not to the rod's packing."""
    settings = ["duty.inlet_pressure=-0.4 bar", "measured.piston-rod=29.5 mm"]
    ways = {way.name: way for way in sums_of(context_of(WORN, *settings)).ways}
    assert ways["piston seal"].path.pressure_difference == pytest.approx(16.4e5)
    assert ways["upper-inlet, scratch"].path.pressure_difference == pytest.approx(16.4e5)
    assert ways["rod packing"].path.pressure_difference == pytest.approx(16e5)
    assert ways["rod packing"].share == 0.5


@pytest.mark.parametrize(
    ("job", "setting", "level", "id_"),
    [
        (WORN, "measured.cylinder-bore=80.30 mm", "clear", "leaks.efficiency"),
        (WORN, "fluid_end.volumetric_efficiency=89 %", "clear", "leaks.efficiency"),
        (WORN, "fluid_end.wanted_efficiency=85 %", "clear", "leaks.efficiency"),
        (HEALTHY, "fluid_end.wanted_efficiency=99.5 %", "query", "leaks.efficiency"),
        (HEALTHY, "measured.cylinder-bore=80.45 mm", "query", "leaks.efficiency"),
        (WORN, "duty.flow=25 L/min", "query", "leaks.flow"),
        (WORN, "duty.flow=24 L/min", "clear", "leaks.flow"),
        (HEALTHY, "service_every=12000 h", "query", "leaks.cylinder-bore.life"),
        (HEALTHY, "service_every=11000 h", "clear", "leaks.cylinder-bore.life"),
        (PLUNGERS, "measured.plunger-1=0.744 in", "query", "leaks.efficiency"),
        (DIAPHRAGM, "seat_defects.left-inlet.scratches=30", "query", "leaks.efficiency"),
        (TRANSFER, "measured.cylinder-bore=2.508 in", "query", "leaks.efficiency"),
    ],
)
def test_one_changed_value_turns_its_finding(job, setting, level, id_):
    found = finding(section_of(job, setting), id_)
    assert found.level == level
    assert bool(found.action) is (level != "clear")


def test_a_pump_that_loses_more_than_it_displaces_says_so():
    section = section_of(WORN, "fluid.viscosity=1 cP", "measured.cylinder-bore=81.5 mm")
    assert line(section, "leaks.efficiency").value.startswith("none")
    assert "nothing delivered" in finding(section, "leaks.efficiency").compared
    assert "leaks.flow" not in {one.id for one in section.lines()}
    assert finding(section, "leaks.flow").level == "query"


def test_where_air_takes_the_most_the_action_is_not_about_parts():
    section = section_of(HEALTHY, "fluid.air_share=6 %")
    found = finding(section, "leaks.efficiency")
    assert found.level == "query"
    assert "air in the fluid" in found.action
    assert "the other losses alone take more" in notes(section)


def line_through_new(hours, wears):
    """Slope through the new size by hand, and the sum of squared hours."""
    hours, wears = np.array(hours), np.array(wears)
    return (hours @ wears) / (hours @ hours), math.sqrt(hours @ hours)


def test_life_left_by_hand():
    # scatter of 0.01 mm as given on the sheet, which the readings bear out: normal quantile
    section = section_of(HEALTHY)
    slope, spread = line_through_new([1900, 4000, 5900], [0.03, 0.05, 0.07])
    half = norm.ppf(0.95) * 0.01 / spread
    rate = line(section, "leaks.cylinder-bore.rate")
    assert rate.value.si == pytest.approx(1000 * slope * MM)
    left = line(section, "leaks.cylinder-bore.left").value.si
    assert left == pytest.approx(0.25 / slope - 5900)
    # the last reading lies under the line: the interval's own end counts
    again = line(section, "leaks.cylinder-bore.again").value.si
    assert again == pytest.approx(min(0.25 / (slope + half) - 5900, (0.25 - 0.07) / (slope + half)))
    assert finding(section, "leaks.cylinder-bore.life").level == "clear"


def test_a_part_past_its_limit_has_nothing_left_and_a_new_one_is_reckoned():
    section = section_of(WORN)
    assert line(section, "leaks.cylinder-bore.left").value.si == 0.0
    # four readings clearly show no more than 0.01 mm of scatter
    slope, spread = line_through_new([4200, 9100, 13600, 20200], [0.09, 0.17, 0.24, 0.38])
    rest = np.array([0.09, 0.17, 0.24, 0.38]) - slope * np.array([4200, 9100, 13600, 20200])
    assert math.sqrt(rest @ rest / 3) < 0.0105 < 0.01 * t.ppf(0.95, 3)
    new, low = 0.25 / slope, 0.25 / (slope + norm.ppf(0.95) * 0.01 / spread)
    action = finding(section, "leaks.cylinder-bore.life").action.replace("\u202f", "")
    assert f"A new one lasts {round(new, -2):.0f} h by this line, from {round(low, -2):.0f} h" in (
        action
    )


def test_the_efficiency_ends_a_life_where_it_comes_before_the_sheets_limit(edited):
    context = edited(
        HEALTHY, ("models/slip-piston-4b.yaml", "reuse_limit: 80.25 mm", "reuse_limit: 80.48 mm")
    )
    limits = size_limits(context, sums_of(context))[0]
    bore = next(part for part in lives_of(context, limits).parts if part.name == "cylinder-bore")
    assert bore.by_efficiency
    size = next(limit.size for limit in limits if limit.name == "cylinder-bore")
    assert bore.life.limit == size < 80.48 * MM
    assert "where the efficiency is lost" in line(leaks(context), "leaks.cylinder-bore.left").data


def test_a_part_fitted_at_a_past_job_starts_anew(edited):
    context = edited(
        WORN,
        ("jobs/TW-2604.yaml", "hours: 13600 h, measured: {cylinder-bore: 80.24 mm}",
         "hours: 13600 h, measured: {cylinder-bore: 80.24 mm}, fitted: {cylinder-bore: 80.01 mm}"),
        ("jobs/TW-2604.yaml", "cylinder-bore: 80.38 mm", "cylinder-bore: 80.13 mm"),
    )  # fmt: skip
    (part,) = lives_of(context, ()).parts
    assert part.life.lives[-1].fitted == pytest.approx(80.01 * MM)
    assert part.life.age == pytest.approx((20200 - 13600) * HOUR)
    assert part.life.verdict == "wearing"


def test_parts_that_no_past_job_names_get_no_life():
    """They may have been changed since the unit's hours began."""
    section = section_of(WORN)
    assert "Too few past readings" in notes(section)
    assert "piston-rod" in notes(section).split("Too few past readings")[1]
    assert not [one for one in section.lines() if one.id.startswith("leaks.piston-rod")]


def test_readings_that_run_backwards_are_a_query(edited):
    card = "jobs/TW-2601.yaml"
    context = edited(
        HEALTHY, (card, "80.03 mm", "79.90 mm"), (card, "80.05 mm", "79.80 mm"),
        (card, "80.07 mm", "79.70 mm"),
    )  # fmt: skip
    assert levels(leaks(context)) == {("query", "leaks.cylinder-bore.trend")}


def test_gaps_in_the_sheets_are_named_and_nothing_raises(edited):
    no_rate = leaks(edited(WORN, ("jobs/TW-2604.yaml", "  rate: 24 cycles/min\n", "")))
    assert "gives no rate" in notes(no_rate)
    assert "leaks.efficiency" not in {one.id for one in no_rate.lines()}
    assert line(no_rate, "leaks.cylinder-bore.gap.flow").value.si > 0.0
    unread = leaks(edited(WORN, ("jobs/TW-2604.yaml", "  piston-rod: 29.95 mm\n", "")))
    assert "Not measured, so taken as tight: piston-rod" in notes(unread)
    unwanted = leaks(
        edited(WORN, ("models/slip-piston-4b.yaml", "  volumetric_efficiency: 92 %\n", ""))
    )
    assert "leaks.efficiency" not in {one.id for one in unwanted.findings()}
    assert "gives none" in line(unwanted, "leaks.efficiency").data


def test_no_clock_no_life(edited):
    section = leaks(edited(HEALTHY, ("jobs/TW-2601.yaml", "running_hours: 5900 h\n", "")))
    assert "not of the running hours" in notes(section)


def test_a_stiff_part_larger_than_its_bore_is_a_query(edited):
    context = edited(
        HEALTHY, ("models/slip-piston-4b.yaml", "      takes_up: 0.05 mm\n", ""),
        ("models/slip-piston-4b.yaml", "      mate_size: 80.00 mm", "      mate_size: 80.20 mm"),
    )  # fmt: skip
    assert levels(leaks(context)) == {("query", "leaks.cylinder-bore.reading")}


def test_a_stiff_part_lies_against_the_wall_unless_a_guide_holds_it(edited):
    sheet = "models/slip-piston-4b.yaml"
    change = (sheet, "      takes_up: 0.05 mm\n", "")
    against = line(leaks(edited(WORN, change)), "leaks.cylinder-bore.gap.flow").value.si
    held = line(
        leaks(edited(WORN, (sheet, "takes_up: 0.05 mm", "eccentricity: 0 %"))),
        "leaks.cylinder-bore.gap.flow",
    ).value.si  # fmt: skip
    assert against == pytest.approx(2.5 * held, rel=0.04)  # less by the edges


def test_both_sides_of_a_gap_can_be_measured(edited):
    """The rod in its bush: the gap is between the two readings, and both get a limit."""
    context = edited(
        WORN, ("models/slip-piston-4b.yaml", "      mate_size: 30.00 mm\n      takes_up: 0.10 mm\n",
               "      mate_measured: gland-bush\n"),
        ("models/slip-piston-4b.yaml", "volumetric_efficiency: 92 %",
         "volumetric_efficiency: 85 %"),
    )  # fmt: skip
    section = leaks(context)
    found = line(section, "leaks.piston-rod.gap.size").value.si
    assert found == pytest.approx((30.28 - 29.95) / 2 * MM)
    limits = {one.name: one for one in size_limits(context, sums_of(context))[0]}
    bush, rod = limits["gland-bush"], limits["piston-rod"]
    assert bush.size - 29.95 * MM == pytest.approx(30.28 * MM - rod.size)


def test_an_inlet_above_the_outlet_is_a_query():
    section = section_of(HEALTHY, "duty.inlet_pressure=20 bar")
    assert ("query", "leaks.duty.reading") in levels(section)


@pytest.mark.parametrize("job", [WORN, PLUNGERS, DIAPHRAGM, TRANSFER])
def test_every_build_of_pump_has_a_place_to_leak(job):
    assert sums_of(context_of(job)).ways


def test_a_piston_with_a_rod_is_a_differential_pump():
    context = context_of(TRANSFER, "fluid_end.rod=1 in")
    assert list(sealed_places(context.model)) == ["piston seal", "rod packing"]


@pytest.mark.parametrize("job", [f"TW-26{number:02}" for number in range(1, 15)])
def test_formulas_hold_and_figures_are_small(job):
    section = section_of(job)
    for one in section.lines():
        if one.formula:
            assert isinstance(one.value, Value)
            inputs = {symbol: value.si for symbol, value in one.inputs.items()}
            assert evaluate(one.formula, inputs) == pytest.approx(one.value.si, rel=1e-9), one.id
    for block in section.blocks:
        if isinstance(block, Picture):
            assert len(block.draw().encode()) <= 10_000


def test_a_trend_is_drawn_only_where_there_are_past_readings():
    assert pictures(section_of(WORN)) == ["leak-shares", "wear-trend"]
    assert pictures(section_of(HEALTHY)) == ["wear-trend"]  # one loss alone needs no ranking
    assert pictures(section_of(PLUNGERS)) == []
