"""Fleet sheet: states, days due, repeats, tools, torques and margins, each by hand."""

import io
import itertools
import json
import shutil
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from rebuildbook.record.entry import Entry
from rebuildbook.record.ledger import Ledger
from rebuildbook.sheets import load_case
from rebuildbook.worksheet.document import plain_text, section_document
from rebuildbook.worksheet.fleet import open_fleet
from rebuildbook.worksheet.fleet_book import fleet_book
from rebuildbook.worksheet.fleet_due import due_of
from rebuildbook.worksheet.fleet_margins import margins
from rebuildbook.worksheet.fleet_read import read_fleet, read_results
from rebuildbook.worksheet.fleet_repeats import repeats
from rebuildbook.worksheet.fleet_state import state_of
from rebuildbook.worksheet.fleet_stores import stores
from rebuildbook.worksheet.fleet_tools import tools_due
from rebuildbook.worksheet.fleet_torque import torques, torques_over_jobs
from rebuildbook.worksheet.formula import evaluate
from rebuildbook.worksheet.kit import kit_of
from rebuildbook.worksheet.model import Picture, Value

PARAMETERS = Path(__file__).resolve().parents[2] / "parameters"
HOUR = 3600.0
SERIAL = "SP-0417"  # of TW-2601: 5900 h, 110 h a week, worked on 2026-09-08


class Shop:
    """A shop of its own: cards, outputs and ledger in a folder that a test may change."""

    def __init__(self, folder: Path) -> None:
        self.cards = folder / "parameters" / "jobs"
        self.outputs = folder / "outputs"
        self.ledger = folder / "parameters" / "ledger.sqlite"
        shutil.copytree(PARAMETERS, folder / "parameters")

    def card(self, job: str, *changes: tuple[str, str], new: str = "") -> None:
        """Change a card, or make another of it."""
        text = (self.cards / f"{job}.yaml").read_text(encoding="utf-8")
        for old, now in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, now)
        (self.cards / f"{new or job}.yaml").write_text(text, encoding="utf-8")

    def results(self, job: str, *findings, sheet="results", numbers=None, texts=None, **head):
        """Write what a run would leave of a job."""
        case = load_case(self.cards / f"{job}.yaml")
        marks = "-".join(digest[:6] for _, digest in case.files.values())
        lines = [{"id": id_, "value": {"si": si}} for id_, si in (numbers or {}).items()]
        lines += [{"id": id_, "text": text} for id_, text in (texts or {}).items()]
        names = ("id", "level", "title", "compared", "margin")
        found = [dict(zip(names, (*one, "", "")[:5], strict=True)) for one in findings]
        document = {
            "inputs": marks,
            "made": "2026-10-01T08:00:00+00:00",
            "digest": "abc",
            "sections": [{"lines": lines, "findings": found}],
        } | head
        folder = self.outputs / job
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"{sheet}.json").write_text(json.dumps(document), encoding="utf-8")

    def built(self, job: str, state: str = "ready for release", opened: str = "nothing", **more):
        """Write an as-built results file."""
        texts = {"release.state": state, "release.open": opened}
        self.results(job, sheet="as-built", texts=texts, **more)

    def put(self, job: str, kind: str, subject: str, given: str = "", si=None, **more) -> None:
        """Put an entry on record."""
        serial = load_case(self.cards / f"{job}.yaml").job.serial
        dimension = more.pop("dimension", "" if si is None else "torque")
        entry = Entry(serial, job, kind, subject, more.pop("number", None), given, si, dimension)
        plain = {name: getattr(entry, name) for name in Entry.__dataclass_fields__} | more
        Ledger(self.ledger).append([Entry(**plain)])

    def hours(self, job: str, hours: float, on: str) -> None:
        """Put a reading of the hour counter on record."""
        self.put(
            job, "measurement", "running-hours", f"{hours:g} h", hours * HOUR, dimension="time",
            on=on,
        )  # fmt: skip

    def fleet(self, *jobs: str, on: str = "2026-11-25"):
        cards = [self.cards / f"{job}.yaml" for job in jobs]
        return read_fleet(cards, self.outputs, "", date.fromisoformat(on))


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


# due


