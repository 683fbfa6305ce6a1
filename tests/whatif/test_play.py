"""What is set on a board is a case of the sheets; what is refused changes nothing."""

import pytest

from rebuildbook.sheets import SheetError, load_case
from rebuildbook.whatif.play import Play


def middle(play):
    return play.after.numbers[0].value.si


def test_before_is_the_card_and_after_is_the_case_with_the_settings(board, card):
    play = Play(board, card)
    assert play.settings == ()
    assert play.after is play.before
    assert play.typed("torque", "40 to 44 N*m")
    assert play.typed("condition", "oiled")
    case = load_case(card, play.settings)
    assert middle(play) == case.model.joints["fluid-cover"].torque.nominal == 42.0
    assert play.before.numbers[0].value.si == 33.5
    assert case.model.joints["fluid-cover"].condition == "oiled"


def test_what_is_refused_leaves_the_last_good_answer(board, card):
    play = Play(board, card)
    play.typed("torque", "40 to 44 N*m")
    for wrong in ("40", "40 mm", "8 to 9 N*m"):  # no unit, no torque, nothing the board can do
        assert not play.typed("torque", wrong)
        assert play.refused["torque"]
        assert middle(play) == 42.0
        assert play.settings == ("joints.fluid-cover.torque=40 to 44 N*m",)
    assert play.typed("torque", "50 to 52 N*m")
    assert play.refused == {}


def test_a_value_that_the_sheets_refuse_together_with_others_is_told(board, card):
    play = Play(board, card)
    assert not play.typed("rate", "-3 cycles/min")
    assert "negative" in play.refused["rate"]


def test_resets_go_back_to_the_very_answer_before(board, card):
    play = Play(board, card)
    play.slid("torque", 50.0)
    play.slid("rate", 20.0)
    assert play.reset("rate")
    assert [one.split("=")[0] for one in play.settings] == ["joints.fluid-cover.torque"]
    play.reset()
    assert play.settings == ()
    assert play.after is play.before


def test_one_change_is_worked_out_once(board, card):
    play = Play(board, card)
    begun = board.answers
    play.slid("torque", 50.0)
    play.slid("torque", 50.0)  # the same again is no change
    assert board.answers == begun + 1


def test_picking_another_joint_keeps_what_is_set_of_the_knobs_that_stay(board, card):
    play = Play(board, card)
    play.slid("rate", 20.0)
    play.slid("torque", 50.0)
    play.pick({"joint": "tie-rods"})
    assert [one.split("=")[0] for one in play.settings] == ["duty.rate"]
    with pytest.raises(ValueError, match="there are fluid-cover, tie-rods"):
        play.pick({"joint": "lid"})
    assert play.picked == {"joint": "tie-rods"}


def test_a_tried_case_comes_back_as_it_was(board, card):
    play = Play(board, card)
    play.typed("torque", "40 to 44 N*m")
    kept = play.keep("tight")
    play.pick({"joint": "tie-rods"})
    play.slid("rate", 20.0)
    play.put_back(kept)
    assert play.picked == {"joint": "fluid-cover"}
    assert play.settings == kept.settings == ("joints.fluid-cover.torque=40 to 44 N*m",)
    assert middle(play) == 42.0
    assert kept.numbers == play.after.numbers[:3]


def test_views_change_what_is_shown_and_no_sheet(board, card):
    play = Play(board, card)
    play.see("step", 3)
    assert play.after.findings[0].compared == "step 3"
    assert play.settings == ()
    with pytest.raises(ValueError, match=r"there are N\*m, ft\*lbf"):
        play.see("unit", "kg")
    with pytest.raises(ValueError, match="no view 'zoom'"):
        play.see("zoom", 2)


def test_a_card_that_cannot_be_worked_out_as_it_stands_can_be_set_right(board, card):
    text = card.read_text(encoding="utf-8").replace("model: slip-piston-4b", "model: loose")
    model = card.parents[1] / "models" / "slip-piston-4b.yaml"
    loose = model.read_text(encoding="utf-8").replace("30 to 37 N*m", "10 to 11 N*m")
    loose = loose.replace("name: slip-piston-4b", "name: loose")
    (model.parent / "loose.yaml").write_text(loose, encoding="utf-8")
    card.write_text(text, encoding="utf-8")
    play = Play(board, card)
    assert play.problem == "too loose to be worked out"
    assert play.before is None
    assert play.typed("torque", "40 to 44 N*m")
    assert middle(play) == 42.0


def test_a_bad_card_is_told_with_its_line(board, card):
    bad = card.read_text(encoding="utf-8").replace("rate: 28 cycles/min", "rate: 28 mm")
    card.write_text(bad, encoding="utf-8")
    with pytest.raises(SheetError, match=r"TW-2601.yaml:\d+: duty.rate"):
        Play(board, card)
