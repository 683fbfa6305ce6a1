"""Elastic interaction against statics, Fourier series and an independent minimiser."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import cholesky, circulant, solve_triangular
from scipy.optimize import minimize, nnls

from rebuildbook.calculators.bolt_balance import Balance
from rebuildbook.calculators.flange_elements import bed
from rebuildbook.calculators.flange_model import Bar, Bed, Cover, Gasket, Outline, RingFlange
from rebuildbook.calculators.interaction import (
    ForcePass,
    Joint,
    compare_orders,
    even_pass,
    force_passes,
    interaction_matrix,
    joint,
    tighten,
    tighten_until_even,
)
from rebuildbook.calculators.layout import circle, cross_order, oval, rectangle, row
from rebuildbook.calculators.tightening import tightening_plan

STEEL = 200e9
RING = RingFlange(STEEL, 0.03, 0.14, 0.24, 0.19)
SHEET = Gasket(60e6, 3e-3, 0.05)
EIGHT = joint(RING, SHEET, circle(8, 0.2).positions, 2e8)
BAR = Bar(STEEL, 0.02, 0.4, 0.03)
STRIP = Gasket(60e6, 2e-3, 0.03)
SIX = tuple(range(1, 7))
TURN = tuple(range(1, 9))
CROSS = cross_order(circle(8, 0.2))


def raised(thickness: float = 0.02, count: int = 8) -> Joint:
    """A ring that lifts: the gasket well inside the bolts."""
    ring = RingFlange(STEEL, thickness, 0.14, 0.24, 0.17)
    return joint(ring, Gasket(60e6, 3e-3, 0.02), circle(count, 0.2).positions, 2e8)


# the flexibility


def rigid(points, area, inertia_x, inertia_y, stiffness):
    """A stiff plate on springs: it sinks F/(k A) and tilts by M/(k I) about each axis."""
    x, y = np.asarray(points).T
    return (1 / area + np.outer(x, x) / inertia_y + np.outer(y, y) / inertia_x) / stiffness


def test_a_stiff_cover_sinks_and_tilts_as_a_plane() -> None:
    width, height = 0.3, 0.2
    cover = Cover(1e17, 0.02, Outline("rectangle", width, height))
    points = rectangle(4, 3, 0.26, 0.16).positions
    wanted = rigid(
        points, width * height, width * height**3 / 12, height * width**3 / 12, SHEET.stiffness
    )
    found = bed(cover, Gasket(60e6, 3e-3, 0.2), points, mesh=30).bolts
    assert found == pytest.approx(wanted, abs=4e-3 * wanted.max())


def test_a_stiff_ring_sinks_and_tilts_as_a_plane() -> None:
    outer, inner = 0.24, 0.14
    ring = RingFlange(4e14, 0.03, inner, outer, 0.19)
    points = circle(5, 0.2, 0.3).positions
    area, inertia = math.pi / 4 * (outer**2 - inner**2), math.pi / 64 * (outer**4 - inner**4)
    wanted = rigid(points, area, inertia, inertia, SHEET.stiffness)
    found = bed(ring, SHEET, points, mesh=60).bolts
    assert found == pytest.approx(wanted, abs=4e-3 * wanted.max())


def test_a_stiff_bar_carries_bolts_beside_its_line_too() -> None:
    points = [(-0.15, 0.01), (0.0, -0.01), (0.15, 0.01), (0.1, -0.012)]
    wanted = rigid(points, 0.4 * 0.03, 0.4 * 0.03**3 / 12, 0.03 * 0.4**3 / 12, STRIP.stiffness)
    found = bed(Bar(1e16, 0.02, 0.4, 0.03), STRIP, points).bolts
    assert found == pytest.approx(wanted, abs=2e-3 * wanted.max())


def ring_series(ring: RingFlange, gasket: Gasket, angle: float, offset: float) -> float:
    """Flexibility between two bolts of a ring, harmonic by harmonic.

    With w = W cos nθ and φ = P cos nθ the energies of ring and gasket are quadratic forms in
    (W, P); a unit force at θ = 0 does the work W + e P.
    """
    radius, width, thick = ring.radius, ring.width, ring.thickness
    bending = ring.modulus * width * thick**3 / 12
    long, short = max(width, thick), min(width, thick)
    torsion_constant = (
        long * short**3 / 3 * (1 - 0.63 * short / long * (1 - short**4 / long**4 / 12))
    )
    torsion = ring.modulus / 2.6 * torsion_constant
    middle = ring.gasket_diameter / 2 - radius
    rho = middle + gasket.width * (np.arange(4000) + 0.5) / 4000 - gasket.width / 2
    arm = (radius + rho) * gasket.width / 4000 * gasket.stiffness
    springs = np.array([[arm.sum(), arm @ rho], [arm @ rho, arm @ rho**2]])
    load = np.array([1.0, offset])
    total = 0.0
    for n in range(400):
        share = 2 * math.pi if n == 0 else math.pi
        curve = np.array([-(n**2) / radius**2, 1 / radius])
        twist = np.array([n / radius**2, -n / radius])
        body = radius * (bending * np.outer(curve, curve) + torsion * np.outer(twist, twist))
        total += load @ np.linalg.solve(share * (body + springs), load) * math.cos(n * angle)
    return total


@pytest.mark.parametrize(
    ("ring", "gasket"),
    [
        (RING, SHEET),
        (RingFlange(STEEL, 0.02, 0.14, 0.24, 0.17), Gasket(60e6, 3e-3, 0.02)),
        (RingFlange(70e9, 0.04, 0.17, 0.22, 0.2), Gasket(500e6, 1.5e-3, 0.02)),
    ],
)
def test_a_ring_agrees_with_its_fourier_series(ring: RingFlange, gasket: Gasket) -> None:
    found = bed(ring, gasket, circle(8, 0.2).positions).bolts
    offset = 0.1 - ring.radius
    wanted = [ring_series(ring, gasket, k * math.pi / 4, offset) for k in range(8)]
    assert found[0] == pytest.approx(wanted, abs=4e-3 * max(wanted))
    fine = bed(ring, gasket, circle(8, 0.2).positions, mesh=96).bolts
    assert fine[0] == pytest.approx(wanted, abs=5e-4 * max(wanted))


def test_a_round_plate_with_a_large_opening_is_a_ring() -> None:
    ring = RingFlange(STEEL, 0.02, 0.16, 0.24, 0.2)
    plate = Cover(
        STEEL, 0.02, Outline("ellipse", 0.24, 0.24), opening=Outline("ellipse", 0.16, 0.16)
    )
    gasket, points = Gasket(50e6, 2e-3, 0.04), circle(8, 0.2).positions
    one, other = bed(ring, gasket, points).bolts, bed(plate, gasket, points).bolts
    assert one == pytest.approx(other, abs=0.02 * one.max())


@pytest.mark.parametrize(
    ("flange", "gasket", "points", "coarse", "fine"),
    [
        (RING, SHEET, circle(8, 0.2).positions, 16, 32),
        (RING, SHEET, circle(5, 0.2).positions, 20, 40),
        (BAR, STRIP, row(5, 0.34).positions, 12, 24),
        (
            Cover(STEEL, 0.012, Outline("rectangle", 0.31, 0.21)), STRIP,
            rectangle(4, 3, 0.28, 0.18).positions, 16, 32,
        ),
        (
            Cover(STEEL, 0.012, Outline("ellipse", 0.31, 0.21)), STRIP,
            oval(10, 0.28, 0.18).positions, 20, 32,
        ),
    ],
)  # fmt: skip
def test_a_finer_mesh_changes_the_final_forces_by_less_than_2_percent(
    flange, gasket, points, coarse, fine
) -> None:
    order = tuple(range(1, len(points) + 1))
    passes = [ForcePass(order, 8e3), ForcePass(order, 20e3)]
    ends = [
        tighten(joint(flange, gasket, points, 2e8, mesh=mesh), passes).residual
        for mesh in (coarse, fine)
    ]
    assert ends[0] == pytest.approx(ends[1], abs=0.02)
    own = tighten(joint(flange, gasket, points, 2e8), passes).residual
    assert own == pytest.approx(ends[1], abs=0.02)


def test_an_evenly_drilled_ring_has_a_circulant_flexibility_that_fourier_inverts() -> None:
    flexibility = EIGHT.bed.bolts + np.eye(8) / 2e8
    assert flexibility == pytest.approx(circulant(flexibility[:, 0]), rel=1e-7)
    forces = np.array([20.0, 12, 17, 3, 20, 5, 9, 14]) * 1e3
    advance = flexibility @ forces
    by_series = np.fft.ifft(np.fft.fft(advance) / np.fft.fft(flexibility[:, 0])).real
    assert by_series == pytest.approx(forces, rel=1e-6)
    # one column of the interaction, by the same algebra
    stiffness = np.fft.ifft(1.0 / np.fft.fft(flexibility[:, 0])).real
    assert interaction_matrix(EIGHT)[:, 0] == pytest.approx(stiffness / stiffness[0], abs=1e-7)


@pytest.mark.parametrize("case", ["ring", "bar", "cover"])
def test_the_flexibility_is_that_of_a_stable_body(case: str) -> None:
    made: Bed = {
        "ring": EIGHT.bed,
        "bar": bed(BAR, STRIP, row(4, 0.3).positions),
        "cover": bed(
            Cover(STEEL, 0.01, Outline("ellipse", 0.3, 0.2)), STRIP, oval(8, 0.27, 0.17).positions
        ),
    }[case]
    assert np.linalg.eigvalsh(made.bolts).min() > 0.0
    # no spring glued in place carries more than the force put on it, whatever the mix of forces
    root = np.sqrt(made.stiffness)
    carried = np.linalg.eigvalsh(root[:, None] * made.springs * root)
    assert carried.min() > -1e-9
    assert carried.max() <= 1.0 + 1e-9


def test_unevenly_spaced_bolts_and_two_on_one_radius_are_taken() -> None:
    turns = np.radians([0.0, 359.99999999, 50.0, 140.0, 290.0])
    reach = np.array([0.1, 0.11, 0.1, 0.09, 0.1])
    points = np.stack([reach * np.cos(turns), reach * np.sin(turns)], -1)
    found = bed(RING, SHEET, points.tolist()).bolts
    assert found[0, 0] == pytest.approx(ring_series(RING, SHEET, 0.0, 0.1 - RING.radius), rel=2e-3)
    assert np.linalg.eigvalsh(found).min() > 0.0


# tightening


@pytest.mark.parametrize("order", [(1, 2, 3, 4, 5, 6), (4, 1, 6, 2, 5, 3)])
@pytest.mark.parametrize("case", ["gasket", "all"])
def test_with_nothing_to_give_way_there_is_no_interaction(order, case: str) -> None:
    stiff, modulus = (6e12, STEEL) if case == "gasket" else (6e14, 2e13)
    ring = RingFlange(modulus, 0.03, 0.14, 0.24, 0.19)
    made = joint(ring, Gasket(stiff, 1.0, 0.05), circle(6, 0.2).positions, 2e8)
    history = tighten(made, [ForcePass(order, 20e3)])
    assert history.final == pytest.approx(np.full(6, 20e3), rel=2e-3)
    assert history.spread < 2e-3


def test_interaction_fades_as_the_gasket_hardens() -> None:
    spreads = [
        tighten(
            joint(RING, Gasket(modulus, 1e-3, 0.05), circle(8, 0.2).positions, 2e8),
            [ForcePass(TURN, 20e3)],
        ).spread
        for modulus in (1e7, 1e8, 1e9, 6e9)
    ]
    assert spreads == sorted(spreads, reverse=True)
    assert spreads[-1] < 0.01 < spreads[0]


def test_one_bolt_ends_exactly_on_its_target() -> None:
    one = joint(Bar(STEEL, 0.03, 0.1, 0.03), STRIP, [(0.0, 0.0)], 2e8)
    history = tighten(one, [ForcePass((1,), 5e3), ForcePass((1,), 20e3)])
    assert history.forces.tolist() == [[5e3], [20e3]]
    assert history.spread == 0.0
    assert history.lifted.max() == 0.0
    # the nut has taken up the bolt's stretch and the flange's way down
    assert history.advance[0] == pytest.approx(20e3 / 2e8 + 20e3 * one.bed.bolts[0, 0])


def test_two_bolts_unload_each_other_as_the_closed_form_says() -> None:
    """Stiff cover, all gasket closed: ΔF₁ = −C₁₂/(C₁₁ + 1/k) ΔF₂ while nut 1 stays."""
    side, inner = 0.2, 0.02
    points = [(-inner, 0.0), (inner, 0.0)]
    cover = Cover(1e17, 0.02, Outline("rectangle", side, side))
    gasket = Gasket(60e6, 3e-3, side)
    made = tighten(joint(cover, gasket, points, 2e8), [ForcePass((1, 2), 10e3)])
    low = rigid(points, side**2, side**4 / 12, side**4 / 12, gasket.stiffness)
    # nut 2 is loose while bolt 1 presses the cover down, until the cover and it meet
    assert made.forces[0].tolist() == [10e3, 0.0]
    rest = 10e3 - low[0, 1] / (low[0, 0] + 1 / 2e8) * 10e3
    assert made.forces[1] == pytest.approx([rest, 10e3], rel=2e-3)


def stiff_cover_forces(springs, points, stiffness, advance, bolt, force):
    """Forces on a rigid plate on springs that only press, by minimising its energy.

    ``bolt`` is pulled with ``force``, the rest hang on their nuts.
    """
    x, y, k = springs
    plane = np.stack([np.ones_like(x), x, y], -1)
    at = np.stack([np.ones(len(points)), *np.asarray(points).T], -1)
    others = np.arange(len(points)) != bolt

    def energy(q):
        down = np.maximum(plane @ (q * 1e-4), 0.0)
        stretch = np.maximum(advance - at @ (q * 1e-4), 0.0) * others
        work = k @ down**2 / 2 + stiffness * stretch @ stretch / 2 - force * at[bolt] @ (q * 1e-4)
        slope = plane.T @ (k * down) - at.T @ (stiffness * stretch) - force * at[bolt]
        return work, slope * 1e-4

    q = minimize(energy, [1.0, 0.0, 0.0], jac=True, method="BFGS", options={"gtol": 1e-9}).x * 1e-4
    found = stiffness * np.maximum(advance - at @ q, 0.0)
    found[bolt] = force
    return found, at @ q


def test_a_tilting_stiff_cover_agrees_with_an_independent_minimiser() -> None:
    """First bolts lift half the gasket and loosen nuts; every step is checked."""
    width, height, count = 0.24, 0.18, 24
    gasket = Gasket(60e6, 3e-3, width)
    points = rectangle(3, 2, 0.2, 0.14).positions
    made = joint(
        Cover(1e16, 0.02, Outline("rectangle", width, height)), gasket, points, 2e8, mesh=count
    )
    history = tighten(made, [ForcePass((1, 5, 3, 6, 2, 4), 10e3), ForcePass(SIX, 15e3)])
    assert history.lifted[0] > 0.2
    x = width * ((np.arange(count) + 0.5) / count - 0.5)
    y = height * ((np.arange(18) + 0.5) / 18 - 0.5)
    x, y = (part.ravel() for part in np.meshgrid(x, y))
    k = np.full(len(x), gasket.stiffness * width * height / len(x))
    advance = np.zeros(6)
    for number, forces, turned in zip(history.numbers, history.forces, history.turned, strict=True):
        if not turned:
            continue
        bolt = number - 1
        wanted, down = stiff_cover_forces((x, y, k), points, 2e8, advance, bolt, forces[bolt])
        advance[bolt] = down[bolt] + forces[bolt] / 2e8
        assert forces == pytest.approx(wanted, abs=0.005 * 15e3)


def test_a_bending_flange_that_lifts_agrees_with_least_squares() -> None:
    """The pull λ to be taken from the glued gasket is a least-squares problem with λ ≥ 0."""
    made = raised()
    history = tighten(made, [ForcePass(CROSS, 6e3), ForcePass(CROSS, 20e3)])
    glued = made.bed
    factor = cholesky(np.diag(1.0 / glued.stiffness) - glued.springs, lower=True)
    assert history.lifted[0] > 0.1
    for forces, closing, lifted in zip(
        history.forces, history.closing, history.lifted, strict=True
    ):
        aim = solve_triangular(factor, -glued.across @ forces, lower=True)
        pull = nnls(factor.T, aim)[0]
        assert closing == pytest.approx(
            glued.bolts @ forces - glued.across.T @ pull, abs=1e-5 * closing.max()
        )
        share = glued.stiffness[pull > 1e-6 * pull.max(initial=1e-9)].sum()
        assert lifted == pytest.approx(share / glued.stiffness.sum(), abs=0.01)


@pytest.mark.parametrize("case", ["ring", "bar", "cover"])
def test_the_gasket_answers_the_bolts_in_force_and_moment(case: str) -> None:
    """Springs that bear carry what the bolts pull: the pulls λ found again by least squares."""
    points = rectangle(3, 2, 0.26, 0.12).positions if case == "cover" else row(5, 0.34).positions
    made = {
        "ring": raised,
        "bar": lambda: joint(BAR, STRIP, points, 2e8),
        "cover": lambda: joint(
            Cover(STEEL, 0.01, Outline("rectangle", 0.3, 0.16), Outline("rectangle", 0.22, 0.1)),
            STRIP, points, 2e8,
        ),
    }[case]()  # fmt: skip
    glued = made.bed
    forces = tighten(made, [ForcePass(tuple(range(1, made.count + 1)), 10e3)]).forces[1]
    factor = cholesky(np.diag((1.0 + 1e-9) / glued.stiffness) - glued.springs, lower=True)
    pull = nnls(factor.T, solve_triangular(factor, -glued.across @ forces, lower=True))[0]
    borne = glued.stiffness * (glued.across @ forces - glued.springs @ pull) + pull
    assert borne.min() > -1e-4 * borne.max()
    assert pull.max() > 0.0
    assert borne.sum() == pytest.approx(forces.sum(), rel=1e-4)
    assert borne @ glued.spring_places == pytest.approx(
        forces @ glued.bolt_places, abs=1e-4 * forces.sum() * 0.1
    )


def test_nuts_stay_where_their_own_turn_left_them() -> None:
    history = tighten(raised(), [ForcePass(CROSS, 6e3), ForcePass(TURN, 20e3)])
    nuts = np.zeros(8)
    for number, turned, forces, closing in zip(
        history.numbers, history.turned, history.forces, history.closing, strict=True
    ):
        if turned:
            nuts[number - 1] = closing[number - 1] + forces[number - 1] / 2e8
        assert forces == pytest.approx(2e8 * np.maximum(nuts - closing, 0.0), abs=1e-3)
    assert history.advance == pytest.approx(nuts)


def test_a_later_bolt_unloads_neighbours_and_loads_those_opposite() -> None:
    thick = joint(RingFlange(STEEL, 0.04, 0.14, 0.24, 0.19), SHEET, circle(8, 0.2).positions, 2e8)
    first = even_pass(thick, TURN, 15e3).history
    after = tighten(thick, [ForcePass(TURN, 20e3)], after=first)
    change = after.forces[8] - after.forces[7]
    assert after.numbers[8] == 1
    assert change[1] < 0.0
    assert change[7] < 0.0
    assert min(change[3], change[4], change[5]) > 0.0
    # while all is closed the change is the interaction's column
    assert change == pytest.approx(interaction_matrix(thick)[:, 0] * change[0], abs=1e-3)


def test_a_wrench_only_turns_on() -> None:
    high = tighten(EIGHT, [ForcePass(TURN, 20e3)])
    low = tighten(EIGHT, [ForcePass(TURN, 5e3)], after=high)
    assert not any(low.turned[8:])
    assert low.final.tolist() == high.final.tolist()
    assert low.passes[-1] == 2
    assert len(low.numbers) == 16
    assert low.residual == pytest.approx(high.final / 5e3)


def test_more_passes_leave_less_spread() -> None:
    for order in (CROSS, TURN):
        one = tighten(EIGHT, [ForcePass(order, 20e3)])
        three = tighten(EIGHT, [ForcePass(order, force) for force in (6e3, 12e3, 20e3)])
        four = tighten(EIGHT, [ForcePass(order, force) for force in (6e3, 12e3, 20e3, 20e3)])
        assert one.spread > three.spread > four.spread
        assert one.variation > three.variation > four.variation


def test_rounds_go_on_until_all_are_within_the_share() -> None:
    passes = [ForcePass(CROSS, 6e3), ForcePass(CROSS, 20e3)]
    done = tighten_until_even(EIGHT, passes, share=0.05)
    assert done.even
    assert done.rounds >= 1
    assert np.abs(done.history.residual - 1.0).max() <= 0.05
    short = 16 + 8 * (done.rounds - 1)
    assert np.abs(done.history.forces[short - 1] / 20e3 - 1.0).max() > 0.05
    assert done.history.passes[-1] == 2 + done.rounds
    cut = tighten_until_even(EIGHT, passes, share=0.05, most=done.rounds - 1)
    assert not cut.even
    assert cut.rounds == done.rounds - 1


def test_rounds_stop_when_no_nut_moves_and_say_so() -> None:
    """Four on a flexible ring: the pair tightened first gains too much, and stays so."""
    four = joint(
        RingFlange(STEEL, 0.02, 0.09, 0.19, 0.115), Gasket(60e6, 3e-3, 0.02),
        circle(4, 0.15).positions, 3e8,
    )  # fmt: skip
    done = tighten_until_even(four, [ForcePass((1, 3, 2, 4), force) for force in (6e3, 2e4)])
    assert not done.even
    assert done.rounds < 20
    assert not any(done.history.turned[-4:])
    assert done.history.residual.min() >= 1.0 - 1e-8
    assert done.history.residual.max() > 1.1


def test_orders_are_compared_by_name() -> None:
    found = compare_orders(EIGHT, {"cross": CROSS, "round": TURN}, (6e3, 12e3, 20e3), share=0.05)
    assert list(found) == ["cross", "round"]
    for name, order in (("cross", CROSS), ("round", TURN)):
        history = found[name].history
        alone = tighten(EIGHT, [ForcePass(order, force) for force in (6e3, 12e3, 20e3)])
        assert history.forces[:24].tolist() == alone.forces.tolist()
    assert found["cross"].history.numbers[:8] == CROSS


def test_a_crossing_order_keeps_a_flange_of_many_bolts_level() -> None:
    sixteen = raised(0.02, 16)
    layout = circle(16, 0.2)
    cross = tighten(sixteen, [ForcePass(cross_order(layout), 20e3)])
    turn = tighten(sixteen, [ForcePass(layout.rotation, 20e3)])
    assert cross.skew < 0.9 * turn.skew
    assert cross.skew == max(np.ptp(line) for line in cross.closing)


def test_a_plan_becomes_passes_of_force() -> None:
    plan = tightening_plan(
        circle(8, 0.2), "cross", (0.3, 0.6, 1.0), setting=50.0, step=1.0, wrench_low=5.0,
        window_low=45.0, window_high=55.0,
    )  # fmt: skip
    made = force_passes(plan.passes, 20e3)
    assert [one.force for one in made] == pytest.approx([6e3, 12e3, 20e3, 20e3])
    assert [one.order for one in made] == [CROSS, CROSS, CROSS, TURN]


# one even pass


@pytest.mark.parametrize("order", [CROSS, TURN])
@pytest.mark.parametrize("made", [EIGHT, raised()], ids=["full face", "lifting"])
def test_an_even_pass_ends_even_and_can_be_followed_with_a_wrench(made: Joint, order) -> None:
    plan = even_pass(made, order, 20e3)
    assert plan.history.final == pytest.approx(np.full(8, 20e3), rel=1e-6)
    assert not plan.limited
    assert not plan.too_far
    assert plan.forces[order[-1] - 1] == pytest.approx(20e3, rel=1e-6)
    again = tighten(made, [ForcePass(tuple(order), tuple(plan.forces))])
    assert again.final == pytest.approx(plan.history.final)


def test_an_even_pass_is_the_solution_of_the_linear_interaction() -> None:
    """From a closed joint: final = start + E Δ with the interaction's columns E."""
    start = tighten(EIGHT, [ForcePass(TURN, 4e3)], after=even_pass(EIGHT, TURN, 16e3).history)
    plan = even_pass(EIGHT, CROSS, 20e3, after=start)
    change = interaction_matrix(EIGHT)
    rise = np.linalg.solve(change, 20e3 - start.final)
    forces, shown = start.final.copy(), np.zeros(8)
    for number in CROSS:
        forces += change[:, number - 1] * rise[number - 1]
        shown[number - 1] = forces[number - 1]
    assert plan.forces == pytest.approx(shown, rel=1e-6)
    assert plan.history.final == pytest.approx(np.full(8, 20e3), rel=1e-6)
    assert plan.history.lifted[8:].max() == 0.0
    assert plan.history.forces[8:].min() > 0.0
    # coming from most of the force it has less to make up than from snug
    assert plan.forces.max() < even_pass(EIGHT, CROSS, 20e3).forces.max()


