"""The traveller: its times against sums by hand, its findings turned, its pages whole."""

from datetime import datetime
from pathlib import Path

import nbformat
import pytest

from rebuildbook.worksheet.document import SECTION_MIME, section_document
from rebuildbook.worksheet.formula import evaluate
from rebuildbook.worksheet.html import page_html
from rebuildbook.worksheet.model import Caution, Picture, Table, Value
from rebuildbook.worksheet.paper import page_pdf
from rebuildbook.worksheet.traveller import Traveller, open_traveller

ROOT = Path(__file__).resolve().parents[2]
JOBS = ROOT / "parameters" / "jobs"
CARDS = sorted(path.stem for path in JOBS.glob("*.yaml"))
MINUTE, HOUR = 60.0, 3600.0

# what was planted: pressure on the day the plungers were locked
PLANTED = {"TW-2606": {("hold", "time.test")}}


def opened(card: str, *settings: str) -> Traveller:
    return open_traveller(JOBS / f"{card}.yaml", settings)


def findings(traveller: Traveller) -> dict[str, str]:
    sections = (one for one in traveller.sections.values() if one.id != "findings")
    return {finding.id: finding.level for one in sections for finding in one.findings()}


def lines(traveller: Traveller):
    return {line.id: line for one in traveller.sections.values() for line in one.lines()}


def tables(traveller: Traveller, section: str) -> dict[str, Table]:
    blocks = traveller.sections[section].blocks
    return {block.title: block for block in blocks if isinstance(block, Table)}


@pytest.fixture(scope="module", params=CARDS)
def demo(request):
    return request.param, opened(request.param)


def test_the_planted_times_are_found_and_nothing_else(demo):
    card, traveller = demo
    found = {(level, id_) for id_, level in findings(traveller).items() if level != "clear"}
    assert found == PLANTED.get(card, set())


def test_every_formula_gives_its_line_from_the_inputs_shown(demo):
    _, traveller = demo
    for line in lines(traveller).values():
        if line.formula:
            assert isinstance(line.value, Value), line.id
            inputs = {symbol: value.si for symbol, value in line.inputs.items()}
            assert evaluate(line.formula, inputs) == pytest.approx(line.value.si, rel=1e-9), line.id
        assert line.method or line.data, line.id


def test_ids_are_unique_and_findings_have_sources_and_actions(demo):
    _, traveller = demo
    made = [f for s in traveller.sections.values() if s.id != "findings" for f in s.findings()]
    assert len({finding.id for finding in made}) == len(made)
    assert all(finding.source for finding in made)
    assert all(finding.action for finding in made if finding.level != "clear")
    every = [line.id for one in traveller.sections.values() for line in one.lines()]
    assert len(every) == len(set(every))


def test_every_step_stands_once_and_in_order(demo):
    _, traveller = demo
    titles = [
        title
        for station in traveller.stations
        for title in tables(traveller, station)
        if title[0].isdigit()
    ]
    assert [int(title.partition(".")[0]) for title in titles] == list(range(1, len(titles) + 1))
    model = traveller.case.model
    assert {title.rpartition("(")[2].rstrip(")") for title in titles} == set(model.assembly)


def test_a_station_begins_a_page_and_all_its_boxes_take_a_pen(demo):
    _, traveller = demo
    assert 2 <= len(traveller.stations) <= 4
    for station in traveller.stations:
        section = traveller.sections[station]
        assert section.new_page
        assert all(block.pen for block in section.blocks if isinstance(block, Table))


# slip pump, by hand: bench 19 °C, sheet 23 °C, twice as slow for 10 K
SLOWER = 2.0**0.4
# 4 screws × 5 passes × 8 s; the gland 2 × 5 × 8 s
STEPS = [10, 15, 20, 20, 160 / 60, 160 / 60, 15, 15, 15, 15, 20, 15, 80 / 60, 10]


