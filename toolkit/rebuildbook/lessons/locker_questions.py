"""Exercises of lesson 3 on the locker itself: its times, its strengths, its order of work.

Which strength goes where, what is done with a screw that is too loose, and the order of work are
common practice, no source.
"""

from __future__ import annotations

from rebuildbook.calculators.cure import SettingTimes, at_temperature
from rebuildbook.calculators.layout import circle, cross_order, rotation_order
from rebuildbook.calculators.schedule import longest_open
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import from_unit, number, show

_MINUTE, _HOUR = 60.0, 3600.0


# the cure on a cold bench


def _bench(n: Numbers) -> float:
    return n["label"] - n["colder"]


def _cure(n: Numbers) -> float:
    given = SettingTimes(fixture=n["fixture"] * _MINUTE, cure=n["cure"] * _HOUR)
    found = at_temperature(given, from_unit(_bench(n), "degC"), from_unit(n["label"], "degC"))
    return found.cure or 0.0


CURE = Exercise(
    id="locker-3",
    kind="quantity",
    dimension="time",
    draws={
        "label": (20, 22, 23, 25),
        "colder": (10, 20),
        "cure": (12, 18, 24, 36, 48),
        "fixture": (15, 20, 30),
    },
    ask=lambda n: (
        f"A locker's label says: at {n['label']:g} °C, fixture {n['fixture']:g} min, cure "
        f"{n['cure']:g} h. The pump is put together in the yard, and the parts have "
        f"{_bench(n):g} °C. How long until the locker holds?"
    ),
    right=_cure,
    why=lambda n: (
        f"It is {n['colder']:g} K colder, so the time doubles "
        f"{'once' if n['colder'] == 10 else 'twice'}: {n['cure']:g} h become "
        f"{number(_cure(n) / _HOUR)} h. A warm room is the better way; the pump does not "
        "run before."
    ),
    wrong=(
        Slip(
            "the label's time though it is cold",
            lambda n: n["cure"] * _HOUR,
            "That is the time on the label. The parts are colder than the label counts on.",
        ),
        Slip(
            "halved in the cold",
            lambda n: (n["cure"] * _HOUR) ** 2 / _cure(n),
            "You made it shorter. Setting is a reaction, and it goes slower in the cold.",
        ),
        Slip(
            "doubled only once",
            lambda n: None if n["colder"] == 10 else 2.0 * n["cure"] * _HOUR,
            "That is for ten degrees. Each further ten degrees doubles it again.",
        ),
        Slip(
            "one label time more for each ten degrees",
            lambda n: None if n["colder"] == 10 else n["cure"] * _HOUR * (1.0 + n["colder"] / 10.0),
            "You added the label's time for each ten degrees. Each ten doubles what was there.",
        ),
        Slip(
            "fixture time for cure",
            lambda n: n["fixture"] * _MINUTE * _cure(n) / (n["cure"] * _HOUR),
            "That is when it can be handled. It holds only after the cure.",
        ),
    ),
)


# how long a thread stays open while the passes are made


def _passes(n: Numbers) -> list[tuple[int, ...]]:
    layout = circle(int(n["count"]), 0.2)
    return [cross_order(layout)] * int(n["passes"])


def _rotation(n: Numbers) -> tuple[int, ...]:
    return rotation_order(circle(int(n["count"]), 0.2))


def _span(n: Numbers) -> float:
    return longest_open([*_passes(n), _rotation(n)], n["each"]).span


def _open_longest(n: Numbers) -> int:
    return longest_open([*_passes(n), _rotation(n)], n["each"]).position


def _places(n: Numbers) -> tuple[int, int]:
    """Where the longest open screw stands in the first pass and in the last, from 1."""
    screw = _open_longest(n)
    return _passes(n)[0].index(screw) + 1, _rotation(n).index(screw) + 1


