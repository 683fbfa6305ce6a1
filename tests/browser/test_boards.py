"""Every board in a real JupyterLab, by keyboard: what it shows is what the worksheet works out."""

import subprocess
import sys

import pytest

from rebuildbook.sheets import load_case
from rebuildbook.units import from_unit, to_unit
from rebuildbook.whatif import NAMES
from rebuildbook.whatif.boards import board as board_named
from rebuildbook.whatif.play import Play
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.model import Value

JOINT = {"joint", "order", "mixup"}  # whose notebooks pick the cover
KNOB = {"wrench": "setting"}  # its first is the angle of an adapter that this joint has not


@pytest.fixture(scope="module", params=NAMES)
def opened(request, lab):
    """A board in the browser and the same in hand, with a knob that has a slider."""
    board = lab.open(request.param)
    board.shoot()
    play = Play(board_named(request.param), lab.root / "parameters" / "jobs" / "TW-2601.yaml")
    if request.param in JOINT:
        play.pick({"joint": "fluid-cover"})
    sliders = [entry.knob for entry in play.entries.values() if entry.takes is not None]
    chosen = KNOB.get(request.param, sliders[0].name)
    return board, play, next(knob for knob in sliders if knob.name == chosen)


def said(value):
    """How the table says a value."""
    text = f"{value.shown} {value.other}" if isinstance(value, Value) else value
    return " ".join(text.split())


def meant(answer):
    """What the table should say, by id."""
    return {number.id: said(number.value) for number in answer.numbers}


def test_a_slider_moved_by_keys_changes_field_figure_and_numbers_to_the_calculators(opened):
    board, play, knob = opened
    figure, field = board.figure(), board.field(knob.label)
    slider = board.slider(knob.label)
    for _ in range(4):
        before = field.input_value()
        slider.press("ArrowRight")
        board.wait_for_change(field, before)
    text = field.input_value()
    low, high = play.entries[knob.name].stops
    place = float(slider.get_attribute("aria-valuetext"))
    assert low <= place <= high
    assert play.typed(knob.name, text)
    assert play.entries[knob.name].stop == pytest.approx(place)
    board.wait_for_rows(meant(play.after))
    assert board.figure() != figure


def test_a_typed_value_is_worked_out_as_the_worksheet_does(opened):
    board, play, knob = opened
    aim = from_unit(knob.low + 0.4 * (knob.high - knob.low), knob.unit)
    unit = knob.other or knob.unit
    typed, figure = f"{to_unit(aim, unit):.4g} {unit}", board.figure()
    board.type(knob.label, typed)
    board.wait_for_figure(figure)
    text = board.field(knob.label).input_value()
    setting = f"{knob.setting}={text}"
    assert play.typed(knob.name, text) and play.settings == (setting,)
    board.wait_for_rows(meant(play.after))
    assert board.rows("before") == meant(play.before) != board.rows()
    sheet = open_worksheet(play.card, [setting])
    lines = {line.id: line.value for part in sheet.sections.values() for line in part.lines()}
    for id_, text in board.rows().items():
        assert id_ not in lines or text == said(lines[id_])


def test_a_wrong_unit_is_refused_beside_its_field(opened):
    board, _, knob = opened
    good, figure = board.rows(), board.figure()
    board.type(knob.label, "18 furlongs")
    alert = board.knob(knob.label).get_by_role("alert")
    alert.wait_for()
    assert "Not taken: '18 furlongs'" in alert.inner_text()
    assert board.at.get_by_role("alert").count() == 1
    assert board.field(knob.label).input_value() == "18 furlongs"
    field, message = board.field(knob.label).bounding_box(), alert.bounding_box()
    assert 0 <= message["y"] - field["y"] < 200 and abs(message["x"] - field["x"]) < 30
    assert (board.rows(), board.figure()) == (good, figure)


def test_what_is_written_is_the_case_that_is_shown(opened, lab):
    board, play, _ = opened
    board.at.get_by_role("button", name="Write override file").press("Enter")
    board.at.get_by_text("Written: ").wait_for()
    board.shoot("-changed")
    path = lab.root / "parameters" / "what-if" / "TW-2601" / f"{board.name}.yaml"
    case = load_case(path)
    assert case.overrides == play.settings
    assert case.job == load_case(play.card, play.settings).job


def test_a_case_is_kept_and_put_back_and_all_is_reset(opened):
    board, _, _ = opened
    changed, before = board.rows(), board.rows("before")
    board.type("Name of this case", "tried")
    board.at.get_by_role("button", name="Keep this case").press("Enter")
    board.at.get_by_role("button", name="Put back tried").wait_for()
    board.at.get_by_role("button", name="Reset all").press("Space")
    board.wait_for_rows(before)
    board.at.get_by_role("button", name="Put back tried").press("Enter")
    board.wait_for_rows(changed)


def test_it_can_be_read_narrow_and_enlarged(opened, lab):
    board, _, _ = opened
    page = lab.page
    try:
        for width in (1000, 700):  # 700 is also a window of 1400 enlarged to 200 %
            page.set_viewport_size({"width": width, "height": 1000})
            page.wait_for_timeout(100)
            wide, room = board.at.evaluate("e => [e.scrollWidth, e.clientWidth]")
            assert wide <= room + 1, width
            cut = board.at.locator("label, button, .rb-now, .rb-wrong").evaluate_all(
                "all => all.filter(e => e.offsetParent && e.scrollWidth > e.clientWidth + 1"
                " && getComputedStyle(e).overflow !== 'visible').map(e => e.innerText)"
            )
            assert cut == []
        board.shoot("-narrow")
    finally:
        page.set_viewport_size({"width": 1400, "height": 1000})


def test_tab_reaches_every_control_and_the_focus_is_seen(lab):
    board = lab.open("wrench")
    controls = board.at.locator(
        "input:visible, select:visible, button:visible:not([disabled]), [role=slider]:visible"
    )
    wanted = controls.count()
    assert wanted > 8
    controls.first.focus()
    reached = set()
    for _ in range(wanted + 3):
        place, outline = lab.page.evaluate(
            """() => {
                const e = document.activeElement, all = [...document.querySelectorAll(
                    '.jp-NotebookPanel:not(.lm-mod-hidden) .rb-board *')];
                return [all.indexOf(e), getComputedStyle(e).outlineStyle];
            }"""
        )
        if place < 0:
            break
        assert outline == "solid"
        assert place not in reached
        reached.add(place)
        lab.page.keyboard.press("Tab")
    assert len(reached) >= wanted
    labelled = board.at.locator("input:visible, select:visible")
    assert labelled.evaluate_all("all => all.filter(e => !e.labels.length).length") == 0


def test_the_runner_takes_what_a_board_wrote(lab):
    file = lab.root / "parameters" / "what-if" / "TW-2601" / "joint.yaml"
    ended = subprocess.run(
        [sys.executable, "-m", "rebuildbook", "run", str(file), "--out", "out"],
        cwd=lab.root, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert ended.returncode == 0, ended.stdout + ended.stderr
    page = (lab.root / "out" / "TW-2601+joint" / "worksheet.html").read_text(encoding="utf-8")
    assert "This sheet is a what-if" in page
