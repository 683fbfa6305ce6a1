"""As-built: preload from what was read, by hand; what stands; what the record changes."""

import dataclasses
from datetime import date
from pathlib import Path

import pytest

from rebuildbook.commands import Refused
from rebuildbook.commands.release import release_unit
from rebuildbook.record.entry import Entry
from rebuildbook.record.ledger import Ledger
from rebuildbook.sheets import load_case
from rebuildbook.worksheet.as_built import AsBuilt, open_as_built
from rebuildbook.worksheet.document import section_document
from rebuildbook.worksheet.formula import evaluate
from rebuildbook.worksheet.model import Table, Value

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
FT_LBF = 1.355817948
INCH = 0.0254


@pytest.fixture
def ledger(tmp_path) -> Path:
    return tmp_path / "ledger.sqlite"


def built(job: str, ledger: Path, *settings: str) -> AsBuilt:
    return open_as_built(JOBS / f"{job}.yaml", settings, ledger=str(ledger))


def torque(joint: str, number: int, given: str, si: float, **more: str) -> Entry:
    details = {"tool": "C-60", "on": "2026-09-09", "by": "bench 2"} | more
    return Entry(
        "SP-0417", "TW-2601", "torque", joint, number, given, si, "torque", **details
    )  # fmt: skip


def values(sheet: AsBuilt) -> dict[str, float]:
    return {
        line.id: line.value.si
        for section in sheet.sections.values()
        for line in section.lines()
        if isinstance(line.value, Value)
    }


def holds(sheet: AsBuilt) -> set[str]:
    return {finding.id for finding in sheet.verdict.holds}


def standing(sheet: AsBuilt) -> set[str]:
    """What is open but for hold points, which the cards' own readings leave unsigned."""
    points = {f"done.{name}" for name in sheet.case.model.assembly}
    return {finding.id for finding in sheet.verdict.open} - points


def table(sheet: AsBuilt, section: str, title: str) -> Table:
    blocks = sheet.sections[section].blocks
    return next(block for block in blocks if isinstance(block, Table) and block.title == title)


def release(job: str, ledger: Path, out: Path, by: str = "M. Lind") -> int:
    return release_unit(
        JOBS / f"{job}.yaml", by=by, role="checker", on=date(2026, 9, 11), ledger=ledger, out=out
    )


# by hand


def test_preload_is_that_of_the_readings(ledger):
    # M10 screws of the cover, read 32.5 to 34.5 N·m with a wrench of ± 4 %, greased
    sheet = built("TW-2601", ledger)
    factor = sheet.worked["fluid-cover"].clamp.nut_factor
    found = values(sheet)
    assert found["as-read.fluid-cover.least"] == pytest.approx(32.5 * 0.96 / (factor.high * 0.010))
    assert found["as-read.fluid-cover.most"] == pytest.approx(34.5 * 1.04 / (factor.low * 0.010))


def test_a_reading_on_record_counts_before_the_card(ledger):
    Ledger(ledger).append([torque("fluid-cover", 3, "29 N*m", 29.0)])
    sheet = built("TW-2601", ledger)
    factor = sheet.worked["fluid-cover"].clamp.nut_factor
    found = values(sheet)["as-read.fluid-cover.least"]
    assert found == pytest.approx(29.0 * 0.96 / (factor.high * 0.010))
    assert holds(sheet) == {"joints.fluid-cover.reading"}
    assert standing(sheet) - holds(sheet) == {"record.torque_readings.fluid-cover.3"}


def test_the_same_torque_in_another_unit_is_no_disagreement(ledger):
    Ledger(ledger).append([torque("valve-caps", 1, f"{43 * FT_LBF} N*m", 43 * FT_LBF)])
    assert standing(built("TW-2601", ledger)) == set()


def test_a_size_with_inch_marks_is_laid_over_the_card(ledger):
    entry = Entry(
        "SP-0417", "TW-2601", "measurement", "inlet-balls", None, '1.740"', 1.740 * INCH, "length"
    )
    Ledger(ledger).append([entry])
    assert "inspection.inlet-balls" in holds(built("TW-2601", ledger))


