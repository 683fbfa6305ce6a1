"""Exercises of lesson 4 on what crossing is for and when a joint is finished.

That the last pass is followed by rounds until no nut moves is common practice, no source.
"""

from __future__ import annotations

from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.flange_case import course
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import show

# what crossing does

_LEVEL = "the flange comes down level, so that no side is pinched"
_EVEN = "the screws end so even that no round is needed afterwards"
_LESS = "each screw needs less torque for the same preload"
_ALONE = "the screws no longer unload each other"

CROSSING = Exercise(
    id="order-5",
    kind="choice",
    options=(_EVEN, _LESS, _LEVEL, _ALONE),
    draws={"count": (8, 12, 16), "seal": ("a fibre ring", "a rubber sheet", "a PTFE ring")},
    ask=lambda n: (
        f"A flange with {n['count']:g} screws lies on {n.word('seal')}. What does it help to cross "
        "from side to side in the first passes?"
    ),
    right=lambda _: _LEVEL,
    why=lambda _: (
        "Going round, the side tightened first goes down first and the other stands open. In our "
        "model of eight screws set in one pass, one side gets up to "
        f"{show(course('round', 1).skew, 'mm', 2)} lower than the other, and with crossing "
        f"{show(course('cross', 1).skew, 'mm', 2)}. How even the screws end is the work of passes "
        "and rounds: in that model crossing alone leaves them no more even than going round."
    ),
    wrong=(
        Slip(
            "crossing taken for the whole cure",
            lambda _: _EVEN,
            "Whichever way you go, a screw set early loses to those set after it. Try both orders "
            "in the picture, without a round and with one.",
        ),
        Slip(
            "order taken for friction",
            lambda _: _LESS,
            "What a torque leaves in the screw just set is a matter of friction, whatever the "
            "order.",
        ),
        Slip(
            "interaction thought away",
            lambda _: _ALONE,
            "They share one flange and one gasket, so they do in any order.",
        ),
    ),
)


# when it is finished

_DONE = "it is finished: write it down"
_AGAIN = "go round once more at full torque"
_MORE = "go round once more, a tenth above the torque"
_BACK = "back off the nuts that did not move, to the level of the others"
_MOVED = {
    "no nut moved": _DONE,
    "the wrench clicked at every screw before a nut moved": _DONE,
    "one nut moved a little": _AGAIN,
    "three nuts moved, each less than in the round before": _AGAIN,
    "two nuts beside each other moved": _AGAIN,
}


def _next(n: Numbers) -> str:
    return _MOVED[n.word("moved")]


NEXT_STEP = Exercise(
    id="order-6",
    kind="choice",
    options=(_MORE, _AGAIN, _BACK, _DONE),
    draws={"moved": tuple(_MOVED), "round": ("first", "second", "third")},
    ask=lambda n: (
        f"The passes are done. In the {n.word('round')} round at full torque, {n.word('moved')}. "
        "What next?"
    ),
    right=_next,
    why=lambda n: (
        "No nut moves at full torque: every screw holds what the wrench gives. That is the end of "
        "it."
        if _next(n) == _DONE
        else "A nut that moves had lost something, and in moving it took something from its "
        "neighbours. Each round takes up less. Should it still move after four rounds or so, look "
        "for the reason: a soft gasket, a nut that bottoms, a bent flange."
    ),
    wrong=(
        Slip(
            "stopped while nuts still move",
            lambda n: _DONE if _next(n) != _DONE else None,
            "A nut that moved had been below its torque, and its neighbours have just lost a "
            "little by it.",
        ),
        Slip(
            "a round too many",
            lambda n: _AGAIN if _next(n) != _AGAIN else None,
            "It would do no harm, and no good either: at this torque nothing moves any more.",
        ),
        Slip(
            "above the torque",
            lambda _: _MORE,
            "The torque given is not exceeded. A round at full torque takes up what is left.",
        ),
        Slip(
            "tight screws let off",
            lambda _: _BACK,
            "Those hold what they should. It is the others that have lost some.",
        ),
    ),
)
