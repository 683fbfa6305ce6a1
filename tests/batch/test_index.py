"""The index of a folder: what it says of jobs, quick over many, safe with any text, offline."""

import json
import re

import pyarrow.parquet as pq
import pytest

from rebuildbook.batch.index import Index, IndexRow, lying, row_of, worst_titles, write_index
from rebuildbook.batch.resume import Made, write_made

HOSTILE = '</script><script>document.title="taken"</script>'
MODELS = ("slip-piston-4b", "glaze-diaphragm-4b", "transfer-2b", "wash-plunger-3p")


def many(count):
    return [
        IndexRow(
            f"TW-{n:05}", f"SP-{n % 7000:04}", MODELS[n % 4], f"2026-{n % 12 + 1:02}-14",
            "failed" if n % 500 == 0 else "made", int(n % 10 == 3), n % 3,
            ("worksheet", "as-built") if n % 2 else ("worksheet",),
            (f"fluid-cover: readings outside the window {n % 40}",) * (n % 10 == 3),
            f"TW-{n:05}",
        )
        for n in range(count)
    ]  # fmt: skip


def data_of(page):
    (found,) = re.findall(r'<script type="application/json" id="data">(.*?)</script>', page)
    return json.loads(found)


def results(*findings):
    keys = ("id", "level", "title")
    return {"sections": [{"findings": [dict(zip(keys, one, strict=True)) for one in findings]}]}


def made(job, **sheets):
    return Made(job, ("SP-1", "slip-piston-4b", "2026-09-01"), f"{job}.yaml", (), sheets)


def test_the_gravest_titles_are_kept_holds_first():
    found = results(("a", "clear", "A"), ("b", "query", "B"), ("c", "hold", "C"))
    assert list(worst_titles(found).items()) == [("c", "C"), ("b", "B")]


def test_a_later_sheet_has_the_last_word_on_a_finding():
    first = {"findings": {"x": "hold", "y": "query"}, "worst": {"x": "X", "y": "Y"}}
    later = {"findings": {"x": "clear"}, "worst": {}}
    row = row_of(made("J-1", worksheet=first, **{"as-built": later}), "J-1")
    assert (row.holds, row.queries, row.worst) == (0, 1, ("Y",))
    assert row.sheets == ("worksheet", "as-built")
    assert (row.serial, row.model, row.date) == ("SP-1", "slip-piston-4b", "2026-09-01")


def test_what_lies_in_a_folder_is_its_index(tmp_path):
    for job in ("J-1", "J-2"):
        (tmp_path / job).mkdir()
        write_made(made(job, worksheet={"findings": {}}), tmp_path / job)
    (tmp_path / "J-2.failed.ipynb").touch()
    (tmp_path / "J-3.failed.ipynb").touch()
    rows = {row.job: row for row in lying(tmp_path)}
    states = {job: row.state for job, row in rows.items()}
    assert states == {"J-1": "made", "J-2": "failed", "J-3": "failed"}
    assert rows["J-2"].serial == "SP-1"
    index = Index(tmp_path)
    index.add(index.of("J-2").failed("cell 3: no such joint"))
    index.add(index.of("J-4", ("SP-9", "transfer-2b", "2026-01-01")))
    index.flush()
    table = pq.read_table(tmp_path / "index.parquet").to_pylist()
    assert [row["job"] for row in table] == ["J-1", "J-2", "J-3", "J-4"]
    assert table[1]["worst"] == ["cell 3: no such joint"]
    assert table[3]["model"] == "transfer-2b"


def test_no_text_can_leave_its_place(tmp_path):
    row = IndexRow(HOSTILE, "<!--", HOSTILE, "\u2028", worst=(HOSTILE, "\ud800"), folder="a/b")
    write_index(tmp_path, [row])
    page = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert page.count("</script") == 2 and "taken</" not in page and HOSTILE not in page
    data = data_of(page)
    assert data["rows"][0][0] == HOSTILE and HOSTILE in data["words"]
    assert pq.read_table(tmp_path / "index.parquet").to_pylist()[0]["worst"] == [HOSTILE, "?"]


