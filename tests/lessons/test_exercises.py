"""Every exercise of every lesson, whoever the learner is."""

import itertools
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rebuildbook.lessons.exercise import Exercise, Slip, parted
from rebuildbook.lessons.judge import judge
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.lessons.registry import LESSONS, lesson_named
from rebuildbook.units import DIMENSIONS

NAMES = st.one_of(
    st.text(max_size=60),
    st.sampled_from(
        [
            "", " ", "Ana", "x" * 5000, "<script>alert(1)</script>", "=cmd|' /C calc'!A0",
            "Zoë Åström", "李雷", "\u202eevil", "a\0b", "\ud800", "../../etc", "{{7*7}} #let",
        ]
    ),
)  # fmt: skip
ALL = [one for lesson in LESSONS.values() for one in lesson.exercises]
relaxed = settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.mark.parametrize("exercise", ALL, ids=lambda one: one.id)
@relaxed
@given(learner=NAMES)
def test_it_can_be_solved_in_either_system_and_each_slip_has_its_hint(exercise, write_out, learner):
    numbers = exercise.numbers(learner)
    assert exercise.ask(numbers).strip() and exercise.why(numbers).strip()
    for right, system in itertools.product(exercise.rights(numbers), ("metric", "us")):
        found = judge(exercise, numbers, write_out(exercise, right, system))
        assert (found.state, found.points) == ("right", exercise.points), found
    for slip, value in exercise.slips(numbers):
        for system in ("metric", "us"):
            found = judge(exercise, numbers, write_out(exercise, value, system))
            assert (found.state, found.points) == ("slip", 0), found
            assert found.reason == f"slip: {slip.name}" and found.text == slip.hint
        if exercise.kind == "quantity":
            for right in exercise.rights(numbers):
                assert abs(value - right) > exercise.tolerance * abs(right)


@pytest.mark.parametrize("exercise", ALL, ids=lambda one: one.id)
@relaxed
@given(learner=NAMES)
def test_a_number_without_its_unit_is_told_so(exercise, learner):
    if exercise.kind != "quantity" or not DIMENSIONS[exercise.dimension].si:
        return
    found = judge(exercise, exercise.numbers(learner), "18")
    assert (found.state, found.reason, found.points) == ("unclear", "no unit", 0)
    assert "has no unit" in found.text


@pytest.mark.parametrize("exercise", ALL, ids=lambda one: one.id)
def test_hints_and_reasons_say_something_of_their_own(exercise):
    hints = [slip.hint for slip in exercise.wrong]
    assert exercise.wrong and len(set(hints)) == len(hints)
    assert all(len(hint) > 20 and hint.endswith((".", "?")) for hint in hints)
    assert not exercise.hint or exercise.hint.endswith((".", "?"))


@pytest.mark.parametrize("exercise", ALL, ids=lambda one: one.id)
def test_learners_do_not_all_get_the_same(exercise):
    values = {tuple(exercise.numbers(f"learner {place}").values.items()) for place in range(6)}
    assert len(values) > 1


def test_lessons_have_their_size_and_names_of_their_own(lesson):
    assert len(lesson.exercises) >= 5 and 20 <= lesson.minutes <= 30
    assert lesson_named(lesson.name) is lesson
    ids = [one.id for one in ALL]
    assert len(set(ids)) == len(ids) and all(re.fullmatch(r"[a-z-]+-\d+", one) for one in ids)
    assert len({one.number for one in LESSONS.values()}) == len(LESSONS)


def test_a_lesson_not_there_is_told_with_the_nearest():
    with pytest.raises(LookupError, match="did you mean reading-a-test"):
        lesson_named("reading-a-tset")
    with pytest.raises(LookupError, match="there are units-and-wrenches"):
        lesson_named("\0" * 500)


# the rules an exercise is held to


def toy(**changed) -> Exercise:
    given_ = {
        "id": "toy-1", "kind": "quantity", "dimension": "force", "draws": {"load": (90.0, 100.0)},
        "ask": lambda n: "How much?", "right": lambda n: n["load"], "why": lambda n: "It is so.",
        "wrong": (Slip("half", lambda n: n["load"] / 2, "That is half of it."),),
    }  # fmt: skip
    return Exercise(**{**given_, **changed})


def test_numbers_that_bring_a_slip_near_the_right_answer_are_drawn_again():
    near = Slip("near", lambda n: 91.0, "Near the one, far from the other.")
    exercise = toy(wrong=(near,))
    assert {exercise.numbers(f"l{place}")["load"] for place in range(20)} == {100.0}
    assert not parted(exercise, Numbers("", {"load": 90.0}))


def test_two_slips_that_agree_are_drawn_again():
    slips = (
        Slip("one", lambda n: 50.0, "The first of the two."),
        Slip("two", lambda n: n["load"] - 41.0, "The second of the two."),
    )
    assert {toy(wrong=slips).numbers(f"l{place}")["load"] for place in range(20)} == {100.0}


