"""A learner's numbers: the same on every machine, and drawn as they are said to be."""

import hashlib
import subprocess
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.lessons import numbers as numbers_module
from rebuildbook.lessons.numbers import Numbers, draw, normalised, steps
from rebuildbook.lessons.registry import LESSONS

DRAWS = {"torque": (10, 20, 30, 40, 50, 60, 70), "side": ("left", "right")}


def by_hand(name: str, exercise: str, attempt: int, key: str, options):
    """The draw written down anew: first eight bytes of SHA-256 as a fraction of all."""
    words = f"lesson numbers 1\0{name}\0{exercise}\0{attempt}\0{key}".encode()
    fraction = int(hashlib.sha256(words).hexdigest()[:16], 16)
    return options[fraction * len(options) // 2**64]


@pytest.mark.parametrize("name", ["", "ana", "zoë", "李 雷", "o'neil =cmd"])
@pytest.mark.parametrize("attempt", [0, 3])
def test_a_draw_is_what_the_hash_says(name, attempt):
    found = draw(name, "units-1", DRAWS, attempt)
    for key, options in DRAWS.items():
        assert found.values[key] == by_hand(name, "units-1", attempt, key, options)


def test_a_few_numbers_stay_what_they_were_when_handed_out():
    # printed papers are out there; new numbers need a new series on purpose
    told = {
        (name, learner): dict(LESSONS[name].exercises[0].numbers(learner).values)
        for name in ("units-and-wrenches", "reading-a-test")
        for learner in ("", "Ana")
    }
    assert told == {
        ("units-and-wrenches", ""): {"torque": 28},
        ("units-and-wrenches", "Ana"): {"torque": 16},
        ("reading-a-test", ""): {"fault": "lower inlet", "severity": 0.04},
        ("reading-a-test", "Ana"): {"fault": "lower outlet", "severity": 0.06},
    }


def test_two_interpreters_with_other_hashes_draw_the_same():
    # the module alone: it needs nothing of ours, and the rest takes seconds to load
    program = (
        "import importlib.util as load, sys\n"
        f"spec = load.spec_from_file_location('drawn', {numbers_module.__file__!r})\n"
        "sys.modules['drawn'] = drawn = load.module_from_spec(spec)\n"
        "spec.loader.exec_module(drawn)\n"
        "draws = {'torque': drawn.steps(10, 90, 5), 'side': ('left', 'right', 'both')}\n"
        "for name in ('', 'Ana', 'Žofie', '李雷'):\n"
        "    print([dict(drawn.draw(name, f'x-{k}', draws, k).values) for k in range(9)])\n"
    )
    told = [
        subprocess.run(
            [sys.executable, "-c", program],
            env={"PYTHONHASHSEED": seed, "PYTHONIOENCODING": "utf-8"},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "4711")
    ]
    assert told[0] == told[1] and told[0].count("torque") == 36


@given(st.text(max_size=40))
def test_capitals_spaces_and_composition_do_not_matter(name):
    for other in (
        name.upper().lower() if name.isascii() else name,
        f"  {name}\t",
        unicodedata.normalize("NFD", name),
        name.replace(" ", "\u00a0  "),
        f"\u200b{name}\u200e",
    ):
        assert normalised(other) == normalised(name)


@given(st.text(max_size=40), st.text(max_size=40))
def test_other_letters_are_another_learner(one, other):
    if normalised(one) != normalised(other):
        keys = [f"{one}-{place}" for place in range(8)]
        many = {"value": tuple(range(10_000))}
        assert [draw(one, key, many).values for key in keys] != [
            draw(other, key, many).values for key in keys
        ]


def test_every_option_is_drawn_about_as_often():
    counts = dict.fromkeys(DRAWS["torque"], 0)
    for place in range(1400):
        counts[draw(f"learner {place}", "x", DRAWS)["torque"]] += 1
    # 200 expected each; seven standard deviations are 92
    assert all(108 < count < 292 for count in counts.values()), counts


def test_numbers_and_words_are_told_apart():
    numbers = Numbers("", {"torque": 12, "side": "left"})
    assert numbers["torque"] == 12 and numbers.word("side") == "left"
    with pytest.raises(TypeError, match="side is a word"):
        numbers["side"]
    with pytest.raises(TypeError, match="torque is a number"):
        numbers.word("torque")


@pytest.mark.parametrize("given_steps", [(1, 2, 0.3), (1, 2, -0.5), (2, 1, 0.5), (1, 1, 1)])
def test_steps_that_do_not_come_out_even_are_refused(given_steps):
    with pytest.raises(ValueError, match="come out even"):
        steps(*given_steps)
