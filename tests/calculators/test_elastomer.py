import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.elastomer import (
    ZERO_CELSIUS,
    elastomer,
    fluid_class,
    suitability,
)
from rebuildbook.reference import rows

FAMILIES = [row["family"] for row in rows("elastomers")]
CLASSES = [row["fluid_class"] for row in rows("fluid_classes")]
RATINGS = ("suits", "limited", "ask the supplier", "unfit")
celsius = st.floats(-100.0, 300.0)


@pytest.mark.parametrize("table", ["elastomers", "fluid_classes", "elastomer_fluids"])
def test_every_row_has_a_source(table: str) -> None:
    assert all(row["source"].strip() for row in rows(table))
    assert list(rows(table)[0])[-1] == "source"


def test_every_pair_of_the_table_is_known_rated_in_our_words_and_there_once() -> None:
    pairs = [(row["family"], row["fluid_class"]) for row in rows("elastomer_fluids")]
    assert len(set(pairs)) == len(pairs)
    for row in rows("elastomer_fluids"):
        assert row["family"] in FAMILIES
        assert row["fluid_class"] in CLASSES
        assert row["rating"] in RATINGS


def test_trade_names_lead_to_one_family_or_class_only() -> None:
    for table, column in (("elastomers", "family"), ("fluid_classes", "fluid_class")):
        names = [
            name.casefold()
            for row in rows(table)
            for name in (row[column], *row["also"].split("|"))
            if name
        ]
        assert len(set(names)) == len(names)


@pytest.mark.parametrize(("family", "fluid"), list(itertools.product(FAMILIES, CLASSES)))
def test_every_pair_gets_a_verdict_with_a_reason(family: str, fluid: str) -> None:
    found = suitability(family, fluid, 20.0 + ZERO_CELSIUS)
    assert found.rating in RATINGS
    assert found.reason
    listed = any(
        row["family"] == family and row["fluid_class"] == fluid for row in rows("elastomer_fluids")
    )
    if not listed:
        assert found.rating == "ask the supplier"
    assert found.sources


@pytest.mark.parametrize("row", rows("elastomers"), ids=lambda row: row["family"])
def test_families_are_sound(row: dict[str, str]) -> None:
    found = elastomer(row["family"].lower())
    assert found.coldest < ZERO_CELSIUS < ZERO_CELSIUS + 20.0 < found.hottest
    assert 0.0 < found.hardness[0] <= found.hardness[1] <= 100.0
    assert found.expansion is None or 50e-6 < found.expansion < 300e-6


@given(st.sampled_from(FAMILIES), st.sampled_from(CLASSES), celsius, celsius)
def test_heat_never_makes_a_rubber_better(family, fluid, one, other) -> None:
    cool, hot = sorted((one, other))
    if cool < -10.0:  # the cold end is another matter
        cool = 20.0
        hot = max(hot, cool)
    at_cool = suitability(family, fluid, cool + ZERO_CELSIUS).rating
    at_hot = suitability(family, fluid, hot + ZERO_CELSIUS).rating
    assert RATINGS.index(at_hot) >= RATINGS.index(at_cool)


@given(st.sampled_from(FAMILIES), st.sampled_from(CLASSES))
def test_no_temperature_is_no_worse_than_any(family, fluid) -> None:
    bare = suitability(family, fluid)
    assert bare.temperature is None
    warm = suitability(family, fluid, 20.0 + ZERO_CELSIUS)
    assert RATINGS.index(bare.rating) <= RATINGS.index(warm.rating)


@pytest.mark.parametrize(
    ("rubber", "fluid", "temperature", "rating", "words"),
    [
        ("EPDM", "petroleum grease", 20.0, "unfit", "smear"),
        ("natural rubber", "hydraulic oil", 20.0, "unfit", "swells"),
        ("NBR", "acetone", 20.0, "unfit", "ketone"),
        ("mystery rubber", "water", 20.0, "ask the supplier", "nearest"),
        ("NBR", "moon dust", 20.0, "ask the supplier", "no fluid class"),
        ("NBR", "mineral oil", 95.0, "limited", "close to the 100 °C"),
        ("NBR", "mineral oil", 105.0, "unfit", "above the 100 °C"),
        ("FKM", "mineral oil", -20.0, "unfit", "stiffens"),
        ("PU", "water", 55.0, "unfit", "50 °C"),
        ("EPDM", "water", 95.0, "suits", "hot water"),
        ("EPDM", "weak acid", 80.0, "ask the supplier", "no rating is known"),
        ("PU", "slip", 20.0, "suits", "wear"),
        ("IIR", "slip", 20.0, "ask the supplier", "no rating"),
    ],
)
def test_verdicts_of_the_trade(rubber, fluid, temperature, rating, words) -> None:
    found = suitability(rubber, fluid, temperature + ZERO_CELSIUS)
    assert found.rating == rating
    assert words in found.reason


def test_a_temperature_below_absolute_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        suitability("NBR", "water", -5.0)


def test_names_not_known_are_refused_where_the_thing_itself_is_wanted() -> None:
    with pytest.raises(LookupError, match="no fluid class"):
        fluid_class("moon dust")