def test_the_times_of_the_slip_pump_by_hand():
    found = lines(opened("TW-2601"))
    assert found["time.hands"].value.si == pytest.approx(sum(STEPS) * MINUTE)
    # dress, clamp, enter, close, hang chests, turn over
    chain = (10 + 15 + 15 + 15 + 20 + 10) * MINUTE
    assert found["time.chain"].value.si == pytest.approx(chain)
    cure = found["time.mount-motor.medium-locker.cure"].value.si
    assert cure == pytest.approx(SLOWER * 24 * HOUR)
    locked = sum(STEPS[:10]) * MINUTE
    ready = found["time.mount-motor.medium-locker.ready"].value.si
    assert ready == pytest.approx(locked + cure)
    assert found["time.earliest-test"].value.si == pytest.approx(ready)
    started = datetime(2026, 9, 8, 7, 30).timestamp()
    told = datetime.fromisoformat(found["time.earliest-test-at"].value).timestamp()
    assert told == pytest.approx(started + ready, abs=31.0)


def test_a_thread_is_open_from_its_wetting_to_its_last_pass():
    (section,) = (opened("TW-2601").sections["time"],)
    finding = next(f for f in section.findings() if f.id.startswith("time.mount-motor.medium"))
    # cross 1 3 2 4, then round 1 2 3 4: 3 goes in second and is turned third of the last round
    assert "fastener 3 is turned last 2.40 min" in finding.compared  # (16 + 3 − 1) × 8 s
    assert "5.00 min" in finding.compared


@pytest.mark.parametrize(
    ("settings", "level", "finding"),
    [
        (["shop.fastener_time=20 s"], "hold", "time.mount-motor.medium-locker.open"),
        (["consumables.medium-locker.working_time=2 min"], "hold",
         "time.mount-motor.medium-locker.open"),
        # at 43 °C what may be worked for 5 min is so for a quarter of that
        (["shop.bench_temperature=43 °C"], "hold", "time.mount-motor.medium-locker.open"),
        # in the cold it stays wet no longer than its sheet says
        (["shop.bench_temperature=3 °C", "shop.fastener_time=20 s"], "hold",
         "time.mount-motor.medium-locker.open"),
        (["joints.motor-flange.count=20", "torque_readings={}"], "hold",
         "time.mount-motor.medium-locker.open"),
        (["shop.bench_temperature=3 °C"], "query", "time.clamp-piston.high-locker.fixture"),
        (["consumables.high-locker.fixture_time=1 h"], "query",
         "time.clamp-piston.high-locker.fixture"),
        (["consumables.high-locker.slower_in_cold=4"], "query",
         "time.clamp-piston.high-locker.fixture"),
        (["consumables.high-locker.times_at=33 °C"], "query",
         "time.clamp-piston.high-locker.fixture"),
        (["test.started=2026-09-09 16:00"], "hold", "time.test"),
        (["test.started=2026-09-09 17:40"], "clear", "time.test"),
        (["assembly_started=2026-09-09 07:30"], "hold", "time.test"),
        (["shop.bench_temperature=3 °C"], "hold", "time.test"),
    ],
)  # fmt: skip
def test_one_changed_value_turns_its_finding(settings, level, finding):
    assert findings(opened("TW-2601", *settings))[finding] == level


def test_a_wait_is_on_the_clock_and_moves_all_that_comes_after():
    settings = ["consumables.high-locker.fixture_time=1 h"]
    early, late = lines(opened("TW-2601")), lines(opened("TW-2601", *settings))
    gap = sum(STEPS[2:7]) * MINUTE
    wait = SLOWER * HOUR - gap
    moved = late["time.end"].value.si - early["time.end"].value.si
    assert moved == pytest.approx(wait)
    clock = next(
        t for t in tables(opened("TW-2601", *settings), "time").values() if len(t.rows) > 9
    )
    (row,) = (row for row in clock.rows if row[1].startswith("enter-piston"))
    assert row[4].endswith("for clamp-piston")


