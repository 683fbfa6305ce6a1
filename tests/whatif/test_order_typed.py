"""An order of one's own, typed on the board: taken, refused in words, and put right."""

from pathlib import Path

import pytest

from rebuildbook.whatif.boards import board
from rebuildbook.whatif.play import Play

CARD = Path(__file__).resolve().parents[2] / "parameters" / "jobs" / "TW-2601.yaml"


@pytest.fixture
def play():
    play = Play(board("order"), CARD)
    play.pick({"joint": "fluid-cover"})
    return play


def values(play):
    return [number.value for number in play.after.numbers]


def test_typed_and_named_order_give_the_same(play):
    planned = values(play)
    play.see("order", "typed")
    assert values(play)[1:] == planned[1:]  # what stands there first is the planned order
    play.see("typed", "1 2 3 4 5 6 7 8")
    typed = values(play)
    assert typed[1:] != planned[1:]
    play.see("typed", "1, 2, 3, 4; 5-6 7 8")
    assert values(play) == typed


@pytest.mark.parametrize("words", ["1 2 3", "1 1 2 3 4 5 6 7", "cross", "", "0 1 2 3 4 5 6 7"])
def test_what_is_no_order_is_said_and_can_be_put_right(play, words):
    play.see("order", "typed")
    good = values(play)
    play.see("typed", words)
    assert play.problem
    assert "8" in play.problem
    play.see("typed", play.views[2].text)
    assert not play.problem
    assert values(play) == good
