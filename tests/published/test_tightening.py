"""Tightening orders and passes against published ones."""

import pytest

from rebuildbook.calculators.layout import circle, cross_order
from rebuildbook.calculators.tightening import tightening_plan

# ASME PCC-1, legacy cross-pattern sequence in rotational numbering, from memory
LEGACY = {
    4: "1 3 2 4",
    8: "1 5 3 7 2 6 4 8",
    12: "1 7 4 10 2 8 5 11 3 9 6 12",
    16: "1 9 5 13 3 11 7 15 2 10 6 14 4 12 8 16",
    20: "1 11 6 16 3 13 8 18 5 15 10 20 2 12 7 17 4 14 9 19",
    24: "1 13 7 19 4 16 10 22 2 14 8 20 5 17 11 23 3 15 9 21 6 18 12 24",
    28: "1 15 8 22 4 18 11 25 6 20 13 27 2 16 9 23 5 19 12 26 7 21 14 28 3 17 10 24",
    32: "1 17 9 25 5 21 13 29 3 19 11 27 7 23 15 31 2 18 10 26 6 22 14 30 4 20 12 28 8 24 16 32",
}


@pytest.mark.parametrize("count", LEGACY)
def test_cross_order_is_the_legacy_order(count: int) -> None:
    assert cross_order(circle(count, 0.2)) == tuple(int(word) for word in LEGACY[count].split())


def test_passes_follow_the_legacy_method() -> None:
    """ASME PCC-1, from memory: snug, 20–30 %, 50–70 %, 100 %, then rounds until no nut moves."""
    plan = tightening_plan(
        circle(8, 0.2), "cross", (0.3, 0.7, 1.0), setting=100.0, step=5.0, wrench_low=20.0,
        window_low=90.0, window_high=110.0,
    )  # fmt: skip
    parts = [one.torque / 100.0 for one in plan.passes]
    assert [one.kind for one in plan.passes] == ["snug", "cross", "cross", "cross", "rotation"]
    assert 0.2 <= parts[1] <= 0.3
    assert 0.5 <= parts[2] <= 0.7
    assert parts[3:] == [1.0, 1.0]
    assert plan.passes[-1].order == (1, 2, 3, 4, 5, 6, 7, 8)