def test_unlike_targets_and_bolts_are_met_too() -> None:
    stiffness = [2e8, 3e8, 2e8, 1e8, 2e8, 2e8, 2.5e8, 2e8]
    target = [20e3, 22e3, 18e3, 20e3, 21e3, 20e3, 20e3, 19e3]
    made = joint(RING, SHEET, circle(8, 0.2).positions, stiffness)
    plan = even_pass(made, CROSS, target)
    assert plan.history.final == pytest.approx(target, rel=1e-6)
    assert plan.history.within(1e-6)


def test_a_force_limit_is_kept_and_told() -> None:
    free = even_pass(EIGHT, CROSS, 20e3)
    bound = 0.5 * (20e3 + free.forces.max())
    plan = even_pass(EIGHT, CROSS, 20e3, limit=bound)
    assert plan.limited
    assert plan.forces.max() <= bound * (1 + 1e-12)
    assert all(plan.forces[number - 1] == bound for number in plan.limited)
    assert plan.history.spread > free.history.spread + 0.01
    assert not even_pass(EIGHT, CROSS, 20e3, limit=free.forces.max()).limited


def test_a_nut_already_too_far_on_is_told() -> None:
    high = tighten(EIGHT, [ForcePass((3, 1, 2, 4, 5, 6, 7, 8), (1e3, 1e3, 6e4, *(1e3,) * 5))])
    plan = even_pass(EIGHT, TURN, 20e3, after=high)
    assert plan.too_far == (3,)
    assert not plan.history.within(0.01)