def test_formulas_give_what_is_shown(ledger):
    lines = [
        line
        for section in built("TW-2601", ledger).sections.values()
        for line in section.lines()
        if line.formula and isinstance(line.value, Value)
    ]
    assert any(line.id.startswith("as-read.") for line in lines)
    assert any(line.id == "next-service.at" for line in lines)
    for line in lines:
        put_in = {symbol: value.si for symbol, value in line.inputs.items()}
        assert evaluate(line.formula, put_in) == pytest.approx(line.value.si, rel=1e-9), line.id


def test_hours_to_the_next_service_are_the_least_of_wear_and_interval(ledger):
    assert values(built("TW-2601", ledger))["next-service.within"] == 3000.0
    worn = values(built("TW-2604", ledger))
    assert worn["next-service.within"] == 0.0
    assert worn["next-service.at"] == 20200.0


# how it stands


def test_readings_that_lack_hold_the_unit(ledger):
    sheet = built("TW-2610", ledger)
    assert standing(sheet) & holds(sheet) == {"joints.fluid-cover.readings"}
    told = next(one for one in sheet.verdict.open if one.id == "joints.fluid-cover.readings")
    assert "missing: no. 6, 7, 8" in told.compared


def test_a_unit_without_any_reading_or_test_is_held(ledger):
    sheet = built("TW-2602", ledger, "torque_readings={}", "test=null")
    joints = sheet.case.model.joints
    assert holds(sheet) == {"done.test"} | {f"joints.{name}.readings" for name in joints}


def test_the_preload_of_a_wrong_unit_is_told(ledger):
    # in·lbf screws that were read in ft·lbf: twelve times too much
    found = holds(built("TW-2605", ledger))
    assert "joints.inlet-manifold.reading-unit" in found
    assert "preload.inlet-manifold.yield" in found


def test_a_tool_that_was_out_of_calibration_on_the_day(ledger):
    late = torque("motor-flange", 1, "50 ft-lb", 50 * FT_LBF, tool="D-75ft", on="2026-09-09")
    Ledger(ledger).append([late])
    assert holds(built("TW-2601", ledger)) == {"as-read.motor-flange.D-75ft"}


def test_what_was_accepted_is_no_longer_open(ledger):
    accepted = ", ".join(
        f"{{what: As found, accepted_by: E. Holm, finding: {finding}}}"
        for finding in ("inspection.inlet-balls", "test.stall")
    )
    sheet = built("TW-2604", ledger, f"deviations=[{accepted}]")
    assert holds(sheet) == {"test.diagnosis"}
    assert {one.by for one in sheet.verdict.accepted} == {"E. Holm"}
    assert table(sheet, "findings", "Accepted").rows[0][2:] == ("As found", "E. Holm")


def test_a_hold_point_is_signed_on_record_or_asked_for(ledger):
    def levels() -> dict[str, str]:
        return {one.id: one.level for one in built("TW-2601", ledger).verdict.open}

    # the checker signed the card as a whole
    assert levels() == dict.fromkeys(
        ("done.clamp-piston", "done.set-outlets", "done.turn-over"), "query"
    )
    mark = Entry("SP-0417", "TW-2601", "signature", "turn-over", on="2026-09-10", by="I. Varga")
    Ledger(ledger).append([mark])
    assert "done.turn-over" not in levels()
    unsigned = built("TW-2601", ledger, "sign_off=[]")
    assert holds(unsigned) == {"done.clamp-piston", "done.set-outlets"}


def test_what_was_told_as_a_reading_came_in_holds_the_unit(ledger):
    text = "read by lamp; hold: mm written as in; query: no date"
    entry = torque("fluid-cover", 3, "34 N*m", 34.0, text=text)
    Ledger(ledger).append([entry])
    sheet = built("TW-2601", ledger)
    assert holds(sheet) == {"record.torque.fluid-cover"}
    (told,) = sheet.verdict.holds
    assert told.compared == "entry 1: mm written as in; entry 1: no date"


