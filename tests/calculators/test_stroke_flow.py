import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from rebuildbook.calculators.stroke_flow import AirDrive, CrankDrive

DRIVES = [
    CrankDrive(1.5, 2e-4, 0.25, "head end"),
    CrankDrive(1.5, 2e-4, 0.25, "crank end"),
    CrankDrive(0.3, 2e-4, 0.0),
    AirDrive(0.5, 1e-3),
    AirDrive(0.5, 1e-3, 0.0, 0.5),
    AirDrive(0.5, 1e-3, 0.6, 0.01),
    AirDrive(0.5, 1e-3, 0.2, 0.1, 0.35),
]
every_drive = pytest.mark.parametrize("drive", DRIVES)


@every_drive
def test_swept_is_the_integral_of_flow(drive):
    for share in (0.03, 0.2, 0.41, 0.5, 0.63, 0.94, 1.0):
        corners = [corner for corner in drive.breaks if corner < share * drive.cycle]
        area = quad(drive.flow, 0.0, share * drive.cycle, points=corners or None, limit=300)[0]
        assert drive.swept(share * drive.cycle) == pytest.approx(
            area, rel=1e-7, abs=1e-10 * drive.displacement
        )


@every_drive
def test_a_stroke_sweeps_its_displacement_and_comes_back(drive):
    assert drive.swept(drive.forward_end) == pytest.approx(drive.displacement)
    assert drive.swept(drive.cycle) == pytest.approx(0.0, abs=1e-12 * drive.displacement)


@every_drive
@given(share=st.floats(0.001, 0.999))
def test_flow_goes_out_then_back(drive, share):
    time = share * drive.cycle
    flow = drive.flow(time)
    assert flow >= 0.0 if time < drive.reversal else flow <= 1e-12


def test_the_crank_is_that_of_geometry():
    """Piston from crank radius 1 and rod 1/λ by the triangle, turned through one cycle."""
    radius, rod = 1.0, 4.0
    drive = CrankDrive(1.0, 2.0, radius / rod, "head end")
    for turn in (0.4, 1.1, 2.0, 3.0, 4.5):
        reach = radius * math.cos(turn) + math.sqrt(rod**2 - (radius * math.sin(turn)) ** 2)
        assert drive.swept(turn / (2 * math.pi)) == pytest.approx(radius + rod - reach)


def test_the_piston_is_faster_near_the_head_end():
    head, crank = CrankDrive(1.0, 1.0, 0.25, "head end"), CrankDrive(1.0, 1.0, 0.25, "crank end")
    assert head.flow(0.1) > crank.flow(0.1)
    assert head.flow(0.1) == pytest.approx(crank.flow(0.4))


def test_an_air_motor_may_take_longer_one_way_than_the_other():
    drive = AirDrive(0.5, 1e-3, 0.2, 0.1, 0.35)
    assert drive.forward_end == pytest.approx(0.35 * 0.8 * 2.0)
    assert drive.reversal == pytest.approx(0.35 * 0.8 * 2.0 + 0.2)
    assert drive.flow(0.3) / -drive.flow(1.3) == pytest.approx(0.65 / 0.35)


def test_drives_that_cannot_be_are_refused():
    for wrong in (
        lambda: CrankDrive(0.0, 1e-3),
        lambda: CrankDrive(1.0, -1e-3),
        lambda: CrankDrive(1.0, 1e-3, 1.0),
        lambda: CrankDrive(1.0, 1e-3, 0.2, "top"),
        lambda: AirDrive(1.0, 1e-3, 1.0),
        lambda: AirDrive(1.0, 1e-3, 0.1, 0.0),
    ):
        with pytest.raises(ValueError, match=r"must|head end"):
            wrong()
