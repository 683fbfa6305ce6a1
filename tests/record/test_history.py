"""The record of a unit sorted by job: what counts, what is left out, what the strips show."""

import math
from dataclasses import replace

import pytest

from rebuildbook.record.entry import Entry
from rebuildbook.record.history import corrections, jobs_of, readings, torques
from rebuildbook.record.history_strips import strips_of, titled
from rebuildbook.record.ledger import Ledger
from rebuildbook.record.unit_sheets import UnitSheets

PLAIN = UnitSheets()


def size(job, millimetres, subject="bore", on="", **other):
    given = f"{millimetres} mm"
    return Entry(
        "U", job, "measurement", subject, None, given, millimetres / 1e3, "length", on=on, **other
    )


def torque(job, newton_metres, number):
    return Entry(
        "U", job, "torque", "cover", number, f"{newton_metres} N*m", newton_metres, "torque"
    )


def check(job, subject, given, si, dimension):
    return Entry("U", job, "test", subject, None, given, si, dimension)


@pytest.fixture
def told(tmp_path):
    ledger = Ledger(tmp_path / "ledger.sqlite")

    def jobs(*entries):
        ledger.append(entries)
        return jobs_of(ledger.entries("U", superseded=True))

    jobs.ledger = ledger
    return jobs


def test_jobs_stand_by_their_first_day_and_not_by_when_they_were_put_in(told):
    jobs = told(
        size("J-2", 2, on="2025-03-02"), size("J-3", 3, on="2026-01-01"),
        size("J-1", 1, on="2025-03-01T08:00"), size("J-2", 2.5, on="2024-01-01"),
    )  # fmt: skip
    assert [(job.job, job.on) for job in jobs] == [
        ("J-2", "2024-01-01"), ("J-1", "2025-03-01"), ("J-3", "2026-01-01"),
    ]  # fmt: skip


def test_a_job_without_a_day_stands_at_the_day_it_was_put_in(told):
    (job,) = told(size("J-1", 1))
    assert job.on == job.entries[0].entered[:10]


def test_a_finding_recorded_again_counts_once_as_it_stands_last(told):
    def finding(subject, text):
        return Entry("U", "J-1", "finding", subject, text=text)

    (job,) = told(
        finding("a", "hold: x"), finding("b", "query: y"), finding("a", "clear: x"),
        finding("c", "Hold: z"),
    )  # fmt: skip
    assert list(job.findings.items()) == [("hold", 1), ("query", 1), ("clear", 1)]


def test_of_a_fastener_read_twice_the_last_counts(told):
    jobs = told(torque("J-1", 20.0, 1), torque("J-1", 30.0, 2), torque("J-1", 24.0, 1))
    spread = torques(jobs)["cover"][0]
    assert (spread.count, spread.mean, spread.least, spread.most) == (2, 27.0, 24.0, 30.0)


def test_torques_without_a_fastener_number_all_count(told):
    jobs = told(torque("J-1", 20.0, None), torque("J-1", 30.0, None), torque("J-1", 10.0, 1))
    assert torques(jobs)["cover"][0].count == 3


def test_what_was_corrected_is_left_out_and_paired(told):
    told(size("J-1", 1.0), torque("J-1", 20.0, 1))
    told.ledger.correct(1, replace(size("J-1", 2.0), by="x"), "misread")
    told.ledger.correct(3, replace(size("J-1", 3.0), by="x"), "misread again")
    jobs = told()
    assert [kept.id for kept in readings(jobs, "measurement")["bore", None][0]] == [4]
    assert [(old.id, new.id) for old, new in corrections(jobs)] == [(1, 3), (3, 4)]


def test_running_hours_are_no_size(told):
    hours = Entry("U", "J-1", "measurement", "running_hours", None, "2 h", 7200.0, "time")
    (job,) = jobs = told(hours, size("J-1", 1.0))
    assert job.hours == 7200.0
    assert list(readings(jobs, "measurement")) == [("bore", None)]


def test_strips_hold_each_kind_against_its_first_without_sheets(told):
    jobs = told(
        size("J-1", 50.0, on="2025-01-01"), torque("J-1", 20.0, 1), torque("J-1", 30.0, 2),
        check("J-1", "flow", "10 L/min", 1.0, "flow"),
        check("J-1", "oil", "20 °C", 293.0, "temperature"),
        check("J-1", "pressure", "10 bar", 1e6, "pressure"),
        check("J-1", "creep", "0 mm/min", 0.0, "speed"),
        check("J-1", "bench.rate", "10 rpm", 1.0, "rate"),
        size("J-2", 50.5, on="2026-01-01"), check("J-2", "flow", "9 L/min", 0.9, "flow"),
        size("J-3", 51.0, on="2027-01-01"), torque("J-3", 24.0, 1),
    )  # fmt: skip
    sizes, torque_strip, tests = strips_of(jobs, PLAIN)
    assert sizes.trends[0].values == pytest.approx((0.0, 1.0, 2.0))
    (cover,) = torque_strip.trends
    assert cover.values[0] == pytest.approx(100.0)
    assert math.isnan(cover.values[1])
    # 24 of the first mean of 25; least and most of the first job 20 and 30
    assert (cover.values[2], cover.least[0], cover.most[0]) == pytest.approx((96.0, 80.0, 120.0))
    (flow,) = tests.trends
    assert flow.name == "flow"
    assert flow.values[:2] == pytest.approx((100.0, 90.0))


def test_more_parts_than_a_strip_has_room_for_are_shown_by_their_change(told):
    parts = [
        size(f"J-{job}", 50.0 + job * part / 10.0, f"part-{part}", on=f"202{job}-01-01")
        for job in (1, 2)
        for part in range(7)
    ]
    (strip,) = strips_of(told(*parts), PLAIN)
    assert [trend.name for trend in strip.trends] == [f"part-{n}" for n in (2, 3, 4, 5, 6, 1, 0)]


def test_nothing_gives_no_strips(told):
    assert strips_of(told(Entry("U", "J-1", "step", "strip")), PLAIN) == ()


def test_subjects_are_told_as_words():
    assert titled("readings.creep-up-stroke") == "creep up stroke"
    assert titled("stall.up_stroke_creep", 2) == "stall: up stroke creep 2"
