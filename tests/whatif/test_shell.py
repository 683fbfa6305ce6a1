"""The shell as widgets, without a browser: one draw for a change, messages, tried cases, files."""

import re

import pytest

from rebuildbook.sheets import load_case
from rebuildbook.whatif import NAMES, open_board
from rebuildbook.whatif.shell import Shell
from rebuildbook.whatif.shown import change
from rebuildbook.worksheet.model import Value


@pytest.fixture
def shell(board, card, monkeypatch, sheets):
    monkeypatch.chdir(sheets.parent)
    return Shell(board, str(card))


def cell(shell, id_, when):
    row = re.search(rf'<tr data-id="{id_}".*?</tr>', shell.results.value)[0]
    return re.sub(r"<[^>]+>", "", re.search(rf'data-when="{when}">(.*?)</td>', row)[1])


def field(shell, name):
    return shell._fields[name]


def test_text_moves_the_slider_and_the_slider_the_text_once_each(shell):
    torque, drawn = field(shell, "torque"), shell.drawn
    torque.field.value = "40 to 44 N*m"
    assert torque.slider.value == pytest.approx(42.0, abs=torque.slider.step / 2)
    assert torque.field.value == "40 to 44 N*m"
    assert shell.drawn == drawn + 1
    torque.slider.value = 50.0
    assert torque.field.value == "44.776 to 55.224 N*m"  # 30 to 37: 10.4 % to either side
    assert torque.slider.value == 50.0
    assert shell.drawn == drawn + 2
    assert cell(shell, "middle", "before") == "33.5 N·m 24.7 ft·lbf"
    assert cell(shell, "middle", "after") == "50.0 N·m 36.9 ft·lbf"
    assert "33.5 then 50 N·m" in shell.figure.value


def test_a_slider_echoed_by_the_browser_changes_nothing(shell):
    torque, drawn = field(shell, "torque"), shell.drawn
    torque.field.value = "40.2 to 44.2 N*m"
    torque.slider.value = torque.slider.value + 1e-9
    assert torque.field.value == "40.2 to 44.2 N*m"
    assert shell.drawn == drawn + 1


def test_wrong_input_is_answered_beside_its_field_and_nowhere_else(shell):
    torque = field(shell, "torque")
    torque.field.value = "40 to 44 N*m"
    shown = shell.results.value, shell.figure.value
    torque.field.value = "18 <b>mm"
    assert torque.field.value == "18 <b>mm"  # to be mended, not typed again
    assert 'role="alert"' in torque.now.value
    assert "18 &lt;b&gt;mm" in torque.now.value
    assert "last good answer" in torque.now.value
    assert (shell.results.value, shell.figure.value) == shown
    assert not any("alert" in one.now.value for one in shell._fields.values() if one is not torque)
    torque.field.value = "41 to 43 N*m"
    assert "alert" not in torque.now.value


def test_reset_of_one_and_of_all(shell):
    torque, rate = field(shell, "torque"), field(shell, "rate")
    assert torque.back.disabled and shell.reset_all.disabled
    torque.slider.value, rate.slider.value = 50.0, 20.0
    torque.back.click()
    assert torque.field.value == "30 to 37 N*m"
    assert "changed" not in torque.now.value and "changed" in rate.now.value
    shell.reset_all.click()
    assert rate.field.value == "28 cycles/min"
    assert shell.play.settings == ()
    assert cell(shell, "middle", "after") == cell(shell, "middle", "before")


def test_findings_say_what_they_were_before(shell):
    field(shell, "torque").field.value = "14 to 16 N*m"
    text = shell.judged.value
    assert "■ HOLD" in text and "(before: clear)" in text
    assert "Tight &lt;enough&gt;" in text and "<enough>" not in text


def test_a_choice_and_a_view(shell):
    field(shell, "condition").field.value = "oiled"
    assert cell(shell, "on", "before") == "greased"
    assert cell(shell, "on", "after") == "oiled"
    step, unit = shell.views.children
    unit.value, step.value = "ft*lbf", 3
    assert cell(shell, "middle", "after") == "24.7 ft·lbf 33.5 N·m"
    assert shell.play.settings == ("joints.fluid-cover.condition=oiled",)


def test_tried_cases_are_kept_put_back_and_removed(shell):
    field(shell, "torque").field.value = "40 to 44 N*m"
    shell.tried.name.value = "tight <one>"
    shell.tried.button.click()
    shell.reset_all.click()
    shell.tried.button.click()
    (first, second) = shell.tried.rows.children
    assert "tight &lt;one&gt;" in first.children[0].value
    assert "joints.fluid-cover.torque=40 to 44 N*m" in first.children[0].value
    assert "Case 2" in second.children[0].value
    first.children[1].click()
    assert field(shell, "torque").field.value == "40 to 44 N*m"
    assert cell(shell, "middle", "after").startswith("42.0")
    first.children[2].click()
    assert len(shell.tried.rows.children) == 1


