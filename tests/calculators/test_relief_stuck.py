"""A relief valve stuck shut: closed forms of the rise, the ranking and its edges."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.drive import (
    ATMOSPHERE,
    NOT_LIMITED,
    Stall,
    stall_by_ratio,
    stall_by_torque,
)
from rebuildbook.calculators.relief_stuck import (
    ClosedSection,
    PartStrength,
    rank_parts,
    rise_per_stroke,
    stuck_rise,
)

BAR = 1e5
BODY = PartStrength("body", 16 * BAR, 24 * BAR, 64 * BAR)
HOSE = PartStrength("hose", 25 * BAR, 50 * BAR, 100 * BAR)
HEAD = PartStrength("head", 20 * BAR)
PARTS = [HOSE, HEAD, BODY]
LINE = ClosedSection(2e-3, 2e9, hose_compliance=4e-12)

sections = st.builds(
    ClosedSection,
    st.floats(1e-4, 1e-1),
    st.floats(5e8, 3e9),
    st.floats(0.0, 1e-11),
    st.floats(0.0, 1e-9),
    st.floats(0.0, 1e-3),
    st.floats(0.0, 20 * BAR),
    st.floats(1.0, 1.4),
)
pressures = st.floats(0.0, 300 * BAR)


@given(sections, pressures, pressures)
def test_pressing_in_and_back(section, one, other):
    start, end = sorted((one, other))
    pressed = float(section.volume_to(end, start))
    assert section.pressure_after(pressed, start) == pytest.approx(end, rel=1e-6, abs=1.0)


@given(sections, st.floats(1e-7, 1e-4), st.floats(1.01, 3.0))
def test_a_stiffer_section_rises_faster(section, pressed, more):
    stiff = ClosedSection(
        section.volume, section.bulk_modulus * more, section.hose_compliance,
        section.shell_compliance, section.gas, section.gas_pressure, section.gas_exponent,
    )  # fmt: skip
    assert stiff.pressure_after(pressed) > section.pressure_after(pressed)


@given(sections, st.floats(1e-7, 1e-4))
def test_gas_never_hastens_the_rise(section, pressed):
    without = pressed / section.compliance
    assert section.pressure_after(pressed) <= without * (1 + 1e-9)


def test_compliances_add():
    rise = rise_per_stroke.si(1e-6, 2e-3, 2e9, 4e-12, 1e-10)
    assert rise == pytest.approx(1e-6 / (2e-3 / 2e9 + 2e-3 * 1e-10 + 4e-12))
    section = ClosedSection(2e-3, 2e9, 4e-12, 1e-10)
    assert section.pressure_after(1e-6) == pytest.approx(rise)


def test_air_halves_at_one_atmosphere_above():
    """Boyle and Mariotte: at twice the absolute pressure half the volume is left."""
    airy = ClosedSection(1e-3, 2e9, gas=1e-4)
    liquid = 1e-3 * ATMOSPHERE / 2e9
    assert airy.pressure_after(5e-5 + liquid) == pytest.approx(ATMOSPHERE, rel=1e-6)


def test_a_damper_gives_nothing_below_its_charge():
    damped = ClosedSection(1e-3, 2e9, gas=2e-4, gas_pressure=10 * BAR)
    plain = ClosedSection(1e-3, 2e9)
    assert float(damped.volume_to(10 * BAR)) == pytest.approx(float(plain.volume_to(10 * BAR)))
    assert float(damped.volume_to(20 * BAR)) > 5 * float(plain.volume_to(20 * BAR))


def test_air_drive_ends_at_its_stall():
    rise = stuck_rise(stall_by_ratio(6 * BAR, 5.0, 0.1), LINE, 1e-6, 0.5, PARTS)
    assert rise.ends_by == "the drive stalls"
    assert rise.reached == pytest.approx(6 * BAR * 5 * 0.9)
    assert [(r.part.name, r.worst) for r in rise.ranking] == [
        ("body", "test"), ("head", "limit"), ("hose", "limit"),
    ]  # fmt: skip
    assert rise.weakest.margin == pytest.approx(16 * BAR - 27 * BAR)
    assert rise.weakest.share == pytest.approx(27 / 16)
    first = rise.first("limit")
    # 5 mL a MPa: 8 mL to 16 bar, 1 mL a stroke, a stroke in 2 s
    assert first.name == "body"
    assert (first.strokes, first.seconds) == pytest.approx((8.0, 16.0))
    assert not rise.first("burst").reached


def test_motor_pump_ends_where_a_part_gives_way():
    rise = stuck_rise(NOT_LIMITED, LINE, 3e-5, 6.0, PARTS)
    assert (rise.ends_by, rise.reached) == ("a part gives way", 64 * BAR)
    assert rise.weakest.worst == "burst"
    burst = rise.first("burst")
    assert burst.strokes == pytest.approx(6.4e6 * 5e-12 / 3e-5)
    assert burst.seconds == pytest.approx(burst.strokes / 6.0)


def test_crank_drive_that_stalls_first():
    stall = stall_by_torque(50.0, 1e-4, 0.9)
    rise = stuck_rise(stall, LINE, 1e-4, 5.0, PARTS)
    assert rise.reached == pytest.approx(2 * math.pi * 50.0 * 0.9 / 1e-4)
    assert rise.ends_by == "the drive stalls"


def test_nothing_known_ends_it():
    rise = stuck_rise(NOT_LIMITED, LINE, 1e-6, 1.0, [HEAD])
    assert (rise.ends_by, rise.reached) == ("not known", math.inf)
    assert rise.ranking[0].margin == -math.inf
    assert rise.first("limit").reached
    assert rise.first("burst") is None
    assert stuck_rise(NOT_LIMITED, LINE, 1e-6, 1.0, []).weakest is None


def test_start_above_a_limit_needs_no_stroke():
    rise = stuck_rise(Stall(30 * BAR, "any"), LINE, 1e-6, 1.0, PARTS, start=18 * BAR)
    assert rise.first("limit").strokes == 0.0
    after = rise.milestones[[m.pressure for m in rise.milestones].index(20 * BAR)]
    assert after.strokes == pytest.approx(2.0 * BAR * 5e-12 / 1e-6)


def test_start_above_the_stall_stays_there():
    rise = stuck_rise(Stall(10 * BAR, "any"), LINE, 1e-6, 1.0, PARTS, start=18 * BAR)
    assert rise.reached == 18 * BAR
    assert rise.first("limit").strokes == 0.0
    assert not rise.first("test").reached
    assert np.all(rise.pressures([0.0, 5.0]) == 18 * BAR)


@given(st.lists(st.floats(1 * BAR, 100 * BAR), min_size=1, max_size=8), st.floats(0.0, 120 * BAR))
def test_ranking_rises_and_margins_tell(limits, reached):
    ranked = rank_parts([PartStrength(f"p{k}", p) for k, p in enumerate(limits)], reached)
    found = [r.part.max_working_pressure for r in ranked]
    assert found == sorted(limits)
    for one in ranked:
        assert one.margin == one.part.max_working_pressure - reached
        assert (one.worst is not None) == (reached > one.part.max_working_pressure * (1 + 1e-9))


def test_just_at_a_limit_is_within_it_but_a_burst_pressure_is_a_burst():
    assert rank_parts([BODY], 16 * BAR)[0].worst is None
    assert rank_parts([BODY], 24 * BAR)[0].worst == "limit"
    assert rank_parts([BODY], 64 * BAR)[0].worst == "burst"


@given(st.floats(1 * BAR, 60 * BAR), st.floats(1e-7, 1e-5))
def test_pressure_at_a_milestone_is_that_milestone(stall, displaced):
    rise = stuck_rise(Stall(stall, "any"), LINE, displaced, 1.0, PARTS)
    for mark in rise.milestones:
        assert mark.reached == (mark.pressure <= stall * (1 + 1e-9))
        if mark.reached:
            assert rise.pressures([mark.strokes])[0] == pytest.approx(mark.pressure)
    assert rise.pressures([1e9])[0] == stall


@pytest.mark.parametrize(
    "make",
    [
        lambda: ClosedSection(0.0, 2e9),
        lambda: ClosedSection(1e-3, -1.0),
        lambda: ClosedSection(1e-3, 2e9, gas=-1.0),
        lambda: ClosedSection(1e-3, 2e9, gas_exponent=0.5),
        lambda: PartStrength("x", 0.0),
        lambda: PartStrength("x", 10.0, 5.0),
        lambda: PartStrength("x", 10.0, 15.0, 12.0),
        lambda: rank_parts([BODY], math.nan),
        lambda: stuck_rise(NOT_LIMITED, LINE, 0.0, 1.0, PARTS),
        lambda: stuck_rise(NOT_LIMITED, LINE, 1e-6, 0.0, PARTS),
        lambda: stuck_rise(NOT_LIMITED, LINE, 1e-6, 1.0, PARTS, start=-1.0),
        lambda: rise_per_stroke.si(0.0, 1e-3, 2e9),
        lambda: LINE.pressure_after(-1e-6),
    ],
)
def test_what_cannot_be_is_refused(make):
    with pytest.raises(ValueError, match=r"is |rise"):
        make()