def test_without_a_start_times_count_from_it_and_the_test_is_not_judged():
    traveller = opened("TW-2602")
    assert "time.test" not in findings(traveller)
    assert "time.earliest-test-at" not in lines(traveller)
    assert "The clock, from the start (hours and minutes)" in tables(traveller, "time")


def test_what_the_sheets_do_not_say_is_named():
    bare = opened("TW-2601", "consumables.high-locker.cure_time=~", "shop.bench_temperature=~")
    notes = " ".join(b.text for b in bare.sections["time"].blocks if hasattr(b, "text"))
    assert "high-locker: the shop sheet gives no cure_time" in notes
    assert "bench_temperature" in notes
    assert "time.clamp-piston.high-locker.cure" not in lines(bare)


def test_a_model_without_steps_has_its_joints_for_steps():
    traveller = opened("TW-2601", "assembly={}")
    assert traveller.stations == ("station-bench",)
    titles = [title for title in tables(traveller, "station-bench") if title[0].isdigit()]
    assert len(titles) == len(traveller.case.model.joints)
    notes = " ".join(b.text for b in traveller.sections["findings"].blocks if hasattr(b, "text"))
    assert "gives no assembly" in notes
    assert "where it is open" in str(tables(traveller, "disassembly")["Measuring points"].rows)


def test_a_joint_without_a_tool_waits_for_one_and_still_has_its_time():
    traveller = opened("TW-2601", "wrenches.C-150in.lever=~")
    stand = tables(traveller, "station-stand")
    (gland,) = (table for title, table in stand.items() if "(nip-gland)" in title)
    assert "waits for one" in str(gland.rows)
    assert not any(title.startswith("Passes for packing-gland") for title in stand)
    # by hand, the shop's three, one round: as many passes as with a tool
    same = lines(opened("TW-2601"))["time.hands"].value.si
    assert lines(traveller)["time.hands"].value.si == pytest.approx(same)


def test_cautions_stand_right_before_their_step():
    blocks = opened("TW-2601").sections["station-rod-bench"].blocks
    soft_jaws = next(
        index
        for index, block in enumerate(blocks)
        if isinstance(block, Caution) and "soft jaws" in block.text
    )
    rest = [block for block in blocks[soft_jaws:] if not isinstance(block, Caution)]
    assert rest[0].title.startswith("2. ")


def test_setting_and_window_are_in_the_unit_of_the_wrench():
    (motor,) = (
        table for title, table in tables(opened("TW-2601"), "station-stand").items()
        if "(mount-motor)" in title
    )  # fmt: skip
    said = {kind: words for kind, words, *_ in motor.rows}
    assert said["Tool"] == "C-80ft, set to 49.00 ft·lbf"
    # 59 to 73 N·m over 1.355818
    assert said["Window"].startswith("43.52 to 53.84 ft·lbf on its scale")
    assert "59 to 73 N·m" in said["Window"]


def test_the_window_of_a_crowfoot_is_that_of_the_scale():
    (gland,) = (
        table for title, table in tables(opened("TW-2601"), "station-stand").items()
        if "(nip-gland)" in title
    )  # fmt: skip
    said = {kind: words for kind, words, *_ in gland.rows}
    # 10 in of lever, 30 mm beyond it: a scale reads 254/284 of the torque
    assert said["Window"].startswith("85.86 to 107.3 in·lbf on its scale")


def test_parts_and_seals_stand_with_their_stock_number_and_count():
    rows = {row[1]: row[2] for row in tables(opened("TW-2602"), "parts")["By step"].rows}
    assert "sleeve-rings: Copper ring under the sleeve's screw (WP-305) × 3" in rows["set-plungers"]
    assert "hydrogenated nitrile (K-019) × 3" in rows["press-seals"]
    slip = {row[1]: row[2] for row in tables(opened("TW-2601"), "parts")["By step"].rows}
    # four seats, two of them in each of two steps
    assert "(SP-131), 4 in all" in slip["set-inlets"]


def test_a_seal_fitted_instead_is_the_one_laid_out():
    rows = {row[1]: row[2] for row in tables(opened("TW-2608"), "parts")["By step"].rows}
    assert "EPDM" in rows["join-inlet"]