def test_days_from_hours_left_and_hours_in_a_week(shop):
    one = due_of(shop.fleet("TW-2601"), SERIAL)
    # 3000 h at 110 h a week: 190.9 d after 2026-09-08, rounded down
    assert (one.left, one.per_week, one.day) == (3000.0, 110.0, date(2027, 3, 17))
    assert one.ends == "later"


@pytest.mark.parametrize(
    ("on", "ends"),
    [
        ("2027-03-18", "overdue"), ("2027-03-17", "due soon"), ("2027-02-15", "due soon"),
        ("2027-02-14", "later"),
    ],
)  # fmt: skip
def test_the_day_decides_what_is_due(shop, on, ends):
    assert due_of(shop.fleet("TW-2601", on=on), SERIAL).ends == ends


def test_what_the_counter_showed_since_counts(shop):
    shop.hours("TW-2601", 6400.0, "2026-11-01")
    one = due_of(shop.fleet("TW-2601"), SERIAL)
    # 500 of the 3000 h are gone: 2500 h at 110 h a week are 159 d from 2026-11-01
    assert (one.left, one.since, one.day) == (2500.0, date(2026, 11, 1), date(2027, 4, 9))


def test_hours_in_a_week_from_two_readings_of_the_counter(shop):
    shop.card("TW-2601", ("running_per_week: 110 h", "# running_per_week: 110 h"))
    assert due_of(shop.fleet("TW-2601"), SERIAL).missing[0].startswith("running_per_week")
    shop.hours("TW-2601", 6300.0, "2026-11-03")
    one = due_of(shop.fleet("TW-2601"), SERIAL)
    # 400 h in 56 d are 50 h a week; 2600 h left are 364 d
    assert one.per_week == pytest.approx(50.0)
    assert one.day == date(2027, 11, 2)


def test_a_counter_that_was_changed_counts_from_then_on(shop):
    shop.card("TW-2601", ("running_per_week: 110 h", "# none"))
    shop.hours("TW-2601", 10.0, "2026-10-01")
    shop.hours("TW-2601", 50.0, "2026-10-15")
    one = due_of(shop.fleet("TW-2601"), SERIAL)
    # nothing tells what ran before the change: hours left stand as of the job
    assert (one.left, one.since) == (3000.0, date(2026, 9, 8))
    assert one.per_week == pytest.approx(20.0)


def test_past_its_hours_a_unit_is_overdue_whatever_the_week(shop):
    shop.card("TW-2601", ("running_per_week: 110 h", "# none"))
    shop.hours("TW-2601", 8900.0, "2026-09-10")
    assert due_of(shop.fleet("TW-2601"), SERIAL).ends == "overdue"


def test_wear_on_the_as_built_sheet_counts_before_the_card(shop):
    shop.built("TW-2601", numbers={"next-service.within": 1100.0})
    assert due_of(shop.fleet("TW-2601"), SERIAL).day == date(2026, 11, 17)  # 70 d


def test_a_counter_that_stands_still_tells_no_day(shop):
    shop.card("TW-2601", ("running_per_week: 110 h", "# none"))
    shop.hours("TW-2601", 5900.0, "2026-11-03")
    assert due_of(shop.fleet("TW-2601"), SERIAL).missing == ("its counter stands still",)


def test_what_is_missing_is_said(shop):
    one = due_of(shop.fleet("TW-2602"), "WP-112")
    assert one.ends == "cannot be told"
    assert [words.split(",")[0] for words in one.missing] == ["service_every", "running_per_week"]


# states


def test_states(shop):
    holds = (("joints.cover.reading", "hold", "Cover off"),)
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "never made"
    shop.results("TW-2601")
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "no as-built sheet yet"
    shop.results("TW-2601", *holds)
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "open holds"
    # what the as-built says is open counts: the hold was accepted, or cleared by a reading
    shop.built("TW-2601")
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "ready for release"
    shop.put("TW-2601", "release", "checker", text="abc", on="2026-10-02")
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "released"
    shop.built("TW-2601", digest="def", made="2027-01-01T00:00:00+00:00")
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "changed since its release"
    shop.built("TW-2601", "not to be released", "done.test", digest="def")
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "open holds"