def test_readings_keep_their_fasteners_numbers(ledger):
    # the card has the first five of eight
    card = load_case(JOBS / "TW-2610.yaml").job
    late = torque("fluid-cover", 8, "38 N*m", 38.0)
    Ledger(ledger).append([dataclasses.replace(late, serial=card.serial, job=card.job)])
    told = {one.id: one for one in built("TW-2610", ledger).verdict.holds}
    assert told["joints.fluid-cover.reading"].compared.startswith("no. 8 38 N·m")
    assert "missing: no. 6, 7" in told["joints.fluid-cover.readings"].compared


@pytest.mark.parametrize(
    ("job", "finding"),
    [("TW-2607", "relief.set-vs-limit"), ("TW-2605", "joints.inlet-manifold.reading-unit")],
)
def test_an_error_cannot_be_accepted(ledger, job, finding):
    sheet = built(
        job, ledger, f"deviations=[{{what: so be it, accepted_by: E. Holm, finding: {finding}}}]"
    )
    assert finding in holds(sheet)
    assert [refused.id for refused in sheet.verdict.refused] == [finding]


def test_a_corrected_reading_stays_visible(ledger):
    book = Ledger(ledger)
    (kept,) = book.append([torque("fluid-cover", 3, "43 N*m", 43.0)])
    book.correct(kept.id, torque("fluid-cover", 3, "34 N*m", 34.0), "digits swapped")
    sheet = built("TW-2601", ledger)
    assert standing(sheet) == set()
    (row,) = table(sheet, "changes", "Corrected").rows
    assert row[1:5] == ("fluid-cover no. 3", "43 N*m", "34 N*m", "digits swapped")


# release


def test_a_release_is_for_what_was_seen(ledger, tmp_path, capsys):
    assert release("TW-2601", ledger, tmp_path) == 0
    sheet = built("TW-2601", ledger)
    assert sheet.verdict.state == "released"
    assert "M. Lind" in sheet.verdict.said
    assert sheet.digest in capsys.readouterr().out
    # a reading that comes in later: what was released is not what stands here
    Ledger(ledger).append([torque("fluid-cover", 3, "33 N*m", 33.0, came_from="later")])
    assert built("TW-2601", ledger).verdict.state == "changed since its release"


def test_the_release_puts_the_card_on_record_once(ledger, tmp_path):
    release("TW-2601", ledger, tmp_path)
    entries = Ledger(ledger).entries(job="TW-2601")
    torques = [kept.entry for kept in entries if kept.entry.kind == "torque"]
    assert len(torques) == sum(
        len(readings) for readings in built("TW-2601", ledger).case.job.torque_readings.values()
    )
    assert {entry.tool for entry in torques if entry.subject == "packing-gland"} == {"C-150in"}
    with pytest.raises(Refused, match=r"Released by M\. Lind"):
        release("TW-2601", ledger, tmp_path)
    assert Ledger(ledger).entries(job="TW-2601") == entries


def test_an_open_hold_refuses_the_release(ledger, tmp_path, capsys):
    assert release("TW-2609", ledger, tmp_path) == 1
    assert "test.stall" in capsys.readouterr().err
    assert not ledger.exists()


def test_nobody_releases_nothing(ledger, tmp_path):
    with pytest.raises(Refused, match="who releases"):
        release("TW-2601", ledger, tmp_path, by=" ")


def test_the_hash_is_that_of_the_results_file(ledger):
    from rebuildbook.worksheet.document import SECTION_MIME, results_of

    sheet = built("TW-2604", ledger)
    cells = [
        {"outputs": [{"data": {SECTION_MIME: section_document(section, sheet.head)}}]}
        for section in sheet.sections.values()
    ]

    @dataclasses.dataclass
    class Notebook:
        cells: list
        metadata: dict

    assert results_of(Notebook(cells, {}))["digest"] == sheet.digest
