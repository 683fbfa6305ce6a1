"""Limits of size by tolerance class."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.thread_limits import external_limits, internal_limits
from rebuildbook.calculators.threads import parse_thread, special_thread
from rebuildbook.reference import rows

LISTED = [row["designation"] for name in ("metric", "unified") for row in rows(f"threads_{name}")]


@given(st.sampled_from(LISTED))
def test_a_bolt_of_the_common_class_always_goes_into_a_nut_of_it(designation):
    thread = parse_thread(designation)
    bolt, nut = external_limits(thread), internal_limits(thread)
    assert thread.minor_diameter < bolt.pitch_min < bolt.pitch_max < nut.pitch_min < nut.pitch_max
    assert bolt.pitch_max < bolt.major_min < bolt.major_max < thread.major
    assert nut.minor_min < nut.minor_max < bolt.major_min


@given(st.sampled_from([one for one in LISTED if one.startswith("M")]))
def test_a_coarser_grade_has_the_wider_tolerance(designation):
    thread = parse_thread(designation)
    bands = [external_limits(thread, f"{grade}g6g") for grade in range(3, 10)]
    widths = [limits.pitch_max - limits.pitch_min for limits in bands]
    assert widths == sorted(widths)
    assert widths[0] == pytest.approx(widths[3] / 2, rel=0.04)  # grade 3 is half of grade 6


@given(st.sampled_from([one for one in LISTED if not one.startswith("M")]))
def test_inch_classes_run_from_loose_to_close(designation):
    thread = parse_thread(designation)
    lows = [external_limits(thread, f"{number}A").pitch_min for number in (1, 2, 3)]
    assert lows == sorted(lows)
    highs = [internal_limits(thread, f"{number}B").pitch_max for number in (1, 2, 3)]
    assert highs == sorted(highs, reverse=True)
    assert external_limits(thread, "3A").pitch_max == pytest.approx(thread.pitch_diameter)


def test_the_written_class_is_taken_for_its_own_side_only():
    thread = parse_thread("M10-6H/4h")
    assert external_limits(thread).tolerance == "4h"
    assert internal_limits(thread).tolerance == "6H"
    assert internal_limits(parse_thread("M10-6g")).tolerance == "6H"
    assert external_limits(parse_thread("1/2-13 UNC-3B")).tolerance == "2A"
    assert external_limits(parse_thread("1/2-13 UNC-3A")).tolerance == "3A"
    assert external_limits(thread, "6g").tolerance == "6g"


def test_position_g_of_the_nut_mirrors_position_g_of_the_bolt():
    thread = parse_thread("M16")
    shift = internal_limits(thread, "6G").pitch_min - internal_limits(thread, "6H").pitch_min
    assert shift == pytest.approx(
        external_limits(thread, "6h").pitch_max - external_limits(thread, "6g").pitch_max
    )


def test_pitch_and_crest_class_may_differ():
    mixed = external_limits(parse_thread("M12-4g6g"))
    assert mixed.major_min == external_limits(parse_thread("M12-6g")).major_min
    assert mixed.pitch_min > external_limits(parse_thread("M12-6g")).pitch_min


def test_rounded_root_and_constant_pitch_series_use_their_length_of_engagement():
    plain, rounded = parse_thread("1/2-13 UNC"), parse_thread("1/2-13 UNRC")
    assert external_limits(plain) == external_limits(rounded)
    odd = special_thread("odd", plain.major, plain.pitch, system="unified")
    # a special is taken at nine pitches: longer than 1/2 in here, so the tolerance is wider
    assert external_limits(odd).pitch_min < external_limits(plain).pitch_min


@pytest.mark.parametrize(
    ("limits", "designation", "tolerance", "said"),
    [
        (external_limits, "M10", "6H", "does not fit"),
        (internal_limits, "M10", "6g", "does not fit"),
        (external_limits, "1/2-13", "6g", "does not fit"),
        (external_limits, "M10", "g", "does not fit"),
        (internal_limits, "1/2-13", "9B", "does not fit"),
        (external_limits, "M10", "5g", "grades 4, 6 and 8"),
        (internal_limits, "M10", "9H", "grades 4 to 8"),
    ],
)
def test_a_class_of_the_other_side_is_refused(limits, designation, tolerance, said):
    with pytest.raises(ValueError, match=said):
        limits(parse_thread(designation), tolerance)


def test_a_thread_beyond_the_tolerance_tables_is_refused():
    with pytest.raises(ValueError, match="355 mm"):
        external_limits(special_thread("press column", 0.4, 0.006))