# laws


@settings(max_examples=20)
@given(shift=st.integers(1, 7), order=st.permutations(TURN))
def test_turning_the_ring_turns_the_answer(shift: int, order) -> None:
    turned = tuple((number - 1 + shift) % 8 + 1 for number in order)
    one = tighten(EIGHT, [ForcePass(tuple(order), 6e3), ForcePass(tuple(order), 20e3)])
    other = tighten(EIGHT, [ForcePass(turned, 6e3), ForcePass(turned, 20e3)])
    assert np.roll(one.forces, shift, axis=1) == pytest.approx(other.forces, abs=1.0)


@settings(max_examples=15)
@given(names=st.permutations(range(6)))
def test_renaming_the_bolts_renames_the_answer(names) -> None:
    points = rectangle(3, 2, 0.2, 0.14).positions
    cover = Cover(STEEL, 0.015, Outline("rectangle", 0.24, 0.18))
    stiffness = [2e8, 1e8, 2e8, 3e8, 2e8, 2e8]
    order = (1, 4, 2, 5, 3, 6)
    one = tighten(joint(cover, STRIP, points, stiffness), [ForcePass(order, 9e3)])
    renamed = joint(cover, STRIP, [points[k] for k in names], [stiffness[k] for k in names])
    new = tuple(names.index(number - 1) + 1 for number in order)
    other = tighten(renamed, [ForcePass(new, 9e3)])
    assert one.forces[:, names] == pytest.approx(other.forces, abs=0.1)