def test_a_changed_card_and_a_later_reading_ask_for_another_run(shop):
    shop.built("TW-2601")
    shop.card("TW-2601", ("running_per_week: 110 h", "running_per_week: 111 h"))
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "make it again"
    shop.built("TW-2601", made="2026-01-01T00:00:00+00:00")
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "ready for release"
    shop.hours("TW-2601", 6000.0, "2026-10-01")
    assert state_of(shop.fleet("TW-2601").jobs[0]) == "make it again"


@pytest.mark.parametrize("text", ["", "{", "[]", '{"sections": [{}]}', '{"sections": 3}'])
def test_a_results_file_that_cannot_be_used_is_none(tmp_path, text):
    (tmp_path / "results.json").write_text(text, encoding="utf-8")
    assert read_results(tmp_path / "results.json") is None


# repeats


def test_a_fault_that_comes_back_on_a_unit(shop):
    changes = (("job: TW-2601", "job: TW-2701"), ("opened: 2026-09-07", "opened: 2027-02-01"))
    opened = (shop.cards / "TW-2601.yaml").read_text(encoding="utf-8")
    (line,) = [line for line in opened.splitlines() if line.startswith("opened:")]
    shop.card("TW-2601", changes[0], (line, "opened: 2027-02-01"), new="TW-2701")
    fault = ("test.stall", "hold", "Creep on the up-stroke")
    shop.results("TW-2601", fault, ("joints.x.unit", "clear", "fine"))
    shop.results("TW-2701", ("joints.x.unit", "clear", "fine"))
    shop.put("TW-2701", "finding", "test.stall", text="query: Creep on both strokes")
    on_unit, on_model = repeats(shop.fleet("TW-2601", "TW-2701"))
    (one,) = on_unit
    assert (one.of, one.finding, one.level) == (SERIAL, "test.stall", "hold")
    assert one.jobs == ("TW-2601", "TW-2701")
    assert one.title == "Creep on the up-stroke / Creep on both strokes"
    assert on_model == []  # one unit is no pattern of the model


def test_a_fault_on_several_units_of_a_model(shop):
    for job in ("TW-2601", "TW-2604"):
        shop.results(job, ("inspection.balls", "query", "Balls worn"))
    shop.results("TW-2602", ("inspection.balls", "query", "Balls worn"))  # another model
    on_unit, (one,) = repeats(shop.fleet("TW-2601", "TW-2604", "TW-2602"))
    assert on_unit == []
    assert (one.of, one.units) == ("slip-piston-4b", (SERIAL, "SP-0398"))


# tools


def test_tools_due_within_sixty_days_or_past(shop):
    # E-200 ends on 2026-11-28, C-400 on 2027-01-31, D-75ft on 2026-08-31
    found = {one.label: one for one in tools_due(shop.fleet("TW-2601", on="2026-09-29"))}
    assert {label: one.days for label, one in found.items()} == {"D-75ft": -29, "E-200": 60}
    found = {one.label for one in tools_due(shop.fleet("TW-2601", on="2026-09-28"))}
    assert found == {"D-75ft"}


def test_readings_taken_after_the_end_of_the_calibration(shop):
    shop.put(
        "TW-2601", "torque", "fluid-cover", "33 N*m", 33.0, number=1, tool="E-200", on="2026-11-29"
    )
    found = {one.label: one for one in tools_due(shop.fleet("TW-2601", "TW-2606"))}
    assert found["E-200"].late == (("TW-2601", "2026-11-29"),)
    assert [job for job, _ in found["D-75ft"].late] == ["TW-2606"]  # by its card
    fleet = open_fleet([shop.cards / "TW-2601.yaml"], shop.outputs, str(shop.ledger), "2026-11-30")
    levels = {one.id: one.level for one in fleet.sections["tools"].findings()}
    assert levels["fleet.tools.shop.E-200"] == "hold"
    assert levels["fleet.tools.shop.D-75ft"] == "query"


# stores


def test_consumables_are_added_up(shop):
    fleet = shop.fleet("TW-2601", "TW-2604", "TW-2602")
    _, _, used = stores(fleet)
    places = {row[0]: (row[2], row[3]) for row in used.rows}
    by_hand: dict[str, list[int]] = {}
    for job in fleet.jobs:
        for thing in kit_of(job.context).consumables:
            by_hand.setdefault(thing.name, []).append(thing.places)
    assert places == {name: (sum(each), len(each)) for name, each in by_hand.items()}