def test_what_no_step_fits_is_named(demo):
    _, traveller = demo
    notes = [b.text for b in traveller.sections["parts"].blocks if hasattr(b, "text")]
    assert not any("Named by no step" in note for note in notes)


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("assembly.fill-box.seals=[]", "seals rod-packing"),
        ("assembly.set-inlets.valves=[upper-inlet]", "checks lower-inlet"),
        ("assembly.close-head.parts=[]", "parts cover-gasket"),
    ],
)
def test_what_a_step_leaves_out_is_named(setting, words):
    blocks = opened("TW-2601", setting).sections["parts"].blocks
    assert any(words in block.text for block in blocks if hasattr(block, "text"))


def test_readings_have_a_box_for_every_fastener():
    stations = opened("TW-2603")
    (table,) = (
        table for title, table in tables(stations, "station-glaze-bench").items()
        if title.startswith("Last pass of cover-left")
    )  # fmt: skip
    numbers = [cell for row in table.rows if row[0] == "Fastener" for cell in row[1:]]
    boxes = [cell for row in table.rows if row[0] != "Fastener" for cell in row[1:]]
    assert numbers == [str(at) for at in range(1, 17)]
    assert boxes == [""] * 16


def test_it_comes_apart_backwards_with_its_measuring_points():
    traveller = opened("TW-2601")
    apart = tables(traveller, "disassembly")
    steps = [int(row[1]) for row in apart["Apart, in this order"].rows]
    assert steps == list(range(14, 0, -1))
    measured = apart["Measuring points"].rows
    assert [row[1].partition(":")[0] for row in measured] == [
        "cylinder-bore", "gland-bush", "outlet-balls", "seat-land", "inlet-balls", "piston-rod",
    ]  # fmt: skip
    assert measured[0][0] == "after undoing 8"


def test_hold_points_have_a_line_for_a_signature():
    holds = [
        (title, table)
        for station in opened("TW-2601").stations
        for title, table in tables(opened("TW-2601"), station).items()
        if title.startswith("HOLD POINT")
    ]
    assert [title.split()[4].rstrip(":") for title, _ in holds] == ["2", "4", "14"]
    assert all(table.rows == (("checker", "", "", ""),) for _, table in holds)


def test_page_and_paper_are_made_and_small():
    traveller = opened("TW-2601")
    made = nbformat.v4.new_notebook()
    for name in traveller.sections:
        data = traveller.show(name)._repr_mimebundle_()
        output = nbformat.v4.new_output("display_data", data)
        made.cells.append(nbformat.v4.new_code_cell("show()", outputs=[output]))
    assert data[SECTION_MIME]["new_page"] is True
    page = page_html(made)
    assert len(page.encode()) < 200_000
    assert "<h1>Traveller" in page
    assert page.count('class="grid pen"') > 20
    assert len(page_pdf(made)) < 500_000


def test_drawings_are_small_and_the_document_is_plain():
    traveller = opened("TW-2601")
    for section in traveller.sections.values():
        section_document(section, traveller.head)
        for block in section.blocks:
            if isinstance(block, Picture) and block.id.startswith("assembly"):
                assert len(block.draw().encode()) < 16_000


def test_a_section_that_is_not_there_is_told():
    with pytest.raises(LookupError, match="station-stand"):
        opened("TW-2601").show("station-nowhere")


@pytest.mark.parametrize(
    "settings",
    [
        ["assembly_started=9999-12-31 23:59"],
        ["consumables.high-locker.cure_time=1e12 h"],
        ["shop.bench_temperature=-250 °C", "consumables.high-locker.slower_in_cold=10"],
        ["shop.fastener_time=1e9 h"],
        ["consumables_used.tie-rods=thread-sealant"],
    ],
)
def test_far_out_values_still_make_a_traveller(settings):
    traveller = opened("TW-2601", *settings)
    for section in traveller.sections.values():
        section_document(section, traveller.head)