OPEN = Exercise(
    id="locker-4",
    kind="quantity",
    dimension="time",
    points=2,
    draws={"count": (4, 6, 8), "passes": (2, 3), "each": (6, 8, 9, 10, 12, 15)},
    ask=lambda n: (
        f"A flange has {n['count']:g} screws, numbered clockwise. Each thread is wetted with "
        "locker as its screw goes in, in the first pass. There are "
        f"{n['passes']:g} passes in the order {' '.join(str(one) for one in _passes(n)[0])}, and "
        f"then one round 1, 2, 3 … up to {n['count']:g}. Each screw takes {n['each']:g} s in each "
        f"of them. For how long is the thread of screw {_open_longest(n)} worked: from the start "
        "of its first turn to the end of its last?"
    ),
    right=_span,
    why=lambda n: (
        f"Screw {_open_longest(n)} is number {_places(n)[0]} in the first pass and number "
        f"{_places(n)[1]} in the last round. From the one to the other, both counted, there are "
        f"{_span(n) / n['each']:g} turns of {n['each']:g} s: {show(_span(n), 's')}. No thread is "
        "open longer; this is the time to hold against the working time."
    ),
    wrong=(
        Slip(
            "all the work from first to last screw",
            lambda n: (n["passes"] + 1) * n["count"] * n["each"],
            "That is the whole job. This thread was not wetted at the start, or was done before "
            "the end.",
        ),
        Slip(
            "round in rotation left out",
            lambda n: ((n["passes"] - 1) * n["count"] + 1) * n["each"],
            "You stopped after the passes. The last round turns the thread once more.",
        ),
        Slip(
            "its own turns alone",
            lambda n: (n["passes"] + 1) * n["each"],
            "You counted only the turns at this screw. Its locker sets while you are at the "
            "others, too.",
        ),
        Slip(
            "last turn not counted",
            lambda n: _span(n) - n["each"],
            "You stopped where its last turn begins. Count to the end of it.",
        ),
    ),
    hint="Number all the turns one after another, 1, 2, 3 …, and find the screw's first and last.",
)


# a screw that is found too loose

_TURN_ON = "turn it on to its torque now"
_LEAVE = "leave it as it is; the locker will hold it"
_REMAKE = "take it out, clean both threads, wet them anew and tighten again"
_BEYOND = "turn it on and a little past its torque, as the locker grips by now"


def _working(n: Numbers) -> float:
    given = SettingTimes(working=n["working"] * _MINUTE)
    found = at_temperature(given, from_unit(n["bench"], "degC"), from_unit(23.0, "degC"))
    return found.working or 0.0


def _what_to_do(n: Numbers) -> str:
    return _TURN_ON if n["since"] * _MINUTE < _working(n) else _REMAKE


def _late(n: Numbers, warm: bool, cold: bool) -> str | None:
    """Turning on, as the slip that fits: the label trusted in the warm, the cold trusted, late."""
    if _what_to_do(n) == _TURN_ON:
        return None
    by_label = n["since"] < n["working"]
    by_cold = n["bench"] < 23 and not by_label and n["since"] < 2.0 * n["working"]
    return _TURN_ON if (warm, cold) == (by_label, by_cold) else None


BELOW = Exercise(
    id="locker-5",
    kind="choice",
    options=(_LEAVE, _TURN_ON, _BEYOND, _REMAKE),
    draws={
        "working": (5, 10),
        "bench": (13, 23, 33),
        "since": (1.5, 2, 3, 4, 6, 7, 8, 12, 15, 18, 45, 90),
    },
    sound=lambda n: 0.55 < n["since"] / n["working"] < 4.5 or n["bench"] == 23,
    ask=lambda n: (
        f"A locker may be worked for {n['working']:g} min at 23 °C. The bench has "
        f"{n['bench']:g} °C. {n['since']:g} min after its thread was wetted, a screw is found "
        "below its torque. What do you do?"
    ),
    right=_what_to_do,
    why=lambda n: (
        f"At {n['bench']:g} °C count on {number(_working(n) / _MINUTE, 2)} min of working time. "
        + (
            f"{n['since']:g} min are within it: the film is still wet and closes again."
            if _what_to_do(n) == _TURN_ON
            else f"{n['since']:g} min are past it: turning now tears a film that does not heal."
        )
        + (" In the cold it sets later, but nobody counts on that." if n["bench"] < 23 else "")
    ),
    wrong=(
        Slip(
            "begun anew though still wet",
            lambda n: _REMAKE if _what_to_do(n) == _TURN_ON else None,
            "That is right for later. Here the locker is still within its working time.",
        ),
        Slip(
            "label's time taken on a warm bench",
            lambda n: _late(n, warm=True, cold=False),
            "That would do at the label's temperature. This bench is warmer, and ten degrees "
            "halve the time.",
        ),
        Slip(
            "longer time counted on in the cold",
            lambda n: _late(n, warm=False, cold=True),
            "It does set later in the cold, but how much later is not sure. For the working time "
            "nobody counts on more than the label gives.",
        ),
        Slip(
            "turned after it has begun to set",
            lambda n: _late(n, warm=False, cold=False),
            "The working time is over. A screw turned now tears the locker, and its torque tells "
            "of the locker and not of the preload.",
        ),
        Slip(
            "locker trusted in place of preload",
            lambda _: _LEAVE,
            "Locker keeps a screw from turning. It does not clamp: a joint below its torque still "
            "moves and weeps.",
        ),
        Slip(
            "set past the torque",
            lambda _: _BEYOND,
            "Nobody knows how much of that torque the locker takes, so the preload is a guess. "
            "The torque given is not exceeded.",
        ),
    ),
)


