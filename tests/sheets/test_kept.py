"""What is taken over from the case before: only what nothing it looked at has changed."""

import copy
from dataclasses import dataclass, field, replace

import pytest

from rebuildbook.sheets.kept import MOST, Kept, LateReadError, keep, watched
from rebuildbook.sheets.part import Part


class Bolt(Part):
    torque: float
    what: str = "bolt"


class Duty(Part):
    pressure: float
    rate: float | None = None
    note: Bolt | None = None

    @property
    def double(self) -> float:
        return 2.0 * self.pressure


class Sheet(Part):
    duty: Duty
    bolts: dict[str, Bolt]
    test: Duty | None = None


@dataclass(frozen=True)
class Case:
    sheet: Sheet
    files: dict[str, str] = field(default_factory=dict)


CASE = Case(Sheet(duty=Duty(pressure=5.0), bolts={"a": Bolt(torque=1.0), "b": Bolt(torque=2.0)}))


def changed(case=CASE, **fields):
    return replace(case, sheet=case.sheet.model_copy(update=fields))


def duty(**fields):
    return changed(duty=CASE.sheet.duty.model_copy(update=fields))


def bolts(**fields):
    return changed(bolts=CASE.sheet.bolts | fields)


class Maker:
    """Makes what its function gives, and counts how often."""

    def __init__(self, function):
        self.function, self.times = function, 0
        self.kept = Kept()

    def __call__(self, case, *given):
        seen = watched(case, self.kept)
        return keep(seen, self.make, seen, *given)

    def make(self, seen, *given):
        self.times += 1
        return self.function(seen, *given)


def names(case):
    return [*case.sheet.bolts]


READS = {
    "a field": (lambda case: case.sheet.duty.pressure, [duty(pressure=6.0)], [duty(rate=1.0)]),
    "a property": (lambda case: case.sheet.duty.double, [duty(pressure=6.0)], [duty(rate=1.0)]),
    "a part deeper down": (
        lambda case: case.sheet.duty.note is None,
        [duty(note=Bolt(torque=1.0))],
        [duty(pressure=6.0)],
    ),
    "whether there is one": (
        lambda case: case.sheet.test is None,
        [changed(test=Duty(pressure=1.0))],
        [duty(pressure=6.0)],
    ),
    "a name": (
        lambda case: case.sheet.bolts["a"].torque,
        [bolts(a=Bolt(torque=3.0))],
        [bolts(b=Bolt(torque=3.0)), bolts(c=Bolt(torque=3.0))],
    ),
    "a name that is not there": (
        lambda case: case.sheet.bolts.get("c", "none"),
        [bolts(c=Bolt(torque=3.0))],
        [bolts(a=Bolt(torque=3.0))],
    ),
    "is it there": (
        lambda case: "c" in case.sheet.bolts,
        [bolts(c=Bolt(torque=3.0))],
        [bolts(a=Bolt(torque=3.0))],
    ),
    "all names": (names, [bolts(c=Bolt(torque=3.0))], [duty(pressure=6.0)]),
    "how many": (
        lambda case: len(case.sheet.bolts),
        [bolts(c=Bolt(torque=3.0))],
        [duty(pressure=6.0)],
    ),
    "all values": (
        lambda case: [one.torque for one in case.sheet.bolts.values()],
        [bolts(a=Bolt(torque=3.0))],
        [duty(pressure=6.0)],
    ),
    "both together": (
        lambda case: {**case.sheet.bolts} | (case.sheet.bolts | {}),
        [bolts(a=Bolt(torque=3.0))],
        [duty(pressure=6.0)],
    ),
    "the whole part": (
        lambda case: case.sheet.duty == Duty(pressure=5.0),
        [duty(rate=1.0)],
        [bolts(a=Bolt(torque=3.0))],
    ),
    "another sheet": (
        lambda case: case.files.get("job"),
        [replace(CASE, files={"job": "x"})],
        [duty(pressure=6.0)],
    ),
    "by what was found": (
        lambda case: case.sheet.duty.rate if case.sheet.duty.pressure > 5.5 else "low",
        [duty(pressure=6.0)],
        [duty(rate=1.0)],
    ),
}


