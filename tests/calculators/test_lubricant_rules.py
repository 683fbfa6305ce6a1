import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.lubricant_rules import FILM_DUTIES, Lubricant, lubricant_conflicts
from rebuildbook.reference import rows

FAMILIES = [row["family"] for row in rows("elastomers")]
CLEAN = Lubricant("clean grease", "perfluoropolyether", silicone_free=True, food_grade=True)


def _found(lubricant: Lubricant, duty: str = "water", *rubbers: str, **more):
    return [(c.rule, c.severity) for c in lubricant_conflicts(lubricant, duty, rubbers, **more)]


@pytest.mark.parametrize("duty", sorted(FILM_DUTIES))
def test_silicone_is_kept_out_of_film_duties(duty: str) -> None:
    rule = "silicone in a film duty"
    assert _found(Lubricant("a", "silicone"), duty) == [(rule, "hold")]
    assert (rule, "hold") in _found(Lubricant("b", "mineral", silicone_free=False), duty)
    assert (rule, "query") in _found(Lubricant("c", "mineral"), duty)
    assert _found(Lubricant("d", "mineral", silicone_free=True), duty) == []


def test_silicone_is_no_matter_for_water_or_oil() -> None:
    assert _found(Lubricant("a", "silicone"), "water") == []
    assert _found(Lubricant("a", "silicone"), "oil", "NBR") == []


@pytest.mark.parametrize(
    ("base", "rubber", "severity"),
    [
        ("mineral", "EPDM", "hold"),
        ("mineral", "natural rubber", "hold"),
        ("mineral", "butyl", "hold"),
        ("mineral", "CR", "query"),
        ("polyalphaolefin", "EPDM", "hold"),
        ("silicone", "silicone rubber", "hold"),
        ("silicone", "FVMQ", "query"),
        ("synthetic ester", "EPDM", "hold"),
        ("synthetic ester", "NBR", "query"),
        ("vegetable", "NR", "hold"),
        ("water-based", "PU", "query"),
        ("not known", "EPDM", "query"),
    ],
)
def test_what_swells_which_rubber(base, rubber, severity) -> None:
    found = _found(Lubricant("g", base, silicone_free=None), "water", rubber)
    assert found == [("swells the rubber", severity)]


@pytest.mark.parametrize(
    ("base", "rubber"),
    [
        ("mineral", "NBR"),
        ("mineral", "FKM"),
        ("silicone", "EPDM"),
        ("polyglycol", "EPDM"),
        ("perfluoropolyether", "VMQ"),
        ("not known", "PTFE"),
    ],
)
def test_what_goes_together(base, rubber) -> None:
    assert _found(Lubricant("g", base), "water", rubber) == []


def test_a_rubber_not_known_is_asked_about() -> None:
    assert _found(CLEAN, "water", "unobtainium") == [("swells the rubber", "query")]


def test_tape_and_sealant_on_straight_threads() -> None:
    tape = Lubricant("tape", "not known", kind="tape", solids=("PTFE",))
    rule = "sealant on a straight thread"
    assert _found(tape, thread="straight", seals_with_o_ring=True) == [(rule, "hold")]
    assert _found(tape, thread="straight") == [(rule, "query")]
    assert _found(tape, thread="tapered") == []
    assert _found(tape) == []
    grease = Lubricant("grease", "mineral")
    assert _found(grease, thread="tapered") == [("no sealant on a tapered thread", "query")]


def test_solids_that_stain() -> None:
    paste = Lubricant("p", "mineral", "anti-seize", silicone_free=True, solids=("Copper",))
    assert _found(paste, "glaze") == [("solids that stain", "query")]
    assert _found(paste, "oil") == []


def test_food_and_drinking_water() -> None:
    rule = "not for what is eaten or drunk"
    assert _found(Lubricant("g", "mineral"), "drinking water") == [(rule, "query")]
    assert _found(Lubricant("g", "mineral", food_grade=False), "food") == [(rule, "hold")]
    assert _found(CLEAN, "drinking water") == []


def test_a_silicone_base_free_of_silicone_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be free"):
        Lubricant("x", "silicone", silicone_free=True)


@given(
    st.sampled_from(["mineral", "silicone", "synthetic ester", "vegetable", "not known"]),
    st.sampled_from(["glaze", "water", "food", "adhesive"]),
    st.lists(st.sampled_from(FAMILIES), max_size=4),
)
def test_holds_come_first_every_conflict_has_a_source_and_more_rubbers_never_fewer(
    base, duty, rubbers
) -> None:
    found = lubricant_conflicts(Lubricant("g", base), duty, rubbers)
    severities = [conflict.severity for conflict in found]
    assert severities == sorted(severities)  # "hold" before "query"
    assert all(conflict.source and conflict.text for conflict in found)
    more = lubricant_conflicts(Lubricant("g", base), duty, [*rubbers, "EPDM"])
    assert set(found) <= set(more)


def test_a_rubber_named_twice_is_told_once() -> None:
    assert len(_found(Lubricant("g", "mineral"), "water", "EPDM", "EPDM")) == 1