def test_an_exercise_that_no_numbers_can_part_says_so():
    same = Slip("same", lambda n: n["load"], "No slip at all.")
    with pytest.raises(ValueError, match="toy-1: no numbers part"):
        toy(wrong=(same,)).numbers("Ana")
    with pytest.raises(ValueError, match="toy-1: no numbers part"):
        toy(sound=lambda n: False).numbers("Ana")
    with pytest.raises(ValueError, match="toy-1: no numbers part"):
        toy(right=lambda n: 0.0, wrong=()).numbers("Ana")


@pytest.mark.parametrize(
    "changed",
    [
        {"dimension": "zeal"},
        {"options": ("a", "b")},
        {"tolerance": 0.0},
        {"tolerance": 0.5},
        {"points": 0},
        {"kind": "choice"},
        {"kind": "choice", "dimension": "", "options": ("one", "one")},
        {"wrong": (Slip("x", lambda n: 1.0, "a"), Slip("x", lambda n: 2.0, "b"))},
    ],
)
def test_an_exercise_at_odds_with_itself_is_refused(changed):
    with pytest.raises(ValueError, match="toy-1: "):
        toy(**changed)


def test_a_lesson_with_one_id_twice_is_refused():
    with pytest.raises(ValueError, match="ids of their own"):
        Lesson("toy", 9, "Toy", 20, (), "", (toy(), toy()), ())


# how answers are read

ORDER = toy(
    kind="order", dimension="", options=("set the nut", "oil the stud", "seat the ring"),
    right=lambda n: ("oil the stud", "seat the ring", "set the nut"), wrong=(),
)  # fmt: skip
NUMBERED = toy(
    kind="order", dimension="", options=("1", "2", "3", "4"), wrong=(),
    right=lambda n: ("1", "3", "2", "4"), also=lambda n: (("1", "3", "4", "2"),),
)  # fmt: skip
CHOICE = toy(
    kind="choice", dimension="", options=("the small one", "a big one"), wrong=(),
    right=lambda n: "a big one",
)  # fmt: skip


@pytest.mark.parametrize(
    "text",
    ["b, c, a", "B C A", "bca", "b > c > a", "b-c-a", "oil the stud, Seat  the ring; set the nut"],
)
def test_an_order_may_be_written_in_many_ways(text):
    assert judge(ORDER, ORDER.numbers(""), text).state == "right"


@pytest.mark.parametrize("text", ["b, c", "b, c, a, a", "b, c, d", "oil, seat, set", "1 2 3"])
def test_an_order_that_is_none_is_told_so(text):
    found = judge(ORDER, ORDER.numbers(""), text)
    assert (found.state, found.reason) == ("unclear", "not each of them once")


def test_short_options_are_their_own_names_and_there_may_be_two_right_orders():
    numbers = NUMBERED.numbers("")
    assert [judge(NUMBERED, numbers, text).state for text in ("1 3 2 4", "1,3,4,2", "4321")] == [
        "right", "right", "wrong",
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["b", "B)", "(b)", "b.", "A big one", " a  BIG one "])
def test_a_choice_may_be_written_in_many_ways(text):
    assert judge(CHOICE, CHOICE.numbers(""), text).state == "right"


def test_a_choice_that_is_not_offered_is_told_so():
    assert judge(CHOICE, CHOICE.numbers(""), "c").reason == "none of the choices"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("100", "no unit"), ("100 N*m", "not a force"), ("100 bananas", "cannot be read"),
        ("90 to 110 N", "not a single value"), ("1,0 N", "cannot be read"), ("N", "cannot be read"),
        ("1" * 400 + " N", "too long"), ("nan N", "cannot be read"), ("1/0 N", "cannot be read"),
        ("100 lb", "right"), ("445 N", "wrong"), ("", "not answered"), ("  ", "not answered"),
    ],
)  # fmt: skip
def test_a_quantity_that_is_none_is_told_why(text, reason):
    exercise = toy(draws={"load": (444.822,)}, wrong=())
    if reason == "wrong":
        exercise = toy(draws={"load": (100.0,)}, wrong=())
    assert judge(exercise, exercise.numbers(""), text).reason == reason


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("2 bar", "right"), ("2 barg", "right"), ("2 bar abs", "not gauge"),
        ("200 kPa", "not in bar"), ("2", "no unit"),
    ],
)  # fmt: skip
def test_the_unit_and_the_reference_asked_for_are_held_to(text, reason):
    exercise = toy(
        dimension="pressure", reference="gauge", only="bar", right=lambda n: 2e5, wrong=()
    )
    assert judge(exercise, exercise.numbers(""), text).reason == reason


@settings(max_examples=150)
@given(st.text(max_size=60) | st.from_regex(r"-?[0-9./eE ]{1,12} ?[A-Za-z*/^·²%°\"']{0,8}"))
def test_whatever_is_written_is_judged_and_never_fails(text):
    for exercise in (toy(), ORDER, NUMBERED, CHOICE):
        found = judge(exercise, exercise.numbers(""), text)
        assert found.points in {0, 1} and found.reason
