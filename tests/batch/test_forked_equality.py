"""The forked engine gives what the default engine gives, also where a notebook is awkward."""

import json
import os
import re
import tempfile
from pathlib import Path

import nbformat
import pytest
from papermill.exceptions import PapermillExecutionError
from papermill.execute import execute_notebook

ROOT = Path(__file__).resolve().parents[2]

AWKWARD = {
    "an error, and what comes after it": ["print('before')", "1 / 0", "print('never')"],
    "an error with a cause": [
        "def inner():\n    raise KeyError('inner')\n"
        "try:\n    inner()\nexcept KeyError as e:\n    raise RuntimeError('outer') from e"
    ],
    "much output": ["for i in range(20000):\n    print(i, 'x' * 40)"],
    "one long line": ["print('y' * 1_000_000)"],
    "a display that is updated": [
        "from IPython.display import display\nh = display('first', display_id='d')",
        "h.update('second')",
        "from IPython.display import clear_output\nprint('gone')\nclear_output()\nprint('stays')",
    ],
    "async": [
        "import asyncio\nasync def f(n):\n    await asyncio.sleep(0.01)\n    return n * 2\n"
        "await f(21)",
        "await asyncio.gather(*(f(n) for n in range(3)))",
    ],
    "threads": [
        "import threading\ndef say():\n    print('from a thread')\n"
        "t = threading.Thread(target=say)\nt.start()\nt.join()",
    ],
    "a question": ["print('asked')\ninput('name? ')"],
    "an abrupt end": ["print('here')", "import os, time\ntime.sleep(0.5)\nos._exit(3)"],
    "a crash": ["import ctypes\nctypes.string_at(0)"],
    "an exit": ["import sys\nsys.exit(3)", "print('goes on')"],
    "a fork": [
        "import os\npid = os.fork()\nif pid == 0:\n    os._exit(7)\n"
        "os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])",
    ],
    "a process of its own": [
        "import subprocess\nsubprocess.run(['echo', 'heard'], check=True).returncode",
        "!echo from the shell",
    ],
    "a figure": [
        "import matplotlib.pyplot as plt\nplt.plot([1, 2, 3])",
        "plt.rcParams['lines.linewidth'] = 9\nlen(plt.get_fignums())",
        "fig, ax = plt.subplots()\nax.plot([3, 1])\nplt.rcParams['lines.linewidth']",
    ],
    "figures begin afresh": [
        "import matplotlib.pyplot as plt\nplt.rcParams['lines.linewidth'], plt.get_fignums(), "
        "plt.get_backend()",
    ],
    "warnings": [
        "import warnings\nwarnings.warn('mind this')\n"
        "import numpy as np\nnp.float64(1) / np.float64(0)",
    ],
    "both streams": ["import sys\nprint('out')\nprint('err', file=sys.stderr)\nprint('out again')"],
    "odd letters": ["print('µ Ω 漢字 🔧 \\x1b[31mred\\x1b[0m \\u202e')", "'e\\u0301'"],
    "rich output": [
        "import pandas as pd\npd.DataFrame({'a': [1, 2], 'b': ['<x>', None]})",
        "from IPython.display import HTML, SVG, Markdown, JSON\n"
        "display(HTML('<b>h</b>'), Markdown('*m*'), JSON({'a': 1}))",
    ],
    "magics and history": ["%precision 3\n3.14159", "_ + 1", "%%writefile x.txt\nhello", "In[1]"],
    "where it stands": [
        "import os, sys\nos.path.basename(os.getcwd()), sys.argv[0].endswith('launcher.py'), "
        "__name__, sys.path[0] == ''",
        "'JPY_PARENT_PID' in os.environ, os.environ['MPLBACKEND']",
        "import signal\nsignal.getsignal(signal.SIGINT).__name__, signal.getsignal(signal.SIGCHLD)",
    ],
    "its end": [
        "import atexit, pathlib\natexit.register(lambda: pathlib.Path('ended.txt').write_text('e'))"
        ";"
    ],
    "a widget": ["import ipywidgets\nipywidgets.IntSlider(value=3, max=9)"],
}


def notebook(cells: list[str]):
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in cells])
    made.metadata["kernelspec"] = {"name": "python3", "language": "python", "display_name": "p"}
    return made


def run(source, engine: str, folder: Path, **parameters):
    folder = folder / "here"
    folder.mkdir(parents=True)
    written = folder / "out.ipynb"
    problem = ""
    try:
        execute_notebook(
            source,
            str(written),
            parameters=parameters,
            engine_name=engine,
            progress_bar=False,
            cwd=str(folder),
        )
    except PapermillExecutionError as error:
        problem = f"{error.ename}: {error.evalue}"
    except Exception as error:  # a kernel that died
        problem = f"{type(error).__name__}: {error}"
    return normalised(written, folder), problem