@settings(max_examples=20)
@given(scale=st.floats(0.01, 100.0), order=st.permutations(TURN))
def test_forces_scale_together(scale: float, order) -> None:
    made = raised()
    passes = [ForcePass(tuple(order), force) for force in (6e3, 20e3)]
    larger = [ForcePass(one.order, scale * one.force) for one in passes]
    one, other = tighten(made, passes), tighten(made, larger)
    assert scale * one.forces == pytest.approx(other.forces, abs=1e-4 * scale * 20e3)
    assert one.spread == pytest.approx(other.spread, abs=1e-3)


@settings(max_examples=25)
@given(
    order=st.permutations(SIX), thickness=st.floats(0.008, 0.06),
    modulus=st.floats(5e6, 5e9), inner=st.floats(0.155, 0.205), bolt=st.floats(5e7, 1e9),
)  # fmt: skip
def test_whatever_the_joint_no_bolt_pushes_and_the_last_is_on_target(
    order, thickness, modulus, inner, bolt
) -> None:
    ring = RingFlange(STEEL, thickness, 0.14, 0.24, inner)
    made = joint(ring, Gasket(modulus, 2e-3, 0.015), circle(6, 0.2, 0.1).positions, bolt)
    history = tighten(made, [ForcePass(tuple(order), 5e3), ForcePass(tuple(order), 20e3)])
    assert history.forces.min() >= 0.0
    for step, (number, turned) in enumerate(zip(history.numbers, history.turned, strict=True)):
        wanted = 5e3 if step < 6 else 20e3
        shown = history.forces[step, number - 1]
        assert shown == pytest.approx(wanted) if turned else shown >= wanted * (1 - 1e-8)
    assert np.all((history.lifted >= 0.0) & (history.lifted < 1.0))