def test_the_file_that_is_written_is_the_case_that_is_shown(shell, card):
    field(shell, "torque").field.value = "18 to 22 ft*lbf"
    field(shell, "condition").field.value = "oiled"
    shell.written.title.value = "Less, oiled"
    assert shell.written.place.value == "parameters/what-if/TW-2601/small.yaml"
    shell.written.button.click()
    path = card.parents[1] / "what-if" / "TW-2601" / "small.yaml"
    case = load_case(path)
    assert case.model == load_case(card, shell.play.settings).model
    assert "rebuildbook run parameters/what-if/TW-2601/small.yaml" in shell.written.message.value
    # the same name again is asked about
    field(shell, "condition").field.value = "greased"
    before = path.read_bytes()
    shell.written.button.click()
    assert "is there already" in shell.written.message.value
    assert path.read_bytes() == before
    assert shell.written.replace.layout.display is None
    shell.written.replace.click()
    assert "oiled" not in path.read_text(encoding="utf-8").partition("settings:")[2]
    assert shell.written.replace.layout.display == "none"


def test_cards_are_listed_and_a_bad_path_leaves_the_open_one(shell, card):
    assert [label for label, _ in shell.picker.listed.options] == ["TW-2601", "TW-2606"]
    shell.picker.typed.value = "nowhere.yaml"
    assert "nowhere.yaml is not there" in shell.picker.message.value
    assert "TW-2601 is still open" in shell.picker.message.value
    assert shell.picker.typed.value == "nowhere.yaml"
    assert shell.play.card == card
    field(shell, "rate").slider.value = 20.0
    shell.picker.listed.value = shell.picker.listed.options[1][1]
    assert "TW-2601 is still open" in shell.picker.message.value  # it has no such joint
    assert shell.picker.listed.value.endswith("TW-2601.yaml")
    assert shell.play.settings == ("duty.rate=20 1/min",)


def test_another_card_begins_anew(shell, card):
    field(shell, "rate").slider.value = 20.0
    shell.tried.button.click()
    other = card.with_name("TW-2607.yaml")
    text = card.read_text(encoding="utf-8").replace("rate: 28 cycles", "rate: 30 cycles")
    other.write_text(text, encoding="utf-8")
    shell.picker.typed.value = str(other)
    assert shell.picker.message.value == ""
    assert [label for label, _ in shell.picker.listed.options] == ["TW-2601", "TW-2606", "TW-2607"]
    assert cell(shell, "rate", "before") == cell(shell, "rate", "after") == "30.0 /min"
    assert shell.play.settings == ()
    assert shell.tried.rows.children == ()


def test_a_what_if_can_be_gone_on_from(shell, sheets):
    field(shell, "torque").field.value = "40 to 44 N*m"
    shell.written.button.click()
    shell.picker.typed.value = "parameters/what-if/TW-2601/small.yaml"
    assert cell(shell, "middle", "before").startswith("42.0")
    field(shell, "rate").field.value = "20 cycles/min"
    assert shell.written.place.value == "parameters/what-if/TW-2601/small-2.yaml"
    shell.written.button.click()
    case = load_case(sheets / "what-if" / "TW-2601" / "small-2.yaml")
    assert case.overrides == ("joints.fluid-cover.torque=40 to 44 N*m", "duty.rate=20 cycles/min")
    labels = [label for label, _ in shell.picker.listed.options]
    assert "what-if: TW-2601 small" in labels


def test_what_is_chosen_by_the_notebook(board, card):
    shell = Shell(board, str(card), joint="tie-rods", step=2, rate="20 cycles/min")
    assert shell.play.picked == {"joint": "tie-rods"}
    assert shell.play.seen["step"] == 2
    assert shell.play.settings == ("duty.rate=20 cycles/min",)


def test_what_the_notebook_chose_and_the_card_has_not_is_told_and_the_board_opens(board, card):
    shell = Shell(board, str(card), joint="lid", step=2)
    assert "no joint &#x27;lid&#x27;" in shell.message.value
    assert shell.play.picked == {"joint": "fluid-cover"}
    assert shell.play.seen["step"] == 2
    assert cell(shell, "middle", "after").startswith("33.5")


def test_no_card_is_a_message_and_no_crash(board, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shell = Shell(board, "nothing.yaml")
    assert "No card is open" in shell.picker.message.value
    assert "TW-2601" in dict(shell.picker.listed.options)  # those of the checkout
    shell.reset_all.click()
    shell.tried.button.click()
    shell.written.button.click()
    assert "no card is open" in shell.written.message.value


def test_an_unknown_board_is_told_with_the_known_ones():
    with pytest.raises(ValueError, match=", ".join(NAMES)):
        open_board("bolt")


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (0.5, 0.6, "up by 10 points"),  # of a percentage
        (0.5, 0.5001, "same"),  # both read 50.0 %
    ],
)
def test_a_change_of_a_percentage_is_told_in_points(before, after, words):
    told = change(Value(before, "fraction", "%"), Value(after, "fraction", "%"))
    assert told.replace("\u00a0", " ") == words


def test_no_share_is_told_across_zero():
    assert change(Value(7.0, "force", "N"), Value(-2.0, "force", "N")) == "down"
    assert change(Value(0.0, "force", "N"), Value(2.0, "force", "N")) == "up"
    assert change(Value(280.0, "temperature", "degC"), Value(290.0, "temperature", "degC")) == "up"
