"""Reading thread designations, and the geometry that goes with them."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.threads import (
    internal_minor_diameter,
    metric_stress_area,
    minor_diameter,
    parse_thread,
    pitch_diameter,
    special_thread,
    unified_stress_area,
)
from rebuildbook.reference import rows

LISTED = [row["designation"] for name in ("metric", "unified") for row in rows(f"threads_{name}")]


@pytest.mark.parametrize(
    ("text", "designation"),
    [
        ("M10", "M10×1.5"),
        ("m 10 x 1.5 - 6g", "M10×1.5-6g"),
        ("M10×1.25", "M10×1.25"),
        ("M8-1.25", "M8×1.25"),
        ("M10-1.5-6g", "M10×1.5-6g"),
        ("M20x2-5g6g-LH", "M20×2-5g6g-LH"),
        ("M10-6H/6g", "M10×1.5-6H/6g"),
        ("M1.6", "M1.6×0.35"),
        ("1/2-13 UNC-2A", "1/2-13 UNC-2A"),
        ("1/2-13", "1/2-13 UNC"),
        ("½-13", "1/2-13 UNC"),
        ("1¼–12 unf-2b", "1 1/4-12 UNF-2B"),
        ("1-1/4-12 UNF", "1 1/4-12 UNF"),
        ('1/2"-13UNC', "1/2-13 UNC"),
        ("0.500-13", "1/2-13 UNC"),
        ("3/4-16 UNF", "3/4-16 UNF"),
        ("#10-24 UNC", "#10-24 UNC"),
        ("No. 10-32", "#10-32 UNF"),
        ("10-24", "#10-24 UNC"),
        ("1-8 UNC", "1-8 UNC"),
        ("1-64", "#1-64 UNC"),
        ("12-24", "#12-24 UNC"),
        ("2-4 1/2 UNC", "2-4.5 UNC"),
        ("1-14 UNS", "1-14 UNS"),
        ("7/8-14 UNF-2A LH", "7/8-14 UNF-2A-LH"),
        ("7/8-14 UNF RH", "7/8-14 UNF"),
        ("1/2-13 UNRC-3A", "1/2-13 UNRC-3A"),
    ],
)
def test_ways_of_writing_a_thread(text, designation):
    assert parse_thread(text).designation == designation


@given(
    st.sampled_from(LISTED),
    st.sampled_from(["", "-6g", "-6H", "-2A", "-3B"]),
    st.sampled_from(["", "-LH"]),
)
def test_a_canonical_designation_reads_back_as_the_same_thread(listed, tolerance, hand):
    if tolerance and (tolerance[-1] in "AB") == listed.startswith("M"):
        tolerance = ""
    thread = parse_thread(listed + tolerance + hand)
    assert thread.designation == listed + tolerance + hand
    assert thread.left_hand == bool(hand)
    assert parse_thread(thread.designation) == thread


def test_left_hand_tolerance_and_series_are_kept_apart():
    thread = parse_thread("7/8-14 UNF-2A LH")
    assert (thread.system, thread.series, thread.tolerance) == ("unified", "UNF", "2A")
    assert thread.left_hand
    assert thread.major == pytest.approx(0.875 * 0.0254)
    assert thread.threads_per_inch == pytest.approx(14.0)


def test_a_bare_small_number_is_a_number_size_only_where_the_pitch_says_so():
    assert parse_thread("4-40").major == pytest.approx(0.112 * 0.0254)
    assert parse_thread("4-4").major == pytest.approx(4 * 0.0254)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("M10x1.1", "nearest are M10×1, M10×1.25"),
        ("M10x30", "a pitch, not a length"),
        ("M10x1.5x30", "without the fastener's length"),
        ("M10x1,5", "decimal point"),
        ("M10-7z", "'7z' is no series"),
        ("M10-2A", "'2A' is no series"),
        ("M10 UNC", "nearest are M10"),
        ("1/2-13 UNC-6g", "'6g' is no series"),
        ("1/2-14", "nearest are 1/2-13 UNC"),
        ("1/2-20 UNC", "nearest are 1/2-20 UNF"),
        ("1/2", "write one as 1/2-13 UNC, 1/2-20 UNF"),
        ("#14-20", "#0 to #12"),
        ("1/0-13", "divides by zero"),
        ("1/2-0", "no threads to the inch"),
        ("G 1/2", "pipe thread"),
        ("1/2 NPT", "pipe thread"),
        ("", "M10×1.25-6g"),
        ("bolt", "no thread designation"),
        ("1/2-" + "9" * 400, "too long"),
        ("special 22 x 1.5", "has no unit"),
        ("special 2 mm x 1.5 mm", "no core"),
        ("0.1-14 UNS", "no core"),
    ],
)
def test_what_cannot_be_read_says_why(text, said):
    with pytest.raises(ValueError, match=re.escape(said)) as problem:
        parse_thread(text)
    assert not text or text.split()[0][:20] in str(problem.value)


@given(st.text(max_size=30) | st.text("M#0123456789/x×.,- UNCFSR½ABgHL", max_size=16))
def test_any_text_is_read_or_refused_with_a_value_error(text):
    try:
        thread = parse_thread(text)
    except ValueError:
        return
    assert 0.0 < thread.pitch < thread.major


def test_special_threads_can_be_written_or_built():
    written = parse_thread("special 22 mm x 1.25 mm")
    built = special_thread("rod", 0.022, 0.00125)
    assert (written.major, written.pitch) == pytest.approx((built.major, built.pitch))
    assert written.system == "metric"
    assert parse_thread("special 0.905 in x 0.05 in").system == "unified"
    assert parse_thread("0.905-14 UNS").major == pytest.approx(0.905 * 0.0254)
    with pytest.raises(ValueError, match="name"):
        special_thread(" ", 0.022, 0.00125)
    with pytest.raises(ValueError, match="no core"):
        special_thread("rod", 0.001, math.inf)


@pytest.mark.parametrize("designation", LISTED)
def test_diameters_stand_in_order_and_the_stress_area_between_root_and_pitch(designation):
    thread = parse_thread(designation)
    assert thread.minor_diameter < thread.internal_minor_diameter < thread.pitch_diameter
    assert thread.pitch_diameter < thread.major
    root, pitch = (math.pi / 4 * d**2 for d in (thread.minor_diameter, thread.pitch_diameter))
    assert root < thread.stress_area < pitch


@given(st.floats(0.002, 0.1), st.floats(0.05, 0.3))
def test_diameters_follow_from_the_sixty_degree_triangle(major, share):
    """Independent derivation: heights of the fundamental triangle H = P·cos 30°."""
    pitch = share * major
    height = pitch * math.cos(math.radians(30))
    assert pitch_diameter.si(major, pitch) == pytest.approx(major - 2 * 3 / 8 * height)
    assert internal_minor_diameter.si(major, pitch) == pytest.approx(major - 2 * 5 / 8 * height)
    assert minor_diameter.si(major, pitch) == pytest.approx(major - 2 * 17 / 24 * height, rel=1e-6)


@given(st.floats(0.002, 0.1), st.floats(0.05, 0.3))
def test_the_metric_area_exceeds_the_unified_one_a_little(major, share):
    """A unified area is reckoned to a sharper root: 1.2990 P against 1.2269 P."""
    metric, unified = (
        area.si(major, share * major) for area in (metric_stress_area, unified_stress_area)
    )
    assert unified < metric < 1.15 * unified


def test_formulas_take_text_with_units():
    assert pitch_diameter("1/2 in", "1.953846 mm").to("in").magnitude == pytest.approx(0.45, 1e-3)


@pytest.mark.parametrize("name", ["threads_metric", "threads_unified"])
def test_every_listed_thread_names_its_source(name):
    assert all(row["source"].startswith(("ISO 261", "ASME B1.1")) for row in rows(name))
    assert len({row["designation"] for row in rows(name)}) == len(rows(name))
