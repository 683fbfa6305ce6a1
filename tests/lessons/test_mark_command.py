"""``rebuildbook mark`` and ``rebuildbook handout``, as they are called."""

import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest
from typer.testing import CliRunner

from rebuildbook.cli import app
from rebuildbook.lessons.handout import answers_text, handout_pdf
from rebuildbook.lessons.judge import shown
from rebuildbook.lessons.registry import LESSONS

LESSON = LESSONS["units-and-wrenches"]


def rebuildbook(*arguments):
    result = CliRunner().invoke(app, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def inbox(tmp_path, monkeypatch, fill, solve) -> Path:
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "sent in"
    folder.mkdir()
    for name in ("Ana", "=Ben"):
        answers = solve(LESSON, name)
        if name == "=Ben":
            answers |= {"units-1": "18", "units-2": "@1", "units-3": ""}
        path = folder / f"{name.strip('=')}.ipynb"
        path.write_text(json.dumps(fill(LESSON, name, answers)), encoding="utf-8")
    (folder / "zero.ipynb").write_bytes(b"")
    return folder


def test_marks_go_to_the_terminal_and_to_a_table(inbox, tmp_path):
    result = rebuildbook("mark", inbox, "--out", "marks/marks.csv")
    assert result.exit_code == 0, result.stderr
    assert "2 notebooks marked, 1 not; marks/marks.csv written" in result.stdout
    assert f"{LESSON.points} of {LESSON.points}" in result.stdout
    assert "zero.ipynb" in result.stdout and "is empty" in result.stdout
    text = (tmp_path / "marks" / "marks.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    ana = [row for row in rows if row["file"] == "Ana.ipynb"]
    assert [row["exercise"] for row in ana] == [*(one.id for one in LESSON.exercises), "sum"]
    assert ana[-1]["mark"] == ana[-1]["of"] == str(LESSON.points)
    ben = {row["exercise"]: row for row in rows if row["file"] == "Ben.ipynb"}
    assert ben["units-1"]["learner"] == "'=Ben" and ben["units-2"]["answer"] == "'@1"
    assert [ben[f"units-{k}"]["reason"] for k in (1, 2, 3, 4)] == [
        "no unit", "cannot be read", "not answered", "right",
    ]  # fmt: skip
    assert {row["learner"] for row in rows if not row["file"]} == {"Ana", "'=Ben"}
    # over the last one, with the same bytes
    before = (tmp_path / "marks" / "marks.csv").read_bytes()
    assert rebuildbook("mark", inbox, "--out", "marks/marks.csv").exit_code == 0
    assert (tmp_path / "marks" / "marks.csv").read_bytes() == before


def test_no_cell_of_the_table_begins_as_a_formula(inbox):
    rebuildbook("mark", inbox, "--out", "marks.csv")
    text = Path("marks.csv").read_text(encoding="utf-8-sig")
    for row in csv.reader(io.StringIO(text)):
        assert not any(cell.lstrip().startswith(("=", "+", "-", "@")) for cell in row)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("mark",), "give a FOLDER of notebooks to mark, or --answers LESSON"),
        (("mark", ".", "--answers", "reading-a-test"), "give a FOLDER"),
        (("mark", "nowhere"), "nowhere: is not there"),
        (("mark", "sent in/Ana.ipynb"), "sent in/Ana.ipynb: is no folder"),
        (("mark", "empty"), "empty: has no notebook (.ipynb) in it"),
        (("mark", "sent in", "--out", "marks.xlsx"), "wanted a name that ends in .csv"),
        (("mark", "sent in", "--out", "sent in/Ana.ipynb/m.csv"), "cannot be written"),
        (("mark", "--answers", "units"), "no lesson 'units'"),
        (("mark", "--answers", "units-and-wrenches", "--out", "a.doc"), ".pdf or .txt"),
        (("handout", "unit-and-wrenches"), "did you mean units-and-wrenches?"),
        (("handout", "units-and-wrenches", "--paper", "a5"), "wanted a4 or letter"),
        (("handout", "units-and-wrenches", "--out", "x.txt"), "wanted a name that ends in .pdf"),
        (("handout", "units-and-wrenches", "--learner", "x" * 300), "no more than 200"),
    ],
)
def test_what_cannot_be_done_is_one_message_and_exit_two(inbox, arguments, message):
    Path("empty").mkdir()
    result = rebuildbook(*arguments)
    assert result.exit_code == 2
    assert message in result.stderr and result.stderr.count("\n") == 1
    assert not result.stdout and not list(Path().glob("*.pdf"))


