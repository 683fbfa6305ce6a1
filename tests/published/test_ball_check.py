"""Ball checks against textbooks, against the `fluids` library and against sums done another way."""

import math

import fluids.drag
import numpy as np
import pytest
from scipy.integrate import quad

from rebuildbook.calculators.ball_check import (
    ball_mass,
    side_ratio,
    submerged_weight,
)
from rebuildbook.calculators.ball_lift import lift_area
from rebuildbook.calculators.ball_seat import (
    ConeSeat,
    LappedSeat,
    SharpSeat,
    seat_contact,
    seat_pressure,
)
from rebuildbook.calculators.spring import active_coils, solid_length, spring_force, spring_rate

MODULUS = 1.1e11


def test_spring_of_shigley_problem_10_3():
    """Shigley's Mechanical Engineering Design, problem 10-3, read in a public copy of its answers.

    Music wire of 2.5 mm, 31 mm outside, plain ground ends, 14 coils: 13 work, 1.314 N/mm, 35 mm
    solid, 167.9 N from 162.8 mm free to solid.
    """
    coils = active_coils(14, "plain and ground")
    assert coils == 13
    rate = spring_rate("81 GPa", "2.5 mm", "28.5 mm", coils)
    assert rate.to("N/mm").magnitude == pytest.approx(1.314, abs=5e-4)
    solid = solid_length("2.5 mm", 14)
    assert solid.to("mm").magnitude == pytest.approx(35.0)
    assert spring_force(rate, "162.8 mm", solid).to("N").magnitude == pytest.approx(167.9, abs=0.1)


@pytest.mark.parametrize(("fluid", "viscosity"), [(998.0, 1e-3), (1650.0, 0.12)])
def test_weight_balances_the_drag_at_terminal_velocity(fluid, viscosity):
    """`fluids` 1.x, v_terminal and drag_sphere: a ball sinks as fast as its weight drags."""
    ball, density = 0.012, 8000.0
    speed = fluids.drag.v_terminal(D=ball, rhop=density, rho=fluid, mu=viscosity)
    reynolds = fluid * speed * ball / viscosity
    drag = fluids.drag.drag_sphere(reynolds) * fluid * speed**2 / 2 * math.pi / 4 * ball**2
    mass = ball_mass.si(ball, density, 0.0)
    assert submerged_weight.si(mass, ball, fluid) == pytest.approx(drag, rel=1e-3)


@pytest.mark.parametrize("lift", [0.0005, 0.002, 0.004])
def test_throat_of_a_ball_over_a_sharp_edge(lift):
    """Hydraulics textbooks, from memory: A = π ds h (h0 + h/2)/((ds/2)² + (h0 + h)²)^½."""
    ball, bore = 0.025, 0.020
    rest = math.sqrt(ball**2 - bore**2) / 2
    book = math.pi * bore * lift * (rest + lift / 2) / math.hypot(bore / 2, rest + lift)
    assert lift_area(ball, SharpSeat(bore, 1e-9), lift) == pytest.approx(book, rel=1e-5)


@pytest.mark.parametrize("included", [60.0, 90.0, 120.0])
@pytest.mark.parametrize("lift", [0.0005, 0.002, 0.004])
def test_throat_of_a_ball_over_a_cone(included, lift):
    """Hydraulics textbooks, from memory: A = π h sin α cos α (D + h sin α)."""
    ball, half = 0.025, math.radians(included / 2)
    book = math.pi * lift * math.sin(half) * math.cos(half) * (ball + lift * math.sin(half))
    seat = ConeSeat(0.005, 0.050, 2 * half)
    assert lift_area(ball, seat, lift) == pytest.approx(book, rel=1e-9)


@pytest.mark.parametrize("included", [60.0, 90.0, 120.0])
def test_contact_pressure_on_a_cone_balances_the_axial_force(included):
    """Sum of the Hertz pressure's axial share over the spherical band, by quadrature."""
    ball, force = 0.025, 2000.0
    contact = seat_contact(ball, ConeSeat(0.008, 0.0245, math.radians(included)))
    found = seat_pressure(contact, force, MODULUS)
    radius, half = ball / 2, found.width / 2

    def axial(arc):
        angle = contact.angle + arc / radius
        pressure = found.peak * math.sqrt(max(1 - (arc / half) ** 2, 0.0))
        return pressure * math.cos(angle) * 2 * math.pi * radius * math.sin(angle)

    assert quad(axial, -half, half)[0] == pytest.approx(force, rel=1e-3)


def test_wedge_of_a_lapped_land_against_the_half_plane():
    """Johnson, Contact Mechanics, section 2.7: pressure and slope of a half-plane's surface.

    The pressure ½ E* β ((l − s)/s)^½ over 0 < s < l holds the slope β everywhere on l and adds up
    to the line load π E* β l/4, which is where l comes from.
    """
    ball = 0.025
    contact = seat_contact(ball, LappedSeat(0.016, 0.019, 0.01251))
    found = seat_pressure(contact, 200.0, MODULUS)
    slope, reach = contact.gap_slope, found.width
    assert reach < contact.face

    def pressure(s):
        return 0.5 * MODULUS * slope * math.sqrt((reach - s) / s)

    def outside(s, x):
        return pressure(s) / (x - s)

    # s = reach sin² u takes the root out of the end of the range
    total = quad(lambda u: MODULUS * slope * reach * math.cos(u) ** 2, 0.0, math.pi / 2)[0]
    assert total == pytest.approx(found.line_load, rel=1e-9)
    for x in (0.3 * reach, 0.8 * reach):
        near, far = 0.5 * x, 0.5 * (x + reach)
        principal = -quad(pressure, near, far, weight="cauchy", wvar=x)[0]
        principal += quad(outside, 0.0, near, args=(x,), limit=500)[0]
        principal += quad(outside, far, reach, args=(x,))[0]
        assert 2 / (math.pi * MODULUS) * principal == pytest.approx(slope, rel=1e-5)


@pytest.mark.parametrize("angle", [0.5, 0.9, 1.2])
def test_uneven_line_load_balances_weight_across_and_along(angle):
    """Sum of q (1 + k cos φ) round the circle, by the trapezium rule (exact for one period)."""
    circle, along, across = 0.018, 4.0, 1.3
    k = side_ratio.si(across, along, angle)
    phi = np.linspace(0.0, 2 * math.pi, 361)[:-1]
    load = along / (math.pi * circle * math.cos(angle)) * (1 + k * np.cos(phi))
    step = circle / 2 * 2 * math.pi / 360
    assert (load * math.cos(angle)).sum() * step == pytest.approx(along)
    assert (load * math.sin(angle) * np.cos(phi)).sum() * step == pytest.approx(across)