def test_the_balance_does_not_depend_on_where_it_starts() -> None:
    made = raised()
    history = tighten(made, [ForcePass(CROSS, 6e3), ForcePass(TURN, 20e3)])
    free = np.zeros(8, dtype=bool)
    fresh, _ = Balance(made.bed, made.bolt_stiffness).settle(history.advance, free, np.zeros(8))
    assert fresh == pytest.approx(history.final, rel=1e-6)


def test_a_large_joint_with_thirty_six_bolts_settles() -> None:
    layout = circle(36, 0.5)
    ring = RingFlange(STEEL, 0.03, 0.42, 0.56, 0.45)
    made = joint(ring, Gasket(200e6, 2e-3, 0.02), layout.positions, 3e8)
    done = tighten_until_even(made, [ForcePass(cross_order(layout), f) for f in (1e4, 2e4, 3e4)])
    assert done.even


# what cannot be


def test_what_cannot_be_is_refused() -> None:
    points = circle(4, 0.2).positions
    cover = Cover(STEEL, 0.01, Outline("rectangle", 0.3, 0.2))
    hole = Outline("ellipse", 0.15, 0.1)
    tries = {
        "misses the ring": lambda: bed(RING, SHEET, circle(4, 0.3).positions),
        "reaches beyond the ring": lambda: bed(RING, Gasket(1e8, 1e-3, 0.06), points),
        "misses the bar": lambda: bed(BAR, STRIP, [(0.25, 0.0)]),
        "wider than the bar": lambda: bed(BAR, SHEET, [(0.0, 0.0)]),
        "misses the cover": lambda: bed(cover, STRIP, [(0.16, 0.0)]),
        "must lie on the plate": lambda: bed(
            Cover(STEEL, 0.01, cover.outline, opening=hole), STRIP, [(0.0, 0.0)]
        ),
        "overhangs": lambda: bed(
            Cover(STEEL, 0.01, cover.outline, opening=hole), Gasket(1e8, 1e-3, 0.06), points
        ),
        "beyond the cover's outline": lambda: Cover(STEEL, 0.01, hole, cover.outline),
        "stiffer than the flange": lambda: bed(RING, Gasket(200e9, 1e-4, 0.05), points),
        "of 8 bolts": lambda: tighten(
            joint(RING, SHEET, points, 2e8),
            [ForcePass((1, 2, 3, 4), 1e3)],
            after=tighten(EIGHT, [ForcePass(TURN, 1e3)]),
        ),
        "no positions": lambda: bed(RING, SHEET, []),
        "at least 4": lambda: bed(RING, SHEET, points, mesh=2),
        "gasket modulus is 0": lambda: Gasket(0.0, 1e-3, 0.01),
        "outer diameter must be the larger": lambda: RingFlange(STEEL, 0.02, 0.2, 0.1, 0.15),
        "gasket diameter is 0.3": lambda: RingFlange(STEEL, 0.02, 0.1, 0.2, 0.3),
        "Poisson": lambda: Bar(STEEL, 0.01, 0.3, 0.03, poisson=0.7),
        "not known": lambda: Outline("circle", 0.1, 0.1),
        "bolt stiffness is -1": lambda: joint(RING, SHEET, points, -1.0),
        "3 bolt stiffnesses are given for 4": lambda: joint(RING, SHEET, points, [1e8] * 3),
        "no passes": lambda: tighten(EIGHT, []),
        "does not name each": lambda: tighten(EIGHT, [ForcePass((1, 2), 1e3)]),
        "force is 0": lambda: tighten(EIGHT, [ForcePass(TURN, 0.0)]),
        "2 forces are given for 8": lambda: tighten(EIGHT, [ForcePass(TURN, (1e3, 2e3))]),
        "share": lambda: tighten_until_even(EIGHT, [ForcePass(TURN, 1e3)], share=2.0),
        "limit is 0": lambda: even_pass(EIGHT, TURN, 1e3, limit=0.0),
        "target is -5": lambda: even_pass(EIGHT, TURN, -5.0),
    }
    for words, attempt in tries.items():
        with pytest.raises(ValueError, match=words):
            attempt()


