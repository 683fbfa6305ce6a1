"""Check valves in motion: right flow for each, against sums by hand; what flips each finding."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest

from rebuildbook.calculators.ball_motion import ball_motion, highest_rate
from rebuildbook.calculators.flow_curve import HerschelBulkley, Newtonian
from rebuildbook.calculators.stroke_flow import AirDrive, CrankDrive
from rebuildbook.sheets import load_case
from rebuildbook.worksheet import valve_cycles
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.formula import evaluate
from rebuildbook.worksheet.in_motion import in_motion
from rebuildbook.worksheet.leak_sums import sums_of
from rebuildbook.worksheet.model import Note, Picture, Section, Value
from rebuildbook.worksheet.unit import unit_of
from rebuildbook.worksheet.valve_cycles import Valves, valves_of
from rebuildbook.worksheet.valves_moving import valves_moving
from rebuildbook.worksheet.valves_moving_findings import moving_findings

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
INCH, ATM = 0.0254, 101325.0
SLIP, WASH, GLAZE, TRANSFER = "TW-2601", "TW-2602", "TW-2603", "TW-2611"
each = pytest.mark.parametrize("card", [SLIP, WASH, GLAZE, TRANSFER])


def context_of(card: str, *settings: str, without: tuple[str, ...] = ()) -> Context:
    case = load_case(JOBS / f"{card}.yaml", settings)
    for path in without:
        sheet, part, field = path.split(".")
        whole = getattr(case, sheet)
        left = whole.model_copy(
            update={part: getattr(whole, part).model_copy(update={field: None})}
        )
        case = dataclasses.replace(case, **{sheet: left})
    return Context(case)


def section(card: str, *settings: str, without: tuple[str, ...] = ()) -> Section:
    context = context_of(card, *settings, without=without)
    unit = unit_of(context)
    return valves_moving(context, unit, in_motion(context, unit))


def valves(card: str, *settings: str) -> Valves:
    context = context_of(card, *settings)
    moving = in_motion(context, unit_of(context))
    assert moving.rate
    return valves_of(context, moving, moving.rate)


def cycles(card: str, *settings: str):
    return {name: cycle for cycle in valves(card, *settings).cycles for name in cycle.names}


def si(made: Section) -> dict[str, float]:
    return {
        line.id.removeprefix("motion."): line.value.si
        for line in made.lines()
        if isinstance(line.value, Value)
    }


def found(made: Section):
    return {finding.id.removeprefix("motion."): finding for finding in made.findings()}


def words(made: Section) -> str:
    return " ".join(block.text for block in made.blocks if isinstance(block, Note))


# the flow of each check's own chamber


def test_a_double_acting_piston_moves_its_ring_above_and_its_bore_below():
    drives = {name: cycle.drive for name, cycle in cycles(SLIP).items()}
    ring, full = math.pi / 4 * (0.08**2 - 0.03**2), math.pi / 4 * 0.08**2
    for name, area in (("upper", ring), ("lower", full)):
        for role in ("inlet", "outlet"):
            swept = drives[f"{name}-{role}"].displacement
            assert swept == pytest.approx(area * 4.75 * INCH)
    # upper inlet and lower outlet open on the down-stroke, the other two on the up-stroke
    context = context_of(SLIP)
    up = in_motion(context, unit_of(context)).motion.up_share
    assert drives["upper-inlet"].forward_share == pytest.approx(1.0 - up)
    assert drives["lower-outlet"].forward_share == pytest.approx(1.0 - up)
    assert drives["lower-inlet"].forward_share == pytest.approx(up)
    assert drives["upper-outlet"].forward_share == pytest.approx(up)


def test_a_plunger_draws_from_the_head_end_and_delivers_from_the_crank_end():
    made = cycles(WASH)
    inlet, outlet = made["inlet-1"].drive, made["outlet-1"].drive
    volume = math.pi / 4 * (0.75 * INCH) ** 2 * INCH
    for drive, start in ((inlet, "head end"), (outlet, "crank end")):
        assert isinstance(drive, CrankDrive)
        assert drive.start == start
        assert drive.displacement == pytest.approx(volume)
        assert (drive.rate, drive.rod_ratio) == pytest.approx((500 / 60, 0.1))
    assert made["inlet-1"].names == ("inlet-1", "inlet-2", "inlet-3")


def test_each_chamber_of_a_diaphragm_pump_moves_half_of_the_cycle():
    made = cycles(GLAZE)
    assert all(cycle.drive.displacement == pytest.approx(0.2e-3) for cycle in made.values())
    assert made["left-inlet"].names == ("left-inlet", "right-inlet")


def test_the_check_in_a_differential_piston_passes_all_that_was_drawn():
    made = cycles(TRANSFER, "fluid_end.rod=40 mm")
    full = math.pi / 4 * (2.5 * INCH) ** 2 * 0.1
    assert made["inlet"].drive.displacement == pytest.approx(full)
    assert made["outlet"].drive.displacement == pytest.approx(full)


def test_a_glaze_moves_by_its_flow_curve_and_not_by_one_viscosity():
    one = cycles(TRANSFER)["inlet"]
    curve = HerschelBulkley(2.0, 1.6, 0.55)
    by_curve = ball_motion(one.check, curve, one.drive)
    by_viscosity = ball_motion(one.check, Newtonian(0.19), one.drive)
    assert one.motion.closing_lag == pytest.approx(by_curve.closing_lag, rel=1e-3)
    assert by_viscosity.closing_lag > 1.5 * by_curve.closing_lag


@each
def test_three_digits_hold_at_the_coarse_tolerance(card):
    context = context_of(card)
    fluid = valve_cycles.curve_of(context) or Newtonian(context.job.fluid.viscosity.nominal)
    for cycle in valves(card).cycles:
        fine = ball_motion(cycle.check, fluid, cycle.drive)
        for name in ("closing_lag", "back_flow", "impact_speed", "greatest_lift"):
            assert getattr(cycle.motion, name) == pytest.approx(getattr(fine, name), rel=5e-4)
        flow, loss = cycle.peak
        assert flow == pytest.approx(fine.piston_flow.max(), rel=1e-3)
        at = np.interp(cycle.motion.time[np.argmax(cycle.motion.piston_flow)], fine.time,
                       fine.pressure_loss)  # fmt: skip
        assert loss == pytest.approx(at, rel=2e-2)


# by hand


def test_compression_and_the_partner_delay_the_opening():
    """Outlet: (1 + r) Δp/K of a stroke, and what its inlet let back; r 120 %, K 2.2 GPa."""
    made = cycles(WASH, "fluid.bulk_modulus=2.2 GPa", "fluid.air_share=0 %")
    inlet, outlet = made["inlet-1"], made["outlet-1"]
    context = context_of(WASH)
    rise = context.job.duty.working_pressure.nominal
    if context.job.duty.inlet_pressure is not None:
        rise -= context.job.duty.inlet_pressure.nominal
    volume = outlet.drive.displacement
    assert outlet.squeezed == pytest.approx(2.2 * rise / 2.2e9 * volume)
    assert inlet.squeezed == pytest.approx(1.2 * rise / 2.2e9 * volume)
    assert outlet.late == inlet.motion.back_flow > 0.0
    held = outlet.squeezed + outlet.late
    # crank with a rod ten times as long, from the crank end: V/2 (1 − cos φ − λ/2 sin²φ)
    turn = 2 * math.pi * 500 / 60 * outlet.opening_delay
    swept = volume / 2 * (1 - math.cos(turn) - 0.05 * math.sin(turn) ** 2)
    assert swept == pytest.approx(held, rel=1e-2)


def test_air_in_the_fluid_takes_most_of_it():
    context = context_of(SLIP, "fluid.air_share=1 %")
    duty = context.job.duty
    low = ATM + (duty.inlet_pressure.nominal if duty.inlet_pressure else 0.0)
    high = ATM + duty.working_pressure.nominal
    one = cycles(SLIP, "fluid.air_share=1 %")["lower-outlet"]
    share = 1.6 * 0.01 * (1.0 - low / high)
    assert one.squeezed == pytest.approx(share * one.drive.displacement)


@each
def test_back_flow_is_counted_once_for_each_end_of_a_chamber(card):
    made, all_valves = section(card), valves(card)
    unit = unit_of(context_of(card))
    lost = sum(len(one.names) * one.motion.back_flow for one in all_valves.cycles)
    assert si(made)["back"] == pytest.approx(lost / unit.displacement)
    assert si(made)["lost"] == pytest.approx(lost * all_valves.cycles[0].drive.rate)


def test_efficiency_and_flow_with_it():
    made = si(section(SLIP))
    context = context_of(SLIP)
    leaks = efficiency_by_leaks(context)
    assert made["efficiency"] == pytest.approx(leaks - made["back"])
    whole = unit_of(context).displacement * 28 / 60
    assert made["delivered"] == pytest.approx(made["efficiency"] * whole)
    assert "comes on top" in words(section(SLIP))


def efficiency_by_leaks(context: Context) -> float:
    result = sums_of(context).result
    assert result is not None
    return result.balance / result.displacement


def test_the_highest_rate_is_where_two_per_cent_run_back():
    one = cycles(GLAZE)["left-outlet"]
    assert one.limit is not None
    assert not one.limit.beyond
    fluid = Newtonian(0.180)
    wanted = highest_rate(one.check, fluid, one.drive, lowest=one.drive.rate)
    assert one.limit.rate == pytest.approx(wanted, rel=0.01)


def test_where_twice_the_rate_still_serves_it_looks_no_further():
    one = cycles(WASH)["inlet-1"]
    assert one.limit == valve_cycles.Limit(2 * 500 / 60, beyond=True)
    lines = {line.id: line.value for line in section(WASH).lines()}
    assert lines["motion.inlet-1.rate"] == "above 1000 /min"


@each
def test_every_formula_gives_its_line_and_every_line_says_how(card):
    for line in section(card).lines():
        assert line.method or line.data, line.id
        if line.formula:
            inputs = {symbol: value.si for symbol, value in line.inputs.items()}
            assert evaluate(line.formula, inputs) == pytest.approx(line.value.si, rel=1e-9)


@each
def test_the_last_to_close_is_drawn_small(card):
    made = section(card)
    (picture,) = (block for block in made.blocks if isinstance(block, Picture))
    last = max(valves(card).cycles, key=lambda cycle: cycle.motion.closing_lag_angle)
    assert picture.caption.startswith(", ".join(last.names))
    assert len(picture.draw()) < 12_000


# what flips the findings


@each
def test_the_demo_checks_close_in_time_and_land_softly(card):
    assert {finding.level for finding in section(card).findings()} == {"clear"}


def test_a_rate_near_the_limit_leaves_little_to_spare():
    late = found(section(GLAZE, "duty.rate=64 cycles/min"))["closes"]
    assert late.level == "query"
    assert "left-outlet, right-outlet: late" in late.title
    assert late.action


def test_too_much_back_flow_is_asked_about():
    thick = found(section(GLAZE, "fluid.viscosity=600 mPa*s"))["closes"]
    assert thick.level == "query"
    assert "of a stroke runs back" in thick.compared


def test_a_ball_that_swims_with_the_fluid_holds():
    """Strokes of 4 mL in thick glaze: the ball goes up and down with them."""
    thick = "fluid_end.volume_per_cycle=8 mL", "fluid.viscosity=50 Pa*s"
    made = section(GLAZE, *thick)
    late = found(made)["closes"]
    assert late.level == "hold"
    assert late.action
    assert cycles(GLAZE, *thick)["left-outlet"].motion.back_flow_share > 0.2
    lines = {line.id: line.value for line in made.lines()}
    assert lines["motion.left-outlet.rate"] == "not in time as it is"


def test_a_ball_not_home_before_its_next_stroke_holds():
    one = cycles(GLAZE)["left-outlet"]
    late = dataclasses.replace(
        one, motion=dataclasses.replace(one.motion, closing_time=math.inf), limit=None
    )
    (closes, _) = moving_findings(context_of(GLAZE), Valves((late,), {}), 1.0)
    assert closes.level == "hold"
    assert "not home before its next stroke" in closes.compared


def test_a_ball_that_lands_hard_is_asked_about():
    heavy = "check_valves.left-outlet.ball.material=316", "check_valves.left-outlet.lift=30 mm"
    hard = found(section(GLAZE, *heavy, "fluid.viscosity=1 mPa*s", "duty.rate=115 cycles/min"))
    assert hard["impact"].level == "query"


# what the sheets do not say


def test_without_a_rate_nothing_is_worked_out():
    made = section(WASH, without=("job.duty.rate",))
    assert "rate is not known" in words(made)
    assert not list(made.lines())


def test_a_ball_that_nothing_brings_home_is_told_and_the_rest_worked_out():
    made = section(SLIP, "check_valves.upper-inlet.opens=down")
    assert "upper-inlet: not followed; nothing brings the ball home" in words(made)
    assert "upper-outlet.lag" in si(made)


def test_a_fluid_whose_give_is_not_told_is_named():
    assert "bulk_modulus" in words(section(TRANSFER))


def test_a_stroke_that_does_not_tell_the_chamber_is_named():
    made = section(SLIP, "check_valves.upper-inlet.holds_on=discharge")
    assert "does not tell the chamber of upper-inlet" in words(made)
    full = math.pi / 4 * 0.08**2 * 4.75 * INCH
    assert si(made)["upper-inlet.swept"] == pytest.approx(full)


def test_pressure_and_tools_do_not_move_the_balls_again(monkeypatch):
    """With a crank the stroke is the same whatever the pressure: nothing is followed twice."""
    before = cycles(WASH)

    def never(*_given, **_settings):
        raise AssertionError("followed again")

    monkeypatch.setattr(valve_cycles, "ball_motion", never)
    monkeypatch.setattr(valve_cycles, "drawn_back_share", never)
    after = cycles(WASH, "duty.working_pressure=600 psi")
    assert after["inlet-1"].motion is before["inlet-1"].motion
    assert isinstance(cycles(WASH)["inlet-1"].drive, CrankDrive)
    with pytest.raises(AssertionError, match="followed again"):
        cycles(WASH, "duty.rate=480 rpm")


def test_an_air_motor_may_take_longer_on_one_stroke():
    drives = [cycle.drive for cycle in cycles(SLIP).values()]
    assert all(isinstance(drive, AirDrive) for drive in drives)
    assert len({round(drive.forward_end, 6) for drive in drives}) == 2
