"""The small figure of a ball's lift: what is drawn is what was worked out, in few bytes."""

import math

import numpy as np
import pytest

from rebuildbook.calculators.ball_check import BallCheck
from rebuildbook.calculators.ball_motion import ball_motion
from rebuildbook.calculators.ball_seat import ConeSeat
from rebuildbook.calculators.flow_curve import Newtonian
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.stroke_flow import AirDrive, CrankDrive
from rebuildbook.figures.lift_over_cycle import lift_over_cycle
from rebuildbook.figures.style import svg

STEEL = material("316")
CHECK = BallCheck(
    ball=0.025, ball_material=STEEL, seat=ConeSeat(0.016, 0.022, math.pi / 2),
    seat_material=STEEL, lift=0.006, closing_pressure=1e6, fluid_density=998.0,
)  # fmt: skip
DRIVES = [CrankDrive(1.0, 60e-6), AirDrive(1.0, 60e-6), AirDrive(2.0, 60e-6, 0.0, 0.05, 0.3)]
every_drive = pytest.mark.parametrize("drive", DRIVES)


def parts(drive, **settings):
    motion = ball_motion(CHECK, Newtonian(0.001), drive, tolerance=1e-6, **settings)
    figure = lift_over_cycle(motion, corners=drive.breaks)
    (axes,) = figure.axes
    drawn = {line.get_gid(): line for line in axes.lines} | {p.get_gid(): p for p in axes.patches}
    return motion, figure, drawn, [text.get_text() for text in axes.texts]


@every_drive
def test_lift_and_flow_are_those_of_the_motion(drive):
    motion, _, drawn, _ = parts(drive)
    at, flow = drawn["flow"].get_data()
    most = max(drive.flow(moment) for moment in np.linspace(0.0, drive.cycle, 2001))
    least = min(drive.flow(moment) for moment in np.linspace(0.0, drive.cycle, 2001))
    top = max(most, -least)
    wanted = [drive.flow(moment) / top for moment in np.clip(at, 0.0, 1.0 - 1e-9) * drive.cycle]
    assert flow == pytest.approx(wanted, abs=0.02)
    at, lift = drawn["lift"].get_data()
    shown = np.interp(at * drive.cycle, motion.time, motion.lift)
    assert lift * motion.greatest_lift == pytest.approx(shown, abs=1e-12)


@every_drive
def test_the_band_is_from_the_turn_to_home(drive):
    motion, _, drawn, texts = parts(drive)
    across = drawn["lag"].get_xy()[:, 0]
    assert across.min() == pytest.approx(motion.reversal / motion.cycle)
    assert across.max() == pytest.approx(motion.closing_time / motion.cycle)
    assert f"{1e3 * motion.greatest_lift:.3g}" in {text.rstrip("0").rstrip(".") for text in texts}


def test_a_ball_that_stays_shut_has_no_lift_to_draw():
    _, figure, drawn, _ = parts(DRIVES[0], held_back=60e-6)
    assert "lift" not in drawn
    assert "<svg" in svg(figure)


@every_drive
def test_it_is_small_and_the_same_each_time(drive):
    first, second = (svg(parts(drive)[1]) for _ in range(2))
    assert first == second
    assert len(first) < 6_000