def test_answers_are_for_the_teacher(inbox):
    result = rebuildbook("mark", "--answers", "units-and-wrenches", "--learner", "Ana")
    assert result.exit_code == 0
    for one in LESSON.exercises:
        numbers = one.numbers("Ana")
        assert f"{one.id} ({one.points}): {shown(one, one.right(numbers))}" in result.stdout
        assert one.why(numbers) in result.stdout
    for name in ("key.txt", "key.pdf"):
        done = rebuildbook("mark", "--answers", "units-and-wrenches", "--out", name)
        assert done.exit_code == 0 and done.stdout == f"{name} written\n"
    assert Path("key.txt").read_text(encoding="utf-8") == answers_text(LESSON, "")
    assert Path("key.pdf").read_bytes().startswith(b"%PDF")


def test_the_commands_work_in_a_process_of_their_own(inbox):
    marked = subprocess.run(
        [sys.executable, "-m", "rebuildbook", "mark", str(inbox)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (marked.returncode, marked.stderr) == (0, "")
    assert f"{LESSON.points} of {LESSON.points}" in marked.stdout


def test_their_help_loads_nothing_heavy():
    program = (
        "import sys\nfrom rebuildbook.cli import app\n"
        "try:\n    app(['mark', '--help'])\nexcept SystemExit:\n    pass\n"
        "print([name for name in ('pint', 'numpy', 'typst', 'rebuildbook.lessons') "
        "if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("[]\n") and "--answers" in done.stdout


# on paper


def words(data: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def flat(text: str) -> str:
    return " ".join(text.split())


def test_a_hand_out_has_the_learners_questions_and_no_answer(inbox):
    result = rebuildbook("handout", LESSON.name, "--learner", "Ana #let <b>", "--out", "p/a.pdf")
    assert result.exit_code == 0 and result.stdout == "p/a.pdf written\n"
    text = words(Path("p/a.pdf").read_bytes())
    assert "Ana #let <b>" in text and flat(LESSON.caution) in text
    for one in LESSON.exercises:
        numbers = one.numbers("Ana #let <b>")
        for part in one.ask(numbers).split("\n"):
            assert flat(part) in text
        right = one.right(numbers)
        if one.kind == "quantity":
            assert shown(one, right).split(" = ")[0] not in text
        assert flat(one.why(numbers)) not in text
        assert not any(flat(slip.hint) in text for slip in one.wrong)
    assert not any(flat(one) in text for one in LESSON.take)


def test_the_teachers_paper_has_every_answer():
    text = words(handout_pdf(LESSON, ["Ana"], answers=True))
    for one in LESSON.exercises:
        assert flat(shown(one, one.right(one.numbers("Ana")))) in text


def test_without_a_name_there_is_room_for_one_and_each_learner_begins_a_page(tmp_path):
    one = handout_pdf(LESSON)
    assert "Name" in words(one)
    pages = len(pypdf.PdfReader(io.BytesIO(one)).pages)
    three = handout_pdf(LESSON, ["A", "x" * 200, "\u202e\x1b[31m\0\ud800"], "letter")
    found = pypdf.PdfReader(io.BytesIO(three)).pages
    assert len(found) >= 3 * (pages - 1) and found[0].mediabox.width == 612
    assert sum("Lesson 1: Units" in page.extract_text() for page in found) == 3
    assert handout_pdf(LESSON) == one


def test_every_lesson_can_be_printed(lesson):
    assert len(handout_pdf(lesson)) < 300_000