def test_bolts_that_pull_beside_the_gasket_tip_the_flange() -> None:
    alone = joint(RING, SHEET, [(0.1, 0.0)], 2e8)
    inside = tighten(alone, [ForcePass((1,), 1e3)])  # over the gasket: it tilts but stands
    assert inside.lifted[0] > 0.3
    outside = joint(
        RingFlange(STEEL, 0.03, 0.14, 0.24, 0.16), Gasket(60e6, 3e-3, 0.02), [(0.1, 0.0)], 2e8
    )
    with pytest.raises(ValueError, match="tips"):
        tighten(outside, [ForcePass((1,), 1e3)])


def test_outlines_hold_each_other() -> None:
    shapes = [Outline(shape, *size) for shape in ("rectangle", "ellipse")
              for size in ((0.3, 0.2), (0.2, 0.1), (0.1, 0.3))]  # fmt: skip
    turn = np.linspace(0.0, 2.0 * math.pi, 721)
    for outer, inner in itertools.product(shapes, shapes):
        x, y = np.cos(turn), np.sin(turn)
        if inner.shape == "rectangle":
            x, y = (
                part / np.maximum(np.abs(np.cos(turn)), np.abs(np.sin(turn))) for part in (x, y)
            )
        edge = (x * inner.width / 2, y * inner.height / 2)
        assert outer.holds(inner) == bool(np.all(outer.contains(*edge)))
    assert Outline("rectangle", 0.3, 0.2).inset(0.1) is None
    assert Outline("ellipse", 0.3, 0.25).inset(0.0625) == Outline("ellipse", 0.175, 0.125)