def normalised(written: Path, folder: Path):
    """What a notebook shows, without times, identities and addresses in memory."""
    found = json.loads(written.read_text(encoding="utf-8"))
    text = json.dumps(
        [
            {key: cell.get(key) for key in ("cell_type", "source", "outputs", "execution_count")}
            for cell in found["cells"]
        ],
        ensure_ascii=False,
    )
    text = re.sub(
        r"0x[0-9a-f]{6,}|[0-9a-f]{32}|ipykernel_\d+/\d+|/ipykernel_\d+|<ipython-[^>]*>", "~", text
    )
    text = re.sub(re.escape(str(folder)), "folder", text)
    text = re.sub(re.escape(tempfile.gettempdir()) + "~", "~", text)
    widgets = found["metadata"].get("widgets", {})
    kinds = sorted(
        state["model_name"] for kind in widgets.values() for state in kind.get("state", {}).values()
    )
    timed = all("papermill" in cell["metadata"] for cell in found["cells"])
    cells = json.loads(text)
    for cell in cells:
        cell["outputs"] = whole_streams(cell["outputs"] or [])
    return cells, kinds, timed


def whole_streams(outputs: list[dict]) -> list[dict]:
    """Where a stream is cut is a matter of time."""
    joined: list[dict] = []
    for output in outputs:
        text = "".join(output.get("text", []))
        if output["output_type"] != "stream":
            joined.append(output)
        elif joined and joined[-1].get("name") == output["name"]:
            joined[-1]["text"] += text
        else:
            joined.append(output | {"text": text})
    return joined


@pytest.mark.parametrize("name", AWKWARD)
def test_an_awkward_notebook_comes_out_the_same(name, tmp_path):
    source = notebook(AWKWARD[name])
    ours, our_problem = run(source, "forked", tmp_path / "one")
    default, its_problem = run(source, None, tmp_path / "two")
    assert ours == default
    assert our_problem == its_problem
    left = [sorted(path.name for path in (tmp_path / way).rglob("*")) for way in ("one", "two")]
    assert left[0] == left[1]


LONG = pytest.mark.skipif(
    not os.environ.get("REBUILDBOOK_LONG"), reason="one of its kind is run; REBUILDBOOK_LONG=1: all"
)
OF_EACH_KIND = ("worksheet", "welcome")


@pytest.mark.parametrize(
    "path",
    [
        pytest.param(path, id=path.stem, marks=() if path.stem in OF_EACH_KIND else LONG)
        for path in sorted((ROOT / "notebooks").rglob("*.ipynb"))
    ],
)
def test_our_own_notebooks_come_out_the_same(path, tmp_path, monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1767225600")
    text = path.read_text(encoding="utf-8")  # cards are named as seen from where it lies
    source = nbformat.reads(text.replace("../parameters/", f"{ROOT.as_posix()}/parameters/"), 4)
    card = str(ROOT / "parameters" / "jobs" / "TW-2604.yaml")
    parameters = {"job_card": card} if "job_card" in json.dumps(source) else {}
    ours, problem = run(source, "forked", tmp_path / "one", **parameters)
    assert not problem
    default, _ = run(source, None, tmp_path / "two", **parameters)
    assert ours == default


def test_nothing_leaks_from_one_notebook_to_the_next(tmp_path):
    first = notebook(
        [
            "import sys, os, numpy\nsys.leaked = numpy.random.rand()\n"
            "os.environ['LEAK'] = '1'\nsys.leaked"
        ]
    )
    again = notebook(
        [
            "import sys, os, numpy\n(hasattr(sys, 'leaked'), 'LEAK' in os.environ)",
            "numpy.random.rand()",
        ]
    )
    (cells, *_), _ = run(first, "forked", tmp_path / "one")
    (after, *_), _ = run(again, "forked", tmp_path / "two")
    assert after[0]["outputs"][0]["data"]["text/plain"] == ["(False, False)"]
    # neither may they draw the same chance
    assert after[1]["outputs"][0]["data"] != cells[0]["outputs"][0]["data"]


def test_a_cell_that_takes_too_long_is_stopped(tmp_path):
    source = notebook(["import time\ntime.sleep(60)"])
    with pytest.raises(Exception, match="timed out"):
        execute_notebook(
            source, str(tmp_path / "o.ipynb"), engine_name="forked", progress_bar=False,
            execution_timeout=1,
        )  # fmt: skip


def test_memory_is_bounded(tmp_path):
    source = notebook(["x = bytearray(3 << 30)", "1"])
    with pytest.raises(PapermillExecutionError, match="MemoryError"):
        execute_notebook(
            source, str(tmp_path / "o.ipynb"), engine_name="forked", progress_bar=False,
            memory_limit=2 << 30,
        )  # fmt: skip


def test_another_kernel_falls_back_with_a_word_of_why(tmp_path, monkeypatch, caplog):
    from rebuildbook.batch import forked

    monkeypatch.setattr(forked.sys, "platform", "darwin")
    out = execute_notebook(
        notebook(["40 + 2"]), str(tmp_path / "o.ipynb"), engine_name="forked", progress_bar=False
    )
    assert out.cells[0].outputs[0].data["text/plain"] == "42"
    assert "the default engine runs" in caplog.text
