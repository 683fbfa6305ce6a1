import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.o_ring_sizes import (
    INCH,
    Toleranced,
    class_b_tolerance,
    o_ring,
    plus_minus,
)
from rebuildbook.reference import rows

TABLE = rows("o_rings_as568")


@pytest.mark.parametrize(
    "text", ["214", "-214", "AS568-214", "as568-214", "AS 568-214", "AS568A-214", " AS568 214 "]
)
def test_a_dash_number_is_read_however_it_is_written(text: str) -> None:
    assert o_ring(text) == o_ring("214")
    assert o_ring(text).name == "AS568-214"


@pytest.mark.parametrize(
    "text",
    ["24.99 mm x 3.53 mm", "24.99 x 3.53 mm", "24.99mm×3.53mm", "2.499 cm X 3.53 mm"],
)
def test_a_size_is_read_with_its_units(text: str) -> None:
    ring = o_ring(text)
    assert ring.inside.nominal == pytest.approx(24.99e-3)
    assert ring.section.nominal == pytest.approx(3.53e-3)


def test_tolerances_as_written_stand() -> None:
    ring = o_ring("0.984 in ± 0.010 in x 0.135 to 0.143 in")
    assert ring.inside.half == pytest.approx(0.010 * INCH)
    assert ring.section.low == pytest.approx(0.135 * INCH)
    assert "ISO" not in ring.source


def test_tolerances_not_written_come_from_the_standard_and_say_so() -> None:
    assert "ISO 3601-1 class B" in o_ring("24.99 mm x 3.53 mm").source
    assert o_ring("24.99 mm x 3.53 mm").section.half == pytest.approx(0.10e-3)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not an O-ring size"),
        ("big one", "not an O-ring size"),
        ("14", "three digits"),
        ("25 x 3", "no unit"),
        ("25 mm x", "not an O-ring size"),
        ("25 mm x 3 bar", "not a length"),
        ("25 mm x 3 mm x 2 mm", "not an O-ring size"),
        ("AS568-051", "004 to 050, 102 to 178, 201 to 284, 309 to 395, 425 to 475"),
        ("-25 mm x 3 mm", "above zero"),
        ("25,4 mm x 3 mm", "comma"),
        ("nan mm x 3 mm", "not an O-ring size"),
    ],
)
def test_bad_text_says_what_is_wrong(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        o_ring(text)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row["dash"])
def test_every_row_has_a_source_and_can_be_read(row: dict[str, str]) -> None:
    assert row["source"]
    ring = o_ring(f"AS568-{row['dash']}")
    assert ring.inside.nominal == pytest.approx(float(row["inside_diameter_in"]) * INCH)
    assert 0.0 < ring.inside.half < 0.05 * max(ring.inside.nominal, 0.1 * INCH) + 0.005 * INCH
    assert ring.section.half < 0.05 * ring.section.nominal


def test_sizes_of_a_series_grow_with_the_dash_number() -> None:
    for section in {row["section_in"] for row in TABLE}:
        sizes = [float(row["inside_diameter_in"]) for row in TABLE if row["section_in"] == section]
        assert sizes == sorted(sizes)
        assert len(set(sizes)) == len(sizes)


def test_dash_numbers_are_unique() -> None:
    assert len({row["dash"] for row in TABLE}) == len(TABLE)


def test_class_b_beyond_its_last_step_keeps_the_share() -> None:
    assert class_b_tolerance(0.3, 16.8e-3)[1] == pytest.approx(0.30e-3)


@given(st.floats(1e-3, 0.5), st.floats(1e-3, 0.5))
def test_class_b_grows_with_the_ring(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert class_b_tolerance(low, 3e-3)[0] <= class_b_tolerance(high, 3e-3)[0]


def test_a_tolerance_that_runs_backwards_is_refused() -> None:
    with pytest.raises(ValueError, match="does not lie between"):
        Toleranced(1.0, 2.0, 3.0)
    with pytest.raises(ValueError, match="does not lie between"):
        plus_minus(1.0, -0.1)
    with pytest.raises(ValueError, match="not both numbers"):
        Toleranced(1.0, float("nan"), 3.0)
