"""CSV of an electronic wrench, by its column map: nothing guessed, nothing dropped unsaid."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.record.read import read_file
from rebuildbook.sheets import SheetError
from rebuildbook.sheets.columns import ColumnMap, ColumnSheet
from rebuildbook.sheets.load import load_sheet

TODAY = datetime.date(2026, 9, 25)
MAP = {
    "columns": {
        "joint": "Program", "fastener": "No.", "reading": "Peak", "unit": "Unit", "tool": "Tool",
        "date": "Date", "by": "User",
    },
    "names": {"P3": "head-studs"},
}  # fmt: skip
HEAD = "Program,No.,Peak,Unit,Tool,Date,User\n"
ROWS = "".join(f"P3,{n},{36 + n / 10},ft-lb,C-80ft,2026-09-21,bench 1\n" for n in range(1, 9))


def a_map(**more):
    return ColumnMap.model_validate({**MAP, **more})


@pytest.fixture
def read(bench, tmp_path):
    def read(text, written="utf-8", **more):
        path = tmp_path / "log.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode(written))
        return read_file(path, bench, columns=a_map(**more), today=TODAY)

    return read


def messages(found):
    assert found.problems and not found.taken
    return "\n".join(str(problem) for problem in found.problems)


def test_a_log_is_taken_by_its_map(read):
    found = read(HEAD + ROWS)
    assert not found.problems and not found.told
    entries = [one.entry for one in found.taken]
    assert [entry.given for entry in entries][:2] == ["36.1 ft-lb", "36.2 ft-lb"]
    assert [entry.number for entry in entries] == list(range(1, 9))
    assert entries[0].came_from == "log.csv, row 2"
    assert {entry.tool for entry in entries} == {"C-80ft"}
    assert not any(one.remarks for one in found.taken)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_each_encoding_is_read_as_told(read, encoding):
    text = (HEAD + ROWS).replace("bench 1", "Jörg")
    told = "utf-8" if encoding.startswith("utf-8") else encoding
    found = read(text, encoding, encoding=told)
    assert {one.entry.by for one in found.taken} == {"Jörg"}


@pytest.mark.parametrize(
    ("encoding", "told", "message"),
    [
        ("utf-16", "utf-8", "begins as UTF-16 does; write encoding: utf-16"),
        ("latin-1", "utf-8", "is not utf-8 text"),
        ("utf-8-sig", "latin-1", "begins as UTF-8 does"),
    ],
)
def test_another_encoding_than_told_is_refused(read, encoding, told, message):
    text = (HEAD + ROWS).replace("bench 1", "Jörg")
    assert message in messages(read(text, encoding, encoding=told))


def test_decimal_comma_semicolon_and_lines_above(read):
    log = (HEAD + ROWS).replace(",", ";").replace(".", ",").replace("No,", "No.")
    found = read("Tool log\nserial 0815\n" + log, separator=";", decimal="comma", skip_lines=2)
    assert [one.entry.given for one in found.taken][:1] == ["36.1 ft-lb"]
    assert "2 lines above the headings skipped, as the map says" in found.told
    assert found.taken[0].entry.came_from == "log.csv, row 4"


def test_a_comma_where_the_map_says_point_is_refused(read):
    assert "the column map says: decimal point" in messages(
        read(HEAD + ROWS.replace("36.3", '"36,3"'))
    )


def test_unit_in_the_heading_or_fixed(read):
    columns = {key: value for key, value in MAP["columns"].items() if key != "unit"}
    body = (HEAD + ROWS).replace("Unit,", "").replace("ft-lb,", "")
    found = read(body.replace("Peak", "Peak [ft-lb]"), columns=columns, unit_in_heading=True)
    assert [one.entry.given for one in found.taken][:1] == ["36.1 ft-lb"]
    found = read(body, columns=columns, fixed={"unit": "N*m"})
    assert [one.entry.given for one in found.taken][:1] == ["36.1 N*m"]
    assert "has no unit" in messages(read(body, columns=columns))
    assert "has no unit in brackets" in messages(read(body, columns=columns, unit_in_heading=True))


def test_a_file_without_headings_goes_by_number(read):
    columns = {"joint": "1", "fastener": "2", "reading": "3", "unit": "4"}
    found = read(ROWS, columns=columns, headings=False)
    assert len(found.taken) == 8
    told = messages(read(ROWS, columns={**columns, "reading": "9"}, headings=False))
    assert "columns.reading: wanted a number from 1 to 7; got '9'" in told


def test_dates_and_times_as_the_map_has_them(read):
    rows = ROWS.replace("2026-09-21", "21.09.2026 10:05")
    found = read(HEAD + rows, date_format="%d.%m.%Y %H:%M")
    assert {one.entry.on for one in found.taken} == {"2026-09-21"}
    assert "is not a date as the column map has it, %Y-%m-%d" in messages(read(HEAD + rows))


def test_an_order_other_than_the_last_round_is_asked_about(read):
    lines = ROWS.splitlines()
    timed = [
        line.replace("2026-09-21", f"2026-09-21 10:{10 - n:02}") for n, line in enumerate(lines)
    ]
    found = read(HEAD + "\n".join(timed), date_format="%Y-%m-%d %H:%M")
    told = [str(remark) for one in found.taken for remark in one.remarks]
    wanted = "read in the order 8 7 6 5 4 3 2 1; the last round is 1 2 3 4 5 6 7 8"
    assert len(told) == 1 and wanted in told[0]


def test_several_readings_of_a_fastener_are_refused_or_the_last_counts(read):
    twice = HEAD + ROWS.replace(",36", ",20") + ROWS
    assert "head-studs no. 1 is there already, in row 2" in messages(read(twice))
    found = read(twice, several="last")
    assert [one.entry.given for one in found.taken][:1] == ["36.1 ft-lb"]
    assert "8 earlier readings of the same fasteners left out, as the map says" in found.told


def test_swapped_columns_in_the_map_are_named(read):
    columns = {**MAP["columns"], "fastener": "Peak", "reading": "No."}
    told = messages(read(HEAD + ROWS, columns=columns))
    assert "the columns fastener and reading look swapped in 8 rows" in told
    columns = {**MAP["columns"], "unit": "Tool", "tool": "Unit"}
    assert "the columns unit and tool look swapped" in messages(read(HEAD + ROWS, columns=columns))


def test_a_column_of_limits_read_as_measured_is_caught(read, bench):
    rows = "".join(
        f"{name},{limit.reuse_limit.to('in'):.4f},x\n"
        for name, limit in bench.case.model.wear_limits.items()
    )
    columns = {"joint": "part", "reading": "limit"}
    told = read(
        "part,limit,measured\n" + rows, reads="measurement", columns=columns, fixed={"unit": "in"}
    )
    assert "the measured column and the limit look swapped" in messages(told)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is empty"),
        (HEAD, "holds no reading"),
        ("Program,No.,Torque,Unit,Tool,Date,User\n", "columns.reading: 'Peak' is not a heading"),
        ("Program,No.,Peak,Peak,Unit,Tool,Date,User\n", "is the heading of two columns"),
        (HEAD + "P3,1,36\n", "log.csv:2: has 3 cells; the first row has 7"),
        (HEAD + ROWS.replace("P3", "P4"), "'P4' is not a joint of the model sheet"),
        (HEAD + ROWS.replace("C-80ft", "SN 4711"), "'SN 4711' is not a wrench"),
        (HEAD + '"P3,1', "is not CSV"),
        (HEAD + "P3,1," + "9" * 3000 + ",N*m,,,\n", "over 2000 characters"),
        (b"Program\x00,", "holds zero bytes"),
        (b" " * 5_000_001, "is over 5 MB"),
    ],
)
def test_what_does_not_fit_is_refused(read, text, message):
    assert message in messages(read(text))


def test_columns_and_rows_left_are_told(read):
    found = read(HEAD.replace("User", "User,Angle") + "".join(
        f"{line},{90}\n" for line in [*ROWS.splitlines(), "P3,8,,ft-lb,C-80ft,2026-09-21,x"]
    ) + "\n\n")  # fmt: skip
    assert "columns not read: Angle" in found.told
    assert any(text.startswith("line 10 has no reading (P3, 8, ft-lb") for text in found.told)
    assert "2 empty lines skipped" in found.told


def test_a_csv_without_a_map_asks_for_one(bench, tmp_path):
    (tmp_path / "log.csv").write_text(HEAD, encoding="utf-8")
    assert "needs a column map" in messages(read_file(tmp_path / "log.csv", bench))


def test_a_map_in_a_file_of_its_own_is_checked_like_a_sheet(tmp_path):
    path = tmp_path / "columns.yaml"
    path.write_text("kind: columns\ncolumns: {reading: Peak}\n", encoding="utf-8")
    assert isinstance(load_sheet(path), ColumnSheet)
    path.write_text("kind: columns\ncolumns: {readings: Peak}\n", encoding="utf-8")
    with pytest.raises(SheetError, match="did you mean reading"):
        load_sheet(path)


@given(value=st.decimals("0.001", "999999", places=3))
def test_a_decimal_comma_is_the_same_number_as_a_point(bench, tmp_path_factory, value):
    folder = tmp_path_factory.mktemp("commas", numbered=True)
    read = []
    for decimal, text in (("point", f"{value}"), ("comma", f"{value}".replace(".", ","))):
        path = folder / f"{decimal}.csv"
        path.write_text(HEAD.replace(",", ";") + f"P3;1;{text};N*m;C-80ft;2026-09-21;x\n", "utf-8")
        columns = a_map(decimal=decimal, separator=";")
        read.append(read_file(path, bench, columns=columns, today=TODAY).taken[0].entry)
    assert read[0].si == read[1].si == float(value)