def test_the_page_asks_for_nothing_outside_itself(tmp_path):
    write_index(tmp_path, many(3))
    page = (tmp_path / "index.html").read_text(encoding="utf-8")
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', page)[1]
    assert policy.startswith("default-src 'none'; style-src 'sha256-") and "unsafe" not in policy
    assert not re.search(r"https?:|\bsrc=|<link|@import|url\(|innerHTML|\bon\w+=", page)


def test_nothing_is_written_where_nothing_changed_and_nothing_is_left_about(tmp_path):
    index = Index(tmp_path, many(2))
    index.flush()
    assert {path.name for path in tmp_path.iterdir()} == {"index.html", "index.parquet"}
    (tmp_path / "index.html").unlink()
    index.add(many(2)[1])
    index.flush()
    assert not (tmp_path / "index.html").exists()
    index.add(many(2)[1].failed("why"))
    index.keep_up()  # not yet: it was written a moment ago
    assert not (tmp_path / "index.html").exists()
    index.flush()
    page = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert "why" in data_of(page)["words"]


def test_a_full_folder_is_written_with_every_row(tmp_path):
    rows = many(20_000)
    Index(tmp_path, rows).flush()
    page = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert len(page) < 3_000_000
    data = data_of(page)
    assert len(data["rows"]) == pq.read_metadata(tmp_path / "index.parquet").num_rows == 20_000
    assert {data["words"][row[2]] for row in data["rows"]} == set(MODELS)


@pytest.fixture(scope="module")
def browsed(browser, tmp_path_factory):
    """A page over 20 000 rows in a browser."""
    out = tmp_path_factory.mktemp("index")
    write_index(out, [*many(20_000), IndexRow(HOSTILE, worst=(HOSTILE,), folder=HOSTILE)])
    page = browser.new_page(viewport={"width": 1200, "height": 800})
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: said.append(request.url))
    page.goto((out / "index.html").as_uri())
    return page, said


def count(page):
    return int(page.inner_text("#count").split()[0])


def test_in_a_browser_it_asks_for_nothing_and_renders_a_screenful(browsed):
    page, said = browsed
    assert [one for one in said if not one.endswith("index.html")] == []
    assert page.title() == "Jobs in this folder"
    assert count(page) == 20_001
    assert 10 < page.locator(".row").count() < 60


def test_search_filters_and_sorting_narrow_and_order(browsed):
    page, _ = browsed
    page.fill("#search", "tw-00013 outside")
    assert count(page) == 1
    assert page.locator(".row .job a").get_attribute("href") == "./TW-00013/"
    assert page.locator(".row .sheets a").last.get_attribute("href") == "./TW-00013/as-built.html"
    page.fill("#search", "")
    page.check("#held")
    assert count(page) == 2000
    page.select_option("#model", label="transfer-2b")  # n % 4 = 2 is even: no hold among them
    assert count(page) == 0
    page.select_option("#model", label="glaze-diaphragm-4b")
    assert count(page) == 1000
    page.keyboard.press("Escape")
    assert count(page) == 20_001
    page.select_option("#state", "1")
    assert count(page) == 40
    page.select_option("#state", "")
    page.click("#head .queries button")
    assert page.locator(".row .queries").first.inner_text() == "◇ 2"
    page.click("#head .job button")


def test_keys_move_and_end_shows_the_last_row(browsed):
    page, _ = browsed
    page.locator("h1").click()
    page.keyboard.press("/")
    page.keyboard.type("SP-0100")
    assert count(page) == 3
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    assert page.locator(".row.now .job").inner_text() == "TW-07100"
    page.keyboard.press("Escape")
    page.locator("#view").focus()
    page.keyboard.press("End")
    assert page.locator(".row.now .job").inner_text() == "TW-19999"


def test_no_text_runs_in_a_browser(browsed):
    page, _ = browsed
    page.fill("#search", "</script>")
    assert count(page) == 1
    assert page.locator(".row .job").inner_text() == HOSTILE
    assert page.title() == "Jobs in this folder"
    assert page.locator(".row .job a").get_attribute("href").startswith("./%3C/script%3E")
    page.keyboard.press("Escape")


def test_rows_far_down_are_drawn_when_they_come_into_view(browsed):
    page, _ = browsed
    page.evaluate("document.getElementById('view').scrollTop = 34 * 15000")
    page.wait_for_selector("text=TW-15000")
    assert page.locator(".row").count() < 60