# torques


def test_the_job_read_in_the_wrong_unit_stands_out_and_makes_no_limits(shop):
    found = torques_over_jobs(shop.fleet("TW-2603", "TW-2605", "TW-2608"))
    one = next(one for one in found if one.joint == "inlet-manifold")
    assert one.breaks == (8, 16)
    assert one.outside == one.off_window == tuple(f"TW-2605 no. {n}" for n in range(1, 9))
    usual = [*one.values[:8], *one.values[16:]]
    steps = [abs(b - a) for a, b in itertools.pairwise(usual)]
    mean = sum(usual) / 16
    assert one.chart.high == pytest.approx(mean + 3 * sum(steps) / 15 / 1.128)


def test_the_record_counts_before_the_card(shop):
    shop.put("TW-2601", "torque", "fluid-cover", "36.9 N*m", 36.9, number=2)
    found = torques_over_jobs(shop.fleet("TW-2601"))
    one = next(one for one in found if one.joint == "fluid-cover")
    assert one.values[1] == pytest.approx(36.9)
    assert one.names[1] == "TW-2601 no. 2"


def test_of_many_readings_the_figure_shows_those_about_the_last_outside(shop):
    entries = [
        Entry(SERIAL, "TW-2601", "torque", "fluid-cover", n, f"{nm} N*m", nm, "torque")
        for n, nm in enumerate([33.0, 33.5] * 80, 1)
    ]
    Ledger(shop.ledger).append(entries)
    fleet = shop.fleet("TW-2601")
    (one,) = [one for one in torques_over_jobs(fleet) if one.joint == "fluid-cover"]
    assert len(one.values) == 160
    section, _ = torques(fleet)
    (picture,) = [block for block in section.blocks if isinstance(block, Picture)]
    assert "120 of 160 readings" in picture.caption
    assert len(picture.draw()) < 20_000


# margins


def test_margins_of_the_last_job_of_each_unit(shop):
    shop.results(
        "TW-2601",
        ("service.fluid-cover.shut", "clear", "shut", "", ""),
        ("preload.fluid-cover.yield", "hold", "yields", "", ""),
        ("joints.fluid-cover.tool", "clear", "fits", "", "1.75 N·m"),
        ("relief.set-vs-limit", "hold", "over", "25.9 bar against limit of Lower head 20.9 bar",
         "−5.00 bar"),
        numbers={
            "service.fluid-cover.margin": 1.4, "joints.fluid-cover.proof-load": 27e3,
            "preload.fluid-cover.most": 30e3, "relief.opens-high": 25e5,
        },
    )  # fmt: skip
    found = margins(shop.fleet("TW-2601"))
    ratios = {kind: [one.ratio for one in several] for kind, several in found.items()}
    # the window is 30 to 37 N·m: 1.75 of 3.5
    assert ratios["tool"] == [pytest.approx(0.5)]
    assert ratios["shut"] == [1.4]
    assert ratios["yield"] == [pytest.approx(0.9)]
    assert ratios["relief"] == [pytest.approx(0.8)]
    assert found["relief"][0].of == "Lower head"


# the whole


def test_bad_cards_and_doubled_numbers_are_told_and_left_out(shop):
    good = len(list(shop.cards.glob("*.yaml"))) - 1
    shop.card("TW-2604", ("model: slip-piston-4b", "model: slip-piston-9"))
    shutil.copy(shop.cards / "TW-2601.yaml", shop.cards / "again.yaml")
    fleet = open_fleet(sorted(shop.cards.glob("*.yaml")), shop.outputs, "", "2026-11-25")
    assert len(fleet.data.jobs) == good
    (told,) = [one for one in fleet.sections["standing"].findings() if one.id == "fleet.left-out"]
    assert "slip-piston-9" in told.compared and "again.yaml" in told.compared