# medium or high

_MEDIUM = "medium strength"
_HIGH = "high strength"
_NONE = "no locker"
_PLACES = {
    "the screws of the air motor's flange, taken off at each overhaul with hand tools": _MEDIUM,
    "the screws of the gear case, undone once a year on the bench": _MEDIUM,
    "the piston's nut on its rod, inside the cylinder": _HIGH,
    "the screw that holds a plunger on its crosshead": _HIGH,
    "the screws in a sight glass of clear plastic": _NONE,
    "the yokes of the valve caps, greased and undone every week": _NONE,
}

KIND = Exercise(
    id="locker-6",
    kind="choice",
    options=(_HIGH, _MEDIUM, _NONE),
    draws={"place": tuple(_PLACES)},
    ask=lambda n: (
        f"The sheet for these has been lost: {n.word('place')}. What would a shop commonly use "
        "there, until the maker is asked?"
    ),
    right=lambda n: _PLACES[n.word("place")],
    why=lambda n: {
        _MEDIUM: ("Medium keeps a screw from working loose and still comes apart with hand tools."),
        _HIGH: (
            "What would wreck the pump if it came undone, and is reached only with the pump "
            "apart, gets high strength. It is undone with heat."
        ),
        _NONE: (
            "Locker cracks many clear plastics, and on a thread that is greased or undone every "
            "week it does nothing but harm."
        ),
    }[_PLACES[n.word("place")]],
    wrong=(
        Slip(
            "high where it has to come apart",
            lambda n: _HIGH if _PLACES[n.word("place")] != _HIGH else None,
            "High strength wants heat to undo. Ask how often this is taken apart, and what heat "
            "does there.",
        ),
        Slip(
            "medium in the wrong place",
            lambda n: _MEDIUM if _PLACES[n.word("place")] != _MEDIUM else None,
            "Ask two things: what happens if it comes undone, and does the locker bear with what "
            "it touches?",
        ),
        Slip(
            "none where it would work loose",
            lambda n: _NONE if _PLACES[n.word("place")] != _NONE else None,
            "Every stroke shakes this one. Without locker it works loose.",
        ),
    ),
)


# the order of work

_CLEAN = "clean both threads with solvent and let them dry"
_WET = "wet the thread with locker"
_IN = "run the screws in by hand until the parts lie flat"
_TIGHTEN = "tighten in passes to the torque given for wet locker"
_WAIT = "leave it alone until the cure is over"

STEPS = Exercise(
    id="locker-7",
    kind="order",
    options=(_TIGHTEN, _WET, _WAIT, _IN, _CLEAN),
    draws={"where": ("an air motor's flange", "a gear case", "a crosshead guide")},
    ask=lambda n: f"The screws of {n.word('where')} are to be locked. Put the work in order.",
    right=lambda _: (_CLEAN, _WET, _IN, _TIGHTEN, _WAIT),
    why=lambda _: (
        "Oil keeps locker from setting, so cleaning comes first. All turning is done while it is "
        "wet; after that nobody touches it until it has cured."
    ),
    wrong=(
        Slip(
            "wetted before cleaning",
            lambda _: (_WET, _CLEAN, _IN, _TIGHTEN, _WAIT),
            "The solvent would wash the locker off again.",
        ),
        Slip(
            "wetted after the screws are in",
            lambda _: (_CLEAN, _IN, _WET, _TIGHTEN, _WAIT),
            "With the screws run in, the locker reaches only the first turn of the thread.",
        ),
        Slip(
            "tightened after the cure",
            lambda _: (_CLEAN, _WET, _IN, _WAIT, _TIGHTEN),
            "A cured locker is broken by turning. All tightening belongs before the cure.",
        ),
    ),
)