@pytest.mark.parametrize("name", READS)
def test_a_part_is_made_anew_where_what_it_looked_at_changed_and_only_there(name):
    function, other, same = READS[name]
    for case in same:
        make = Maker(function)
        first = make(CASE)
        assert make(case) is first
        assert make.times == 1
    for case in other:
        make = Maker(function)
        make(CASE)
        assert make(case) == function(case)
        assert make.times == 2


def test_a_value_that_is_equal_though_another_object_is_the_same():
    make = Maker(lambda case: case.sheet.bolts["a"].torque)
    make(CASE)
    make(bolts(a=Bolt(torque=1.0)))
    assert make.times == 1


def test_what_is_given_counts_too():
    make = Maker(lambda case, *given: (case.sheet.duty.pressure, given))
    for given in ((1.0,), (1.0,), (1,), (0.0,), (-0.0,), ("a",), ({"a": [1.0]},), ({"a": [1.0]},)):
        assert make(CASE, *given) == (5.0, given)
    assert make.times == 6


def test_some_makings_are_kept_for_going_to_and_fro():
    make = Maker(lambda case: case.sheet.duty.pressure)
    pressures = [float(place) for place in range(MOST)]
    for _ in range(3):
        assert [make(duty(pressure=one)) for one in pressures] == pressures
    assert make.times == MOST
    make(duty(pressure=99.0))
    make(duty(pressure=pressures[0]))  # the one not asked for the longest has gone
    assert make.times == MOST + 2


def test_a_part_made_of_parts_hangs_on_what_they_looked_at():
    calls = []

    def inner(seen, name):
        calls.append(name)
        return seen.sheet.bolts[name].torque

    def outer(seen):
        return [keep(seen, inner, seen, name, of=name) for name in ("a", "b")]

    kept = Kept()
    for case, wanted in ((CASE, [1.0, 2.0]), (bolts(b=Bolt(torque=5.0)), [1.0, 5.0])) * 2:
        seen = watched(case, kept)
        assert keep(seen, outer, seen) == wanted
    assert calls == ["a", "b", "b"]


def test_what_a_refusal_rests_on_is_looked_at_too():
    def inner(seen):
        if seen.sheet.duty.pressure > 5.5:
            raise ValueError("too high")
        return "fine"

    def outer(seen):
        try:
            return keep(seen, inner, seen)
        except ValueError as problem:
            return str(problem)

    make = Maker(outer)
    assert make(duty(pressure=6.0)) == "too high"
    assert make(CASE) == "fine"
    assert make(duty(pressure=6.0)) == "too high"


def test_a_field_read_after_its_part_is_made_is_refused():
    make = Maker(lambda case: case.sheet.duty)
    late = make(CASE)
    with pytest.raises(LateReadError, match="duty"):
        _ = late.pressure
    later = Maker(lambda case: (one for one in [case.sheet.bolts]))(CASE)
    with pytest.raises(LateReadError):
        next(later).get("a")


def test_a_watched_part_passes_for_the_part():
    def function(case):
        match case.sheet.duty:
            case Duty(pressure=pressure):
                return isinstance(case.sheet.bolts, dict), pressure
        return None

    assert Maker(function)(CASE) == (True, 5.0)


def test_a_plain_case_has_nothing_taken_over():
    times = []
    for _ in range(2):
        assert keep(CASE, lambda case: times.append(1) or case.sheet.duty.pressure, CASE) == 5.0
    assert len(times) == 2


def test_in_another_process_nothing_is_kept():
    make = Maker(lambda case: case.sheet.duty.pressure)
    make(CASE)
    make.kept = copy.copy(make.kept)  # as pickled, by its reduction
    make(CASE)
    assert make.times == 2