def test_nothing_made_is_said_and_every_formula_gives_its_value(shop):
    cards = sorted(shop.cards.glob("*.yaml"))
    fleet = open_fleet(cards, shop.outputs, "", "2026-11-25")
    text = "\n".join(plain_text(fleet.show(name).document) for name in fleet.sections)
    assert f"never made {len(cards)}" in text and "Nothing was made of these jobs yet" in text
    assert "No results lie in the outputs" in text
    lines = [
        line
        for section in fleet.sections.values()
        for line in section.lines()
        if line.formula and isinstance(line.value, Value)
    ]
    assert len(lines) > 10
    for line in lines:
        put_in = {symbol: value.si for symbol, value in line.inputs.items()}
        assert evaluate(line.formula, put_in) == pytest.approx(line.value.si, rel=1e-9), line.id
    ids = [line.id for section in fleet.sections.values() for line in section.lines()]
    assert len(ids) == len(set(ids))
    for section in fleet.sections.values():
        section_document(section, fleet.head)


def test_cards_known_from_the_last_time_give_the_same_sheet_and_changed_ones_are_read(shop):
    cards = sorted(shop.cards.glob("*.yaml"))
    first = open_fleet(cards, shop.outputs, "", "2026-11-25")
    first.save(str(shop.outputs / "last"))
    known = str(shop.outputs / "last.cards.json")
    shop.card("TW-2601", ("running_per_week: 110 h", "running_per_week: 55 h"))
    shop.card("TW-2602", ("model: wash-plunger-3p", "model: wash-plunger-9"))
    second = open_fleet(cards, shop.outputs, "", "2026-11-25", known=known)
    assert due_of(second.data, SERIAL).per_week == 55.0
    (problem,) = second.data.problems
    assert problem.line is not None
    unchanged = [job.case.job for job in first.data.jobs if job.name not in {"TW-2601", "TW-2602"}]
    assert [job.case.job for job in second.data.jobs if job.name != "TW-2601"] == unchanged


@pytest.mark.parametrize("text", ["", "[]", "{", '{"0": 3}'])
def test_a_file_of_known_cards_that_cannot_be_used_is_not_used(shop, text):
    (shop.cards.parent / "known.json").write_text(text, encoding="utf-8")
    known = str(shop.cards.parent / "known.json")
    fleet = open_fleet([shop.cards / "TW-2601.yaml"], shop.outputs, known=known)
    assert [job.name for job in fleet.data.jobs] == ["TW-2601"]


def test_a_card_that_is_wrong_is_told_with_its_line_though_it_is_known(shop):
    cards = [shop.cards / "TW-2602.yaml"]
    shop.card("TW-2602", ("model: wash-plunger-3p", "model: wash-plunger-9"))
    first = open_fleet(cards, shop.outputs, "", "2026-11-25")
    first.save(str(shop.outputs / "last"))
    known = str(shop.outputs / "last.cards.json")
    second = open_fleet(cards, shop.outputs, "", "2026-11-25", known=known)
    assert second.data.problems == first.data.problems
    assert first.data.problems[0].line is not None


def test_no_cards_make_an_empty_sheet(tmp_path):
    fleet = open_fleet([], tmp_path, "", "2026-11-25")
    assert "0 jobs" in plain_text(fleet.show("standing").document)
    with pytest.raises(LookupError, match="standing"):
        fleet.show("nothing")


def test_the_spreadsheet_keeps_numbers_and_says_their_units(shop):
    fleet = open_fleet(
        [shop.cards / f"{job}.yaml" for job in ("TW-2601", "TW-2604")], shop.outputs, "",
        "2026-11-25",
    )  # fmt: skip
    data = fleet_book(fleet.tables)
    assert data == fleet_book(fleet.tables)
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert set(book.sheetnames) == {table.name for table in fleet.tables}
    for page in book:
        assert page.freeze_panes == "A2" and page.auto_filter.ref
    head, *rows = book["torques"].iter_rows(values_only=True)
    mean = head.index("Mean, N·m")
    assert all(isinstance(row[mean], float | int) for row in rows)
    head, *rows = book["due"].iter_rows(values_only=True)
    row = next(row for row in rows if row[0] == SERIAL)
    assert row[head.index("Left, h")] == 3000
    assert row[head.index("Day due")].date() == date(2027, 3, 17)
