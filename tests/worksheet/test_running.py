"""How it runs, against sums by hand; what flips each finding; what is said where fields lack."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest

from rebuildbook.sheets import load_case
from rebuildbook.worksheet.build import Worksheet, open_worksheet
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.formula import evaluate
from rebuildbook.worksheet.in_motion import in_motion
from rebuildbook.worksheet.model import Caution, Note, Picture, Section, Value
from rebuildbook.worksheet.running import running
from rebuildbook.worksheet.unit import unit_of

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
PSI, INCH, FOOT, ATM, G = 6894.757293168, 0.0254, 0.3048, 101325.0, 9.80665
SLIP, WASH, GLAZE, TRANSFER = "TW-2601", "TW-2602", "TW-2603", "TW-2611"
each = pytest.mark.parametrize("card", [SLIP, WASH, GLAZE, TRANSFER])


def section(card: str, *settings: str, without: tuple[str, ...] = ()) -> Section:
    case = load_case(JOBS / f"{card}.yaml", settings)
    for path in without:
        sheet, part, field = path.split(".")
        whole = getattr(case, sheet)
        part_left = getattr(whole, part).model_copy(update={field: None})
        left = whole.model_copy(update={part: part_left})
        case = dataclasses.replace(case, **{sheet: left})
    context = Context(case)
    unit = unit_of(context)
    return running(context, unit, in_motion(context, unit))


def si(made: Section) -> dict[str, float]:
    return {
        line.id.removeprefix("running."): line.value.si
        for line in made.lines()
        if isinstance(line.value, Value)
    }


def levels(made: Section) -> dict[str, str]:
    return {finding.id.removeprefix("running."): finding.level for finding in made.findings()}


def words(made: Section) -> str:
    return " ".join(block.text for block in made.blocks if isinstance(block, Note | Caution))


# by hand


def test_a_double_acting_piston_gives_less_past_its_rod():
    found = si(section(SLIP))
    ring, full, stroke = math.pi / 4 * (0.08**2 - 0.03**2), math.pi / 4 * 0.08**2, 4.75 * INCH
    assert found["delivered-up"] == pytest.approx(ring * stroke)
    assert found["delivered-down"] == pytest.approx(full * stroke)
    assert found["drawn-up"] == pytest.approx(found["delivered-down"])
    assert found["rod-up"] == pytest.approx(16e5 * ring + 450.0)
    assert found["rod-down"] == pytest.approx(16e5 * full + 450.0)


def test_a_vacuum_at_the_inlet_adds_to_the_rod():
    found = si(section(SLIP, "duty.inlet_pressure=-0.3 bar"))
    ring, full = math.pi / 4 * (0.08**2 - 0.03**2), math.pi / 4 * 0.08**2
    assert found["rod-up"] == pytest.approx(16e5 * ring + 0.3e5 * full + 450.0)


def test_a_differential_piston_delivers_on_both_strokes():
    found = si(section(TRANSFER, "fluid_end.rod=40 mm"))
    full, rod, stroke = math.pi / 4 * (2.5 * INCH) ** 2, math.pi / 4 * 0.04**2, 0.1
    assert found["delivered-up"] == pytest.approx((full - rod) * stroke)
    assert found["delivered-down"] == pytest.approx(rod * stroke)
    assert found["drawn-up"] == pytest.approx(full * stroke)
    assert "drawn-down" not in found
    assert found["rod-down"] == pytest.approx(5e5 * rod)


def test_power_and_torque_of_the_triplex():
    found = si(section(WASH))
    volume = 3 * math.pi / 4 * (0.75 * INCH) ** 2 * INCH
    power = volume * 500 / 60 * 900 * PSI / 0.85
    assert found["power"] == pytest.approx(power)
    assert found["power-drawn"] == pytest.approx(power / 0.86)
    assert found["torque"] * 2 * math.pi * 500 / 60 == pytest.approx(power)  # power is torque × ω
    assert found["torque-peak"] == pytest.approx(found["torque"] * found["peak"])
    # the usual figures of a triplex with a long rod: 5 % above the mean, 14 % below
    assert found["peak"] == pytest.approx(1.05, abs=0.005)
    assert found["trough"] == pytest.approx(0.86, abs=0.005)


def test_free_air_of_a_cycle():
    found = si(section(SLIP))
    swept = 2 * math.pi / 4 * 0.16**2 * 4.75 * INCH
    supply = 70 * PSI
    air = swept * ((supply + ATM) / ATM + 0.06 * supply / ATM)
    assert found["supply-cycle"] == pytest.approx(air)
    assert found["supply-most"] == pytest.approx(air * 28 / 60)
    assert found["supply-used"] < found["supply-most"]


def test_a_diaphragm_pump_fills_its_air_chambers_through_the_valve():
    found = si(section(GLAZE, "drive.clearance_share=0 %"))
    supply, load, kappa, gas, temperature = 6e5 + ATM, 4.5e5 + ATM, 1.4, 287.05, 293.15
    area = 0.4 / 3600 / math.sqrt(2 * 1e5 / 1000)  # Kv as an orifice
    ratio = load / supply  # above 0.528, so not choked
    root = 2 * kappa / (kappa - 1) / (gas * temperature)
    root *= ratio ** (2 / kappa) - ratio ** ((kappa + 1) / kappa)
    inflow = area * supply * math.sqrt(root) * gas * temperature / load
    cycle = 2 * (0.2e-3 / inflow + 0.03)
    assert found["rate-reached"] == pytest.approx(1 / cycle, rel=1e-6)
    assert found["supply-used"] == pytest.approx(0.4e-3 * load / ATM, rel=1e-6)  # at 60 a minute


def test_the_motor_is_throttled_to_the_rate_of_the_duty():
    for card, rate in ((SLIP, 28), (GLAZE, 60), (TRANSFER, 30)):
        context = Context(load_case(JOBS / f"{card}.yaml"))
        moving = in_motion(context, unit_of(context))
        assert moving.run is not None
        assert moving.run.rate * 60 == pytest.approx(rate)
        total = sum(s.moving + s.rest for s in (moving.run.up, moving.run.down))
        assert total == pytest.approx(60 / rate)


def test_npsh_of_the_triplex_by_the_form_of_the_hydraulic_institute():
    found = si(section("TW-2606"))
    density = 62.3 * 0.45359237 / FOOT**3
    flow = 3 * math.pi / 4 * (0.75 * INCH) ** 2 * INCH * 520 / 60
    velocity = flow / (math.pi / 4 * (0.75 * INCH) ** 2)
    acceleration = 30 * FOOT * velocity * 520 * 0.066 / (1.4 * G)
    assert found["velocity"] == pytest.approx(velocity)
    assert found["head-acceleration"] == pytest.approx(acceleration)
    left = (ATM - 0.34 * PSI) / (density * G) + 2 * FOOT - acceleration
    assert found["npsh"] == pytest.approx(left - found["head-friction"])


def test_friction_head_is_that_of_the_fluids_library():
    friction_factor = pytest.importorskip("fluids").friction_factor
    found = si(section("TW-2606"))
    density, bore = 62.3 * 0.45359237 / FOOT**3, 0.75 * INCH
    velocity = found["velocity"] * found["peak"]  # plungers draw as they deliver
    factor = friction_factor(Re=density * velocity * bore / 1e-3, eD=0.0)
    head = (factor * 30 * FOOT / bore + 3) * velocity**2 / (2 * G)
    assert found["head-friction"] == pytest.approx(head, rel=0.01)


def test_acceleration_by_the_crank_is_the_slope_of_the_plungers_speeds():
    found = si(section(WASH))
    turn = np.linspace(0.0, 2 * math.pi, 200_001)
    speed = 2 * math.pi * 500 / 60
    crank, rod = INCH / 2, 5 * INCH  # rod_ratio 10

    def velocity(angle):
        out = crank * np.sin(angle)
        return speed * out * (1 + crank * np.cos(angle) / np.sqrt(rod**2 - out**2))

    drawn = sum(
        np.clip(velocity(turn + lag), 0, None) for lag in (0, 2 * math.pi / 3, 4 * math.pi / 3)
    )
    rise = np.diff(drawn).max() / (turn[1] / speed) * math.pi / 4 * (0.75 * INCH) ** 2
    head = 4 * FOOT / (math.pi / 4 * INCH**2) * rise / G
    assert found["head-crank"] == pytest.approx(head, rel=1e-3)


def test_an_air_motor_leaves_the_column_time_to_start():
    found = si(section(GLAZE))
    made = section(GLAZE)
    start = next(line for line in made.lines() if line.id == "running.start")
    assert start.inputs["h_s"].si == pytest.approx(found["npsh"] - 2.2)
    context = Context(load_case(JOBS / f"{GLAZE}.yaml"))
    moving = in_motion(context, unit_of(context))
    assert moving.run is not None
    peak = 0.2e-3 / moving.run.up.moving / (math.pi / 4 * (1.5 * INCH) ** 2)
    assert found["start"] == pytest.approx(2 * peak / (G * (found["npsh"] - 2.2)))


def test_npsh_from_a_pressure_read_at_the_inlet():
    made = section("TW-2608", "duty.inlet_pressure=-0.5 bar", "fluid.vapour_pressure=23 mbar abs")
    left = (ATM - 0.5e5 - 2300) / (1420 * G)
    assert si(made)["npsh"] == pytest.approx(left)
    assert levels(made)["suction"] == "clear"
    deeper = section("TW-2608", "duty.inlet_pressure=-0.6 bar", "fluid.vapour_pressure=23 mbar abs")
    assert levels(deeper)["suction"] == "query"  # 2.80 m against 2.2 m


# findings


@pytest.mark.parametrize(
    ("card", "settings", "finding", "level"),
    [
        (SLIP, "", "speed", "clear"),
        (SLIP, "drive.air_inlet.bore=5 mm", "speed", "query"),
        (SLIP, "duty.supply_pressure=60 psi", "speed", "hold"),
        (SLIP, "drive.exhaust_back_pressure=1 bar", "speed", "hold"),
        (SLIP, "drive.air_inlet.bore=5 mm", "flow", "query"),
        (WASH, "duty.flow=3 gpm", "flow", "query"),
        (WASH, "drive.power=1.9 hp", "power", "query"),
        (WASH, "drive.power=1.7 hp", "power", "hold"),
        (WASH, "drive.stall_torque=40 N*m", "torque", "clear"),
        (WASH, "drive.stall_torque=26 N*m", "torque", "query"),
        (WASH, "drive.stall_torque=20 N*m", "torque", "hold"),
        (WASH, "", "suction", "clear"),
        (WASH, "duty.suction.static_head=-17 ft", "suction", "query"),
        (WASH, "duty.suction.static_head=-20 ft", "suction", "hold"),
        (WASH, "duty.suction.line_length=35 ft", "suction", "hold"),
        ("TW-2606", "duty.suction.line_bore=2 in", "suction", "clear"),
        (GLAZE, "duty.suction.static_head=-3.5 m", "suction", "query"),
        (GLAZE, "duty.suction.static_head=-5 m", "suction", "hold"),
        (GLAZE, "duty.suction.atmosphere=0.6 bara", "suction", "query"),
        (GLAZE, "", "suction-start", "clear"),
        (GLAZE, "duty.suction.line_length=14 m | duty.suction.line_bore=2 in", "suction-start",
         "clear"),
        (GLAZE, "duty.suction.line_length=12 m", "suction-start", "query"),
    ],
)  # fmt: skip
def test_one_changed_value_flips_its_finding(card, settings, finding, level):
    changed = [each for each in settings.split(" | ") if each]
    assert levels(section(card, *changed))[finding] == level


def test_starving_says_at_what_rate_it_would_not():
    line = ("duty.suction.line_length=12 ft", "duty.suction.static_head=-12 ft")
    made = section(WASH, *line)
    action = next(f.action for f in made.findings() if f.id == "running.suction")
    rate = float(action.rsplit("As it stands ", 1)[1].split(" /min leaves the margin")[0])
    slower, faster = (
        si(section(WASH, *line, f"duty.rate={near:.0f} rpm"))["npsh"] - 10 * FOOT
        for near in (rate - 2, rate + 2)
    )
    assert slower > 1.0 > faster


def test_a_drive_that_would_outrun_the_model_is_warned_of():
    assert "40 /min is the most" in words(section(SLIP))
    assert "is the most" not in words(section(SLIP, "fluid_end.rate_max=400 cycles/min"))


# what the sheets do not say


@pytest.mark.parametrize(
    ("card", "without", "told"),
    [
        (SLIP, "model.drive.air_inlet", "no air_inlet"),
        (SLIP, "job.duty.supply_pressure", "no supply in hand"),
        (WASH, "model.fluid_end.rod_ratio", "no rod_ratio"),
        (WASH, "job.duty.suction", "does not describe it"),
        (WASH, "job.duty.rate", "the rate is not known"),
        (GLAZE, "job.fluid.vapour_pressure", "vapour_pressure"),
        (GLAZE, "model.fluid_end.npsh_required", "no npsh_required"),
        (GLAZE, "job.duty.suction", "does not describe it"),
    ],
)
def test_a_missing_field_is_named(card, without, told):
    assert told in words(section(card, without=(without,)))


def test_without_an_inlet_size_the_speed_is_not_judged_but_the_rest_is():
    made = section(SLIP, without=("model.drive.air_inlet",))
    assert set(levels(made)) == {"flow", "suction", "suction-start"}
    assert "rate-reached" not in si(made)
    assert si(made)["supply-cycle"] == pytest.approx(si(section(SLIP))["supply-cycle"])


def test_without_a_required_npsh_only_an_empty_pump_is_held():
    needed = ("model.fluid_end.npsh_required",)
    assert "suction" not in levels(section(GLAZE, without=needed))
    starved = section(GLAZE, "duty.suction.static_head=-7 m", without=needed)
    assert levels(starved)["suction"] == "hold"


def test_without_an_efficiency_the_usual_one_is_named():
    made = section(WASH, without=("model.drive.mechanical_efficiency",))
    finding = next(f for f in made.findings() if f.id == "running.power")
    assert "80 %" in finding.compared
    assert "no source" in finding.source
    full = si(section(WASH))["power"]
    assert si(made)["power"] == pytest.approx(0.85 * full)  # the line keeps to the least


def test_a_pump_without_a_factor_of_the_form_takes_the_crank():
    made = section(WASH, "fluid_end.plungers=4")
    found = si(made)
    assert "head-acceleration" not in found
    assert "no factor" in words(made)
    surface, static = found["head-surface"], found["head-static"]
    left = surface - found["head-vapour"] + static - found["head-friction"] - found["head-crank"]
    assert found["npsh"] == pytest.approx(left)


def test_a_long_line_is_told_to_need_more_than_this():
    assert "surge" in words(section(GLAZE, "duty.suction.line_length=20 m"))


def test_an_oil_motor_runs_at_what_it_is_given():
    made = section(SLIP, "drive.kind=hydraulic", "drive.oil_flow=100 L/min",
                   "drive.changeover=0.001 s")  # fmt: skip
    found = si(made)
    swept = 2 * math.pi / 4 * 0.16**2 * 4.75 * INCH
    assert found["rate-reached"] == pytest.approx(0.1 / 60 / swept, rel=2e-3)
    assert found["supply-cycle"] == pytest.approx(swept)
    assert "air" not in " ".join(line.name.lower() for line in made.lines())


BY_VOLUME = ("model.fluid_end.bore", "model.fluid_end.stroke")
VARIANTS = [
    (SLIP, ["fluid_end.plungers=2"], ()),
    (SLIP, ["drive.kind=electric", "fluid_end.plungers=2", "fluid_end.rod_ratio=5"], ()),
    (SLIP, ["drive.kind=hydraulic"], ()),
    (SLIP, ["drive.area_ratio=4.2"], ("model.drive.piston_diameter",)),
    (SLIP, ["fluid_end.volume_per_cycle=1 L"], ()),
    (SLIP, ["fluid_end.volume_per_cycle=1 L"], BY_VOLUME),
    (SLIP, ["duty.supply_pressure=10 psi"], ()),
    (SLIP, ["duty.inlet_pressure=20 bar"], ()),
    (SLIP, ["drive.changeover=5 s"], ("model.drive.air_inlet",)),
    (WASH, ["fluid_end.volume_per_cycle=20 mL"], BY_VOLUME),
    (WASH, ["duty.inlet_pressure=1000 psi"], ()),
    (WASH, ["drive.kind=air", "drive.area_ratio=10", "duty.supply_pressure=7 bar",
            "drive.supply_max=7 bar", "drive.air_inlet.cv=1"], ()),
    (WASH, ["duty.suction.roughness=2 mm"], ()),
    (WASH, ["duty.suction.static_head=3000 m"], ()),
    (GLAZE, ["drive.kind=electric"], ("job.duty.supply_pressure",)),
    (GLAZE, [], ("job.duty.rate",)),
    (GLAZE, [], ("job.duty.flow",)),
    (GLAZE, ["fluid_end.stroke=13 mm"], ("model.drive.area_ratio",)),
    (TRANSFER, ["fluid_end.rod=1 in", "fluid_end.plungers=2"], ()),
    (TRANSFER, ["drive.kind=electric", "fluid_end.plungers=3"], ()),
    (TRANSFER, ["drive.area_ratio=5"], ("model.drive.piston_diameter",)),
]  # fmt: skip


@pytest.mark.parametrize(("card", "settings", "without"), VARIANTS)
def test_no_valid_sheet_raises_and_every_line_is_honest(card, settings, without):
    made = section(card, *settings, without=without)
    for line in made.lines():
        assert line.method or line.data, line.id
        if line.formula:
            inputs = {symbol: value.si for symbol, value in line.inputs.items()}
            assert evaluate(line.formula, inputs) == pytest.approx(line.value.si, rel=1e-9), line.id
    for finding in made.findings():
        assert finding.source
        assert finding.level == "clear" or finding.action
    for block in made.blocks:
        if isinstance(block, Picture):
            assert block.draw().startswith("<svg")


@each
def test_the_figure_is_small_and_told_in_words(card):
    (picture,) = [block for block in section(card).blocks if isinstance(block, Picture)]
    assert len(picture.draw()) < 12_000
    assert "mean" in picture.alt
    assert "peak" in picture.alt


@each
def test_the_flow_of_the_section_is_that_of_identity_and_duty(card):
    sheet: Worksheet = open_worksheet(JOBS / f"{card}.yaml")
    flow = next(f for f in sheet.sections["running"].findings() if f.id == "running.flow")
    told = next(f for f in sheet.sections["identity"].findings() if f.id == "duty.flow")
    assert flow.compared.split(" at ")[0] == told.compared.split(" against ")[0]
