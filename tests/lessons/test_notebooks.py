"""The notebooks of the lessons: as handed out, and filled in by who knows every answer."""

import html
import json
import re

import nbformat
import pytest
from nbclient import NotebookClient

from rebuildbook.lessons import open_lesson
from rebuildbook.lessons.judge import shown
from rebuildbook.lessons.marking import mark_file
from rebuildbook.lessons.registry import LESSONS
from rebuildbook.units import number
from rebuildbook.whatif import NAMES as BOARDS

AWKWARD = 'Zoë "<b>=cmd"'


def sources(notebook, kind="code"):
    return ["".join(c["source"]) for c in notebook["cells"] if c["cell_type"] == kind]


def test_as_handed_out_it_asks_everything_and_answers_nothing(lesson, handed_out):
    notebook = handed_out(lesson)
    answers = [c for c in notebook["cells"] if c["metadata"].get("tags") == ["answer"]]
    assert ["".join(c["source"]) for c in answers] == [
        f'# change this: your answer between the quotes\nlesson.answer("{one.id}", "")'
        for one in lesson.exercises
    ]
    code = sources(notebook)
    assert [text for text in code if "lesson.ask" in text] == [
        f'lesson.ask("{one.id}")' for one in lesson.exercises
    ]
    assert any(text.endswith('\nlearner = ""') for text in code)
    assert any(f'lesson = open_lesson("{lesson.name}", learner)' in text for text in code)
    assert all(c["outputs"] == [] and c["execution_count"] is None
               for c in notebook["cells"] if c["cell_type"] == "code")  # fmt: skip
    assert notebook["nbformat"] == 4 and len({c["id"] for c in notebook["cells"]}) == len(
        notebook["cells"]
    )
    # what the learner changes says so
    assert all("change this" in text for text in code if re.search(r'= ""|= "?\d', text))


def test_its_links_lead_to_boards_there_are(lesson, handed_out):
    links = re.findall(r"\]\(([^)]+)\)", "\n".join(sources(handed_out(lesson), "markdown")))
    boards = [re.fullmatch(r"\.\./whatif_(\w+)\.ipynb", link) for link in links]
    assert boards and all(board and board[1] in BOARDS for board in boards)


def test_no_answer_stands_in_the_notebook_or_its_metadata(lesson, handed_out):
    text = json.dumps(handed_out(lesson), ensure_ascii=False)
    for one in lesson.exercises:
        numbers = one.numbers("")
        right = one.right(numbers)
        if one.kind == "quantity":
            for told in shown(one, right).split(" = "):
                assert told.split(" (")[0] not in text
            assert number(right) + " " not in text
        else:
            joined = ", ".join(right) if isinstance(right, tuple) else right
            assert joined not in text
        assert one.why(numbers) not in text
        for slip in one.wrong:
            assert slip.hint not in text and slip.name not in text


def run_in_place(notebook) -> dict:
    """What the cells of name, lesson and answers leave behind, run in this process."""
    left: dict = {}
    for text in sources(notebook):
        if "lesson." in text or "learner" in text:
            exec(text, left)  # noqa: S102  (our own notebook)
    return left


@pytest.mark.parametrize(("learner", "system"), [("Ana", "metric"), (AWKWARD, "us")])
def test_who_knows_gets_all_points_here_and_from_the_marking(lesson, fill, solve, learner, system):
    notebook = fill(lesson, learner, solve(lesson, learner, system))
    opened = run_in_place(notebook)["lesson"]
    assert opened.points == lesson.points
    marked = mark_file("a.ipynb", json.dumps(notebook).encode())
    assert (marked.mark, marked.of) == (lesson.points, lesson.points), marked.rows


def test_left_empty_it_runs_and_says_so(lesson, handed_out):
    opened = run_in_place(handed_out(lesson))["lesson"]
    assert opened.points == 0
    assert repr(opened.so_far()).count("Not answered yet") == len(lesson.exercises)
    marked = mark_file("a.ipynb", json.dumps(handed_out(lesson)).encode())
    assert {row.reason for row in marked.rows} == {"not answered"}
    assert (marked.mark, marked.of, marked.learner) == (0, lesson.points, "(no name)")


def test_in_its_kernel_the_solved_notebook_shows_full_marks(fill, solve, tmp_path):
    lesson = LESSONS["reading-a-test"]
    learner = "Ana <i>"
    raw = fill(lesson, learner, solve(lesson, learner))
    notebook = nbformat.reads(json.dumps(raw), 4)
    NotebookClient(notebook, resources={"metadata": {"path": str(tmp_path)}}).execute()
    page = "".join(
        output["data"].get("text/html", "")
        for cell in notebook.cells
        for output in cell.get("outputs", [])
        if "data" in output
    )
    assert f"So far: {lesson.points} of {lesson.points} points" in page
    assert page.count("✓ Right") == 2 * len(lesson.exercises) and "<svg" in page
    # marked with its outputs in it, and with the outputs edited
    data = nbformat.writes(notebook).encode()
    assert mark_file("a.ipynb", data).mark == lesson.points
    assert mark_file("a.ipynb", data.replace("✓ Right".encode(), b"no")).mark == lesson.points


def test_what_is_shown_is_escaped_and_says_the_same_in_words():
    lesson = open_lesson("units-and-wrenches", "Ana")
    shown_ = lesson.answer("units-1", "<script>alert(1)</script>")
    assert "<script" not in shown_._repr_html_()
    assert html.escape("'<script>alert(1)</script>'") in shown_._repr_html_()
    assert "<script>alert(1)</script>" in repr(shown_)
    assert "\x1b" not in repr(lesson.answer("units-1", "\x1b[31m5"))
    words = re.sub(r"<[^>]+>", " ", lesson.ask("units-3")._repr_html_())
    for word in repr(lesson.ask("units-3")).split():
        assert word in html.unescape(words)


def test_a_bare_number_and_an_exercise_not_there_are_told_and_stop_nothing():
    lesson = open_lesson("units-and-wrenches", "Ana")
    assert "has no unit" in repr(lesson.answer("units-1", 18))
    for told in (lesson.ask("units-99"), lesson.answer("units-99", "18 N*m")):
        assert "no exercise 'units-99'" in repr(told)
    assert lesson.points == 0


def test_a_name_that_is_none_is_refused():
    with pytest.raises(TypeError, match="write your name in quotes"):
        open_lesson("units-and-wrenches", 5)
    with pytest.raises(ValueError, match="200 characters"):
        open_lesson("units-and-wrenches", "x" * 201)
    with pytest.raises(LookupError, match="no lesson 'units'"):
        open_lesson("units")


def test_a_better_answer_takes_the_place_of_the_first(solve):
    lesson = open_lesson("units-and-wrenches", "Ana")
    right = solve(lesson.lesson, "Ana")["units-1"]
    lesson.answer("units-1", "1 N*m")
    lesson.answer("units-1", right)
    assert lesson.points == 1
    lesson.answer("units-1", "")
    assert lesson.points == 0
